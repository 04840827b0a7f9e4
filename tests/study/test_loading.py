"""The static check: loads, people and flows of small cells, each worked out by hand in the docstring."""

from __future__ import annotations

import math

import pytest

from cellsim.describe.resolve import load_text
from cellsim.errors import UsageError
from cellsim.study.loading import Loading, loading
from cellsim.study.study import run


def check(text: str, **how: float | bool) -> Loading:
    """The static check of a cell; the first two lines are always the same."""
    return loading(load_text("cell: Test\ntarget: 120 per h\n" + text), **how)  # type: ignore[arg-type]


def test_a_station_is_taken_by_loading_work_and_unloading_only():
    """3 + 20 + 2 s of 30 s on the machine; whoever tends it does 4 + 3 + 2 + 5 + 1 s."""
    found = check(
        "crew: {ann: {}}\nroute: [mill, rack, pack]\nstations:\n  mill:\n    cycle: 20 s\n"
        "    visit: {by: ann, fetch: 4 s, load: 3 s, unload: 2 s, deliver: 5 s, return: 1 s}\n"
        "  pack: {cycle: 6 s}\nstores: {rack: 4}\n"
    )
    assert found.takt_s == 30.0
    assert found.find("mill").work_s == pytest.approx(25)
    assert found.find("mill").share() == pytest.approx(25 / 30)
    assert found.find("ann").required_s() == pytest.approx(15)


def test_equal_machines_share_the_load():
    """45 s on two machines: 75 %."""
    found = check("route: [mill]\nstations: {mill: {machines: 2, cycle: 45 s}}\n")
    assert found.find("mill").share() == pytest.approx(0.75)
    assert found.find("mill").available_s == pytest.approx(60)


def test_mean_of_a_time_that_varies():
    """Shortest 10, most likely 12, longest 20 s as a triangle: 14 s on average."""
    found = check(
        "route: [fit]\nstations: {fit: {cycle: {law: triangular, min: 10 s, likely: 12 s, max: 20 s}}}\n"
    )
    assert found.find("fit").work_s == pytest.approx(14)


REWORK = """
route: [fit, tray, test]
lines: {bench line: [bench]}
stations:
  fit: {cycle: 20 s}
  test: {cycle: 10 s, rejects: {%s, to: bench, returns_to: %s}}
  bench: {cycle: 60 s}
stores: {tray: 5}
"""


def test_rework_without_limit():
    """20 % fail at first and 10 % later: 0.2 / 0.9 reworks, 1 + 0.2 / 0.9 tests."""
    found = check(REWORK % ("share: 20 %, after_rework: 10 %", "test"))
    assert found.find("bench").cycles == pytest.approx(0.2 / 0.9)
    assert found.find("test").work_s == pytest.approx(10 * (1 + 0.2 / 0.9))
    assert found.find("fit").work_s == pytest.approx(20)


def test_rework_that_goes_further_back():
    """What comes before `fit` again passes it again: 1 / 0.8 of everything."""
    found = check(REWORK % ("share: 20 %", "fit"))
    assert found.find("fit").work_s == pytest.approx(20 / 0.8)
    assert found.find("bench").work_s == pytest.approx(60 * 0.2 / 0.8)


def test_attempts():
    """20 %, then 10 %, three attempts: 1.22 tests and 0.22 reworks; 0.2 % are scrapped and made anew."""
    text = REWORK % ("share: 20 %, after_rework: 10 %, attempts: 3", "test")
    first = check(text, with_losses=False)
    assert first.find("test").cycles == pytest.approx(1.22)
    assert first.find("bench").cycles == pytest.approx(0.22)
    assert first.find("fit").cycles == pytest.approx(1)
    found = check(text)
    assert found.find("test").cycles == pytest.approx(1.22 / 0.998)
    assert found.find("fit").cycles == pytest.approx(1 / 0.998)


def test_scrap_makes_more_work_before_it_only():
    """4 % scrapped between: 1 / 0.96 of the first station and of the one that scraps, 1 of the last."""
    found = check(
        "route: [saw, a, drill, b, pack]\nstations: {saw: {cycle: 9 s}, drill: {cycle: 8 s, scrap: 4 %},"
        " pack: {cycle: 7 s}}\nstores: {a: 2, b: 2}\n"
    )
    cycles = [found.find(name).cycles for name in ("saw", "drill", "pack")]
    assert cycles == pytest.approx([1 / 0.96, 1 / 0.96, 1])


def test_rejects_that_never_come_back_are_tested_once():
    """10 % go another way to the end: one test each, however many attempts are allowed."""
    found = check(
        "route: [test, tray, pack]\nlines: {seconds: [regrade]}\nstations: {test: {cycle: 10 s, rejects:"
        " {share: 10 %, to: regrade, attempts: 3}}, regrade: {cycle: 40 s, goes_to: pack}, pack:"
        " {cycle: 5 s}}\n"
        "stores: {tray: 3}\n"
    )
    cycles = [found.find(name).cycles for name in ("test", "regrade", "pack")]
    assert cycles == pytest.approx([1, 0.1, 1])


def test_quantities():
    """A bike takes two wheels, a cut gives 60 spokes, a wheel takes 30: 2 wheels and one cut per bike."""
    found = check(
        "route: [frame, bikes, join]\nlines: {wheels: [cut, spokes, wheel, wheel rack]}\nstations:"
        " {frame: {cycle: 9 s}, cut: {cycle: 12 s, gives: 60}, wheel: {cycle: 8 s, takes: {spokes: 30}},"
        " join: {cycle: 20 s, takes: {wheel rack: 2}}}\nstores: {bikes: 3, spokes: 200, wheel rack: 8}\n"
    )
    cycles = {name: found.find(name).cycles for name in ("frame", "cut", "wheel", "join")}
    assert cycles == pytest.approx({"frame": 1, "cut": 1, "wheel": 2, "join": 1})


def test_stations_that_take_from_one_store_share_by_pace():
    """30 s on one machine and 60 s on one: two thirds and one third, so equal loads."""
    found = check(
        "route: [cut, bin, fit]\nlines: {second: [bin, fit slow]}\nstations: {cut: {cycle: 9 s},"
        " fit: {cycle: 30 s},"
        " fit slow: {cycle: 60 s, goes_to: finished}}\nstores: {bin: 4}\n"
    )
    assert found.find("fit").cycles == pytest.approx(2 / 3)
    assert found.find("fit slow").cycles == pytest.approx(1 / 3)
    assert found.find("fit").share() == pytest.approx(found.find("fit slow").share())


def test_a_line_that_nothing_asks_for_has_no_load():
    """Samples leave beside the output: how many is settled by nobody."""
    found = check(
        "route: [fit]\nlines: {samples: [turn, box, look]}\nstations: {fit: {cycle: 9 s}, turn: {cycle: 9 s},"
        " look: {cycle: 9 s}}\nstores: {box: 3}\n"
    )
    assert set(found.undetermined) == {"turn", "look"}
    assert [load.name for load in found.stations] == ["fit"]


VARIANTS = """
variants: {A: 75 %, B: 25 %}
crew: {setter: {}}
route: [drill, bin, polish, tray, pack]
stations:
  drill:
    machines: 2
    cycle: {A: 20 s, B: 40 s}
    changeover: {time: {A > B: 10 min, B > A: 6 min}, by: setter, approval: 2 min}
  polish: {cycle: 50 min, batch: {size: {A: 100, B: 60}}}
  pack: {cycle: 5 s}
stores: {bin: 300, tray: 300}
"""


def test_variants_weigh_by_share():
    """Drill 0.75 x 20 + 0.25 x 40 = 25 s of 2 x 30; polish 50 min x (0.75 / 100 + 0.25 / 60) = 35 s."""
    found = check(VARIANTS + "sequence: [{A: 300}, {B: 100}]\n")
    assert found.find("drill").work_s == pytest.approx(25)
    assert found.find("polish").work_s == pytest.approx(3000 * (0.75 / 100 + 0.25 / 60))
    assert found.find("polish").kind == "batch"


def test_changeovers_of_campaigns():
    """Each of two machines goes over twice in 400 units: 2 x (10 + 6 + 2 + 2) min / 400 = 6 s.

    The setter makes the changes, 4.8 s; nobody is needed for the approvals.
    """
    found = check(VARIANTS + "sequence: [{A: 300}, {B: 100}]\n")
    assert found.find("drill").changeover_s == pytest.approx(6)
    assert found.find("drill").share() == pytest.approx(31 / 60)
    assert found.find("setter").changeover_s == pytest.approx(4.8)


def test_changeovers_in_ratio_and_at_random():
    """In ratio A A B A comes again and again: two changes in 4 units on each machine.

    At random a change from A to B has the chance 0.75 x 0.25, and so has one back.
    """
    ratio = check(VARIANTS + "sequence: in ratio\n")
    assert ratio.find("drill").changeover_s == pytest.approx(2 * 20 * 60 / 4)
    chance = check(VARIANTS + "sequence: at random\n")
    assert chance.find("drill").changeover_s == pytest.approx(2 * 20 * 60 * 0.75 * 0.25)


def test_a_batch_forms():
    """100 of A come every 30 s in a campaign: 49.5 x 30 s on average; by share every 40 s."""
    found = check(VARIANTS + "sequence: [{A: 300}, {B: 100}]\n")
    forming = {one.variant: one for one in found.forming}
    assert forming["A"].mean_s == pytest.approx(49.5 * 30)
    assert forming["B"].first_s == pytest.approx(59 * 30)
    assert forming["A"].mixed_interval_s == pytest.approx(40)


def test_a_station_for_some_variants_only():
    """Only the quarter B comes to `extra`."""
    found = check(
        "variants: {A: 75 %, B: 25 %}\nsequence: in ratio\nroute: [cut, bin, fit]\nlines: {b:"
        " [extra]}\nstations:"
        " {cut: {cycle: 9 s, goes_to: {bin: {variants: A}, extra: {variants: B}}},"
        " extra: {cycle: 40 s, only: B, goes_to: fit}, fit: {cycle: 20 s}}\nstores: {bin: 4}\n"
    )
    assert found.find("extra").work_s == pytest.approx(10)
    assert found.find("fit").work_s == pytest.approx(20)


def test_stops_by_three_clocks():
    """20 s of work in 30 s.  One minute in 20 min of running: 20 x 60 / 1200 = 1 s; 9 s in 100 cycles.

    One minute after each 9 min of on time: 30 s x 60 / (540 + 60) = 3 s.
    """
    found = check(
        "crew: {ann: {}}\nroute: [press]\nstations:\n  press:\n    cycle: 20 s\n    stops:\n"
        "      jam: {every: 20 min of running, lasts: 1 min, cleared_by: ann}\n"
        "      roll: {every: 100 cycles, lasts: 9 s, exact: yes}\n"
        "      air: {every: 9 min of on time, lasts: 1 min}\n"
    )
    press = found.find("press")
    assert press.stops_s == pytest.approx(1 + 0.09 + 3)
    assert (press.share(), press.share(stops=True)) == pytest.approx((20 / 30, 24.09 / 30))
    assert found.find("ann").stops_s == pytest.approx(1)
    assert found.find("ann").share() == 0


@pytest.mark.parametrize(
    ("by", "every_min", "stops"),
    [
        ("", 9, 480 / 10 * 0.9),  # in 480 min on time; a tenth of the repairs falls into the break
        (", cleared_by: ann", 9, (432 + 9 * (1 - math.exp(-48 / 9))) / 10),
        (", cleared_by: ann", 359, (432 + 359 * (1 - math.exp(-48 / 359))) / 360),
    ],
)
def test_on_time_goes_on_in_breaks(by, every_min, stops):
    """Stops of 1 min in a shift of 480 min with a break of 48 min, at a takt of 30 s.

    A stop that comes in the break waits for Ann, and the clock with it.  Runs of 2 000 shifts lose the same
    share of its working time: to 0.2 %, where half of the stops of a break would be 0.3 % and more.
    """
    text = (
        "shifts: {day: {from: 06:00, to: 14:00, breaks: [{at: 09:00, for: 48 min}]}}\n"
        "crew: {ann: {}}\nroute: [press]\n"
        "stations: {press: {cycle: 30 s, by: ann, stops: "
        f"{{air: {{every: {every_min} min of on time, lasts: 1 min{by}}}}}}}}}\n"
    )
    press = check(text).find("press")
    assert press.stops_s == pytest.approx(30 * stops / 432)
    cell = load_text("cell: c\n" + text + "study: {shifts: 20, replications: 100}\n")
    made = run(cell, clock="compiled")["output_per_hour"]["mean"] * 30 / 3600
    assert made == pytest.approx(1 - press.stops_s / 30, abs=0.002)


def test_stops_of_a_robot():
    """15 s of work; 90 s in each hour of running: 15 x 90 / 3600 s."""
    found = check(
        "robots: {R: {stops: {drop: {every: 60 min of running, lasts: 90 s}}}}\nroute: [weld]\n"
        "stations: {weld: {cycle: 15 s, by: R}}\n"
    )
    assert found.find("R").kind == "robot"
    assert found.find("R").stops_s == pytest.approx(15 * 90 / 3600)


def test_people_share_what_several_posts_can_do():
    """30 s of welding by two people of one post and one of another, who needs 20 % more time.

    Each is asked equally often: 20 s by the first two, 12 s by the third; the station takes 32 s on average.
    """
    found = check(
        "crew: {old: {people: 2, skills: [weld]}, new: {skills: {weld: 1.2}}}\nroute: [weld]\n"
        "stations: {weld: {machines: 2, cycle: 30 s, by: weld}}\n"
    )
    assert found.find("weld").work_s == pytest.approx(32)
    assert found.find("old").work_s + found.find("new").work_s == pytest.approx(32)
    assert found.find("old").available_s == pytest.approx(60)


def test_two_people_at_once():
    """A lift of 10 s by two of three fitters: 20 s of their 90."""
    found = check(
        "crew: {fitter: {people: 3}}\nroute: [lift]\nstations: {lift: {cycle: 10 s, by: {fitter: 2}}}\n"
    )
    assert found.find("fitter").required_s() == pytest.approx(20)
    assert found.find("fitter").share() == pytest.approx(20 / 90)


def test_least_level_and_allowance():
    """Only the expert may weld: 30 s x 0.95 with 10 % allowance."""
    found = check(
        "allowance: 10 %\nlevels: {1: 1.3, 4: 0.95}\ncrew: {old: {skills: {weld: level 4}},"
        " new: {skills: {weld: level 1}}}\nroute: [weld]\nstations: {weld: {cycle: 30 s, by: weld,"
        " level: 3}}\n"
    )
    assert found.find("old").work_s == pytest.approx(30 * 0.95 * 1.1)
    assert found.find("weld").work_s == pytest.approx(30 * 0.95 * 1.1)
    assert found.find("new").work_s == 0


def test_work_inside_machine_time_takes_the_person_only():
    """6 + 7 + 3 s on the press; 10 s of deburring meanwhile."""
    found = check(
        "crew: {ann: {}}\nroute: [press]\nstations: {press: {work: [{do: load, time: 6 s, by: ann,"
        " phase: load},"
        " {do: press, time: 7 s}, {do: deburr, time: 10 s, by: ann, inside_machine_time: yes},"
        " {do: unload, time: 3 s, by: ann, phase: unload}]}}\n"
    )
    assert found.find("press").work_s == pytest.approx(16)
    assert found.find("ann").work_s == pytest.approx(19)


def test_walking_is_a_round():
    """From the press to the rivet 2 s and back 3 s, once per unit each."""
    found = check(
        "crew: {ann: {works_at: [press, rivet], travel: {press > rivet: 2 s, rivet > press: 3 s}}}\n"
        "route: [press, tray, rivet]\nstations: {press: {cycle: 8 s}, rivet: {cycle: 6 s}}\nstores:"
        " {tray: 2}\n"
    )
    assert found.find("ann").walking_s == pytest.approx(5)
    assert found.find("ann").required_s() == pytest.approx(19)


def test_who_works_one_shift_of_two_has_half_of_the_time():
    """Early 450 min and late 420 min of work: 450 / 870 of the takt; a tenth of it absent."""
    found = check(
        "shifts: {early: {from: 06:00, to: 14:00, clean_up: 30 min}, late: {from: 14:00, to: 22:00,"
        " breaks: [{at: 18:00, for: 1 h}]}}\n"
        "crew: {ann: {works_at: [fit], shift: early, absent: 10 %}, bob: [pack]}\nroute: [fit, tray, pack]\n"
        "stations: {fit: {cycle: 9 s}, pack: {cycle: 9 s}}\nstores: {tray: 9}\n"
    )
    assert found.find("ann").available_s == pytest.approx(30 * 0.9 * 450 / 870)
    assert found.find("bob").available_s == pytest.approx(30)


def test_least_people_planned_cycle_and_balance():
    """24 + 24 + 24 s by hand: 2.4 people at 30 s, so 3 at 80 %; 2.67 at 90 % of the takt, 27 s."""
    text = (
        "crew: {A: [a], B: [b], C: [c]}\nroute: [a, s, b, t, c]\nstations: {a: {cycle: 24 s}, b:"
        " {cycle: 24 s},"
        " c: {cycle: 24 s}}\nstores: {s: 1, t: 1}\n"
    )
    found = check(text, efficiency=0.9)
    assert found.planned_cycle_s == pytest.approx(27)
    assert found.hand_work_s() == pytest.approx(72)
    assert found.least_people() == 3
    assert found.balance(3) == pytest.approx(0.8)
    assert check(text, rate=75.0).least_people() == 2  # 48 s: 1.5
    assert check(text, rate=50.0).least_people() == 1  # exactly one person of 72 s


def test_what_must_stay_needs_places():
    """120 an hour for 25 min of cure and 1 min on the way: 52 places of 80."""
    found = check(
        "route: [pour, rack, fit]\nstations: {pour: {cycle: 9 s}, fit: {cycle: 9 s}}\n"
        "stores: {rack: {places: 80, stays: at least 25 min, transit: 1 min}}\n"
    )
    (held,) = found.held
    assert (held.store, held.places, held.needed) == ("rack", 80, pytest.approx(52))


def test_another_rate_than_the_target():
    """60 an hour are 60 s."""
    found = check("route: [a]\nstations: {a: {cycle: 24 s}}\n", rate=60.0)
    assert (found.rate, found.takt_s, found.find("a").share()) == pytest.approx((60, 60, 0.4))


@pytest.mark.parametrize(
    ("how", "message"),
    [
        ({"rate": 0.0}, "a load needs a rate and an efficiency above 0"),
        ({"rate": float("inf")}, "a load needs a rate and an efficiency above 0"),
        ({"efficiency": 0.0}, "a load needs a rate and an efficiency above 0"),
    ],
)
def test_impossible_rates(how, message):
    """Neither zero nor endless."""
    with pytest.raises(UsageError, match=message):
        check("route: [a]\nstations: {a: {cycle: 24 s}}\n", **how)


def test_no_target():
    """Without a target somebody must say a rate."""
    cell = load_text("cell: Test\nroute: [a]\nstations: {a: {cycle: 24 s}}\n")
    with pytest.raises(UsageError, match="a load needs a demanded rate; the cell has no target"):
        loading(cell)


def test_a_far_point_is_walked_to_as_often_as_it_calls():
    """The furnace takes 60 at a time: one round of 2 x 6 s for 60 units."""
    found = check(
        "crew: {ann: {travel: {press > furnace: 6 s}}}\nroute: [press, tray, furnace]\nstations:\n"
        "  press: {cycle: 8 s, by: ann}\n"
        "  furnace: {cycle: 20 min, batch: {size: 60}, visit: {by: ann, load: 1 min, unload: 1 min}}\n"
        "stores: {tray: 60}\n"
    )
    assert found.find("ann").walking_s == pytest.approx(12 / 60)


def test_changeovers_follow_what_is_released():
    """4 % scrap: 400 released units are 384 good ones, so 20 min x 2 machines / 384 each."""
    text = VARIANTS.replace("pack: {cycle: 5 s}", "pack: {cycle: 5 s, scrap: 4 %}")
    found = check(text + "sequence: [{A: 300}, {B: 100}]\n")
    assert found.find("drill").changeover_s == pytest.approx(2 * 20 * 60 / 384)


def test_an_inspection_that_is_not_perfect():
    """3 % faulty, 80 % of them found, 2 % of the others rejected: 0.03 x 0.8 + 0.97 x 0.02 = 4.34 %"
    " rejected."""
    found = check(
        "route: [press, tray, look]\nlines: {bench line: [bench]}\nstations: {press: {cycle: 9 s,"
        " faults: 3 %},"
        " look: {cycle: 9 s, inspects: {finds: 80 %, false_rejects: 2 %}, rejects: {to: bench}},"
        " bench: {cycle: 60 s, goes_to: finished}}\nstores: {tray: 3}\n"
    )
    assert found.find("bench").cycles == pytest.approx(0.0434)


MENDED = """
route: [press, tray, look]
stations:
  press: {cycle: 9 s, faults: 10 %}
  look: {cycle: 9 s, inspects: {finds: 100 %, false_rejects: 0 %}, rejects: {to: bench, returns_to: look}}
  bench: {cycle: 60 s, mends: 75 %}
stores: {tray: 3}
"""


def test_rework_that_mends_some():
    """10 % are found faulty; a quarter of these is not mended and comes again: 0.1 / 0.75 reworks."""
    found = check(MENDED)
    assert found.find("bench").cycles == pytest.approx(0.1 / 0.75)
    assert found.find("look").cycles == pytest.approx(1 + 0.1 / 0.75)
    assert found.find("press").cycles == pytest.approx(1)


def test_work_done_again_makes_its_fault_anew():
    """Back to the press, 10 % each time: 1 / 0.9 of both."""
    found = check(MENDED.replace("to: bench, returns_to: look", "to: press").replace(", mends: 75 %", "")
                  .replace("  bench: {cycle: 60 s}\n", ""))  # fmt: skip
    assert found.find("press").cycles == pytest.approx(1 / 0.9)
    assert found.find("look").cycles == pytest.approx(1 / 0.9)


def test_a_second_look_at_what_the_first_let_pass():
    """10 % faulty, half of them found and scrapped: 0.05 of 0.95 are left, and again half is found."""
    found = check(
        "route: [press, a, look, b, again]\nstations: {press: {cycle: 9 s, faults: 10 %},"
        " look: {cycle: 9 s, inspects: {finds: 50 %, false_rejects: 0 %}},"
        " again: {cycle: 9 s, inspects: {finds: 50 %, false_rejects: 0 %}}}\nstores: {a: 3, b: 3}\n"
    )
    assert found.find("again").cycles == pytest.approx(1 / (1 - 0.025 / 0.95))
    assert found.find("press").cycles == pytest.approx(1 / 0.95 / (1 - 0.025 / 0.95))


def test_repair_in_place():
    """5 % are repaired for 40 s by bob, a fifth of these once more, then it is scrap: 0.05 + 0.01 repairs.

    0.05 x 0.2 x 0.2 = 0.2 % are scrapped, so all is divided by 0.998.
    """
    found = check(
        "crew: {ann: [test], bob: {}}\nroute: [test]\nstations: {test: {cycle: 20 s, rejects: {share: 5 %,"
        " after_rework: 20 %, to: here, repair: 40 s, by: bob, attempts: 3}}}\n"
    )
    assert found.find("bob").work_s == pytest.approx(40 * 0.06 / 0.998)
    assert found.find("ann").work_s == pytest.approx(20 / 0.998)
    assert found.find("test").work_s == pytest.approx((20 + 40 * 0.06) / 0.998)


def test_samples():
    """Every 50th is pulled apart for 40 s: 0.8 s each, and 50 are made for 49."""
    text = (
        "crew: {eva: [close]}\nroute: [close]\n"
        "stations: {close: {cycle: 11 s, samples: {every: 50, time: 40 s, destroys: yes}}}\n"
    )
    assert check(text).find("close").work_s == pytest.approx(11.8 / 0.98)
    assert check(text, with_losses=False).find("eva").work_s == pytest.approx(11.8)


def test_what_follows_the_last_attempt():
    """18 %, then 12 %, three attempts: 0.2592 % are stripped and clamped again."""
    found = check(
        "route: [clamp, tray, test]\nstations: {clamp: {cycle: 28 s}, test: {cycle: 24 s, rejects:"
        " {share: 18 %,"
        " after_rework: 12 %, to: tune, returns_to: test, attempts: 3, then: strip}}, tune: {cycle: 70 s},"
        " strip: {cycle: 5 min, goes_to: clamp}}\nstores: {tray: 10}\n"
    )
    again = 1 / (1 - 0.18 * 0.12 * 0.12)
    cycles = {name: found.find(name).cycles / again for name in ("clamp", "test", "tune", "strip")}
    assert cycles == pytest.approx({"clamp": 1, "test": 1.2016, "tune": 0.2016, "strip": 0.002592})


def test_service_at_times_of_the_week():
    """10 minutes each working day: 5 x 600 s for 5 x 8 x 120 good units, 0.625 s each; ann does it."""
    found = check(
        "shifts: {day: {from: 06:00, to: 14:00, days: Mon-Fri}}\ncrew: {ann: {}}\nroute: [press]\n"
        "stations: {press: {cycle: 20 s, service: {care: {at: [Mon 06:00, Tue 06:00, Wed 06:00, Thu 06:00,"
        " Fri 06:00], lasts: 10 min, by: ann}}}}\n"
    )
    assert found.find("press").stops_s == pytest.approx(0.625)
    assert found.find("ann").stops_s == pytest.approx(0.625)


def test_a_common_cause_and_a_technician_from_elsewhere():
    """12 + 8 minutes after each 5 h 48 min of on time: 30 s x 20 / 368 on the press.

    Response and repair stop the clock, 348 + 8 + 12 = 368 min; both rivets stand still too.
    """
    found = check(
        "crew: {technician: {response: 8 min}}\nroute: [press, tray, rivet]\nstations:\n"
        "  press: {cycle: 9 s, stops: {air: {every: 348 min of on time, lasts: 12 min, with: rivet,"
        " cleared_by: technician}}}\n"
        "  rivet: {cycle: 9 s, machines: 2}\nstores: {tray: 3}\n"
    )
    assert found.find("press").stops_s == pytest.approx(30 * 20 / 368)
    assert found.find("rivet").stops_s == pytest.approx(2 * 30 * 20 / 368)
    assert found.find("technician").stops_s == pytest.approx(30 * 12 / 368)


def test_tool_change_by_units():
    """Three at a stroke: every 6000 units 12 min, 0.12 s for each unit."""
    found = check(
        "route: [stamp]\nstations: {stamp: {cycle: 4 s, gives: 3, stops: {punch: {every: 6000 units,"
        " exact: yes,"
        " lasts: 12 min}}}}\n"
    )
    assert found.find("stamp").stops_s == pytest.approx(0.12)
    assert found.find("stamp").work_s == pytest.approx(4 / 3)


def test_picks_that_fail():
    """5 picks, 1 % fail: 0.05 x (1 + 0.25) retries of 2 s at half speed, 0.05 / 16 calls of ann for 40 s."""
    found = check(
        "crew: {ann: {}}\nroute: [gears]\nstations: {gears: {work: [{do: place, time: 12 s, by: R,"
        " picks: 5}]}}\n"
        "robots: {R: {speed_setting: 50 %, mispicks: {share: 1 %, retry: 2 s, works: 75 %, retries: 2,"
        " then: {by: ann, time: 40 s}}}}\n"
    )
    calls = 0.05 * 0.25**2
    assert found.find("R").work_s == pytest.approx(12 + 0.05 * 1.25 * 4)
    assert found.find("gears").work_s == pytest.approx(12 + 0.05 * 1.25 * 4)
    stops = [found.find(name).stops_s for name in ("R", "gears", "ann")]
    assert stops == pytest.approx([40 * calls] * 3)


def test_a_slower_robot_handles_longer_and_works_as_before():
    """3 + 4 s of handling at half speed are 14 s, 20 s on the machine stay."""
    found = check(
        "robots: {R: {speed_setting: 50 %}}\nroute: [mill]\n"
        "stations: {mill: {cycle: 20 s, visit: {by: R, load: 3 s, unload: 4 s}}}\n"
    )
    assert found.find("R").work_s == pytest.approx(14)
    assert found.find("mill").work_s == pytest.approx(34)


def test_people_in_zones():
    """9 s of 30 s at 40 % and 2 + 1 s of restart standing: (20 + 4) s / (1 - 0.3 x 0.6 - 0.1)."""
    found = check(
        "crew: {ann: {}}\nrobots: {R: {}}\nroute: [load, nests, screw]\nstations:\n"
        "  load: {work: [{do: a, time: 9 s, by: ann}, {do: b, time: 2 s, by: ann, at: nest},"
        " {do: c, time: 5 s, by: ann, at: desk}, {do: hold, time: 4 s, by: R}]}\n  screw: {cycle: 20"
        " s, by: R}\nstores: {nests: 3}\n"
        "layout: {nest: [0 m, 0 m], desk: [2 m, 0 m]}\n"
        "zones: {warning: {robots: R, people_at: load,"
        " inside: slows to 40 %},"
        " reach: {robots: R, people_at: nest, inside: stops, restart: 1 s}}\n"
    )
    assert found.find("R").work_s == pytest.approx(24 / (1 - 0.3 * 0.6 - 0.1))
    assert found.find("screw").work_s == pytest.approx(20 / (1 - 0.3 * 0.6 - 0.1))
    assert found.find("ann").work_s == pytest.approx(16)


def test_moves_of_a_robot():
    """Three moves of 2 + 2 s; ways in > M1 1.5, on to M1's start 0, M1 > M2 1.5, M2 > out 1.5, out"
    " > in 4.5 s."""
    found = check(
        "robots: {R: {moves: [in > M1, M1 > M2, M2 > out], pick: 2 s, place: 2 s}}\nroute: [M1, M2]\n"
        "stations: {M1: {cycle: 14 s}, M2: {cycle: 10 s}}\n"
        "travel: {in > M1: 1.5 s, in > M2: 3 s, in > out: 4.5 s, M1 > M2: 1.5 s, M1 > out: 3 s, M2 >"
        " out: 1.5 s}\n"
    )
    assert found.find("R").work_s == pytest.approx(12 + 9)
    assert found.find("M1").work_s == pytest.approx(14)


def test_recovery_after_a_stop_of_a_robot():
    """12 s of welding, 90 s of repair and 30 s of recovery in each hour of running: 12 x 120 / 3600 s."""
    found = check(
        "crew: {technician: {}, ann: {}}\nrobots: {R: {recovery: {time: 30 s, by: ann}, stops: {drop:"
        " {every: 60 min of running, lasts: 90 s, cleared_by: technician}}}}\n"
        "route: [weld]\nstations: {weld: {cycle: 12 s, by: R}}\n"
    )
    assert found.find("R").stops_s == pytest.approx(12 * 120 / 3600)
    assert found.find("ann").stops_s == pytest.approx(12 * 30 / 3600)


def test_a_table_takes_its_stations_while_it_turns():
    """12 s of pressing and 1.5 s of turning for each unit, of 30 s; 4 and 1.5 s where it is loaded."""
    found = check(
        "route: [load, press]\nstations: {load: {cycle: 4 s}, press: {cycle: 12 s}}\n"
        "tables: {dial: {stations: [load, press], index: 1.5 s}}\n"
    )
    assert found.find("press").work_s == pytest.approx(13.5)
    assert found.find("load").work_s == pytest.approx(5.5)


WAYS = """
route: [fit, test]
lines: {second: [other]}
stations:
  fit: {cycle: 10 s, goes_to: [%s], chooses: %s}
  test: {cycle: 30 s}
  other: {cycle: 60 s, machines: 3, goes_to: finished}
"""


def test_ways_in_turn_have_equal_shares():
    """Every second unit: 15 s of 30 s at one, 30 s of 90 s at the three others."""
    found = check(WAYS % ("test, other", "in turn"))
    assert found.find("test").work_s == pytest.approx(15)
    assert found.find("other").share() == pytest.approx(30 / 90)


@pytest.mark.parametrize("rule", ["first free", "shortest wait"])
def test_units_that_look_for_a_way_go_by_pace(rule):
    """1 unit in 30 s against 3 in 60 s: 40 % go to one, 60 % to the three others; both are taken to 40 %."""
    found = check(WAYS % ("test, other", rule))
    assert found.find("test").cycles == pytest.approx(0.4)
    assert found.find("other").cycles == pytest.approx(0.6)
    assert [found.find(name).share() for name in ("test", "other")] == pytest.approx([0.4, 0.4])


def test_a_free_way_out_of_the_cell_settles_nothing():
    """How many of the units go to the test when they may leave instead, no mean time tells."""
    found = check(WAYS.replace("lines", "# ").replace("  other", "  # ") % ("test, finished", "first free"))
    assert found.undetermined == ("fit", "test")


def test_bars_are_changed():
    """A new bar for every 60 pieces takes 90 s: 1.5 s a piece, of the saw and of the setter."""
    found = check(
        "crew: {bea: {skills: [setter]}}\nroute: [saw]\n"
        "stations: {saw: {cycle: 6 s, yields: {units: 60 per bar, change: 90 s, by: setter}}}\n"
    )
    assert found.find("saw").changeover_s == pytest.approx(1.5)
    assert found.find("saw").work_s == pytest.approx(6)
    assert found.find("bea").required_s() == pytest.approx(1.5)
