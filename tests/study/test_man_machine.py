"""Man-machine charts: bars worked out by hand, laws that every chart keeps, and who keeps up with what."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from cellsim.describe.resolve import load, load_text
from cellsim.errors import UsageError
from cellsim.study.workload import workload
from cellsim.theory.interference import cyclic_tending

ROOT = Path(__file__).parents[2]
CELLS = [*(ROOT / "scenarios").glob("*.yaml"), *(ROOT / "cellsim/describe/behaviours").glob("*.yaml")]


def charts(text: str, **how: Any) -> list[dict[str, Any]]:
    """The charts of a cell."""
    found: list[dict[str, Any]] = workload(load_text("cell: Test\n" + text), **how)["charts"]
    return found


def bars(chart: dict[str, Any], name: str) -> list[tuple[float, float, str, str]]:
    """From, to, what and kind of the bars of a line."""
    (line,) = (line for line in chart["lines"] if line["name"] == name)
    return [(round(b["from_s"], 6), round(b["to_s"], 6), b["what"], b["kind"]) for b in line["bars"]]


def test_two_machines_and_a_walk():
    """Takt 20 s.  Ann goes to mill (1 s), takes off (2 s), puts on (3 s), goes to drill (1 s), and so on.

    At each full takt both call.  Mill is reached after 1 s, stands until 6 and runs until 16; drill waits
    until 7, stands until 12 and runs until 17.  So the longest wait is 7 s, of drill, both ways in it.
    """
    text = (
        "target: 180 per h\ncrew: {ann: {travel: {mill > drill: 1 s}}}\nroute: [mill, s, drill]\nstations:\n"
        "  mill: {cycle: 10 s, visit: {by: ann, load: 3 s, unload: 2 s}}\n"
        "  drill: {cycle: 5 s, visit: {by: ann, load: 3 s, unload: 2 s}}\nstores: {s: 4}\n"
    )
    (chart,) = charts(text)
    assert (chart["who"], chart["length_s"], chart["keeps_up"]) == (["ann"], pytest.approx(60), True)
    assert [line["name"] for line in chart["lines"]] == ["ann", "mill", "drill"]
    first = [bar for bar in bars(chart, "ann") if bar[1] <= 20]
    assert first == [
        (0, 1, "", "walking"), (1, 3, "unload", "work"), (3, 6, "load", "work"),
        (6, 7, "", "walking"), (7, 9, "unload", "work"), (9, 12, "load", "work"),
    ]  # fmt: skip
    assert bars(chart, "mill")[:4] == [
        (1, 3, "unload", "attended"), (3, 6, "load", "attended"), (6, 16, "", "alone"),
        (21, 23, "unload", "attended"),
    ]  # fmt: skip
    assert bars(chart, "drill")[:3] == [
        (7, 9, "unload", "attended"), (9, 12, "load", "attended"), (12, 17, "", "alone"),
    ]  # fmt: skip
    assert chart["longest_wait_s"] == pytest.approx(7)


def test_a_double_gripper_exchanges():
    """Fetch 2, take off 3, put on 4, carry away 5 s: the machine stands for 7 s of 14 of the robot."""
    text = (
        "target: 90 per h\nrobots: {R1: {gripper: double}}\nroute: [mill]\nstations:\n  mill:\n"
        "    machines: 2\n    cycle: 60 s\n"
        "    visit: {by: R1, fetch: 2 s, load: 4 s, unload: 3 s, deliver: 5 s}\n"
    )
    (chart,) = charts(text)
    whats = [what for _, _, what, _ in bars(chart, "R1")]
    assert whats[:4] == ["fetch", "unload", "load", "deliver"]
    start = bars(chart, "R1")[0][0]
    assert bars(chart, "mill 1")[0] == (start + 2, start + 5, "unload", "attended")
    assert bars(chart, "mill 1")[2] == (start + 9, start + 69, "", "alone")
    assert chart["longest_wait_s"] == 0


def test_a_single_gripper_goes_twice():
    """The same robot with a single one takes off and carries away, then fetches and puts on."""
    text = (
        "target: 90 per h\nrobots: {R1: {gripper: single}}\nroute: [mill]\nstations:\n  mill:\n"
        "    machines: 2\n    cycle: 50 s\n"
        "    visit: {by: R1, fetch: 2 s, load: 4 s, unload: 3 s, deliver: 5 s}\n"
    )
    (chart,) = charts(text)
    assert [what for _, _, what, _ in bars(chart, "R1")][:4] == ["unload", "deliver", "fetch", "load"]


def test_two_who_lift_together():
    """Both are busy at the same time, and the machine with them."""
    text = (
        "target: 60 per h\ncrew: {lifters: {people: 2}}\nroute: [mill, s, fit]\nstations:\n"
        "  mill: {work: [{do: lift, time: 9 s, by: {lifters: 2}, phase: load}, {do: run, time: 20 s}]}\n"
        "  fit: {work: [{do: hold, time: 6 s, by: lifters}]}\nstores: {s: 4}\n"
    )
    (chart,) = charts(text)
    lifted = [bar[:2] for bar in bars(chart, "lifters 1") if bar[2] == "lift"]
    assert lifted == [bar[:2] for bar in bars(chart, "lifters 2") if bar[2] == "lift"]
    assert lifted == [bar[:2] for bar in bars(chart, "mill") if bar[2] == "lift"]
    assert len(lifted) == 3
    held = [bar for name in ("lifters 1", "lifters 2") for bar in bars(chart, name) if bar[2] == "hold"]
    assert len(held) == 3


@pytest.mark.parametrize("machines", [2, 5, 6, 7, 8])
def test_who_keeps_up_is_told_by_the_round(machines):
    """Visits of 11 s, machines of 75 s: what a fixed round makes is kept up with, 5 % more is not."""
    text = (
        "crew: {ann: {}}\nroute: [mill]\nstations: {mill: {cycle: 64 s, visit: {by: ann, load: 6 s,"
        f" unload: 5 s}}, machines: {machines}}}}}\n"
    )
    most = 3600 * cyclic_tending([64] * machines, [11] * machines, [0] * machines).output
    for share, keeps_up in ((0.999, True), (1.05, False)):
        (chart,) = charts(text, rate=share * most)
        assert chart["keeps_up"] is keeps_up, (machines, share)


def test_who_does_one_thing_has_no_chart():
    """A bench with one person, or two equal benches with two, are no case for a chart."""
    text = (
        "target: 60 per h\ncrew: {ann: {%s works_at: [fit]}}\nroute: [fit]\n"
        "stations: {fit: {%s cycle: 30 s}}\n"
    )
    assert charts(text % ("", "")) == []
    assert charts(text % ("people: 2,", "machines: 2,")) == []


@pytest.mark.parametrize("file", CELLS, ids=lambda file: file.stem)
def test_every_chart_keeps_the_laws(file):
    """On each line one bar at a time, inside the chart; whatever is attended has somebody at that time."""
    try:
        answer = workload(load(file))
    except UsageError:
        answer = workload(load(file), rate=30)
    for chart in answer["charts"]:
        for line in chart["lines"]:
            ordered = sorted(line["bars"], key=lambda bar: bar["from_s"])
            assert all(0 <= bar["from_s"] <= bar["to_s"] <= chart["length_s"] + 1e-6 for bar in ordered)
            assert all(a["to_s"] <= b["from_s"] + 1e-6 for a, b in pairwise(ordered)), line["name"]
        who = [line for line in chart["lines"] if line["kind"] == "who"]
        spans = {(round(b["from_s"], 6), round(b["to_s"], 6)) for line in who for b in line["bars"]}
        for line in chart["lines"]:
            for bar in line["bars"]:
                if bar["kind"] == "attended":
                    assert (round(bar["from_s"], 6), round(bar["to_s"], 6)) in spans
