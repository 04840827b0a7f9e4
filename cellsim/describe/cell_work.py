"""What stations, people and robots of a resolved cell have alike: times, needs, work, stops, power."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Phase = Literal["fetch", "load", "work", "unload", "deliver", "return"]
Criterion = Literal["longest waiting", "downstream first", "upstream first", "listed order", "fixed round"]
StopClock = Literal["running", "on time", "cycles", "units"]
PartAtStop = Literal["continues", "restarts", "is scrapped"]


@dataclass(frozen=True, slots=True)
class Law:
    """How long something takes.  `name` is a row of `laws.LAWS`, `values` its parameters in row order.

    Times among the parameters are microseconds (float, since a mean need not be whole), spreads and
    shapes are pure numbers.  `measured` holds measured times in microseconds for the laws that need them.
    """

    name: str
    values: tuple[float, ...] = ()
    measured: tuple[int, ...] = ()


LEVELS = 4  # skill levels: 1 beginner, 2 trained, 3 practised, 4 expert
PRACTISED = 3  # the level of whoever is given none


@dataclass(frozen=True, slots=True)
class Need:
    """`people` persons (or one robot) who can do `skill`; a post's or robot's own name is a skill of it.

    Persons below `level` cannot do it; 0 asks for none.
    """

    skill: str
    people: int = 1
    level: int = 0


@dataclass(frozen=True, slots=True)
class Element:
    """One work element of a station's cycle.

    `at` is the point where whoever attends must stand; the empty text means the station itself.
    The phase says where the unit is: `fetch` brings it (the station still waits), `load` puts it on,
    `work` changes it, `unload` takes it off, `deliver` carries it to the outlet while the station is
    free again, `return` brings the empty-handed person or robot back.
    What is done `inside` machine time is called for when the machine begins to work alone; the machine begins
    its next work alone only when it is done.
    """

    name: str
    time: Law
    by: tuple[Need, ...] = ()
    at: str = ""
    phase: Phase = "work"
    by_variant: tuple[tuple[str, Law], ...] = ()  # (variant, its time); `time` is then that of the first
    inside: bool = False
    picks: int = 0  # picks of which a robot with mis-picks may miss some
    uses: tuple[str, ...] = ()  # shared things, claimed together with whoever attends


@dataclass(frozen=True, slots=True)
class Stop:
    """A cause for which a machine or robot stands still.

    `every` counts microseconds of running time or of on time, whole cycles or units made, from the end of one
    repair to the next stop.  Where `at` is given, it says instead when the stop is due, in microseconds after
    Monday 00:00, every week; what comes due while it is held up is left out.  With no `repaired_by` the
    repair begins at once and needs nobody.

    A `planned` stop is service.  With `after_cycle` a cycle that has begun ends first.  The stations and
    robots in `stops_too` stand still with it until the same repair ends.  The first `restart_scrap` units
    finished after it are scrapped, by whole cycles.  A repair that `interrupts` takes people away from work
    of lower priority.
    """

    name: str
    every: Law
    clock: StopClock
    lasts: Law
    repaired_by: tuple[Need, ...] = ()
    part: PartAtStop = "continues"
    priority: int = 1
    planned: bool = False
    at: tuple[int, ...] = ()
    after_cycle: bool = False
    stops_too: tuple[str, ...] = ()
    restart_scrap: int = 0
    interrupts: bool = False


@dataclass(frozen=True, slots=True)
class Power:
    """What a station or robot draws in each group of states, in watts, and joules for each cycle beside that.

    `working` holds while it works or moves, `idle` while it is ready and waits for anything, `down` while it
    is stopped, and so on.
    """

    working: int
    idle: int
    changeover: int
    down: int
    in_break: int
    off: int
    per_cycle: int = 0
