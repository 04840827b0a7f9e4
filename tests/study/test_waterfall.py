"""From the work alone to the real rate: steps by hand, and a bench whose stops are really taken away."""

from __future__ import annotations

from typing import Any

import pytest

from cellsim.describe.resolve import load_text
from cellsim.study.study import run
from cellsim.study.waterfall import MOST_STEPS, waterfall


def account(*rows: tuple[str, str, float | None]) -> dict[str, Any]:
    """A loss account of causes with their elasticities."""
    return {"causes": [{"who": who, "what": what, "elasticity": share} for who, what, share in rows]}


def test_steps_by_hand() -> None:
    """100 an hour, 36 s a unit: 28.8 s of work, then 5.4 s and 1.8 s: 125, 105.26 and 100 an hour."""
    found = waterfall(
        account(
            ("S1", "work", 0.5), ("S1", "handling", 0.3), ("S2", "stop: jam", 0.15), ("A", "walking", 0.05),
            ("calendar", "breaks and off hours", None),
        ),
        100.0,
    )  # fmt: skip
    assert found is not None
    assert found["ideal"] == {"mean": pytest.approx(125), "unit": "good units per working hour"}
    assert (found["ideal_s"], found["lost_s"], found["real_s"]) == pytest.approx((28.8, 7.2, 36))
    assert [(row["who"], row["what"], row["causes"]) for row in found["steps"]] == [
        ("S2", "stop: jam", 1), ("A", "walking", 1),
    ]  # fmt: skip
    assert [row["time_s"] for row in found["steps"]] == pytest.approx([5.4, 1.8])
    assert [row["after"]["mean"] for row in found["steps"]] == pytest.approx([100 / 0.95, 100])
    assert [row["loss"]["mean"] for row in found["steps"]] == pytest.approx(
        [125 - 100 / 0.95, 100 / 0.95 - 100]
    )


def test_small_causes_are_one_step() -> None:
    """Beyond the largest all others are one step, which says how many they are."""
    rows = [(f"S{k}", "stop: jam", 0.05 - 0.005 * k) for k in range(9)]
    work = 1 - sum(share for _, _, share in rows)
    found = waterfall(account(("S0", "work", work), *rows), 60.0)
    assert found is not None
    last = found["steps"][-1]
    assert (len(found["steps"]), last["who"], last["causes"]) == (MOST_STEPS + 1, "", 3)
    assert last["time_s"] == pytest.approx(60 * (0.02 + 0.015 + 0.01))
    assert last["after"]["mean"] == pytest.approx(60)
    assert found["ideal"]["mean"] - sum(row["loss"]["mean"] for row in found["steps"]) == pytest.approx(60)


@pytest.mark.parametrize("rows", [(), (("S1", "stop: jam", 1.0),)])
def test_without_work_on_the_path_there_is_nothing_to_begin_with(rows: tuple[Any, ...]) -> None:
    """No path, or none with work: no waterfall; likewise without output."""
    assert waterfall(account(*rows), 10.0) is None
    assert waterfall(account(("S1", "work", 1.0)), 0.0) is None


BENCH = """
cell: one bench
route: [S1]
stations: {S1: {cycle: 30 s, stops: {jam: {every: 5 cycles, lasts: 1 min}}}}
study: {run: 30 h, replications: 2}
"""


def test_the_ideal_of_one_bench_is_what_it_makes_without_its_stop() -> None:
    """30 s of work and a minute every five cycles are 42 s a unit; without the stop it makes 120 an hour."""
    found = run(load_text(BENCH))["waterfall"]
    without = run(load_text(BENCH.replace(", stops: {jam: {every: 5 cycles, lasts: 1 min}}", "")))
    assert found["real_s"] == pytest.approx(42, rel=2e-3)  # to a unit at the end
    assert found["ideal"]["mean"] == pytest.approx(without["output_per_hour"]["mean"], rel=2e-3)
    assert without["output_per_hour"]["mean"] == pytest.approx(120, rel=1e-3)
    assert [(row["who"], row["what"]) for row in found["steps"]] == [("S1", "stop: jam")]
