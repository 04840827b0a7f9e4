"""The operator balance chart holds the numbers of the answer, and the sentences say what they show."""

from __future__ import annotations

from typing import Any

import pytest

from cellsim.describe.work_plan import read_plan
from cellsim.show.balanced import binding_words, decision, loss_words, rate_words
from cellsim.show.plots_work_plan import draw_work_plan, save_work_plan
from cellsim.study.balance import balance

PLAN = """\
plan: four
takt: 10 s
efficiency: 95 %
elements:
  load: {time: 2 s, machine: press}
  press: {time: 4 s, after: load, machine: press, runs_alone: yes}
  unload: {time: 2 s, after: press, machine: press}
  b: {time: 5 s, after: unload}
  c: {time: 6 s, after: b}
  d: {time: 3 s, after: c}
"""


@pytest.fixture(scope="module")
def answer() -> dict[str, Any]:
    """A balance of two people, one with a machine."""
    return balance(read_plan(PLAN), on_paper=True)


def with_rates(answer: dict[str, Any], planned: float, endless: float, still: float, **more: Any) -> dict:
    """The answer as if its cell made this."""
    rates = {"as_planned": planned, "unlimited_places": endless, "constant_times": still}
    found: dict[str, Any] = {
        key: {"mean": value, "interval": [value - 1, value + 1]} for key, value in rates.items()
    }
    lost = {"places": endless - planned, "times": still - endless, "rest": 400.0 - still}
    losses = {key: {"mean": value, "interval": [value - 1, value + 1]} for key, value in lost.items()}
    told = found | {"varies": True, "replications": 9, "losses": losses}
    return answer | {"simulated": told, "balanced_per_hour": 400.0} | more


def test_every_element_is_a_bar_of_its_time(answer: dict[str, Any]) -> None:
    """Stacked without gaps, a machine beside them, lines at takt and planned cycle."""
    axes = draw_work_plan(answer).axes[0]
    bars = [(patch.get_gid(), patch) for patch in axes.patches]
    for row in answer["stations"]:
        at = 0.0
        for element in (e for e in row["elements"] if not e["runs_alone"]):
            (patch,) = [p for gid, p in bars if gid == f"{row['station']}/{element['name']}"]
            assert (patch.get_y(), patch.get_height()) == (at, element["time_s"])
            at += element["time_s"]
        assert at == row["load_s"]
    machine = [p for gid, p in bars if gid == "machine/press"]
    assert [p.get_height() for p in machine] == [2, 4, 2]
    assert [bool(p.get_hatch()) for p in machine] == [False, True, False]
    assert len(bars) == 5 + 3
    lines = {line.get_gid(): line.get_ydata()[0] for line in axes.lines}
    assert lines == {"takt": 10, "planned cycle": pytest.approx(9.5)}
    assert axes.get_ylim()[1] > 10


def test_names_of_the_lines_do_not_overlap() -> None:
    """Takt and planned cycle that are close stand one below the other."""
    close = balance(read_plan(PLAN.replace("95 %", "99 %")), on_paper=True)
    figure = draw_work_plan(close)
    figure.draw_without_rendering()
    words = [t for t in figure.axes[0].texts if t.get_text().startswith(("takt", "planned"))]
    one, other = (t.get_window_extent() for t in words)
    assert not one.overlaps(other)


def test_a_long_line_keeps_its_names_in_the_bars() -> None:
    """Twelve stations with long names: no name is wider than its bar."""
    rows = "".join(f"  put the part number {k} into its place: {{time: 9 s}}\n" for k in range(12))
    figure = draw_work_plan(balance(read_plan(f"plan: long\ntakt: 10 s\nelements:\n{rows}"), on_paper=True))
    figure.draw_without_rendering()
    axes = figure.axes[0]
    bars = [p.get_window_extent() for p in axes.patches]
    inside = [t.get_window_extent() for t in axes.texts if t.get_text().startswith("put")]
    for text in inside:
        assert any(b.x0 <= text.x0 and text.x1 <= b.x1 for b in bars)


def test_a_picture_of_each_kind(answer: dict[str, Any], tmp_path) -> None:
    """PNG, SVG, PDF by the ending."""
    for ending, start in (("png", b"\x89PNG"), ("svg", b"<?xml"), ("pdf", b"%PDF")):
        path = tmp_path / f"chart.{ending}"
        save_work_plan(answer, path)
        assert path.read_bytes().startswith(start)


def test_decisions_in_words(answer: dict[str, Any]) -> None:
    """Proven and not proven, fewest people and smallest cycle."""
    assert decision(answer) == (
        "2 people keep the planned cycle of 9.5 s (95 % of the takt of 10 s); it is proven that fewer cannot."
    )
    open_one = answer | {"sure": answer["sure"] | {"people": {"proved": False, "bound": 1, "gap": 1.0}}}
    assert decision(open_one).endswith("; whether 1 person could is not settled.")
    three = balance(read_plan(PLAN.replace("takt: 10 s\nefficiency: 95 %", "people: 3")), on_paper=True)
    assert decision(three) == f"With 3 people the cycle is {three['cycle_s']:g} s, proven to be the shortest."
    loose = three | {"sure": {"people": None, "cycle": {"proved": False, "bound_s": 7.0, "gap": 0.0312}}}
    assert decision(loose).endswith(", at most 3.1 % from the shortest.")
    tight = balance(read_plan(PLAN + "people: 1\n"), on_paper=True)
    assert ": longer than the planned cycle of 9.5 s" in decision(tight)
    assert binding_words(tight) == "station 1 (P1), busy for the whole cycle"


def test_why_it_makes_less(answer: dict[str, Any]) -> None:
    """Each loss is told with its size, and only where there is one."""
    said = list(loss_words(with_rates(answer, 380.0, 392.0, 398.0, places=0)))
    assert [text.split(" costs ")[-1].split(" ")[0] for text in said[:2]] == ["6", "12"]
    assert said[2].startswith("2 an hour are lost even where no time varies")
    (few,) = loss_words(with_rates(answer, 380.0, 400.0, 400.0, places=1))
    assert few.startswith("That there is only one place between two people costs 20 an hour")
    (some,) = loss_words(with_rates(answer, 380.0, 400.0, 400.0, places=3))
    assert some.startswith("That there are only 3 places between")
    (none,) = loss_words(with_rates(answer, 399.9, 400.0, 400.0, places=1))
    assert none == "Times vary, but what that costs is too little to be told from chance by 9 runs."
    (chance,) = loss_words(with_rates(answer, 398.4, 399.2, 400.0))  # each interval holds 0
    assert chance == none
    text = rate_words(with_rates(answer, 380.0, 392.0, 398.0))
    assert "380 good units per working hour (379 to 381), 5.0 % less than the 400" in text
    assert "as many as the 400" in rate_words(with_rates(answer, 400.0, 400.0, 400.0))
