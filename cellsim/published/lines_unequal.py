"""Known results of lines whose work or places are spread unevenly, on purpose or not."""

from __future__ import annotations

from functools import partial

from cellsim.published.cells import exponential_line
from cellsim.published.entry import Published
from cellsim.published.lines import HUNT, TOPIC, rate
from cellsim.theory.allocation import best_places, best_work, rate_with
from cellsim.theory.two_stations import exponential_times_rate

HILLIER_BOLING_BOWL = (
    "Hillier, F. S. and Boling, R. W. (1966), The effect of some design factors on the efficiency of "
    "production lines with variable operation times, Journal of Industrial Engineering 17, 651-658; Hillier, "
    "F. S. and So, K. C. (1996), On the robustness of the bowl phenomenon, European Journal of Operational "
    "Research 89, 496-515"
)
BOWL_LATER = (
    "Hillier, F. S. and Boling, R. W. (1979), On the optimal allocation of work in symmetrically unbalanced "
    "production line systems with variable operation times, Management Science 25(8), 721-728 (from memory); "
    "digits from the stationary Markov chain"
)
STORAGE_BOWL = (
    "Hillier, F. S., So, K. C. and Boling, R. W. (1993), Toward characterizing the optimal allocation of "
    "storage space in production line systems with variable processing times, Management Science 39(1), "
    "126-133 (from memory); digits from the stationary Markov chain"
)
MUTH = "Muth, E. J. (1979), The reversibility property of production lines, Management Science 25(2), 152-158"
CONWAY = (
    "Conway, R., Maxwell, W., McClain, J. O. and Thomas, L. J. (1988), The role of work-in-process "
    "inventory in serial production lines, Operations Research 36(2), 229-241 (from memory); digits from "
    "the stationary Markov chain"
)


HOURS = {2: 4, 3: 4.5, 4: 2.5}  # by stations: how long the quick set runs a replication


def listed(numbers: tuple[float, ...]) -> str:
    """Numbers in words of a statement."""
    return ", ".join(f"{x:g}" for x in numbers)


def uneven_line(
    key: str,
    means: tuple[float, ...],
    places: tuple[int, ...],
    says: str,
    value: float,
    source: str,
    seed: int,
) -> Published:
    """An entry about the rate of a line of exponential stations."""
    shown = f"{listed(places)} place{'s'[: places != (1,)]}" if any(places) else "no places"
    return Published(
        id=key,
        topic=TOPIC,
        statement=f"exponential times, means {listed(means)} s, {shown} between: {says}",
        cell=exponential_line(
            [round(mean, 6) for mean in means],
            places,
            f"settle: 20 min, run: {HOURS[len(means)]} h, replications: 24, seed: {seed}",
        ),
        quantity="units per second",
        value=value,
        unit="units per second",
        source=source,
        formula=partial(exponential_times_rate, means, places[0]) if len(means) == 2 else rate(means, places),
    )


BEST_OF_THREE = 0.8289343738  # mean time of the middle station
BEST_OF_FOUR = 1.136543958  # mean time of the outer stations
UNEQUAL = [
    uneven_line(*row)
    for row in [
        (
            "two-unequal-stations-faster-last",
            (1.2, 0.8),
            (1,),
            "rate (1 - w0) / m2, weights (m2 / m1)^n, n = 0..3",
            0.7307692308,
            HUNT,
            1401,
        ),
        (
            "two-unequal-stations-slower-last",
            (1.0, 1.25),
            (3,),
            "rate (1 - w0) / m2, weights (m2 / m1)^n, n = 0..5",
            0.7289444011,
            HUNT,
            1402,
        ),
        ("three-unequal-stations", (1.0, 1.5, 0.8), (1, 2), "rate", 0.5773331758, MUTH, 1403),
        (
            "three-unequal-stations-reversed",
            (0.8, 1.5, 1.0),
            (2, 1),
            "the line before run backwards, the same rate",
            0.5773331758,
            MUTH,
            1404,
        ),
    ]
]
BOWLS = [
    uneven_line(*row)
    for row in [
        (
            "bowl-three-stations",
            (1.1, 0.8, 1.1),
            (0, 0),
            "a faster middle station, more than the 22/39 of equal ones",
            0.5670916169,
            HILLIER_BOLING_BOWL,
            1411,
        ),
        (
            "bowl-three-stations-inverted",
            (0.9, 1.2, 0.9),
            (0, 0),
            "a slower middle station, less than the 22/39 of equal ones",
            0.5532606301,
            HILLIER_BOLING_BOWL,
            1412,
        ),
        (
            "bowl-three-stations-best-rate",
            ((3 - BEST_OF_THREE) / 2, BEST_OF_THREE, (3 - BEST_OF_THREE) / 2),
            (0, 0),
            "the best way to share out 3 s of work",
            0.5671818582,
            HILLIER_BOLING_BOWL,
            1413,
        ),
        (
            "bowl-four-stations",
            (1.04, 0.96, 0.96, 1.04),
            (1, 1, 1),
            "the outer stations a little slower",
            0.6345415088,
            HILLIER_BOLING_BOWL,
            1414,
        ),
        (
            "bowl-four-stations-best-rate",
            (BEST_OF_FOUR, 2 - BEST_OF_FOUR, 2 - BEST_OF_FOUR, BEST_OF_FOUR),
            (0, 0, 0),
            "the best way to share out 4 s of work",
            0.5196312114,
            BOWL_LATER,
            1415,
        ),
    ]
]
BEST_WORK = [
    Published(
        id="bowl-three-stations-best-middle",
        topic=TOPIC,
        statement="3 s of work shared out over three exponential stations without places for the highest "
        "rate: mean time of the middle station",
        value=BEST_OF_THREE,
        unit="s",
        source=HILLIER_BOLING_BOWL,
        exactness="ten digits; the rate changes little around it",
        formula=lambda: float(best_work(3, [0, 0])[1]),
    ),
    Published(
        id="bowl-four-stations-best-outer",
        topic=TOPIC,
        statement="4 s of work shared out over four exponential stations without places for the highest "
        "rate: mean time of the first and of the last",
        value=BEST_OF_FOUR,
        unit="s",
        source=BOWL_LATER,
        exactness="ten digits; the rate changes little around it",
        formula=lambda: float(best_work(4, [0, 0, 0])[0]),
    ),
]
STORAGE = [
    uneven_line(
        "four-places-over-three-stores-rate",
        (1.0, 1.0, 1.0, 1.0),
        (1, 2, 1),
        "the best way to share out 4 places",
        0.6571753189,
        STORAGE_BOWL,
        1421,
    ),
    Published(
        id="four-places-over-three-stores",
        topic=TOPIC,
        statement="4 places shared out over the three stores of four equal exponential stations for the "
        "highest rate: the middle gets most",
        value=(1.0, 2.0, 1.0),
        unit="places",
        source=STORAGE_BOWL,
        formula=lambda: tuple(float(x) for x in best_places(rate_with([1, 1, 1, 1]), 3, 4).places[0]),
    ),
    uneven_line(
        "one-place-in-the-middle",
        (1.0, 1.0, 1.0, 1.0),
        (0, 1, 0),
        "one place does most in the middle",
        0.5588597618,
        CONWAY,
        1422,
    ),
    uneven_line(
        "one-place-at-an-end",
        (1.0, 1.0, 1.0, 1.0),
        (1, 0, 0),
        "one place at an end does less",
        0.5445886008,
        CONWAY,
        1423,
    ),
]
ENTRIES = [*UNEQUAL, *BOWLS, *BEST_WORK, *STORAGE]
