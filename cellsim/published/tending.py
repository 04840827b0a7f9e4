"""Known results of machines that wait for one another at a few people or robots."""

from __future__ import annotations

from functools import partial

from cellsim.published.cells import exponential
from cellsim.published.entry import Published
from cellsim.published.rows import row
from cellsim.theory import interference as theory

TOPIC = "Machines tended or repaired by a few"
PALM = (
    "Palm, C. (1947; in English 1958), The assignment of workers in servicing automatic machines, Journal of "
    "Industrial Engineering 9, 28-42 (from memory)"
)
REVIEWS = (
    PALM + "; Stecke, K. E. and Aronson, J. E. (1983), Review of operator/machine interference models, "
    "University of Michigan working paper 355; Haque, L. and Armstrong, M. J. (2007), A survey of the "
    "machine interference problem, European Journal of Operational Research 179, 469-482"
)
ASHCROFT = (
    "Ashcroft, H. (1950), The productivity of several machines under the care of one operator, Journal of "
    "the Royal Statistical Society B 12, 145-151; Takacs, L. (1962), Introduction to the Theory of Queues, "
    "Oxford University Press (from memory)"
)
CLASSES = (
    "Baskett, F., Chandy, K. M., Muntz, R. R. and Palacios, F. G. (1975), Open, closed and mixed networks of "
    "queues with different classes of customers, Journal of the ACM 22, 248-260"
)
RUNS, UP = "share of time running alone", "share of time at work"
BUSY = "share of time of a post at work"

known = partial(row, TOPIC)


def tended(machines: int, run: str, service: str, study: str, people: int = 1, robot: bool = False) -> str:
    """Equal machines M that run alone and are served in between by operators or by one robot R."""
    who = "robots: {R: {}}" if robot else f"crew: {{operator: {{people: {people}}}}}"
    by = "R" if robot else "operator"
    return f"""
cell: tended machines
{who}
route: [M]
stations:
  M:
    machines: {machines}
    work:
      - {{do: serve, time: {service}, by: {by}, phase: load}}
      - {{do: run, time: {run}}}
study: {{{study}}}
"""


def repaired(machines: int, technicians: int, run: float, repair: float, study: str) -> str:
    """Equal machines M that run to a stop and wait for one of the technicians, both exponential (seconds)."""
    stop = f"{{every: {run} s of running, lasts: {repair} s, law: exponential, cleared_by: technician}}"
    return f"""
cell: repaired machines
crew: {{technician: {{people: {technicians}}}}}
route: [M]
stations:
  M: {{machines: {machines}, cycle: 1 min, stops: {{breakdown: {stop}}}}}
study: {{{study}}}
"""


def services_per_hour(machines: int) -> float:
    """Services of one operator by machines that run 6.6 s and take 1.1 s of him."""
    return 3600 * theory.finite_source(machines, 6.6, 1.1, 1).services


ONE_OPERATOR = [
    Published(
        id=f"one-operator-{machines}-machines",
        topic=TOPIC,
        statement=f"{machines} machines run 6.6 s, then wait for one operator and are served 1.1 s, both "
        "exponential: the operator is busy 1 - B(N, 6.6/1.1), B the loss formula of Erlang",
        cell=tended(
            machines,
            exponential(6.6),
            exponential(1.1),
            f"settle: 10 min, run: {run}, replications: 24, seed: {400 + machines}",
        ),
        quantity="units per hour",
        value=value,
        unit="units per hour",
        exactness="one decimal",
        rounding=0.5e-1 / value,
        source=PALM,
        formula=partial(services_per_hour, machines),
    )
    for machines, value, run in [(4, 1736.0, "8 h"), (6, 2405.7, "5 h"), (8, 2873.9, "3 h")]
]
FOUR = repaired(4, 1, 6, 1, "settle: 10 min, run: 6 h 30 min, replications: 32, seed: 410")
TEN = tended(
    10,
    exponential(8.6),
    exponential(1.4),
    "settle: 10 min, run: 3 h 20 min, replications: 32, seed: 411",
    people=2,
)
SIX = tended(
    6,
    exponential(5),
    exponential(0.75),
    "settle: 10 min, run: 3 h, replications: 32, seed: 412",
    robot=True,
)
FIVE = repaired(5, 3, 4, 3, "settle: 10 min, run: 2 h 40 min, replications: 32, seed: 413")
INTERFERENCE = [
    known(
        "four-machines-one-repairer-running",
        "4 machines run 60 min to a stop, 1 repairer takes 10 min, exponential: share of time that a machine "
        "runs (in the cell 10 min last 1 s)",
        0.7956521739,
        FOUR,
        UP,
        "M",
        lambda: theory.finite_source(4, 60, 10, 1).running,
        REVIEWS,
    ),
    known(
        "four-machines-one-repairer-busy",
        "the same machines: share of time that the repairer is at work",
        0.5304347826,
        FOUR,
        BUSY,
        "technician",
        lambda: theory.finite_source(4, 60, 10, 1).utilisation,
        REVIEWS,
    ),
    known(
        "ten-machines-two-operators-running",
        "10 machines run 86 min alone, then 2 operators take 14 min each, exponential: share of time that a "
        "machine runs (in the cell 10 min last 1 s)",
        0.8143613686,
        TEN,
        RUNS,
        "M",
        lambda: theory.finite_source(10, 86, 14, 2).running,
        REVIEWS,
    ),
    known(
        "ten-machines-two-operators-busy",
        "the same machines: share of time that an operator is at work",
        0.6628522768,
        TEN,
        BUSY,
        "operator",
        lambda: theory.finite_source(10, 86, 14, 2).utilisation,
        REVIEWS,
    ),
    known(
        "six-machines-one-robot-running",
        "6 machines run 5 min alone, then one robot takes 0.75 min, exponential: share of time that a "
        "machine runs (in the cell 1 min lasts 1 s)",
        0.7665940209,
        SIX,
        RUNS,
        "M",
        lambda: theory.finite_source(6, 5, 0.75, 1).running,
        REVIEWS,
    ),
    known(
        "six-machines-one-robot-busy",
        "the same machines: share of time that the robot is at work",
        0.6899346188,
        SIX,
        BUSY,
        "R",
        lambda: theory.finite_source(6, 5, 0.75, 1).utilisation,
        REVIEWS,
    ),
    known(
        "five-machines-three-repairers-running",
        "5 machines run 20 min to a stop, each of 3 repairers takes 15 min, exponential: share of time that "
        "a machine runs (in the cell 5 min last 1 s)",
        0.5504420766,
        FIVE,
        UP,
        "M",
        lambda: theory.finite_source(5, 20, 15, 3).running,
        REVIEWS,
    ),
    known(
        "five-machines-three-repairers-busy",
        "the same machines: share of time that a repairer is at work",
        0.6880525958,
        FIVE,
        BUSY,
        "technician",
        lambda: theory.finite_source(5, 20, 15, 3).utilisation,
        REVIEWS,
    ),
    known(
        "six-machines-constant-service-running",
        "6 machines run 30 min, exponential, then one operator takes 3 min, always the same: share of time "
        "that a machine runs (in the cell 3 min last 1 s)",
        0.8796426434,
        tended(6, exponential(10), "1 s", "settle: 10 min, run: 15 min, replications: 32, seed: 414"),
        RUNS,
        "M",
        lambda: theory.ashcroft(6, 30, 3).running,
        ASHCROFT,
    ),
    known(
        "ten-machines-constant-service-running",
        "10 machines run 50 min, exponential, then one operator takes 4 min, always the same: share of time "
        "that a machine runs (in the cell 4 min last 1 s)",
        0.8761723194,
        tended(10, exponential(12.5), "1 s", "settle: 10 min, run: 15 min, replications: 32, seed: 415"),
        RUNS,
        "M",
        lambda: theory.ashcroft(10, 50, 4).running,
        ASHCROFT,
    ),
]
UNLIKE = [
    known(
        "two-classes-one-fitter-running",
        "2 machines run 40 min to a stop, 3 others 90 min, one fitter takes 8 min, exponential, in order of "
        "calls: running share of the 2 (8 min last 1 s)",
        0.7651178136,
        """
cell: two classes of machines
crew: {fitter: {serves: longest waiting}}
route: [A]
lines: {second: [B]}
stations:
  A:
    machines: 2
    cycle: 1 min
    stops: {breakdown: {every: 5 s of running, lasts: 1 s, law: exponential, cleared_by: fitter}}
  B:
    machines: 3
    cycle: 1 min
    goes_to: finished
    stops: {breakdown: {every: 11.25 s of running, lasts: 1 s, law: exponential, cleared_by: fitter}}
study: {settle: 10 min, run: 1 h 50 min, replications: 32, seed: 416}
""",
        UP,
        "A",
        lambda: theory.unlike_machines([2, 3], [40, 90], 8)[0],
        CLASSES,
    ),
]
ENTRIES = [*ONE_OPERATOR, *INTERFERENCE, *UNLIKE]
