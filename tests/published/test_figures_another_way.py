"""Known values of work study, key figures and statistics, calculated once more in another way."""

from __future__ import annotations

import math

import pytest
import scipy.stats

from cellsim.published.table import TABLE

VALUES = {entry.id: entry.value for entry in TABLE}


@pytest.mark.parametrize(
    ("rate", "printed"),
    [(80, {10: (0.477, 6.315), 30: (0.335, 14.020)}), (85, {10: (0.583, 7.116), 30: (0.450, 17.091)})],
)
def test_learning_curves_by_their_sums(rate: int, printed: dict[int, tuple[float, float]]) -> None:
    """Unit n takes 100 n^log2(rate); the sums round to the three decimals of printed tables."""
    times = [100 * n ** math.log2(rate / 100) for n in range(1, 31)]
    sums = [math.fsum(times[:n]) for n in range(1, 31)]
    assert VALUES[f"learning-{rate}-times"] == pytest.approx(times[:5], rel=1e-11)
    assert VALUES[f"learning-{rate}-sums"] == pytest.approx(sums[:5], rel=1e-11)
    assert VALUES[f"learning-{rate}-ten"] == pytest.approx([sums[9]], rel=1e-11)
    assert VALUES[f"learning-{rate}-thirty"] == pytest.approx([sums[29]], rel=1e-11)
    for n, (unit, total) in printed.items():
        assert (round(times[n - 1] / 100, 3), round(sums[n - 1] / 100, 3)) == (unit, total)


@pytest.mark.parametrize(
    ("observed", "rating", "allowances", "id"),
    [
        (0.16, 1.25, (0.12, 0.03), "quick"),
        (0.25, 0.80, (0.12, 0.03), "quick"),
        (1.5, 0.95, (0.15, 0.0), "slow"),
        (0.8, 1.10, (0.11, 0.05), "with-contingency"),
        (4.0, 0.85, (0.13, 0.0), "on-basic-time"),
    ],
)
def test_standard_times(observed: float, rating: float, allowances: tuple[float, float], id: str) -> None:
    """Standard time = observed x rating x (1 + relaxation + contingency)."""
    assert VALUES[f"standard-time-{id}"] == pytest.approx(
        [observed * rating * (1 + sum(allowances))], rel=1e-12
    )


def test_takt_and_people_by_hand() -> None:
    """Takt = working time / demand; people = content / takt; efficiency = content / (people x takt)."""
    seven, ten = (40, 45, 55, 55, 65, 40, 25), (5, 20, 15, 8, 5, 10, 12, 7, 12, 3)
    for id, elements, takt, people in (("seven", seven, 480 * 60 / 240, 3), ("ten", ten, 800 * 60 / 32, 5)):
        content = sum(elements) * (1 if id == "seven" else 60)
        assert VALUES[f"{id}-elements-takt"] == (takt,)
        assert VALUES[f"{id}-elements-people"] == (math.ceil(content / takt),)
        assert VALUES[f"{id}-elements-efficiency"] == pytest.approx([content / (people * takt)], rel=1e-12)
    assert VALUES["takt-without-breaks"] == tuple((480 - 60) * 60 / demand for demand in (350, 420, 600))


def test_effectiveness_is_the_product_of_three_factors() -> None:
    """OEE = availability x performance x quality, and = good x stated cycle / planned time."""
    assert VALUES["oee-three-factors"] == pytest.approx([0.9 * 0.95 * 0.999], rel=1e-12)
    for name, good, cycle, planned in (("day", 203, 3, 910), ("shift", 380, 1, 480)):
        (availability,) = VALUES[f"oee-{name}-availability"]
        (performance,) = VALUES[f"oee-{name}-{'performance' if name == 'day' else 'effectiveness'}"]
        (quality,) = VALUES["oee-shift-quality"] if name == "shift" else (1.0,)
        (product,) = VALUES["oee-day-product" if name == "day" else "oee-shift"]
        assert product == pytest.approx(availability * performance * quality, rel=1e-12)
        assert product == pytest.approx(good * cycle / planned, rel=1e-12)


@pytest.mark.parametrize(
    ("id", "values", "level"),
    [
        ("interval-of-five", (12, 15, 11, 14, 13), 0.95),
        ("interval-of-ten", (101.2, 99.8, 100.5, 98.9, 100.1, 101, 99.4, 100.7, 99.9, 100.3), 0.95),
        ("interval-of-eight", (88, 92, 85, 91, 90, 87, 95, 89), 0.9),
        ("sleep-data", (1.2, 2.4, 1.3, 1.3, 0.0, 1.0, 1.8, 0.8, 4.6, 1.4), 0.95),
    ],
)
def test_intervals_by_scipy(id: str, values: tuple[float, ...], level: float) -> None:
    """The paired differences of the sleep data, and data made by hand, through scipy."""
    mean = sum(values) / len(values)
    ends = scipy.stats.t.interval(level, len(values) - 1, mean, scipy.stats.sem(values))
    assert VALUES[id] == pytest.approx((mean, *ends), rel=1e-10)


def test_ranks_around_the_median_by_counting() -> None:
    """The largest l with 2 P(fewer than l of n below the median) <= 5 %, by counting heads of n coins."""
    ranks = VALUES["ranks-around-the-median"]
    for n, low, high in zip((6, 8, 10, 12, 15, 20, 25, 30, 50), ranks[::2], ranks[1::2], strict=True):
        tails = {r: sum(math.comb(n, k) for k in range(r)) / 2**n for r in range(1, n + 1)}
        assert low == max(r for r, tail in tails.items() if 2 * tail <= 0.05)
        assert high == n + 1 - low


def test_least_samples_by_powers() -> None:
    """The largest of n values lies above the q quantile with chance 1 - q^n."""
    for n, q in zip(VALUES["least-samples-for-a-percentile"], (0.90, 0.95, 0.99), strict=True):
        assert 1 - q**n >= 0.95 > 1 - q ** (n - 1)


def test_labour_and_little_by_hand() -> None:
    """Labour per unit = paid time / good units; parts inside = rate x time."""
    cases = {"of-three": (3 * 8, 400), "of-five": (5 * 7.5, 250), "of-two-and-a-half": (2.5 * 8, 160)}
    for id, (hours, units) in cases.items():
        assert VALUES[f"labour-{id}"] == pytest.approx([hours / units], rel=1e-12)
    assert VALUES["eleven-people-one-hundred-an-hour"] == pytest.approx([11 * 60 / 100], rel=1e-12)
    assert VALUES["press-twelve-a-minute"] == pytest.approx([60 / (4.25 + 60 / 80)], rel=1e-12)
    assert VALUES["press-feeds-a-cell"] == pytest.approx([2 * 5 * 100 / 3600], rel=1e-12)
    assert VALUES["polished-for-20-hours"] == 200 * 20
