"""The figures of any study keep the laws of `figure_laws.py`; studies and counted times add up."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from statistics import fmean
from typing import Any

import pytest
from figure_laws import Result, Seen, broken, entries
from hypothesis import HealthCheck, given, reject, settings
from hypothesis import strategies as st
from scipy import stats
from small_cells import HORIZON, SECOND
from whole_cells import whole_cells
from whole_runs import bounded

from cellsim.describe.behaviours import behaviours
from cellsim.describe.cell import Cell, Study
from cellsim.describe.resolve import load, load_text
from cellsim.engine.clock_compiled import CompiledRun
from cellsim.engine.record import Record
from cellsim.errors import UsageError
from cellsim.study.audit import units_inside
from cellsim.study.figures import figures
from cellsim.study.worker import Worker

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.yaml"))
EXAMPLES = {f"{one.topic}-{one.name}": one.example for one in behaviours()}

every_scenario = pytest.mark.parametrize("file", SCENARIOS, ids=lambda file: file.stem)
quick = settings(
    max_examples=28,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
)


def ages(worker: Worker, seed: int, replication: int) -> list[list[int]]:
    """How old the units inside are when counting begins and when it ends, seen in a run of its own."""
    run = CompiledRun(worker.flat, seed, replication)
    found = []
    for at in (worker.plan.counted_from, worker.plan.horizon):
        if at:
            run.advance(at)
        found.append([at - run.state.parts[u].entered for u in units_inside(run.state)])
    return found


def result_of(worker: Worker, records: Sequence[Record]) -> Result:
    """The figures as they are read back from the file."""
    result: Result = json.loads(json.dumps(figures(worker.flat, worker.plan, records)))
    return result


def check(worker: Worker, seed: int, replications: int) -> Result:
    """No law is broken, neither by the figures of all replications nor by those of the first alone."""
    seen = [
        Seen(worker.replicate(seed, replication), *ages(worker, seed, replication))
        for replication in range(replications)
    ]
    assert [one.record.violations for one in seen] == [[]] * replications
    for some in (seen, seen[:1]):
        result = result_of(worker, [one.record for one in some])
        assert broken(result, some) == []
    return result


@every_scenario
@pytest.mark.parametrize("counted", ["as it says", "from the start"])
def test_every_scenario(file: Path, counted: str) -> None:
    """Four replications of every scenario, of the time that it counts and of the whole run."""
    cell = load(file)
    worker = Worker(cell, "compiled")
    if counted == "from the start":
        study = Study(run=worker.plan.horizon)
        worker = Worker(replace(cell, study=study), "compiled")
        assert worker.plan.counted_from == 0
    assert check(worker, 11, 4)["output_per_hour"]["mean"] > 0


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_behaviour_of_the_reference(name: str) -> None:
    """Two replications of the example of each behaviour."""
    check(Worker(load_text(EXAMPLES[name]), "compiled"), 3, 2)


def counting_from(cell: Cell, at: int, until: int = HORIZON) -> Cell:
    """The cell with a study that counts from one moment to another."""
    return replace(cell, study=replace(cell.study, settle=at, run=until - at))


@quick
@given(whole_cells(), st.integers(0, 3), st.integers(0, 100))
def test_random_cells(cell: Cell, seed: int, settle: int) -> None:
    """Random small cells full of ties, with any mix of behaviours, counted from any moment."""
    with bounded():
        try:
            worker = Worker(counting_from(cell, settle * SECOND))
        except UsageError:
            reject()  # nobody is there in the counted time
        check(worker, seed, 2)


RATIOS = {
    "rejects per test", "units per batch", "seconds", "share of the units that left",
    "share of the time on duty", "good at the first test per unit that came to it",
    "good units per unit that left", "share of rejected units", "share of accepted units",
    "faulty per million good units", "kWh per good unit", "share of the energy", "share of hours",
    "share of shifts",
}  # fmt: skip


def unlike_its_replications(whole: Result, singles: Sequence[Result]) -> list[str]:
    """Estimates of a study that do not follow from those of its replications, each studied alone.

    A figure is the mean over replications with Student's interval, by scipy; what did not occur in one is 0
    there.  A ratio lies between the smallest and the largest of the replications.
    """
    rows = [dict(entries(single)) for single in singles]
    found = []
    for where, entry in entries(whole):
        values = [row[where]["mean"] if where in row else 0.0 for row in rows]
        told = [value for value in values if value is not None]
        if entry["unit"] in RATIOS:
            fits = entry["mean"] is None or min(told) - 1e-9 <= entry["mean"] <= max(told) + 1e-9
        else:
            error = stats.sem(values)
            low, high = stats.t.interval(0.95, len(values) - 1, fmean(values), error) if error else values[:2]
            fits = entry["mean"] == pytest.approx(fmean(values), rel=1e-9, abs=1e-9)
            fits &= entry["interval"] == pytest.approx([max(0, low), high], rel=1e-6, abs=1e-9)
        if not fits:
            found.append(f"{where}: {entry} of {values}")
    return found


def check_replications(worker: Worker, replications: int) -> None:
    """The figures of a study are the means, and lie in the range, of those of its replications."""
    records = [worker.replicate(5, replication) for replication in range(replications)]
    singles = [result_of(worker, [record]) for record in records]
    assert unlike_its_replications(result_of(worker, records), singles) == []


@every_scenario
def test_a_study_is_the_mean_of_its_replications(file: Path) -> None:
    """Five replications of every scenario, all estimates in the result."""
    check_replications(Worker(load(file), "compiled"), 5)


@pytest.mark.parametrize("name", EXAMPLES)
def test_so_is_the_study_of_every_behaviour(name: str) -> None:
    """Three replications of the example of each behaviour."""
    check_replications(Worker(load_text(EXAMPLES[name]), "compiled"), 3)


ADDED = (
    "machines", "cycles", "actors", "visits", "minutes", "stations", "stores", "time_at", "stops", "parts",
    "carriers", "cell", "zones", "hands", "lead_times",
)  # fmt: skip


def added(one: Any, two: Any) -> Any:
    """Nested lists and dictionaries of numbers, added number by number."""
    if isinstance(one, dict):
        return {key: added(one[key], two[key]) for key in one}
    if isinstance(one, list):
        return [added(a, b) for a, b in zip(one, two, strict=True)]
    return one + two


def check_windows(cell: Cell, cut: int, until: int, seed: int, clock: str) -> None:
    """What is counted up to a moment and from then on is what is counted in one, under this clock."""
    whole = Worker(counting_from(cell, 0, until), clock).replicate(seed, 1)
    first, second = (
        Worker(counting_from(cell, start, end), "compiled").replicate(seed, 1)
        for start, end in ((0, cut), (cut, until))
    )
    assert first.violations + second.violations + whole.violations == []
    for name in ADDED:
        one, two = getattr(first, name), getattr(second, name)
        assert (one + two if name == "lead_times" else added(one, two)) == getattr(whole, name), name
    assert sum(first.hourly) + sum(second.hourly) == sum(whole.hourly)
    assert [*map(max, first.highest, second.highest)] == whole.highest
    assert max(first.wip_highest, second.wip_highest) == whole.wip_highest
    assert (second.inside, second.events) == (whole.inside, whole.events)


@every_scenario
@pytest.mark.parametrize("share", [0.2, 0.55])
def test_counted_times_that_follow_each_other_add_up(file: Path, share: float) -> None:
    """In every scenario, cut in the first and in the second part of the run, at no round time."""
    cell = load(file)
    until = Worker(cell, "compiled").plan.horizon
    study = replace(cell.study, shifts=0, settle_shifts=0)
    check_windows(replace(cell, study=study), round(share * until) + 1, until, 9, "compiled")


@quick
@given(whole_cells(), st.integers(0, 3), st.integers(1, HORIZON // SECOND - 1))
def test_so_they_do_in_random_cells(cell: Cell, seed: int, cut: int) -> None:
    """Cut at a whole second, at which much happens at once."""
    with bounded():
        try:
            check_windows(cell, cut * SECOND, HORIZON, seed, "simpy")
        except UsageError:
            reject()  # nobody is there in the counted time
