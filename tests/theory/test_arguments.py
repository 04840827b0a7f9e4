"""Every function of the theory: bad arguments are refused, figures do not depend on the unit of time."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import fields, is_dataclass

import pytest

from cellsim.theory import arguments
from cellsim.theory.assembly import (
    assembly_rate,
    expected_maximum,
    fork_join_time,
    matching,
    synchronised_rate,
)
from cellsim.theory.batching import (
    best_batch,
    bulk_arrivals,
    bulk_service,
    chamber_rate,
    forming_wait,
    full_batch_station,
    least_batch,
    limited_batch,
    lot_makespan,
    setup_batches,
)
from cellsim.theory.closed import (
    asymptotic_bounds,
    balanced_job_bounds,
    best_case,
    closed_network,
    critical_wip,
    mean_value_analysis,
    pallet_loop,
    practical_worst_case,
    worst_case,
)
from cellsim.theory.effective import availability, completion_time, mg1_with_stops, with_setups
from cellsim.theory.interference import (
    ashcroft,
    cyclic_tending,
    finite_source,
    ideal_machines,
    patrol,
    unlike_machines,
)
from cellsim.theory.open_networks import jackson_network
from cellsim.theory.quality import (
    defect_free_share,
    inspection,
    normalised_yield,
    rework,
    rolled_throughput_yield,
    scrap_capacity,
    scrap_line,
    starts_needed,
)
from cellsim.theory.stations import (
    departure_scv,
    erlang_b,
    erlang_c,
    erlang_queue,
    ggm,
    littles_number,
    mdc,
    mg1,
    mginf_exceedance,
    mm1,
    mm1_time_quantile,
    mmc,
    mmc_departure_variance,
    mmck,
    pooling,
)

# Kinds of arguments with the power of time in them: r rate, t time, n whole number, s share, x any other.
POWERS = {"r": -1, "t": 1, "n": 0, "s": 0, "x": 0}
# What comes out: fields of the results by the power of time in them; all others are pure numbers.
TIMES = {"wait", "time_in_system", "forming", "service", "cycle_time", "times", "mean", "cycle"}
RATES = {"throughput", "services", "output", "rate", "lower", "upper"}

# Function, arguments, kind of each (lists alike), and the power of time in a plain number that it returns.
CALLS = [
    (littles_number, (2.0, 3.0), "rt", 0),
    (erlang_b, (3, 2.0), "nx", 0),
    (erlang_c, (3, 2.0), "nx", 0),
    (mm1, (0.8, 1.1), "rt", None),
    (mm1_time_quantile, (0.8, 1.1, 0.9), "rts", 1),
    (mmc, (1.5, 1.1, 2), "rtn", None),
    (mmc_departure_variance, (1.5, 1.1, 2, 8.0), "rtnt", 0),
    (mmck, (2.0, 1.1, 2, 5), "rtnn", None),
    (mg1, (0.8, 1.1, 0.4), "rtx", None),
    (mdc, (1.5, 1.1, 2), "rtn", None),
    (mginf_exceedance, (2.0, 1.1, 3), "rtn", 0),
    (erlang_queue, (1.3, 2, 1.1, 3), "tntn", None),
    (ggm, (1.5, 1.1, 2, 0.7, 0.4), "rtnxx", None),
    (departure_scv, (0.8, 2, 0.7, 0.4), "snxx", 0),
    (pooling, (1.5, 1.1, 2), "rtn", None),
    (availability, (60.0, 6.0), "tt", 0),
    (completion_time, (1.1, 0.3, 60.0, 6.0, 0.8), "txttx", None),
    (with_setups, (1.1, 0.3, 6.0, 0.8, 9.5), "txtxx", None),
    (mg1_with_stops, (0.6, 1.1, 0.3, 60.0, 6.0), "rtxtt", None),
    (lambda *given: mg1_with_stops(*given, calendar=True), (0.6, 1.1, 0.3, 60.0, 6.0), "rtxtt", None),
    (finite_source, (5, 20.0, 6.0, 2), "nttn", None),
    (ashcroft, (5, 20.0, 6.0, 2), "nttn", None),
    (patrol, (5, 20.0, 6.0, 0.4), "nttt", None),
    (cyclic_tending, ([2.0, 1.5], [0.5, 0.6], [0.1, 0.2]), "ttt", None),
    (ideal_machines, (2.0, 0.5, 0.1), "ttt", 0),
    (unlike_machines, ([2, 1], [40.0, 90.0], 8.0), "ntt", 0),
    (mean_value_analysis, ([[1.1, 0.5], [1.1, 0.0]], [2, 3], [4.0, 0.0]), "tnt", None),
    (closed_network, ([1.1, 2.5], 4, [1, 2], 3.0), "tnnt", None),
    (critical_wip, ([1.1, 2.5], [1, 2]), "tn", 0),
    (best_case, ([1.1, 2.5], 4, [1, 2]), "tnn", None),
    (worst_case, ([1.1, 2.5], 4), "tn", None),
    (practical_worst_case, ([1.1, 2.5], 4, [1, 2]), "tnn", None),
    (asymptotic_bounds, ([1.1, 2.5], 4, 3.0), "tnt", None),
    (balanced_job_bounds, ([1.1, 2.5], 4, 3.0), "tnt", None),
    (pallet_loop, ([1.1, 2.5], [1, 2], 3), "tnn", -1),
    (forming_wait, (2.0, 5), "rn", 1),
    (full_batch_station, (2.0, 5, 1.5, 2), "rntn", None),
    (lambda *given: full_batch_station(*given, phases=math.inf), (2.0, 5, 1.5), "rnt", None),
    (bulk_service, (2.0, 1.5, 2, 5), "rtnn", None),
    (limited_batch, (2.0, 5, 1.5), "rnt", None),
    (bulk_arrivals, (0.5, 4, 1.1), "rnt", None),
    (chamber_rate, (2, 24, 90.0, 6.0), "nntt", -1),
    (lot_makespan, ([1.1, 2.5], 6, 4), "tnn", 1),
    (least_batch, (0.4, 1.1, 5.0), "rtt", 0),
    (setup_batches, (0.4, 10, 1.1, 5.0, 5, 0.8, 0.3), "rnttnxx", None),
    (best_batch, (0.4, 1.1, 5.0), "rtt", 0),
    (expected_maximum, ([1.1, 2.5],), "t", 1),
    (synchronised_rate, ([1.1, 2.5],), "t", -1),
    (matching, (1.1, 1.3, 3, 2), "rrnn", None),
    (fork_join_time, (0.5, 1.1), "rt", 1),
    (assembly_rate, ([1.1, 2.5], 1.2, [2, 1], [1, 2]), "ttnn", -1),
    (jackson_network, ([0.2, 0.1], [[0.0, 0.7], [0.1, 0.2]], [1.1, 1.5], [1, 2]), "rstn", None),
    (rework, (0.1, 0.2, 3), "ssn", None),
    (rework(0.1).good_rate, (1.1, 2.5), "tt", -1),
    (rolled_throughput_yield, ([0.9, 0.8],), "s", 0),
    (defect_free_share, (0.3,), "x", 0),
    (normalised_yield, (0.9, 5), "sn", 0),
    (starts_needed, ([0.9, 0.8], 50.0), "sr", -1),
    (scrap_capacity, ([0.9, 0.8], [1.1, 1.5]), "st", -1),
    (inspection, (0.1, 0.05, 0.2, 2), "sssn", None),
    (scrap_line, ([1.1, 2.5], [2], [0.1, 0.2]), "tns", -1),
]
NAMED = [
    pytest.param(*call, id=f"{k} {getattr(call[0], '__name__', 'call')}") for k, call in enumerate(CALLS)
]


def scaled(value: object, factor: float) -> object:
    """A number or nested list times a factor."""
    return [scaled(part, factor) for part in value] if isinstance(value, list) else value * factor


def figures(result: object, power: int | None) -> Iterator[tuple[float, int]]:
    """Every number of a result with the power of time in it."""
    if is_dataclass(result):
        for field in fields(result):
            inner = 1 if field.name in TIMES else -1 if field.name in RATES else 0
            yield from figures(getattr(result, field.name), inner)
    elif isinstance(result, tuple):
        for part in result:
            yield from figures(part, power)
    else:
        yield result, power or 0


@pytest.mark.parametrize(("function", "given", "kinds", "power"), NAMED)
def test_figures_do_not_depend_on_the_unit_of_time(function, given, kinds, power):
    """Minutes or seconds: times are 60 times as many, rates a 60th, all other figures the same."""
    other = [
        scaled(value, 60.0 ** POWERS[kind]) if POWERS[kind] else value
        for value, kind in zip(given, kinds, strict=True)
    ]
    before = list(figures(function(*given), power))
    after = list(figures(function(*other), power))
    assert len(before) == len(after) > 0
    for (old, dimension), (new, _) in zip(before, after, strict=True):
        assert new == pytest.approx(old * 60.0**dimension, rel=1e-9)


def spoiled(value: object, bad: float) -> Iterator[object]:
    """The value with one of its numbers, each in turn, replaced by a bad one."""
    if isinstance(value, list):
        for k, part in enumerate(value):
            yield from ([*value[:k], worse, *value[k + 1 :]] for worse in spoiled(part, bad))
    else:
        yield bad


@pytest.mark.parametrize(("function", "given", "kinds", "power"), NAMED)
def test_every_bad_argument_is_refused(function, given, kinds, power):
    """No number, a negative one, an infinite one, a fraction for a count, or more than all for a share."""
    for place, kind in enumerate(kinds):
        bad = [math.nan, -1.0, *([1.5] if kind in "ns" else []), *([math.inf] if kind in "rts" else [])]
        for number in bad:
            for worse in spoiled(given[place], number):
                with pytest.raises(ValueError, match=r"must be|utilisation"):
                    function(*given[:place], worse, *given[place + 1 :])


@pytest.mark.parametrize(("function", "given", "kinds", "power"), NAMED)
def test_lists_that_do_not_fit_are_refused(function, given, kinds, power):
    """One entry more in any list that must be as long as another, and none at all."""
    lists = [place for place, value in enumerate(given) if isinstance(value, list)]
    for place in lists:
        wrong = [[]] if len(lists) == 1 else [[], [*given[place], given[place][-1]]]
        for worse in wrong:
            with pytest.raises(ValueError, match=r"entries|entry|at least one|stores"):
                function(*given[:place], worse, *given[place + 1 :])


def test_limits_are_included_or_not():
    """0 and 1 are shares; 0 is not above 0; an Erlang time may have infinitely many phases."""
    assert (arguments.share("a share", 0), arguments.share("a share", 1)) == (0.0, 1.0)
    assert arguments.not_negative("a time", 0) == 0
    assert arguments.phases("phases", math.inf) == math.inf
    assert arguments.share_below_one("a share", 0) == 0
    for refuse in (
        lambda: arguments.positive("a time", 0),
        lambda: arguments.share_below_one("a share", 1),
        lambda: arguments.whole("a number", 0),
        lambda: arguments.phases("phases", 0),
    ):
        with pytest.raises(ValueError, match="must be"):
            refuse()
