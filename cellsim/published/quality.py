"""Known results of quality: scrap in lines, inspections that err, yields of many steps."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from math import exp

from cellsim.published.cells import exponential, listed, percent
from cellsim.published.entry import Published, figure_of
from cellsim.published.rework import KEMENY
from cellsim.theory import quality

TOPIC = "Scrap and inspection"
MONTGOMERY = "Montgomery, D. C., Introduction to Statistical Quality Control, Wiley; elementary probability"
BAYES = MONTGOMERY + " (Bayes' rule)"
BUZACOTT = (
    "Buzacott, J. A. and Shanthikumar, J. G. (1993), Stochastic Models of Manufacturing Systems, Prentice "
    "Hall (the class of models); the number is that of the stationary Markov chain"
)
REPEATED = (
    "Buzacott, J. A. and Shanthikumar, J. G. (1993), Stochastic Models of Manufacturing Systems, Prentice "
    "Hall: exponential work that is done again until good is exponential"
)
THINNED = (
    "exponential work that only counts when good is exponential, then Hunt, G. C. (1956), Sequential arrays "
    "of waiting lines, Operations Research 4(6), 674-683 (from memory)"
)
SIGMA = (
    "Harry, M. J. (1988), The Nature of Six Sigma Quality, Motorola University Press, table of rolled yields "
    "with a shift of 1.5 sigma (from memory)"
)
POISSON_STOPS = (
    "a unit is good unless a stop came while it or one of the two before it was made; stops come as a "
    "Poisson stream of running time"
)
RARE = 20  # escapes are asked for to a fifth of themselves in the quick set, to a sixteenth in the full one
RUN = "settle: 1 min, run: {}, replications: 32, seed: {}"


def line_of(stations: Sequence[str], places: Sequence[int | str], study: str) -> str:
    """Stations S1, S2, ... with these keys, and the places between them."""
    names = [f"S{k}" for k in range(1, len(stations) + 1)]
    stores = [f"after {name}" for name in names[:-1]]
    route = [name for pair in zip(names, [*stores, ""], strict=True) for name in pair if name]
    rows = "".join(f"\n  {name}: {{{keys}}}" for name, keys in zip(names, stations, strict=True))
    rooms = ", ".join(f"{store}: {count}" for store, count in zip(stores, places, strict=True))
    return f"""
cell: {len(names)} stations in a row
route: [{", ".join(route)}]
stations: {rows}
stores: {{{rooms}}}
study: {{{study}}}
"""


def scrapping(times: Sequence[str], yields: Sequence[float], places: Sequence[int | str], study: str) -> str:
    """A line whose stations scrap what is not good at the end of its work."""
    return line_of(
        [f"cycle: {t}, scrap: {percent(1 - y)}" for t, y in zip(times, yields, strict=True)], places, study
    )


def inspected(
    faulty: float,
    false_reject: float,
    false_accept: float,
    study: str,
    inspections: int = 1,
    to: str = "scrap",
) -> str:
    """Work that leaves hidden faults, and inspections in a row, each with its own errors."""
    errors = f"finds: {percent(1 - false_accept)}, false_rejects: {percent(false_reject)}"
    test = f"cycle: 1 s, inspects: {{{errors}}}, rejects: {{to: {to}}}"
    return line_of(
        [f"cycle: 1 s, faults: {percent(faulty)}"] + [test] * inspections, [0] * inspections, study
    )


def hidden_faults(faulty: Sequence[float], study: str) -> str:
    """Steps that leave hidden faults, and a last inspection that finds each of them and nothing else."""
    steps = [f"cycle: 1 s, faults: {percent(share)}" for share in faulty]
    perfect = "cycle: 1 s, inspects: {finds: 100 %, false_rejects: 0 %}"
    return line_of([*steps, perfect], [0] * len(steps), study)


def spoiling_stops(every: float, lasts: str, keys: str, study: str) -> str:
    """A station of 1 s whose stops come as a Poisson stream of running time, and spoil units."""
    law = f"{{law: exponential, mean: {every:.6f} s, of: running}}"
    return f"""
cell: a station whose stops spoil units
route: [M]
stations: {{M: {{cycle: 1 s, stops: {{stop: {{every: {law}, lasts: {lasts}, {keys}}}}}}}}}
study: {{{study}}}
"""


STARTS = [
    Published(
        id=f"starts-for-a-good-unit-{name}",
        topic=TOPIC,
        statement=f"stations in a row with yields {listed(yields)}, the rest is scrap: units started for a "
        "good one, 1 / product of yields",
        cell=scrapping(["1 s"] * len(yields), yields, [5] * (len(yields) - 1), RUN.format("1 h", seed)),
        quantity="starts per good unit",
        value=value,
        unit="units",
        source=MONTGOMERY,
        formula=partial(quality.starts_needed, yields, 1),
    )
    for name, yields, value, seed in [
        ("three-stations", [0.98, 0.95, 0.99], 54.24817455 / 50, 3041),
        ("four-stations", [0.9, 0.85, 0.95, 0.99], 41.69663612 / 30, 3042),
    ]
]
CAPACITY = [
    Published(
        id=f"most-good-units-{name}",
        topic=TOPIC,
        statement=f"stations of {listed(times)} s, yields {listed(yields)}, places without end: most good "
        "units, the least of (product of yields from there on) / time",
        cell=scrapping(
            [f"{t:g} s" for t in times],
            yields,
            ["unlimited"] * (len(yields) - 1),
            f"settle: 10 min, run: 1 h, replications: 32, seed: {seed}",
        ),
        quantity="units per minute",
        value=value,
        unit="units per minute",
        source=MONTGOMERY,
        formula=partial(quality.scrap_capacity, yields, [t / 60 for t in times]),
    )
    for name, yields, times, value, seed in [
        ("three-stations", [0.98, 0.95, 0.99], [1, 0.9, 1.05], 55.3014, 3051),
        ("five-stations", [0.99, 0.97, 0.995, 0.96, 0.985], [0.4, 0.42, 0.45, 0.44, 0.46], 125.4496, 3052),
    ]
]
WITH_SCRAP: list[tuple[str, list[float], list[int], list[float], float, str, int]] = [
    ("scrap-in-the-middle", [1, 1, 1], [1, 1], [1, 0.9, 1], 0.6190122864, BUZACOTT, 3061),
    ("scrap-at-two-stations", [0.9, 1, 1.1], [2, 2], [0.95, 0.95, 1], 0.6962123845, BUZACOTT, 3062),
    ("scrap-of-a-quicker-station", [0.8, 1], [2], [0.8, 1], 4 / 5, THINNED, 3063),
]
SCRAP_LINES = [
    Published(
        id=name,
        topic=TOPIC,
        statement=f"stations in a row, exponential, means {listed(means)} s, {listed(places)} places, yields "
        f"{listed(yields)}; scrap leaves at once: good units",
        cell=scrapping(
            [exponential(mean) for mean in means],
            yields,
            places,
            f"settle: 10 min, run: 3 h, replications: 32, seed: {seed}",
        ),
        quantity="units per second",
        value=value,
        unit="units per second",
        source=source,
        formula=partial(quality.scrap_line, means, places, [1 - y for y in yields]),
    )
    for name, means, places, yields, value, source, seed in WITH_SCRAP
]
REPEATS = [
    Published(
        id=f"repeats-of-{percent(share)[:-2]}-percent-{places}-places",
        topic=TOPIC,
        statement=f"two stations, exponential, means 1 and {mean:g} s, {places} places; the second does "
        f"{percent(share)} again at once, as if its mean were {mean / (1 - share):.3g} s",
        cell=line_of(
            [
                f"cycle: {exponential(1)}",
                f"cycle: {exponential(mean)}, "
                f"rejects: {{share: {percent(share)}, to: here, repair: {exponential(mean)}}}",
            ],
            [places],
            f"settle: 10 min, run: 3 h, replications: 32, seed: {3070 + places}",
        ),
        quantity="units per second",
        value=value,
        unit="units per second",
        source=REPEATED,
        formula=partial(quality.scrap_line, [1, mean / (1 - share)], [places], [0, 0]),
    )
    for mean, share, places, value in [(0.9, 0.1, 1, 0.75), (1, 0.2, 3, 0.7289444011)]
]
ROLLED = [
    Published(
        id="five-steps-of-98-percent",
        topic=TOPIC,
        statement="five steps leave no fault in 98 % of the units each: share of units without any fault",
        cell=hidden_faults([0.02] * 5, RUN.format("1 h", 3081)),
        quantity="good share",
        value=0.9039207968,
        unit="",
        source=MONTGOMERY,
        formula=partial(quality.rolled_throughput_yield, [0.98] * 5),
    ),
    Published(
        id="four-steps-with-rework",
        topic=TOPIC,
        statement="four steps pass 99, 95, 97, 90 % at the first attempt and rework the rest in place: "
        "rolled throughput yield, the product",
        cell=line_of(
            [
                f"cycle: 1 s, rejects: {{share: {percent(1 - y)}, to: here, repair: 500 ms}}"
                for y in (0.99, 0.95, 0.97, 0.9)
            ],
            [1, 1, 1],
            RUN.format("1 h", 3082),
        ),
        quantity="rolled yield",
        value=0.8210565,
        unit="",
        source=MONTGOMERY,
        formula=partial(quality.rolled_throughput_yield, [0.99, 0.95, 0.97, 0.9]),
    ),
    *[
        Published(
            id=f"ten-steps-of-{sigma}-sigma",
            topic=TOPIC,
            statement=f"ten steps of {sigma} sigma, {percent(faulty)} faulty each: good share",
            cell=hidden_faults([faulty] * 10, RUN.format("195 min", 3090 + sigma)),
            quantity="good share",
            value=value,
            unit="",
            exactness="four decimals",
            rounding=0.5e-4 / value,
            tolerance=0.5e-4 / value,
            source=SIGMA,
            formula=partial(quality.rolled_throughput_yield, [1 - faulty] * 10),
        )
        for sigma, faulty, value in [(3, 0.06681, 0.5008), (4, 0.00621, 0.9396)]
    ],
]
DEFECTS = [
    Published(
        id=f"units-without-defect-{round(100 * per_unit)}-per-100",
        topic=TOPIC,
        statement=f"defects come at random while a unit is made, {per_unit:g} per unit; one is enough to "
        "spoil it: good share exp(-defects per unit)",
        cell=spoiling_stops(
            1 / per_unit, "1 us", "part: is scrapped", RUN.format("1 h", 3100 + 100 * per_unit)
        ),
        quantity="good share",
        value=value,
        unit="",
        source=MONTGOMERY,
        formula=partial(quality.defect_free_share, per_unit),
    )
    for per_unit, value in [(0.05, 0.9512294245), (0.3, 0.7408182207)]
] + [
    Published(
        id="three-units-spoiled-after-each-stop",
        topic=TOPIC,
        statement="a station of 1 s stops every 30 s of running, exponential; the first three units finished "
        "after each stop are scrap: good share exp(-3/30)",
        cell=spoiling_stops(30, "2 s", "restart_scrap: 3", RUN.format("90 min", 3141)),
        quantity="good share",
        value=exp(-3 / 30),
        unit="",
        source=POISSON_STOPS,
        formula=partial(quality.defect_free_share, 3 / 30),
    )
]
ESCAPES, FALSE, AGAIN = "faulty share of good units", "good share of rejected units", "passes per good unit"
FIGURE = {ESCAPES: "outgoing_defective", FALSE: "rejected_good", AGAIN: "passes_per_accepted"}


def inspections(count: int) -> str:
    """How often units are inspected, for a statement."""
    return f", {count} times in a row" if count > 1 else ""


INSPECTED = [
    Published(
        id=f"inspection-{name}",
        topic=TOPIC,
        statement=f"{percent(bad)} of the units are faulty; an inspection accepts {percent(missed)} of these "
        f"and rejects {percent(false)} of the good ones{inspections(count)}: {quantity}",
        cell=inspected(bad, false, missed, RUN.format(run, seed), count),
        quantity=quantity,
        of="S2" if quantity == FALSE else "",
        value=value,
        unit="",
        source=BAYES,
        formula=figure_of(FIGURE[quantity], quality.inspection, bad, false, missed, count),
        whole=RARE * value if quantity == ESCAPES else 1.0,
        full_only=value < 1e-4,
    )
    for name, bad, false, missed, count, quantity, value, run, seed in [
        ("of-2-percent-escapes", 0.02, 0.01, 0.05, 1, ESCAPES, 0.001029654036, "13 h", 3201),
        ("of-2-percent-false-alarms", 0.02, 0.01, 0.05, 1, FALSE, 0.3402777778, "13 h", 3201),
        ("of-10-percent-false-alarms", 0.1, 0.03, 0.15, 1, FALSE, 0.2410714286, "6 h", 3202),
        ("of-half-a-percent-escapes", 0.005, 0.02, 0.01, 1, ESCAPES, 5.127416295e-05, "75 h", 3203),
        ("twice-escapes", 0.05, 0.02, 0.1, 2, ESCAPES, 0.0005477171151, "14 h", 3204),
        ("three-times-escapes", 0.1, 0.05, 0.2, 3, ESCAPES, 0.001035682499, "10 h", 3205),
    ]
]
LOOP = [
    Published(
        id=f"inspection-with-rework-{name}",
        topic=TOPIC,
        statement=f"each pass leaves {percent(bad)} of the units faulty; an inspection accepts "
        f"{percent(missed)} of these, rejects {percent(false)} of the others, and the rejected are worked "
        f"again: {quantity}",
        cell=inspected(bad, false, missed, RUN.format(run, seed), to="S1"),
        quantity=quantity,
        of="S2" if quantity != ESCAPES else "",
        value=value,
        unit="" if quantity == ESCAPES else "passes",
        source=BAYES if quantity == ESCAPES else KEMENY,
        formula=figure_of(FIGURE[quantity], quality.inspection, bad, false, missed),
        whole=RARE * value if quantity == ESCAPES else 0.0,
    )
    for name, bad, false, missed, quantity, value, run, seed in [
        ("5-percent-passes", 0.05, 0.02, 0.1, AGAIN, 1.068376068, "2 h", 3211),
        ("5-percent-escapes", 0.05, 0.02, 0.1, ESCAPES, 0.005341880342, "2 h", 3211),
        ("20-percent-escapes", 0.2, 0.05, 0.05, ESCAPES, 0.01298701299, "1 h", 3212),
        ("1-percent-passes", 0.01, 0.03, 0.2, AGAIN, 1.039176972, "1 h", 3213),
    ]
]
ENTRIES = [*STARTS, *CAPACITY, *SCRAP_LINES, *REPEATS, *ROLLED, *DEFECTS, *INSPECTED, *LOOP]
