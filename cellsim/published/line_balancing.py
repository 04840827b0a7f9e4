"""Line balancing: known instances with their fewest stations, and balances that rules come to by hand."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from cellsim.published.entry import EXACT, Published
from cellsim.theory.balancing import Work, balance_efficiency, bounds, loads
from cellsim.theory.balancing_rules import assigned, positional_weights, rules
from cellsim.theory.exact_balancing import fewest_stations

TOPIC = "Line balancing"

JACKSON = "Jackson, J. R., A computing procedure for a line balancing problem, Management Science 2 (1956)"
BOWMAN = "Bowman, E. H., Assembly-line balancing by linear programming, Operations Research 8 (1960)"
SCHOLL = (
    "fewest stations as in Scholl, A., Balancing and Sequencing of Assembly Lines (1999) (data and stations"
    " from memory)"
)
GROOVER = "Groover, M. P., Automation, Production Systems and CIM, small electrical appliance (from memory)"
HEIZER = "Heizer, J. and Render, B., Operations Management, wing component (from memory)"
CHASE = "Chase, R. B. and Jacobs, F. R., Operations Management, Model J wagon (from memory)"
EXERCISE = "exercise of operations management texts on balancing an assembly line"
BY_HAND = "worked out by hand"


def instance(times: Sequence[int], arcs: str) -> Work:
    """Elements numbered from 1; `1-2` in the text of arcs says that 1 is done before 2."""
    pairs = [tuple(int(part) - 1 for part in arc.split("-")) for arc in arcs.split()]
    return Work(tuple(times), tuple((i, j) for i, j in pairs))


JACKSON_11 = instance(
    (6, 2, 5, 7, 1, 2, 3, 6, 5, 5, 4), "1-2 1-3 1-4 1-5 2-6 3-7 4-7 5-7 6-8 7-9 8-10 9-11 10-11"
)
BOWMAN_8 = instance((11, 17, 9, 5, 8, 12, 10, 3), "1-2 2-3 2-4 3-5 3-6 4-6 5-7 6-8")
APPLIANCE = instance(  # in 0.01 min
    (20, 40, 70, 10, 30, 11, 32, 60, 27, 38, 50, 12),
    "1-3 1-4 2-4 2-5 3-6 3-7 3-8 4-8 6-9 7-9 8-9 5-10 8-10 9-11 10-11 11-12",
)
WING = instance((10, 11, 5, 4, 12, 3, 7, 11, 3), "1-2 2-3 2-4 1-5 3-6 4-6 6-7 5-8 7-9 8-9")
WAGON = instance(
    (45, 11, 9, 50, 15, 12, 12, 12, 12, 8, 9), "1-2 2-3 4-5 3-6 3-7 5-8 5-9 6-10 7-10 8-10 9-10 10-11"
)
SEVEN = instance((40, 45, 55, 55, 65, 40, 25), "1-3 2-4 2-5 3-6 4-6 4-7 5-7")
BELL = Work((2200, 2400, 2121, 1717, 2200))  # 0.01 s


def stations(work: Work, *cycles: int) -> Callable[[], tuple[float, ...]]:
    """Fewest stations for these cycles, proven."""

    def found() -> tuple[float, ...]:
        balances = [fewest_stations(work, cycle) for cycle in cycles]
        return tuple(float(one.bound) if one.proved else float("nan") for one in balances)

    return found


def by_rule(work: Work, rule: str, cycle: int, unit: float) -> Callable[[], tuple[float, ...]]:
    """Loads of the stations that a rule fills, in units of so much."""

    def found() -> tuple[float, ...]:
        seats = assigned(work, cycle, rules(work)[rule])
        return () if seats is None else tuple(load * unit for load in loads(work, seats))

    return found


def efficiency(content: float, cycle: float, *counts: int) -> Callable[[], tuple[float, ...]]:
    """Balance efficiency with these numbers of stations."""
    return lambda: tuple(balance_efficiency(content, count, cycle) for count in counts)


def least(work: Work, cycle: int) -> Callable[[], tuple[float, ...]]:
    """The bounds by work content and by long elements."""
    return lambda: (float(bounds(work, cycle).content), float(bounds(work, cycle).large))


ROWS: tuple[
    tuple[str, str, tuple[float, ...], str, str, float, Callable[[], tuple[float, ...]]], ...
] = (
    (
        "jackson-fewest-stations", "11 elements of Jackson: fewest stations at 7, 9, 10, 13, 14 and 21",
        (8, 6, 5, 4, 4, 3), "stations", f"{JACKSON}; {SCHOLL}", 0, stations(JACKSON_11, 7, 9, 10, 13, 14, 21),
    ),
    (
        "bowman-fewest-stations", "8 elements of Bowman: fewest stations at 20, the work being 3.75 cycles",
        (5,), "stations", f"{BOWMAN}; {SCHOLL}", 0, stations(BOWMAN_8, 20),
    ),
    (
        "appliance-positional-weights", "12 elements of a small appliance: ranked positional weights",
        (3.30, 2.67, 3.00, 1.97, 1.30, 1.00, 1.21, 1.87, 0.89, 1.00, 0.62, 0.12), "min", GROOVER, 1e-9,
        lambda: tuple(float(weight) / 100 for weight in positional_weights(APPLIANCE)),
    ),
    (
        "appliance-by-positional-weights", "the same at 1 min by ranked positional weights: loads",
        (0.90, 0.91, 0.92, 0.65, 0.62), "min", GROOVER, 1e-9,
        by_rule(APPLIANCE, "ranked positional weight", 100, 0.01),
    ),
    (
        "wing-component-stations", "wing component, 66 min of work at 12 min: fewest stations", (6,),
        "stations", HEIZER, 0, stations(WING, 12),
    ),
    (
        "wing-component-efficiency", "the same: efficiency of six stations", (0.917,), "", HEIZER,
        0.0005 / 0.917, efficiency(66, 12, 6),
    ),
    (
        "wagon-by-most-followers", "Model J wagon at 50.4 s by most followers, then longest time: loads",
        (45, 50, 47, 44, 9), "s", CHASE, 0, by_rule(WAGON, "most followers", 50, 1),
    ),
    (
        "wagon-efficiency", "the same: efficiency of five stations", (0.77,), "", CHASE, 0.005 / 0.77,
        efficiency(195, 50.4, 5),
    ),
    (
        "seven-elements-fewest-stations", "seven elements, 325 s, at a takt of 120 s: fewest stations", (3,),
        "stations", EXERCISE, 0, stations(SEVEN, 120),
    ),
    (
        "bell-four-or-five", "a bell of 106.38 s at 30 s: efficiency of four and of five people, 3 digits",
        (0.8865, 0.7092), "", BY_HAND, 1e-4, efficiency(106.38, 30, 4, 5),
    ),
    (
        "bell-least-people", "the same, least people: by work content, and as no two of the five fit in 30 s",
        (4, 5), "people", BY_HAND, 0, least(BELL, 3000),
    ),
)  # fmt: skip

ENTRIES = [
    Published(
        id=id,
        topic=TOPIC,
        statement=statement,
        value=value,
        unit=unit,
        source=source,
        exactness=EXACT if rounding < 1e-6 else "rounded",
        formula=formula,
        rounding=rounding,
    )
    for id, statement, value, unit, source, rounding, formula in ROWS
]
