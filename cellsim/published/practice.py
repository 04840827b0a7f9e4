"""Facts of the trade that everybody knows and nobody has published; small cells show them."""

from __future__ import annotations

from cellsim.describe.resolve import load_text
from cellsim.published.cells import in_a_row
from cellsim.published.entry import PRACTICE, Published
from cellsim.published.figures import alone, figure, paper, up_share
from cellsim.study.plan import make_plan
from cellsim.units import MINUTE

TOPIC = "Common practice"


ELEVEN = (
    "crew: {fitter: {people: 11}}\n"
    + in_a_row(["cycle: 36 s, by: fitter"] * 11, [1] * 10)
    + "study: {settle: 1 h, run: 8 h}\n"
)

STROKE = "{work: [{do: load, time: 4.25 s, by: op}, {do: stroke, time: 0.75 s}]}"
PRESS = f"""
cell: press
crew: {{op: {{}}}}
route: [press]
stations: {{press: {STROKE}}}
study: {{run: 1 h}}
"""
FED_BY_A_PRESS = f"""
cell: cell fed by a press
crew: {{op: {{}}}}
route: [fit]
lines: {{plates: [press, bin]}}
stations:
  press: {STROKE}
  fit: {{cycle: 36 s, takes: {{bin: 2}}}}
stores: {{bin: 40}}
study: {{settle: 1 h, run: 2 h}}
"""

POLISHED = """
cell: polished for 20 hours
route: [grind, polishing, rinse]
release: {every: {law: exponential, mean: 18 s}}
stations:
  grind: {cycle: 1 s}
  rinse: {cycle: 1 s}
stores: {polishing: {places: unlimited, stays: at least 20 h}}
study: {settle: 40 h, run: 100 h, replications: 16, seed: 31}
"""

BEGINNER = """
cell: beginner
crew: {anna: {works_at: fit, level: 1}}
route: [fit]
stations: {fit: {cycle: 30 s}}
study: {run: 65 min}
"""

SHIFT = """
cell: shift
shifts:
  day:
    from: 06:00
    to: 14:00
    breaks: [{at: 09:00, for: 10 min}, {at: 12:00, for: 10 min}]
    start_up: 5 min
    clean_up: 10 min
route: [pack]
stations: {pack: {cycle: 1 min}}
study: {shifts: 1}
"""

RECOVERY = """
cell: robot that stops
crew: {op: {}}
robots:
  R:
    stops: {fault: {every: 60 min of running, exact: yes, lasts: 90 s, cleared_by: op}}
    recovery: {by: op}
route: [weld]
stations: {weld: {cycle: 12 s, by: R}}
study: {run: 310 min}
"""

HALF_LOADED = """
cell: half loaded
route: [machine]
release: every 2 min
stations: {machine: {cycle: 1 min, power: {working: 6 kW, idle: 3 kW}}}
study: {run: 8 h}
"""

# One second stands for a minute.
TWO_CAUSES = """
cell: jams and breakdowns
route: [machine]
stations:
  machine:
    cycle: 10 s
    stops:
      jam: {every: 30 s of running, lasts: 1 s}
      breakdown: {every: 6000 s of running, lasts: 60 s}
study: {settle: 2 h, run: 40 h, replications: 16, seed: 32}
"""

SHARED_SPACE = """
cell: shared space
crew: {P: {}}
robots: {R: {}}
zones:
  warning: {robots: R, people_at: load, inside: slows to 40 %}
  reach: {robots: R, people_at: nest, inside: stops, restart: 0 s}
layout: {bench: [0 m, 0 m], nest: [0 m, 0 m]}
route: [load]
lines: {lamps: [screw]}
stations:
  load:
    work:
      - {do: load, time: 25 s, by: P}
      - {do: clear, time: 3 s, by: P, at: nest}
      - {do: pack, time: 72 s, by: P, at: bench}
  screw: {cycle: 19.8 s, by: R}
study: {run: 9900 s}
"""


def five(start: str, rule: str = "finish element", to: str = "02:00") -> str:
    """Five stations of 60 s without places between them, one shift from midnight."""
    stations = ", ".join(f"{name}: {{cycle: 60 s}}" for name in "abcde")
    return f"""
cell: five stations
shifts: {{day: {{from: 00:00, to: {to}, days: daily, at_end: {rule}}}}}
route: [a, b, c, d, e]
stations: {{{stations}}}
study: {{start: {start}, run: 60 min}}
"""


def round_the_u(people: int, gap: float) -> str:
    """Everybody carries his unit through four benches of 90 s in all; `gap` is the time between units, s."""
    return f"""
cell: round the U
crew: {{op: {{people: {people}}}}}
release: cards {people}
route: [a, b, c, d]
stations:
  a: {{cycle: 20 s, by: op}}
  b: {{cycle: 30 s, by: op}}
  c: {{cycle: 25 s, by: op}}
  d: {{cycle: 15 s, by: op}}
study: {{settle: {20 * gap:g} s, run: {80 * gap:g} s}}
"""


ENTRIES = [
    figure(
        TOPIC,
        "eleven-people-one-hundred-an-hour",
        "eleven people who make 100 units an hour spend 6.6 minutes of labour on each",
        6.6,
        "min of labour per unit",
        PRACTICE,
        ELEVEN,
        "labour per unit, min",
        formula=alone(paper(ELEVEN, lambda found: found.hand_work_s() / 60, 100)),
    ),
    figure(
        TOPIC,
        "press-twelve-a-minute",
        "a press of 80 strokes a minute, loaded by hand in 4.25 s, gives 12 parts a minute",
        12,
        "parts per minute",
        PRACTICE,
        PRESS,
        "units per minute",
    ),
    figure(
        TOPIC,
        "press-feeds-a-cell",
        "with two such parts in a unit the press feeds a cell of 100 an hour with 28 % of its time",
        10 / 36,
        "share of the time",
        PRACTICE,
        FED_BY_A_PRESS,
        "share of time at work",
        "press",
        alone(paper(FED_BY_A_PRESS, lambda found: found.find("press").share(), 100)),
    ),
    Published(
        id="polished-for-20-hours",
        topic=TOPIC,
        statement="parts that are polished for 20 hours at 200 an hour stand 4 000 deep in that step",
        cell=POLISHED,
        quantity="mean number in the store",
        of="polishing",
        value=4000.0,
        unit="parts",
        source=PRACTICE,
        formula=paper(POLISHED, lambda found: found.held[0].needed, 200),
    ),
    figure(
        TOPIC,
        "beginner-takes-longer",
        "a beginner takes 1.3 times the standard time",
        1 / 1.3,
        "of the standard pace",
        PRACTICE,
        BEGINNER,
        "performance",
        "fit",
    ),
    figure(
        TOPIC,
        "minutes-of-a-shift",
        "8 h less 2 breaks of 10 min, 5 min to start up and 10 to clean up: 445 units of a minute",
        445,
        "units",
        PRACTICE,
        SHIFT,
        "good units",
        formula=lambda: (make_plan(load_text(SHIFT)).worked / MINUTE,),
    ),
    figure(
        TOPIC,
        "robot-recovery",
        "a robot that stops for 90 s once in an hour of work, and 30 s to recover: 60 of 62 min",
        60 / 62,
        "share of the time",
        PRACTICE,
        RECOVERY,
        "share of time at work",
        "weld",
        alone(paper(RECOVERY, lambda found: up_share(found.find("R")), 100)),
    ),
    figure(
        TOPIC,
        "power-at-half-load",
        "a machine of 10 kW on its plate draws 60 % at work and 30 % idle: at half load 4.5 kW",
        4.5,
        "kW",
        PRACTICE,
        HALF_LOADED,
        "power, kW",
    ),
    Published(
        id="jams-and-breakdowns-add-up",
        topic=TOPIC,
        statement="jam of 1 min per 30 min, breakdown of 60 min per 100 h of running: 1 / (1 + 1/30 + 1/100)",
        cell=TWO_CAUSES,
        quantity="availability",
        value=1 / (1 + 1 / 30 + 1 / 100),
        unit="share of the time",
        source=PRACTICE,
        formula=paper(TWO_CAUSES, lambda found: up_share(found.find("machine")), 100),
    ),
    figure(
        TOPIC,
        "robot-slowed-by-people",
        "a robot slowed to 40 % for 25 % of the time, stopped for 3 %, makes 82 %: 0.72 + 0.25 x 0.4",
        0.82,
        "of its undisturbed output",
        PRACTICE,
        SHARED_SPACE,
        "OEE",
        "screw",
    ),
    *(
        figure(
            TOPIC,
            f"first-hour-{start}",
            f"five stations of a minute make {count} units in the first hour of a line that starts {start}",
            count,
            "units",
            PRACTICE,
            five(start),
            "good units",
        )
        for start, count in (("empty", 56), ("primed", 60))
    ),
    *(
        figure(
            TOPIC,
            f"round-the-u-{words}",
            f"{words} people each carry a unit round benches of 20, 30, 25, 15 s: one per {gap:g} s",
            3600 / gap,
            "units per hour",
            PRACTICE,
            round_the_u(people, gap),
            "units per hour",
        )
        for words, people, gap in (("two", 2, 45.0), ("four", 4, 30.0))
    ),
]
