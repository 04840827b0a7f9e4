"""Values of rework that a wrong simulator, or a wrong reading, would give: (id, value, why)."""

from __future__ import annotations

from math import sqrt

from cellsim.theory.open_networks import jackson_network
from cellsim.theory.quality import rework
from cellsim.theory.stations import mg1, mm1

WRONG: list[tuple[str, float, str]] = [
    ("passes-to-a-good-unit-10-percent", 1.1, "reworked once at most"),
    ("passes-to-a-good-unit-3-percent", 1.0, "rework is not counted"),
    ("passes-to-a-good-unit-10-percent-deviation", sqrt(0.1 * 0.9), "reworked once at most"),
    ("passes-to-a-good-unit-25-percent-deviation", sqrt(0.25 * 0.75), "reworked once at most"),
    ("rework-once-good", 1 - 0.08**2, "rework fails as often as the first pass"),
    ("rework-once-good", 1 - 0.08, "nothing is reworked"),
    ("rework-once-good", rework(0.08, 0.2, 2).final_yield, "one attempt more"),
    ("rework-once-passes", rework(0.08, 0.2, 2).passes, "one attempt more"),
    ("rework-twice-passes", rework(0.15, 0.15, 1).passes, "one attempt less"),
    ("rework-three-times-good", rework(0.3, 0.5, 2).final_yield, "one attempt less"),
    ("rework-three-times-good", rework(0.3, 0.5, 4).final_yield, "one attempt more"),
    *[
        (f"rework-{where}-constant-time", value, why)
        for where in ("behind", "in-front")
        for value, why in [
            (mg1(0.4, 1, 0).time_in_system, "nothing is reworked"),
            (mg1(0.4, 1.25, 0).time_in_system, "all need the mean number of passes"),
            (mm1(0.4, 1.25).time_in_system, "exponential passes"),
        ]
    ],
    (
        "inspection-sends-back-10-percent",
        jackson_network([0.5, 0], [[0, 1], [0, 0]], [1.2, 0.8]).time_in_system,
        "none goes back",
    ),
    (
        "inspection-sends-back-15-percent",
        jackson_network([0.4, 0], [[0, 1], [0, 0]], [1.2, 1.4]).time_in_system,
        "none goes back",
    ),
    (
        "inspection-sends-back-15-percent",
        jackson_network([0.4, 0], [[0, 1], [0, 0.15]], [1.2, 1.4]).time_in_system,
        "it is inspected again without the operation",
    ),
    (
        "inspection-with-a-bench",
        jackson_network([0.4, 0, 0], [[0, 1, 0], [0, 0, 0.2], [0, 0, 0]], [1, 0.8, 2]).time_in_system,
        "what the bench has done is not inspected again",
    ),
]
