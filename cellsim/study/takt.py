"""The takt of a cell: net available time by demand, and how both came about."""

from __future__ import annotations

import math
from typing import Any

from cellsim.describe.cell import Cell, Shift
from cellsim.describe.shifts import mean_working_time, working_time
from cellsim.errors import UsageError
from cellsim.units import DAY, HOUR, MINUTE, SECOND, UnitError, parse_rate, parse_share

LEAST_RATE, MOST_RATE = 0.001, 1e9  # per hour, as the number of a rate that is given as text


def per_hour(given: float | str, option: str, shifts: tuple[Shift, ...] = ()) -> float:
    """A rate per hour from a number or a text: `115 per h`, or `900 per shift` where there are `shifts`.

    Raises:
        UsageError: it is none, or too low or too high to be meant; `option` says of what.
    """
    if not isinstance(given, str):
        if not 0 < given < math.inf:
            raise UsageError(f"{option} {given}: a rate above 0 is wanted")
        if not LEAST_RATE <= given <= MOST_RATE:
            raise UsageError(
                f"{option} {given:g}: a rate between {LEAST_RATE:g} and {MOST_RATE:g} per h is wanted"
            )
        return float(given)
    try:
        rate = parse_rate(given)
    except UnitError as error:
        raise UsageError(f"{option}: {error}") from None
    if rate.per is None and not shifts:
        raise UsageError(f"{option}: a rate per time is wanted, for example 115 per h")
    return float(rate.count) * HOUR / (rate.per or mean_working_time(shifts))


def efficiency(given: float | str, option: str) -> float:
    """A planned efficiency, planned cycle / takt, from a number or a text such as `90 %`.

    Raises:
        UsageError: it does not lie above 0 and at most at 1; `option` says of what.
    """
    try:
        share = parse_share(given) if isinstance(given, str) else float(given)
    except UnitError as error:
        raise UsageError(f"{option}: {error}") from None
    if not 0 < share <= 1:
        raise UsageError(f"{option} {given}: a share above 0 and at most 100 % is wanted")
    return share


def takt_figures(cell: Cell, rate: float, started: float, planned: float | None) -> dict[str, Any]:
    """Takt = net available time / demand, for good units and for units that are started.

    Args:
        rate: good units per working hour.
        started: units started per good unit, above 1 where some are scrapped; 0 where nothing settles it.
        planned: planned cycle / takt; None where no efficiency is planned.

    Returns:
        Seconds, minutes and counts, with the unit in each key.  `shifts` is empty where the cell works round
        the clock; `demand` of a shift = rate x its net available hours.  None for what nothing settles.
    """
    takt = 3600 / rate
    return {
        "takt_s": takt,
        "demand_per_hour": rate,
        "started_per_good": started or None,
        "started_per_hour": rate * started or None,
        "takt_of_started_s": takt / started if started else None,
        "planned_efficiency": planned,
        "planned_cycle_s": None if planned is None else takt * planned,
        "shifts": [_shift(shift, rate) for shift in cell.shifts],
        "longest_pause_h": longest_pause_s(cell) / 3600,
    }


def _shift(shift: Shift, rate: float) -> dict[str, Any]:
    net = working_time(shift)
    return {
        "name": shift.name,
        "days_per_week": len(shift.days),
        "length_min": (shift.end - shift.start) / MINUTE,
        "breaks_min": [length / MINUTE for _, length in shift.breaks],
        "start_up_min": shift.start_up / MINUTE,
        "clean_up_min": shift.clean_up / MINUTE,
        "hand_over_min": shift.hand_over / MINUTE,
        "net_min": net / MINUTE,
        "demand": rate * net / SECOND / 3600,
    }


def longest_pause_s(cell: Cell) -> float:
    """The longest time in seconds without a shift, in a week that repeats; 0 without shifts."""
    week = 7 * DAY
    spans = sorted((d * DAY + s.start, d * DAY + s.end) for s in cell.shifts for d in s.days)
    if not spans:
        return 0.0
    longest, end = 0, spans[0][1]
    for start, until in [*spans[1:], (spans[0][0] + week, spans[0][1] + week)]:
        longest, end = max(longest, start - end), max(end, until)
    return longest / SECOND
