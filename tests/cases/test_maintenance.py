"""Service and repair by hand: planned work, common causes, scrap after a stop, technicians from elsewhere.

All figures are hand-computed traces in minutes unless a test says hours.  A stop at given instants is written
as on time from the end of one repair to the next stop, the last one far beyond the horizon.  Cells without
shifts begin at midnight, so that `at: 00:10` is 10 minutes after the start.
"""

from __future__ import annotations

import pytest
from tracing import MINUTE, Trace, Traced, check, exactly, minutes, run_text

from cellsim.engine import layout as L
from cellsim.published.traces_stops import on_the_clock, single

HOUR = 60 * MINUTE


def serviced(service: str, cycle: int = 4, more: str = "") -> str:
    """A cell of one station with one planned service."""
    return f"""
cell: one station
route: [S1]
stations:
  S1:
    cycle: {cycle} min
    service: {{care: {{{service}}}}}
    {more}
"""


def attended(service: str) -> str:
    """The same, attended for the whole cycle by the operator who does the service."""
    return serviced(service, more="by: op").replace("route:", "crew: {op: {}}\nroute:")


TRACES = [
    # Due at 10, while the third unit is in work until 12; from 12 to 17 it stands.
    Trace(
        "service waits for the end of the cycle",
        serviced("at: 00:10, lasts: 5 min"),
        30,
        (4, 8, 12, 21, 25, 29, 33),
        6,
        {"S1": {"working": 25, "planned service": 5}},
    ),
    # 2 of 4 minutes are done at 10; the rest from 15 to 17.
    Trace(
        "service that begins at once",
        serviced("at: 00:10, lasts: 5 min, begins: at once"),
        30,
        (4, 8, 17, 21, 25, 29, 33),
        6,
        {"S1": {"working": 25, "planned service": 5}},
    ),
    Trace(
        "service due at the instant of a completion",
        serviced("at: 00:08, lasts: 5 min"),
        30,
        (4, 8, 17, 21, 25, 29, 33),
        6,
        {"S1": {"working": 25, "planned service": 5}},
    ),
    Trace(
        "service due when the run begins",
        serviced("at: 00:00, lasts: 5 min"),
        30,
        (9, 13, 17, 21, 25, 29, 33),
        6,
        {"S1": {"working": 25, "planned service": 5}},
    ),
    # 12:00 is due at 720 again, exactly when nothing is in work: cycles end at 4 n until then
    Trace(
        "service at several times of the day",
        serviced("at: [00:10, 12:01], lasts: 5 min", cycle=60),
        24 * 60,
        (60, 125, 185),
        23,
        {"S1": {"working": 1430, "planned service": 10}},
    ),
    # the operator finishes the unit and does the service, 12 to 17
    Trace(
        "the operator of the station does the service",
        attended("at: 00:10, lasts: 5 min, by: op"),
        30,
        (4, 8, 12, 21, 25, 29, 33),
        6,
        {"S1": {"attended": 25, "planned service": 5}},
        {"op": {"working": 25, "repairing": 5}},
    ),
    # Due after 10 min on time, begun at 12, done at 17; again due at 27, begun at 29.
    Trace(
        "service every so much on time",
        serviced("every: 10 min of on time, lasts: 5 min"),
        40,
        (4, 8, 12, 21, 25, 29, 38, 42),
        7,
        {"S1": {"working": 30, "planned service": 10}},
    ),
    # Running time stands still during the service, so the clock is the same while nothing starves.
    Trace(
        "service every so much running time",
        serviced("every: 10 min of running, lasts: 5 min"),
        40,
        (4, 8, 12, 21, 25, 29, 38, 42),
        7,
        {"S1": {"working": 30, "planned service": 10}},
    ),
    # the units of `tool change of 4 after every 5 cycles`, two at a time
    Trace(
        "tool change after so many units, two a cycle",
        single(6, "{every: 10 units, lasts: 4 min}").replace("cycle:", "gives: 2\n    cycle:"),
        80,
        (6, 6, 12, 12, 18, 18, 24, 24, 30, 30, 40, 40, 46, 46),
        24,
        {"S1": {"working": 72, "down": 8}},
    ),
    # 12 units after the fourth cycle are the first 10 or more; what is beyond 10 does not count again.
    Trace(
        "tool change after the cycle that makes the last unit",
        single(6, "{every: 10 units, lasts: 4 min}").replace("cycle:", "gives: 3\n    cycle:"),
        56,
        tuple(at for at in (6, 12, 18, 24, 34, 40, 46, 52, 62) for _ in range(3)),
        24,
        {"S1": {"working": 48, "down": 8}},
    ),
    Trace(
        "tool change after so many units, in batches",
        single(6, "{every: 10 units, lasts: 4 min}").replace("cycle:", "batch: {size: 3}\n    cycle:"),
        56,
        tuple(at for at in (6, 12, 18, 24, 34, 40, 46, 52, 62) for _ in range(3)),
        24,
        {"S1": {"working": 48, "down": 8}},
    ),
    # 12 minutes of its own work are over in the third unit, which is finished first: unlike an exact stop.
    Trace(
        "a stop that begins after the cycle",
        single(5, "{every: 12 min of running, exact: yes, lasts: 4 min, begins: after the cycle}"),
        40,
        (5, 10, 15, 24, 29, 34, 43),
        6,
        {"S1": {"working": 32, "down": 8}},
    ),
    # While the service waits for the end of the cycle a breakdown comes: 10 to 13, unit done at 15.
    Trace(
        "a breakdown before the service that waits",
        serviced("at: 00:09, lasts: 5 min", more=f"stops: {{halt: {on_the_clock([(10, 3)])}}}"),
        30,
        (4, 8, 15, 24, 28, 32),
        5,
        {"S1": {"working": 22, "down": 3, "planned service": 5}},
    ),
    # The unit that the service waited for is lost at 10; the service is done beside the repair, 10 to 15.
    Trace(
        "a breakdown that spoils the unit for which the service waits",
        serviced(
            "at: 00:09, lasts: 5 min",
            more=f"stops: {{halt: {on_the_clock([(10, 3)], ', part: is scrapped')}}}",
        ),
        30,
        (4, 8, 19, 23, 27, 31),
        5,
        {"S1": {"working": 8 + 2 + 15, "down": 3, "planned service": 2}},
    ),
]


@pytest.mark.parametrize("trace", TRACES, ids=lambda trace: trace.name)
def test_service(trace: Trace) -> None:
    """Planned work stands in its own state, and lets a cycle that has begun end first."""
    check(trace)


def test_service_that_is_held_up_leaves_out_what_comes_due() -> None:
    """The technician mends S2 from 5 to 32; the service due at 10 and 20 is done once, the one at 40 too."""
    text = f"""
cell: busy
crew: {{technician: {{}}}}
route: [S1]
lines: {{other: [S2]}}
stations:
  S1: {{cycle: 4 min, service: {{care: {{at: [00:10, 00:20, 00:40], lasts: 3 min, by: technician}}}}}}
  S2: {{cycle: 4 min, stops: {{halt: {on_the_clock([(5, 27)], ", cleared_by: technician")}}}}}
"""
    traced = run_text(text, 60)
    # 12 to 32 waiting, 32 to 35; units from 35, the one at 43 is done before the service of 40
    assert traced.states()["S1"] == {
        "working": exactly(34),
        "waiting for repair": exactly(20),
        "planned service": exactly(6),
    }
    assert traced.left() == minutes(4, 8, 12, 39, 43, 50, 54, 58)


def test_changes_are_cycles_by_interval() -> None:
    """Tool changes so far = finished cycles // cycles between changes, at any time."""
    traced = run_text(single(6, "{every: 5 cycles, lasts: 4 min}"), 1)
    for at in range(1, 400, 7):
        traced.advance(exactly(at))
        assert traced.run.state.stops[0].count == traced.cycles()["S1"] // 5


def test_planned_minutes_equal_input() -> None:
    """Of 5 days from 06:00 to 14:00, daily care takes 5 times 10 min and Friday's greasing one hour."""
    text = """
cell: week
shifts: {day: {from: 06:00, to: 14:00, breaks: []}}
crew: {op: {}}
route: [press]
stations:
  press:
    cycle: 5 min
    by: op
    service:
      care: {at: 06:00, lasts: 10 min, by: op}
      greasing: {at: Fri 13:00, lasts: 1 h, by: op}
"""
    traced = run_text(text, 7 * 24 * 60 - 1)  # the end is Monday 05:59
    assert traced.states()["press"]["planned service"] == exactly(5 * 10 + 60)
    counts = {
        names[1]: stop.count
        for names, stop in zip(traced.run.flat.names.stops, traced.run.state.stops, strict=True)
    }
    assert counts == {"care": 5, "greasing": 1}
    # 5 days of 470 min = 94 units each, on Friday 60 min = 12 units less
    assert traced.run.state.good == 5 * 94 - 12


TWO_LINES = """
cell: two lines
crew: {technician: {}}
route: [S1]
lines: {other: [S2]}
stations:
  S1: {cycle: 4 min, machines: %d, stops: {air: %s}}
  S2: {cycle: 5 min%s}
"""


@pytest.mark.parametrize("machines", [1, 2])
def test_common_cause_holds_all_at_once(machines: int) -> None:
    """Air fails from 10 to 16 for both stations and each machine: one stop, one repair."""
    traced = run_text(TWO_LINES % (machines, on_the_clock([(10, 6)], ", with: [S2]"), ""), 30)
    # S1 has done 2 of 4 at 10; S2 completes at the instant of the stop
    assert traced.left() == minutes(*(at for at in (4, 8, 18, 22, 26, 30) for _ in range(machines)))
    assert traced.left("out:other") == minutes(5, 10, 21, 26)
    down = {"working": exactly(24), "down": exactly(6)}
    assert all(row == down for row in traced.states().values())
    assert len(traced.states()) == machines + 1
    stops = traced.run.state.stops
    assert [(stop.count, stop.repair_time) for stop in stops] == [(1, exactly(6))]


def test_common_cause_waits_for_one_technician() -> None:
    """The technician mends S2 from 8 to 13; air fails at 10 for both: one repair for both from 13 to 19.

    S2 is repaired of its own fault at 13 and still stands without air.
    """
    own = f", stops: {{halt: {on_the_clock([(8, 5)], ', cleared_by: technician')}}}"
    air = on_the_clock([(10, 6)], ", with: S2, cleared_by: technician")
    traced = run_text(TWO_LINES % (1, air, own), 30)
    assert traced.states() == {
        "S1": {"working": exactly(21), "waiting for repair": exactly(3), "down": exactly(6)},
        "S2": {"working": exactly(19), "down": exactly(11)},
    }
    assert traced.actors() == {"technician": {"repairing": exactly(11), "free": exactly(19)}}
    assert traced.left() == minutes(4, 8, 21, 25, 29)
    assert traced.left("out:other") == minutes(5, 21, 26)  # 3 of 5 minutes were done at 8


def test_common_cause_holds_a_robot() -> None:
    """Power fails from 3 to 7 for the press and for the robot at the bench: all stand still together."""
    text = f"""
cell: power
robots: {{R: {{}}}}
route: [S1]
lines: {{other: [S2]}}
stations:
  S1: {{cycle: 4 min, stops: {{power: {on_the_clock([(3, 4)], ", with: [R]")}}}}}
  S2: {{cycle: 5 min, by: R}}
"""
    traced = run_text(text, 20)
    assert traced.left() == minutes(8, 12, 16, 20)
    assert traced.left("out:other") == minutes(9, 14, 19)
    assert traced.actors() == {"R": {"working": exactly(16), "down": exactly(4)}}


def test_service_of_several_stations_begins_when_all_stand() -> None:
    """Due at 10: S2 is just done, S1 finishes its unit at 12; one service of 5 for both from 12 to 17."""
    text = TWO_LINES.replace("stops: {air: %s}", "service: {care: {at: 00:10, lasts: 5 min, with: [S2]}}")
    traced = run_text(text % (1, ""), 30)
    assert traced.left() == minutes(4, 8, 12, 21, 25, 29)
    assert traced.left("out:other") == minutes(5, 10, 22, 27)
    assert traced.states() == {
        "S1": {"working": exactly(25), "planned service": exactly(5)},
        "S2": {"working": exactly(23), "waiting for repair": exactly(2), "planned service": exactly(5)},
    }


def test_service_of_a_robot_begins_after_its_job() -> None:
    """The robot attends 4 minutes a unit; its service, due at 10, begins at 12, even if it goes off then."""
    text = """
cell: robot service
robots: {R: {service: {greasing: {at: 00:10, lasts: 3 min}}}}
route: [S1]
stations:
  S1: {cycle: 4 min, by: R}
"""
    traced = run_text(text, 27)
    assert traced.left() == minutes(4, 8, 12, 19, 23, 27)
    assert traced.actors() == {"R": {"working": exactly(24), "planned service": exactly(3)}}
    shift = "shifts: {day: {from: 00:00, to: 00:11, days: daily, breaks: []}}\nroute:"
    traced = run_text(text.replace("route:", shift), 20)
    assert traced.actors() == {
        "R": {"working": exactly(12), "planned service": exactly(3), "off": exactly(5)}
    }


def test_first_units_after_a_stop_are_scrapped() -> None:
    """Stops of 2 at 10 and at 32, two units scrapped after each: those at 14, 18 and at 36, 40."""
    traced = run_text(single(4, on_the_clock([(10, 2), (32, 2)], ", restart_scrap: 2")), 50)
    # the unit at 30 is followed by 2 minutes of work, then the stop 32 to 34 and 2 minutes more
    assert traced.left() == minutes(4, 8, 22, 26, 30, 44, 48)
    assert traced.said(L.N_SCRAPPED) == minutes(14, 18, 36, 40)
    stop = traced.run.state.stops[0]
    assert traced.run.state.scrapped == stop.spoilt == stop.count * 2 == 4


def test_a_new_stop_counts_the_scrap_anew() -> None:
    """Three units are scrapped after a stop; a stop after the first of them begins to count three again."""
    traced = run_text(single(4, on_the_clock([(10, 2), (16, 2)], ", restart_scrap: 3")), 40)
    # 14 | 2 done at 16, on from 18: 20, 24, 28 | 32 is good
    assert traced.said(L.N_SCRAPPED) == minutes(14, 20, 24, 28)
    assert traced.left() == minutes(4, 8, 32, 36, 40)


def test_scrap_after_a_lesser_stop_takes_nothing_back() -> None:
    """Three units are scrapped after the stop at 10; one after the other, at 16, is among them."""
    lesser = f"lesser: {on_the_clock([(16, 2)], ', restart_scrap: 1')}, halt:"
    text = single(4, on_the_clock([(10, 2)], ", restart_scrap: 3")).replace("halt:", lesser)
    traced = run_text(text, 40)
    assert traced.said(L.N_SCRAPPED) == minutes(14, 20, 24)
    assert [stop.spoilt for stop in traced.run.state.stops] == [3, 0]


def test_scrap_after_a_stop_is_not_tested() -> None:
    """A unit thrown away after a stop uses up no verdict: the reject of the third test comes at 18."""
    verdicts = "rejects: {verdicts: [good, good, reject]}"
    text = single(4, on_the_clock([(10, 2)], ", restart_scrap: 1")).replace(
        "stops:", f"{verdicts}\n    stops:"
    )
    traced = run_text(text, 30)
    assert traced.said(L.N_SCRAPPED) == minutes(14, 18, 30)
    assert traced.left() == minutes(4, 8, 22, 26)
    assert traced.run.state.stations[0].judged == 6


def repaired(crew: str, first: str, second: str) -> str:
    """Two stations of 4 minutes that one technician repairs."""
    return f"""
cell: technician
crew: {{technician: {{{crew}}}}}
route: [S1]
lines: {{other: [S2]}}
stations:
  S1: {{cycle: 4 min, stops: {{halt: {first}}}}}
  S2: {{cycle: 4 min, stops: {{halt: {second}}}}}
"""


BY = ", cleared_by: technician"
NEVER = f"{{every: 900 h of on time, exact: yes, lasts: 1 min{BY}}}"


def test_technician_comes_after_his_response_time() -> None:
    """Called at 10 from another cell he is there at 15; the 5 minutes are waiting for repair."""
    traced = run_text(repaired("response: 5 min", on_the_clock([(10, 8)], BY), NEVER), 40)
    assert traced.left() == minutes(4, 8, 25, 29, 33, 37)
    assert traced.states()["S1"] == {
        "working": exactly(27),
        "waiting for repair": exactly(5),
        "down": exactly(8),
    }
    assert traced.actors() == {"technician": {"repairing": exactly(8), "free": exactly(32)}}


def test_response_time_runs_while_he_is_busy_here() -> None:
    """Called at 10 and 12 with 5 minutes each: at S1 from 15 to 23, and S2 waits from 12 to 23, not to 28."""
    traced = run_text(
        repaired("response: 5 min", on_the_clock([(10, 8)], BY), on_the_clock([(12, 8)], BY)), 40
    )
    waits = {name: row["waiting for repair"] for name, row in traced.states().items()}
    assert waits == {"S1": exactly(5), "S2": exactly(11)}


def test_response_time_may_vary() -> None:
    """Times of 6 and 1 minute in turn: waiting from 10 to 16, and from 30 to 31."""
    crew = "response: {listed: [6 min, 1 min]}"
    traced = run_text(repaired(crew, on_the_clock([(10, 2), (24, 2)], BY), NEVER), 40)
    # the second stop is due 12 minutes on time after the first repair, which ends at 18
    assert traced.said(L.N_STOP) == minutes(10, 30)
    assert traced.said(L.N_REPAIR_BEGINS) == minutes(16, 31)


def test_somebody_at_hand_need_not_be_waited_for() -> None:
    """The leader, who is in the cell, and the technician can both clear it: the leader does at once."""
    text = repaired("response: 5 min, skills: [fix]", on_the_clock([(10, 8)], ", cleared_by: fix"), NEVER)
    text = text.replace("crew: {", "crew: {leader: {skills: [fix]}, ")
    traced = run_text(text, 40)
    assert traced.said(L.N_REPAIR_BEGINS) == minutes(10)
    assert traced.actors()["leader"]["repairing"] == exactly(8)


def test_two_who_repair_wait_for_the_one_from_elsewhere() -> None:
    """The leader is at hand and the technician there at 15: the repair for two begins at 15."""
    text = repaired(
        "response: 5 min, skills: [fix]", on_the_clock([(10, 8)], ", cleared_by: {fix: 2}"), NEVER
    )
    text = text.replace("crew: {", "crew: {leader: {skills: [fix]}, ")
    assert run_text(text, 40).said(L.N_REPAIR_BEGINS) == minutes(15)


def test_a_call_to_elsewhere_lets_other_work_pass() -> None:
    """Who lets no call pass an older one works on at the bench until he could be at the stop, at 15."""
    text = repaired("response: 5 min, overtaking: no", on_the_clock([(10, 8)], BY), NEVER)
    text = text.replace("stations:", "stations:\n  bench: {cycle: 3 min, by: technician}").replace(
        "[S2]}", "[S2], third: [bench]}"
    )
    traced = run_text(text, 40)
    assert traced.left("out:third")[:6] == minutes(3, 6, 9, 12, 15, 26)
    assert traced.said(L.N_REPAIR_BEGINS) == minutes(15)


NIGHT = """
cell: night
shifts:
  early: {from: 06:00, to: 14:00, days: daily, breaks: [], at_end: %s}
  late: {from: 14:00, to: 22:00, days: daily, breaks: []}
crew:
  technician: {shift: early%s}
route: [S1]
lines: {other: [S2]}
stations:
  S1: {cycle: 4 min, stops: {halt: %s}}
  S2: {cycle: 4 min, stops: {halt: %s}}
"""
EIGHT = "lasts: {listed: [8 min, 8 min]}, cleared_by: technician"


def stop_after(minutes_on: int) -> str:
    """A stop of 8 minutes after so many minutes on time, and never again."""
    return f"{{every: {{listed: [{minutes_on} min, 100000 min], of: on time}}, {EIGHT}}}"


def test_stop_before_the_crew_ends_lasts_until_its_next_start() -> None:
    """A stop at 13:55; the technician leaves at 14:00 and does the last 3 minutes from 06:00 next day."""
    traced = run_text(NIGHT % ("stop", "", stop_after(475), NEVER), 1443)
    states = traced.states()["S1"]
    assert states["down"] == exactly(1443 - 475)
    traced.advance(exactly(1460))
    assert traced.states()["S1"]["down"] == exactly(1443 - 475)
    assert traced.said(L.N_REPAIR_ENDS) == minutes(1443)
    assert traced.run.state.stops[0].repair_time == exactly(1443 - 475)


def test_called_just_before_he_leaves_he_comes_the_next_day() -> None:
    """Called at 13:55 he could be there at 14:05, when he is off: all 8 minutes are done the next day."""
    traced = run_text(NIGHT % ("finish element", ", response: 10 min", stop_after(475), NEVER), 1460)
    assert traced.said(L.N_REPAIR_BEGINS) == minutes(1440)
    assert traced.said(L.N_REPAIR_ENDS) == minutes(1448)


def test_called_out_from_off_duty() -> None:
    """Stops at 15:00 and 15:10 with nobody on duty: he comes at 15:40, and goes to the second at 15:48."""
    text = NIGHT % ("finish element", ", called_out: 40 min", stop_after(540), stop_after(550))
    traced = run_text(text, 700)
    assert traced.said(L.N_REPAIR_BEGINS) == minutes(580, 588)
    assert traced.said(L.N_REPAIR_ENDS) == minutes(588, 596)
    assert traced.said(L.N_CALLED_OUT) == minutes(580, 588)
    assert traced.actors() == {
        "technician": {"free": exactly(480), "off": exactly(204), "repairing": exactly(16)}
    }


def test_who_is_still_there_goes_to_the_next_repair() -> None:
    """Stops at 13:50, 13:51 and 13:59: he mends to 13:58, to 14:06, and then the third at once, to 14:14."""
    third = f"{{every: {{listed: [479 min, 100000 min], of: on time}}, {EIGHT}}}"
    text = NIGHT % ("finish element", ", called_out: 40 min", stop_after(470), stop_after(471))
    text = text.replace("S2: {cycle: 4 min, stops: {", f"S2: {{cycle: 4 min, stops: {{late: {third}, ")
    traced = run_text(text, 600)
    assert traced.said(L.N_REPAIR_BEGINS) == minutes(470, 478, 486)
    assert traced.said(L.N_CALLED_OUT) == minutes(486)


def test_called_out_counts_from_when_the_last_on_duty_leaves() -> None:
    """Called at 13:55 he could be there at 14:05, but is off from 14:00: he comes 40 minutes later."""
    crew = ", response: 10 min, called_out: 40 min"
    traced = run_text(NIGHT % ("finish element", crew, stop_after(475), NEVER), 600)
    assert traced.said(L.N_REPAIR_BEGINS) == minutes(520)


def test_nobody_is_called_out_while_somebody_is_on_duty() -> None:
    """Stops at 15:00 and 15:05; bob comes on duty at 15:30 and mends both, one after the other.

    Ann would be out at 15:40 and 15:45, but then bob is on duty, if busy.
    """
    text = NIGHT % ("finish element", "", stop_after(540), stop_after(545))
    text = text.replace("\ncrew:", "\n  third: {from: 15:30, to: 22:00, days: daily, breaks: []}\ncrew:")
    text = text.replace(
        "  technician: {shift: early}",
        "  ann: {shift: early, skills: [mend], called_out: 40 min}\n  bob: {shift: third, skills: [mend]}",
    ).replace("cleared_by: technician", "cleared_by: mend")
    traced = run_text(text.replace("8 min, 8 min", "20 min, 8 min"), 700)
    assert traced.said(L.N_REPAIR_BEGINS) == minutes(570, 590)
    assert traced.said(L.N_CALLED_OUT) == []


INSPECTION = """
cell: technician inspects
crew: {technician: {}}
route: [inspect]
release: {at: [0 min]}
lines: {other: [machine]}
stations:
  inspect: {cycle: 30 min, by: technician, priority: %d}
  machine: {cycle: 4 min, stops: {halt: %s}}
"""


def test_urgent_repair_interrupts_minor_work() -> None:
    """A stop at 10 needs 5 minutes of whoever inspects for 30: down 10 to 15, inspection done at 35."""
    traced = run_text(INSPECTION % (9, on_the_clock([(10, 5)], f"{BY}, interrupts: yes")), 40)
    assert traced.left() == minutes(35)
    assert traced.states() == {
        "inspect": {"attended": exactly(30), "waiting for operator": exactly(5), "starved": exactly(5)},
        "machine": {"working": exactly(35), "down": exactly(5)},
    }
    assert traced.actors() == {
        "technician": {"working": exactly(30), "repairing": exactly(5), "free": exactly(5)}
    }
    assert traced.left("out:other") == minutes(4, 8, 17, 21, 25, 29, 33, 37)


def test_urgent_repair_interrupts_planned_service() -> None:
    """The same with the inspection as a service of another machine: put down at 10, on from 15 to 35."""
    text = f"""
cell: technician inspects
crew: {{technician: {{}}}}
route: [S1]
lines: {{other: [machine]}}
stations:
  S1: {{cycle: 4 min, service: {{inspection: {{at: 00:00, lasts: 30 min, by: technician, priority: 9}}}}}}
  machine: {{cycle: 4 min, stops: {{halt: {on_the_clock([(10, 5)], f"{BY}, interrupts: yes")}}}}}
"""
    traced = run_text(text, 40)
    assert traced.states() == {
        "S1": {"planned service": exactly(30), "waiting for repair": exactly(5), "working": exactly(5)},
        "machine": {"working": exactly(35), "down": exactly(5)},
    }
    care = traced.run.state.stops[0]
    assert (care.count, care.repair_time, care.waiting_time) == (1, exactly(30), exactly(5))


def test_only_lesser_work_is_interrupted() -> None:
    """Work of equal priority is finished first, although the repair interrupts: the machine waits to 30."""
    other = "  spare: {cycle: 1 min, by: technician, priority: 2}\n"
    text = (INSPECTION % (1, on_the_clock([(10, 5)], f"{BY}, interrupts: yes"))) + other
    text = text.replace("lines: {", "lines: {third: [spare], ").replace("release: {at: [0 min]}\n", "")
    traced = run_text(text, 40)
    assert traced.left() == minutes(30)
    assert traced.states()["machine"]["waiting for repair"] == exactly(20)


def test_the_least_needed_is_taken_away() -> None:
    """Two inspections, of priority 3 and 9; the one of priority 9 is put down, whoever is named first."""
    text = """
cell: two inspect
crew: {ann: {skills: [fix]}, bob: {skills: [fix]}}
route: [I1]
release: {at: [0 min]}
lines: {two: [rack, I2], other: [machine]}
stores: {rack: {places: 1, starts_with: 1}}
stations:
  I1: {cycle: 30 min, by: ann, priority: %d}
  I2: {cycle: 30 min, by: bob, priority: %d}
  machine: {cycle: 4 min, stops: {halt: %s}}
"""
    stop = on_the_clock([(10, 5)], ", cleared_by: fix, interrupts: yes")
    first = run_text(text % (3, 9, stop), 40)
    assert (first.left(), first.left("out:two")) == (minutes(30), minutes(35))
    second = run_text(text % (9, 3, stop), 40)
    assert (second.left(), second.left("out:two")) == (minutes(35), minutes(30))


def staffed(rule: str) -> Traced:
    """Three jobs of 6 hours at 0; two operators, of whom one leaves after 4 hours by this rule."""
    text = f"""
cell: staff goes from two to one
shifts:
  long: {{from: 06:00, to: 23:00, breaks: []}}
  short: {{from: 06:00, to: 10:00, breaks: [], at_end: {rule}}}
crew: {{ann: {{skills: [bench], shift: long}}, bob: {{skills: [bench], shift: short}}}}
release: {{at: [0 h, 0 h, 0 h]}}
route: [S1]
stations:
  S1: {{machines: 3, cycle: 6 h, by: bench}}
"""
    return run_text(text, 17, HOUR)


def test_who_leaves_finishes_first_or_hands_over() -> None:
    """Finishing first gives 6, 6, 12; handing over 6, 8, 14: what was put down goes before new work."""
    assert staffed("finish element").left() == [6 * HOUR, 6 * HOUR, 12 * HOUR]
    traced = staffed("hand over")
    assert traced.left() == [6 * HOUR, 8 * HOUR, 14 * HOUR]
    assert traced.said(L.N_PUTS_DOWN) == [4 * HOUR]
    assert traced.actors() == {
        "ann": {"working": 14 * HOUR, "free": 3 * HOUR},
        "bob": {"working": 4 * HOUR, "off": 13 * HOUR},
    }


def test_work_handed_over_at_a_break_loses_no_time() -> None:
    """Ann goes into her break at 06:04 and bob, who is free, goes on at once; ann is back at 06:14."""
    text = """
cell: relief
shifts:
  day: {from: 06:00, to: 14:00, breaks: [{at: 06:04, for: 10 min}]}
  other: {from: 06:00, to: 14:00, breaks: []}
crew:
  ann: {skills: [bench], shift: day, at_break: %s}
  bob: {skills: [bench], shift: other}
release: {at: [0 min]}
route: [S1]
stations:
  S1: {cycle: 6 min, by: bench}
"""
    traced = run_text(text % "hand over", 20)
    assert traced.left() == minutes(6)
    assert traced.actors() == {
        "ann": {"working": exactly(4), "break": exactly(10), "free": exactly(6)},
        "bob": {"working": exactly(2), "free": exactly(18)},
    }
    # nobody takes over what is suspended: 2 minutes are left at 14
    assert run_text(text % "suspend", 20).left() == minutes(16)


def test_a_repair_is_handed_over() -> None:
    """The early technician mends from 13:55 to 14:00, the late one goes on to 14:03: 8 minutes in all."""
    text = NIGHT % ("hand over", "", stop_after(475), NEVER)
    text = text.replace(
        "  technician: {shift: early}",
        "  ann: {shift: early, skills: [mend]}\n  bob: {shift: late, skills: [mend]}",
    ).replace("cleared_by: technician", "cleared_by: mend")
    traced = run_text(text, 500)
    assert traced.said(L.N_REPAIR_ENDS) == minutes(483)
    assert traced.states()["S1"]["down"] == exactly(8)
    assert (traced.actors()["ann"]["repairing"], traced.actors()["bob"]["repairing"]) == (
        exactly(5),
        exactly(3),
    )
    stop = traced.run.state.stops[0]
    assert (stop.count, stop.repair_time, stop.waiting_time) == (1, exactly(8), 0)


def test_two_causes_add() -> None:
    """5 min per 20 of running and 10 per 40 leave 1/(1 + 5/20 + 10/40) = 2/3 of the clock for work.

    The causes never meet: one strikes at 20, 40, 60, ... of running, the other at 10, 50, 90, ...
    """
    text = """
cell: two causes
route: [S1]
stations:
  S1:
    cycle: 5 min
    stops:
      jam: {every: 20 min of running, exact: yes, lasts: 5 min}
      fault: {every: {listed: [%s], of: running}, lasts: {listed: [10 min]}}
"""
    traced = run_text(text % ", ".join(["10 min"] + ["40 min"] * 20), 600)
    assert traced.states() == {"S1": {"working": exactly(400), "down": exactly(200)}}


@pytest.mark.parametrize(("clock", "full", "half"), [("running", 20, 10), ("on time", 20, 20)])
def test_clock_of_stops_at_half_load(clock: str, full: int, half: int) -> None:
    """In 20 h a cause of once an hour strikes 20 times; at half load 10 times if it counts running time."""
    text = single(4, f"{{every: 60 min of {clock}, exact: yes, lasts: 0 s}}")
    assert run_text(text, 1200).run.state.stops[0].count == full
    starved = text.replace("route:", "release: every 8 min\nroute:")
    traced = run_text(starved, 1200)
    assert traced.run.state.stops[0].count == half
    assert traced.states()["S1"]["working"] == exactly(600)
