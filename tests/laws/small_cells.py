"""Random small cells for the tests of laws: few stations, small whole times, so that many things coincide.

`cells()` draws resolved cells.  All times are small multiples of a second.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, get_args

from hypothesis import strategies as st

from cellsim.describe.cell import (
    BreakRule,
    Cell,
    Criterion,
    Element,
    EndOfShift,
    Law,
    Need,
    Outlet,
    PartAtStop,
    Post,
    Rejects,
    Release,
    Robot,
    Shift,
    Station,
    Stop,
    StopClock,
    Store,
    Study,
)

SECOND = 1_000_000
HORIZON = 150 * SECOND
SKILLS = ("fix", "set", "tend")
POINTS = ("S1", "S2", "S3", "bench", "door")
EVERY_DAY = (0, 1, 2, 3, 4, 5, 6)


def fixed(seconds: float) -> Law:
    """Always the same time."""
    return Law("fixed", (seconds * SECOND,))


def listed(*seconds: float) -> Law:
    """These times in turn."""
    return Law("listed", (), tuple(round(time * SECOND) for time in seconds))


@st.composite
def durations(draw: st.DrawFn, least: int = 1, most: int = 6) -> Law:
    """A law for small times: mostly whole seconds, now and then any time."""
    times = st.integers(least, most)
    kind = draw(st.sampled_from(("fixed", "fixed", "listed", "measured", "exponential")))
    if kind == "fixed":
        return fixed(draw(times))
    if kind == "exponential":
        return Law("exponential", (float(max(1, draw(times)) * SECOND),))
    return Law(kind, (), tuple(t * SECOND for t in draw(st.lists(times, min_size=2, max_size=4))))


@dataclass(frozen=True)
class Traits:
    """What a random cell may have; a test switches off what its law does not cover."""

    people: bool = True
    robots: bool = True
    stops: bool = True
    shifts: bool = True
    run_out: bool = True
    rejects: bool = True
    branches: bool = True
    release: bool = True
    equal_machines: bool = True


ALL = Traits()
SINGLE_FILE = Traits(rejects=False, branches=False, equal_machines=False)


@st.composite
def needs(draw: st.DrawFn, names: tuple[str, ...], heads: dict[str, int]) -> tuple[Need, ...]:
    """Who attends an element: one or two of those there are, at times two people of one kind."""
    chosen = draw(st.lists(st.sampled_from(names), min_size=1, max_size=2, unique=True))
    most = [min(2, heads[name]) for name in chosen]
    found = tuple(
        Need(name, draw(st.sampled_from((1, 1, 1, top))))
        for name, top in zip(sorted(chosen), most, strict=True)
    )
    return found if sum(need.people for need in found) <= 3 else found[:1]


@st.composite
def stops(draw: st.DrawFn, helpers: tuple[str, ...], robot: bool = False) -> tuple[Stop, ...]:
    """None to two causes of stops, with whoever repairs them."""
    found = []
    for name in ("jam", "worn")[: draw(st.integers(0, 2))]:
        clock = draw(st.sampled_from(get_args(StopClock)))
        every = (
            Law("fixed", (float(draw(st.integers(1, 5))),))
            if clock in ("cycles", "units")
            else draw(durations(3, 20))
        )
        by = draw(st.sampled_from(((), *((Need(helper),) for helper in helpers))))
        part = "continues" if robot else draw(st.sampled_from(get_args(PartAtStop)))
        priority = draw(st.integers(1, 2))
        found.append(Stop(name, every, clock, draw(durations(0, 5)), by, part, priority))
    return tuple(found)


@st.composite
def travels(draw: st.DrawFn) -> tuple[tuple[str, str, int], ...]:
    """Nobody needs time, or a table of ways between the points."""
    if draw(st.booleans()):
        return ()
    pairs = [(a, b) for a in POINTS for b in POINTS if a != b]
    times = draw(st.lists(st.integers(0, 3), min_size=len(pairs), max_size=len(pairs)))
    return tuple((a, b, time * SECOND) for (a, b), time in zip(pairs, times, strict=True))


@st.composite
def shift_lists(draw: st.DrawFn, run_out: bool) -> tuple[Shift, ...]:
    """None to three short shifts a day, one after the other or overlapping, with short breaks."""
    found: list[Shift] = []
    at = 0
    for name in ("dawn", "noon", "dusk")[: draw(st.integers(0, 3))]:
        at = max(0, at + draw(st.integers(-8, 10)))
        length = draw(st.integers(20, 60))
        breaks = []
        moment = at + 3
        for _ in range(draw(st.integers(0, 2))):
            start = moment + draw(st.integers(0, 12))
            pause = draw(st.integers(1, 8))
            if start + pause < at + length - 3:
                breaks.append((start * SECOND, pause * SECOND))
                moment = start + pause + 1
        rules = get_args(EndOfShift) if run_out else ("finish element", "finish unit", "stop")
        start_up, clean_up = draw(st.integers(0, 2)), draw(st.integers(0, 2))
        found.append(
            Shift(
                name, at * SECOND, (at + length) * SECOND, EVERY_DAY, tuple(breaks),
                start_up * SECOND, clean_up * SECOND, draw(st.sampled_from(rules)),
            )
        )  # fmt: skip
        at += length
    return tuple(found)


@st.composite
def posts(draw: st.DrawFn, shifts: tuple[Shift, ...], stations: tuple[str, ...]) -> tuple[Post, ...]:
    """None to three posts with skills that overlap."""
    found = []
    for name in ("ann", "bob", "cay")[: draw(st.integers(0, 3))]:
        skills = draw(st.lists(st.sampled_from(SKILLS), max_size=3, unique=True))
        on = tuple(shift.name for shift in shifts if draw(st.integers(0, 3)) > 0) or tuple(
            shift.name for shift in shifts
        )
        factors = st.sampled_from((1.0, 1.0, 0.5, 1.5))
        found.append(
            Post(
                name=name,
                people=draw(st.integers(1, 2)),
                skills=tuple((skill, draw(factors)) for skill in sorted(skills)),
                shifts=on,
                serves=tuple(draw(st.lists(st.sampled_from(get_args(Criterion)), min_size=1, max_size=2))),
                listed=tuple(draw(st.permutations(stations))),
                overtaking=draw(st.booleans()),
                at_break=draw(st.sampled_from(get_args(BreakRule))),
                travel=draw(travels()),
                starts_at=draw(st.sampled_from(POINTS)),
            )
        )
    return tuple(found)


@st.composite
def robots(draw: st.DrawFn, helpers: tuple[str, ...], with_stops: bool) -> tuple[Robot, ...]:
    """None to two robots with one or two grippers."""
    return tuple(
        Robot(
            name=name,
            serves=tuple(draw(st.lists(st.sampled_from(get_args(Criterion)[:3]), min_size=1, max_size=2))),
            double_gripper=draw(st.booleans()),
            travel=draw(travels()),
            starts_at=draw(st.sampled_from(POINTS)),
            stops=draw(stops(helpers, robot=True)) if with_stops else (),
        )
        for name in ("rob", "rub")[: draw(st.integers(0, 2))]
    )


@st.composite
def elements(draw: st.DrawFn, names: tuple[str, ...], heads: dict[str, int]) -> tuple[Element, ...]:
    """A cycle of one to three work elements, the whole of it attended, unattended or mixed."""
    found = []
    for k in range(draw(st.integers(1, 3))):
        attended = bool(names) and draw(st.booleans())
        by = draw(needs(names, heads)) if attended else ()
        at = draw(st.sampled_from(("", "", "bench"))) if attended else ""
        found.append(Element(f"e{k + 1}", draw(durations(0 if k else 1)), by, at))
    return tuple(found)


@st.composite
def visited(draw: st.DrawFn, names: tuple[str, ...]) -> tuple[tuple[Element, ...], bool]:
    """A machine that runs alone and that somebody loads, unloads or both; and whether both are one visit."""
    by = (Need(draw(st.sampled_from(names))),)
    phases = draw(
        st.sampled_from(
            (
                ("load", "unload"),
                ("load",),
                ("unload",),
                ("fetch", "load", "unload", "deliver"),
                ("fetch", "load", "unload", "deliver", "return"),
                ("load", "unload", "deliver"),
                ("unload", "deliver"),
            )
        )
    )
    found = []
    for phase in ("fetch", "load", "work", "unload", "deliver", "return"):
        if phase == "work":
            found.append(Element("run", draw(durations(1, 8))))
        elif phase in phases:
            at = draw(st.sampled_from(("", "", "door")))
            found.append(Element(phase, draw(durations(0, 3)), by, at, phase))
    return tuple(found), "load" in phases and "unload" in phases and draw(st.booleans())


@st.composite
def cells(draw: st.DrawFn, traits: Traits = ALL) -> Cell:
    """A small cell: a route of one to five stations, with side lines, rework and branches where allowed."""
    count = draw(st.integers(1, 5))
    names = tuple(f"S{k + 1}" for k in range(count))
    shifts = draw(shift_lists(traits.run_out)) if traits.shifts else ()
    people = draw(posts(shifts, names)) if traits.people else ()
    helpers = tuple(post.name for post in people)
    machines = draw(robots(helpers, traits.stops)) if traits.robots else ()
    heads: dict[str, int] = {post.name: post.people for post in people}
    for post in people:
        for skill, _ in post.skills:
            heads[skill] = heads.get(skill, 0) + post.people
    helpers = tuple(sorted(heads))
    heads |= {robot.name: 1 for robot in machines}
    able = tuple(sorted(heads))
    release = Release()
    if traits.release:
        kind = draw(st.sampled_from(("", "", "every", "at", "cards")))
        if kind == "every":
            release = Release("every", every=draw(durations(1, 6)))
        elif kind == "at":
            moments = draw(st.lists(st.integers(0, 80), min_size=1, max_size=30))
            release = Release("at", at=tuple(sorted(moment * SECOND for moment in moments)))
        elif kind == "cards":
            release = Release("cards", cards=draw(st.integers(1, 5)))
    stores = {f"b{k}": draw(st.sampled_from((0, 1, 2, 3, None))) for k in range(1, count)}
    side: list[Station] = []
    main = []
    for k, name in enumerate(names):
        takes = [("release" if k == 0 else f"b{k}", 1)]
        here = "release" if k == 0 else f"b{k}"
        if (
            here in stores
            and (stores[here] is None or (stores[here] or 0) >= 2)
            and draw(st.integers(0, 5)) == 0
        ):
            takes = [(here, 2)]
        out = "finished" if k == count - 1 else f"b{k + 1}"
        outlets = [Outlet(out)]
        rejects = None
        if traits.branches:
            kind = draw(st.sampled_from(("", "", "", "raw", "line", "skip", "start")))
            if kind == "raw":
                takes.append((f"raw:{name}", draw(st.integers(1, 2))))
            elif kind == "line":
                stores[f"x{k}"] = draw(st.sampled_from((0, 1, 2, 3)))
                takes.append((f"x{k}", 1))
                side.append(
                    Station(
                        f"L{k}", 1, draw(elements(able, heads)), ((f"raw:L{k}", 1),), 1, (Outlet(f"x{k}"),)
                    )
                )
            elif kind == "skip" and k < count - 1:
                beyond = "finished" if k + 2 >= count else f"b{k + 2}"
                outlets = [Outlet(out, 0.5), Outlet(beyond, 0.5, draw(st.booleans()))]
        if traits.rejects and draw(st.integers(0, 3)) == 0:
            back = draw(st.sampled_from(("", "release", *(f"b{j}" for j in range(1, k + 1)))))
            attempts = draw(st.integers(1, 3)) if back in ("", "release") else draw(st.integers(0, 3))
            verdicts = draw(st.sampled_from(((), (True, False), (False, True, True))))
            share = 0.0 if verdicts else draw(st.sampled_from((0.2, 0.5)))
            may_hold = back == "release" and release.kind == "as much as it takes"
            holds = may_hold and draw(st.booleans())
            rejects = Rejects(share, share / 2, verdicts, back, attempts, draw(st.booleans()), holds)
        one_visit = False
        if able and draw(st.integers(0, 2)) == 0:
            work, one_visit = draw(visited(able))
        else:
            work = draw(elements(able, heads))
        rooms = [stores.get(name) for name in (out, rejects.to if rejects else out)]
        fits = all(room is None or room >= 2 for room in rooms) and not (rejects and rejects.holds)
        gives = draw(st.sampled_from((1, 1, 1, 2))) if traits.branches and fits else 1
        if len(outlets) == 2:
            gives = 1
        main.append(
            Station(
                name=name,
                machines=draw(st.sampled_from((1, 1, 2, 3))) if traits.equal_machines else 1,
                work=work,
                takes=tuple(takes),
                gives=gives,
                outlets=tuple(outlets),
                reserves_outlet=draw(st.booleans()) and all(stores.get(o.store) != 0 for o in outlets),
                one_visit=one_visit,
                runs_through_breaks=draw(st.booleans()),
                priority=draw(st.sampled_from((1, 1, 2))),
                stops=draw(stops(helpers)) if traits.stops else (),
                rejects=rejects,
            )
        )
    starts = {
        name: draw(st.integers(0, places if places is not None else 3)) for name, places in stores.items()
    }
    return Cell(
        name="small",
        question="",
        target_per_hour=None,
        shifts=shifts,
        posts=people,
        robots=machines,
        stations=(*side, *main),
        stores=tuple(Store(name, places, starts[name]) for name, places in sorted(stores.items())),
        release=release,
        study=Study(run=HORIZON),
    )


def shuffled(draw: st.DrawFn, cell: Cell) -> Cell:
    """The same cell with everything told in another order whose order is no part of the rules."""

    def mixed(items: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(draw(st.permutations(items)))

    people = [
        replace(post, skills=mixed(post.skills), travel=mixed(post.travel), shifts=mixed(post.shifts))
        for post in cell.posts
    ]
    return replace(
        cell,
        posts=mixed(tuple(people)),
        robots=mixed(tuple(replace(robot, travel=mixed(robot.travel)) for robot in cell.robots)),
        stores=mixed(cell.stores),
        shifts=mixed(cell.shifts),
        parts=mixed(cell.parts),
    )
