"""Space that robots share with people: robots stand or move slower while somebody works inside.  By hand."""

from __future__ import annotations

import pytest
from tracing import SECOND, Traced, exactly, in_units, run_text

from cellsim.describe.resolve import load_text
from cellsim.published.practice import SHARED_SPACE
from cellsim.study.plan import make_plan
from cellsim.study.robots import zone_cautions, zone_figures
from cellsim.study.worker import Worker

LAMPS = "out:lamps"


def seconds(*amounts: float) -> list[int]:
    """Seconds as microseconds."""
    return [exactly(amount, SECOND) for amount in amounts]


def cell(
    inside: str, loads: str = "4 s", load: str = "{cycle: 3 s, by: P}", robot: str = "{cycle: 10 s, by: R}"
) -> str:
    """P loads inside the zone of R when a unit comes; R drives screws in a line of its own."""
    return f"""
cell: shared space
crew: {{P: {{}}}}
robots: {{R: {{}}}}
zones: {{front: {{robots: R, people_at: load, inside: {inside}}}}}
route: [load]
lines: {{lamps: [screw]}}
stations: {{load: {load}, screw: {robot}}}
release: {{at: [{loads}]}}
"""


def entries(traced: Traced) -> int:
    """Entries into the only zone."""
    return traced.run.state.zones[0].entries


def test_a_robot_stands_while_somebody_is_inside() -> None:
    """P is inside from 4 to 7; the screws of 0-10 end at 13, since nothing is lost but the standing time."""
    traced = run_text(cell("stops, restart: 0 s"), 13, SECOND)
    assert traced.left(LAMPS) == seconds(13)
    assert traced.actors()["R"] == in_units({"R": {"working": 10, "waiting for zone": 3}}, SECOND)["R"]
    assert traced.states()["screw"] == in_units({"s": {"attended": 10, "waiting for robot": 3}}, SECOND)["s"]
    assert entries(traced) == 1


@pytest.mark.parametrize(("until", "inside"), [(6, 2), (7, 3), (15, 3)])
def test_whoever_is_still_inside_counts_up_to_the_last_second(until: float, inside: float) -> None:
    """P is inside from 4 to 7: at 6 for 2 s so far."""
    traced = run_text(cell("stops, restart: 2 s"), until, SECOND)
    assert traced.run.state.zones[0].inside == exactly(inside, SECOND)


def test_a_fenced_robot_restarts_after_the_last_one_has_left() -> None:
    """Restart 2 s: the robot stands from 4 to 9."""
    traced = run_text(cell("stops, restart: 2 s"), 15, SECOND)
    assert traced.left(LAMPS) == seconds(15)
    assert traced.actors()["R"]["waiting for zone"] == exactly(5, SECOND)


def test_the_restart_takes_ten_seconds_unless_said() -> None:
    """A fenced robot, the default, stands 3 + 10 s: the screws end at 23."""
    text = cell("stops").replace(", inside: stops", "")
    assert run_text(text, 23, SECOND).left(LAMPS) == seconds(23)


def test_whoever_comes_in_during_the_restart_begins_it_anew() -> None:
    """P is inside 4-7 and 8-11: with 2 s to restart it stands from 4 to 13, ends at 19; two entries."""
    traced = run_text(cell("stops, restart: 2 s", "4 s, 8 s"), 19, SECOND)
    assert traced.left(LAMPS) == seconds(19)
    assert traced.actors()["R"]["waiting for zone"] == exactly(9, SECOND)
    assert entries(traced) == 2


def test_who_goes_on_to_the_next_element_has_not_left() -> None:
    """Two elements of 3 s in a row are one entry, and one restart: stands 4-12, ends at 18."""
    load = "{work: [{do: load, time: 3 s, by: P}, {do: look, time: 3 s, by: P}]}"
    traced = run_text(cell("stops, restart: 2 s", load=load), 18, SECOND)
    assert traced.left(LAMPS) == seconds(18)
    assert entries(traced) == 1


def test_who_works_elsewhere_is_not_inside() -> None:
    """An element at a bench outside the zone does not stop the robot; the load of 3 s at the station does."""
    load = "{work: [{do: label, time: 2 s, by: P, at: bench}, {do: load, time: 3 s, by: P}]}"
    traced = run_text(cell("stops, restart: 0 s", load=load) + "layout: {bench: [0 m, 0 m]}\n", 13, SECOND)
    assert traced.left(LAMPS) == seconds(13)
    assert traced.run.state.zones[0].inside == exactly(3, SECOND)


@pytest.mark.parametrize(
    ("percent", "ends"),
    [
        # From 4 to 7 the work of 3 s x share is done, the rest after 7 at full speed.
        ("40 %", 4 + 3 + (6 - 1.2)),
        ("25 %", 4 + 3 + (6 - 0.75)),
        # A third is no whole number of microseconds: 3 s x 0.3333333 = 999 999.9 us counts as 1 s.
        ("33.33333 %", 4 + 3 + 5),
    ],
)
def test_a_robot_slows_down_while_somebody_is_inside(percent: str, ends: float) -> None:
    """What is left is stretched while P is inside, and shrinks again when P has left."""
    traced = run_text(cell(f"slows to {percent}"), ends, SECOND)
    assert traced.left(LAMPS) == [exactly(ends, SECOND)]
    assert traced.actors()["R"] == {"working": exactly(ends, SECOND)}


def test_slowed_work_that_ends_inside_takes_its_time() -> None:
    """P is inside from 4 to 44: the 6 s left at 40 % take 15 s: 19; then 10 s at 40 % take 25 s: 44."""
    traced = run_text(cell("slows to 40 %", load="{cycle: 40 s, by: P}"), 44, SECOND)
    assert traced.left(LAMPS) == seconds(19, 44)


def test_ways_and_handling_slow_down_too() -> None:
    """Way 2, load 2 (P inside from 1 to 3.5), run 4 alone, unload 2.

    Way: 1 s done, the other second takes 2 s at 50 %: to 3; load: 0.5 s counts 0.25, 1.75 left at 3.5: to
    5.25; the machine alone is no robot: to 9.25; unload to 11.25.
    """
    text = cell(
        "slows to 50 %",
        "1 s",
        "{cycle: 2.5 s, by: P}",
        "{cycle: 4 s, visit: {by: R, load: 2 s, unload: 2 s}}",
    ).replace("{R: {}}", "{R: {starts_at: home, travel: {home > screw: 2 s}}}")
    traced = run_text(text, 11.25, SECOND)
    assert traced.left(LAMPS) == seconds(11.25)


def test_a_robot_that_is_slowed_stopped_and_repaired_keeps_its_work() -> None:
    """From 4 on at 50 %; the robot stops at 6 on time for 3 s (10 - 4 - 1 = 5 left); P leaves at 7.

    Repaired at 9, it works on the 5 s at full speed: 14.
    """
    text = cell("slows to 50 %").replace(
        "{R: {}}",
        "{R: {stops: {drop: {every: {listed: [6 s, 1000 s], of: on time}, lasts: {listed: [3 s]}}}}}",
    )
    traced = run_text(text, 14, SECOND)
    assert traced.left(LAMPS) == seconds(14)
    assert traced.actors()["R"] == in_units({"R": {"working": 11, "down": 3}}, SECOND)["R"]


def test_the_long_run_factor() -> None:
    """Slow to s = 40 % for w = 25 % of the time, stopped for h = 3 %: rate factor 1 - w - h + w s = 0.82.

    19.8 s of screws take 24.15 s in the mean; after k rounds of 100 s exactly 82 k s of work are done: 19.8 x
    410 = 8118 = 82 x 99, so unit 410 ends with round 99.
    """
    traced = run_text(SHARED_SPACE, 9900, SECOND)
    assert len(traced.left(LAMPS)) == 410
    assert traced.left(LAMPS)[-1] == exactly(9900, SECOND)
    assert traced.actors()["R"]["waiting for zone"] == exactly(3 * 99, SECOND)
    assert [zone.entries for zone in traced.run.state.zones] == [99, 100]


def test_entries_are_counted_and_many_of_them_bring_a_caution() -> None:
    """One load a minute for 8 h: 480 entries per 8 h; a fence that is opened so often is spoken about."""
    text = cell("stops, restart: 1 s").replace("release: {at: [4 s]}", "release: every 60 s")
    described = load_text(text + "study: {run: 8 h, replications: 1}\n")
    worker, plan = Worker(described), make_plan(described)
    record = worker.replicate(1, 0)
    figures = zone_figures(worker.flat, plan, [record])
    assert figures["front"]["entries"]["mean"] == 481  # the first at 0, the last at the very end
    assert figures["front"]["entries"]["unit"] == "entries per 8 h"
    assert figures["front"]["somebody_inside"]["mean"] == 480 * 3 / 28_800
    assert zone_cautions(worker.flat, plan, [record]) == [
        "The study assumes 481 entries per 8 h into zone front. Each entry needs a safe procedure; check the"
        " rules of lockout."
    ]
    assert any("risk assessment" in text for text in described.cautions)


def test_waiting_for_a_zone_is_what_limits_output() -> None:
    """P is inside 0-3 and 10-13, the screws of 10 s end at 16: the path has 6 s of waiting, 10 s of work."""
    text = """
cell: zone on the path
crew: {P: {}}
robots: {R: {}}
zones: {front: {robots: R, people_at: load, restart: 0 s}}
layout: {bench: [0 m, 0 m]}
route: [screw]
lines: {other: [load]}
stations:
  screw: {cycle: 10 s, by: R}
  load: {work: [{do: load, time: 3 s, by: P}, {do: pack, time: 7 s, by: P, at: bench}]}
"""
    traced = run_text(text, 16, SECOND)
    assert traced.left() == seconds(16)
    assert traced.path() == {
        ("R", "waiting for zone"): exactly(6, SECOND),
        ("screw", "work"): exactly(10, SECOND),
    }
