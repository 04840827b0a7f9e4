"""What `cellsim load` shows: the screen, and pictures whose bars carry the numbers of the answer."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pytest
from matplotlib.patches import Rectangle
from rich.console import Console

from cellsim.describe.resolve import load, load_text
from cellsim.show.loaded import print_workload
from cellsim.show.loaded_words import headline, warning_words
from cellsim.show.plots_load import draw_load
from cellsim.study.workload import workload

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.yaml"))


def screen(answer: dict[str, Any], width: int = 100) -> str:
    """What stands on a terminal of this width."""
    console = Console(width=width, record=True, file=io.StringIO())
    print_workload(answer, console)
    return console.export_text()


def patches(axes: Any) -> dict[str, Rectangle]:
    """The bars of axes by what they say they are."""
    return {p.get_gid(): p for p in axes.patches if isinstance(p, Rectangle) and p.get_gid()}


@pytest.fixture(scope="module")
def padlock() -> dict[str, Any]:
    """The largest of the shipped cells, with a planned cycle."""
    return workload(load(next(file for file in SCENARIOS if file.stem == "padlock")), planned="90 %")


@pytest.mark.parametrize("width", [80, 100])
@pytest.mark.parametrize("file", SCENARIOS, ids=lambda file: file.stem)
def test_every_screen_fits(file, width):
    """No line is longer than the terminal, nothing is cut, and every name is there."""
    answer = workload(load(file), planned="90 %")
    text = screen(answer, width)
    assert max(map(len, text.splitlines())) <= width
    assert "…" not in text
    for row in (*answer["stations"], *answer["posts"], *answer["robots"]):
        assert row["name"] in text


def test_the_screen_says_what_the_answer_holds(padlock):
    """Takt and how it came about, the busiest with its mark, balance, tending, batches, doubts, the limit."""
    text = " ".join(screen(padlock).split())
    assert "Shifts early, late: 480 min less breaks of 10 and 10, clean up 10: 450 min net for 750" in text
    assert "Takt 450 min / 750 = 36 s for a good unit." in text
    assert "Planned cycle 32.4 s, 90 % of the takt." in text
    assert "The rate cannot be made: drill is the busiest, 95.7 % loaded and 101.1 % with stops." in text
    assert "drill < 2 61.86 7.05 3.88 72.78 72.00 95.7 % 101.1 %" in text
    assert "9 are posted: balance 67.7 %" in text
    assert "R1 drill 2 5.5 54.9 6.2 5.3" in text
    assert "polish v40 200 1 h 57 min 1 h 56 min 58 min 4 h 2.06 3" in text
    assert "- drill: 101.1 % with stops, more than there is time for." in text
    assert "On paper at most 98.9 good units per working hour (drill)" in text
    assert text.count(" < ") == 1


@pytest.mark.parametrize(
    ("how", "text"),
    [
        (
            {"rate": 60},
            "The rate can be made on paper: a is the busiest, 50.0 % loaded. Waiting comes on top",
        ),
        ({"rate": 130}, "The rate cannot be made: a is the busiest, 108.3 % loaded. On paper at most 120"),
        ({}, "a is the busiest, 100.0 % loaded."),
    ],
    ids=["below", "above", "at the limit"],
)
def test_the_headline(how, text):
    """One station of 30 s with 60, 130 or as many units an hour as it can make."""
    answer = workload(load_text("cell: Test\nroute: [a]\nstations: {a: {cycle: 30 s}}\n"), **how)
    assert headline(answer).startswith(text)


def test_what_works_in_breaks_may_have_more_time():
    """An oven that runs on in breaks sets no limit; a load above 100 % is told as that of these hours."""
    text = (
        "cell: Test\ntarget: 130 per h\nroute: [b, s, a]\n"
        "stations: {b: {cycle: 9 s}, a: {cycle: 30 s, runs_through_breaks: yes}}\nstores: {s: 4}\n"
    )
    answer = workload(load_text(text))
    assert headline(answer).startswith("The rate is hardly made: a is the busiest, 108.3 % loaded, more than")
    (told,) = (row for row in answer["warnings"] if row["kind"] == "over")
    assert warning_words(told) == (
        "a: 108.3 % with stops, more than there is time for in these hours; it also works in breaks or at"
        " night."
    )
    assert "Not only in working hours, so that they have more time than this: a." in screen(answer)


def test_bars_of_stations_and_people(padlock):
    """Lengths are loads in percent; heights are seconds of one person, without gaps up to his load."""
    figure = draw_load(padlock)
    stations, balance = figure.axes[:2]
    bars = patches(stations)
    for row in padlock["stations"]:
        dark, light = bars[f"{row['name']}/load"], bars[f"{row['name']}/stops"]
        assert dark.get_width() == pytest.approx(100 * row["load"])
        assert light.get_x() + light.get_width() == pytest.approx(100 * row["load_with_stops"])
    takt = padlock["takt"]["takt_s"]
    for row in (*padlock["posts"], *padlock["robots"]):
        own = sorted(
            (bar for gid, bar in patches(balance).items() if gid.split("/")[0] == row["name"]),
            key=lambda bar: bar.get_y(),
        )
        at = 0.0
        for bar in own:
            assert bar.get_y() == pytest.approx(at, abs=1e-9)
            at += bar.get_height()
        assert at == pytest.approx(row["load_with_stops"] * takt, rel=1e-9)
    lines = {line.get_gid(): line.get_ydata()[0] for line in balance.lines if line.get_gid()}
    assert lines == {"takt": pytest.approx(36), "planned cycle": pytest.approx(32.4)}


def test_bars_of_the_man_machine_charts(padlock):
    """Each bar stands where the answer says, on its line; minutes where the chart is long."""
    figure = draw_load(padlock)
    for chart, axes in zip(padlock["charts"], figure.axes[2:], strict=True):
        scale = 60 if chart["length_s"] >= 1200 else 1
        shown = sorted(
            (round(bar.get_y() + bar.get_height() / 2), bar.get_x(), bar.get_width(), bar.get_gid())
            for bar in axes.patches
            if bar.get_gid()
        )
        stated = sorted(
            (
                k,
                bar["from_s"] / scale,
                (bar["to_s"] - bar["from_s"]) / scale,
                f"{line['name']}/{bar['at']}/{bar['what']}/{bar['kind']}",
            )
            for k, line in enumerate(chart["lines"])
            for bar in line["bars"]
        )
        assert len(shown) == len(stated)
        for one, other in zip(shown, stated, strict=True):
            assert one[3] == other[3]
            assert one[:3] == pytest.approx(other[:3])


def test_a_picture_without_people():
    """Two stations and nobody: one part, no chart."""
    text = (
        "cell: $Test$\ntarget: 90 per h\nroute: [a, s, b]\nstations: {a: {cycle: 20 s}, b: {cycle: 9 s}}\n"
        "stores: {s: 4}\n"
    )
    figure = draw_load(workload(load_text(text)))
    assert len(figure.axes) == 1
