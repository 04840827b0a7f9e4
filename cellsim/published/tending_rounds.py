"""Known results of one person or robot who goes round machines in a fixed order."""

from __future__ import annotations

from functools import partial

from cellsim.published.rows import row
from cellsim.published.tending import TOPIC
from cellsim.theory import interference as theory

MACK = (
    "Mack, C., Murphy, T. and Webb, N. L. (1957), The efficiency of N machines uni-directionally patrolled "
    "by one operative when walking time and repair times are constants, Journal of the Royal Statistical "
    "Society B 19, 166-172 (from memory)"
)
CHART = (
    "multiple-activity (man-machine) chart, as in Freivalds, A., Methods, Standards and Work Design (1998 "
    "and later), synchronous servicing (book seen, passage not read)"
)

known = partial(row, TOPIC)


def patrol(machines: int, run: float, service: float, walk: float, study: str) -> str:
    """An operator walks round machines without stopping and serves those that stand when he comes (seconds).

    The one unit of machine k runs at R and comes to V when the machine stops; it goes back when V has been
    served.  The way to each machine is work at W, which can always begin, while a V without a unit is passed.
    """
    numbers = range(1, machines + 1)
    order = ", ".join(f"W{k}, V{k}" for k in numbers)
    lines = ", ".join(f"machine {k}: [from V{k}, R{k}, to V{k}, V{k}], way {k}: [W{k}]" for k in numbers[1:])
    stations = "".join(
        f"""
  W{k}: {{cycle: {walk} s, by: operator, goes_to: finished}}
  R{k}: {{cycle: {{law: exponential, mean: {run} s}}}}
  V{k}: {{cycle: {service} s, by: operator, goes_to: from V{k}}}"""
        for k in numbers
    )
    stores = ", ".join(f"from V{k}: {{places: 1, starts_with: 1}}, to V{k}: 1" for k in numbers)
    return f"""
cell: patrol
crew: {{operator: {{serves: fixed round, order: [{order}]}}}}
route: [W1]
lines: {{machine 1: [from V1, R1, to V1, V1], {lines}}}
stations: {stations}
stores: {{{stores}}}
study: {{{study}}}
"""


def round_trip(machines: int, run: float, service: float, walk: float) -> str:
    """A robot goes round machines, waits at each until it is ready, unloads and loads it (seconds).

    The walk to the next machine is the end of each visit, so that the robot waits there and not here.
    """
    numbers = range(1, machines + 1)
    stations = "".join(
        f"""
  M{k}:
    cycle: {run} s
    goes_to: finished
    visit: {{by: R, unload: {service / 2} s, load: {service / 2} s, return: {walk} s}}"""
        for k in numbers
    )
    lines = ", ".join(f"line {k}: [M{k}]" for k in numbers[1:])
    return f"""
cell: round trip
robots: {{R: {{serves: fixed round, order: [{", ".join(f"M{k}" for k in numbers)}]}}}}
route: [M1]
lines: {{{lines}}}
stations: {stations}
study: {{settle: 10 min, run: 3 h, replications: 2, seed: 442}}
"""


ROUNDS = [
    known(
        "patrol-of-four-machines-running",
        "an operator walks round 4 machines all the time, 0.5 min a step, serves those that stand, 3 min; "
        "runs exponential, 20 min: running share (1 min lasts 1 s)",
        0.7881674066,
        patrol(4, 20, 3, 0.5, "settle: 10 min, run: 3 h, replications: 32, seed: 440"),
        "share of time at work",
        "R1",
        lambda: theory.patrol(4, 20, 3, 0.5).running,
        MACK,
    ),
    known(
        "patrol-of-eight-machines-running",
        "the same with 8 machines, 0.25 min a step, 4 min of service and runs of 60 min",
        0.8942857371,
        patrol(8, 60, 4, 0.25, "settle: 20 min, run: 3 h, replications: 32, seed: 441"),
        "share of time at work",
        "R1",
        lambda: theory.patrol(8, 60, 4, 0.25).running,
        MACK,
    ),
    known(
        "round-of-four-machines-output",
        "a robot goes round 4 machines: 2 min alone, 0.5 min to unload and load, 0.1 min to the next, "
        "constant: N in max(s + m, N (s + w)) (1 min lasts 1 s)",
        1.6,
        round_trip(4, 2, 0.5, 0.1),
        "units per second",
        "",
        lambda: theory.cyclic_tending([2] * 4, [0.5] * 4, [0.1] * 4).output,
        CHART,
        unit="units per min",
    ),
    known(
        "round-of-three-machines-output",
        "the same with 3 machines that run alone for 4 min",
        2 / 3,
        round_trip(3, 4, 0.5, 0.1),
        "units per second",
        "",
        lambda: theory.cyclic_tending([4] * 3, [0.5] * 3, [0.1] * 3).output,
        CHART,
        unit="units per min",
    ),
]
ENTRIES = ROUNDS
