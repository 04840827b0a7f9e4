"""What paper says of the output of a cell, to hold beside what is simulated.

Always a limit: nobody and no machine can work more than all of the time.  Where the cell is a plain line
also an estimate, exact or with the error that its method usually has.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from cellsim.describe.cell import Cell, Station
from cellsim.study.loading import loading
from cellsim.study.loads import Load, Loading
from cellsim.study.plain_line import NotPlain, plain_line

if TYPE_CHECKING:
    from cellsim.theory.estimates import UsualError

AGREED = 1e-9  # relative: loads and rates that are the same
LEAST_STEP = 1e-3  # the most that one round of the search for the limit takes off, as a factor
MOST_ROUNDS = 60


@dataclass(frozen=True, slots=True)
class Limit:
    """The most good units per working hour that the time of `who` allows: stations, posts or robots."""

    rate: float
    who: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Paper:
    """The limit, None where no flow is settled, and the estimate of good units per working hour.

    `how` says by which method in words; where there is no estimate it says what stands against one.
    """

    limit: Limit | None
    rate: float | None
    usual_error: UsualError | None
    how: str


def paper_check(cell: Cell) -> Paper:
    """What paper says of a cell, without any run; long-run figures."""
    try:
        line = plain_line(cell)
        from cellsim.study.line_estimate import line_estimate  # scipy is not loaded for other cells

        rate, error, how = line_estimate(line)
    except NotPlain as reason:
        return Paper(limit(cell), None, None, f"no formula for {reason}")
    except ArithmeticError as reason:
        return Paper(limit(cell), None, None, str(reason))
    return Paper(limit(cell), 3600 * rate, error, how)


def paper_figures(
    cell: Cell, output: Mapping[str, Any] | None = None, worked_h: float = math.inf
) -> dict[str, Any]:
    """The paper check in the keys of `result.json`, where there are runs beside their `output` per hour.

    `worked_h` is how many working hours each run counts; a unit more or less at its ends says nothing.

    `difference` is simulated less estimate as a share of the estimate.  `agrees` says that some rate in the
    interval of the runs differs from the estimate by no more than the usual error; `above_limit` that even
    the lower end of that interval lies above the limit.  Both are None without an interval.
    """
    paper = paper_check(cell)
    mean = output["mean"] if output else None
    low, high = output["interval"] if output else (None, None)
    found: dict[str, Any] = {
        "unit": "good units per working hour",
        "limit": None,
        "estimate": None,
        "how": paper.how,
    }
    if paper.limit is not None:
        found["limit"] = {
            "value": paper.limit.rate,
            "who": list(paper.limit.who),
            "above_limit": None if low is None else bool(low - 1 / worked_h > paper.limit.rate),
        }
    if paper.rate is not None and paper.usual_error is not None:
        least, most = (paper.rate / (1 + e / 100) for e in (paper.usual_error.high, paper.usual_error.low))
        found["estimate"] = {
            "value": paper.rate,
            "usual_error_percent": [paper.usual_error.low, paper.usual_error.high],
            "difference": None if mean is None else mean / paper.rate - 1,
            "agrees": None if low is None or high is None else bool(low <= most and least <= high),
        }
    return found


def limit(cell: Cell) -> Limit | None:
    """The most good units per working hour that the time of stations, people and robots allows.

    Mean times with scrap, rework, changeovers and stops; without walking, waiting, blocking and starving.
    Posts that can do the same count together.  What works in breaks too, or is relieved, sets no limit.

    Returns:
        None where the flow of every station is unsettled.
    """
    rate, who = 60.0, tuple[str, ...]()
    for _ in range(MOST_ROUNDS):
        found = _busiest(cell, loading(cell, rate), loading(cell, 2 * rate))
        if found is None:
            return None
        room, who = found
        rate *= max(1 + room, LEAST_STEP)
        if abs(max(share for share, _ in _shares(cell, loading(cell, rate))) - 1) <= AGREED:
            break
    return Limit(rate, who)


def _busiest(cell: Cell, at: Loading, at_twice: Loading) -> tuple[float, tuple[str, ...]] | None:
    """By what share of it the rate can rise until somebody reaches 100 %, and who that is; all equals.

    From the loads at a rate and at twice that rate, as if they were a straight line between.
    """
    found = [
        ((1 - share) / (twice - share), who)
        for (share, who), (twice, _) in zip(_shares(cell, at), _shares(cell, at_twice), strict=True)
        if twice > share
    ]
    if not found:
        return None
    room = min(found)[0]
    return room, tuple(name for other, who in found if other - room <= AGREED for name in who)


def _shares(cell: Cell, loads: Loading) -> Iterator[tuple[float, tuple[str, ...]]]:
    """The load without walking of each station and each group of posts or robots that sets a limit."""
    stations = {station.name: station for station in cell.stations}
    relieved = {name for post in cell.posts for name in (*post.relieves, *post.stands_in_for)}
    for load in loads.stations:
        if not _goes_on(cell, stations[load.name], relieved):
            yield _share([load]), (load.name,)
    for group in loads.groups:
        if not relieved & set(group):
            yield _share([loads.find(name) for name in group]), group


def _goes_on(cell: Cell, station: Station, relieved: set[str]) -> bool:
    """Whether a station works in breaks too."""
    attended = [need.skill for element in station.work for need in element.by]
    helped = {
        p.name for p in cell.posts if p.name in relieved and any(p.can_help(e.by) for e in station.work)
    }
    return station.runs_through_breaks or bool(attended and helped)


def _share(loads: Sequence[Load]) -> float:
    available = math.fsum(load.available_s for load in loads)
    needed = math.fsum(load.required_s(stops=True) - load.walking_s for load in loads)
    return needed / available if available > 0 else (math.inf if needed > 0 else 0.0)
