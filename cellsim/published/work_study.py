"""Work study: standard times, learning, takt and balance, moves and walks."""

from __future__ import annotations

from cellsim.describe.resolve import load_text
from cellsim.published.cells import in_a_row
from cellsim.published.figures import alone, figure, paper
from cellsim.study.loading import loading

TOPIC = "Work study and key figures"

ILO = (
    "International Labour Office, Introduction to Work Study: standard time = basic time x (1 + relaxation + "
    "contingency allowance); basic time = observed x rating"
)
HEIZER = "Heizer, J. and Render, B., Operations Management, work measurement example (from memory)"
UNIT_CURVE = (
    "unit (Crawford) curve, unit n takes n^log2(rate): coefficient tables of operations management textbooks "
    "(Heizer and Render, Stevenson); RAND RM-6191, Learning-Curve Tables (1970) (from memory)"
)
BALANCED = "exercise of operations management texts on balancing an assembly line"
BY_HAND = "worked out by hand"


def by_hand(basic_min: float, allowance: int) -> str:
    """One station that a person attends for this basic time, with an allowance in per cent."""
    return f"""
cell: basic time
allowance: {allowance} %
crew: {{anna: [fit]}}
route: [fit]
stations: {{fit: {{cycle: {basic_min} min}}}}
study: {{run: 3 h}}
"""


STANDARD_TIMES = [
    figure(
        TOPIC,
        f"standard-time-{words}",
        f"{observed} min observed, rating {rating} %, allowances {allowance} % of basic time: standard time",
        standard,
        "min",
        source,
        by_hand(basic, allowance),
        "time inside, min",
        formula=alone(paper(by_hand(basic, allowance), lambda found: found.find("fit").work_s / 60, 1)),
    )
    for words, observed, rating, basic, allowance, standard, source in (
        ("quick", 0.16, 125, 0.2, 15, 0.23, ILO),
        ("slow", 1.5, 95, 1.425, 15, 1.63875, ILO),
        ("with-contingency", 0.8, 110, 0.88, 16, 1.0208, ILO),
        ("on-basic-time", 4.0, 85, 3.4, 13, 3.842, HEIZER),
    )
]


def learner(rate: int, settle: float, run: float) -> str:
    """A person who needs 100 min for his first unit and the standard time for the 32nd."""
    standard = 100 * (rate / 100) ** 5
    return f"""
cell: learner
crew: {{anna: {{works_at: fit, learning: {{rate: {rate} %, standard_after: 32}}}}}}
route: [fit]
stations: {{fit: {{cycle: {standard:.10g} min}}}}
study: {{settle: {settle} min, run: {run} min}}
"""


LEARNING = [
    figure(
        TOPIC,
        f"learning-{rate}-{id}",
        f"{rate} % unit curve, first unit 100 min: {what}",
        left,
        "min",
        UNIT_CURVE,
        learner(rate, settle, run),
        quantity,
    )
    for rate, id, what, settle, run, quantity, left in (
        (80, "times", "times of units 1 to 5", 0, 374, "time inside of each, min",
         (100, 80, 70.2103702779, 64, 59.5637343613)),
        (80, "sums", "units 1 to 5 are done at", 0, 374, "finished at, min",
         (100, 180, 250.210370278, 314.210370278, 373.774104639)),
        (80, "ten", "unit 10 is done at", 584, 48, "finished at, min", (631.537301762,)),
        (80, "thirty", "unit 30 is done at", 1369, 34, "finished at, min", (1401.98934745,)),
        (85, "times", "times of units 1 to 5", 0, 404, "time inside of each, min",
         (100, 85, 77.2914836698, 72.25, 68.5671061561)),
        (85, "sums", "units 1 to 5 are done at", 0, 404, "finished at, min",
         (100, 185, 262.29148367, 334.54148367, 403.108589826)),
        (85, "ten", "unit 10 is done at", 654, 58, "finished at, min", (711.606272668,)),
        (85, "thirty", "unit 30 is done at", 1665, 45, "finished at, min", (1709.06584694,)),
    )
]  # fmt: skip

SEVEN_ELEMENTS = """
cell: seven elements
target: 240 per shift
shifts: {day: {from: 06:00, to: 14:00}}
crew: {one: [BE], two: [ADG], three: [CF]}
route: [BE, ADG, CF]
stations:
  BE: {work: [{do: B, time: 45 s, by: one}, {do: E, time: 65 s, by: one}]}
  ADG: {work: [{do: A, time: 40 s, by: two}, {do: D, time: 55 s, by: two}, {do: G, time: 25 s, by: two}]}
  CF: {work: [{do: C, time: 55 s, by: three}, {do: F, time: 40 s, by: three}]}
study: {settle: 1 h, run: 4 h}
"""
TEN_ELEMENTS = (
    "target: 32 per shift\nshifts: {day: {from: 06:00, to: 19:20}}\ncrew: {op: {people: 5}}\n"
    + in_a_row([f"cycle: {time} min, by: op" for time in (25, 23, 22, 15, 12)], [0] * 4)
    + "study: {settle: 125 min, run: 500 min}\n"
)


def with_breaks(units: int) -> str:
    """A shift of 480 min with 60 min of breaks."""
    return f"""
cell: takt
target: {units} per shift
shifts: {{day: {{from: 06:00, to: 14:00, breaks: [{{at: 09:00, for: 20 min}}, {{at: 11:00, for: 40 min}}]}}}}
route: [fit]
stations: {{fit: {{cycle: 40 s}}}}
"""


SEVEN = "seven elements of 325 s in all, 240 units in 480 min"
TEN = "ten elements of 97 min in all, 32 units in 800 min"
BALANCE = [
    figure(
        TOPIC,
        f"{id}-{what}",
        f"{text}: {words}",
        value,
        unit,
        BALANCED,
        cell if what == "efficiency" else "",
        "share of time at work" if what == "efficiency" else "",
        formula=alone(paper(cell, read)),
    )
    for id, text, cell, what, words, value, unit, read in (
        ("seven-elements", SEVEN, SEVEN_ELEMENTS, "takt", "takt", 120, "s", lambda found: found.takt_s),
        ("seven-elements", SEVEN, SEVEN_ELEMENTS, "people", "people, 2.71 rounded up", 3, "people",
         lambda found: found.least_people()),
        ("seven-elements", SEVEN, SEVEN_ELEMENTS, "efficiency", "efficiency with loads of 110, 120, 95 s",
         325 / 360, "share of the time", lambda found: found.balance(3)),
        ("ten-elements", TEN, TEN_ELEMENTS, "takt", "takt", 1500, "s", lambda found: found.takt_s),
        ("ten-elements", TEN, TEN_ELEMENTS, "people", "people, 3.88 rounded up", 4, "people",
         lambda found: found.least_people()),
        ("ten-elements", TEN, TEN_ELEMENTS, "efficiency", "efficiency with five stations",
         0.776, "share of the time", lambda found: found.balance(5)),
    )
]  # fmt: skip
BALANCE.append(
    figure(
        TOPIC,
        "takt-without-breaks",
        "480 min with 60 min of breaks: takt for 350, 420 and 600 pieces",
        (72, 60, 42),
        "s",
        BY_HAND,
        formula=lambda: tuple(loading(load_text(with_breaks(units))).takt_s for units in (350, 420, 600)),
    )
)


AT_SPEED = "distance / speed, worked out by hand"


def carried(speed: str) -> str:
    """A robot carries each unit 600 mm to a machine of 1 s and back."""
    return f"""
cell: robot move
robots: {{R: {{moves: [in > M, M > out], pick: 0 s, place: 0 s, speed: {speed}, starts_at: in}}}}
layout: {{in: [0 mm, 0 mm], M: [600 mm, 0 mm], out: [0 mm, 0 mm]}}
route: [M]
stations: {{M: {{cycle: 1 s}}}}
study: {{run: 18 s}}
"""


WALK = """
cell: walk
crew: {op: {serves: downstream first, walks: 1600 mm/s, starts_at: a}}
layout: {a: [0 m, 0 m], b: [1.2 m, 0 m]}
route: [a, b]
stations: {a: {cycle: 1 s, by: op}, b: {cycle: 1 s, by: op}}
study: {run: 10 s}
"""
DISTANCES = [
    figure(
        TOPIC,
        "robot-move-at-250",
        "a robot carries 600 mm to a machine of 1 s and back at 250 mm/s: 2.4 s a way",
        (5.8, 11.6, 17.4),
        "s",
        AT_SPEED,
        carried("250 mm/s"),
        "finished at, s",
    ),
    figure(
        TOPIC,
        "robot-move-at-1000",
        "a robot carries 600 mm to a machine of 1 s and back at 1000 mm/s: 0.6 s a way",
        [2.2 * k for k in range(1, 9)],
        "s",
        AT_SPEED,
        carried("1000 mm/s"),
        "finished at, s",
    ),
    figure(
        TOPIC,
        "walk-at-1600",
        "one person, two benches of 1 s, 1.2 m apart at 1600 mm/s: 0.75 s a way",
        (2.75, 6.25, 9.75),
        "s",
        AT_SPEED,
        WALK,
        "finished at, s",
    ),
]

ENTRIES = [*STANDARD_TIMES, *LEARNING, *BALANCE, *DISTANCES]
