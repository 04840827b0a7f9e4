"""Two machines in series that one robot with a single gripper feeds in a fixed sequence; constant times.

Input, first machine, second machine and output stand in a row, neighbours one step apart.  The cycle is the
time between two units that leave, in the unit of the times.
"""

from __future__ import annotations

from cellsim.theory import arguments as check

SETHI = (
    "Sethi, S. P., Sriskandarajah, C., Sorger, G., Blazewicz, J. and Kubiak, W. (1992), Sequencing of parts "
    "and robot moves in a robotic cell, International Journal of Flexible Manufacturing Systems 4, 331-358 "
    "(formulas from memory)"
)


def follow_the_part(first: float, second: float, grip: float, step: float) -> float:
    """Cycle of a robot that stays with one unit from input to output, then goes back for the next.

    6 grips (a pick or a place each), 3 steps with the unit and 3 back, and both machines in full.

    Raises:
        ValueError: a time is negative.

    Source: Sethi et al. (1992), as SETHI.
    """
    a, b, e, d = _times(first, second, grip, step)
    return 6 * e + 6 * d + a + b


def unload_second_first(first: float, second: float, grip: float, step: float) -> float:
    """Cycle of a robot that loads the first machine, empties the second, then moves a unit between them.

    6 grips and 8 steps; it waits at a machine that needs more than the 4 steps and 2 grips of its absence
    from the first, or the 4 steps and 2 grips of that from the second.

    Raises:
        ValueError: a time is negative.

    Source: Sethi et al. (1992), as SETHI.
    """
    a, b, e, d = _times(first, second, grip, step)
    away = 4 * d + 2 * e
    return 6 * e + 8 * d + max(0.0, a - away, b - away)


def _times(*times: float) -> tuple[float, ...]:
    names = ("the time of the first machine", "that of the second", "a grip", "a step")
    return tuple(check.not_negative(name, time) for name, time in zip(names, times, strict=True))
