"""Cells of one station and the queue before it; the rates are per second, the mean times in seconds."""

from __future__ import annotations

from cellsim.published.cells import exponential

TOPIC = "Stations and their queues"
WAIT, WAITING = "mean time in the store, s", "mean number in the store"
PAST = "mean number past the station"
TOKENS = "share of time without a free carrier"
BLOCKED, NO_LINE = "share of time blocked", "share of time waiting for a carrier"


def poisson(rate: float) -> str:
    """Exponential times between arrivals, as a law."""
    return exponential(round(1 / rate, 6))


def erlang(mean: float, phases: int) -> str:
    """Erlang times, as a law."""
    return f"{{law: erlang, mean: {mean} s, phases: {phases}}}"


def queue(arrivals: str, service: str, study: str, servers: int = 1, tokens: bool = False) -> str:
    """Units come by a law, wait in the store `release` and are served by one of the servers M.

    With tokens a server takes one for each unit in service, so that none is free when all serve.
    """
    held = f"\ncarriers: {{tokens: {{count: {servers}, from: M, to: M}}}}" if tokens else ""
    return f"""
cell: {servers} servers with one queue
release: {{every: {arrivals}}}
route: [M]
stations: {{M: {{machines: {servers}, cycle: {service}}}}}{held}
study: {{{study}}}
"""


def limited_queue(rate: float, service: float, servers: int, places: int, study: str) -> str:
    """Poisson arrivals that stop while all places, those of the servers M included, are taken.

    The arrivals are the cycles of station A; a unit that it holds back takes the last of the places.
    """
    return f"""
cell: limited number of places
route: [A, room, M]
stations: {{A: {{cycle: {poisson(rate)}}}, M: {{machines: {servers}, cycle: {exponential(service)}}}}}
stores: {{room: {places - servers - 1}}}
study: {{{study}}}
"""


def lost_calls(rate: float, service: str, lines: int, study: str) -> str:
    """Poisson arrivals that stop while all lines are taken, nobody waiting.

    The arrivals are the cycles of station A, for which a line must be free.
    """
    return f"""
cell: lost calls
route: [A, M]
stations: {{A: {{cycle: {poisson(rate)}}}, M: {{machines: {lines}, cycle: {service}}}}}
carriers: {{lines: {{count: {lines}, from: A, to: M}}}}
study: {{{study}}}
"""


def delay(time: str, study: str) -> str:
    """Poisson arrivals, one a second, each of which stays a fixed time; nobody waits for anybody."""
    return f"""
cell: a stay without waiting
release: {{every: {poisson(1)}}}
route: [in, rack, out]
stations: {{in: {{cycle: 0 s}}, out: {{cycle: 0 s}}}}
stores: {{rack: {{places: unlimited, stays: at least {time}}}}}
study: {{{study}}}
"""
