"""How far who attends several points walks per good unit."""

from __future__ import annotations

from collections.abc import Mapping

from cellsim.describe.cell import Cell


def walked(cell: Cell, calls: Mapping[str, float], ways: Mapping[tuple[str, str], float]) -> float:
    """Seconds per good unit of a round through all points attended, in the order of the route.

    `calls` of each point per good unit, `ways` from point to point in seconds.  Each way of the round is gone
    as often as the rarer of its two ends is attended.
    """
    order = [station.name for station in cell.stations]
    points = sorted(calls, key=lambda p: (order.index(p) if p in order else -1, p))
    legs = zip(points, points[1:] + points[:1], strict=True) if len(points) > 1 else ()
    return sum(min(calls[a], calls[b]) * ways.get((a, b), 0.0) for a, b in legs)
