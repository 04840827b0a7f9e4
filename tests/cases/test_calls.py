"""Calls by hand: who is served first, by priority and rule, and who may overtake whom.

All figures are hand-computed traces, in minutes.
"""

from __future__ import annotations

from itertools import permutations

import pytest
from tracing import PUBLISHED, exactly, listed, minutes, run_text

from cellsim.describe.cell import FINISHED
from cellsim.describe.resolve import load_text
from cellsim.engine import layout as L
from cellsim.errors import DescriptionError


def test_a_task_for_two_in_strict_order() -> None:
    """The oldest call waits for all its people and holds none meanwhile; without overtaking nobody passes.

    104 of 120 worker minutes are used although calls wait.
    """
    stations = [PUBLISHED[f"trace-task-for-two-station-{name}"] for name in "abcd"]
    traced = run_text(stations[0].cell, 60)
    for station in stations:
        assert traced.left(station.of or FINISHED) == listed(station)
    assert traced.states() == {
        "A": {"attended": exactly(24), "working": exactly(12), "waiting for operator": exactly(24)},
        "B": {"attended": exactly(16), "working": exactly(4), "waiting for operator": exactly(40)},
        "C": {"attended": exactly(20), "working": exactly(4), "waiting for operator": exactly(36)},
        "D": {"attended": exactly(20), "working": exactly(3), "waiting for operator": exactly(37)},
    }
    assert sum(row["working"] for row in traced.actors().values()) == exactly(104)


OVERTAKING = """
cell: big call
crew: {operator: {people: 3%s}}
route: [A]
release: {at: [0 min]}
lines:
  b: [raw b, bring b, b, B]
  c: [raw c, bring c, c, C]
stations:
  A: {cycle: 10 min, by: {operator: 2}}
  bring b: {cycle: 1 min}
  B: {cycle: 10 min, by: {operator: 2}}
  bring c: {cycle: 2 min}
  C: {cycle: 20 min, by: operator}
stores:
  raw b: {places: unlimited, starts_with: 1}
  raw c: {places: unlimited, starts_with: 1}
  b: unlimited
  c: unlimited
"""


@pytest.mark.parametrize(("rule", "c_done"), [(", overtaking: no", 30), ("", 22), (", overtaking: yes", 22)])
def test_a_small_call_overtakes_a_big_one_unless_told_otherwise(rule: str, c_done: int) -> None:
    """Three operators; two work until 10, a call for two comes at 1, one for a single operator at 2.

    In strict order both start at 10 (end 20, 30); with overtaking, the default, the small one works 2 to 22.
    """
    traced = run_text(OVERTAKING % rule, 40)
    assert traced.left() == minutes(10)
    assert traced.left("out:b") == minutes(20)
    assert traced.left("out:c") == minutes(c_done)


def test_a_job_that_waits_for_a_skill_blocks_nobody() -> None:
    """The welder comes at 50; the assembler's job that stands behind the welding job is done at once."""
    text = """
cell: skills
shifts:
  day: {from: 00:00, to: 08:00}
  later: {from: 00:50, to: 08:00}
crew: {fitter: {skills: [assemble], shift: day}, welder: {skills: [weld], shift: later}}
route: [weld]
release: {at: [0 min]}
lines: {other: [raw, assemble]}
stations:
  weld: {cycle: 10 min, by: weld}
  assemble: {cycle: 10 min, by: assemble}
stores: {raw: {places: 1, starts_with: 1}}
"""
    for overtaking in ("", ", overtaking: no"):
        traced = run_text(text.replace(", shift: day", f", shift: day{overtaking}"), 70)
        assert traced.left("out:other") == minutes(10)
        assert traced.left() == minutes(60)


def _rush(first: str, second: str) -> str:
    names = {"rush": ("line r", 1), "normal": ("line n", 2)}
    lines = ", ".join(f"{names[name][0]}: [raw {name}, {name}]" for name in (first, second))
    stations = "".join(
        f"\n  {name}: {{cycle: 5 min, by: op, priority: {names[name][1]}}}" for name in (first, second)
    )
    return f"""
cell: priorities
crew: {{op: {{}}}}
route: [busy]
release: {{at: [0 min]}}
lines: {{{lines}}}
stations:
  busy: {{cycle: 5 min, by: op}} {stations}
stores:
  raw rush: {{places: 1, starts_with: 1}}
  raw normal: {{places: 1, starts_with: 1}}
"""


@pytest.mark.parametrize("order", list(permutations(["rush", "normal"])), ids=" then ".join)
def test_priority_1_is_the_most_urgent(order: tuple[str, str]) -> None:
    """The operator frees at 5 and serves priority 1 (5-10) before 2 (10-15), however they are declared."""
    text = _rush(*order).replace("busy: {cycle: 5 min, by: op}", "busy: {cycle: 5 min, by: op, priority: 1}")
    traced = run_text(text, 20)
    starts = sorted(traced.left() + traced.left("out:line r") + traced.left("out:line n"))
    assert starts == minutes(5, 10, 15)
    assert traced.left("out:line n") == minutes(15)


def test_a_priority_of_zero_is_refused() -> None:
    """A priority that has no sense is refused: 1 is the first."""
    text = "cell: c\ncrew: {op: {}}\nroute: [S]\nstations:\n  S: {cycle: 5 min, by: op, priority: 0}\n"
    with pytest.raises(DescriptionError) as caught:
        load_text(text)
    assert str(caught.value).startswith("cell.yaml:5:39: stations.S.priority: ")
    assert '"0": at least 1 is wanted' in str(caught.value)


@pytest.mark.parametrize("order", list(permutations([3, 1, 2])), ids=str)
def test_priority_counts_at_time_zero_too(order: tuple[int, int, int]) -> None:
    """Three stations call for one operator at 0; priority decides who starts at 0, 5 and 10, not the file."""
    lines = ", ".join(f"line {p}: [raw {p}, P{p}]" for p in order)
    stations = "".join(f"\n  P{p}: {{cycle: 5 min, by: op, priority: {p}}}" for p in order)
    stores = "".join(f"\n  raw {p}: {{places: 1, starts_with: 1}}" for p in order)
    text = f"""
cell: time zero
crew: {{op: {{}}}}
route: [never]
release: {{at: [1000 min]}}
lines: {{{lines}}}
stations:
  never: {{cycle: 1 min}} {stations}
stores: {stores}
"""
    traced = run_text(text, 20)
    for priority in (1, 2, 3):
        assert traced.said(L.N_STARTS, f"P{priority}") == minutes(5 * (priority - 1))
        assert traced.left(f"out:line {priority}") == minutes(5 * priority)


CALLS = """
cell: two calls
crew: {op: {serves: %s}}
route: [busy]
release: {at: [0 min]}
lines:
  a: [raw a, bring a, a, A]
  b: [raw b, bring b, b, B]
stations:
  busy: {cycle: 5 min, by: op}
  bring a: {cycle: 1 min}
  A: {cycle: 5 min, by: op}
  bring b: {cycle: 2 min}
  B: {cycle: 5 min, by: op}
stores:
  raw a: {places: 1, starts_with: 1}
  raw b: {places: 1, starts_with: 1}
  a: 1
  b: 1
"""


@pytest.mark.parametrize(
    ("serves", "first"),
    [
        ("longest waiting", "A"),
        ("downstream first", "B"),
        ("upstream first", "A"),
        ("listed order, order: [A, B]", "A"),
        ("listed order, order: [B, A]", "B"),
        ("[listed order, longest waiting], order: [busy]", "A"),
        ("[listed order, downstream first], order: [busy]", "B"),
    ],
)
def test_which_call_is_served_first(serves: str, first: str) -> None:
    """Two calls wait at 5, A's since 1 and B's, further down, since 2: the serving rule decides."""
    traced = run_text(CALLS % serves, 20)
    assert traced.left() == minutes(5)
    assert traced.said(L.N_STARTS, "A") == minutes(5 if first == "A" else 10)
    assert traced.said(L.N_STARTS, "B") == minutes(5 if first == "B" else 10)


STRICT = """
cell: a call that is none of her business
crew: {ann: {people: 1, overtaking: no}, bob: {people: 1}}
route: [S1, b1, S2]
lines: {side: [T]}
stations:
  S1: {work: [{do: a, time: 2 min, by: ann}, {do: b, time: 5 min, by: bob}]}
  S2: {cycle: 1 min, by: ann}
  T: {cycle: 60 min, by: bob}
stores: {b1: {places: 10, starts_with: 5}}
study: {run: 1 h}
"""


def test_a_strict_person_does_not_wait_behind_a_call_for_somebody_else() -> None:
    """Ann lets no call pass an older one, but the older one here is for Bob, who is at T (hand-computed).

    S2 ends at 1; S1's first element takes Ann until 3, and its second waits for Bob; S2 ends at 4, 5, 6, 7.
    """
    assert run_text(STRICT, 50).left() == minutes(1, 4, 5, 6, 7)
