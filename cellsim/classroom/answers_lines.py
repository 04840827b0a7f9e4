"""Exercises about lines: takt, places, variation, blocking, which station limits, cards."""

from __future__ import annotations

from functools import partial

from cellsim.classroom.exercise import Exercise, Figure, means
from cellsim.classroom.readings import Reading, gain
from cellsim.describe.resolve import load_text
from cellsim.published.lines import HUNT, PATH
from cellsim.published.measures import REPLICATED
from cellsim.study.loading import loading
from cellsim.study.loads import Loading
from cellsim.theory.closed import closed_network
from cellsim.theory.departures import constant_times_departure, departures
from cellsim.theory.open_networks import jackson_network
from cellsim.theory.saturated import elasticities, line_figures
from cellsim.theory.two_stations import exponential_times_rate
from cellsim.theory.two_unreliable import fluid_pair

PER_HOUR = REPLICATED["units per hour"]
OUTPUT = means(PER_HOUR)


def share_of(quantity: str, of: str = "") -> Reading:
    """A share of time, in per cent."""
    return means(REPLICATED[quantity], of, 100)


# 1: takt and people; all of it is the static check of the cell.
SCRAP = 0.02


def five_benches() -> Loading:
    """The static check of exercise 1."""
    return loading(load_text(TAKT.cell_text()))


def balance(people: int) -> float:
    """Balance efficiency with so many people, per cent."""
    return 100 * five_benches().balance(people)


TAKT = Exercise(
    number=1,
    file="01_takt",
    source="takt = net working time / units; people = hand work / takt, rounded up; balance = hand work / "
    "(people x takt); International Labour Office, Introduction to Work Study, Geneva (from memory)",
    figures=(
        Figure(key="takt", words="takt", unit="s", exact=lambda: five_benches().takt_s),
        Figure(
            key="people", words="least people", unit="people", exact=lambda: five_benches().least_people()
        ),
        Figure(key="four", words="balance with four people", unit="%", exact=partial(balance, 4)),
        Figure(key="five", words="balance with five people", unit="%", exact=partial(balance, 5)),
        Figure(
            key="scrap",
            words="takt of started units, 2 % scrap",
            unit="s",
            exact=lambda: five_benches().takt_s * (1 - SCRAP),
        ),
    ),
    more={
        "work": lambda: five_benches().hand_work_s(),
        "shift": lambda: 480 * 60 / 900,
        "breaks": lambda: 460 * 60 / 900,
        "slowest": lambda: max(load.work_s for load in five_benches().stations),
        "share": lambda: five_benches().hand_work_s() / five_benches().takt_s,
    },
    within=0.005,
)

# 2: two stations that stop.
CYCLE, RUN, REPAIR = 24.0, 1200.0, 240.0


def with_places(count: float) -> float:
    """Units per hour of the two benches with so many tray places, as a flow."""
    return 3600 / CYCLE * fluid_pair([RUN, RUN], [REPAIR, REPAIR], count * CYCLE).rate


def alone() -> float:
    """Units per hour of one of the benches for itself: no tray can make more of two."""
    return 3600 / CYCLE * RUN / (RUN + REPAIR)


def won(count: float) -> float:
    """Share of the gain that any tray could bring, won by so many places, per cent."""
    return 100 * (with_places(count) - with_places(0)) / (alone() - with_places(0))


ONE_BUFFER = Exercise(
    number=2,
    file="02_one_buffer",
    source="continuous flow: Jacobs, D. and Meerkov, S. M. (1995), International Journal of Systems Science "
    "26(4), 755-785 (from memory), derived again for stops by running time; single units differ by up to "
    "0.3 %",
    figures=tuple(
        Figure(
            key=f"places_{count}",
            words=f"{count} place{'s' * (count != 1)}",
            unit="per h",
            exact=partial(with_places, count),
            read=OUTPUT,
            changes=() if count == 10 else (f"stores.tray.places: {count}",),
        )
        for count in (10, 0, 5, 20, 40, 100)
    ),
    more={
        "alone": alone,
        "work": lambda: 3600 / CYCLE,
        "won_10": partial(won, 10),
        "won_40": partial(won, 40),
        "both": lambda: 3600 / CYCLE * (RUN / (RUN + REPAIR)) ** 2,
        "cover": lambda: REPAIR / CYCLE,
    },
    within=0.02,
)

# 3: variation alone.
MEAN = 36.0


def varied(count: int) -> float:
    """Units per hour of two benches of exponential times with so many places between."""
    return 3600 * exponential_times_rate([MEAN, MEAN], count)


RANDOM_TIMES = Exercise(
    number=3,
    file="03_random_times",
    source=HUNT,
    figures=(
        Figure(key="none", words="no place", unit="per h", exact=partial(varied, 0), read=OUTPUT),
        *(
            Figure(
                key=f"places_{count}",
                words=f"{count} place{'s' * (count != 1)}",
                unit="per h",
                exact=partial(varied, count),
                read=OUTPUT,
                changes=(f"stores.between.places: {count}",),
            )
            for count in (1, 2, 4, 8)
        ),
        Figure(
            key="three",
            words="three benches, no place",
            unit="per h",
            exact=lambda: 3600 * line_figures([MEAN] * 3, [0, 0]).rate,
            read=OUTPUT,
            cell="03_three_benches",
        ),
    ),
    more={"constant": lambda: 3600 / MEAN, "half": lambda: 1800 / MEAN},
)

# 13: busy is not the same as limiting.
MEANS, PLACES = (33.0, 30.0, 30.0, 31.5), (8, 8, 0)


def quicker(station: int) -> float:
    """Units per hour more when the cycle of one station is a tenth shorter."""
    changed = [mean * (0.9 if k == station else 1) for k, mean in enumerate(MEANS)]
    return 3600 * (line_figures(changed, PLACES).rate - line_figures(MEANS, PLACES).rate)


def busy(station: int) -> float:
    """Share of the time that a station works, per cent."""
    return 100 * float(line_figures(MEANS, PLACES).working[station])


def on_path(station: int) -> float:
    """Elasticity of the rate by the times of a station, per cent: its share of the critical path."""
    return 100 * float(elasticities(MEANS, PLACES)[station])


BUSIEST = Exercise(
    number=13,
    file="13_busiest",
    source=PATH,
    figures=(
        Figure(
            key="first",
            words="one quicker: gain",
            unit="per h",
            exact=partial(quicker, 0),
            read=Reading(gain, PER_HOUR),
            changes=("stations.one.cycle.mean: 29.7 s",),
            against=(),
        ),
        Figure(
            key="last",
            words="four quicker: gain",
            unit="per h",
            exact=partial(quicker, 3),
            read=Reading(gain, PER_HOUR),
            changes=("stations.four.cycle.mean: 28.35 s",),
            against=(),
        ),
        Figure(
            key="rate",
            words="as it is",
            unit="per h",
            exact=lambda: 3600 * line_figures(MEANS, PLACES).rate,
            read=OUTPUT,
        ),
        *(
            Figure(
                key=f"busy_{name}",
                words=f"station {name} busy",
                unit="%",
                exact=partial(busy, k),
                read=share_of("share of time at work", name),
            )
            for k, name in ((0, "one"), (3, "four"))
        ),
        *(
            Figure(
                key=f"path_{name}",
                words=f"station {name} on path",
                unit="%",
                exact=partial(on_path, k),
                read=share_of("path share of work", name),
                tolerance=0.02,
            )
            for k, name in ((0, "one"), (3, "four"))
        ),
    ),
    more={
        "slowest": lambda: 3600 / MEANS[0],
        "tenth": lambda: 3600 * line_figures(MEANS, PLACES).rate * (1 / 0.9 - 1),
        "next": lambda: 3600 / 31.5 - 3600 / 33,
    },
    near=0.2,
)

# 14: blocking, unit by unit.
TIMES, HOUR = (40, 60, 50, 90, 30), 3600


def left_within_an_hour(places: int = 0) -> float:
    """Units that leave the five stations within the first hour, with so many places in each gap."""
    left = departures([TIMES] * (HOUR // max(TIMES) + 2), [places] * 4)[:, -1]
    return float((left <= HOUR).sum())


def share_held(station: int) -> float:
    """Share of the first hour in which a station holds a finished unit, per cent."""
    left = departures([TIMES] * (HOUR // min(TIMES) + 2), [0] * 4)
    held = 0.0
    for j in range(len(left)):
        begins = max(left[j - 1, station] if j else 0, left[j, station - 1] if station else 0)
        held += max(0, min(HOUR, left[j, station]) - min(HOUR, begins + TIMES[station]))
    return 100 * held / HOUR


BLOCKING = Exercise(
    number=14,
    file="14_blocking",
    source="recursion of departures: Muth, E. J. (1979), The reversibility property of production lines, "
    "Management Science 25(2), 152-158",
    figures=(
        Figure(
            key="units",
            words="units in the first hour",
            unit="units",
            exact=left_within_an_hour,
            read=means(REPLICATED["good units"]),
        ),
        *(
            Figure(
                key=f"held_{name}",
                words=f"station {name} blocked",
                unit="%",
                exact=partial(share_held, k),
                read=share_of("share of time blocked", name),
            )
            for k, name in enumerate("abcd")
        ),
        Figure(
            key="with_5",
            words="units, 5 places in each gap",
            unit="units",
            exact=partial(left_within_an_hour, 5),
            read=means(REPLICATED["good units"]),
            changes=tuple(f"stores.{gap}.places: 5" for gap in ("ab", "bc", "cd", "de")),
        ),
    ),
    more={
        "cycle": lambda: HOUR / max(TIMES),
        "sum": lambda: HOUR // sum(TIMES),
        "mean": lambda: HOUR / (sum(TIMES) / len(TIMES)),
        "inside": lambda: float(sum(TIMES)),
        "second": lambda: constant_times_departure(TIMES, 2),
        "third": lambda: constant_times_departure(TIMES, 3),
    },
    within=0.0,
)

# 18: cards against a fixed rhythm.
STATIONS, STEP = 4, 30.0
FORWARD = [[1.0 if j == i + 1 else 0.0 for j in range(STATIONS)] for i in range(STATIONS)]


def with_cards(count: int) -> float:
    """Units per hour of the four stations with so many cards."""
    return 3600 * closed_network([STEP] * STATIONS, count).throughput


def pushed() -> float:
    """Mean number inside when units are started at random at the rate that four cards give."""
    found = jackson_network([with_cards(4) / 3600, 0, 0, 0], FORWARD, [STEP] * STATIONS, [1] * STATIONS)
    return sum(queue.number for queue in found.stations)


CARDS = Exercise(
    number=18,
    file="18_cards",
    source="closed network: Gordon, W. J. and Newell, G. F. (1967), Operations Research 15(2), 254-265; for "
    "equal stations cards / (stations + cards - 1): Hopp, W. J. and Spearman, M. L. (1996), Factory Physics, "
    "Irwin (from memory); open: Jackson, J. R. (1957), Operations Research 5, 518-521 (from memory)",
    figures=(
        *(
            Figure(
                key=f"cards_{count}",
                words=f"{count} card{'s' * (count > 1)}",
                unit="per h",
                exact=partial(with_cards, count),
                read=OUTPUT,
                changes=() if count == 4 else (f"release: cards {count}",),
            )
            for count in (4, 1, 8, 16)
        ),
        Figure(
            key="pushed",
            words="inside, without cards",
            unit="units",
            exact=pushed,
            read=means(REPLICATED["number inside, units"]),
            changes=("release: {every: {law: exponential, mean: 52.5 s}}",),
        ),
    ),
    more={
        "most": lambda: 3600 / STEP,
        "more_8": lambda: with_cards(8) - with_cards(4),
        "more_16": lambda: with_cards(16) - with_cards(8),
        "between": lambda: 3600 / with_cards(4),
        "inside": lambda: 4 * 3600 / with_cards(4) / 60,
        "inside_pushed": lambda: pushed() * 3600 / with_cards(4) / 60,
    },
)

EXERCISES = (TAKT, ONE_BUFFER, RANDOM_TIMES, BUSIEST, BLOCKING, CARDS)
