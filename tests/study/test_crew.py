"""The search for people, robots and places: on made-up rates, on cells worked out by hand, as a command."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from cellsim import cli
from cellsim.describe.resolve import load_text
from cellsim.study.crew import Candidate, CrewLab, Front, crew_answer, search, wages_per_hour
from cellsim.study.places import Look

SHOP = """cell: Shop
target: 200 per h
shifts: {day: {from: 06:00, to: 10:00}}
crew:
  ann: {works_at: fit}
  ben: {works_at: pack}
  fixer: {response: 10 min}
route: [fit, fitted, pack]
stations:
  fit: {cycle: 30 s, by: ann, machines: 4}
  pack: {cycle: 14.4 s, by: ben, stops: {jam: {every: 2000 h of running, lasts: 1 min, cleared_by: fixer}}}
stores: {fitted: 10}
study: {shifts: 1, settle: 1 shift, replications: 10}
"""


class MadeUp(CrewLab):
    """Candidates with true rates; all share their luck but for a little of their own."""

    def __init__(self, rates: list[float], costs: list[float], seed: int, own: float = 1.0) -> None:
        cell = load_text("cell: x\nroute: [a]\nstations: {a: {cycle: 9 s}}\n")
        super().__init__(
            [Candidate((("n", str(k)),), cell, cost) for k, cost in enumerate(costs)], seed, None
        )
        self.truth, self.own = rates, own
        self.inside = [7.0] * len(rates)

    def run(self, alive, count):
        """Draw what is missing."""
        for k in alive:
            same = np.random.default_rng([self.seed]).normal(0, 5, 2000)
            own = np.random.default_rng([self.seed, k + 1]).normal(0, self.own, 2000)
            self.rates[k] = (self.truth[k] + same + own)[:count].tolist()
            self.wip[k] = (self.inside[k] + own / 10)[:count].tolist()


def kept(rates: list[float], costs: list[float], seed: int = 1, matters: float = 0.5, **how: float) -> Front:
    """What a search keeps."""
    return search(MadeUp(rates, costs, seed, **how), Look(matters))


def test_what_costs_more_and_makes_less_is_dropped():
    """Of five only three climb: 100 for 10, 110 for 20, 130 for 40."""
    found = kept([100, 110, 105, 130, 95], [10, 20, 30, 40, 50])
    assert found.kept == [0, 1, 3]
    assert found.open == []


def test_what_costs_more_and_makes_hardly_more_is_dropped():
    """0.1 more for 10 more, where 0.5 matters; 3 more stays."""
    assert kept([100, 100.1, 103], [10, 20, 30]).kept == [0, 2]


def test_of_equal_cost_the_better_one_stays():
    """Also where they differ by less than matters."""
    assert kept([100, 104], [10, 10]).kept == [1]
    assert len(kept([100, 100], [10, 10]).kept) == 1


def test_what_holds_fewer_units_stays_where_those_count():
    """Of three that make the same the dearer ones hold 7, 3 and 2.9 units: by 2 that matter one more stays.

    Where they do not count, only the cheapest stays; one that makes more stays however much it holds.
    """
    lab = MadeUp([100, 100, 100, 110], [10, 20, 30, 40], 1)
    lab.inside = [7.0, 3.0, 2.9, 30.0]
    assert search(lab, Look(0.5)).kept == [0, 3]
    assert search(lab, Look(0.5), 2.0).kept == [0, 1, 3]
    assert search(lab, Look(0.5), 9.0).kept == [0, 3]


def test_what_nobody_can_tell_stays_and_is_named():
    """0.6 more for more money, known to some 3: both stay, and the pair is open."""
    found = kept([100, 100.6], [10, 20], own=40.0)
    assert found.kept == [0, 1]
    assert found.open == [(1, 0)]


def test_wrong_drops_are_as_rare_as_promised():
    """100 searches with steps of 1 and own luck of 1: a true front is lost in fewer than 1 in 20.

    Each search may be wrong with chance 0.05; 11 or more of 100 have a chance below 1 in 100.
    """
    wrong = sum(kept([100, 101, 100.2, 102], [1, 2, 3, 4], seed=s).kept != [0, 1, 3] for s in range(100))
    assert wrong <= 10


def test_a_first_glance_leaves_out_only_what_lies_far_behind():
    """70 combinations: those at 80 of 100 for more money are gone at once, none of the front is."""
    rates = [100.0, 120.0] + [80.0] * 68
    costs = [10.0, 20.0] + [30.0 + k for k in range(68)]
    found = kept(rates, costs)
    assert found.kept == [0, 1]
    assert found.glanced_out == 68


def test_wages_by_the_paid_hour():
    """Ann and Ben are paid 4 h each and work 4 h: 2 x 30; the fixer is paid elsewhere unless he is named."""
    cell = load_text(SHOP)
    assert wages_per_hour(cell, 30.0, {}) == pytest.approx(60)
    assert wages_per_hour(cell, 30.0, {"ben": 40.0}) == pytest.approx(70)
    assert wages_per_hour(cell, 30.0, {"fixer": 50.0}) == pytest.approx(110)


def test_breaks_are_paid():
    """Four hours paid, three and a half worked."""
    cell = load_text(SHOP.replace("to: 10:00", "to: 10:00, breaks: [{at: 08:00, for: 30 min}]"))
    assert wages_per_hour(cell, 35.0, {}) == pytest.approx(2 * 35 * 4 / 3.5)


def invoke(*arguments: str, tmp_path: Path) -> dict:
    """The answer of the command as JSON."""
    out = tmp_path / "answer.json"
    result = CliRunner().invoke(cli.main, ["crew", *arguments, "--json", str(out), "-q", "-w", "1"])
    assert result.exit_code == 0, result.output
    return json.loads(out.read_text())


def test_people_at_a_bench(tmp_path: Path):
    """One fitter makes 120, two 240, three could make 360 but packing takes no more than 250."""
    cell = tmp_path / "shop.yaml"
    cell.write_text(SHOP)
    found = invoke(str(cell), "--people", "ann: 1 to 4", "--wage", "30", tmp_path=tmp_path)
    assert [row["chosen"] for row in found["rows"]] == [{"people at ann": n} for n in ("1", "2", "3")]
    assert [row["output_per_hour"]["mean"] for row in found["rows"]] == pytest.approx(
        [120, 240, 250], rel=0.01
    )
    assert [row["cost_per_hour"] for row in found["rows"]] == pytest.approx([60, 90, 120])
    assert found["cheapest_for_target"] == {"row": 1, "sure": True}
    assert found["cheapest_unit"] == 1
    assert found["rows"][1]["more"]["mean"] == pytest.approx(120, rel=0.01)


def test_a_budget_and_a_robot(tmp_path: Path):
    """Without and with a robot that packs in 12 s for 18 an hour; what costs over 90 is not run."""
    by_hand, robot = tmp_path / "by_hand.yaml", tmp_path / "robot.yaml"
    by_hand.write_text(SHOP)
    robot.write_text(
        SHOP.replace("  ben: {works_at: pack}\n", "").replace(
            "pack: {cycle: 14.4 s, by: ben", "pack: {cycle: 12 s, by: nobody"
        )
    )
    found = invoke(
        str(by_hand), str(robot), "--people", "ann: 2 to 3", "--wage", "30", "--costs", "robot: 18",
        "--budget", "110", tmp_path=tmp_path,
    )  # fmt: skip
    assert found["combinations"] == 3
    assert found["over_budget"] == 1
    assert [row["chosen"]["cell"] for row in found["rows"]] == ["robot", "robot"]
    assert [row["cost_per_hour"] for row in found["rows"]] == pytest.approx([78, 108])
    assert [row["output_per_hour"]["mean"] for row in found["rows"]] == pytest.approx([240, 300], rel=0.01)


def test_the_screen(tmp_path: Path):
    """The decision first, each row with what was chosen, nothing wider than 80 columns."""
    cell = tmp_path / "shop.yaml"
    cell.write_text(SHOP)
    result = CliRunner().invoke(
        cli.main, ["crew", str(cell), "--people", "ann: 1 to 4", "--wage", "30", "-w", "1"]
    )
    lines = result.stdout.splitlines()
    assert lines[1] == "Row 2 is the cheapest that makes 200 per hour: people at ann: 2."
    assert " 3  people at ann: 3" in lines
    assert "4 combinations were run with the same luck" in result.stdout
    assert max(map(len, lines)) <= 80


WRONG = [
    (["--people", "ann: none"], "--people ann: none: a post and how many people are wanted"),
    (["--people", "ann: 3 to 1"], "a post and how many people are wanted"),
    (["--people", "zoe: 1 to 2"], 'crew has no "zoe"; there is ann, ben, fixer'),
    ([], "there is nothing to choose"),
    (
        ["--people", "ann: 1 to 2", "--wage", "zoe: 3"],
        "--wage: nobody is called zoe; there is ann, ben, fixer",
    ),
    (["--people", "ann: 1 to 2", "--wage", "much"], "--wage much: money per hour is wanted"),
    (["--people", "ann: 1 to 2", "--costs", "robot: 3"], "no cell file is called robot; there is shop"),
    (["--people", "ann: 1 to 2", "--budget", "70"], "1 of 2 combinations keep to the budget"),
    (["--people", "ann: 1 to 3000"], "3000 combinations are too many"),
    (["--people", "ann: 1 to 2", "--people", "ann: 1 to 3"], "the choice people at ann is there twice"),
]


@pytest.mark.parametrize(("arguments", "said"), WRONG)
def test_wrong_calls(arguments: list[str], said: str, tmp_path: Path):
    """Exit code 2, what was given and what is allowed, nothing written."""
    cell, out = tmp_path / "shop.yaml", tmp_path / "answer.json"
    cell.write_text(SHOP)
    result = CliRunner().invoke(cli.main, ["crew", str(cell), "--wage", "30", *arguments, "--json", str(out)])
    assert result.exit_code == 2
    assert said in result.stderr
    assert not out.exists()


def test_an_answer_without_a_row_that_makes_the_target():
    """Neither surely nor on average."""
    lab = MadeUp([100, 110], [1, 2], seed=1)
    look = Look(0.5)
    front = search(lab, look)
    assert crew_answer(front, lab, look, target=150.0)["cheapest_for_target"] is None
    assert crew_answer(front, lab, look, target=105.0)["cheapest_for_target"] == {"row": 1, "sure": True}
