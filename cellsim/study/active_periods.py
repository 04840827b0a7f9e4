"""Which machine is longest at work without waiting: active periods and the momentary bottleneck.

A machine is active while it works, is loaded or unloaded, is set up, serviced or repaired; it is not while it
waits for units, for a place, for material, a carrier or a lot, or for somebody who is elsewhere.  At each
moment the machine whose active period is longest is the bottleneck; when that period ends, the longest one
under way takes over, and while both last the bottleneck shifts.

Source: Roser, C., Nakano, M. and Tanaka, M. (2001), A practical bottleneck detection method, Winter
Simulation Conference, 949-953; (2002), Shifting bottleneck detection, Winter Simulation Conference, 1079-1086
(both from memory).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from cellsim.engine import layout as L
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.tables import FlatCell

Period = tuple[int, int]  # start and end
Link = tuple[int, Period]  # whose period

WAITING = frozenset(
    (
        L.M_STARVED,
        L.M_BLOCKED,
        L.M_WAITS_OPERATOR,
        L.M_WAITS_ROBOT,
        L.M_EMPTY_WAITS_ROBOT,
        L.M_WAITS_REPAIR,
        L.M_WAITS_MATERIAL,
        L.M_NO_LOT,
        L.M_WAITS_CARRIER,
    )
)
OFF_DUTY = frozenset((L.M_BREAK, L.M_OFF))


def merged(periods: Sequence[Period], start: int, end: int) -> list[Period]:
    """The parts of periods within a window, in order of time, those that touch or overlap as one.

    Raises:
        ValueError: a period ends before it begins.
    """
    found: list[Period] = []
    for begins, ends in sorted(periods):
        if ends < begins:
            raise ValueError(f"an active period begins at {begins} and ends before that, at {ends}")
        begins, ends = max(begins, start), min(ends, end)
        if begins >= ends:
            continue
        if found and begins <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], ends))
        else:
            found.append((begins, ends))
    return found


def bottleneck_chain(periods: Sequence[Sequence[Period]], start: int, end: int) -> list[Link]:
    """The bottleneck from the start to the end of a window: whose active period, one after the other.

    It begins with the longest period under way at the start, or else with the first to begin.  When a period
    ends, the longest one under way then is next.  Of equal periods the one named first counts.

    Args:
        periods: active periods of each machine; those that touch count as one.

    Raises:
        ValueError: the window has no length, or a period ends before it begins.
    """
    if end <= start:
        raise ValueError(f"a window from {start} to {end} has no length")
    rows = [merged(row, start, end) for row in periods]
    begins = [[period[0] for period in row] for row in rows]
    chain: list[Link] = []
    at = start
    while True:
        following = [bisect_right(row, at) for row in begins]
        running = [
            (who, row[k - 1])
            for who, (row, k) in enumerate(zip(rows, following, strict=True))
            if k and row[k - 1][1] > at
        ]
        if running:
            chain.append(max(running, key=lambda link: link[1][1] - link[1][0]))
            at = chain[-1][1][1]
            continue
        later = [row[k] for row, k in zip(begins, following, strict=True) if k < len(row)]
        if not later:
            return chain
        at = min(later)


@dataclass(frozen=True, slots=True)
class Shares:
    """Shares of a window in which somebody is the bottleneck: alone, and while it shifts.

    `both` is the sum of the time alone and of equal parts of the time in which it shifts between several, so
    that it adds up to the share of the window with a bottleneck.
    """

    sole: list[float]
    shifting: list[float]
    both: list[float]


def shares_of(chain: Sequence[Link], count: int, start: int, end: int) -> Shares:
    """The shares of a window by who of `count` the links of a chain belong to.

    Raises:
        ValueError: the window has no length.
    """
    if end <= start:
        raise ValueError(f"a window from {start} to {end} has no length")
    sole, shifting, both = [0.0] * count, [0.0] * count, [0.0] * count
    moments = sorted({moment for _, period in chain for moment in period})
    first = 0
    for at, until in pairwise(moments):
        while first < len(chain) and chain[first][1][1] <= at:
            first += 1
        now = set()
        for who, (begins, _) in chain[first:]:
            if begins > at:
                break
            now.add(who)
        part = (until - at) / (end - start)
        for who in now:
            (sole if len(now) == 1 else shifting)[who] += part
            both[who] += part / len(now)
    return Shares(sole, shifting, both)


@dataclass(frozen=True, slots=True)
class Watched:
    """Active periods of each machine in a window of one replication, in microseconds of working time."""

    periods: list[list[Period]]
    end: int
    events: int


def watch(flat: FlatCell, seed: int, replication: int, counted_from: int, horizon: int, most: int) -> Watched:
    """Run one replication and note when each machine was active, from where counting starts.

    Time in which all machines are off duty or in a break is left out; a machine that is off duty while others
    are not counts as active, since it waits for nobody.  It ends at the horizon, or at the next event after
    `most` events.
    """
    run = SimpyRun(flat, seed, replication)
    run.advance(counted_from)
    c, env = run.state, run.env
    periods: list[list[Period]] = [[] for _ in c.machines]
    before, first = counted_from, c.events
    clock = 0  # working time so far
    states = [m.state for m in c.machines]
    while True:
        at = int(min(env.peek(), horizon))
        if any(state not in OFF_DUTY for state in states):
            for row, state in zip(periods, states, strict=True):
                if state in WAITING:
                    continue
                if row and row[-1][1] == clock:
                    row[-1] = (row[-1][0], clock + at - before)
                else:
                    row.append((clock, clock + at - before))
            clock += at - before
        before = at
        if env.peek() > horizon or c.events - first >= most:
            return Watched(periods, clock, c.events - first)
        while env.peek() == at:
            env.step()
        states = [m.state for m in c.machines]
