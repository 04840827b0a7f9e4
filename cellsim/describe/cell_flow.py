"""What flows through a resolved cell and by which ways: stores, variants, parts, carriers, tables."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from cellsim.describe.cell_work import Law, Need

RELEASE = "release"  # the implicit store in which raw units wait before the route begins
FINISHED = "finished"  # the implicit store that a unit enters when it leaves the cell
RAW = "raw:"  # RAW + line = the store, never empty, from which a line beside the route begins
OUT = "out:"  # OUT + line = the store that such a line's units leave by; they are not output of the cell
MOST_CARRIER_KINDS = 4

Supply = Literal["bins", "orders", "regular"]


@dataclass(frozen=True, slots=True)
class Store:
    """Places between stations.  `places` None = unlimited, 0 = direct hand-over.

    A unit can be taken `transit` + `stays` microseconds after it entered and holds its place meanwhile; one
    that has not been taken `use_within` microseconds after it entered goes to store `late`, or is scrapped
    when that is empty.  With `tray` units can be taken only once that many have gathered, or the first
    of them has waited for `tray_waits`; each of the `places / tray` trays comes back when it is empty.
    Without `overtaking` no station takes from it while one that asked before still waits.
    """

    name: str
    places: int | None
    starts_with: int = 0
    last_in_first_out: bool = False
    transit: int = 0
    stays: int = 0
    use_within: int | None = None
    late: str = ""
    tray: int = 0
    tray_waits: int | None = None
    overtaking: bool = True


@dataclass(frozen=True, slots=True)
class Variant:
    """One kind of the product, with its share of the units."""

    name: str
    share: float


@dataclass(frozen=True, slots=True)
class Sequence:
    """In which order the variants are released.

    `in ratio` spreads them as evenly as their shares allow, `at random` draws each, `campaigns` are
    (variant, units) in turn, repeated.  With `line_empties` no unit of the next variant is released while
    one of the last is inside.
    """

    order: Literal["in ratio", "at random", "campaigns"] = "in ratio"
    campaigns: tuple[tuple[str, int], ...] = ()
    line_empties: bool = False


@dataclass(frozen=True, slots=True)
class PurchasedPart:
    """A part that comes from outside, counted in pieces; `used_at` are (station, pieces per cycle).

    The pieces are taken at the start of the cycle.  In `bins`, each emptied bin of `box` pieces leaves with
    its last piece and comes back full; by `orders`, a box is ordered by the withdrawal that leaves
    `orders_at` pieces or fewer, if none is on order; `regular`, a box comes again and again.  `delivery` is
    how long it takes, or the time between regular ones; then, where somebody brings it, that person is called
    for a `trip`.
    """

    name: str
    used_at: tuple[tuple[str, int], ...]
    box: int
    supply: Supply
    delivery: Law
    starts_with: int
    bins: int = 0
    orders_at: int = 0
    brought_by: tuple[Need, ...] = ()
    trip: Law | None = None
    overtaking: bool = True
    priority: int = 1


@dataclass(frozen=True, slots=True)
class FinishedGoods:
    """Places for finished units behind the cell; `takes` of them (0 = all) are collected `every` so often.

    Where `by` says who collects, that person is called then and the places are free after the `trip`.  With
    no `every` nothing is collected.
    """

    places: int
    every: Law | None = None
    takes: int = 0
    by: tuple[Need, ...] = ()
    trip: Law | None = None


@dataclass(frozen=True, slots=True)
class Release:
    """How raw units come: as many as the cell takes, one every so often, at given times, by cards or plan.

    The plan is (time of day in microseconds after midnight, units that may be begun from then on).
    """

    kind: Literal["as much as it takes", "every", "at", "cards", "plan"] = "as much as it takes"
    every: Law | None = None
    at: tuple[int, ...] = ()  # microseconds after the start of the run
    cards: int = 0
    plan: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Carrier:
    """Pallets, fixtures or baskets: `count` of them in all.

    Each unit that station `start` takes is put on one (all units of a cycle together on one if
    `per_batch`), and taken off when a cycle of station `end` ends with it, or when it leaves the cell.  The
    carrier is there again `returns` after its last unit was taken off.
    """

    name: str
    count: int
    start: str
    end: str
    returns: Law
    per_batch: bool = False


@dataclass(frozen=True, slots=True)
class IndexingTable:
    """Stations in the order in which a unit meets them, whose units all move on at once in `index`."""

    name: str
    stations: tuple[str, ...]
    index: Law
