"""The path against exact elasticities and measured differences; which hint names the station that limits."""

from __future__ import annotations

import math
import sys
from dataclasses import replace
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))
import hints as survey
from hints import Line, faster, records_of

from cellsim.describe.resolve import load_text
from cellsim.engine.model import compile_cell
from cellsim.study.hints import active_periods, hints, pointed_at, stations_by_path
from cellsim.study.losses import loss_account
from cellsim.study.statistics import Interval, t_interval
from cellsim.study.worker import Worker
from cellsim.theory.saturated import elasticities, line_figures
from cellsim.theory.unreliable import exponential_line_with_stops

FALSE_ALARMS = 0.001  # of each test, for all numbers that it compares together
BUSY_FIRST = Line((1.05, 1.0, 1.0, 1.0), (8, 8, 0))
BUSY_ENDS = Line((1.1, 1.0, 1.0, 1.05), (8, 8, 0))


def shares_of_path(line: Line, seed: int, what: str, runs: int, minutes: int) -> list[list[float]]:
    """The share of a cause on the path of each run, [station][run]."""
    worker, records = records_of(line.cell(minutes), seed, runs)
    causes = worker.flat.names.causes
    return [
        [r.path[causes.index((f"S{k + 1}", what))] / r.path_elapsed for r in records]
        for k in range(len(line.means))
    ]


def holds(found: Interval, exact: float) -> bool:
    """Whether an interval holds a value."""
    assert found.low is not None and found.high is not None
    return found.low < exact < found.high


@pytest.mark.parametrize(
    ("line", "known"),
    [
        (BUSY_FIRST, (0.004614, 0.020292, 0.487816, 0.487278)),
        (BUSY_ENDS, (0.005916, 0.015896, 0.469317, 0.508872)),
    ],
)
def test_the_path_has_the_exact_elasticities_where_utilisation_errs(line, known):
    """Station 1 is slowest and busiest, yet stations 3 and 4 limit, which have no place between them.

    The exact values were computed for these lines a second time elsewhere.  One false alarm in 1000.
    """
    exact = elasticities(line.means, line.places)
    assert exact == pytest.approx(known, abs=1e-6)
    for share, value in zip(shares_of_path(line, 3, "work", 10, 100_000), exact, strict=True):
        assert holds(t_interval(share, 1 - FALSE_ALARMS / 4), value)


def test_the_path_has_the_exact_elasticities_of_random_lines():
    """Eight lines with uneven buffers: 32 shares and their exact elasticities.  One false alarm in 1000."""
    lines = survey.exponential_lines(8, 20)
    for seed, line in enumerate(lines):
        exact = elasticities(line.means, line.places)
        for share, value in zip(shares_of_path(line, seed, "work", 10, 60_000), exact, strict=True):
            assert holds(t_interval(share, 1 - FALSE_ALARMS / (4 * len(lines))), value), line


STOPPING = [
    Line((1.0, 1.05, 0.95), (3, 4), (30, 50, 40), (5, 4, 6), True),
    Line((1.0, 0.9, 1.1), (6, 0), (60, 20, 80), (8, 3, 2), True),
]


def exact_gain(line: Line, station: int, names: tuple[str, ...]) -> float:
    """Minus d ln rate / d ln of some times of a station, by a central difference of the exact chain."""
    step = 1e-4

    def log_rate(factor: float) -> float:
        times = {
            name: tuple(
                t * factor if k == station and name in names else t for k, t in enumerate(getattr(line, name))
            )
            for name in ("means", "runs", "repairs")
        }
        figures = exponential_line_with_stops(times["means"], line.places, times["runs"], times["repairs"])
        return math.log(figures.rate)

    return (log_rate(1 - step) - log_rate(1 + step)) / (2 * step)


@pytest.mark.parametrize("line", STOPPING)
def test_work_and_repairs_of_lines_that_stop(line):
    """The share of repairs is their exact elasticity; that of work the one with as many stops per unit.

    Shorter work alone meets stops by running time less often: that gains more than the share of work, and
    less than work and repairs together.  All shares add up to 1.  One false alarm in 1000 for the six shares.
    """
    worker, records = records_of(line.cell(100_000), 7, 10)
    rows = {(row["who"], row["what"]): row for row in loss_account(worker.flat, records)["causes"]}
    causes = worker.flat.names.causes
    total = 0.0
    for k in range(3):
        for what, names in (("work", ("means", "runs")), ("stop: stop", ("repairs",))):
            exact = exact_gain(line, k, names)
            cause = causes.index((f"S{k + 1}", what))
            shares = [r.path[cause] / r.path_elapsed for r in records]
            assert holds(t_interval(shares, 1 - FALSE_ALARMS / 6), exact), (k, what)
            total += exact
        work = rows[f"S{k + 1}", "work"]
        assert work["elasticity"] < exact_gain(line, k, ("means",)) < work["elasticity_with_stops"]
        stop = rows[f"S{k + 1}", "stop: stop"]
        assert work["elasticity_with_stops"] == pytest.approx(work["elasticity"] + stop["elasticity"])
        assert "elasticity_with_stops" not in stop
    assert total == pytest.approx(1.0, abs=1e-6)


def test_what_is_measured_agrees_with_what_the_path_promises():
    """Each station 5 % faster with the same luck, on the line whose first station is busiest.

    Measured and promised differ by what the exact chain says that a step of 5 % and a tiny one differ by.
    One false alarm in 1000 for the eight intervals together.
    """
    exact = elasticities(BUSY_FIRST.means, BUSY_FIRST.places)
    rate = line_figures(BUSY_FIRST.means, BUSY_FIRST.places).rate
    promised = shares_of_path(BUSY_FIRST, 5, "work", 20, 20_000)
    before = [r.cell["good"] for r in records_of(BUSY_FIRST.cell(20_000), 5, 20)[1]]
    known = (0.003272, 0.016058, 0.493473, 0.492745)
    for k in range(4):
        better = faster(BUSY_FIRST, k, 0.05)
        of_step = (line_figures(better.means, better.places).rate - rate) / rate / 0.05
        assert of_step == pytest.approx(known[k], abs=1e-6)
        after = [r.cell["good"] for r in records_of(better.cell(20_000), 5, 20)[1]]
        gains = [(b - a) / a / 0.05 for a, b in zip(before, after, strict=True)]
        level = 1 - FALSE_ALARMS / 8
        assert holds(t_interval(gains, level), of_step)
        apart = [gain - share for gain, share in zip(gains, promised[k], strict=True)]
        assert holds(t_interval(apart, level), of_step - exact[k])


def test_the_path_errs_only_where_stations_are_nearly_equal():
    """A small part of the survey in tests/benchmarks/hints.py: ten exponential lines.

    The station that the path names and the best one differ on the path as they do exactly: one false alarm in
    1000 for all lines.  On these lines every other hint gives up several times as much.
    """
    lines = survey.exponential_lines(10, 31)
    for k, line in enumerate(lines):
        gains = survey.exact(line, 0)
        shares = shares_of_path(line, 31 + k, "work", survey.RUNS, survey.MINUTES)
        pick, best = (values.index(max(values)) for values in ([sum(row) for row in shares], gains))
        if pick != best:
            apart = [a - b for a, b in zip(shares[pick], shares[best], strict=True)]
            assert holds(t_interval(apart, 1 - FALSE_ALARMS / len(lines)), gains[pick] - gains[best])
    found = survey.scores(lines, survey.exact, 31, 20_000)
    assert found["path"].right >= max(score.right for score in found.values())
    others = [score.given_up for hint, score in found.items() if hint != "path"]
    assert min(others) > 3 * found["path"].given_up


def test_long_stops_of_constant_cycles():
    """Three lines of the other kind in the survey: the path names the station that gains most, measured."""
    found = survey.scores(survey.lines_with_stops(3, 32), survey.measured, 32, 20_000)
    assert found["path"].right == found["path"].lines == 3


def test_each_hint_has_its_own_station():
    """The busy first station: it is at work most and longest, the path and the arrows point behind it."""
    worker, records = records_of(BUSY_FIRST.cell(2500), 2, 10)
    active = active_periods(worker.flat, 2, 10)
    account = loss_account(worker.flat, records)
    found = hints(worker.flat, records, account, active)
    assert (found["at_work"], found["active_periods"]) == ("S1", "S1")
    assert found["path"] in ("S3", "S4")
    assert found["blocking_and_starving"] == pointed_at(worker.flat, records)["station"]
    assert found["blocking_and_starving"] in ("S3", "S4")  # exactly S3: blocked 33.2 %, S4 starved 33.5 %
    rows = {row["station"]: row for row in found["stations"]}
    figures = line_figures(BUSY_FIRST.means, BUSY_FIRST.places)
    for k, name in enumerate(("S1", "S2", "S3", "S4")):
        row = rows[name]
        assert row["at_work"] == pytest.approx(figures.working[k], abs=0.02)
        assert row["blocked"] == pytest.approx(figures.blocked[k], abs=0.02)
        assert row["starved"] == pytest.approx(figures.starved[k], abs=0.02)
    assert sum(row["path"] for row in found["stations"]) == pytest.approx(1.0)
    assert stations_by_path(worker.flat, account)["S3"] == rows["S3"]["path"]
    assert sum(row["share"] for row in active["stations"]) == pytest.approx(1.0, abs=1e-3)
    for row in active["stations"]:
        assert row["sole"] < row["share"] < row["sole"] + row["shifting"]
        assert row["interval"][0] < row["share"] < row["interval"][1]


def test_the_limit_of_events_ends_the_last_run_early():
    """1000 events are enough for a part of the first run only; with no event at all nothing was seen."""
    flat = compile_cell(BUSY_FIRST.cell(2500))
    assert active_periods(flat, 1, 10, 1000)["replications"] == 1
    nothing = active_periods(flat, 1, 10, 0)
    assert (nothing["replications"], nothing["station"]) == (0, None)
    assert [row["mean_s"] for row in nothing["stations"]] == [None] * 4


def test_a_cell_without_output_has_no_limit():
    """Raw units come after the end: nobody works, nothing is pointed at."""
    worker = Worker(
        load_text(
            "cell: late\nrelease: {at: [5 h]}\nroute: [A]\nstations: {A: {cycle: 1 min}}\nstudy: {run: 1 h}\n"
        )
    )
    records = [worker.replicate(1, 0)]
    found = hints(worker.flat, records, loss_account(worker.flat, records), active_periods(worker.flat, 1, 1))
    assert [found[key] for key in ("path", "blocking_and_starving", "active_periods", "at_work")] == [
        None
    ] * 4


def test_stops_after_so_many_cycles_are_no_stops_by_time():
    """They come as often per unit however short the work: the work has its own elasticity only."""
    line = replace(BUSY_FIRST, means=(1.0, 1.0), places=(2,))
    jam = "jam: {every: 5 cycles, lasts: 1 min}"
    text = f"cell: c\nroute: [S1]\nstations: {{S1: {{cycle: 1 min, stops: {{{jam}}}}}}}\n"
    for words, there in ((text, False), (text.replace("5 cycles", "5 min of on time"), True)):
        worker = Worker(load_text(words + "study: {run: 5 h}\n"))
        (work,) = [
            row
            for row in loss_account(worker.flat, [worker.replicate(1, 0)])["causes"]
            if row["what"] == "work"
        ]
        assert ("elasticity_with_stops" in work) == there
    assert "elasticity_with_stops" not in loss_account(*_one(line))["causes"][0]


def _one(line: Line):
    worker, records = records_of(line.cell(100), 1, 1)
    return worker.flat, records
