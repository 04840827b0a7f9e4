"""Known results of lines in which a fixed number of units, cards or pallets goes round."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from cellsim.published.cells import exponential
from cellsim.published.rows import decimals, row
from cellsim.theory import closed as theory

TOPIC = "Lines with a fixed number of units inside"
MVA = (
    "Reiser, M. and Lavenberg, S. S. (1980), Mean-value analysis of closed multichain queuing networks, "
    "Journal of the ACM 27(2), 313-322; Gordon, W. J. and Newell, G. F. (1967), Closed queuing systems with "
    "exponential servers, Operations Research 15(2), 254-265"
)
BUZEN = (
    "Buzen, J. P. (1973), Computational algorithms for closed queueing networks with exponential servers, "
    "Communications of the ACM 16(9), 527-531"
)
HOPP = (
    "Hopp, W. J. and Spearman, M. L. (1996, 2000), Factory Physics, Irwin/McGraw-Hill, chapter on basic "
    "factory dynamics (best, worst and practical worst case)"
)
LOOP = (
    "stationary Markov chain of the loop; the class of models is reviewed in Dallery, Y. and Gershwin, S. B. "
    "(1992), Manufacturing flow line systems, Queueing Systems 12, 3-94"
)
KOENIGSBERG = (
    "Koenigsberg, E. (1958), Cyclic queues, Operational Research Quarterly 9(1), 22-35 (from memory)"
)
LAZOWSKA = (
    "Lazowska, E. D., Zahorjan, J., Graham, G. S. and Sevcik, K. C. (1984), Quantitative System Performance, "
    "Prentice Hall, example of mean value analysis (from memory)"
)
JAIN = (
    "Jain, R. (1991), The Art of Computer Systems Performance Analysis, Wiley, example of mean value "
    "analysis (from memory)"
)
RATE, AT = "units per second", "mean number at the station"

known = partial(row, TOPIC)


def cards_line(
    laws: Sequence[str], cards: int, study: str, machines: Sequence[int] = (), trays: bool = False
) -> str:
    """Stations S1, S2, ... with room for all units between them; a unit enters when one leaves.

    With trays the units go from station to station, and out, in one group of all of them.
    """
    names = [f"S{k + 1}" for k in range(len(laws))]
    counts = machines or [1] * len(laws)
    stations = [
        f"{name}: {{machines: {count}, cycle: {law}}}"
        for name, count, law in zip(names, counts, laws, strict=True)
    ]
    if trays:
        names.append("out")
        stations.append(f"out: {{cycle: 0 s, batch: {{size: {cards}}}}}")
    route = [names[0], *(part for name in names[1:] for part in (f"before {name}", name))]
    room = f"{{places: {cards}, tray: {cards}}}" if trays else "unlimited"
    stores = ", ".join(f"before {name}: {room}" for name in names[1:])
    return f"""
cell: fixed number of units
release: cards {cards}
route: [{", ".join(route)}]
stations: {{{", ".join(stations)}}}
stores: {{{stores}}}
study: {{{study}}}
"""


def exponential_cards(means: Sequence[float], cards: int, study: str, machines: Sequence[int] = ()) -> str:
    """The same with exponential times (means in seconds)."""
    return cards_line([exponential(mean) for mean in means], cards, study, machines)


def constant_cards(
    times: Sequence[float], cards: int, machines: Sequence[int] = (), trays: bool = False
) -> str:
    """The same with constant times (seconds); no time is drawn, so one run would do."""
    study = "settle: 100 min, run: 7 h, replications: 2, seed: 2000"
    return cards_line([f"{time} s" for time in times], cards, study, machines, trays)


def pallet_loop(means: Sequence[float], places: Sequence[int], starts: Sequence[int], study: str) -> str:
    """Stations S1, S2, ... in a loop, with the places in front of each and the pallets that start there.

    One more pallet starts in each station.  Times are exponential (seconds).  No pallet ever leaves; since a
    cell hands something on, a clock beside the loop does.
    """
    names = [f"S{k + 1}" for k in range(len(means))]
    loop = ", ".join(f"before {name}, {name}" for name in names)
    back = {names[-1]: f", goes_to: before {names[0]}"}
    stations = ", ".join(
        f"{name}: {{cycle: {exponential(mean)}{back.get(name, '')}}}"
        for name, mean in zip(names, means, strict=True)
    )
    stores = ", ".join(
        f"before {name}: {{places: {room}, starts_with: {start}}}"
        for name, room, start in zip(names, places, starts, strict=True)
    )
    return f"""
cell: loop of pallets
route: [clock]
lines: {{loop: [{loop}]}}
stations: {{clock: {{cycle: 1 h}}, {stations}}}
stores: {{{stores}}}
study: {{start: primed, {study}}}
"""


def terminals(think: float, demands: Sequence[float], users: int, study: str) -> str:
    """Users who think at T, each for himself, and then visit stations S1, S2, ... (exponential, seconds)."""
    return exponential_cards([think, *demands], users, study, [users, *(1 for _ in demands)])


def parallel_rate(cards: int) -> float:
    """Output of the line with parallel machines, by its normalising constants."""
    return theory.closed_network(MEANS, cards, MACHINES).throughput


def balanced_rate(mean: float, stations: int, cards: int) -> float:
    """Output of equal exponential stations, which is the practical worst case."""
    return theory.practical_worst_case([mean] * stations, cards).throughput


MEANS, MACHINES = [2.0, 5, 10, 3], [1, 2, 6, 2]  # hours; machines at each station
THREE = exponential_cards([1, 1.5, 0.8], 5, "settle: 10 min, run: 7 h, replications: 32, seed: 2001")
FOUR = exponential_cards([2, 3, 2.5, 4], 6, "settle: 20 min, run: 20 h, replications: 32, seed: 2002")
NETWORKS = [
    known(
        "three-stations-five-cards-rate",
        "3 stations, exponential times of mean 1, 1.5, 0.8 s, 5 units inside: output by mean value analysis",
        0.6056589953,
        THREE,
        RATE,
        "",
        lambda: theory.closed_network([1, 1.5, 0.8], 5).throughput,
        MVA,
    ),
    known(
        "three-stations-five-cards-number",
        "the same line: mean number at station 2, the slowest",
        2.913316481,
        THREE,
        AT,
        "S2",
        lambda: theory.closed_network([1, 1.5, 0.8], 5).numbers[1],
        MVA,
    ),
    known(
        "four-stations-six-cards-number",
        "4 stations, exponential times of mean 2, 3, 2.5, 4 s, 6 units inside: mean number at station 4, the "
        "slowest",
        2.782591829,
        FOUR,
        AT,
        "S4",
        lambda: theory.closed_network([2, 3, 2.5, 4], 6).numbers[3],
        MVA,
    ),
    known(
        "five-stations-ten-cards-rate",
        "5 stations, exponential times of mean 1, 1, 1.2, 0.9, 1.1 s, 10 units inside: output",
        0.6769083985,
        exponential_cards(
            [1, 1, 1.2, 0.9, 1.1], 10, "settle: 10 min, run: 2 h, replications: 32, seed: 2003"
        ),
        RATE,
        "",
        lambda: theory.mean_value_analysis([[1, 1, 1.2, 0.9, 1.1]], [10], [0])[0].throughput,
        MVA,
    ),
    *(
        known(
            f"parallel-machines-{cards}-cards-rate",
            f"4 stations with 1, 2, 6, 2 machines, exponential times of mean 2, 5, 10, 3 h, {cards} units "
            "inside: output (in the cell 1 h lasts 1 s)",
            value,
            exponential_cards(
                MEANS, cards, f"settle: 20 min, run: 4 h, replications: 32, seed: {2010 + cards}", MACHINES
            ),
            RATE,
            "",
            partial(parallel_rate, cards),
            BUZEN,
            unit="units per h",
        )
        for cards, value in [(8, 0.310219258), (15, 0.3809087445)]
    ),
]
BALANCED = [
    known(
        f"{words}-rate",
        f"{stations} stations, exponential times of mean {mean} h, {cards} units inside: output w / (W0 + w "
        f"- 1) rb, W0 = {stations}, rb = 1/{mean} (in the cell 1 h lasts 1 s)",
        value,
        exponential_cards(
            [mean] * stations, cards, f"settle: 10 min, run: {run}, replications: 32, seed: {seed}"
        ),
        RATE,
        "",
        partial(balanced_rate, mean, stations, cards),
        HOPP,
        unit="units per h",
    )
    for words, mean, stations, cards, value, run, seed in [
        ("four-alike-four-cards", 2, 4, 4, 0.2857142857, "4 h", 2030),
        ("four-alike-ten-cards", 2, 4, 10, 0.3846153846, "4 h", 2031),
        ("six-alike-six-cards", 1, 6, 6, 0.5454545455, "2 h", 2032),
    ]
]
CONSTANT = [
    known(
        "best-case-three-cards",
        "4 stations of 2 h, always the same, 3 units inside: output min(w / T0, rb) (in the cell 1 h lasts "
        "1 s)",
        0.375,
        constant_cards([2] * 4, 3),
        RATE,
        "",
        lambda: theory.best_case([2] * 4, 3).throughput,
        HOPP,
        unit="units per h",
    ),
    known(
        "best-case-parallel-machines-five-cards",
        "4 stations with 1, 2, 6, 2 machines of 2, 5, 10, 3 h, always the same, 5 units inside: output",
        0.25,
        constant_cards(MEANS, 5, MACHINES),
        RATE,
        "",
        lambda: theory.best_case(MEANS, 5, MACHINES).throughput,
        HOPP,
        unit="units per h",
    ),
    known(
        "best-case-parallel-machines-twelve-cards",
        "the same line with 12 units inside: output",
        0.4,
        constant_cards(MEANS, 12, MACHINES),
        RATE,
        "",
        lambda: theory.best_case(MEANS, 12, MACHINES).throughput,
        HOPP,
        unit="units per h",
    ),
    known(
        "worst-case-ten-cards",
        "4 stations of 2 h, always the same, 10 units that move as one group: time of a unit inside w T0 (in "
        "the cell 1 h lasts 1 s)",
        80.0,
        constant_cards([2] * 4, 10, trays=True),
        "mean time inside, s",
        "",
        lambda: theory.worst_case([2] * 4, 10).cycle_time,
        HOPP,
        unit="h",
    ),
    known(
        "worst-case-six-cards",
        "the same with 3 stations of 1, 2, 0.5 h and 6 units",
        21.0,
        constant_cards([1, 2, 0.5], 6, trays=True),
        "mean time inside, s",
        "",
        lambda: theory.worst_case([1, 2, 0.5], 6).cycle_time,
        HOPP,
        unit="h",
    ),
]
LOOPS = [
    known(
        "three-stations-five-pallets",
        "loop of 3 stations, exponential times of mean 1 s, 1 place in front of each, 5 pallets, blocking "
        "after service: units per second",
        0.6428571429,
        pallet_loop([1, 1, 1], [1, 1, 1], [1, 1, 0], "settle: 5 min, run: 3 h, replications: 32, seed: 2040"),
        "cycles per second",
        "S1",
        lambda: theory.pallet_loop([1, 1, 1], [1, 1, 1], 5),
        LOOP,
        unit="units per second",
    ),
    known(
        "four-stations-six-pallets",
        "loop of 4 stations, exponential times of mean 1, 1.3, 0.9, 0.7 s, 2, 1, 1, 3 places in front of "
        "them, 6 pallets: units per second",
        0.6021967765,
        pallet_loop(
            [1, 1.3, 0.9, 0.7],
            [2, 1, 1, 3],
            [1, 1, 0, 0],
            "settle: 5 min, run: 3 h, replications: 32, seed: 2041",
        ),
        "cycles per second",
        "S1",
        lambda: theory.pallet_loop([1, 1.3, 0.9, 0.7], [2, 1, 1, 3], 6),
        LOOP,
        unit="units per second",
    ),
]
EXAMPLES = [
    known(
        "two-stations-three-cards",
        "2 stations with equal exponential times and 3 units between which they go round: each station works "
        "3 quarters of its time",
        0.75,
        exponential_cards([1, 1], 3, "settle: 5 min, run: 2 h 30 min, replications: 32, seed: 2050"),
        "share of time at work",
        "S1",
        lambda: theory.closed_network([1, 1], 3).utilisations[0],
        KOENIGSBERG,
    ),
    known(
        "three-users-rate",
        "3 users think 15 s and then need three stations for 0.605, 2.1 and 1.35 s, exponential: requests "
        "per second",
        0.1515,
        terminals(15, [0.605, 2.1, 1.35], 3, "settle: 10 min, run: 28 h, replications: 32, seed: 2051"),
        RATE,
        "",
        lambda: theory.closed_network([0.605, 2.1, 1.35], 3, think_time=15).throughput,
        LAZOWSKA,
        exactness="four decimals",
        rounding=decimals(0.1515, 4),
    ),
    known(
        "three-users-at-the-slowest",
        "the same users: mean number at the second station",
        0.395,
        terminals(15, [0.605, 2.1, 1.35], 3, "settle: 10 min, run: 28 h, replications: 32, seed: 2051"),
        AT,
        "S3",
        lambda: theory.closed_network([0.605, 2.1, 1.35], 3, think_time=15).numbers[1],
        LAZOWSKA,
        exactness="three decimals",
        rounding=decimals(0.395, 3),
    ),
    known(
        "twenty-users-rate",
        "20 users think 4 s and then need three stations for 2, 3 and 1 s in all, exponential: requests per "
        "second",
        0.333,
        terminals(4, [2, 3, 1], 20, "settle: 20 min, run: 9 h, replications: 32, seed: 2052"),
        RATE,
        "",
        lambda: theory.closed_network([2, 3, 1], 20, think_time=4).throughput,
        JAIN,
        exactness="three decimals",
        rounding=decimals(0.333, 3),
    ),
    known(
        "three-users-response",
        "3 users of the same stations: mean time from a request to its answer",
        9.088,
        "",
        "",
        "",
        lambda: theory.closed_network([2, 3, 1], 3, think_time=4).cycle_time,
        JAIN,
        unit="s",
        exactness="three decimals",
        rounding=decimals(9.088, 3),
    ),
    known(
        "board-line-practical-worst-case",
        "line with a bottleneck of 114 boards an hour and 33.9 h of work on a board, 37,400 boards inside: "
        "output of the practical worst case",
        103.3,
        "",
        "",
        "",
        lambda: theory.practical_worst_case([1 / 114, 33.9 - 1 / 114], 37_400, [1, 4_000]).throughput,
        HOPP + " (this example from memory)",
        unit="units per h",
        exactness="one decimal",
        rounding=decimals(103.3, 1),
    ),
]
ENTRIES = [*NETWORKS, *BALANCED, *CONSTANT, *LOOPS, *EXAMPLES]
