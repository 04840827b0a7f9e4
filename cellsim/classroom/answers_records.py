"""Exercises about quality, acceptance, batches and material."""

from __future__ import annotations

import math
from functools import partial

from cellsim.classroom.answers_lines import OUTPUT, share_of
from cellsim.classroom.exercise import Exercise, Figure, means
from cellsim.evidence.acceptance import Promise, factors
from cellsim.published.batches import FACTORY, LITTLE
from cellsim.published.measures import REPLICATED
from cellsim.published.quality import BAYES
from cellsim.published.replication import Replication
from cellsim.theory.batching import chamber_rate, forming_wait
from cellsim.theory.quality import inspection, rolled_throughput_yield
from cellsim.theory.stations import littles_number

# 6: an inspection that errs.
FAULTY, FALSE, MISSED = 0.03, 0.02, 0.2
LOOK = partial(inspection, FAULTY, FALSE, MISSED)
INSPECTION = Exercise(
    number=6,
    file="06_inspection",
    source=BAYES,
    figures=(
        Figure(
            key="good",
            words="good ones among the rejected",
            unit="%",
            exact=lambda: 100 * (LOOK().rejected_good),
            read=share_of("good share of rejected units", "inspect"),
            tolerance=0.01,
        ),
        Figure(
            key="rejected",
            words="rejected",
            unit="%",
            exact=lambda: 100 * LOOK().rejected,
            read=share_of("scrapped share of units that left"),
            tolerance=0.01,
        ),
        Figure(
            key="escapes",
            words="faulty among the accepted",
            unit="%",
            exact=lambda: 100 * LOOK().outgoing_defective,
            read=share_of("faulty share of good units"),
            tolerance=0.01,
        ),
        Figure(
            key="rejected_twice",
            words="rejected, two inspectors",
            unit="%",
            exact=lambda: 100 * LOOK(2).rejected,
            read=share_of("scrapped share of units that left"),
            cell="06_two_inspectors",
            tolerance=0.01,
        ),
        Figure(
            key="escapes_twice",
            words="faulty, two inspectors",
            unit="%",
            exact=lambda: 100 * LOOK(2).outgoing_defective,
            read=share_of("faulty share of good units"),
            cell="06_two_inspectors",
            tolerance=0.01,
        ),
        Figure(
            key="rolled",
            words="five steps without any fault",
            unit="%",
            exact=lambda: 100 * rolled_throughput_yield([0.985, 0.97, 0.99, 0.96, 0.995]),
        ),
    ),
    more={
        "false": lambda: 100 * FALSE,
        "error": lambda: 100 * MISSED,
        "per_thousand_good": lambda: 1000 * (1 - FAULTY) * FALSE,
        "per_thousand_bad": lambda: 1000 * FAULTY * (1 - MISSED),
        "per_thousand": lambda: 1000 * LOOK().rejected,
    },
    within=0.03,
)

# 9: how long an acceptance run must be; minutes.
PROMISE, POOR, EIGHT_HOURS = Promise(87, 12), Promise(48, 12), 480.0


def of_measured(stops: int, end: int) -> float:
    """Lower (0) or upper (1) bound of the mean time between stops over the measured one, 90 %."""
    return factors(stops, 0.9)[end]


ACCEPTANCE = Exercise(
    number=9,
    file="09_acceptance",
    has_cell=False,
    source="alternating renewal process, exponential times: Cox, D. R. (1962), Renewal Theory, Methuen (from "
    "memory); mean time between stops by the chi-square law",
    figures=(
        Figure(
            key="points",
            words="plus or minus, 8 h",
            unit="points",
            exact=lambda: 100 * PROMISE.half_width(EIGHT_HOURS),
        ),
        Figure(
            key="availability",
            words="availability of the promise",
            unit="%",
            exact=lambda: 100 * PROMISE.availability,
        ),
        Figure(
            key="shifts",
            words="shifts of 8 h for 2 points",
            unit="shifts",
            exact=lambda: float(math.ceil(PROMISE.length_for(0.02) / EIGHT_HOURS)),
        ),
        Figure(
            key="passes",
            words="a machine of 80 % passes 85 %",
            unit="%",
            exact=lambda: 100 * POOR.chance_to_pass(0.85, EIGHT_HOURS),
        ),
        Figure(
            key="fails",
            words="the promised one fails 85 %",
            unit="%",
            exact=lambda: 100 * (1 - PROMISE.chance_to_pass(0.85, EIGHT_HOURS)),
        ),
        *(
            Figure(
                key=f"{end}_{stops}",
                words=f"{stops} stops: {end} / measured",
                unit="times",
                exact=partial(of_measured, stops, k),
            )
            for stops in (5, 20)
            for k, end in enumerate(("least", "most"))
        ),
    ),
    more={
        "two": lambda: 2.0,
        "stops": lambda: EIGHT_HOURS / (87 + 12),
        "deviation": lambda: 100 * PROMISE.deviation(EIGHT_HOURS),
    },
    within=0.15,
)

# 11: batches; minutes.
EVERY, BOWL, TUMBLE, HANDLING = 0.5, 60, 45.0, 5.0


def lead_time() -> float:
    """Mean minutes from the press to the end of unloading, a bowl being free whenever a batch is full."""
    return forming_wait(1 / EVERY, BOWL) + TUMBLE + HANDLING


BATCH = Exercise(
    number=11,
    file="11_bowls",
    source=f"{FACTORY} (from memory); {LITTLE}",
    figures=(
        Figure(
            key="lead",
            words="mean lead time",
            unit="min",
            exact=lead_time,
            read=means(REPLICATED["mean lead time, s"], scale=1 / 60),
        ),
        Figure(
            key="inside",
            words="parts inside",
            unit="parts",
            exact=lambda: littles_number(1 / EVERY, lead_time()),
            read=means(REPLICATED["number inside, units"]),
        ),
        Figure(
            key="loaded",
            words="bowls in use",
            unit="%",
            exact=lambda: 100 / EVERY / chamber_rate(2, BOWL, TUMBLE, HANDLING),
            read=share_of("share of time at work", "tumble"),
        ),
        Figure(
            key="one",
            words="one bowl",
            unit="per h",
            exact=lambda: 60 * chamber_rate(1, BOWL, TUMBLE, HANDLING),
            read=OUTPUT,
            changes=("stations.tumble.machines: 1",),
        ),
    ),
    more={
        "rate": lambda: 60 / EVERY,
        "process": lambda: TUMBLE + HANDLING,
        "forming": lambda: forming_wait(1 / EVERY, BOWL),
        "fill": lambda: BOWL * EVERY,
        "whole": lambda: BOWL * EVERY + TUMBLE + HANDLING,
        "each": lambda: 60 * (TUMBLE + HANDLING) / BOWL,
        "first": lambda: (BOWL - 1) * EVERY + TUMBLE + HANDLING,
    },
    within=0.02,
)

# 12: when to order; minutes.
CYCLE, DELIVERY = 0.5, 20.0


def too_late(parts: int) -> float:
    """Share of the deliveries that come after the last of so many parts has been used, per cent."""
    return 100 * math.exp(-parts * CYCLE / DELIVERY)


def parts_for(share: float, delivery: float = DELIVERY) -> float:
    """Least number of parts with which this share of the deliveries, or fewer, comes too late."""
    return float(math.ceil(-delivery * math.log(share) / CYCLE))


def late_deliveries(r: Replication) -> float:
    """Shortages over deliveries of the only purchased part."""
    return r.record.parts["shortages"][0] / r.record.parts["deliveries"][0]


ORDER = Exercise(
    number=12,
    file="12_order_level",
    source="tail of the exponential law, exp(-time to use up the parts / mean delivery); Feller, W. (1950), "
    "An Introduction to Probability Theory and its Applications, Volume 1, Wiley (from memory)",
    figures=(
        *(
            Figure(
                key=f"left_{parts}",
                words=f"at {parts} parts: too late",
                unit="%",
                exact=partial(too_late, parts),
                read=means(late_deliveries, scale=100),
                changes=() if parts == 40 else (f"parts.covers.orders_at: {parts - 1}",),
                tolerance=0.01,
            )
            for parts in (40, 80, 185)
        ),
        Figure(key="needed", words="parts for 1 %", unit="parts", exact=partial(parts_for, 0.01)),
        Figure(
            key="needed_30",
            words="the same, delivery 30 min",
            unit="parts",
            exact=partial(parts_for, 0.01, 30),
        ),
    ),
    more={
        "none": lambda: 0.0,
        "half": lambda: 50.0,
        "mean": lambda: DELIVERY / CYCLE,
    },
    within=0.1,
)

EXERCISES = (INSPECTION, ACCEPTANCE, BATCH, ORDER)
