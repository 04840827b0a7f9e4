"""Known results of lots: moved on whole or in parts, unpacked, made with one setup each."""

from __future__ import annotations

from cellsim.published.cells import exponential
from cellsim.published.entry import Published, figure_of, one_number
from cellsim.theory import batching, stations

TOPIC = "Lots"
FLOW_SHOP = (
    "recurrence of the flow shop; Conway, R. W., Maxwell, W. L. and Miller, L. W. (1967), Theory of "
    "Scheduling, Addison-Wesley"
)
STREAMING = (
    FLOW_SHOP
    + "; equal sublots: Potts, C. N. and Baker, K. R. (1989), Flow shop scheduling with lot streaming, "
    "Operations Research Letters 8, 297-303 (from memory)"
)
BULK_INPUT = (
    "Gross, D. and Harris, C. M. (1974), Fundamentals of Queueing Theory, Wiley, chapter on bulk input (from "
    "memory)"
)
KARMARKAR = (
    "Karmarkar, U. S. (1987), Lot sizes, lead times and in-process inventories, Management Science 33(3), "
    "409-418 (from memory), with the wait by the formula of Pollaczek and Khinchine"
)


def one_lot(times: list[float], lot: int, moved: int) -> str:
    """A lot whose pieces are all there at first, moved on in transfer batches; minutes a piece."""
    names = [f"S{k}" for k in range(1, len(times) + 1)]
    trays = [f"after {name}" for name in names[:-1]]
    route = [name for pair in zip(names, [*trays, ""], strict=True) for name in pair if name]
    work = ", ".join(f"{name}: {{cycle: {time} min}}" for name, time in zip(names, times, strict=True))
    stores = ", ".join(f"{tray}: {{places: unlimited, tray: {moved}}}" for tray in trays)
    return f"""
cell: one lot
release: {{at: [{", ".join(["0 s"] * lot)}]}}
route: [{", ".join(route)}]
stations: {{{work}}}
stores: {{{stores}}}
study: {{run: 3 h, replications: 1}}
"""


def lots_unpacked(every: float, lot: int, study: str) -> str:
    """Lots that arrive as a whole and are worked unit by unit, exponential times of mean 1 s."""
    return f"""
cell: lots that are unpacked
release: {{every: {exponential(every)}}}
route: [unpack, queue, M]
stations: {{unpack: {{cycle: 1 us, gives: {lot}}}, M: {{cycle: {exponential(1)}}}}}
stores: {{queue: unlimited}}
study: {{{study}}}
"""


def lots_with_setup(every: float, lot: int, setup: float, study: str) -> str:
    """Lots that wait for a station, which sets up for each and then makes its pieces, 1 s each."""
    return f"""
cell: lots with a setup
release: {{every: {exponential(every)}}}
route: [M]
stations: {{M: {{cycle: 1 s, yields: {{units: {lot} per lot, change: {setup} s}}}}}}
study: {{{study}}}
"""


LOTS = [
    Published(
        id=f"a-lot-of-{lot}-moved-by-{moved}",
        topic=TOPIC,
        statement=f"{lot} pieces through {len(times)} empty stations, {', '.join(f'{t:g}' for t in times)} "
        f"min a piece, moved on by {moved}: when the last one is finished",
        cell=one_lot(times, lot, moved),
        quantity="last finished at, min",
        value=(value,),
        unit="min",
        source=STREAMING if 1 < moved < lot else FLOW_SHOP,
        formula=one_number(batching.lot_makespan, times, lot, moved),
    )
    for times, lot, moved, value in [
        ([1.0, 1.5, 0.8], 10, 1, 16.8),
        ([1.0, 1.5, 0.8], 10, 5, 24.0),
        ([1.0, 1.5, 0.8], 10, 10, 33.0),
        ([2.0, 2.0], 24, 1, 50.0),
        ([2.0, 2.0], 24, 6, 60.0),
        ([2.0, 2.0], 24, 24, 96.0),
    ]
]
UNPACKED = [
    Published(
        id="lots-of-4-worked-one-by-one",
        topic=TOPIC,
        statement="lots of 4 come as a Poisson stream, 0.3 units per s, and are worked unit by unit, "
        "exponential, mean 1 s: mean time of a unit (lot + 1) / (2 (1 - load))",
        cell=lots_unpacked(4 / 0.3, 4, "settle: 10 min, run: 55 h, replications: 32, seed: 2061"),
        quantity="mean time inside, s",
        value=25 / 7,
        unit="s",
        source=BULK_INPUT,
        formula=figure_of("time_in_system", batching.bulk_arrivals, 0.3, 4, 1),
    )
]
WITH_SETUP = [
    Published(
        id="wait-of-lots-with-a-setup",
        topic=TOPIC,
        statement="lots of 4 come as a Poisson stream, one each 16 s; a station needs 3 s of setup and 1 s a "
        "piece: mean wait of a lot, known relative to its time of 9.7 s",
        cell=lots_with_setup(16, 4, 3, "settle: 10 min, run: 30 h, replications: 32, seed: 2071"),
        quantity="mean time in the store, s",
        of="release",
        value=49 / 18,
        unit="s",
        source=KARMARKAR,
        formula=figure_of("wait", stations.mg1, 1 / 16, 3 + 4 * 1, 0),
        whole=49 / 18 + 7,
    )
]
ENTRIES = [*LOTS, *UNPACKED, *WITH_SETUP]
