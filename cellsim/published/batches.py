"""Known results of batches: stations that work many units at once, and rooms in which units stay."""

from __future__ import annotations

from functools import partial
from math import inf

from cellsim.published.cells import exponential
from cellsim.published.entry import Published, figure_of, one_number
from cellsim.theory import batching, stations

TOPIC = "Batches, ovens and racks"
NEUTS = (
    "Neuts, M. F. (1967), A general class of bulk queues with Poisson input, Annals of Mathematical "
    "Statistics 38, 759-770 (from memory)"
)
ERLANG_QUEUE = (
    NEUTS + "; to the station batches are E_k/M/1: Kleinrock, L. (1975), Queueing Systems, Volume 1"
)
BAILEY = (
    "Bailey, N. T. J. (1954), On queueing processes with bulk service, Journal of the Royal Statistical "
    "Society B 16, 80-87; " + NEUTS
)
FACTORY = "Hopp, W. J. and Spearman, M. L. (1996), Factory Physics, Irwin, chapter on batching"
LITTLE = (
    "Little, J. D. C. (1961), A proof for the queuing formula L = lambda W, Operations Research 9(3), 383-387"
)
PALM = (
    "theorem of Palm on M/G/infinity; Gross, D. and Harris, C. M. (1974), Fundamentals of Queueing Theory, "
    "Wiley"
)
LOSS = (
    "Erlang, A. K. (1917), loss formula; for any law of times Sevastyanov, B. A. (1957), An ergodic theorem "
    "for Markov processes and its application to telephone systems with refusals (from memory)"
)
COUNTER = (
    "Feller, W. (1948), On probability problems in the theory of counters, Courant Anniversary Volume, "
    "105-115 (from memory): a batch is the dead time of a counter of type I"
)
LAW = {1: "exponential", inf: "constant"}  # by the phases of an Erlang time
RARE = 20  # shares of a few per cent are asked for to a fifth of themselves in the quick set


def batch_station(arrivals: str, cycle: str, batch: str, study: str) -> str:
    """Units that arrive one by one at a station that works them in batches."""
    return f"""
cell: a station for batches
release: {{every: {arrivals}}}
route: [M]
stations: {{M: {{cycle: {cycle}, batch: {{{batch}}}}}}}
study: {{{study}}}
"""


def rack(every: str, stays: str, study: str) -> str:
    """Units that enter a rack one by one and stay in it for a fixed time."""
    return f"""
cell: a rack to cure in
release: {{every: {every}}}
route: [hang, rack, take off]
stations: {{hang: {{cycle: 1 us}}, take off: {{cycle: 1 us}}}}
stores: {{rack: {{places: unlimited, stays: at least {stays}}}}}
study: {{{study}}}
"""


def positions(count: int, every: float, treatment: str, study: str) -> str:
    """Positions without a queue: who finds all of them taken is turned away, and counted as scrap."""
    return f"""
cell: positions without a queue
release: {{every: {exponential(every)}}}
route: [gate, treat]
lines: {{away: [turned away]}}
stations:
  gate: {{cycle: 1 us, goes_to: [treat, turned away], chooses: first free}}
  treat: {{machines: {count}, cycle: {treatment}}}
  turned away: {{cycle: 1 us, scrap: 100 %}}
study: {{{study}}}
"""


def chambers(count: int, size: int, treatment: float, handling: float) -> str:
    """Chambers that never lack units; times in seconds, handling half before and half after."""
    half = handling / 2
    return f"""
cell: chambers
route: [treat]
stations:
  treat:
    machines: {count}
    work:
      - {{do: load, time: {half:g} s}}
      - {{do: treat, time: {treatment:g} s}}
      - {{do: unload, time: {half:g} s}}
    batch: {{size: {size}}}
study: {{settle: {treatment + handling:g} s, run: {10 * (treatment + handling):g} s, replications: 2}}
"""


FULL = [
    Published(
        id=name,
        topic=TOPIC,
        statement=f"units come as a Poisson stream, one each {every:g} s; a station starts with {size} of "
        f"them only, {LAW[phases]} time, mean {time:g} s: mean time of a unit",
        cell=batch_station(
            exponential(every),
            exponential(time) if phases == 1 else f"{time:g} s",
            f"size: {size}",
            f"settle: 30 min, run: {run}, replications: 32, seed: {seed}",
        ),
        quantity="mean time inside, s",
        value=value,
        unit="s",
        source=source,
        formula=figure_of("time_in_system", batching.full_batch_station, 1 / every, size, time, phases),
        full_only=phases == 1,
    )
    for name, every, size, phases, time, value, source, run, seed in [
        ("full-batches-of-4", 1, 4, 1, 3, 9.442917432, ERLANG_QUEUE, "170 h", 2001),
        ("full-batches-of-10", 0.5, 10, 1, 4, 13.93907672, ERLANG_QUEUE, "250 h", 2002),
        ("oven-of-4", 1, 4, inf, 3, 5.30088348, BAILEY, "4 h", 2003),
        ("oven-of-12", 2, 12, inf, 20, 33.39418087, BAILEY, "8 h", 2004),
    ]
]
AS_MANY = [
    Published(
        id=f"batches-of-{least}-to-{most}",
        topic=TOPIC,
        statement=f"units come as a Poisson stream, one each {every:g} s; a station starts with {least} or "
        f"more of them, takes {most} at most, exponential time, mean {time:g} s: mean wait",
        cell=batch_station(
            exponential(every),
            exponential(time),
            f"size: {most}, at_least: {least}, waits: 0 s",
            f"settle: 30 min, run: {run}, replications: 32, seed: {seed}",
        ),
        quantity="mean time in the store, s",
        of="release",
        value=value,
        unit="s",
        source=NEUTS,
        formula=figure_of("wait", batching.bulk_service, 1 / every, time, least, most),
        full_only=True,
    )
    for every, time, least, most, value, run, seed in [
        (1, 5, 3, 8, 7.70779037, "250 h", 2011),
        (0.5, 2, 1, 5, 6.190787701, "215 h", 2012),
    ]
]
FORMING = [
    Published(
        id=f"forming-a-batch-of-{size}",
        topic=TOPIC,
        statement=f"units come one by one, {law}, one each {every:g} s; they wait until {size} are there: "
        "mean wait (size - 1) / 2 x the time between units",
        cell=batch_station(
            arrivals,
            "1 us",
            f"size: {size}",
            f"settle: 10 min, run: {run}, replications: 32, seed: {2020 + size}",
        ),
        quantity="mean time in the store, s",
        of="release",
        value=value,
        unit="s",
        source=FACTORY,
        formula=partial(batching.forming_wait, 1 / every, size),
    )
    for size, law, every, arrivals, value, run in [
        (4, "exponential times", 1, exponential(1), 1.5, "4 h"),
        (12, "uniform times", 2, "{law: uniform, min: 0 s, max: 4 s}", 11.0, "3 h"),
    ]
]
RACK = [
    Published(
        id=f"units-in-a-rack-{name}",
        topic=TOPIC,
        statement=f"a unit each {every:g} s stays {stays} s in a rack: rate x time of them are in it",
        cell=rack(f"{every:g} s", f"{stays} s", f"settle: 5 min, run: {run}, replications: 2"),
        quantity="mean number in the store",
        of="rack",
        value=(value,),
        unit="units",
        source=LITTLE,
        formula=one_number(stations.littles_number, 1 / every, stays),
    )
    for name, every, stays, value, run in [
        ("one-each-second", 1, 45, 45.0, "5 min"),
        ("one-each-2.5-seconds", 2.5, 37, 14.8, "5 min"),
    ]
]
CHAMBERS = [
    Published(
        id=f"{name}-chambers",
        topic=TOPIC,
        statement=f"{count} chambers of {size} units, {treatment} s of treatment and {handling} s of loading "
        "and unloading, never short of units: chambers x size / (treatment + handling)",
        cell=chambers(count, size, treatment, handling),
        quantity="units per second",
        value=(value,),
        unit="units per second",
        source=LITTLE,
        formula=one_number(batching.chamber_rate, count, size, treatment, handling),
    )
    for name, count, size, treatment, handling, value in [
        ("two", 2, 24, 90, 6, 0.5),
        ("three", 3, 10, 40, 5, 2 / 3),
    ]
]
UNLIMITED = [
    Published(
        id="more-than-28-in-a-rack",
        topic=TOPIC,
        statement="units come as a Poisson stream, one each 2 s, and stay 40 s: share of time in which more "
        "than 28 are there, a tail of the Poisson law of mean 20",
        cell=rack(exponential(2), "40 s", "settle: 10 min, run: 7 h, replications: 32, seed: 2031"),
        quantity="share of time with more than 28 in the store",
        of="rack",
        value=0.03433352189,
        unit="",
        source=PALM,
        formula=partial(stations.mginf_exceedance, 0.5, 40, 28),
        whole=RARE * 0.03433352189,
    )
]
TURNED_AWAY = [
    Published(
        id=f"turned-away-from-{count}-positions",
        topic=TOPIC,
        statement=f"{count} positions without a queue, units as a Poisson stream, one each {every:g} s, "
        f"treatment of {time:g} s, {law}: share turned away, whatever the law",
        cell=positions(
            count, every, treatment, f"settle: 10 min, run: {run}, replications: 32, seed: {2040 + count}"
        ),
        quantity="scrapped share of units that left",
        value=value,
        unit="",
        source=LOSS,
        formula=partial(stations.erlang_b, count, time / every),
        whole=RARE * value if value < 0.1 else 0.0,
    )
    for count, every, time, law, treatment, value, run in [
        (2, 1, 1, "spread 150 %", "{law: gamma, mean: 1 s, spread: 150 %}", 0.2, "18 h"),
        (3, 1, 2, "constant", "2 s", 0.2105263158, "13 h"),
        (6, 1, 3, "exponential", exponential(3), 0.05215711526, "1 h"),
    ]
]
LIMITED_CELL = {
    most: batch_station(
        exponential(1),
        "1 us",
        f"size: {most}, at_least: 1, waits: 4 s",
        f"settle: 10 min, run: 2 h, replications: 32, seed: {2050 + most}",
    )
    for most in (6, 1000)
}
LIMITED = [
    Published(
        id=f"batches-that-wait-4-s{name}",
        topic=TOPIC,
        statement=f"units come as a Poisson stream, one each s; a batch goes 4 s after its first "
        f"unit{words}: {what}",
        cell=LIMITED_CELL[most],
        quantity=quantity,
        of=of,
        value=value,
        unit=unit,
        source=source,
        formula=formula,
    )
    for name, most, words, what, quantity, of, value, unit, source, formula in [
        (
            "",
            1000,
            "",
            "mean batch 1 + rate x limit",
            "mean batch",
            "M",
            5.0,
            "units",
            COUNTER,
            figure_of("batch", batching.limited_batch, 1, 1000, 4),
        ),
        (
            "-wait",
            1000,
            "",
            "mean wait of a unit",
            "mean time in the store, s",
            "release",
            2.4,
            "s",
            COUNTER,
            figure_of("wait", batching.limited_batch, 1, 1000, 4),
        ),
        (
            "-6-at-most",
            6,
            ", or with the sixth",
            "mean batch",
            "mean batch",
            "M",
            4.589695806,
            "units",
            "sum over the sizes of a batch, Poisson",
            figure_of("batch", batching.limited_batch, 1, 6, 4),
        ),
    ]
]
ENTRIES = [*FULL, *AS_MANY, *FORMING, *LIMITED, *RACK, *UNLIMITED, *CHAMBERS, *TURNED_AWAY]
