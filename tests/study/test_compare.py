"""Proposals beside the cell as it is: the differences, when enough has been run, and the command."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

import cellsim
from cellsim import cli
from cellsim.describe.changes import read_changes
from cellsim.describe.resolve import load_text
from cellsim.published.cells import exponential_line
from cellsim.show.compared import verdict
from cellsim.study.compare import Alternative, Compared, comparison, run_pairs
from cellsim.study.paired import paired
from cellsim.study.precision import Precision
from cellsim.study.replicate import run_replications
from cellsim.study.runner import Runner
from cellsim.study.watched import values_of
from cellsim.study.worker import Worker
from cellsim.theory.saturated import line_figures

TEXT = """
cell: two benches
shifts: {day: {from: 06:00, to: 10:00}}
crew: {anna: [fit]}
route: [press, tray, fit]
stations:
  press: {cycle: {law: exponential, mean: 20 s}}
  fit: {cycle: {law: exponential, mean: 20 s}, by: anna}
stores: {tray: 2}
study: {shifts: 1, replications: 12, seed: 5}
"""


def alternative(name: str, *changes: str) -> Alternative:
    """The benches with changes."""
    return Alternative(name, load_text(TEXT, changes=read_changes(changes)))


BASE, MORE = alternative("base"), alternative("more", "stores.tray: 8")


def compared(*alternatives: Alternative, wanted: int | Precision = 12) -> Compared:
    """All alternatives run with the same luck, in this process."""
    with Runner(clock="simpy") as runner:
        return run_pairs(alternatives, 5, wanted, runner)


def test_differences_are_those_of_the_replications_one_by_one():
    """Every figure: mean of the differences of replications with the same number."""
    answer = comparison(compared(BASE, MORE))
    base = run_replications(BASE.cell, 5, range(12), clock="simpy").records
    more = run_replications(MORE.cell, 5, range(12), clock="simpy").records
    row = answer["proposals"][0]
    for name, difference in row["differences"].items():
        own = paired(values_of(name, BASE.cell, base), values_of(name, MORE.cell, more))
        assert difference["mean"] == own.mean
        assert difference["interval"] == list(own.interval(0.95))
        assert row["figures"][name]["mean"] == pytest.approx(
            answer["base"]["figures"][name]["mean"] + own.mean
        )
    assert set(row["differences"]) == {
        "output_per_hour",
        "output",
        "units_per_labour_hour",
        "wip",
        "lead_time",
    }
    assert row["differences"]["output_per_hour"]["interval"][0] > 0
    assert row["differences"]["output_per_hour"]["mean"] * 4 == pytest.approx(
        row["differences"]["output"]["mean"]
    )


def test_comparing_from_python():
    """The same answer by `cellsim.compare`; a change may be a text."""
    more = cellsim.load_text(TEXT, changes=["stores.tray: 8"])
    answer = cellsim.compare(BASE.cell, {"more": more}, clock="simpy")
    assert answer["proposals"] == comparison(compared(BASE, MORE))["proposals"]
    to = cellsim.compare(BASE.cell, {"more": more}, precision=0.02, clock="simpy")
    assert to["precision_reached"]
    with pytest.raises(ValueError, match="a base, a proposal"):
        cellsim.compare(BASE.cell, {})


def test_the_cell_itself_is_exactly_the_same():
    """A proposal that changes nothing differs in nothing, and says so."""
    answer = comparison(compared(BASE, alternative("again")))
    difference = answer["proposals"][0]["differences"]["output_per_hour"]
    assert (difference["mean"], difference["p"], difference["gain"]) == (0, 1, None)
    assert verdict(difference, 12) == "exactly the same in every run"


def test_several_proposals_are_judged_together():
    """Beside one that changes nothing, the level of the clear one rises and its interval grows."""
    alone = comparison(compared(BASE, MORE))["proposals"][0]["differences"]["output_per_hour"]
    together = comparison(compared(BASE, MORE, alternative("again")))["proposals"]
    first, second = (row["differences"]["output_per_hour"] for row in together)
    assert (first["level"], second["level"]) == (0.975, 0.95)
    assert first["p_adjusted"] == 2 * first["p"] == 2 * alone["p"]
    assert first["interval"][0] < alone["interval"][0]


def test_a_cell_without_a_crew_has_no_labour_figure():
    """What one of them does not have is left out of its row, and of all where it is the base."""
    robot = alternative("robot", "crew: ~", "stations.fit.by: ~")
    row = comparison(compared(BASE, robot))["proposals"][0]
    assert "units_per_labour_hour" not in row["figures"]
    assert "units_per_labour_hour" not in row["differences"]
    assert "wip" in row["differences"]
    other = comparison(compared(robot, BASE))["proposals"][0]
    assert "units_per_labour_hour" in other["figures"]
    assert "units_per_labour_hour" not in other["differences"]


def departures(times: np.ndarray, places: list[int]) -> np.ndarray:
    """When each unit leaves the last station, by a recurrence; times (units, stations, replications).

    A unit leaves a station when its work is done and the unit that has the last place behind it moves on.
    """
    units, stations, replications = times.shape
    left = np.zeros((units, stations, replications))
    for j in range(units):
        for i in range(stations):
            begins = np.maximum(left[j - 1, i] if j else 0, left[j, i - 1] if i else 0)
            left[j, i] = begins + times[j, i]
            if i < stations - 1 and (ahead := j - places[i] - 1) >= 0:
                left[j, i] = np.maximum(left[j, i], left[ahead, i + 1])
    return left[:, -1]


def test_the_same_luck_saves_replications():
    """Five exponential stations of 1 min, places 2 2 2 2 and 2 3 3 2: 1.656683 an hour more (own chain).

    Over units 101 to 600 independent studies would take 31 times as many replications (another program).  In
    fixed time the faster cell makes units that the other never begins, so the gain is less; the runs agree
    with the recurrence on it.  400 replications: a ratio of variances has a spread of 10 %, with 60 of 20 %;
    bounds of 4 of them, and of 4 standard errors for the mean: a right one fails with 1 in 5 000.
    """
    both, luck = ([2, 2, 2, 2], [2, 3, 3, 2]), np.random.default_rng(11)
    exact = [3600 * line_figures([60] * 5, places).rate for places in both]
    assert exact[1] - exact[0] == pytest.approx(1.656683, abs=1e-6)
    times = luck.exponential(1.0, (1000, 5, 400))
    ends = [departures(times, places) for places in both]
    by_units = paired(*(30_000 / (left[599] - left[99]) for left in ends))
    assert by_units.gain == pytest.approx(31, rel=0.4)
    assert by_units.deviation == pytest.approx(0.276, rel=0.2)
    in_time = paired(*(((left > 140) & (left <= 860)).sum(axis=0) / 12 for left in ends))
    cells = [load_text(exponential_line([60] * 5, places, "settle: 140 min, run: 12 h")) for places in both]
    with Runner(clock="compiled") as runner:
        found = run_pairs([Alternative(str(k), cell) for k, cell in enumerate(cells)], 6, 60, runner)
    ours = paired(*(found.values("output_per_hour", k) for k in (0, 1)))
    assert abs(ours.mean - 1.656683) < 4 * ours.deviation / 60**0.5
    assert ours.gain == pytest.approx(in_time.gain, rel=0.9)
    assert ours.deviation == pytest.approx(in_time.deviation, rel=0.4)
    assert 5 < in_time.gain < by_units.gain


def test_until_the_differences_are_known_well_enough():
    """The half width is at most the share of the base's output, and no fewer would have been enough."""
    found = compared(BASE, MORE, wanted=Precision(0.01, most=400))
    assert found.reached
    answer = comparison(found)
    low, high = answer["proposals"][0]["differences"]["output_per_hour"]["interval"]
    assert (high - low) / 2 <= 0.01 * answer["base"]["figures"]["output_per_hour"]["mean"]
    assert 15 <= answer["replications"] < 400
    shorter = compared(BASE, MORE, wanted=answer["replications"])
    assert comparison(shorter)["proposals"] == answer["proposals"]


def test_a_precision_that_is_not_reached_is_told():
    """The most replications are run and kept."""
    found = compared(BASE, MORE, wanted=Precision(0.0001, most=20))
    assert not found.reached
    assert comparison(found)["replications"] == 20


def test_a_comparison_takes_two_replications_and_a_proposal():
    """Nothing is said on less."""
    for found in (compared(BASE), compared(BASE, MORE, wanted=1)):
        with pytest.raises(ValueError, match="a base, a proposal and two replications"):
            comparison(found)


RANGE = "anything from 1 fewer to 2.5 more is possible"


@pytest.mark.parametrize(
    ("low", "high", "needed", "said"),
    [
        (3.04, 6.81, 5, "between 3.04 and 6.81 more per hour"),
        (-6.81, -3.04, 5, "between 3.04 and 6.81 fewer per hour"),
        (5.0, 5.0, 5, "5 more per hour"),
        (-1.0, 2.5, 420, "cannot tell; " + RANGE + ", about 400 more runs would tell"),
        (-1.0, 2.5, None, "cannot tell; " + RANGE + ", and more runs would hardly help"),
    ],
)  # fmt: skip
def test_verdicts_in_words(low, high, needed, said):
    """By the interval alone; what cannot be told says what it would take."""
    difference = {"interval": [low, high], "replications_to_tell": needed, "unit": "per h"}
    assert verdict(difference, 20) == said


@pytest.fixture
def inside(tmp_path, monkeypatch) -> Path:
    """A folder with the benches, a cell file that proposes, and a file of proposals."""
    (tmp_path / "benches.yaml").write_text(TEXT)
    (tmp_path / "wide.yaml").write_text(TEXT.replace("tray: 2", "tray: 20"))
    (tmp_path / "some.yaml").write_text(
        "four places: {stores.tray: 4}\nslow: {stations.fit.cycle.mean: 21 s}\n"
    )
    monkeypatch.chdir(tmp_path)
    return tmp_path


def call(*arguments: str):
    """Call the command."""
    return CliRunner().invoke(cli.main, ["compare", *arguments])


def test_the_command_compares_all_kinds_of_proposals(inside):
    """Cell files, changes and a file of proposals, in the order of the call; the same in JSON."""
    result = call("benches.yaml", "wide.yaml", "--change", "stores.tray: 8", "--proposals", "some.yaml",
                  "-w", "1", "--json", "answer.json")  # fmt: skip
    assert result.exit_code == 0, result.output
    answer = json.loads((inside / "answer.json").read_text())
    names = [row["name"] for row in answer["proposals"]]
    assert names == ["wide", "stores.tray: 8", "four places", "slow"]
    assert answer["provenance"]["seed"] == 5
    for name in names:
        assert f"\n{name}: " in result.output
    assert "more per hour" in result.output
    assert (
        "Compared over 12 runs of each with the same luck; 95 % for all proposals together (Holm)"
        in " ".join(result.output.split())
    )


def test_kept_replications_are_used_again(inside, monkeypatch):
    """A second comparison with the same file gives the same answer, and runs nothing that is there."""
    first = call("benches.yaml", "wide.yaml", "-w", "1", "--kept-in", "k.sqlite", "--json", "-")
    monkeypatch.setattr(Worker, "replicate", None)  # nothing can be run any more
    second = call("benches.yaml", "wide.yaml", "-w", "1", "--kept-in", "k.sqlite", "--json", "-", "-n", "12")
    assert first.exit_code == 0
    answers = [json.loads(result.stdout) for result in (first, second)]
    assert answers[0]["proposals"] == answers[1]["proposals"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["benches.yaml"], "there is nothing to compare with; name a cell file, --change or --proposals"),
        (
            ["benches.yaml", "--change", "stores.trey: 3"],
            "stores.trey: no station fills or empties this store",
        ),
        (["benches.yaml", "wide.yaml", "-n", "1"], "at least two replications"),
        (["benches.yaml", "wide.yaml", "--precision", "80 %"], "at most 50 % is wanted"),
        (["benches.yaml", "wide.yaml", "--precision", "much"], "--precision: "),
        (["benches.yaml", "wide.yaml", "--precision", "2 %", "-n", "5"], "takes at least 10 replications"),
        (["nowhere.yaml", "wide.yaml"], "nowhere.yaml: cannot be read"),
        (["benches.yaml", "wide.yaml", "--json", "nowhere/a.json"], "nowhere/a.json cannot be written"),
    ],
)
def test_a_wrong_call_is_told(inside, arguments, said):
    """Exit code 2 and what is allowed."""
    result = call(*arguments, "-w", "1", "-q")
    assert result.exit_code == 2
    assert said in " ".join(result.output.split())


def test_mistakes_of_all_proposals_are_told_at_once(inside):
    """Two wrong changes, two lines."""
    result = call("benches.yaml", "--change", "stores.a.places: 3", "--change", "stations.b.machines: 2")
    assert result.exit_code == 2
    assert "stores.a.places" in result.stderr
    assert "stations.b.machines" in result.stderr
