"""When a study is over: hand-made lists with known answers, and how often the intervals hold the truth."""

from __future__ import annotations

import math

import numpy as np
import pytest

from cellsim.study.precision import Precision, Stop, forecast, half_width, needed, stop_at
from cellsim.study.statistics import t_interval

LIST = [100, 104, 97, 101, 99, 103, 98, 100, 102, 96, 101, 100, 99, 103, 97, 100, 101, 99, 102, 98]
TEN = [412, 398, 405, 421, 389, 410, 402, 417, 395, 408]


@pytest.mark.parametrize(
    ("least", "look_ahead", "stop", "half"),
    [
        (3, 0, Stop(6, 6), 2.709631),
        (3, 5, Stop(6, 11), 1.658009),
        (5, 5, Stop(6, 11), 1.658009),
        (10, 0, Stop(10, 10), 1.847044),
    ],
)
def test_where_a_list_stops(least, look_ahead, stop, half):
    """3 % of a list of twenty, computed by hand with Student's t."""
    wanted = Precision(0.03, least=least, look_ahead=look_ahead)
    assert stop_at([LIST], wanted) == stop
    assert t_interval(LIST[: stop.run]).half_width == pytest.approx(half, abs=1e-6)


def test_the_answer_does_not_depend_on_how_many_were_run():
    """More replications than needed change nothing; fewer say that the study must go on."""
    wanted = Precision(0.03, least=3)
    assert [stop_at([LIST[:n]], wanted) for n in (10, 11, 15)] == [None, Stop(6, 11), Stop(6, 11)]


def test_a_lucky_start_is_forgotten():
    """Narrow at 3, wide again at 4: the look ahead begins anew."""
    values = [100, 100.1, 99.9, 150, 100, *[100.0] * 300]
    stop = stop_at([values], Precision(0.05, least=3))
    assert stop is not None
    assert stop.enough > 10
    assert half_width(stop.enough, _squares(values[: stop.enough]), 0.95) <= 0.05 * np.mean(
        values[: stop.enough]
    )


def _squares(values):
    return float(np.var(values) * len(values))


def test_the_figure_that_needs_most_decides():
    """A wide list makes a narrow one go on; a figure about 0 has a limit of its own."""
    wide = [100 + 30 * (-1) ** k for k in range(200)]
    narrow = [100 + (-1) ** k for k in range(200)]
    wanted = Precision(0.05, absolute=0.5)
    assert stop_at([narrow], wanted) == Stop(10, 15)
    both = stop_at([narrow, wide], wanted)
    assert both == stop_at([wide], wanted)
    assert both is not None
    assert both.enough > 100
    assert both.run == both.enough + 5 * both.enough // 100
    assert stop_at([[0.1 * (-1) ** k for k in range(50)]], wanted) == Stop(10, 15)
    assert stop_at([[0.1 * (-1) ** k for k in range(50)]], Precision(0.05)) is None


def test_how_many_it_will_take():
    """0.5 % of ten values with mean 405.7: 95 replications by Student's t (93 by the normal quantile)."""
    assert needed(TEN, Precision(0.005)) == 95
    assert needed(TEN, Precision(0.5)) == 10
    assert needed(TEN, Precision(0.00001)) == 10_000
    assert forecast([TEN, [1.0] * 10], Precision(0.005)) == 100
    assert forecast([[1.0] * 10], Precision(0.005)) == 15
    with pytest.raises(ValueError, match="at least two"):
        needed([1.0], Precision(0.1))


@pytest.mark.parametrize(
    "wrong", [{"relative": 0}, {"relative": 1.0}, {"least": 1}, {"look_ahead": -1}, {"least": 20, "most": 10}]
)
def test_a_precision_that_makes_no_sense(wrong):
    """Refused when it is made."""
    with pytest.raises(ValueError, match="no such precision"):
        Precision(**{"relative": 0.02, **wrong})


def test_the_intervals_hold_the_truth_as_often_as_they_say():
    """Normal values with 10 % spread, 5 % asked for: the share that holds the mean is near 95 %.

    2 000 studies, standard error 0.5 %; the rule costs 0.5 % (4 000 studies of another program: 94.5 %).
    Four standard errors: a right rule fails with a chance below 1 in 10 000.  Without a look ahead and with
    three replications to begin with it is near 90 %, which the same band rejects.
    """
    luck = np.random.default_rng(7)
    values = 1 + 0.1 * luck.standard_normal((2000, 120))

    def coverage(wanted):
        hits = 0
        for row in values.tolist():
            stop = stop_at([row], wanted)
            assert stop is not None
            found = t_interval(row[: stop.run])
            hits += abs(found.mean - 1) <= found.half_width
        return hits / len(values)

    error = 4 * math.sqrt(0.945 * 0.055 / 2000)
    assert abs(coverage(Precision(0.05)) - 0.945) < error
    assert coverage(Precision(0.05, least=3, look_ahead=0)) < 0.945 - error
