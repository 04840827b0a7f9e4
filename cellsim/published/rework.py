"""Known results of rework: passes until a unit is good, limited attempts, loops back into a queue."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

from cellsim.published.cells import exponential, percent
from cellsim.published.entry import Published, figure_of
from cellsim.theory import quality
from cellsim.theory.open_networks import jackson_network
from cellsim.theory.stations import mg1

TOPIC = "Rework"
KEMENY = (
    "Kemeny, J. G. and Snell, J. L. (1960), Finite Markov Chains, Van Nostrand, absorbing chains (from "
    "memory)"
)
JACKSON = (
    "Jackson, J. R. (1963), Jobshop-like queueing systems, Management Science 10(1), 131-142 (product form "
    "with feedback)"
)
TAKACS = (
    "Takacs, L. (1963), A single-server queue with feedback, Bell System Technical Journal 42, 505-519 (from "
    "memory)"
)
GEOMETRIC = (
    TAKACS + "; as many units are inside as where all passes follow at once: Pollaczek and Khinchine with a "
    "geometric sum of passes"
)
RUN = "settle: 1 min, run: {}, replications: 32, seed: {}"


def reworked(cycle: str, rejects: str, study: str, every: str = "") -> str:
    """One station that always has work, or units that arrive; what it rejects comes back to it."""
    release = f"release: {{every: {every}}}" if every else ""
    return f"""
cell: one station with rework
{release}
route: [M]
stations: {{M: {{cycle: {cycle}, rejects: {{to: M, {rejects}}}}}}}
study: {{{study}}}
"""


def feedback(every: float, mean: str, share: float, enters: str, study: str) -> str:
    """A station whose units come as a Poisson stream; a share of them comes back after each pass."""
    return reworked(mean, f"share: {percent(share)}, enters: {enters}", study, exponential(every))


def operate_and_inspect(
    every: float, means: Sequence[float], share: float, study: str, bench: float = 0
) -> str:
    """Operation, queue, inspection; what is rejected goes back to the operation, or to a bench and back."""
    to = "bench queue, returns_to: inspect, enters: behind" if bench else "operate, enters: behind"
    lines = "lines: {rework: [bench queue, bench]}" if bench else ""
    station = f"\n  bench: {{cycle: {exponential(bench)}}}" if bench else ""
    return f"""
cell: operation and inspection
release: {{every: {exponential(every)}}}
route: [operate, queue, inspect]
{lines}
stations:
  operate: {{cycle: {exponential(means[0])}}}
  inspect: {{cycle: {exponential(means[1])}, rejects: {{share: {percent(share)}, to: {to}}}}}{station}
stores: {{queue: unlimited{", bench queue: unlimited" if bench else ""}}}
study: {{{study}}}
"""


def passes_cell(share: float, replications: int, seed: int) -> str:
    """A station that does its work again until it is good; so few units that all their times are kept."""
    study = f"settle: 1 min, run: 5 h, replications: {replications}, seed: {seed}"
    return reworked("1 s", f"share: {percent(share)}", study)


PASSES = [
    Published(
        id=f"passes-to-a-good-unit-{percent(share)[:-2]}-percent{'-deviation' if spread else ''}",
        topic=TOPIC,
        statement=f"a pass fails with {percent(share)} and is done again, without limit: "
        + (
            "standard deviation of the passes, sqrt(p) / (1 - p)"
            if spread
            else "mean passes of a good unit, 1 / (1 - p)"
        ),
        cell=passes_cell(share, replications, seed),
        quantity="standard deviation of lead times, s" if spread else "passes per good unit",
        of="" if spread else "M",
        value=sqrt(share) / (1 - share) if spread else 1 / (1 - share),
        unit="passes",
        source=KEMENY,
        formula=figure_of("passes_deviation" if spread else "passes", quality.rework, share),
    )
    for share, spread, replications, seed in [
        (0.1, False, 72, 3001),
        (0.1, True, 72, 3001),
        (0.25, True, 64, 3002),
        (0.03, False, 16, 3003),
    ]
]
LIMITED = [
    Published(
        id=f"{name}-{what.split()[0]}",
        topic=TOPIC,
        statement=f"a first pass fails with {percent(first)}, each of at most {tries} rework passes with "
        f"{percent(again)}, then scrap: {what}",
        cell=reworked(
            "1 s",
            f"share: {percent(first)}, after_rework: {percent(again)}, attempts: {tries + 1}",
            RUN.format("1 h", seed),
        ),
        quantity=quantity,
        of="M",
        value=value,
        unit="passes" if what.startswith("passes") else "",
        source=KEMENY,
        formula=formula,
    )
    for name, what, first, again, tries, quantity, value, seed, formula in [
        (
            "rework-once", "good share, 1 - p1 p2^r", 0.08, 0.2, 1, "good share", 0.984,
            3011, figure_of("final_yield", quality.rework, 0.08, 0.2, 1),
        ),
        (
            "rework-once", "passes per unit started, 1 + p1 (1 - p2^r) / (1 - p2)", 0.08, 0.2, 1,
            "passes per unit started", 1.08, 3011, figure_of("passes", quality.rework, 0.08, 0.2, 1),
        ),
        (
            "rework-twice", "passes per unit started", 0.15, 0.15, 2, "passes per unit started", 1.1725,
            3012, figure_of("passes", quality.rework, 0.15, 0.15, 2),
        ),
        (
            "rework-three-times", "good share", 0.3, 0.5, 3, "good share", 0.9625,
            3013, figure_of("final_yield", quality.rework, 0.3, 0.5, 3),
        ),
    ]
]  # fmt: skip
FEEDBACK = [
    Published(
        id=name,
        topic=TOPIC,
        statement=f"units come as a Poisson stream, one each {words} s; a pass of {law} fails with "
        f"{percent(share)} and the unit joins the queue again {enters}: mean time until good",
        cell=feedback(
            every, cycle, share, enters, f"settle: 10 min, run: {run}, replications: 32, seed: {seed}"
        ),
        quantity="mean time inside, s",
        value=value,
        unit="s",
        source=source,
        formula=formula,
        full_only=full_only,
    )
    for name, every, words, law, cycle, share, enters, value, source, run, seed, full_only, formula in [
        (
            "rework-joins-the-queue-10-percent", 1 / 0.7, "1/0.7", "exponential, mean 1 s", exponential(1),
            0.1, "behind", 5.0, f"{JACKSON}; {TAKACS}", "250 h", 3021, True,
            figure_of("time_in_system", jackson_network, [0.7], [[0.1]], [1]),
        ),
        (
            "rework-joins-the-queue-20-percent", 1 / 0.3, "1/0.3", "exponential, mean 2 s", exponential(2),
            0.2, "behind", 10.0, f"{JACKSON}; {TAKACS}", "350 h", 3022, True,
            figure_of("time_in_system", jackson_network, [0.3], [[0.2]], [2]),
        ),
        (
            "rework-behind-constant-time", 2.5, "2.5", "1 s", "1 s", 0.2, "behind", 2.0, GEOMETRIC,
            "23 h", 3023, False, figure_of("time_in_system", mg1, 0.4, 1 / (1 - 0.2), 0.2),
        ),
        (
            "rework-in-front-constant-time", 2.5, "2.5", "1 s", "1 s", 0.2, "in front", 2.0, GEOMETRIC,
            "23 h", 3024, False, figure_of("time_in_system", mg1, 0.4, 1 / (1 - 0.2), 0.2),
        ),
    ]
]  # fmt: skip
LOOPS = [
    Published(
        id=name,
        topic=TOPIC,
        statement=f"units come as a Poisson stream, one each {every:g} s; operation {means[0]} s, inspection "
        f"{means[1]} s, {percent(share)} go {back}, all exponential: mean time until accepted",
        cell=operate_and_inspect(
            every, means, share, f"settle: 10 min, run: {run}, replications: 32, seed: {seed}", bench
        ),
        quantity="mean time inside, s",
        value=value,
        unit="s",
        source=JACKSON,
        formula=formula,
    )
    for name, every, means, share, back, bench, value, run, seed, formula in [
        (
            "inspection-sends-back-10-percent", 2, (1.2, 0.8), 0.1, "back", 0, 5.6, "60 h", 3031,
            figure_of("time_in_system", jackson_network, [0.5, 0], [[0, 1], [0.1, 0]], [1.2, 0.8]),
        ),
        (
            "inspection-sends-back-15-percent", 2.5, (1.2, 1.4), 0.15, "back", 0, 8.07082945, "84 h", 3032,
            figure_of("time_in_system", jackson_network, [0.4, 0], [[0, 1], [0.15, 0]], [1.2, 1.4]),
        ),
        (
            "inspection-with-a-bench", 2.5, (1, 0.8), 0.2, "to a bench (2 s) and back to it", 2, 95 / 24,
            "45 h", 3033,
            figure_of(
                "time_in_system",
                jackson_network,
                [0.4, 0, 0], [[0, 1, 0], [0, 0, 0.2], [0, 1, 0]], [1, 0.8, 2],
            ),
        ),
    ]
]  # fmt: skip
ENTRIES = [*PASSES, *LIMITED, *FEEDBACK, *LOOPS]
