"""Loops of test and rework by hand: each test counts its own attempts, repair in place, samples, hold areas.

Exact traces in minutes.
"""

from __future__ import annotations

from math import sqrt
from pathlib import Path

import pytest
from tracing import exactly, minutes, run_text

from cellsim.cli import main
from cellsim.describe.resolve import load_text
from cellsim.engine import layout as L
from cellsim.study.worker import Worker

SECOND = 1_000_000


def test_nested_loops_each_count_their_attempts() -> None:
    """One unit: A good, B rejects (1), A rejects (1), A good, B rejects (2) and scraps it at 5.

    A counts its own rejection in between; B has not forgotten its first one.
    """
    text = """
cell: nested
route: [stock, A, mid, B]
stations:
  A: {cycle: 1 min, rejects: {verdicts: [good, reject, good], to: stock, attempts: 2}}
  B: {cycle: 1 min, rejects: {verdicts: [reject], to: stock, attempts: 2}}
stores: {stock: {places: 1, starts_with: 1}, mid: 1}
"""
    traced = run_text(text, 9)
    assert traced.said(L.N_REJECTS, "A") == minutes(3)
    assert traced.said(L.N_REJECTS, "B") == minutes(2, 5)
    assert traced.said(L.N_SCRAPPED) == minutes(5)
    assert [row.judged for row in traced.run.state.stations] == [3, 2]


def test_attempts_count_anew_after_a_good_verdict() -> None:
    """A rejects the unit once before B sends it back and once after: never twice in a row, so it goes on."""
    text = """
cell: anew
route: [stock, A, mid, B]
stations:
  A: {cycle: 1 min, rejects: {verdicts: [reject, good, reject, good], to: stock, attempts: 2}}
  B: {cycle: 1 min, rejects: {verdicts: [reject, good], to: stock, attempts: 2}}
stores: {stock: {places: 1, starts_with: 1}, mid: 1}
"""
    traced = run_text(text, 9)  # A 0-1, 1-2, B 2-3, A 3-4, 4-5, B 5-6
    assert traced.said(L.N_REJECTS, "A") == minutes(1, 4)
    assert (traced.left(), traced.run.state.scrapped) == (minutes(6), 0)


STRIP = """
cell: strip
route: [stock, prep, mid, test]
stations:
  prep: {cycle: 1 min}
  test:
    cycle: 1 min
    rejects: {verdicts: [reject, reject, reject, good], to: tune, returns_to: test, attempts: 2, then: strip}
  tune: {cycle: 1 min}
  strip: {cycle: 3 min, goes_to: prep}
stores: {stock: {places: unlimited, starts_with: 1}, mid: 2}
"""


def test_after_the_last_attempt_the_unit_is_stripped() -> None:
    """prep 0-1, test 1-2, tune 2-3, test 3-4 for the second time, strip 4-7, prep 7-8, test 8-9.

    Attempts count anew after stripping: tune 9-10, test 10-11, and it leaves.
    """
    traced = run_text(STRIP, 12)
    assert traced.said(L.N_REJECTS, "test") == minutes(2, 4, 9)
    assert traced.left() == minutes(11)
    assert traced.cycles() == {"prep": 2, "test": 4, "tune": 2, "strip": 1}
    assert traced.states()["strip"] == {"working": exactly(3), "starved": exactly(9)}


@pytest.mark.parametrize(("enters", "order"), [("in front", [2, 1, 3]), ("behind", [2, 3, 1])])
def test_what_follows_the_last_attempt_joins_in_front_or_behind(enters: str, order: list[int]) -> None:
    """Three units wait at 0; the first is rejected at 3, while a works on the second and the third waits.

    The first rejection is the last: at 4 a takes the first unit again, or the third.
    """
    text = f"""
cell: then
route: [stock, a, mid, test]
stations:
  a: {{cycle: 2 min}}
  test:
    cycle: 1 min
    rejects:
      {{verdicts: [reject, good, good, good], to: bench, returns_to: test, attempts: 1, then: stock,
       then_enters: {enters}}}
  bench: {{cycle: 1 min}}
stores: {{stock: {{places: 3, starts_with: 3}}, mid: 1}}
"""
    traced = run_text(text)
    c = traced.run.state
    first, second = c.machines[0].unit, c.stores[traced.run.flat.names.stores.index("stock")].head
    units = {first: 1, second: 2, c.parts[second].next: 3}
    traced.advance(exactly(12))
    assert traced.left() == minutes(5, 7, 9)
    assert [units[other] for _, what, _, other in traced.run.notes if what == L.N_LEAVES] == order


def test_repair_in_place() -> None:
    """The unit stays: the second one is rejected at 8 and, repaired, at 9.5; at 11 it is good.

    Then 15 and 19 are good, and at 23 the next is rejected, repaired until 24.5.
    """
    text = """
cell: in place
route: [S]
stations:
  S:
    cycle: 4 min
    rejects: {verdicts: [good, reject, reject, good, good, good, reject, good], to: here, repair: 1.5 min}
"""
    traced = run_text(text, 24.5)
    assert traced.left() == minutes(4, 11, 15, 19, 24.5)
    assert traced.said(L.N_REJECTS) == minutes(8, 9.5, 23)
    assert traced.states() == {"S": {"working": exactly(24.5)}}
    row = traced.run.state.stations[0]
    assert (row.judged, row.first_tests, row.first_pass, traced.cycles()) == (8, 5, 3, {"S": 5})


def test_attempts_in_place_and_what_follows() -> None:
    """With two attempts the unit is scrapped at 9.5, or goes to the hold area."""
    text = """
cell: in place
route: [S]
stations:
  S:
    cycle: 4 min
    rejects:
      {verdicts: [good, reject, reject, good, good], to: here, repair: 1.5 min, attempts: 2, then: THEN}
stores: {hold: unlimited}
"""
    scrapped = run_text(text.replace("THEN", "scrap").replace("stores: {hold: unlimited}", ""), 17.5)
    held = run_text(text.replace("THEN", "hold"), 17.5)
    assert scrapped.left() == held.left() == minutes(4, 13.5, 17.5)
    assert scrapped.said(L.N_SCRAPPED) == minutes(9.5)
    assert (held.run.state.scrapped, held.level("hold")) == (0, 1)


def test_somebody_else_repairs() -> None:
    """bob is at the side bench 0-9; ann's unit is rejected at 4 and waits for him until 9, repaired 9-11.

    The side bench called at 9, after ann's station; it goes on with bob from 11.  ann is free 4-11.
    """
    text = """
cell: helper
crew: {ann: {}, bob: {}}
route: [S]
lines: {beside: [side]}
stations:
  S: {cycle: 4 min, by: ann, rejects: {verdicts: [reject, good], to: here, repair: 2 min, by: bob}}
  side: {cycle: 9 min, by: bob}
"""
    traced = run_text(text, 13)
    assert traced.left() == minutes(11)
    assert traced.states() == {
        "S": {"attended": exactly(8), "waiting for operator": exactly(5)},
        "side": {"attended": exactly(11), "waiting for operator": exactly(2)},
    }
    assert traced.actors() == {
        "ann": {"working": exactly(6), "free": exactly(7)},
        "bob": {"working": exactly(13)},
    }


def test_who_does_the_last_element_repairs() -> None:
    """Without a name the crew of the cycle stays for the repair, although another call is older."""
    text = """
cell: same crew
crew: {ann: [S, T]}
route: [S]
lines: {beside: [T]}
stations:
  S: {cycle: 4 min, priority: 1, rejects: {verdicts: [reject, good], to: here, repair: 2 min}}
  T: {cycle: 3 min, priority: 2}
"""
    traced = run_text(text, 6)
    assert traced.left() == minutes(6)
    assert traced.actors() == {"ann": {"working": exactly(6)}}
    assert traced.states()["T"] == {"waiting for operator": exactly(6)}


@pytest.mark.parametrize(
    ("part", "left", "rejects"),
    [
        ("continues", [9], [4]),  # 1 min of the repair is left at 8
        ("restarts", [10], [4]),  # the repair, 2 min, begins again at 8; the cycle is not done again
        ("is scrapped", [14], [4, 12]),  # lost at 5; the next unit 8-12 is rejected, its repair is 12-14
    ],
)
def test_a_stop_during_the_repair(part: str, left: list[float], rejects: list[float]) -> None:
    """At 5 of running time the station stops for 3 min, in the middle of a repair from 4 to 6."""
    text = f"""
cell: stop
route: [S]
stations:
  S:
    cycle: 4 min
    rejects: {{verdicts: [reject, good, good], to: here, repair: 2 min}}
    stops:
      jam: {{every: {{listed: [5 min, 60 min], of: running}}, lasts: {{listed: [3 min]}}, part: {part}}}
"""
    text = text.replace("good, good", "reject, good, good") if part == "is scrapped" else text
    traced = run_text(text, 14.5)
    assert traced.left()[:1] == minutes(*left)
    assert traced.said(L.N_REJECTS)[: len(rejects)] == minutes(*rejects)


SAMPLES = """
cell: samples
route: [S]
stations:
  S: {cycle: 5 min, samples: {every: 3, time: 2 min, destroys: %s}}
"""


@pytest.mark.parametrize(
    ("destroys", "left"), [("yes", [5, 10, 22, 27, 39, 44]), ("no", [5, 10, 17, 22, 27, 34, 39, 44])]
)
def test_every_third_unit_is_tested(destroys: str, left: list[int]) -> None:
    """Units 3, 6, ... are done at 15, 32, ... and tested for 2 min; destroyed, or they leave then."""
    traced = run_text(SAMPLES % destroys, 44)
    assert traced.left() == minutes(*left)
    row = traced.run.state.stations[0]
    assert (row.passed, row.sampled, row.passed // 3) == (8, 2, 2)
    assert traced.said(L.N_SCRAPPED) == (minutes(17, 34) if destroys == "yes" else [])


def test_samples_of_cycles_that_give_several() -> None:
    """4 units a cycle, every 3rd tested: of 4, 8, 12 units finished, 1, 2, 4 have been tested by then.

    Cycle 0-5, test 5-7, 3 leave; cycle 7-12, test 12-14, 3 leave; cycle 14-19, tests 19-23, 2 leave.
    """
    text = (SAMPLES % "yes").replace("cycle: 5 min,", "cycle: 5 min, gives: 4,")
    traced = run_text(text, 23)
    assert traced.left() == minutes(*[7] * 3, *[14] * 3, *[23] * 2)
    assert traced.said(L.N_SCRAPPED) == minutes(7, 14, 21, 23)


@pytest.mark.parametrize("hands_on", ["holds finished part", "only into a free place"])
def test_a_cycle_whose_units_are_all_destroyed(hands_on: str) -> None:
    """2 units a cycle, each tested: nothing is left, the station is empty and goes on; places are given back.

    With every: 2 one of two goes on instead, into a store with 2 places for both.
    """
    text = f"""
cell: samples
route: [S, tray, T]
stations:
  S: {{cycle: 4 min, gives: 2, hands_on: {hands_on}, samples: {{every: EVERY, time: 1 min, destroys: yes}}}}
  T: {{cycle: 1 min}}
stores: {{tray: 2}}
"""
    half = run_text(text.replace("EVERY", "2"), 16)
    assert half.left() == minutes(6, 11, 16)
    assert half.run.state.stores[half.run.flat.names.stores.index("tray")].reserved in (0, 2)
    spoilt = (
        text.replace("EVERY", "1")
        .replace("destroys: yes", "destroys: no")
        .replace("gives: 2", "gives: 2, faults: 100 %")
    )
    gone = run_text(spoilt, 18)  # every unit is faulty, each sample is found to be: 2 tests a cycle
    assert gone.left() == []
    assert gone.said(L.N_SCRAPPED) == minutes(5, 6, 11, 12, 17, 18)
    assert gone.cycles()["S"] == 3


def test_a_faulty_sample_does_not_go_on() -> None:
    """Unit 3 is faulty and is the sample: found at 17, it is scrapped."""
    text = (SAMPLES % "no").replace(
        "cycle: 5 min,", "cycle: 5 min, faults: {listed: [good, faulty, faulty]},"
    )
    traced = run_text(text, 22)
    assert traced.left() == minutes(5, 10, 22)
    c = traced.run.state
    assert (c.scrapped, c.stations[0].sampled_faulty, c.escapes) == (1, 1, 1)


HOLD = """
cell: hold
route: [S1, tray, S2]
stations:
  S1: {cycle: 5 min}
  S2: {cycle: 3 min, rejects: {verdicts: [good, reject], to: hold}}
stores: {tray: 1, hold: 2}
study: {run: 2 h, replications: 2}
"""


@pytest.mark.parametrize("release", ["", "release: every 5 min\n", "release: {at: [0 s, 0 s, 0 s, 0 s]}\n"])
def test_a_full_hold_area_stops_the_cell(release: str) -> None:
    """S2 rejects at 13, 23 and 33; the hold has room for two, so S2 stands with the third and S1 at 40.

    Four raw units only: the third... of these are 8 good, 13 held, 18 good, 23 held, and nothing is locked.
    """
    traced = run_text(HOLD + release, 100)
    record = Worker(load_text(HOLD + release)).replicate(1, 0)
    if "at:" in release:
        assert (traced.left(), traced.level("hold")) == (minutes(8, 18), 2)
        assert (record.reason, record.full) == ("horizon", [])
        return
    assert traced.left() == minutes(8, 18, 28)
    assert traced.states()["S2"]["blocked"] == exactly(100 - 33)
    assert (record.reason, record.circle, record.full) == (
        "locked",
        ["S2 holds a unit for hold"],
        ["hold"],
    )
    assert record.ended_at == exactly(40)


def test_a_full_hold_area_is_told_by_name(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The run ends with an exit code of its own, and the screen says which store is full."""
    file = tmp_path / "hold.yaml"
    file.write_text(HOLD, encoding="utf-8")
    with pytest.raises(SystemExit) as ended:
        main(["run", str(file), "--out", str(tmp_path / "result")])
    assert ended.value.code == 3
    told = capsys.readouterr()
    screen = " ".join(told.out.split())
    assert "40 min after the start: S2 holds a unit for hold, hold is full and nothing takes" in screen
    assert "Nothing takes units out of store hold. When its 2 places are full, whoever" in screen
    assert "S2 holds a unit for hold; hold is full and nothing takes from it" in told.err


def test_a_sorting_station_empties_the_hold_area() -> None:
    """S2 rejects every third unit, one in 15 min; sorting takes 10 min, so the hold area never fills."""
    text = HOLD.replace("S2: {", "sort: {cycle: 10 min, goes_to: tray}\n  S2: {").replace(
        "study:", "lines: {sorting: [hold, sort]}\nstudy:"
    )
    traced = run_text(text.replace("[good, reject]", "[good, good, reject]"), 1200)
    assert traced.level("hold") <= 1
    assert traced.states()["S2"].get("blocked", 0) == 0


def test_tests_per_unit_in_a_loop() -> None:
    """Rejected 18 % at first, 12 % after tuning, at most three tests.

    Per unit 1 + 0.18 + 0.18 x 0.12 = 1.2016 tests, 0.2016 tunings, and 0.18 x 0.12 x 0.12 = 0.2592 % third
    rejections.  Bounds of 4.5 standard deviations: a false alarm of 7 in a million per figure.
    """
    text = """
cell: loop
route: [make, test]
stations:
  make: {cycle: 2 s}
  test:
    cycle: 1 s
    rejects: {share: 18 %, after_rework: 12 %, to: tune, returns_to: test, attempts: 3, then: strip}
  tune: {cycle: 1 s}
  strip: {cycle: 1 s, goes_to: finished}
"""
    traced = run_text(text, 80_000, SECOND)
    units = len(traced.left())
    assert units > 36_000
    cycles = traced.cycles()
    squares = 1 * (1 - 0.18) + 4 * (0.18 - 0.0216) + 9 * 0.0216  # of the number of tests
    spread = sqrt((squares - 1.2016**2) / units)
    assert abs(cycles["test"] / units - 1.2016) < 4.5 * spread + 3 / units
    assert abs(cycles["tune"] / units - 0.2016) < 4.5 * spread + 3 / units
    assert abs(cycles["strip"] / units - 0.002592) < 4.5 * sqrt(0.002592 / units) + 3 / units


def test_a_returned_unit_passes_those_who_wait_for_places() -> None:
    """S1 stands with two units from 3 on, since the tray has one free place; S2 rejects one unit at 5.

    S2.1 hands on and takes the next unit; the rejected one goes in front at once, S2.2 takes it; S1 has room.
    """
    text = """
cell: in front
route: [S1, tray, S2]
stations:
  S1: {cycle: 1 min, gives: 2}
  S2: {cycle: 4 min, machines: 2, rejects: {verdicts: [good, reject, good, good], to: tray}}
stores: {tray: 3}
"""
    traced = run_text(text, 9)
    assert traced.left() == minutes(5, 9, 9)
    assert traced.states()["S2.2"] == {"starved": exactly(1), "working": exactly(8)}
    assert traced.states()["S1"] == {"working": exactly(4), "blocked": exactly(5)}
