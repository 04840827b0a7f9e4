"""Stations of a resolved cell: work, rejects, faults, inspections, batches, changeovers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from cellsim.describe.cell_work import Element, Law, Need, Power, Stop

WayRule = Literal["", "first free", "shortest wait", "in turn"]


@dataclass(frozen=True, slots=True)
class Rejects:
    """What a station rejects and what becomes of it.

    Where the station inspects, what the unit hides decides; else exactly one of `share` (with
    `after_rework` from the second attempt on) and `verdicts` (given in order, repeated, True = good).  A
    rejected unit goes to store `to`, or stays for the element `repair` and is judged again, or is scrapped
    when there is neither.  After its `attempts`-th rejection in a row here it goes to store `then`, or is
    scrapped when `then` is empty; attempts count anew after that and after a good verdict.  `to` may be
    RELEASE: the unit then waits with the raw units for the first station, which takes it before them if it
    joins in front.
    """

    share: float = 0.0
    after_rework: float = 0.0
    verdicts: tuple[bool, ...] = ()
    to: str = ""
    attempts: int = 0  # 0: no limit
    in_front: bool = False  # where in `to` the unit joins
    holds: bool = False  # a unit on its way back to RELEASE stays on the station until it is taken over
    repair: Element | None = None
    then: str = ""
    then_in_front: bool = False


@dataclass(frozen=True, slots=True)
class Faults:
    """How the work of a station makes units faulty, which nobody sees.

    Each unit becomes faulty with `share`, with `after_rework` when it was here before, or as `listed` says
    in order, repeated (True = faulty).  In `lot_share` of the cycles all units of the cycle become faulty.
    Work that is done again takes away the fault that the station made before.
    """

    share: float = 0.0
    after_rework: float = 0.0
    listed: tuple[bool, ...] = ()
    lot_share: float = 0.0


@dataclass(frozen=True, slots=True)
class Inspection:
    """A look at what units hide: it finds a share of those made faulty by the stations `of`.

    It rejects the share `false_rejects` of the others.  Units that are on the station together are accepted
    or rejected together.
    """

    finds: float
    false_rejects: float
    of: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Samples:
    """Every `every`-th good unit is tested on the station.

    A sample that the test destroys, or that is faulty, is scrapped; the others go on.
    """

    every: int
    test: Element
    destroys: bool = False


@dataclass(frozen=True, slots=True)
class Outlet:
    """One store that a station's good units go to, with the share of units and where they join.

    With `variants` only units of these go here, and all of them do: no share is drawn.
    """

    store: str
    share: float = 1.0
    in_front: bool = False
    variants: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Batch:
    """Several units that are worked on together.

    A batch starts when `size` units of one variant (of any, if `mixed`) are there; when `at_least` are and
    the oldest of them has waited for `waits` microseconds; or when `at_least` are and one of the times of
    day `starts_at` (microseconds after midnight) has come since the last batch.
    """

    size: int
    at_least: int
    waits: int | None = None
    starts_at: tuple[int, ...] = ()
    mixed: bool = False
    by_variant: tuple[tuple[str, int], ...] = ()  # (variant, its size); `size` is then the largest


@dataclass(frozen=True, slots=True)
class Changeover:
    """What a machine needs to go over from one variant to another: `times` are (from, to, time).

    With `ahead` it goes over as soon as no unit of the old variant can still come, else when a unit of
    the new variant is there.  `approval` follows each changeover before work starts.
    """

    times: tuple[tuple[str, str, Law], ...]
    by: tuple[Need, ...] = ()
    ahead: bool = True
    approval: Law | None = None
    approved_by: tuple[Need, ...] = ()


@dataclass(frozen=True, slots=True)
class Yields:
    """The units that one bar, coil or sheet gives one after another, each with its own cycle.

    Before the first of them the bar is changed, which takes `change` and whoever is needed.  The unit that
    the station takes is the bar; it goes on as the first of the `units`.
    """

    per: str
    units: int
    change: Law
    by: tuple[Need, ...] = ()


@dataclass(frozen=True, slots=True)
class Lots:
    """A station that begins a lot of `of` units when the store behind it has fallen to `starts_at` units."""

    of: int
    starts_at: int


@dataclass(frozen=True, slots=True)
class Station:
    """One or several equal machines or benches that share a cycle, an input and an outlet."""

    name: str
    machines: int
    work: tuple[Element, ...]
    takes: tuple[tuple[str, int], ...]  # (store, units per cycle); the first is the unit that goes on
    gives: int
    outlets: tuple[Outlet, ...]
    reserves_outlet: bool = False
    one_visit: bool = False  # unload and the next load are one call
    runs_through_breaks: bool = False
    priority: int = 1
    stops: tuple[Stop, ...] = ()
    rejects: Rejects | None = None
    batch: Batch | None = None
    changeover: Changeover | None = None
    only: tuple[str, ...] = ()  # the variants that it takes; empty = all
    allowance: float = 0.0  # added to the times of what persons attend, as a share of them
    faults: Faults | None = None
    inspects: Inspection | None = None
    mends: float = 0.0  # share of faulty units that its rework, or its repair in place, puts right
    samples: Samples | None = None
    yields: Yields | None = None
    lots: Lots | None = None
    chooses: WayRule = ""  # which outlet a unit goes to; "" = by their shares or variants
    power: Power | None = None

    @property
    def extra(self) -> tuple[Element, ...]:
        """The elements after the cycle, for units that need them: repair in place, test of a sample."""
        repair = self.rejects.repair if self.rejects else None
        test = self.samples.test if self.samples else None
        return tuple(element for element in (repair, test) if element is not None)
