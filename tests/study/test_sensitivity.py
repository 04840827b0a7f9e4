"""Sensitivity of cells whose answer is known exactly: effects, shares, intervals, and what cannot be told."""

from __future__ import annotations

import itertools
import json
import statistics

import numpy as np
import pytest

from cellsim.describe import reader
from cellsim.describe.ranges import aimed, read_ranges
from cellsim.describe.resolve import load_text
from cellsim.study.runner import Runner
from cellsim.study.sensitivity import Effort, sensitivity
from cellsim.study.statistics import t_quantile
from cellsim.study.unknowns import unknowns
from cellsim.theory.two_stations import exponential_times_rate

# Two exponential stations with rates 1 and 0.9 in ten seconds, two places between.
TWO = """
cell: two benches
route: [A, t, B]
stations:
  A: {cycle: {law: exponential, mean: 10 s}}
  B: {cycle: {law: exponential, mean: 11.111111 s}}
stores: {t: 2}
study: {settle: 30 min, run: 8 h, seed: 3}
"""
RANGES = (
    "stations.A.cycle: 9.090909 s to 11.111111 s",
    "stations.B.cycle: 10.101010 s to 12.345679 s",
    "stores.t: 1 to 4",
)
NAMES = ("stations.A.cycle.mean", "stations.B.cycle.mean", "stores.t")
BASE, LOW, HIGH = (10, 100 / 9, 2), (10 / 1.1, 100 / 9.9, 1), (10 / 0.9, 100 / 8.1, 4)


def rate(first: float, second: float, places: float) -> float:
    """Units per hour."""
    return 3600 * exponential_times_rate([first, second], round(places))


def studied(text: str, ranges: tuple[str, ...], effort: Effort, only: bool = True, seed: int = 3):
    """The answer of a study in one process."""
    found = unknowns(
        lambda changes: load_text(text, changes=changes),
        aimed(read_ranges(ranges), reader.read_text(text, "cell.yaml")),
        only,
    )
    with Runner(clock="compiled") as runner:
        return sensitivity(found, seed, effort, runner)


@pytest.fixture(scope="module")
def two():
    """The study of the two benches."""
    return studied(TWO, RANGES, Effort(20, shares=True))


def by_name(answer):
    """The rows of the answer."""
    return {row["input"]: row for row in answer["inputs"]}


def test_the_closed_form_has_the_known_bars():
    """Ten seconds times the rate: 0.755806; places 0.709218 to 0.808320, B 0.708285 to 0.795960, A 0.72 to
    0.78422, from the weights (m2 / m1)^n by hand."""

    def at(k: int, value: float) -> float:
        return rate(*(value if i == k else b for i, b in enumerate(BASE))) / 360

    assert rate(*BASE) / 360 == pytest.approx(0.755806, abs=1e-6)
    assert (at(2, 1), at(2, 4)) == pytest.approx((0.709218, 0.808320), abs=1e-6)
    assert (at(1, HIGH[1]), at(1, LOW[1])) == pytest.approx((0.708285, 0.795960), abs=1e-6)
    assert (at(0, HIGH[0]), at(0, LOW[0])) == pytest.approx((0.72, 0.784220), abs=1e-6)


def test_each_input_alone_does_what_the_closed_form_says(two):
    """Six differences from the cell as it is, ten paired runs each: chance of a false alarm 1 in 1000 for
    all."""
    wide = t_quantile(1 - 0.001 / 12, 9) / t_quantile(0.975, 9)
    for k, name in enumerate(NAMES):
        for end, values in (("low", LOW), ("high", HIGH)):
            exact = rate(*(values[i] if i == k else b for i, b in enumerate(BASE))) - rate(*BASE)
            found = by_name(two)[name]["alone"][end]
            half = (found["interval"][1] - found["interval"][0]) / 2
            assert abs(found["mean"] - exact) < wide * half < 0.5 * abs(exact) + 10


def grid(which: int) -> float:
    """Mean effect of an input over the whole grid of the screening, from the closed form."""
    ends = list(zip(LOW, HIGH, strict=True))

    def value(k: int, level: int) -> float:
        low, high = ends[k]
        return low + min(3, level) if k == 2 else low + level / 3 * (high - low)

    changes = []
    others = [k for k in range(3) if k != which]
    for start, levels in itertools.product((0, 1), itertools.product(range(4), repeat=2)):
        places = dict(zip(others, levels, strict=True))
        low, high = (
            rate(*(value(k, (places | {which: at})[k]) for k in range(3))) for at in (start, start + 2)
        )
        changes.append((high - low) / (2 / 3))
    return statistics.fmean(changes)


def test_effects_are_those_of_the_closed_form_over_the_grid(two):
    """Three means of ten ways: chance of a false alarm 1 in 1000 for all."""
    wide = t_quantile(1 - 0.001 / 6, 9) / t_quantile(0.975, 9)
    for k, name in enumerate(NAMES):
        effect = by_name(two)[name]["effect"]
        half = (effect["interval"][1] - effect["interval"][0]) / 2
        assert abs(effect["mean"] - grid(k)) < wide * half
        assert half < 15 < abs(grid(k))


def exact_shares():
    """First and total shares and the variance, by quadrature of the closed form."""
    count = 30
    middle = (np.arange(count) + 0.5) / count
    firsts = LOW[0] + middle * (HIGH[0] - LOW[0])
    seconds = LOW[1] + middle * (HIGH[1] - LOW[1])
    table = np.array([[[rate(a, b, n) for n in (1, 2, 3, 4)] for b in seconds] for a in firsts])
    whole = table.var()
    first, total = [], []
    for k in range(3):
        others = tuple(i for i in range(3) if i != k)
        first.append(table.mean(axis=others).var() / whole)
        total.append(1 - table.mean(axis=k).var() / whole)
    return np.array(first), np.array(total), whole


def test_shares_of_variance_are_those_of_quadrature(two):
    """Each of six within twice its 95 % interval, some four standard errors, and that is no wide one."""
    first, total, _ = exact_shares()
    rows = {row["input"]: row for row in two["shares"]["inputs"]}
    assert two["shares"]["by"] == "a quadratic"
    assert two["shares"]["explained_at_points_left_out"] > 0.9
    assert set(rows) == set(NAMES)
    for k, name in enumerate(NAMES):
        for kind, exact in (("first", first[k]), ("total", total[k])):
            low, high = rows[name][kind]["interval"]
            assert abs(rows[name][kind]["mean"] - exact) < high - low < 0.4


def test_the_screening_comes_near_those_shares(two):
    """Squares of effects are exact for straight lines only, and this is nearly one: to twice the interval."""
    first, _, _ = exact_shares()
    for k, name in enumerate(NAMES):
        share = by_name(two)[name]["share"]
        low, high = share["interval"]
        assert abs(share["mean"] - first[k]) < high - low
        assert low <= share["mean"] <= high


def test_not_knowing_is_told_from_chance(two):
    """The variance by the inputs is that of quadrature to 50 %: 3.5 standard errors of a variance from 100
    draws.  That of a run is that of the 20 runs of the cell as it is, to the 1 in 10000 limits of F with 19
    and 400 degrees of freedom, 0.25 and 2.6."""
    _, _, exact = exact_shares()
    found = two["not_knowing"]
    assert found["variance_of_inputs"] == pytest.approx(exact, rel=0.5)
    own = 20 * (found["half_width_of_runs"] / t_quantile(0.975, 19)) ** 2
    assert 0.25 < own / found["variance_of_one_run"] < 2.6
    share = exact / (exact + found["variance_of_one_run"] / 20)
    assert found["share_of_inputs"] == pytest.approx(share, abs=0.02)
    assert found["straight_lines_explain"] > 0.9
    assert found["half_width"] > 3 * found["half_width_of_runs"]


def test_little_that_is_not_known_is_told_from_much_chance():
    """Both times to 3 %: variance by quadrature about 18, of one run 20, so 10 of the mean of two.

    300 draws give the variance by the inputs to sqrt(2 / 299) (18 + 10) = 2.3; limits of 3.5 of that.  Draws
    that share their luck would give 10 less.
    """
    ranges = ("stations.A.cycle: 9.7 s to 10.3 s", "stations.B.cycle: 10.777778 s to 11.444444 s")
    found = studied(TWO, ranges, Effort(2, each=2, ways=4, draws=300))["not_knowing"]
    middle = (np.arange(20) + 0.5) / 20
    exact = np.var([[rate(9.7 + 0.6 * x, 10.777778 + 0.666666 * y, 2) for x in middle] for y in middle])
    error = np.sqrt(2 / 299) * (exact + found["variance_of_one_run"] / 2)
    assert 3.5 * error < found["variance_of_one_run"] / 2
    assert abs(found["variance_of_inputs"] - exact) < 3.5 * error


def test_what_is_run_is_counted(two):
    """20 as it is, 10 ways of 4 points, ten at 7 points with one alone, 100 draws, 60 and 20 points."""
    assert two["runs"] == 20 + 5 * 40 + 10 * 7 + 5 * 100 + 5 * 80
    assert two["runs"] <= Effort(20, shares=True).runs(3)
    assert two["locked_runs"] == 0


def test_equal_seeds_give_equal_answers():
    """To the last bit, resampled intervals too; another seed gives others."""
    effort = Effort(2, each=2, ways=4, draws=20, shares=True)
    one, again = (json.dumps(studied(TWO, RANGES, effort)) for _ in range(2))
    assert one == again != json.dumps(studied(TWO, RANGES, effort, seed=4))


SLOW = """
cell: one slow bench
route: [A, s, B, t, C]
stations:
  A: {cycle: {mean: 5 s, spread: 10 %}}
  B: {cycle: {mean: 20 s, spread: 10 %}}
  C: {cycle: {mean: 4 s, spread: 10 %}}
stores: {s: 4, t: 4}
study: {settle: 10 min, run: 4 h}
"""


def test_where_one_input_matters_it_is_named():
    """B is four times as slow as the others: its mean carries all, an effect of 163.6 to 200 an hour."""
    answer = studied(SLOW, (), Effort(5), only=False)
    verdict = answer["verdict"]
    assert verdict["first"] == "B: work"
    assert verdict["matter"][0]["share"] > 0.99 and len(verdict["matter"]) == 1
    assert verdict["others"] == 5 and verdict["share_of_others"] < 0.01
    row = by_name(answer)["B: work"]
    assert row["alone"]["low"]["mean"] == pytest.approx(3600 / 18 - 180, abs=0.5)
    assert row["alone"]["high"]["mean"] == pytest.approx(3600 / 22 - 180, abs=0.5)
    assert answer["inputs"][0] is row
    for name, other in by_name(answer).items():
        assert name == "B: work" or abs(other["effect"]["mean"]) < 0.5


def test_of_two_that_are_alike_none_is_named():
    """Two equal benches with equal stops: a line run backwards makes as much, so both carry the same.

    Jams differ so much from run to run that in five runs alone one of the two would seem to matter more; the
    ways and groups with luck of their own see through it.
    """
    jams = "stops: {jam: {every: 20 min of running, lasts: 4 min, law: exponential}}"
    text = (
        "cell: top\nroute: [A, t, B]\nstations:\n"
        f"  A: {{cycle: 24 s, {jams}}}\n  B: {{cycle: 24 s, {jams}}}\nstores: {{t: 8}}\n"
        "study: {settle: 1 h, run: 8 h}\n"
    )
    answer = studied(text, (), Effort(5, shares=True), only=False)
    verdict = answer["verdict"]
    assert verdict["tells"] and verdict["first"] is None
    assert {row["input"] for row in verdict["matter"][:2]} == {"A: work", "B: work"}
    rows = {row["input"]: row["total"] for row in answer["shares"]["inputs"]}
    assert rows["A: work"]["interval"][0] < rows["B: work"]["interval"][1]
    assert rows["B: work"]["interval"][0] < rows["A: work"]["interval"][1]


def test_where_nothing_changes_output_nothing_is_told():
    """Units come every minute and are done in ten seconds: output never changes, and no share is made up."""
    text = (
        "cell: idle\nroute: [A, t, B]\nstations: {A: {cycle: 10 s}, B: {cycle: 8 s}}\nstores: {t: 2}\n"
        "release: every 1 min\nstudy: {settle: 1 h, run: 2 h}\n"
    )
    answer = studied(text, (), Effort(4, ways=4, draws=20, shares=True), only=False)
    verdict = answer["verdict"]
    assert not verdict["tells"] and verdict["first"] is None and verdict["matter"] == []
    assert answer["shares"] is None
    assert answer["not_knowing"]["share_of_inputs"] is None
    assert answer["not_knowing"]["half_width"] == 0


def test_a_bend_that_no_quadratic_follows_is_found_by_runs_alone():
    """Two fixed times from 1 to 200 s: output 3600 / max(a, b) is no quadratic, nor are the shares its own.

    By symmetry both carry the same; that total share is found by quadrature.  64 points of each set leave a
    wide bootstrap interval; the exact value must lie within twice it.
    """
    text = (
        "cell: steep\nroute: [A, t, B]\nstations:\n  A: {cycle: 10 s}\n  B: {cycle: 10 s}\nstores: {t: 2}\n"
        "study: {settle: 10 min, run: 1 h}\n"
    )
    ranges = ("stations.A.cycle: 1 s to 200 s", "stations.B.cycle: 1 s to 200 s")
    answer = studied(text, ranges, Effort(4, each=2, ways=6, draws=40, shares=True))
    assert answer["verdict"]["tells"] and answer["verdict"]["first"] is None
    assert answer["shares"]["by"] == "runs alone"
    assert answer["shares"]["explained_at_points_left_out"] < 0.9
    middle = 1 + 199 * (np.arange(500) + 0.5) / 500
    table = 3600 / np.maximum(middle[:, None], middle)
    exact = 1 - table.mean(axis=0).var() / table.var()
    for row in answer["shares"]["inputs"]:
        low, high = row["total"]["interval"]
        assert abs(row["total"]["mean"] - exact) < high - low
    assert answer["shares"]["noise"] < 0.01


def test_measured_times_carry_what_their_number_says():
    """One bench, 40 measured times, mean m and deviation s: output 3600 / m, its deviation 3600 s / m^2 /
    sqrt(40) by the delta method; the variance from 100 draws to 50 %, 3.5 standard errors."""
    times = [round(20 + 10 * ((k * 0.6180339887498949) % 1) ** 3, 2) for k in range(40)]
    listed = ", ".join(f"{t} s" for t in times)
    text = (
        f"cell: one\nroute: [A]\nstations: {{A: {{cycle: {{measured: [{listed}]}}}}}}\nstudy: {{run: 8 h}}\n"
    )
    answer = studied(text, (), Effort(5), only=False)
    m, s = statistics.fmean(times), statistics.pstdev(times)
    assert answer["not_knowing"]["variance_of_inputs"] == pytest.approx((3600 * s / m**2) ** 2 / 40, rel=0.5)
    row = by_name(answer)["A: work"]
    assert row["known"] == "measured" and "40 measured values" in row["why"]
    assert row["effect"]["mean"] == pytest.approx(3600 / row["high"] - 3600 / row["low"], rel=0.1)


def test_efforts_that_make_no_sense():
    """Told."""
    with pytest.raises(ValueError, match="at least 2, 2, 2 and 20 are wanted"):
        Effort(1)
    with pytest.raises(ValueError, match="nothing about this cell is uncertain"):
        studied(TWO, (), Effort(2), only=True)


def test_runs_that_lock_up_are_counted():
    """A unit that comes back finds its place taken: with 8 % to mend all runs lock up, and it is said.

    Every run has the share of rejects at 8 % or more, so that of 12 hours with 480 units in each none goes
    well: 0.92 to the power of 480 is 4e-18.
    """
    text = (
        "cell: locks up\nroute: [feed, gate, work, buffer, test]\nstations:\n  feed: {cycle: 1 s}\n"
        "  work: {cycle: 1 min}\n"
        "  test: {cycle: 90 s, rejects: {share: 10 %, after_rework: 0 %, to: gate, attempts: 5}}\n"
        "stores: {gate: 0, buffer: 1}\nstudy: {run: 12 h}\n"
    )
    ranges = ("stations.test.rejects.share: 8 % to 12 %",)
    answer = studied(text, ranges, Effort(2, each=2, ways=4, draws=20))
    assert answer["locked_runs"] == answer["runs"] == 2 + 2 * 4 * 2 + 4 * 3 + 2 * 20
