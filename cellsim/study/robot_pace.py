"""What makes robots slower than stated, on average: speed setting, picks that fail, people in their zones."""

from __future__ import annotations

from dataclasses import dataclass

from cellsim.describe import laws
from cellsim.describe.cell import Cell, Element, Mispicks, Robot
from cellsim.units import SECOND


@dataclass(frozen=True, slots=True)
class Misses:
    """Picks of a work element that fail: `retry_s` of retries, and `calls` for `who` each time it is done."""

    who: Mispicks
    robot: str
    retry_s: float
    calls: float


def attending(cell: Cell, element: Element) -> list[Robot]:
    """The robots that attend a work element."""
    names = {need.skill for need in element.by}
    return [robot for robot in cell.robots if robot.name in names]


def misses(cell: Cell, element: Element) -> Misses | None:
    """Retries and calls of an element with n picks, share p failing, retries that work with w, at most k.

    n p (1 + (1 - w) + ... + (1 - w)^(k - 1)) retries and n p (1 - w)^k calls.
    """
    for robot in attending(cell, element):
        if robot.mispicks is not None and element.picks:
            own = robot.mispicks
            failing = element.picks * own.share
            tries = sum((1 - own.works) ** k for k in range(own.retries))
            retry = own.retry / SECOND / robot.speed
            return Misses(own, robot.name, failing * tries * retry, failing * (1 - own.works) ** own.retries)
    return None


def slowness(cell: Cell, element: Element, inside: dict[str, float]) -> float:
    """How much longer than stated a robot needs for an element.

    The speed setting holds for all phases but work.  People are in zone z for the share `inside[z]` of the
    time, and the robots move at speed s meanwhile: 1 / (1 - sum of inside (1 - s)), as if they came at any
    time and never two at once.
    """
    slowest = 1.0
    for robot in attending(cell, element):
        own = 1.0 if element.phase == "work" else 1 / robot.speed
        lost = sum(inside[z.name] * (1 - z.speed) for z in cell.zones if robot.name in z.robots)
        slowest = max(slowest, own / (1 - lost) if lost < 1 else float("inf"))
    return slowest


def moves_s(robot: Robot, rates: list[float]) -> list[float]:
    """Seconds per good unit of each of a robot's moves, `rates` of them per good unit in their order.

    Pick, way, place, and the way to the start of the next move, as often as the rarer of the two.
    """
    ways = {(start, end): time / SECOND / robot.speed for start, end, time in robot.travel}
    found = []
    for k, (move, rate) in enumerate(zip(robot.moves, rates, strict=True)):
        after = (k + 1) % len(rates)
        handled = sum(laws.mean(law) for law in (robot.pick, robot.place) if law is not None)
        seconds = rate * (handled / SECOND / robot.speed + ways.get((move.start, move.end), 0.0))
        back = min(rate, rates[after]) * ways.get((move.end, robot.moves[after].start), 0.0)
        found.append(seconds + back)
    return found
