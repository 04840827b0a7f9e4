"""Loads: required against available time of stations, batch units, posts and robots, per good unit."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from cellsim.describe.cell import Phase

Kind = Literal["station", "batch", "post", "robot"]
DutyKind = Literal["work", "walking", "changeover", "stops"]
ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Load:
    """Required and available time of a station, batch unit, post or robot.

    `count` machines or people; `cycles` per good unit (0 for posts and robots); `available_s` = count x takt
    x share of the working time on duty.  Required, all in seconds per good unit: `work_s` with repeats and
    lost units, `walking_s` by one round through the points attended (the least; a run may go to and fro),
    `changeover_s` between variants with approvals, `stops_s` by stops, or for those who clear them.
    """

    name: str
    kind: Kind
    count: int
    cycles: float
    available_s: float
    work_s: float
    walking_s: float = 0.0
    changeover_s: float = 0.0
    stops_s: float = 0.0

    def required_s(self, stops: bool = False) -> float:
        """Required seconds per good unit; `stops` says whether those count."""
        return self.work_s + self.walking_s + self.changeover_s + (self.stops_s if stops else 0.0)

    def share(self, stops: bool = False) -> float:
        """Load = required / available time; above 1 the demanded rate cannot be reached."""
        return self.required_s(stops) / self.available_s if self.available_s > 0 else math.inf


@dataclass(frozen=True, slots=True)
class Duty:
    """What a post or robot does: `what` at `at`, so many `seconds` per good unit and so many `times`."""

    who: str
    at: str
    what: str
    kind: DutyKind
    seconds: float
    times: float


@dataclass(frozen=True, slots=True)
class TimedElement:
    """A work element of a station's cycle as the loads count it.

    `seconds` each time (mean over the variants, with skill, allowance, speed), `times` per good unit;
    `able`: for each need how many of whom it takes.  No `able` means that the machine works alone.  `extra`:
    done for some units only, as a repair or a sample.
    """

    station: str
    name: str
    phase: Phase
    inside: bool
    at: str
    seconds: float
    times: float
    able: tuple[tuple[int, tuple[str, ...]], ...]
    varies: bool
    extra: bool


@dataclass(frozen=True, slots=True)
class Stopped:
    """Stops of one cause at a station or robot: how many per good unit on all machines, mean times of each.

    It stands for `response_s` until whoever repairs is there, then for `lasts_s`.  `planned`: service, or
    due at times of the week.
    """

    at: str
    name: str
    times: float
    lasts_s: float
    response_s: float
    planned: bool


def groups_of(names: Iterable[str], alike: Iterable[frozenset[str]]) -> tuple[tuple[str, ...], ...]:
    """All names in groups: two that can do the same, directly or by way of others, are in one group."""
    groups = [{name} for name in names]
    for some in alike:
        joined = [group for group in groups if group & some]
        if joined:
            groups = [group for group in groups if not group & some] + [set().union(*joined)]
    return tuple(sorted(tuple(sorted(group)) for group in groups))


@dataclass(frozen=True, slots=True)
class Forming:
    """How long a batch waits for its units: mean (size - 1) / 2 x interval, the first one (size - 1) x it.

    `interval_s` is the time between units of that variant where it runs alone, as in a campaign;
    `mixed_interval_s` where it comes between the others, by its share.
    """

    station: str
    variant: str
    size: int
    interval_s: float
    mixed_interval_s: float

    @property
    def mean_s(self) -> float:
        """Mean wait of a unit until its batch is full, the variant running alone."""
        return (self.size - 1) / 2 * self.interval_s

    @property
    def first_s(self) -> float:
        """Wait of the first unit of a batch, the variant running alone."""
        return (self.size - 1) * self.interval_s


@dataclass(frozen=True, slots=True)
class Held:
    """A store whose units must stay a while: rate x (transit + stay) places are taken on average (Little)."""

    store: str
    places: int | None
    needed: float


@dataclass(frozen=True, slots=True)
class Loading:
    """The static check of a cell at `rate` good units per working hour.

    `takt_s` = 3600 / rate; `planned_cycle_s` = takt x planned efficiency.
    """

    rate: float
    takt_s: float
    planned_cycle_s: float
    stations: tuple[Load, ...]
    posts: tuple[Load, ...]
    robots: tuple[Load, ...]
    forming: tuple[Forming, ...] = ()
    held: tuple[Held, ...] = ()
    undetermined: tuple[str, ...] = ()  # stations whose flow nothing settles; they have no load
    groups: tuple[tuple[str, ...], ...] = ()  # posts and robots that could take work from each other
    duties: tuple[Duty, ...] = ()  # what makes up the loads of posts and robots
    elements: tuple[TimedElement, ...] = ()
    stops: tuple[Stopped, ...] = ()
    released: float = 1.0  # raw units that the route takes per good unit
    flows: tuple[tuple[str, float], ...] = ()  # (store, units taken from it per good unit)

    def find(self, name: str) -> Load:
        """The load of one station, post or robot; KeyError where there is none."""
        return {load.name: load for load in (*self.robots, *self.posts, *self.stations)}[name]

    def duties_of(self, name: str) -> list[Duty]:
        """What makes up the load of a post or robot, in the order of the route."""
        return [duty for duty in self.duties if duty.who == name]

    def at_work(self) -> tuple[Load, ...]:
        """The posts of the line: those that do a work element at a station.

        Not so who only clears stops, sets up or moves boxes, as a technician or a handler: they are not
        shared out among the people of the line, and the takt does not say how many of them are needed.
        """
        stations = {load.name for load in self.stations}
        busy = {duty.who for duty in self.duties if duty.kind == "work" and duty.at in stations}
        return tuple(load for load in self.posts if load.name in busy)

    def hand_work_s(self, stops: bool = False) -> float:
        """Hand work in seconds per good unit: all that the posts of the line do, walking and changeovers too.

        With `stops` also the stops that these posts clear; those that others clear never count.
        """
        return math.fsum(load.required_s(stops) for load in self.at_work())

    def least_people(self, stops: bool = False, planned: bool = False) -> int:
        """Least number of people = hand work / takt, rounded up, skills and places aside; 0 without work.

        With `planned` it is hand work / planned cycle.
        """
        hand, cycle = self.hand_work_s(stops), self.planned_cycle_s if planned else self.takt_s
        return max(1, math.ceil(hand / cycle - ROUNDING)) if hand > 0 else 0

    def balance(self, people: float, stops: bool = False) -> float:
        """Balance efficiency = hand work / (people x takt)."""
        return self.hand_work_s(stops) / (people * self.takt_s)
