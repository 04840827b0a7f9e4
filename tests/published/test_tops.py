"""Two stations that stop with a tray between them: whole units against the flow of the closed form."""

from __future__ import annotations

import pytest
from second_tops import TOP_PLACES, top_formula, top_in_the_limit, top_unit_by_unit
from test_table import BY_ID

from cellsim.published.verdicts import judge, level_of


@pytest.mark.parametrize("places", TOP_PLACES)
def test_the_closed_form_is_the_limit_of_small_steps(places):
    """The formula and the limit of ever smaller steps are the same."""
    assert top_in_the_limit(places) == pytest.approx(top_formula(places), rel=1e-5)


@pytest.mark.parametrize("places", TOP_PLACES)
def test_whole_units_differ_from_continuous_flow_by_less_than_the_tolerance(places):
    """The recursion of departures agrees with the closed form; false alarms at most 1 % in all six."""
    entry = BY_ID[f"spinning-top-{places}-places"]
    found = judge(entry, top_unit_by_unit(places, seed=700 + places), level_of(len(TOP_PLACES)))
    assert found.agrees
    assert found.half_width <= 0.01


def test_the_elasticities_of_a_line_add_up_to_one():
    """Twice as fast everywhere is twice the output."""
    shares = [BY_ID[f"four-stations-path-of-S{k}"].value for k in range(1, 5)]
    assert sum(shares) == pytest.approx(1, abs=4 * 0.5e-4)
