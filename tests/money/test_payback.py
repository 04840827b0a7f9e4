"""Two real cells and a case: what is taken from the runs, the command, the call from Python, the demo."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import ClassVar

import numpy as np
import pytest
from click.testing import CliRunner

import cellsim
from cellsim.cli import main
from cellsim.describe.changes import read_changes
from cellsim.describe.investment import NONE, load_investment, read_investment
from cellsim.describe.reader import read_file, read_text
from cellsim.describe.tree import Mapping, Text
from cellsim.errors import UsageError
from cellsim.money.case import case_answer
from cellsim.money.measured import facts_of, people_per_shift
from cellsim.money.payback import with_more_people
from cellsim.money.unknown_inputs import shared_inputs, variance_by_inputs
from cellsim.show.paid_back import verdict_words
from cellsim.study.replicate import run_replications
from cellsim.study.runner import Runner

SCENARIOS = Path(__file__).parents[2] / "scenarios"
HANDS, ROBOT, CASE = (
    SCENARIOS / "choices" / "tape_measure_hands.yaml",
    SCENARIOS / "tape_measure.yaml",
    SCENARIOS / "choices" / "tape_measure_robot.yaml",
)
CELL = """\
cell: two benches
shifts: {day: {from: 06:00, to: 08:00, breaks: [{at: 07:00, for: 10 min}]}}
crew: {anna: [fit], leader: {}, fixer: {response: 5 min}}
route: [press, tray, fit]
stations:
  press: {cycle: {law: exponential, mean: 20 s}, power: {working: 4 kW, idle: 1 kW}}
  fit: {cycle: {law: exponential, mean: 20 s}, by: anna, rejects: {share: 5 %, to: scrap},
    stops: {drift: {every: 5 h of running, lasts: 9 min, cleared_by: fixer}}}
stores: {tray: 2}
study: {shifts: 1, replications: 6, seed: 5}
"""
MONEY = """\
case: larger tray
investment: {tray: 900 EUR}
rate: 8 %
payback_limit: 1 year
shifts_per_year: 215
wage: 30 EUR per h
margin: 0.02 to 0.60 EUR per unit
can_sell: 500 per h
material: 2 EUR per unit
energy: 0.25 EUR per kWh
"""
CHANGE = "stores.tray: 8"


@pytest.fixture(scope="module")
def cells():
    return cellsim.load_text(CELL), cellsim.load_text(CELL, changes=read_changes([CHANGE]))


def records(cells, count=6):
    """The same luck for each cell."""
    return [run_replications(cell, 5, range(count), clock="simpy").records for cell in cells]


def test_facts_are_those_of_the_runs(cells):
    """Good units, scrap, energy and paid time per working hour, against the figures of each cell alone."""
    found = facts_of(cells, records(cells))
    hours = 2 - 10 / 60
    assert found.shifts == (pytest.approx((hours, 2)), pytest.approx((hours, 2)))
    assert found.paid[0] == pytest.approx(dict.fromkeys(("anna", "leader", "fixer"), 2 / hours))
    assert found.away == {"fixer"} and found.counted == pytest.approx(hours)
    for which, cell in enumerate(cells):
        alone = cellsim.run(cell, clock="simpy")
        assert found.good[which].mean() == pytest.approx(alone["output_per_hour"]["mean"])
        scrapped = alone["quality"]["scrapped_at"]["fit"]["mean"]
        assert found.scrap["fit"][which].mean() == pytest.approx(scrapped / hours)
        kwh = sum(row[which].mean() for row in found.energy.values())
        assert kwh == pytest.approx(alone["energy"]["kwh"]["mean"] / hours)


def test_python_agrees_with_compare(cells, tmp_path):
    """The gain is the paired difference, its error that of the mean; file or case may be given."""
    file = tmp_path / "tray.yaml"
    file.write_text(MONEY)
    answer = cellsim.payback(*cells, file, clock="simpy", draws=200)
    other = cellsim.compare(cells[0], {"more": cells[1]}, clock="simpy")
    difference = other["proposals"][0]["differences"]["output_per_hour"]
    assert answer["gain"]["mean"] == pytest.approx(difference["mean"])
    low, high = difference["interval"]
    assert answer["gain"]["standard_error"] == pytest.approx((high - low) / 2 / 2.5705818)  # t of 5, 97.5 %
    assert answer["gain"]["correlation"] == pytest.approx(difference["correlation"])
    assert answer == cellsim.payback(*cells, load_investment(file), clock="simpy", draws=200) | {
        "file": "tray.yaml"
    }
    said = repr(answer)
    html = answer._repr_html_()
    assert "Chance that the money is back" in html and "value at low" in html
    assert said.startswith("larger tray: ") and "within 1 year" in said
    assert [row[0] for row in answer.chances.rows] == [1, 2, 3, 4, 5]
    assert answer.swings.rows[0][0] in ("margin of a unit", "gain in good units per hour, by the runs")
    assert answer.flows.rows[0] == (0, -900)
    json.dumps(answer, allow_nan=False)


def test_a_cell_against_itself_gains_nothing(cells, tmp_path):
    """Not even in the last digit, also where the inputs are drawn."""
    (tmp_path / "tray.yaml").write_text(MONEY)
    answer = cellsim.payback(cells[0], cells[0], tmp_path / "tray.yaml", clock="simpy", draws=100)
    assert answer["gain"]["mean"] == answer["gain"]["standard_error"] == 0
    assert answer["point"]["flows"] == [-900, 0, 0, 0, 0, 0]
    assert answer["drawn"]["payback"]["never"] == 1 and answer["crew"] == {}
    with Runner(clock="simpy") as runner:
        assert variance_by_inputs(cells[0], cells[0], 1, 3, runner).inputs == 0


def test_inputs_of_both_cells_are_drawn_once(cells):
    """What both have is one input, what only one has its own."""
    longer = cellsim.load_text(CELL, changes=read_changes(["stations.fit.cycle.mean: 25 s"]))
    names = [(a.name if a else None, b.name if b else None) for a, b in shared_inputs(cells[0], longer)]
    assert ("press: work", "press: work") in names or ("press", "press") in names
    assert all(a is not None and b is not None for a, b in shared_inputs(*cells))
    alone = [pair for pair in shared_inputs(cells[0], longer) if None in pair]
    assert len(alone) == 2  # the mean of fit is another number in each
    with Runner(clock="simpy") as runner:
        found = variance_by_inputs(cells[0], longer, 1, 12, runner)
    assert (found.draws, found.each) == (12, 3) and found.inputs > found.runs / 36


def test_each_draw_of_the_inputs_has_luck_of_its_own(cells):
    """The same for both cells, another for the next draw: else chance would be taken for not knowing."""

    class Watched(Runner):
        numbers: ClassVar[list[tuple[int, ...]]] = []

        def each(self, requests):
            self.numbers += [one.numbers for one in requests]
            return super().each(requests)

    with Watched(clock="simpy") as runner:
        variance_by_inputs(*cells, 1, 3, runner)
    assert Watched.numbers == [(0, 1, 2)] * 2 + [(3, 4, 5)] * 2 + [(6, 7, 8)] * 2


def test_the_command_writes_what_python_says(cells, tmp_path, monkeypatch):
    """A change as the proposal; JSON and picture; a picture that is there is not overwritten."""
    monkeypatch.chdir(tmp_path)
    Path("cell.yaml").write_text(CELL)
    Path("tray.yaml").write_text(MONEY)
    words = [
        "payback",
        "cell.yaml",
        "--change",
        CHANGE,
        "--case",
        "tray.yaml",
        "--clock",
        "simpy",
        "-w",
        "1",
        "--draws",
        "200",
    ]
    done = CliRunner().invoke(main, [*words, "--json", "a.json", "--picture", "a.svg", "--inputs", "20"])
    assert done.exit_code == 0, done.output
    told = json.loads(Path("a.json").read_text())
    answer = cellsim.payback(*cells, "tray.yaml", clock="simpy", draws=200)
    assert told["point"] == answer["point"]
    assert told["gain"]["standard_error"] > answer["gain"]["standard_error"]  # of both, for the inputs too
    assert told["proposal"]["name"] == CHANGE and told["cell_inputs"]["draws"] == 20
    assert "<svg" in Path("a.svg").read_text()
    assert "--inputs puts it in" not in " ".join(done.output.split())
    again = CliRunner().invoke(main, [*words, "--picture", "a.svg"])
    assert (again.exit_code, "is not overwritten" in again.output) == (2, True)
    out = CliRunner().invoke(main, [*words, "--json", "-"])
    assert json.loads(out.stdout)["drawn"] == answer["drawn"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "name the cell as it is, the proposal, and the case"),
        (["cell.yaml", "--case", "tray.yaml"], "there is nothing to compare with"),
        (["cell.yaml", "cell.yaml", "--case", "no.yaml"], "no.yaml: cannot be read"),
        (["cell.yaml", "cell.yaml", "--case", "wrong.yaml"], "wrong.yaml:10:9: energy: "),
        (
            ["cell.yaml", "cell.yaml", "--case", "nobody.yaml"],
            "wages.Bob: neither cell has a post of this name",
        ),
        (["cell.yaml", "cell.yaml", "--case", "tray.yaml", "-n", "1"], "at least two replications"),
        (
            ["cell.yaml", "plain.yaml", "--case", "tray.yaml"],
            "one of the two cells has shifts and the other none",
        ),
    ],
)
def test_wrong_calls_say_so(tmp_path, monkeypatch, words, said):
    """Exit code 2 and the reason."""
    monkeypatch.chdir(tmp_path)
    Path("cell.yaml").write_text(CELL)
    Path("plain.yaml").write_text(CELL.replace(CELL.splitlines()[1], "").replace("shifts: 1", "run: 1 h"))
    Path("tray.yaml").write_text(MONEY)
    Path("wrong.yaml").write_text(MONEY.replace("per kWh", "per unit"))
    Path("nobody.yaml").write_text(MONEY + "wages: {Bob: 4 EUR per h}\n")
    done = CliRunner().invoke(main, ["payback", *words, "--clock", "simpy"])
    assert (done.exit_code, said in done.output) == (2, True), done.output


def test_the_keys_are_printed():
    """All keys of the file of an investment, without any cell."""
    done = CliRunner().invoke(main, ["payback", "--keys"])
    assert done.exit_code == 0 and "| `payback_limit` |" in done.output


def differences(one: Mapping, other: Mapping, path: str = "") -> set[str]:
    """Paths at which two descriptions differ."""
    found = set()
    for key in {**one.values, **other.values}:
        here, there = one.values.get(key), other.values.get(key)
        below = f"{path}.{key}" if path else key
        if isinstance(here, Mapping) and isinstance(there, Mapping):
            found |= differences(here, there, below)
        elif text(here) != text(there):
            found.add(below)
    return found


def text(node: object) -> str:
    """A description without its places."""
    if isinstance(node, Text):
        return node.text
    if isinstance(node, Mapping):
        return str({key: text(value) for key, value in node.values.items()})
    return str([text(item) for item in node.items]) if node is not None else ""


def test_hands_and_robot_differ_in_the_winding_alone():
    """Who tends the winders and how, the robot with its technician, and the name: nothing else."""
    hands, robot = (read_text(read_file(file), file.name) for file in (HANDS, ROBOT))
    assert differences(hands, robot) == {
        "cell", "crew.P4", "crew.technician", "robots",
        "stations.wind.visit.by", "stations.wind.visit.fetch", "stations.wind.visit.unload",
        "stations.wind.visit.load", "stations.wind.visit.return",
    }  # fmt: skip
    visit = cellsim.load(HANDS).stations[[s.name for s in cellsim.load(HANDS).stations].index("wind")]
    assert visit.machines == 3


@pytest.fixture(scope="module")
def demo():
    """Facts of a few runs of the demo."""
    both = cellsim.load(HANDS), cellsim.load(ROBOT)
    return both, records(both, 2)


@pytest.mark.parametrize(
    ("freed", "net", "years", "value"),
    [(1.0, 94_040, 1.25, 238_486), (22 / 30, 65_603, 1.80, 130_686), (0.5, 40_720, 2.90, 36_361)],
)
def test_the_demo_without_its_details_is_the_hand_calculation(demo, freed, net, years, value):
    """No delivery, ramp, lost output or more units sold: 118 000 against people freed less 12 600."""
    full = load_investment(CASE)
    bare = replace(
        full, delivery=NONE, lost_output=NONE, ramp_up=(), margin=None, can_sell=None,
        freed=replace(full.freed, low=freed, high=freed),
    )  # fmt: skip
    point = case_answer(bare, facts_of(*demo), draws=10)["point"]
    assert point["capital"] == 118_000
    assert point["net_per_year"] == pytest.approx(net, abs=0.5)
    assert (point["payback"], point["npv"]) == (
        pytest.approx(years, abs=0.005),
        pytest.approx(value, abs=0.5),
    )


def test_the_demo_cannot_tell_and_says_why(demo):
    """Neither sure nor sure not in 2 years; who is really freed decides: 0.8 to 0.95 of a person."""
    answer = case_answer(load_investment(CASE), facts_of(*demo))
    assert answer["verdict"]["says"] == "cannot tell"
    assert answer["verdict"]["first"][0] == "freed" and "freed" in answer["verdict"]["turning"]
    assert 0.8 < answer["break_even"]["people"]["at_limit"] < 0.95
    assert np.isfinite(answer["drawn"]["npv"]["median"])


def test_people_that_are_needed_more_cost_their_wage(cells):
    """Unless the case says who is freed; without a wage there is no answer; fewer are not freed by that."""
    case = read_investment(MONEY, "tray.yaml")
    more = with_more_people(case, 1.5)
    assert (more.freed.low, more.freed.high) == (-1.5, -1.5)
    assert ("freed", "-1.5") in [assumed[:2] for assumed in more.assumed]
    point = case_answer(more, facts_of(cells, records(cells)), draws=10)["point"]
    assert point["gains"]["people"] == pytest.approx(-1.5 * 215 * 2 * 30)
    assert with_more_people(case, -1.0) is case
    stated = read_investment(MONEY + "freed: 0\n", "tray.yaml")
    assert with_more_people(stated, 1.0) is stated
    with pytest.raises(UsageError, match="1 people more in a shift; say what they cost, with wage"):
        with_more_people(read_investment(MONEY.replace("wage: 30 EUR per h\n", ""), "tray.yaml"), 1.0)


def test_people_in_a_shift(cells):
    """Anna and leader are in every shift, the fixer comes from elsewhere; who is in one of two is half."""
    assert people_per_shift(cells[0]) == 2
    two = CELL.replace("shifts: {day:", "shifts: {late: {from: 14:00, to: 16:00}, day:")
    assert people_per_shift(cellsim.load_text(two.replace("leader: {}", "leader: {shift: late}"))) == 1.5


CRASH = """cell: one bench
route: [a]
stations: {a: {cycle: 20 s, stops: {crash: {every: 400 h of running, lasts: 6 h}}}}
study: {run: 8 h, replications: 20}
"""


def test_a_rare_stop_that_no_run_holds_decides_nothing(tmp_path):
    """The base breaks down for 6 h in one of 51 runs, the proposal hardly ever: 20 runs hold none of it.

    By the runs the gain is exactly 0 and 100 EUR are lost; that is no verdict, and both commands say so.
    """
    (tmp_path / "base.yaml").write_text(CRASH)
    (tmp_path / "case.yaml").write_text(
        "case: crash\ninvestment: {guard: 100 EUR}\nrate: 8 %\npayback_limit: 2 years\nshifts_per_year: 200\n"
        "paid_per_shift: 8 h\nmargin: 1 EUR per unit\ncan_sell: 1000 per h\n"
    )
    base = cellsim.load(tmp_path / "base.yaml")
    better = cellsim.load(tmp_path / "base.yaml", ["stations.a.stops.crash.every: 4000 h of running"])
    how = {"seed": 3, "clock": "simpy"}
    answer = cellsim.payback(base, better, tmp_path / "case.yaml", draws=100, **how)
    assert answer["gain"]["interval"] == [0.0, 0.0]
    assert (answer["verdict"]["says"], answer["verdict"]["chance"]) == ("cannot tell", 0.0)
    assert answer["verdict"]["turned_by_rare_stops"]
    assert "may turn that" in verdict_words(answer)
    assert any("can be trusted from about" in text for text in answer["cautions"])
    (row,) = cellsim.compare(base, {"better": better}, **how)["proposals"]
    difference = row["differences"]["output_per_hour"]
    assert (difference["mean"], difference["runs_to_trust"]) == (0, 508)
    (same,) = cellsim.compare(base, {"same": base}, **how)["proposals"]
    assert same["differences"]["output_per_hour"]["runs_to_trust"] is None
