"""From the replications of a cell to a verdict on one value: does the interval agree, and is it sharp?"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from published_values import FALSE_ALARM, PUBLISHED, TOPS, Published

from cellsim.engine import layout as L
from cellsim.engine.record import Record
from cellsim.engine.tables import FlatCell
from cellsim.study.plan import Plan
from cellsim.study.statistics import t_interval
from cellsim.units import HOUR

# Every value is judged once against the simulator, those of the spinning top once more against a recursion.
CHECKS = len(PUBLISHED) + len(TOPS)
LEVEL = 1 - FALSE_ALARM / CHECKS  # Bonferroni: all intervals together hold with a chance of 99 %
SHARPNESS_LEVEL = 0.99
NOT_AVAILABLE = (L.M_DOWN, L.M_WAITS_REPAIR)

Quantity = Callable[[FlatCell, Plan, Record, str], float]


def units_per_hour(flat: FlatCell, plan: Plan, record: Record, station: str) -> float:
    """Good units per hour of counted time."""
    return sum(record.hourly) * HOUR / plan.worked


def units_per_minute(flat: FlatCell, plan: Plan, record: Record, station: str) -> float:
    """Good units per minute of counted time."""
    return units_per_hour(flat, plan, record, station) / 60


def availability(flat: FlatCell, plan: Plan, record: Record, station: str) -> float:
    """Share of the counted time in which a machine is not stopped, mean of all machines."""
    stopped = sum(totals[state] for totals in record.machines for state in NOT_AVAILABLE)
    return 1 - stopped / sum(map(sum, record.machines))


def path_share_of_work(flat: FlatCell, plan: Plan, record: Record, station: str) -> float:
    """Share of a station's work in the critical path of the counted time."""
    return record.path[flat.names.causes.index((station, "work"))] / record.path_elapsed


QUANTITIES: dict[str, Quantity] = {
    "units per hour": units_per_hour,
    "units per minute": units_per_minute,
    "availability": availability,
    "path share of work": path_share_of_work,
}


@dataclass(frozen=True, slots=True)
class Verdict:
    """What independent measurements say about a value.

    `half_width` is that of the 99 % interval, relative to the scale of the value; `low` and `high` are the
    ends of the interval that decides.  It agrees if it meets the value with its tolerance to both sides.
    """

    measured: float
    half_width: float
    low: float
    high: float
    agrees: bool

    def accepts(self, sharpness: float) -> bool:
        """Whether the value is inside an interval that is at most so wide to each side."""
        return self.agrees and self.half_width <= sharpness


def verdict(
    values: Sequence[float], value: float, *, tolerance: float = 0.0, scale: float = 0.0, level: float = LEVEL
) -> Verdict:
    """Judge a value by independent measurements of it; `scale` is what half widths are relative to."""
    interval, narrow = t_interval(values, level), t_interval(values, SHARPNESS_LEVEL)
    low, high, half = interval.low, interval.high, narrow.half_width
    assert low is not None and high is not None and half is not None, "one measurement has no interval"
    band = tolerance * value
    agrees = low <= value + band and high >= value - band
    return Verdict(interval.mean, half / (scale or value), low, high, agrees)


def judge(entry: Published, values: Sequence[float], value: float | None = None) -> Verdict:
    """Judge the value of an entry, or another one in its place, by measurements of its quantity."""
    stated = entry.value if value is None else value
    return verdict(values, stated, tolerance=entry.tolerance, scale=entry.scale)


def measurements(entry: Published, flat: FlatCell, plan: Plan, records: Sequence[Record]) -> list[float]:
    """The quantity of an entry in each replication."""
    quantity = QUANTITIES[entry.quantity]
    return [quantity(flat, plan, record, entry.station) for record in records]
