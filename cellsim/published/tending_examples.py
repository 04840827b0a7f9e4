"""Worked examples about machines that wait for one another, with the digits that are printed there."""

from __future__ import annotations

from functools import partial

from cellsim.published.cells import exponential
from cellsim.published.rows import decimals, row
from cellsim.published.tending import BUSY, TOPIC, UP, repaired, tended
from cellsim.theory import interference as theory

FELLER = (
    "Feller, W. (1950), An Introduction to Probability Theory and its Applications, Volume 1, Wiley, "
    "servicing of machines, after Palm (from memory)"
)
HEIZER = "Heizer, J. and Render, B., Operations Management, Prentice Hall, limited population (from memory)"
STEVENSON = (
    "Stevenson, W. J., Operations Management, McGraw-Hill, finite source, after the tables of Peck, L. G. "
    "and Hazelwood, R. N. (1958), Finite Queuing Tables, Wiley (from memory)"
)
WINSTON = (
    "Winston, W. L., Operations Research: Applications and Algorithms, Duxbury, machine repair (from memory)"
)
TAHA = "Taha, H. A., Operations Research: An Introduction, Prentice Hall, machine servicing (from memory)"
FREE, WAITS = "share of time of a post free", "share of time waiting for repair"
MEAN_UP = "mean number of machines at work"

known = partial(row, TOPIC)
FELLER_SIX = repaired(6, 1, 10, 1, "settle: 10 min, run: 46 h, replications: 32, seed: 420")
FELLER_TWENTY = repaired(20, 3, 10, 1, "settle: 10 min, run: 7 h, replications: 32, seed: 421")
PRINTERS = repaired(5, 1, 10, 1, "settle: 10 min, run: 6 h, replications: 32, seed: 422")
LOADED = tended(
    5, exponential(7), exponential(1), "settle: 10 min, run: 5 h 30 min, replications: 32, seed: 423"
)
EXAMPLES = [
    known(
        "six-machines-one-repairer-idle",
        "6 machines, 1 repairer, repair a tenth of the running time, exponential: share of his time that the "
        "repairer has nothing to do",
        0.4845,
        FELLER_SIX,
        FREE,
        "technician",
        lambda: 1 - theory.finite_source(6, 10, 1, 1).utilisation,
        FELLER,
        exactness="four decimals",
        rounding=decimals(0.4845, 4),
    ),
    known(
        "six-machines-one-repairer-waiting",
        "the same machines: share of time that a machine waits for repair",
        0.0549,
        FELLER_SIX,
        WAITS,
        "M",
        lambda: theory.finite_source(6, 10, 1, 1).waiting,
        FELLER,
        exactness="four decimals",
        rounding=decimals(0.0549, 4),
    ),
    known(
        "twenty-machines-three-repairers-idle",
        "20 machines, 3 repairers, repair a tenth of the running time, exponential: share of his time that a "
        "repairer has nothing to do",
        0.4042,
        FELLER_TWENTY,
        FREE,
        "technician",
        lambda: 1 - theory.finite_source(20, 10, 1, 3).utilisation,
        FELLER,
        exactness="four decimals",
        rounding=decimals(0.4042, 4),
    ),
    known(
        "twenty-machines-three-repairers-waiting",
        "the same machines: share of time that a machine waits for repair",
        0.01694,
        FELLER_TWENTY,
        WAITS,
        "M",
        lambda: theory.finite_source(20, 10, 1, 3).waiting,
        FELLER,
        exactness="five decimals",
        rounding=decimals(0.01694, 5),
        full_only=True,
    ),
    known(
        "five-printers-technician-idle",
        "5 printers run 20 h to a stop, 1 technician takes 2 h, exponential: chance that none is down (in "
        "the cell 2 h last 1 s)",
        0.564,
        PRINTERS,
        FREE,
        "technician",
        lambda: 1 - theory.finite_source(5, 20, 2, 1).utilisation,
        HEIZER,
        exactness="three decimals",
        rounding=decimals(0.564, 3),
    ),
    known(
        "five-printers-running",
        "the same printers: mean number that runs",
        4.36,
        PRINTERS,
        MEAN_UP,
        "M",
        lambda: 5 * theory.finite_source(5, 20, 2, 1).running,
        HEIZER,
        exactness="two decimals",
        rounding=decimals(4.36, 2),
    ),
    known(
        "five-cars-two-repairers-running",
        "5 cars run 30 days to a stop, each of 2 repairers takes 3 days, exponential: mean number that runs "
        "(in the cell 3 days last 1 s)",
        4.535,
        repaired(5, 2, 10, 1, "settle: 10 min, run: 15 min, replications: 32, seed: 424"),
        MEAN_UP,
        "M",
        lambda: 5 * theory.finite_source(5, 30, 3, 2).running,
        WINSTON,
        exactness="three decimals",
        rounding=decimals(4.535, 3),
    ),
    known(
        "five-machines-one-operator-busy",
        "5 machines run 70 min alone, then one operator takes 10 min, exponential: mean number in service "
        "(in the cell 10 min last 1 s)",
        0.575,
        LOADED,
        BUSY,
        "operator",
        lambda: theory.finite_source(5, 70, 10, 1).utilisation,
        STEVENSON,
        exactness="three decimals",
        rounding=decimals(0.575, 3),
    ),
    known(
        "five-machines-one-operator-not-waiting",
        "the same machines: share of time that a machine does not wait for the operator",
        0.920,
        LOADED,
        UP,
        "M",
        lambda: 1 - theory.finite_source(5, 70, 10, 1).waiting,
        STEVENSON,
        exactness="three decimals",
        rounding=decimals(0.920, 3),
    ),
]


def productivity(repairers: int) -> float:
    """Running share of 22 machines that stop every 2 h and take 12 min of one of the repairers."""
    return theory.finite_source(22, 120, 12, repairers).running


SHOP = [
    known(
        f"twenty-two-machines-{repairers}-repairers-running",
        f"22 machines run 2 h to a stop, {repairers} repairers, 12 min each, exponential: share of time that "
        "a machine runs (in the cell 12 min last 1 s)",
        value,
        repaired(
            22, repairers, 10, 1, f"settle: 10 min, run: {run}, replications: 32, seed: {430 + repairers}"
        ),
        UP,
        "M",
        partial(productivity, repairers),
        TAHA,
        exactness="four decimals",
        rounding=decimals(value, 4),
    )
    for repairers, value, run in [
        (1, 0.4544, "6 h 20 min"),
        (2, 0.8015, "50 min"),
        (3, 0.8879, "15 min"),
        (4, 0.9045, "15 min"),
    ]
]
ENTRIES = [*EXAMPLES, *SHOP]
