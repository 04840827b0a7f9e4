"""Stores against stops, batches against windows: each figure and each doubt worked out by hand."""

from __future__ import annotations

from typing import Any

import pytest

from cellsim.describe.resolve import load_text
from cellsim.study.workload import workload


def work(text: str, **how: Any) -> dict[str, Any]:
    """The paper work of a cell at 120 an hour, one every 30 s."""
    return workload(load_text("cell: Test\ntarget: 120 per h\n" + text), **how)


def doubts(text: str) -> dict[str, tuple[str, float, float]]:
    """Of each doubt the store, what is needed and what there is."""
    return {row["doubt"]: (row["store"], row["needed"], row["there"]) for row in work(text)["windows"]}


def test_a_store_covers_so_many_takts():
    """Ten places are 300 s.

    Press, 20 s a unit, has a jam of 1 min in 20 min of running, so one in 60 units, and a fault of 30 min in
    10 h, one in 1800, with 5 min until the technician comes; planned service is left out.  Pack never stops.
    """
    text = (
        "crew: {tom: {response: 5 min}}\nroute: [press, tray, pack]\nstations:\n  press:\n    cycle: 20 s\n"
        "    stops:\n      jam: {every: 20 min of running, lasts: 1 min}\n"
        "      fault: {every: 10 h of running, lasts: 30 min, cleared_by: tom}\n"
        "    service:\n      oil: {every: 8 h of running, lasts: 40 min}\n"
        "  pack: {cycle: 20 s}\nstores: {tray: 10}\n"
    )
    found = work(text)
    (tray,) = found["stores"]
    jams, faults = 1 / 60, 1 / 1800
    assert tray["cover_s"] == pytest.approx(300)
    assert tray["mean_stop_s"] == pytest.approx((60 * jams + 2100 * faults) / (jams + faults))
    assert (tray["longest_stop"], tray["longest_stop_s"]) == ("press: fault", pytest.approx(2100))
    assert found["warnings"] == []
    told = work(text.replace("tray: 10", "tray: 4"))["warnings"]  # 120 s, and the mean is 125.8 s
    assert [(row["kind"], row["about"]) for row in told] == [("stop not covered", ["tray"])]


def test_robots_beside_a_store_stop_too():
    """The robot that works at the press stands for 3 min at a time; two parts a unit halve the cover."""
    text = (
        "robots: {R1: {stops: {fault: {every: 1 h of running, lasts: 3 min}}}}\nroute: [press, tray, pack]\n"
        "stations:\n  press: {cycle: 10 s, by: R1}\n  pack: {cycle: 20 s, takes: {tray: 2}}\n"
        "stores: {tray: 10}\n"
    )
    (tray,) = work(text)["stores"]
    assert tray["cover_s"] == pytest.approx(150)
    assert (tray["mean_stop_s"], tray["longest_stop"]) == (pytest.approx(180), "R1: fault")


BOWL = (
    "route: [wash, dirty, polish, clean, pack]\nstations:\n  wash: {cycle: 20 s}\n  polish:\n"
    "    machines: 2\n"
    "    cycle: 45 min\n    visit: {by: ann, load: 3 min, unload: 2 min}\n    batch: {size: 60%s}\n"
    "  pack: {cycle: 20 s}\ncrew: {ann: {}}\nstores: {dirty: %s, clean: %s}\n"
)


def test_a_bowl_gathers():
    """60 parts come in 30 min, taken for 50: 1.67 bowls, two are 83 %.

    The first waits 29.5 min, on average half of that.
    """
    found = work(BOWL % ("", "60", "60"))
    (bowl,) = found["batches"]
    assert (bowl["size"], bowl["machines"]) == (60, 2)
    assert bowl["gathers_s"] / 60 == pytest.approx(30)
    assert bowl["occupied_s"] / 60 == pytest.approx(50)
    assert bowl["machines_needed"] == pytest.approx(50 / 30)
    assert (bowl["first_waits_s"], bowl["mean_waits_s"]) == (
        pytest.approx(59 * 30),
        pytest.approx(14.75 * 60),
    )
    assert bowl["longest_wait_s"] is bowl["starts_with"] is None
    (load,) = (row for row in found["stations"] if row["name"] == "polish")
    assert load["load"] == pytest.approx(50 / 60)
    assert found["warnings"] == [] == found["windows"]


@pytest.mark.parametrize(
    ("waits", "units", "warned"), [("20 min", 41, True), ("25 min", 51, False), ("1 h", 60, False)]
)
def test_a_batch_that_starts_early_needs_more_bowls(waits, units, warned):
    """After 20 min 41 parts are there: 50 min of a bowl each 20.5 min are 2.44 bowls; of 51 parts 1.96."""
    found = work(BOWL % (f", waits: {waits}", "60", "60"))
    (bowl,) = found["batches"]
    assert bowl["starts_with"] == units
    assert bowl["machines_needed_then"] == pytest.approx(50 / (units * 0.5))
    assert ["batch starts early" in row["kind"] for row in found["warnings"]] == [True] * warned


def test_windows_around_a_batch():
    """The first of 60 waits 29.5 min, the last is taken after 30; a full store of 80 takes 40 min."""
    found = doubts(BOWL % ("", "{places: 60, use_within: 20 min}", "60"))
    assert found.pop("window batch before") == ("dirty", pytest.approx(59 * 30), 1200)
    assert found == {"window full": ("dirty", pytest.approx(1800), 1200)}
    found = doubts(BOWL % ("", "60", "{places: 80, use_within: 25 min}"))
    assert found == {
        "window batch behind": ("clean", pytest.approx(1800), 1500),
        "window full": ("clean", pytest.approx(2400), 1500),
    }
    # a longest wait of 15 min lets nothing wait longer than that before the bowl
    short = BOWL % (", waits: 15 min", "{places: 60, use_within: 20 min}", "60")
    assert "window batch before" not in doubts(short)
    assert doubts(BOWL % ("", "{places: 60, use_within: 30 min}", "60")) == {}


def test_what_lies_over_a_pause():
    """16 h over night, 64 over the weekend: good for 12 h is too short, for 3 days long enough."""
    text = (
        "shifts: {day: {from: 06:00, to: 14:00}}\nroute: [a, s, b]\n"
        "stations: {a: {cycle: 20 s}, b: {cycle: 20 s}}\n"
    )
    pause = {"window pause": ("s", 64 * 3600, 12 * 3600)}
    assert doubts(text + "stores: {s: {places: 4, use_within: 12 h}}\n") == pause
    assert doubts(text + "stores: {s: {places: 4, use_within: 3 d}}\n") == {}


def test_places_for_what_must_stay():
    """At 122 an hour 25 min are 50.8 places; fewer than the target needs are a mistake of the file."""
    text = (
        "route: [a, s, b]\nstations: {a: {cycle: 20 s}, b: {cycle: 20 s}}\n"
        "stores: {s: {places: 50, stays: at least 25 min}}\n"
    )
    assert work(text)["windows"] == []
    (row,) = work(text, rate=122)["windows"]
    assert (row["doubt"], row["store"], row["there"]) == ("stay", "s", 50)
    assert row["needed"] == pytest.approx(122 * 25 / 60)
