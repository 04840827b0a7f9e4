"""Shares of variance against exact values: Ishigami's function, noise, quadratics, draws of the inputs."""

from __future__ import annotations

import numpy as np
import pytest

from cellsim.study.not_knowing import split
from cellsim.study.shares_of_variance import latin_hypercube, noise_share, sobol_points, sobol_shares
from cellsim.study.stand_in import explained, fitted, parts, quadratic_shares, terms
from cellsim.study.statistics import t_quantile

EVEN = (np.arange(2000) + 0.5) / 2000  # equally likely values between 0 and 1


def ishigami(u):
    """sin x1 + 7 sin^2 x2 + 0.1 x3^4 sin x1 with x = pi (2 u - 1)."""
    x = np.pi * (2 * u - 1)
    return np.sin(x[..., 0]) + 7 * np.sin(x[..., 1]) ** 2 + 0.1 * x[..., 2] ** 4 * np.sin(x[..., 0])


def test_ishigami():
    """First shares 0.313905, 0.442411, 0; total 0.557589, 0.442411, 0.243684 (Ishigami and Homma 1990, by
    hand from the integrals).

    One scrambling of 4096 points errs by up to 0.015 in first shares and 0.005 in total ones (ten were
    tried, five of them drawn by scipy itself), so the mean of six may err by 0.01 and 0.004.  The bootstrap
    takes the points for random ones, so its intervals are wide and hold the truth in all six.
    """
    found = []
    for seed in range(6):
        points = sobol_points(3, 4096, np.random.default_rng(seed))
        assert points.shape == (5, 4096, 3)
        found.append(sobol_shares(ishigami(points), np.random.default_rng(1), resamples=20))
        assert found[-1].chance_to_lead(0) == 1
        for k, exact in enumerate([0.557589, 0.442411, 0.243684]):
            low, high = found[-1].interval(k, total=True)
            assert low < exact < high < low + 0.12
    assert np.mean([f.first for f in found], axis=0) == pytest.approx([0.313905, 0.442411, 0], abs=0.01)
    total = np.mean([f.total for f in found], axis=0)
    assert total == pytest.approx([0.557589, 0.442411, 0.243684], abs=0.004)


def test_fresh_noise_shrinks_first_shares_and_inflates_total_ones():
    """f = x1 + 2 x2 with fresh noise of the variance of f: 0.2 and 0.8 become 0.1 and 0.4 alone, 0.6 and 0.9
    in total (exact); the noise share says so, and noise that all points share does no harm."""
    rng = np.random.default_rng(5)
    points = sobol_points(2, 4096, rng)
    clean = points[..., 0] + 2 * points[..., 1]
    noisy = clean + rng.normal(scale=np.sqrt(5 / 12), size=clean.shape)
    found = sobol_shares(noisy, rng, resamples=2)
    assert found.first == pytest.approx([0.1, 0.4], abs=0.05)
    assert found.total == pytest.approx([0.6, 0.9], abs=0.05)
    same = sobol_shares(clean + 17.3, rng, resamples=2)
    assert same.first == pytest.approx([0.2, 0.8], abs=0.01)
    assert same.total == pytest.approx([0.2, 0.8], abs=0.01)
    runs = clean.T[:, :, None] + rng.normal(scale=np.sqrt(5 / 12), size=(4096, 4, 4))
    assert noise_share(runs, 5 / 12) == pytest.approx(0.25, rel=0.05)  # four runs leave a quarter
    luck = rng.normal(scale=9, size=(4096, 1, 4))
    assert noise_share(clean.T[:, :, None] + luck, 5 / 12) == pytest.approx(0, abs=1e-12)


def test_luck_that_columns_do_not_share_is_taken_out():
    """f = x1 + 2 x2 with luck of variance V that only the points of a column share: of half the variance the
    shares are 0.2 and 0.8 again.  16384 points; the mean product of luck and change errs by 0.02."""
    rng = np.random.default_rng(6)
    points = sobol_points(2, 16384, rng)
    outputs = points[..., 0] + 2 * points[..., 1] + rng.normal(scale=np.sqrt(5 / 12), size=16384)
    found = sobol_shares(outputs, rng, resamples=2, of=0.5)
    assert found.first == pytest.approx([0.2, 0.8], abs=0.05)
    assert found.total == pytest.approx([0.2, 0.8], abs=0.02)


def test_one_input_carries_all():
    """Exactly, in total; alone to a tenth of a per cent with 4096 points."""
    rng = np.random.default_rng(6)
    found = sobol_shares(sobol_points(1, 4096, rng)[..., 0] ** 2, rng, resamples=2)
    assert found.first == pytest.approx([1], abs=0.001)
    assert found.total == pytest.approx([1], abs=0.001)


def test_a_latin_hypercube():
    """One point in each stratum of each input; the first row for seed 0 was found apart, by scipy alone."""
    points = latin_hypercube(3, 8, np.random.default_rng(0))
    assert points[0] == pytest.approx([0.132133, 0.585458, 0.534707], abs=1e-6)
    assert (np.sort((points * 8).astype(int), axis=0) == np.arange(8)[:, None]).all()


def quadratic(x):
    return 5 + 3 * x[..., 0] - x[..., 1] + 2 * x[..., 0] ** 2 + 4 * x[..., 1] * x[..., 2]


def test_a_quadratic_is_found_exactly_and_its_shares_are_those_of_scipy():
    """Coefficients to rounding; closed shares against Sobol's from 16384 points, to 0.003."""
    rng = np.random.default_rng(2)
    points = latin_hypercube(3, 30, rng)
    found = fitted(points, quadratic(points))
    assert found.slopes == pytest.approx([3, -1, 0])
    assert found.squares == pytest.approx(np.array([[2, 0, 0], [0, 0, 2], [0, 2, 0]]), abs=1e-9)
    assert explained(found.at(points), quadratic(points)) == pytest.approx(1)
    alone, touched = parts(found, [EVEN] * 3)
    whole = alone.sum() + (touched - alone).sum() / 2
    # by hand: Var(3 x + 2 x^2) = 9/12 + 4 (1/5 - 1/9) + 12 (1/4 - 1/6), Var(x2), Var(2 x3), 16 / 144
    assert alone == pytest.approx([0.75 + 4 * 4 / 45 + 1, 1 / 12, 4 / 12], rel=1e-5)
    assert touched - alone == pytest.approx([0, 16 / 144, 16 / 144], rel=1e-5, abs=1e-12)
    by_points = sobol_shares(quadratic(sobol_points(3, 16384, rng)), rng, resamples=2)
    assert alone / whole == pytest.approx(by_points.first, abs=0.003)
    assert touched / whole == pytest.approx(by_points.total, abs=0.003)


def test_inputs_that_are_not_even():
    """Values 0 and 1 with chances 3/4 and 1/4 beside an even one, f = x + y + x y, by counting all cases."""
    points = latin_hypercube(2, 20, np.random.default_rng(2))
    found = fitted(points, points.sum(axis=1) + points.prod(axis=1))
    rare = np.array([0.0, 0.0, 0.0, 1.0])
    alone, touched = parts(found, [rare, EVEN])
    table = rare[:, None] + EVEN + rare[:, None] * EVEN
    assert alone == pytest.approx([table.mean(axis=1).var(), table.mean(axis=0).var()])
    assert touched == pytest.approx([table.var() - alone[1], table.var() - alone[0]])


def test_what_others_carry_leaves_less():
    """Two equal inputs with as much variance beside them as both have: a quarter each."""
    points, groups = latin_hypercube(2, 40, np.random.default_rng(2)), np.arange(40) // 5
    rng = np.random.default_rng(1)
    found = quadratic_shares(points, points.sum(axis=1), groups, [EVEN] * 2, rng, beside=1 / 6)
    assert found.first == pytest.approx([0.25, 0.25], rel=1e-5)
    assert found.interval(0) == pytest.approx((0.25, 0.25), rel=1e-5)


def test_luck_that_groups_share_changes_no_coefficient():
    """Each five points with a level of their own: the quadratic is the same, and explains all within them."""
    rng = np.random.default_rng(2)
    points, groups = latin_hypercube(3, 60, rng), np.arange(60) // 5
    outputs = quadratic(points) + rng.normal(scale=50, size=12)[groups]
    found = fitted(points, outputs, groups)
    assert found.slopes == pytest.approx([3, -1, 0], abs=1e-8)
    assert explained(found.at(points), outputs, groups) == pytest.approx(1)
    assert explained(found.at(points), outputs) < 0.1
    assert abs(fitted(points, outputs).slopes - found.slopes).max() > 1


def test_a_stand_in_that_misses_is_seen_where_it_was_not_fitted():
    """A wave through thirty points: what is explained at other points is far from 0.9."""
    rng = np.random.default_rng(2)

    def wave(x):
        return np.sin(12 * x[:, 0]) + x[:, 1]

    points, others = latin_hypercube(2, 30, rng), latin_hypercube(2, 30, rng)
    found = fitted(points, wave(points))
    assert explained(found.at(others), wave(others)) < 0.5


def test_too_few_points_and_outputs_that_do_not_vary():
    """Told."""
    assert [terms(n) for n in (1, 2, 3, 8)] == [3, 6, 10, 45]
    with pytest.raises(ValueError, match="5 points; a quadratic of 2 inputs takes at least 6"):
        fitted(np.zeros((5, 2)), np.zeros(5))
    with pytest.raises(ValueError, match="nothing to explain"):
        explained(np.zeros(5), np.zeros(5))
    with pytest.raises(ValueError, match="100 points; a power of two is wanted"):
        sobol_points(2, 100, np.random.default_rng(1))
    with pytest.raises(ValueError, match="the same at all points"):
        sobol_shares(np.ones((4, 8)), np.random.default_rng(1))
    with pytest.raises(ValueError, match="the same at all points"):
        noise_share(np.ones((2, 4, 8)), 0.0)
    with pytest.raises(ValueError, match="at least two points and runs"):
        noise_share(np.ones((2, 4, 1)), 1.0)


def test_a_split_by_hand():
    """Four draws of three runs: 0.466019 by the inputs, 0.074167 by chance (by hand)."""
    rows = np.array([[10.1, 10.4, 9.8], [11.2, 11.0, 11.6], [9.5, 9.9, 9.4], [10.6, 10.2, 10.5]])
    found = split(rows)
    assert found.inputs == pytest.approx(0.466019, abs=1e-6)
    assert found.runs == pytest.approx(0.074167, abs=1e-6)
    assert found.share(3) == pytest.approx(0.466019 / (0.466019 + 0.074167 / 3), rel=1e-5)
    wide = found.half_width(3)
    assert wide == pytest.approx(t_quantile(0.975, 3) * np.sqrt(0.466019 + 0.074167 / 3), rel=1e-5)
    with pytest.raises(ValueError, match="two draws and two runs"):
        split(rows[:1])


def test_the_interval_of_the_share_holds_its_level():
    """20 draws of 3 runs, inputs half as variable as a run: of 2000 intervals 95 % hold the share for 8 runs.

    The share is 4 / 5; between 93.2 and 96.8 % must hold it (3.7 standard deviations, a false alarm in 5000).
    """
    rng = np.random.default_rng(11)
    held = 0
    for _ in range(2000):
        found = split(rng.normal(scale=np.sqrt(0.5), size=(20, 1)) + rng.normal(size=(20, 3)))
        low, high = found.share_interval(8)
        assert low <= found.share(8) <= high
        held += low <= 0.8 <= high
    assert 0.932 < held / 2000 < 0.968
    assert split(np.array([[1.0, 1.0], [2.0, 2.0]])).share_interval(8) is None


def test_no_variance_is_made_of_chance_alone():
    """Rows that differ by chance only: on average nothing is left for the inputs, never less than nothing.

    500 studies of 20 draws and 5 runs with variance 1: the mean without the cut at 0 would be 0, with it
    about 0.02; below 0.04 it is with near certainty (standard error 0.0013).
    """
    rng = np.random.default_rng(8)
    found = [split(rng.normal(size=(20, 5))).inputs for _ in range(500)]
    assert min(found) == 0
    assert 0 < np.mean(found) < 0.04
    assert split(np.ones((3, 3))).share(5) is None
