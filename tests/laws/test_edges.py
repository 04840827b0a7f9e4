"""Exact cells for what random cells seldom reach: the last tie, the exact end of a shift, a way cut short."""

from __future__ import annotations

from dataclasses import replace

from small_cells import EVERY_DAY, HORIZON, SECOND, fixed, listed
from whole_runs import outcome, run_cell

from cellsim.describe.cell import (
    Cell,
    Element,
    Need,
    Outlet,
    Post,
    Release,
    Robot,
    Shift,
    Station,
    Stop,
    Store,
    Study,
)
from cellsim.engine.layout import MACHINE_STATES

NEVER = 10**6


def station(name: str, *work: Element, takes: str = "release", gives: str = "finished") -> Station:
    """One machine that works on one unit at a time."""
    return Station(name, 1, work, ((takes, 1),), 1, (Outlet(gives),))


def cell(*stations: Station, **parts: object) -> Cell:
    """A cell of these stations."""
    whole = {"shifts": (), "posts": (), "robots": (), "stores": (), "release": Release()} | parts
    return Cell("edge", "", None, stations=stations, study=Study(run=HORIZON), **whole)  # type: ignore[arg-type]


def exits(made: Cell, until: int) -> list[int]:
    """When units leave, in seconds."""
    return [at // SECOND for at, _, _ in run_cell(made, until * SECOND).exits]


def test_a_way_cut_short_goes_on_where_it_was_cut() -> None:
    """A robot stops for 3 s after 2 s of its way of 4 s: it arrives at 7 s and works 1 s."""
    stop = Stop("jam", listed(2, NEVER), "on time", fixed(3))
    robot = Robot("rob", travel=(("door", "S1", 4 * SECOND),), starts_at="door", stops=(stop,))
    assert exits(cell(station("S1", Element("e1", fixed(1), (Need("rob"),))), robots=(robot,)), 8) == [8]


def test_running_time_of_a_robot_counts_only_while_it_attends() -> None:
    """A robot attends 3 s, then the machine runs 2 s alone: 7 s of its running time have passed at 11 s."""
    robot = Robot("rob", stops=(Stop("jam", listed(7, NEVER), "running", fixed(4)),))
    work = (Element("e1", fixed(3), (Need("rob"),)), Element("e2", fixed(2)))
    assert exits(cell(station("S1", *work), robots=(robot,)), 24) == [5, 10, 19, 24]


def test_a_break_comes_between_two_elements_of_one_person() -> None:
    """Elements of 4 s and 2 s, a break from 4 s to 9 s: the second runs from 9 s to 11 s."""
    shift = Shift("day", 0, 60 * SECOND, EVERY_DAY, ((4 * SECOND, 5 * SECOND),))
    work = (Element("e1", fixed(4), (Need("ann"),)), Element("e2", fixed(2), (Need("ann"),)))
    made = cell(station("S1", *work), shifts=(shift,), posts=(Post("ann", 1, (), ("day",)),))
    assert exits(made, 12) == [11]


def test_calls_equal_in_all_else_are_served_furthest_down_the_route() -> None:
    """Both benches call at 0 s: the one further down is served first, whatever the rule compares before."""
    work = Element("e1", fixed(2), (Need("ann"),))
    ann = Post("ann", 1, (), (), serves=("longest waiting", "longest waiting"))
    made = cell(station("S1", work), station("S2", work, takes="raw:S2"), posts=(ann,))
    machines = outcome(run_cell(made, 2 * SECOND))["machines"]
    assert machines["S2"][0][MACHINE_STATES.index("attended")] == 2 * SECOND
    assert machines["S1"][0][MACHINE_STATES.index("waiting for operator")] == 2 * SECOND


def test_nothing_is_stalled_while_the_last_planned_unit_is_still_to_come() -> None:
    """Units at 0 s and 9 s on a station of 2 s: nothing happens from 2 s to 9 s, the cell is done at 11 s."""
    made = cell(station("S1", Element("e1", fixed(2))), release=Release("at", at=(0, 9 * SECOND)))
    assert run_cell(made, 10 * SECOND).stalled_at == -1
    assert run_cell(made, 12 * SECOND).stalled_at == 11 * SECOND
    assert exits(made, 12) == [2, 11]


def test_a_stop_that_scraps_what_waits_in_vain_frees_the_machine() -> None:
    """The second element, from 1 s on, needs two people of one; a stop every 5 s may throw the unit away."""
    work = (Element("e1", fixed(1)), Element("e2", fixed(1), (Need("ann"), Need("fix"))))
    ann = Post("ann", 1, (("fix", 1.0),), ())
    for part, stalled_at in (("continues", SECOND), ("is scrapped", -1)):
        stop = Stop("jam", fixed(5), "on time", fixed(1), part=part)
        made = cell(replace(station("S1", *work), stops=(stop,)), posts=(ann,))
        run = run_cell(made, 20 * SECOND)
        assert run.stalled_at == stalled_at
        assert run.state.scrapped == (3 if stalled_at < 0 else 0)


def test_of_two_shifts_that_end_together_the_first_by_name_says_what_becomes_of_the_work() -> None:
    """`day` stops everything at 10 s, `part` lets it run out: the element from 8 s goes on next day."""
    day = Shift("day", 0, 10 * SECOND, EVERY_DAY, at_end="stop")
    part = Shift("part", 4 * SECOND, 10 * SECOND, EVERY_DAY, at_end="run out")
    for shifts in ((day, part), (part, day)):
        assert exits(cell(station("S1", Element("e1", fixed(4))), shifts=shifts), 60) == [4, 8]


def test_who_becomes_free_and_waits_is_taken_along_by_who_was_short_of_him() -> None:
    """Bob, done at 2 s, waits for Dan to start A and lets nothing pass; Cay takes him along to P, 2 s to 5 s.

    Cay could not start P before, since it needs two who can `set`; Dan is at D up to 100 s.
    """
    work = {
        "D": Element("e1", fixed(100), (Need("dan"),)),
        "A": Element("e1", fixed(1), (Need("bob"), Need("dan"))),
        "T": Element("e1", fixed(2), (Need("bob"),)),
        "P": Element("e1", fixed(3), (Need("set", 2),)),
    }
    able = (("set", 1.0),)
    people = (
        Post("bob", 1, able, (), serves=("listed order",), listed=("T", "A", "D", "P"), overtaking=False),
        Post("cay", 1, able, ()),
        Post("dan", 1, (), ()),
    )
    stations = tuple(station(name, element, takes=f"b{name}") for name, element in work.items())
    stores = tuple(Store(f"b{name}", 1, 1) for name in work)
    assert exits(cell(*stations, posts=people, stores=stores), 60) == [2, 5]


def test_a_unit_due_at_the_very_end_of_a_shift_still_comes() -> None:
    """Units every 5 s in a shift of 10 s: that of 10 s is inside when the cell closes, none comes later."""
    shift = Shift("day", 0, 10 * SECOND, EVERY_DAY)
    made = cell(station("S1", Element("e1", fixed(1))), shifts=(shift,), release=Release("every", fixed(5)))
    found = outcome(run_cell(made, 60 * SECOND))["cell"]
    assert (found["created"], found["good"], found["wip"]) == (3, 2, 1)
