"""Statistics: intervals for a mean and for percentiles, as the studies use them."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from cellsim.published.entry import Published, Value
from cellsim.study.statistics import percentile_interval, t_interval

TOPIC = "Statistics"
STUDENT = "interval of Student's t, n - 1 degrees of freedom; data made by hand"
SLEEP = (
    "Cushny and Peebles (1905); Student (1908), The probable error of a mean, Biometrika 6 (data from memory)"
)
DAVID = "David, H. A. and Nagaraja, H. N., Order Statistics: interval free of any law (from memory)"
WILKS = (
    "Wilks, S. S. (1941), Determination of sample sizes for setting tolerance limits, Annals of Mathematical "
    "Statistics 12 (from memory)"
)


def student(values: Sequence[float], level: float) -> Callable[[], Value]:
    """Mean and ends of the t interval, as a formula."""

    def ends() -> Value:
        found = t_interval(values, level)
        assert found.low is not None and found.high is not None
        return found.mean, found.low, found.high

    return ends


def median_ranks(sizes: Sequence[int], level: float = 0.95) -> Value:
    """Ranks of the two order statistics that enclose the median, for one sample size after the other."""
    ranks: list[float] = []
    for n in sizes:
        for end in percentile_interval(range(1, n + 1), 0.5, level):
            assert end is not None
            ranks.append(end)
    return tuple(ranks)


def least_sample(share: float, confidence: float = 0.95) -> int:
    """The least number of values of which the largest bounds a percentile from above, one-sided."""
    n = 1
    while percentile_interval(range(n), share, 2 * confidence - 1)[1] is None:
        n += 1
    return n


SLEPT = (0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0)
SLEPT_LONGER = (1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4)
SIZES = (6, 8, 10, 12, 15, 20, 25, 30, 50)

ENTRIES = [
    Published(
        id="sleep-data",
        topic=TOPIC,
        statement="hours of sleep that ten patients gained more with one of two drugs: mean, 95 % interval",
        value=(1.58, 0.700114236723, 2.45988576328),
        unit="h",
        source=SLEEP,
        formula=student([b - a for a, b in zip(SLEPT, SLEPT_LONGER, strict=True)], 0.95),
    ),
    *(
        Published(
            id=f"interval-of-{words}",
            topic=TOPIC,
            statement=f"{', '.join(f'{value:g}' for value in data)}: mean and {level * 100:g} % interval",
            value=value,
            unit="units",
            source=STUDENT,
            formula=student(data, level),
        )
        for words, data, level, value in (
            ("five", (12, 15, 11, 14, 13), 0.95, (13.0, 11.0367568385, 14.9632431615)),
            (
                "ten",
                (101.2, 99.8, 100.5, 98.9, 100.1, 101.0, 99.4, 100.7, 99.9, 100.3),
                0.95,
                (100.18, 99.6699126805, 100.690087319),
            ),
            (
                "eight",
                (88, 92, 85, 91, 90, 87, 95, 89),
                0.9,
                (89.625, 87.5391958057, 91.7108041943),
            ),
        )
    ),
    Published(
        id="ranks-around-the-median",
        topic=TOPIC,
        statement=f"ranks that enclose the median with 95 % or more, of {', '.join(map(str, SIZES))} values",
        value=(1, 6, 1, 8, 2, 9, 3, 10, 4, 12, 6, 15, 8, 18, 10, 21, 18, 33),
        unit="rank",
        source=DAVID,
        formula=lambda: median_ranks(SIZES),
    ),
    Published(
        id="least-samples-for-a-percentile",
        topic=TOPIC,
        statement="values needed, the largest above the 90, 95 and 99 % percentile with 95 % confidence",
        value=(29, 59, 299),
        unit="values",
        source=WILKS,
        formula=lambda: tuple(least_sample(share) for share in (0.9, 0.95, 0.99)),
    ),
]
