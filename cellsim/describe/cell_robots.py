"""Robots of a resolved cell and the zones that they share with people."""

from __future__ import annotations

from dataclasses import dataclass

from cellsim.describe.cell_work import Criterion, Law, Need, Power, Stop


@dataclass(frozen=True, slots=True)
class Move:
    """A robot takes a unit at `start` and puts it down at `end`; at least one of the two is a station.

    The other is a station, a store, or a point where raw units lie or finished ones are put down.  `store` is
    the store of the flow that the move goes through.
    """

    start: str
    end: str
    store: str


@dataclass(frozen=True, slots=True)
class Mispicks:
    """A pick fails with `share`; each retry takes `retry` and works with `works`; then somebody comes."""

    share: float
    retry: int  # microseconds
    works: float
    retries: int
    by: tuple[Need, ...]
    time: Law


@dataclass(frozen=True, slots=True)
class Recovery:
    """What follows each repair of a robot before it goes on: home, look, reset."""

    time: Law
    by: tuple[Need, ...] = ()


@dataclass(frozen=True, slots=True)
class Zone:
    """A space that robots share with people.

    While somebody works at one of `people_at` (stations, stores or points) the robots move at `speed` (0 =
    they stand); after the last one has left they stand for `restart` microseconds more.
    """

    name: str
    robots: tuple[str, ...]
    people_at: tuple[str, ...]
    speed: float = 0.0
    restart: int = 0


@dataclass(frozen=True, slots=True)
class Robot:
    """A robot.  A double gripper exchanges at the machine: fetch, unload, load, deliver.

    With `moves` it takes units from place to place, each with `pick` and `place`; in a `fixed_sequence` one
    after the other, for ever.  `grippers` are (station, gripper).  `speed` is the speed setting, 1 = full.
    """

    name: str
    serves: tuple[Criterion, ...] = ("downstream first", "longest waiting")
    listed: tuple[str, ...] = ()
    double_gripper: bool = False
    travel: tuple[tuple[str, str, int], ...] = ()
    starts_at: str = ""
    stops: tuple[Stop, ...] = ()
    moves: tuple[Move, ...] = ()
    pick: Law | None = None
    place: Law | None = None
    fixed_sequence: bool = False
    checks_target: bool = True
    grippers: tuple[tuple[str, str], ...] = ()
    gripper_change: int = 0
    mispicks: Mispicks | None = None
    speed: float = 1.0
    recovery: Recovery | None = None
    fetches_ahead: bool = False
    power: Power | None = None
