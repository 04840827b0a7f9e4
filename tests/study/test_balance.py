"""Balances of work plans: figures against hand calculation, conflicts in words, and the cell that is made."""

from __future__ import annotations

import itertools
import json
import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import cellsim
from cellsim.describe.resolve import load_text
from cellsim.describe.work_plan import WorkElement, WorkPlan, load_plan, read_plan
from cellsim.errors import UsageError
from cellsim.study.balance import balance, on_paper_only
from cellsim.study.balanced_cell import cell_text, in_order
from cellsim.study.loading import loading

WORDS = ["set", "no", "yes", "null", "a #1", "it's (left)", "1.5", "a & b", "true"]
BELL = Path(__file__).parents[2] / "scenarios" / "plans" / "bell_plan.yaml"
FOUR = """\
plan: four
takt: 10 s
elements:
  a: {time: 4 s}
  b: {time: 5 s, after: a}
  c: {time: 6 s, after: b}
  d: {time: 3 s, after: c}
"""
SEVEN = """\
plan: seven elements
demand: 240
available: 480 min
elements:
  A: {time: 40 s}
  B: {time: 45 s}
  C: {time: 55 s, after: A}
  D: {time: 55 s, after: B}
  E: {time: 65 s, after: B}
  F: {time: 40 s, after: [C, D]}
  G: {time: 25 s, after: [D, E]}
"""
MACHINE = """\
plan: with a machine
takt: 60 s
people: 1
elements:
  load: {{time: 5 s, machine: press}}
  press: {{time: {run} s, after: load, machine: press, runs_alone: yes}}
  unload: {{time: 5 s, after: press, machine: press}}
  fit: {{time: {fit} s, after: unload}}
  glue: {{time: 4 s}}
"""


def on_paper(text: str, **options: object) -> dict:
    """The answer without runs."""
    return balance(read_plan(text), on_paper=True, seconds=5, **options)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def bell() -> WorkPlan:
    """The demo plan."""
    return load_plan(BELL)


def test_seven_elements_of_an_exercise() -> None:
    """Takt 120 s, 325 s of work, 2.71 and so 3 people, 90.3 %; efficiency of three by hand."""
    found = on_paper(SEVEN)
    assert (found["takt_s"], found["work_content_s"], found["people"]) == (120, 325, 3)
    assert found["bounds"]["exact_work_content"] == pytest.approx(2.70833333333)
    assert found["balance_efficiency"] == pytest.approx(0.902777777778)
    assert found["balance_delay"] == pytest.approx(0.0972222222222)
    assert found["sure"]["people"] == {"proved": True, "bound": 3, "gap": 0}
    times = {e["name"]: e["time_s"] for row in found["stations"] for e in row["elements"]}
    after = [(a, e.name) for e in read_plan(SEVEN).elements for a in e.after]
    every = (dict(zip(times, seats, strict=True)) for seats in itertools.product(range(3), repeat=7))
    legal = (at for at in every if all(at[a] <= at[b] for a, b in after))
    shortest = min(max(sum(times[n] for n in times if at[n] == k) for k in range(3)) for at in legal)
    assert (found["cycle_s"], found["sure"]["cycle"]["proved"]) == (shortest, True)


def test_five_benches_of_a_bell() -> None:
    """No two of them fit in 30 s, so five people; four need the sum of the two shortest."""
    names = {"dome": "22.0", "fit": "24", "clamp": "21.21", "ring": "17.17", "pack": "22"}
    text = "plan: bell\ndemand: 900\navailable: 450 min\nelements:\n"
    text += "".join(f"  {name}: {{time: {time} s}}\n" for name, time in names.items())
    five, four = on_paper(text), on_paper(text, people=4)
    assert (five["takt_s"], five["people"]) == (30, 5)
    assert (five["bounds"]["work_content"], five["bounds"]["long_elements"]) == (4, 5)
    assert five["efficiency_at_takt"] == pytest.approx(106.38 / 150)
    assert four["cycle_s"] == pytest.approx(17.17 + 21.21)
    assert four["balance_efficiency"] == pytest.approx(106.38 / (4 * 38.38))
    assert four["smoothness_index_s"] == pytest.approx(math.sqrt(2 * (38.38 - 22) ** 2 + (38.38 - 24) ** 2))


def test_planned_efficiency_and_scrap_shorten_the_cycle() -> None:
    """10 s less 2 % lost is 9.8 s between starts, 90 % of it 8.82 s: a + b no longer fit."""
    found = on_paper(FOUR + "efficiency: 90 %\nscrap: 2 %\n")
    assert found["takt_of_starts_s"] == pytest.approx(9.8)
    assert found["planned_cycle_s"] == pytest.approx(8.82)
    assert (on_paper(FOUR)["people"], found["people"]) == (2, 4)
    assert found["target_per_hour"] == pytest.approx(360)
    assert found["balanced_per_hour"] == pytest.approx(600 * 0.98)


def test_two_that_bind_are_both_told() -> None:
    """4 + 5 and 6 + 3: both 9 s, with nothing idle."""
    found = on_paper(FOUR)
    assert [(row["station"], row["person"], row["machine"]) for row in found["binds"]] == [
        (1, "P1", None), (2, "P2", None),
    ]  # fmt: skip
    assert [row["load_s"] for row in found["stations"]] == [9, 9]
    assert found["one_less"] == {"people": 1, "cycle_s": 18, "bound_s": 18, "proved": True}


def changed(**values: str) -> str:
    """The four elements with more keys for some of them."""
    text = FOUR
    for name, more in values.items():
        text = text.replace(f"  {name}: {{", f"  {name}: {{{more}, ")
    return text


CREW = "crew: {Ann: [weld], Ben: {weld: 2}}\n"
BOTH_WELD = changed(b="skill: weld, level: 3", c="skill: weld, level: 3").replace("10 s", "9.5 s")
BOTH_USE = changed(b="tool: gun", c="tool: gun") + "tools: {gun: 1}\n"
IMPOSSIBLE: list[tuple[str, dict, str]] = [
    (
        FOUR.replace("6 s", "12 s"),
        {},
        "no balance is possible: c takes 12 s; that is longer than the planned cycle of 10 s",
    ),
    (
        FOUR + "together: [[a, d]]\n",
        {},
        "a, b, c and d must be at one station and take 18 s; that is longer",
    ),
    (
        FOUR + "together: [[a, c]]\napart: [[b, a]]\n",
        {},
        "a and b must be apart and also at one station (with c)",
    ),
    (
        changed(a="station: 2", d="station: 1"),
        {},
        "a is fixed to station 2 and must be done before d, but d is fixed to station 1",
    ),
    (
        changed(a="station: 2", b="station: 1") + "together: [[a, b]]\n",
        {},
        "a is fixed to station 2, b is fixed to station 1, and they must be at one station",
    ),
    (
        changed(b="skill: weld, level: 4") + CREW,
        {},
        "nobody of the crew can do b (skills: weld, level 4)",
    ),
    (
        changed(b="skill: weld, level: 3").replace("10 s", "6 s") + CREW,
        {},
        "the planned cycle of 6 s takes 4 people, the crew has 2; --people 2 says what these can do",
    ),
    (
        BOTH_WELD + CREW,
        {},
        "at the planned cycle of 9.5 s, since not all of this can hold: the crew is Ann and Ben, and b and c"
        " can be done by Ann only",
    ),
    (
        BOTH_USE + "apart: [[a, d]]\n",
        {},
        "not all of this can hold: the tool gun, for b and c, is at one station only",
    ),
    (
        BOTH_USE,
        {"people": 4},
        "no balance for 4 people is possible, since not all of this can hold: each of them has work;",
    ),
    (
        changed(b="machine: m", c="machine: m, runs_alone: yes"),
        {},
        "a unit is on m for 11 s; that is longer",
    ),
    (FOUR, {"people": 5}, "--people 5: there are 4 pieces of work"),
    (FOUR + "crew: {Ann: [], Ben: []}\n", {"people": 3}, "--people 3: the crew of the plan has 2"),
    (FOUR, {"shifts": 0}, "--shifts 0: at least one is wanted"),
]


@pytest.mark.parametrize(("text", "options", "words"), IMPOSSIBLE)
def test_what_is_impossible_is_told_with_its_elements(text: str, options: dict, words: str) -> None:
    """The elements or conditions that exclude each other, and only those."""
    with pytest.raises(UsageError) as caught:
        on_paper(text, **options)
    assert words in str(caught.value)
    if "gun" in words:
        assert "a and d" not in str(caught.value)  # which is no part of the conflict


@pytest.mark.parametrize("seconds", [0, -1, math.nan, math.inf])
def test_a_time_to_search_makes_sense(seconds: float) -> None:
    """Above zero and finite."""
    with pytest.raises(UsageError, match="a time above 0 is wanted"):
        balance(read_plan(FOUR), seconds=seconds, on_paper=True)


def test_the_crew_stands_where_it_can() -> None:
    """Only Cem welds well enough, only Ann and Cem glue."""
    text = changed(a="skill: glue", c="skill: weld, level: 3", d="skill: glue")
    found = on_paper(f"{text}crew: {{Ann: [glue], Ben: {{weld: 2}}, Cem: [weld, glue]}}\npeople: 3\n")
    at = {element["name"]: row["person"] for row in found["stations"] for element in row["elements"]}
    assert (at["c"], at["a"]) == ("Cem", "Ann")
    assert len({row["person"] for row in found["stations"]}) == 3


def test_all_conditions_of_the_demo_hold(bell: WorkPlan) -> None:
    """Read off the answer: order, machines, together, apart, one torque driver, planned cycle."""
    for people in (None, 5, 6):
        found, seats = on_paper_only(bell, people, 5)
        at = {e.name: seat.number for seat in seats for e in seat.elements}
        assert len(at) == len(bell.elements)
        assert all(at[a] <= at[e.name] for e in bell.elements for a in e.after)
        assert at["load dome"] == at["press dome"] == at["take dome off"]
        assert at["set dome"] == at["drive dome screw"] == at["drive clamp screw"]
        assert at["wipe dome"] != at["set gear"]
        assert sum(row["load_s"] for row in found["stations"]) == pytest.approx(95.5)
        assert found["people"] == len(seats) == (people or 4)
        json.dumps(found)
    assert found["fewest_people"] == {"people": 4, "proved": True, "bound": 4}


def test_elements_of_a_station_are_in_order(bell: WorkPlan) -> None:
    """Each behind what it comes after, and a machine in one piece, whatever the order in the file."""
    wanted = ["take lever off", "rivet axle", "load lever", "set base", "hook spring", "set gear"]
    chosen = [e for e in bell.elements if e.name in wanted]
    for elements in (chosen, chosen[::-1]):
        names = [e.name for e in in_order(elements)]
        ahead: dict[str, WorkElement] = {e.name: e for e in chosen}
        assert all(names.index(a) < k for k, n in enumerate(names) for a in ahead[n].after if a in ahead)
        start = names.index("load lever")
        assert names[start : start + 3] == ["load lever", "rivet axle", "take lever off"]
        assert names.index("set base") < start  # work at the bench goes first where it can


@pytest.mark.parametrize(("run", "fit", "cycle"), [(50, 15, 60), (10, 40, 54), (40, 36, 50)])
def test_hands_work_inside_machine_time(run: int, fit: int, cycle: int) -> None:
    """By hand: the longer of 10 s + run on the press and 14 s + fit by the person, and so the cell makes."""
    plan = read_plan(MACHINE.format(run=run, fit=fit))
    found = balance(plan, replications=2, clock="simpy")
    assert found["cycle_s"] == cycle == max(10 + run, 14 + fit)
    assert found["simulated"]["varies"] is False
    assert found["simulated"]["as_planned"]["mean"] == pytest.approx(3600 / cycle, abs=1 / 8)


def test_the_cell_is_the_file_that_was_run() -> None:
    """Its own run gives the same figure to the last digit; constant times give the longest station."""
    text = FOUR.replace("takt: 10 s", "takt: 10 s\nspread: 40 %\nplaces: 0")
    found = balance(read_plan(text), replications=3, clock="simpy", seed=5)
    again = cellsim.run(load_text(found["cell_file"]), replications=3, clock="simpy", seed=5)
    told = found["simulated"]
    assert told["as_planned"]["mean"] == again["output_per_hour"]["mean"]
    assert told["constant_times"]["mean"] == pytest.approx(400, abs=1 / 8)
    # two benches of 9 s, hand to hand: each cycle is the longer of two times, so clearly below 400 an hour
    assert told["as_planned"]["interval"][1] < told["unlimited_places"]["interval"][0] < 400
    assert found["provenance"]["seed"] == 5


def test_two_benches_hand_to_hand_by_quadrature() -> None:
    """Without places the cycle of two benches is the longer of two times: its mean by a sum over a fine grid.

    Each bench is one element, lognormal with mean 9 s and spread 30 %; 8 runs, false alarm in 1 of 1000.
    """
    text = "plan: two\npeople: 2\nplaces: 0\nspread: 30 %\n"
    text += "elements: {a: {time: 9 s}, b: {time: 9 s, after: a}}\n"
    found = balance(read_plan(text), replications=8, clock="simpy", seed=3)["simulated"]["as_planned"]
    s = math.sqrt(math.log(1 + 0.3**2))
    m = math.log(9) - s * s / 2
    grid = [0.005 * (k + 0.5) for k in range(12_000)]
    share = [0.5 * (1 + math.erf((math.log(t) - m) / (s * math.sqrt(2)))) for t in grid]
    longer = sum(0.005 * (1 - p * p) for p in share)  # mean of the longer one
    half = (found["interval"][1] - found["interval"][0]) / 2 / 2.365 * 5.408  # t of 7: 95 % to 99.9 %
    assert abs(found["mean"] - 3600 / longer) < half


def test_scrap_is_lost_at_the_end() -> None:
    """20 % lost of 400 an hour; the cell rejects at its last station; false alarm in 1 of 1000."""
    text = cell_text(read_plan(FOUR + "scrap: 20 %\n"), on_paper_only(read_plan(FOUR), None, 5)[1])
    cell = load_text(text)
    result = cellsim.run(cell, replications=10, clock="simpy")
    low, high = result["output_per_hour"]["interval"]
    half = (high - low) / 2 / 2.262 * 4.781  # t of 9: 95 % to 99.9 %
    assert abs((low + high) / 2 - 320) < half < 8


def test_the_python_call_shows_itself() -> None:
    """The answer of the study, a headline and a table."""
    found = cellsim.balance(read_plan(FOUR), on_paper=True)
    assert found == balance(read_plan(FOUR), on_paper=True)
    assert repr(found).splitlines()[0].startswith("four: 2 people keep the planned cycle of 10 s")
    assert found.stations["by hand"] == [9, 9]
    with pytest.raises(UsageError, match=r"^people 9: there are 4"):
        cellsim.balance(read_plan(FOUR), people=9)


@st.composite
def plans(draw: st.DrawFn) -> str:
    """Plans with machines, spreads, places and some order, under all sorts of names."""
    count = draw(st.integers(2, 9))
    names = [f'"{word} {k}"' for k, word in enumerate(draw(st.permutations(WORDS))[:count])]
    machine_names = st.sampled_from(["", "", "bench", "a press " + "x" * 50])
    machines = draw(st.lists(machine_names, min_size=count, max_size=count))
    places, spread = draw(st.sampled_from(["0", "2", "unlimited"])), draw(st.sampled_from([0, 20]))
    text = f"plan: p\npeople: {draw(st.integers(1, 2))}\nplaces: {places}\nspread: {spread} %\nelements:\n"
    for k, (name, machine) in enumerate(zip(names, machines, strict=True)):
        after = [names[j] for j in range(k) if machines[j] == machine and draw(st.booleans())]
        keys = [f"time: {draw(st.integers(1, 30))} s", f"after: [{', '.join(after)}]" if after else ""]
        alone = draw(st.sampled_from(["yes", "no"]))
        keys += [f"machine: {machine}", f"runs_alone: {alone}"] if machine else []
        text += f"  {name}: {{{', '.join(key for key in keys if key)}}}\n"
    return text


@settings(max_examples=60, deadline=None, derandomize=True)
@given(plans())
def test_every_balance_becomes_a_legal_cell(text: str) -> None:
    """Each element is in it once; what a person or machine does for a unit is what the balance says."""
    plan = read_plan(text)
    if plan.people > len({e.machine or e.name for e in plan.elements}):
        return
    found, seats = on_paper_only(plan, None, 5)
    cell = load_text(cell_text(plan, seats))
    posts = {post.name for post in cell.posts}
    assert posts == {row["person"] for row in found["stations"]}
    loads = {load.name: load.required_s() for load in loading(cell, 1.0).posts}
    for row in found["stations"]:
        assert loads.get(row["person"], 0.0) == pytest.approx(row["load_s"])
    told = sorted(e["name"] for row in found["stations"] for e in row["elements"])
    assert told == sorted(e.name for e in plan.elements)
