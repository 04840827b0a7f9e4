"""Paired differences and several comparisons at once, against values computed by hand."""

from __future__ import annotations

import numpy as np
import pytest

from cellsim.study.paired import holm, holm_levels, needed_to_tell, paired

A = [51.2, 49.8, 50.5, 52.1, 48.9, 50.0]
B = [52.0, 50.9, 51.1, 53.2, 49.5, 51.2]


def test_six_pairs():
    """Mean 0.9, half width 0.281593, p 0.000435, correlation 0.977943."""
    found = paired(A, B)
    assert found.mean == pytest.approx(0.9)
    assert found.half_width() == pytest.approx(0.281593, abs=1e-6)
    assert found.p == pytest.approx(0.0004349774313, rel=1e-6)
    assert found.correlation == pytest.approx(0.977943, abs=1e-6)
    assert found.gain == pytest.approx((np.var(A) + np.var(B)) / np.var(np.subtract(B, A)))
    assert found.interval(0.9)[0] == pytest.approx(0.9 - found.half_width(0.9))


def test_pairs_that_never_differ():
    """No difference is p = 1, the same difference every time p = 0; neither has a gain."""
    same, moved = paired(A, A), paired([1.0, 1.0], [2.0, 2.0])
    assert (same.mean, same.deviation, same.p, same.gain) == (0, 0, 1, None)
    assert (moved.mean, moved.p, moved.correlation) == (1, 0, None)
    with pytest.raises(ValueError, match="as many of each"):
        paired([1.0, 2.0], [1.0])
    with pytest.raises(ValueError, match="at least two"):
        paired([1.0], [1.0])


def test_holm():
    """Five p values with the adjusted ones of Holm; a single one stays what it is."""
    assert holm([0.001, 0.04, 0.03, 0.005, 0.6]) == pytest.approx([0.005, 0.09, 0.09, 0.02, 0.6])
    assert holm([0.3]) == [0.3]
    assert holm([]) == []


def test_intervals_agree_with_holm():
    """An interval leaves out 0 where, and only where, the adjusted p is below 5 %."""
    luck = np.random.default_rng(5)
    seen = set()
    for _ in range(300):
        count = int(luck.integers(1, 6))
        base = luck.normal(size=12)
        others = [base + luck.normal(luck.choice([0, 0.5, 0.9]), 1, 12) for _ in range(count)]
        found = [paired(base.tolist(), other.tolist()) for other in others]
        chances = [one.p for one in found]
        levels = holm_levels(chances)
        for one, adjusted, level in zip(found, holm(chances), levels, strict=True):
            low, high = one.interval(level)
            assert (low > 0 or high < 0) == (adjusted <= 0.05)
            seen.add((count, adjusted <= 0.05))
    assert len(seen) == 10


def test_how_many_would_tell():
    """The smallest n whose interval leaves out 0 for this mean and deviation."""
    found = paired([0.0, 0.0, 0.0, 0.0], [1.0, -0.5, 0.8, -0.9])
    n = needed_to_tell(found)
    assert n is not None

    def half(count):
        from scipy.stats import t

        return t.ppf(0.975, count - 1) * found.deviation / count**0.5

    assert half(n) < found.mean <= half(n - 1)
    assert needed_to_tell(paired(A, A)) is None
    assert needed_to_tell(found, most=10) is None
