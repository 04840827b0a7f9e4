"""Known results of assembly: feeders with a few places, parts that are paired, orders that fork and join."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from cellsim.published.cells import exponential
from cellsim.published.entry import Published, figure_of
from cellsim.theory import assembly

TOPIC = "Assembly of parts from feeders"
BHAT = (
    "Bhat, U. N. (1986), Finite capacity assembly-like queues, Queueing Systems 1, 85-101 (the class of "
    "models); the number is that of the stationary Markov chain"
)
MAXIMUM = (
    "all start together and wait for the slowest: mean longest of exponential times, Renyi, A. (1953), On "
    "the theory of order statistics, Acta Mathematica Hungarica 4, 191-231 (from memory)"
)
KASHYAP = (
    "Kashyap, B. R. K. (1966), The double-ended queue with bulk service and limited waiting space, "
    "Operations Research 14, 822-834 (from memory)"
)
FORK_JOIN = (
    "Flatto, L. and Hahn, S. (1984), Two parallel queues created by arrivals with two demands I, SIAM "
    "Journal on Applied Mathematics 44(5), 1041-1053; Nelson, R. and Tantawi, A. N. (1988), Approximate "
    "analysis of fork/join synchronization in parallel queues, IEEE Transactions on Computers 37(6), 739-743 "
    "(from memory)"
)
TURNED = (
    "Ammar, M. H. and Gershwin, S. B. (1989), Equivalence relations in queueing models of fork/join networks "
    "with blocking, Performance Evaluation 10, 233-245: parts one way are places the other way (from memory)"
)
LETTERS = "ABC"


def fed_assembly(
    means: Sequence[float], mean: float, places: Sequence[int], study: str, needs: Sequence[int] = ()
) -> str:
    """Saturated feeders A, B, ... with places behind them and a station that takes a whole kit.

    Exponential times with means in seconds; one part of each kind per assembly where `needs` says nothing.
    """
    names = LETTERS[: len(means)]
    kit = {f"{name} bin": count for name, count in zip(names, needs or [1] * len(names), strict=True)}
    feeders = "".join(
        f"\n  {name}: {{cycle: {exponential(m)}}}" for name, m in zip(names, means, strict=True)
    )
    lines = ", ".join(f"{name} line: [{name}, {name} bin]" for name in names[1:])
    stores = ", ".join(f"{name} bin: {count}" for name, count in zip(names, places, strict=True))
    taken = ", ".join(f"{store}: {count}" for store, count in kit.items())
    return f"""
cell: assembly with {len(names)} feeders
route: [A, A bin, fit]
lines: {{{lines}}}
stations: {feeders}
  fit: {{cycle: {exponential(mean)}, takes: {{{taken}}}}}
stores: {{{stores}}}
study: {{{study}}}
"""


def assembly_with_nests(places: int, study: str) -> str:
    """Feeders A and B and a station with a nest for each part, all exponential with mean 1 s.

    A part goes into its nest as soon as that is empty; both nests become empty when the assembly ends.  The
    nest of A is a carrier; that of B is a unit of its own that `part` gives back, as B goes into A.
    """
    return f"""
cell: assembly with a nest for each part
route: [A, A bin, lay A, fit, part]
lines: {{B line: [B, B bin, lay B, B in nest]}}
stations:
  A: {{cycle: {exponential(1)}}}
  B: {{cycle: {exponential(1)}}}
  lay A: {{cycle: 1 us}}
  lay B: {{cycle: 1 us, takes: {{B bin: 1, B nest: 1}}}}
  fit: {{cycle: {exponential(1)}, takes: {{B in nest: 1}}}}
  part: {{cycle: 1 us, yields: 2 per unit, goes_to: [B nest, finished], chooses: in turn}}
stores: {{A bin: {places}, B bin: {places}, B in nest: 0, B nest: {{places: 1, starts_with: 1}}}}
carriers: {{A nest: {{count: 1, from: lay A, to: fit}}}}
study: {{{study}}}
"""


def assembly_turned_round(places: int, study: str) -> str:
    """The line that is the assembly with nests, its second feeder turned round: B takes instead of giving.

    A may be ahead of the assembly by its bin, its nest and itself; what B has not yet taken are places.
    """
    return f"""
cell: an assembly turned round
route: [A, A bin, fit, B bin, B]
stations:
  A: {{cycle: {exponential(1)}}}
  fit: {{cycle: {exponential(1)}, hands_on: only into a free place}}
  B: {{cycle: {exponential(1)}}}
stores: {{A bin: unlimited, B bin: {places + 1}}}
carriers: {{cards: {{count: {places + 2}, from: A, to: fit}}}}
study: {{{study}}}
"""


def paired_parts(mean_a: float, mean_b: float, room_a: int, room_b: int, study: str) -> str:
    """Two Poisson streams of parts (mean times between them in seconds) that are paired at once.

    A source that stands with its part while the store is full is, for exponential times, one whose parts are
    turned away meanwhile; the part that it holds is one of those that wait.
    """
    return f"""
cell: parts that are paired
route: [A, A bin, pair]
lines: {{B line: [B, B bin]}}
stations:
  A: {{cycle: {exponential(mean_a)}}}
  B: {{cycle: {exponential(mean_b)}}}
  pair: {{cycle: 1 us, takes: {{B bin: 1}}}}
stores: {{A bin: {room_a - 1}, B bin: {room_b - 1}}}
study: {{{study}}}
"""


def fork_and_join(every: float, study: str) -> str:
    """Orders as a Poisson stream, one each so many seconds, that need work of 1 s at A and at B."""
    return f"""
cell: fork and join
release: {{every: {exponential(every)}}}
route: [fork, A queue, A, A done, join]
lines: {{B line: [B queue, B, B done]}}
stations:
  fork: {{cycle: 1 us, yields: 2 per order, goes_to: [A queue, B queue], chooses: in turn}}
  A: {{cycle: {exponential(1)}}}
  B: {{cycle: {exponential(1)}}}
  join: {{cycle: 1 us, takes: {{A done: 1, B done: 1}}}}
stores: {{A queue: unlimited, B queue: unlimited, A done: unlimited, B done: unlimited}}
study: {{{study}}}
"""


FED = [
    Published(
        id=name,
        topic=TOPIC,
        statement=f"two feeders, means {a:g} and {b:g} s, {places[0]} and {places[1]} places, assembly of "
        f"{needs[0]} + {needs[1]} parts, mean {mean:g} s, all exponential; it takes whole kits only",
        cell=fed_assembly(
            [a, b], mean, places, f"settle: 10 min, run: {run}, replications: 32, seed: {seed}", needs
        ),
        quantity="units per second",
        value=value,
        unit="assemblies per second",
        source=source,
        formula=partial(assembly.assembly_rate, [a, b], mean, places, needs),
    )
    for name, a, b, mean, places, needs, value, source, run, seed in [
        ("assembly-0-places", 1, 1, 1, [0, 0], [1, 1], 6 / 11, MAXIMUM, "3 h", 1001),
        ("assembly-0-places-unequal", 1, 0.8, 1.25, [0, 0], [1, 1], 0.5290826202, MAXIMUM, "3 h", 1002),
        ("assembly-2-places", 1, 1, 1, [2, 2], [1, 1], 0.7319991454, BHAT, "2 h", 1003),
        ("assembly-5-places", 1, 1, 1, [5, 5], [1, 1], 0.8304498171, BHAT, "2 h", 1004),
        ("assembly-2-of-A-2-and-1-places", 0.5, 1, 1, [2, 1], [2, 1], 0.6647850288, BHAT, "2 h", 1005),
        ("assembly-2-of-A-4-and-2-places", 0.5, 1, 1, [4, 2], [2, 1], 0.7424825726, BHAT, "2 h", 1006),
    ]
]
THREE_FEEDERS = [
    Published(
        id="assembly-of-three-parts",
        topic=TOPIC,
        statement="three feeders and assembly, all exponential with mean 1 s, no places: 1 / (1 + 1/2 + 1/3 "
        "+ 1/4) = 12/25",
        cell=fed_assembly([1, 1, 1], 1, [0, 0, 0], "settle: 10 min, run: 3 h, replications: 32, seed: 1011"),
        quantity="units per second",
        value=12 / 25,
        unit="assemblies per second",
        source=MAXIMUM,
        formula=partial(assembly.synchronised_rate, [1, 1, 1, 1]),
    )
]
NESTS = [
    Published(
        id=f"assembly-with-nests-{places}-places",
        topic=TOPIC,
        statement=f"two feeders and assembly, all exponential with mean 1 s, {places} places each, and a "
        "nest for each part in the assembly, filled as soon as it is empty",
        cell=assembly_with_nests(
            places, f"settle: 10 min, run: 3 h, replications: 32, seed: {1020 + places}"
        ),
        quantity="units per second",
        value=value,
        unit="assemblies per second",
        source=BHAT,
        formula=partial(assembly.assembly_rate, [1, 1], 1, [places, places], preloading=True),
    )
    for places, value in [(0, 26 / 45), (2, 0.7359194035)]
]
TURNED_ROUND = [
    Published(
        id=f"assembly-turned-round-{places}-places",
        topic=TOPIC,
        statement=f"the assembly with nests and {places} places makes as much as the line A, assembly, B in "
        "which B takes units away: parts of B and places change their roles",
        cell=assembly_turned_round(
            places, f"settle: 10 min, run: 3 h, replications: 32, seed: {1030 + places}"
        ),
        quantity="units per second",
        value=value,
        unit="units per second",
        source=TURNED,
        formula=partial(assembly.assembly_rate, [1, 1], 1, [places, places], preloading=True),
    )
    for places, value in [(0, 26 / 45), (2, 0.7359194035)]
]
PAIRS = [
    Published(
        id=name,
        topic=TOPIC,
        statement=f"A and B come as Poisson streams, {1 / a:g} and {1 / b:g} per s, are paired at once, and "
        f"are turned away where {room_a} of A or {room_b} of B wait: pairs made",
        cell=paired_parts(
            a, b, room_a, room_b, f"settle: 10 min, run: {run}, replications: 32, seed: {seed}"
        ),
        quantity="units per second",
        value=value,
        unit="pairs per second",
        source=KASHYAP,
        formula=figure_of("rate", assembly.matching, 1 / a, 1 / b, room_a, room_b),
    )
    for name, a, b, room_a, room_b, value, run, seed in [
        ("pairs-equal-3-places", 1, 1, 3, 3, 6 / 7, "3 h", 1041),
        ("pairs-equal-10-places", 0.5, 0.5, 10, 10, 40 / 21, "80 min", 1042),
        ("pairs-unequal", 1, 0.8, 4, 2, 1 - 0.8**6 * 0.2 / (1 - 0.8**7), "3 h", 1043),
    ]
]
FORKS = [
    Published(
        id=f"fork-and-join-{load}-percent",
        topic=TOPIC,
        statement=f"orders, Poisson, one each {100 / load:g} s, need exponential work of mean 1 s at A and "
        "at B, and wait for both: mean time (12 - load) / 8 of that at one station alone",
        cell=fork_and_join(
            100 / load, f"settle: 10 min, run: {run}, replications: {count}, seed: {1050 + load}"
        ),
        quantity="mean lead time, s",
        value=value,
        unit="s",
        source=FORK_JOIN,
        formula=partial(assembly.fork_join_time, load / 100, 1),
    )
    for load, value, run, count in [(25, 47 / 24, "15 h", 32), (40, 29 / 12, "13 h", 54)]
]
ENTRIES = [*FED, *THREE_FEEDERS, *NESTS, *TURNED_ROUND, *PAIRS, *FORKS]
