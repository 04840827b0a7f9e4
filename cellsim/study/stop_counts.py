"""How often stops, and trips with parts or finished units, come per good unit."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from cellsim.describe import laws
from cellsim.describe.cell import FinishedGoods, PurchasedPart, Stop
from cellsim.units import SECOND


def stop_count(
    stop: Stop,
    running: float,
    cycles: float,
    units: float,
    machines: int,
    takt: float,
    week: float,
    breaks: Sequence[float],
    response: float,
) -> float:
    """Stops of one cause per good unit, on all machines together.

    `running` seconds, `cycles` and `units` are those of all machines per good unit; `takt`, `week`, the
    working time of a week, and the mean `response` of whoever repairs in seconds; `breaks` are the lengths
    of all breaks of a week.  Running time: work / mean time between.  Cycles or units: their number / mean
    count between.  On time: takt x machines / (mean time between + mean response + mean length), since its
    clock stands still during the stop, x `on_of_working`.  Times of the week: their number / good units in a
    week, on each machine.
    """
    every, lasts = laws.mean(stop.every), laws.mean(stop.lasts) / SECOND
    if stop.at:
        return len(stop.at) * machines * takt / week
    if stop.clock == "cycles":
        return cycles / every
    if stop.clock == "units":
        return units / every
    if stop.clock == "running":
        return running / (every / SECOND)
    on = on_of_working(every / SECOND, bool(stop.repaired_by), week, breaks)
    return takt * on * machines / (every / SECOND + response + lasts)


def on_of_working(every: float, by_people: bool, week: float, breaks: Sequence[float]) -> float:
    """On time that counts towards a stop, as a multiple of the working time.

    The clock goes on in breaks.  Where people repair, a stop that comes in a break waits until its end, so of
    a break of length b only every x (1 - exp(-b / every)) counts in the mean (memoryless times between
    stops).
    """
    counted = (every * -math.expm1(-length / every) if by_people else length for length in breaks)
    return 1 + sum(counted) / week


def trips_with_parts(part: PurchasedPart, cycles: Mapping[str, float], takt: float) -> float:
    """Trips per good unit with boxes of a part: pieces used / box, or takt / time between regular deliveries.

    `cycles` of each station per good unit, `takt` in seconds.
    """
    if part.supply == "regular":
        return takt / (laws.mean(part.delivery) / SECOND)
    return sum(cycles[station] * pieces for station, pieces in part.used_at) / part.box


def trips_for_finished(goods: FinishedGoods, takt: float) -> float:
    """Trips per good unit on which finished units are collected; 0 where nothing is."""
    return takt / (laws.mean(goods.every) / SECOND) if goods.every else 0.0
