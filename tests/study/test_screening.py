"""Elementary effects against exact values: lines, curves, interactions, and the chance of the runs."""

from __future__ import annotations

import numpy as np
import pytest

from cellsim.study.screening import (
    LEVELS,
    STEP,
    chance_of,
    effect_of,
    elementary_effects,
    residual_variance,
    squares_of,
    trajectories,
)


def outputs_of(function, ways):
    """Outputs at all points of the ways, (ways, points, 1)."""
    return np.apply_along_axis(function, 2, ways.points)[:, :, None]


def line(x):
    return 3 * x[0] - 2 * x[1]


def curved(x):
    return 3 * x[0] + 4 * x[1] ** 2 + 5 * x[0] * x[2]


def test_every_way_changes_each_input_once_on_the_grid():
    """Each step changes one input by two thirds of its range, and every input once."""
    ways = trajectories(5, 40, np.random.default_rng(1))
    steps = np.diff(ways.points, axis=1)
    assert np.allclose(np.abs(steps).sum(axis=2), STEP) and pytest.approx(2 / 3) == STEP
    assert (np.sort(ways.changed, axis=1) == np.arange(5)).all()
    assert (np.abs(steps).argmax(axis=2) == ways.changed).all()
    assert np.allclose((ways.points * (LEVELS - 1)).round(), ways.points * (LEVELS - 1))
    assert ways.points.min() == 0 and ways.points.max() == pytest.approx(1)
    assert set(np.sign(steps[steps != 0])) == {-1.0, 1.0}


def test_a_line_has_its_slopes_and_no_bend():
    """f = 3 x1 - 2 x2: means 3, -2, 0, sizes 3, 2, 0 and no spread on any ten ways (exact)."""
    ways = trajectories(3, 10, np.random.default_rng(4))
    effects = elementary_effects(ways, outputs_of(line, ways))[:, :, 0]
    assert effects.mean(axis=0) == pytest.approx([3, -2, 0])
    assert np.abs(effects).mean(axis=0) == pytest.approx([3, 2, 0])
    assert effects.std(axis=0) == pytest.approx([0, 0, 0], abs=1e-12)


def test_curves_and_interactions_have_the_means_of_the_grid():
    """f = 3 x1 + 4 x2^2 + 5 x1 x3: means 5.5, 4 and 2.5, since an input stands at 1/2 on average (exact).

    Deviations: 5 sd(x3), 4/3 (the two halves of the grid give 4 (1 - 1/3) and 4 (1 + 1/3)), 5 sd(x1), with
    sd(x) = sqrt(5)/6 on the four levels.  2000 ways, normal limits: each of the six is missed with
    chance 3e-5.
    """
    ways = trajectories(3, 2000, np.random.default_rng(0))
    effects = elementary_effects(ways, outputs_of(curved, ways))[:, :, 0]
    deviation = np.array([5 * np.sqrt(5) / 6, 4 / 3, 5 * np.sqrt(5) / 6])
    error = 4.2 * deviation / np.sqrt(2000)
    assert (np.abs(effects.mean(axis=0) - [5.5, 4, 2.5]) < error).all()
    assert effects.std(axis=0) == pytest.approx(deviation, rel=0.05)


def test_an_input_that_cannot_stand_everywhere_has_the_effect_of_its_range():
    """An input of two whole values: every step crosses its range, however far the grid says it went."""
    ways = trajectories(2, 6, np.random.default_rng(2))
    stood = ways.points.copy()
    stood[:, :, 0] = ways.points[:, :, 0] >= 0.5
    outputs = (7 * stood[:, :, 0] + stood[:, :, 1])[:, :, None]
    effects = elementary_effects(ways, outputs, stood)[:, :, 0]
    assert effects == pytest.approx(np.tile([7, 1], (6, 1)))


def test_an_effect_by_hand():
    """Ways (1, 3), (3, 9): means 2 and 6, variance between 8, within 2 and 18, so chance of a mean 10 / 2."""
    found = effect_of(np.array([[1.0, 3.0], [3.0, 9.0]]))
    assert found.mean == 4 and found.size == 4
    assert found.half_width == pytest.approx(12.7062 * np.sqrt(8 / 2), rel=1e-4)  # t of 1 degree of freedom
    assert found.bend == pytest.approx(np.sqrt(8 - 5))
    assert found.square == pytest.approx((4 + 36) / 2 - 5)
    assert squares_of(np.array([[1.0, 3.0], [3.0, 9.0]])) == pytest.approx([4 - 1, 36 - 9])


def test_what_neither_row_nor_column_explains_by_hand():
    """(1, 3), (2, 6): row means 2 and 4, column means 1.5 and 4.5, all 3: rests of 1/2, one degree left."""
    assert residual_variance(np.array([[1.0, 3.0], [2.0, 6.0]])) == pytest.approx(4 * 0.25)


def test_the_interval_of_an_effect_holds_its_level():
    """Chance of ways and of runs within them, 8 ways, 5 runs: of 2000 intervals 95 % hold the truth.

    Between 93.2 and 96.8 % must: 3.7 standard deviations to each side, a false alarm in 5000, fixed seed.
    """
    rng = np.random.default_rng(7)
    held = 0
    for _ in range(2000):
        found = effect_of(2 + rng.normal(size=(8, 1)) + rng.normal(size=(8, 5)))
        held += abs(found.mean - 2) <= found.half_width
    assert 0.932 < held / 2000 < 0.968


def test_what_does_nothing_is_seldom_taken_for_something():
    """Chance alone, 10 ways of 5 runs: p below 5 % in 5 % of 4000 studies, to 4 standard errors (1.4 %).

    An effect that changes its sign from way to way, so that its mean is none, is seen all the same.
    """
    rng = np.random.default_rng(9)
    found = [chance_of(rng.normal(size=(10, 5))) for _ in range(4000)]
    assert abs(np.mean(np.array(found) < 0.05) - 0.05) < 0.014
    signs = np.where(np.arange(10) % 2, 1.0, -1.0)[:, None]
    assert chance_of(3 * signs + rng.normal(size=(10, 5))) < 1e-6
    assert chance_of(np.zeros((3, 2))) == 1 and chance_of(np.ones((3, 2))) == 0
    # by hand: means 2 and 6, squares 4 and 36, chance 5, F = 20 / 5 with 2 and 2 degrees: 1 / (1 + 4)
    assert chance_of(np.array([[1.0, 3.0], [3.0, 9.0]])) == pytest.approx(0.2)


def test_chance_of_the_runs_is_no_bend():
    """A straight line with much noise: the mean square of the change comes out without it.

    400 studies of 10 ways and 4 runs, f = 2 x with noise of variance 4 in each output.  The mean of
    `squares_of` is 4 to within 5 standard errors (chance 6e-7); left in, the noise would add 4.5.
    """
    rng = np.random.default_rng(3)
    squares = []
    for _ in range(400):
        ways = trajectories(1, 10, rng)
        outputs = 2 * ways.points + rng.normal(scale=2, size=(10, 2, 4))
        squares.append(squares_of(elementary_effects(ways, outputs)[:, 0]).mean())
    error = np.std(squares) / 20
    assert abs(np.mean(squares) - 4) < 5 * error < 2


@pytest.mark.parametrize(("inputs", "count"), [(0, 3), (2, 0)])
def test_no_inputs_or_ways(inputs, count):
    """Told."""
    with pytest.raises(ValueError, match="at least one of each is wanted"):
        trajectories(inputs, count, np.random.default_rng(1))


def test_shapes_that_do_not_match():
    """Told with both shapes."""
    ways = trajectories(2, 3, np.random.default_rng(1))
    with pytest.raises(ValueError, match="do not go with points of shape"):
        elementary_effects(ways, np.zeros((3, 2, 1)))
    with pytest.raises(ValueError, match="at least two ways and two runs"):
        effect_of(np.zeros((3, 1)))
