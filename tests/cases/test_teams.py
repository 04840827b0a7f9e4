"""Teams by hand: levels, relief, hand-over, absence, learning, change of places, rounds, starts, allowances.

Times are minutes or seconds as each case says; a run begins with the first shift, here at midnight.
"""

from __future__ import annotations

import math

import pytest
from tracing import SECOND, exactly, in_units, minutes, run_text

from cellsim.describe.resolve import load_text
from cellsim.engine import layout as L
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.layout import ACTOR_STATES
from cellsim.engine.model import compile_cell
from cellsim.published.practice import five, round_the_u
from cellsim.study.audit import audit


def seconds(*times: float) -> list[int]:
    """Seconds as microseconds."""
    return [exactly(time, SECOND) for time in times]


def at_stations(traced, name: str) -> dict[str, int]:
    """How long a person has worked at each station, in microseconds."""
    c, names = traced.run.state, traced.run.flat.names
    first = c.actors[names.actors.index(name)].first_minute
    return {s: c.minutes[first + k] for k, s in enumerate(names.stations) if c.minutes[first + k]}


# Skill levels ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("level", "cycle"), [(1, 13), (2, 11), (3, 10), (4, 9.5)])
def test_a_level_is_a_time_factor(level: int, cycle: float) -> None:
    """Levels 1 to 4 need 1.3, 1.1, 1.0 and 0.95 of the stated 10 s unless the file says otherwise."""
    text = (
        "cell: x\ncrew: {A: {skills: {weld: level %d}}}\nroute: [w]\nstations: {w: {cycle: 10 s, by: weld}}"
    )
    assert run_text(text % level, 60, SECOND).left()[:4] == seconds(*(cycle * k for k in (1, 2, 3, 4)))
    own = "cell: x\ncrew: {A: {works_at: [w], level: %d}}\nroute: [w]\nstations: {w: {cycle: 10 s}}"
    assert run_text(own % level, 60, SECOND).left()[:4] == seconds(*(cycle * k for k in (1, 2, 3, 4)))


def test_levels_of_the_file() -> None:
    """A stated factor of 1.5 for level 2 makes 15 s of 10 s."""
    text = """
cell: x
levels: {2: 1.5}
crew: {A: {skills: {weld: level 2}}}
route: [w]
stations: {w: {cycle: 10 s, by: weld}}
"""
    assert run_text(text, 45, SECOND).left() == seconds(15, 30, 45)


def test_who_is_below_the_level_never_does_it() -> None:
    """Anna (level 2) and bert (level 3): the 10 s that ask for level 3 are bert's alone, the others go on.

    Without the level both would weld at once.
    """
    text = """
cell: x
crew: {anna: {skills: {weld: level 2}}, bert: {skills: {weld: level 3}}}
route: [w]
stations: {w: {machines: 2, cycle: 10 s, by: weld, level: 3}}
"""
    traced = run_text(text, 40, SECOND)
    assert traced.left() == seconds(10, 20, 30, 40)
    assert traced.actors() == in_units({"anna": {"free": 40}, "bert": {"working": 40}}, SECOND)
    assert len(run_text(text.replace(", level: 3}}\n", "}}\n"), 40, SECOND).left()) == 7  # 10 s and 11 s


# Work inside machine time ----------------------------------------------------------------------------------


def tended(inside: float, by: str = "A") -> str:
    """Load 6 s, the machine alone 7 s, unload 3 s; deburring meanwhile."""
    return f"""
cell: man and machine
crew: {{A: {{}}, B: {{}}}}
route: [press]
stations:
  press:
    work:
      - {{do: load, time: 6 s, by: A}}
      - {{do: press, time: 7 s}}
      - {{do: deburr, time: {inside} s, by: {by}, inside_machine_time: yes}}
      - {{do: unload, time: 3 s, by: A}}
"""


@pytest.mark.parametrize(("inside", "cycle"), [(1, 16), (5, 16), (7, 16), (8, 17), (10, 19), (20, 29)])
def test_the_cycle_is_the_longer_of_machine_and_person(inside: float, cycle: float) -> None:
    """Machine side 6 + 7 + 3 = 16 s, person side 6 + inside + 3: the cycle is the longer of both."""
    assert cycle == max(6 + 7 + 3, 6 + inside + 3)
    traced = run_text(tended(inside), 5 * cycle, SECOND)
    assert traced.left() == seconds(*(cycle * k for k in range(1, 6)))
    states = {"press": {"attended": 9 * 5, "working": 7 * 5, "waiting for operator": (cycle - 16) * 5}}
    assert traced.states() == {
        "press": {state: t for state, t in in_units(states, SECOND)["press"].items() if t}
    }
    assert traced.actors()["A"]["working"] == exactly((9 + inside) * 5, SECOND)


def test_a_second_person_inside_machine_time_is_waited_for() -> None:
    """B deburrs 20 s for each run: the cycle is 20 s.  Units: 6 + 7 + 3 = 16, then each 20 s later.

    Second cycle: load 16-22, B is done at 26, run 26-33, unload 33-36.
    """
    traced = run_text(tended(20, "B"), 96, SECOND)
    assert traced.left() == seconds(16, 36, 56, 76, 96)
    # B 6-26, 26-46, 46-66, 66-86 and 10 s of the fifth
    assert traced.actors()["B"] == in_units({"B": {"free": 6, "working": 90}}, SECOND)["B"]


def test_inside_work_of_a_visited_machine_and_of_one_that_works_alone() -> None:
    """Visits of 5 s, run 10 s, inside 12 s: a round of 17 s.  A machine alone of 10 s waits for 12 s."""
    text = """
cell: visits
crew: {A: {}}
route: [mill]
stations:
  mill:
    one_visit: yes
    work:
      - {do: load, time: 2 s, by: A, phase: load}
      - {do: mill, time: 10 s}
      - {do: unload, time: 3 s, by: A, phase: unload}
      - {do: deburr, time: 12 s, by: A, inside_machine_time: yes}
"""
    # loaded 0-2, runs 2-12, inside 2-14, unloaded 14-17, loaded 17-19, inside 19-31, unloaded 31-34
    assert run_text(text, 70, SECOND).left() == seconds(17, 34, 51, 68)
    alone = """
cell: alone
crew: {A: {}}
route: [mill]
stations:
  mill:
    work:
      - {do: mill, time: 10 s}
      - {do: deburr, time: 12 s, by: A, inside_machine_time: yes}
"""
    traced = run_text(alone, 60, SECOND)
    assert traced.left() == seconds(10, 22, 34, 46, 58)
    # 10-12, 22-24, 34-36, 46-48, 58-60
    assert traced.states() == in_units({"mill": {"working": 50, "waiting for operator": 10}}, SECOND)


def test_a_standing_machine_is_served_before_work_inside_machine_time() -> None:
    """M1 runs from 2 s, its deburring is called at 2 s; M2, empty since 0 s, is loaded first, 2-4 s."""
    text = """
cell: two machines
crew: {A: {serves: [longest waiting, upstream first]}}
route: [M1]
lines: {other: [M2]}
stations:
  M1:
    work:
      - {do: load, time: 2 s, by: A}
      - {do: run, time: 20 s}
      - {do: deburr, time: 5 s, by: A, inside_machine_time: yes}
  M2: {work: [{do: load, time: 2 s, by: A}, {do: run, time: 3 s}]}
"""
    traced = run_text(text, 30, SECOND)
    # M2 4-7, deburring 4-9, loaded 9-11, 11-14, 14-16 and so on
    assert traced.left("out:other") == seconds(7, 14, 19, 24, 29)


# Breaks of posts, relief -----------------------------------------------------------------------------------

STAGGERED = """
cell: staggered breaks
shifts: {{day: {{from: 00:00, to: 08:00}}}}
crew:
  A: {{works_at: [S1], breaks: [{{at: 01:00, for: 10 min}}]}}
  B: {{works_at: [S2], breaks: [{{at: 01:10, for: 10 min}}]}}
{more}
route: [S1, S2]
stations:
  S1: {{cycle: 1 min}}
  S2: {{cycle: 1 min}}
"""


def test_relief_keeps_the_cell_running_and_its_minutes_add_up() -> None:
    """Two benches of 1 min: 119 units in 2 h with relief; without it units leave up to 61 and from 81 on.

    A pauses 60-70 and B 70-80; whoever relieves them works 10 + 10 minutes and nothing else.  Alone A makes
    one more unit, 70-71, and stands with it up to 80.
    """
    relieved = run_text(STAGGERED.format(more="  R: {relieves: [A, B]}"), 120)
    assert relieved.left() == minutes(*range(2, 121))
    assert relieved.actors() == in_units(
        {
            "A": {"working": 110, "break": 10},
            "B": {"free": 1, "working": 109, "break": 10},
            "R": {"free": 100, "helping out": 20},
        }
    )
    assert at_stations(relieved, "R") == {"S1": exactly(10), "S2": exactly(10)}
    alone = run_text(STAGGERED.format(more=""), 120)
    assert alone.left() == minutes(*range(2, 62), *range(81, 121))
    assert alone.actors()["A"] == in_units({"A": {"working": 101, "free": 9, "break": 10}})["A"]


def test_who_relieves_ends_his_element_and_then_leaves_the_rest_to_whom_he_relieves() -> None:
    """Elements of 4 and 4 min by A, who pauses 6-11: R does 8-12 of the second unit, A 12-16 the rest.

    A finishes his element of 4-8 and is away from 8 to 11; R begins the first element of unit 2 at 8.
    """
    text = """
cell: two elements
shifts: {day: {from: 00:00, to: 08:00}}
crew: {A: {breaks: [{at: 00:06, for: 5 min}]}, R: {relieves: A}}
route: [S]
stations:
  S: {work: [{do: fit, time: 4 min, by: A}, {do: close, time: 4 min, by: A}]}
"""
    traced = run_text(text, 24)
    assert traced.left() == minutes(8, 16, 24)
    assert traced.actors() == in_units(
        {"A": {"working": 20, "break": 3, "free": 1}, "R": {"free": 20, "helping out": 4}}
    )


def test_relief_takes_the_pace_and_the_level_of_whom_it_relieves() -> None:
    """A at level 2 makes 11 s of 10 s and may do what asks for level 2; so may R in A's break, 60-120 s."""
    text = """
cell: x
shifts: {day: {from: 00:00, to: 08:00}}
crew: {A: {skills: {weld: level 2}, breaks: [{at: 00:01, for: 1 min}]}, R: {level: 1, relieves: A}}
route: [w]
stations: {w: {cycle: 10 s, by: weld, level: 2}}
"""
    traced = run_text(text, 132, SECOND)
    assert traced.left() == seconds(*(11 * k for k in range(1, 13)))
    # A to 66, R 66-121, A from 121
    assert traced.actors() == in_units(
        {"A": {"working": 77, "break": 54, "free": 1}, "R": {"helping out": 55, "free": 77}}, SECOND
    )


# Hand-over -------------------------------------------------------------------------------------------------

TEAMS = """
cell: two teams
shifts: {{early: {{from: 00:00, to: 01:00}}, late: {{from: {start}, to: 02:00{more}}}}}
crew: {{op: {{works_at: [fit]}}}}
route: [mill, rack, fit]
stations: {{mill: {{cycle: 2 min}}, fit: {{cycle: 1 min}}}}
stores: {{rack: 40}}
"""


def test_machines_go_on_while_teams_hand_over() -> None:
    """10 min of hand-over at 60: the mill works on, six units wait at 70, one a minute leaves up to 81.

    The units of 60, 62, ..., 80 leave at 71, 72, ..., 81; that of 82 finds the bench free and leaves at 83.
    """
    traced = run_text(TEAMS.format(start="01:00", more=", hand_over: 10 min"), 60)
    before = traced.run.state.wip
    # the unit of 60 min has come into the rack; the mill holds the next
    assert (before, traced.level("rack")) == (2, 1)
    traced.advance(exactly(70))
    assert traced.level("rack") == 5  # those of 62 to 70; that of 60 is being fitted
    traced.advance(exactly(119))
    assert traced.left() == minutes(*range(3, 60, 2), *range(71, 82), *range(83, 120, 2))
    assert traced.actors()["op"]["handing over"] == exactly(10)
    assert traced.states()["mill"] == {"working": exactly(119)}


def test_a_gap_between_teams_and_an_overlap() -> None:
    """What is inside at the end of one team is inside at the beginning of the next, gap or overlap."""
    gap = run_text(TEAMS.format(start="01:10", more=""), 60)
    left, inside, rack = gap.left(), gap.run.state.wip, gap.level("rack")
    gap.advance(exactly(69))
    # the unit that the mill had begun is finished, by the rule of the shift; nothing else moves
    assert (gap.left(), gap.run.state.wip, gap.level("rack")) == (left, inside, rack)
    assert gap.actors()["op"]["off"] == exactly(9)
    overlap = run_text(TEAMS.format(start="00:50", more=", hand_over: 10 min"), 110)
    assert overlap.left() == minutes(*range(3, 110, 2))  # the early team works while the late one takes over
    assert "handing over" not in overlap.actors()["op"]


# Absence ---------------------------------------------------------------------------------------------------


def test_who_is_absent_is_drawn_for_each_person_and_shift() -> None:
    """40 people, 2 shifts a day, 100 days, 5 %: absences are binomial, 400 of 8000, s = 19.5.

    Held within 4 s (false alarm 1 in 16 000, normal); no two people share their draws.
    """
    text = """
cell: many
shifts: {early: {from: 00:00, to: 08:00, days: daily}, late: {from: 08:00, to: 16:00, days: daily}}
crew: {op: {people: 40, absent: 5 %}}
route: [S]
stations: {S: {cycle: 8 h, by: op}}
"""
    run = SimpyRun(compile_cell(load_text(text)), 5, 0)
    hour = 60 * exactly(1)
    counts = []
    each: dict[str, list[int]] = {}
    for day in range(100):
        for at in (4, 12):
            run.advance((24 * day + at) * hour)
            missing = [actor.missing for actor in run.state.actors]
            counts.append(sum(missing))
            for name, answer in zip(run.flat.names.actors, missing, strict=True):
                each.setdefault(name, []).append(answer)
            assert audit(run) == []
    assert abs(sum(counts) - 400) < 4 * math.sqrt(8000 * 0.05 * 0.95)
    assert len(set(map(tuple, each.values()))) == 40
    absent = sum(run.state.actors[k].totals[L.A_ABSENT] for k in range(40))
    last = 4 * hour * counts[-1]  # of the last shift only four hours are over
    assert absent == 8 * hour * (sum(counts) - counts[-1]) + last
    draws = dict(zip(run.flat.streams, (s.used for s in run.state.streams), strict=True))
    assert draws["op 1", "absent"] == 200


def missing_days(text: str, days: int) -> tuple[SimpyRun, list[bool]]:
    """Run days of one shift of 8 h; on which of them A is absent."""
    run = SimpyRun(compile_cell(load_text(text)), 1, 0)
    found = []
    a = run.flat.names.actors.index("A")
    for day in range(days):
        run.advance((24 * day + 4) * 60 * exactly(1))
        found.append(bool(run.state.actors[a].missing))
        run.advance(24 * (day + 1) * 60 * exactly(1))
        assert audit(run) == []
    return run, found


ABSENT = """
cell: absent
shifts: {{day: {{from: 00:00, to: 08:00, days: daily, at_end: {rule}}}}}
crew:
  A: {{works_at: [S], absent: 50 %}}
{more}
route: [S]
stations: {{S: {{cycle: 7 min}}}}
"""


def test_a_floater_works_only_where_somebody_is_missing() -> None:
    """Each shift of 480 min holds 69 cycles of 7 min begun; A does them or, on his absent days, F does.

    There are two benches: two people at once would do twice as many.
    """
    text = ABSENT.format(rule="finish element", more="  F: {stands_in_for: A}")
    text = text.replace("cycle: 7 min", "machines: 2, cycle: 7 min")
    run, missing = missing_days(text, 20)
    count = sum(missing)
    assert 0 < count < 20
    assert run.state.good == 69 * 20
    people = zip(run.flat.names.actors, run.state.actors, strict=True)
    totals = {name: dict(zip(ACTOR_STATES, row.totals, strict=True)) for name, row in people}
    cycles = 69 * exactly(7)
    assert totals["A"]["working"] == (20 - count) * cycles
    assert totals["A"]["absent"] == count * exactly(480)
    assert totals["F"]["helping out"] == count * cycles and totals["F"]["working"] == 0


def test_nobody_stands_in() -> None:
    """Without a floater nothing is made on the days on which A does not come."""
    run, missing = missing_days(ABSENT.format(rule="finish element", more=""), 20)
    assert run.state.good == 69 * (20 - sum(missing))


def test_a_cycle_left_over_night_is_ended_by_who_comes() -> None:
    """At the end all stops: 480 = 68 x 7 + 4.  With F in A's place no minute is lost, 480 x 20 / 7 units."""
    run, missing = missing_days(ABSENT.format(rule="stop", more="  F: {stands_in_for: A}"), 20)
    assert any(missing) and run.state.good == 480 * 20 // 7


# Learning --------------------------------------------------------------------------------------------------

LEARNING = """
cell: learning
shifts: {{day: {{from: 00:00, to: 07:30, days: daily}}}}
crew: {{A: {{works_at: [S], at_break: do not start, learning: {{rate: {rate} %, standard_after: 3000}}}}}}
route: [S]
stations: {{S: {{cycle: 30 s}}}}
"""


@pytest.mark.parametrize(
    ("rate", "output"),
    [(85, (441, 647, 758, 841, 896)), (90, (598, 755, 829, 880, 900)), (95, (752, 838, 873, 896, 900))],
)
def test_learning_over_five_shifts(rate: int, output: tuple[int, ...]) -> None:
    """Unit n takes 30 s x (n/3000)^log2(rate), never below 30 s; shifts of 27 000 s, each begun afresh.

    The exact sums give these outputs of shifts 1 to 5; a unit that would not be done before the end waits for
    the next shift.
    """
    run = SimpyRun(compile_cell(load_text(LEARNING.format(rate=rate))), 1, 0)
    counts = []
    for day in range(5):
        run.advance((24 * day + 12) * 3600 * SECOND)
        counts.append(run.state.good - sum(counts))
        assert audit(run) == []
    assert tuple(counts) == output
    at = sum(round(30e6 * (n / 3000) ** math.log2(rate / 100)) for n in range(1, output[0] + 1))
    first = [when for when, _, _ in run.exits][: output[0]]
    assert first[-1] == at


def test_repetitions_are_counted_for_each_person_and_element() -> None:
    """At 50 % and a standard at the 4th time: factors 4, 2, 4/3, 1 of 3 s; two people learn apart.

    (n/4)^-1: 12, 6, 4, 3, 3 s.  With one time behind him somebody begins with the second.
    """
    text = """
cell: x
crew: {{op: {{people: {people}, learning: {{rate: 50 %, standard_after: 4{more}}}}}}}
route: [S]
stations: {{S: {{machines: 2, cycle: 3 s, by: op}}}}
"""
    one = run_text(text.format(people=1, more=""), 30, SECOND)
    assert one.left() == seconds(12, 18, 22, 25, 28)
    two = run_text(text.format(people=2, more=""), 28, SECOND)
    assert two.left() == seconds(12, 12, 18, 18, 22, 22, 25, 25, 28, 28)
    begun = run_text(text.format(people=1, more=", has_done: 1"), 16, SECOND)
    assert begun.left() == seconds(6, 10, 13, 16)


# Change of places ------------------------------------------------------------------------------------------


def test_people_change_places() -> None:
    """Every 2 h of a shift of 8 h, break included: each is 4 h at the press and 4 h at the riveter.

    Cycles of 1 min, break of the cell 60-70: person 1 is at the press 0-120 (110 min of work) and 240-360
    (120 min), at the riveter 120-240 and 360-480.
    """
    text = """
cell: change of places
shifts: {day: {from: 00:00, to: 08:00, days: daily, breaks: [{at: 01:00, for: 10 min}]}}
crew: {op: {people: 2, rotates: {every: 2 h, among: [press, rivet]}}}
route: [press]
lines: {other: [rivet]}
stations: {press: {cycle: 1 min}, rivet: {cycle: 1 min}}
"""
    traced = run_text(text, 480)
    assert at_stations(traced, "op 1") == {"press": exactly(230), "rivet": exactly(240)}
    assert at_stations(traced, "op 2") == {"press": exactly(240), "rivet": exactly(230)}
    assert len(traced.left()) == len(traced.left("out:other")) == 470
    traced.advance(exactly(1440 + 480))  # the next day begins as the list says
    assert at_stations(traced, "op 1") == {"press": exactly(460), "rivet": exactly(480)}


def test_the_element_in_hand_is_ended_before_the_change() -> None:
    """Two people, elements of 4 min, change every 6 min, without shifts: they change at 8, at 12 and at 20.

    Both end what they have in hand at 6 and at 18; at 12 an element ends as the change comes.
    """
    text = """
cell: change
crew: {op: {people: 2, rotates: {every: 6 min, among: [[S1], [S2]]}}}
route: [S1]
lines: {other: [S2]}
stations:
  S1: {work: [{do: fit, time: 4 min, by: op}]}
  S2: {work: [{do: fit, time: 4 min, by: op}]}
"""
    traced = run_text(text, 24)
    # at 8 both go over; at 12 they change back, at 18 they are in an element that ends at 20
    assert at_stations(traced, "op 1") == {"S1": exactly(8 + 8), "S2": exactly(4 + 4)}
    assert at_stations(traced, "op 2") == {"S1": exactly(4 + 4), "S2": exactly(8 + 8)}


def test_who_comes_to_a_place_finds_what_waits_there() -> None:
    """One unit of 2 min at each of two benches: the first 0-2, the other from the change at 5 to 7."""
    text = """
cell: change
crew: {op: {rotates: {every: 5 min, among: [S1, S2]}}}
route: [raw 1, S1]
lines: {other: [raw 2, S2]}
stations: {S1: {cycle: 2 min}, S2: {cycle: 2 min}}
stores: {raw 1: {places: 1, starts_with: 1}, raw 2: {places: 1, starts_with: 1}}
"""
    traced = run_text(text, 20)
    assert (traced.left(), traced.left("out:other")) == (minutes(2), minutes(7))
    assert traced.run.stalled_at == -1


# Rounds and carrying along ---------------------------------------------------------------------------------


def test_a_fixed_round_waits_for_the_next_machine() -> None:
    """Three machines M1 (run 4 s), M2 (20 s), M3 (4 s), a visit each of 2 s, in a fixed round.

    M2 is the limit: a round of 22 s, one unit from each.  Serving who calls first makes more on M1 and M3.
    """
    text = """
cell: round
crew: {{op: {{serves: {rule}, order: [M1, M2, M3]}}}}
route: [M1]
lines: {{two: [M2], three: [M3]}}
stations:
  M1: {{cycle: 4 s, visit: {{by: op, load: 1 s, unload: 1 s}}}}
  M2: {{cycle: 20 s, visit: {{by: op, load: 1 s, unload: 1 s}}}}
  M3: {{cycle: 4 s, visit: {{by: op, load: 1 s, unload: 1 s}}}}
"""
    traced = run_text(text.format(rule="fixed round"), 100, SECOND)
    # loads 0-1, 1-2, 2-3; M1 done 5: 5-7, then he waits for M2, done at 22: 22-24, M3 24-26, M1 26-28
    assert traced.left() == seconds(6, 27, 49, 71, 93)
    assert traced.left("out:two") == seconds(23, 45, 67, 89)
    assert traced.left("out:three") == seconds(25, 47, 69, 91)
    free = run_text(text.format(rule="longest waiting"), 100, SECOND)
    assert len(free.left()) > 12


def test_a_round_passes_a_station_that_stands_idle() -> None:
    """Mill 10 s before drill 4 s, visits of 1 + 1 s: the drill has nothing yet and is passed until 13 s.

    Mill loaded 0-1, exchanged 11-13; drill loaded 13-14, done at 18; the mill next, 23-25; drill 25-27.  So
    the first unit leaves at 26 and one every 12 s.
    """
    text = """
cell: round
crew: {op: {serves: fixed round, order: [mill, drill]}}
route: [mill, rack, drill]
stations:
  mill: {cycle: 10 s, visit: {by: op, load: 1 s, unload: 1 s}}
  drill: {cycle: 4 s, visit: {by: op, load: 1 s, unload: 1 s}}
stores: {rack: 5}
"""
    assert run_text(text, 70, SECOND).left() == seconds(26, 38, 50, 62)


@pytest.mark.parametrize(("people", "gap"), [(1, 90), (2, 45), (3, 30), (4, 30)])
def test_people_who_carry_their_unit_round(people: int, gap: float) -> None:
    """n people each follow a unit through benches of 20, 30, 25, 15 s: a unit every max(90/n, 30) s.

    One card for each person: nobody begins a unit before his last one is out.
    """
    left = run_text(round_the_u(people, gap), 3600, SECOND).left()
    late = [at for at in left if at > 900 * SECOND]
    rate = (len(late) - 1) / (late[-1] - late[0])
    assert rate == pytest.approx(1 / exactly(gap, SECOND), rel=1 / len(late) if people == 2 else 1e-9)


# Start, end, allowance -------------------------------------------------------------------------------------


def test_empty_and_primed_start() -> None:
    """60 min of a line of five minutes: 56 units from an empty start, 60 from a primed one."""
    assert run_text(five("empty"), 60).left() == minutes(*range(5, 61))
    primed = run_text(five("primed"), 60)
    assert primed.left() == minutes(*range(1, 61))
    assert primed.run.state.wip == 5


def test_running_out_leaves_an_empty_cell() -> None:
    """Nothing begins after minute 55: 56 units by minute 60, and nobody has a unit."""
    traced = run_text(five("empty", "run out", "00:56"), 60)
    assert traced.left() == minutes(*range(5, 61))
    assert traced.run.state.wip == 0
    starts = traced.cycles()["a"]
    assert starts == 56


def test_stopping_loses_nothing() -> None:
    """Two shifts of 60 min with everything stopped between them: as many as in 120 min, 116."""
    traced = run_text(five("empty", "stop", "01:00"), 1440 + 60)
    assert len(traced.left()) == 116
    halves = five("empty", "stop", "01:00").replace("cycle: 60 s", "cycle: 7 min")
    assert len(run_text(halves, 1440 + 60).left()) == 120 // 7 - 4


def test_primed_stores_and_benches() -> None:
    """Stores say how full they are or are half full; a bench that only rejects reach begins empty."""
    text = """
cell: primed
route: [a, tray, b, rack, test]
stations:
  a: {cycle: 60 s}
  b: {cycle: 60 s}
  test: {cycle: 60 s, rejects: {share: 1 %, to: tune, returns_to: test}}
  tune: {cycle: 60 s}
stores: {tray: 9, rack: {places: 9, starts_with: 0}}
study: {start: primed}
"""
    run = run_text(text).run
    names, c = run.flat.names, run.state
    inside = {names.machines[i] for i, m in enumerate(c.machines) if m.unit >= 0}
    assert inside == {"a", "b", "test"}
    assert [c.stores[names.stores.index(name)].level for name in ("tray", "rack")] == [4, 0]
    cards = run_text(text.replace("study", "release: cards 2\nstudy")).run.state
    assert (cards.on_cards, cards.wip) == (2, 2)


def test_an_allowance_of_ten_percent_lowers_the_manual_rate_by_it() -> None:
    """10 s by hand become 11 s; the 10 s of a machine stay.  The rate falls to 1/1.10 of 360 per h."""
    text = """
cell: basic times
{more}crew: {{A: [fit]}}
route: [fit]
lines: {{other: [mill]}}
stations: {{fit: {{cycle: 10 s{own}}}, mill: {{cycle: 10 s}}}}
"""
    traced = run_text(text.format(more="allowance: 10 %\n", own=""), 3960, SECOND)
    assert len(traced.left()) == 360
    assert len(traced.left("out:other")) == 396
    assert len(run_text(text.format(more="", own=", allowance: 10 %"), 3960, SECOND).left()) == 360
    kept = run_text(text.format(more="allowance: 10 %\n", own=", allowance: 0 %"), 3960, SECOND)
    assert len(kept.left()) == 396
    robot = """
cell: basic times
allowance: 10 %
crew: {A: {}}
robots: {R: {}}
route: [fit]
stations: {fit: {work: [{do: load, time: 10 s, by: A}, {do: weld, time: 10 s, by: R}]}}
"""
    assert run_text(robot, 63, SECOND).left() == seconds(21, 42, 63)
