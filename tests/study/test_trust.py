"""When an interval of a mean cannot be trusted yet: skewness, and stops that come too seldom to be known."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from cellsim.describe.resolve import load_text
from cellsim.study.plan import make_plan
from cellsim.study.statistics import t_interval
from cellsim.study.trust import (
    RareStop,
    rare_stops,
    rounded_up,
    runs_to_trust,
    skewness,
    trust_caution,
    values_needed,
)

CELL = """cell: x
shifts: {day: {from: 06:00, to: 14:00, breaks: [{at: 10:00, for: 30 min}]}}
crew: {tess: {response: 5 min}}
route: [a, b]
stations:
  a:
    cycle: 30 s
    machines: 2
    stops:
      breakdown: {every: 148 h of running, lasts: 2 h, cleared_by: tess}
      hiccup: {every: 200 h of running, lasts: 10 min}
      setting: {every: 500 cycles, lasts: 30 min}
  b: {cycle: 30 s, stops: {jam: {every: 58 min of on time, lasts: 2 min}}}
"""


def test_skewness_is_that_of_scipy():
    """G1 of scipy, and 0 where nothing varies."""
    values = np.random.default_rng(2).exponential(1, 50)
    assert skewness(values) == pytest.approx(stats.skew(values, bias=False))
    assert skewness([5.0] * 9) == skewness([1.0, 2.0]) == 0


def test_symmetric_values_need_no_more():
    """Of 400 normal samples of 10 and of 100 none is taken for skewed in more than 2 %."""
    luck = np.random.default_rng(3)
    for n in (10, 100):
        flagged = sum(values_needed(luck.normal(0, 1, n)) is not None for _ in range(400))
        assert flagged <= 8


def test_what_is_flagged_would_be_wrong():
    """100 where nothing happens, 50 in one of 32: of 40 runs Student holds far less than 95 %, and most of
    those samples with a breakdown say that they are too few; 25 x the squared skewness makes it 92 %.
    """
    luck = np.random.default_rng(4)
    share = 1 / 32
    true = (1 - 2 * share) / np.sqrt(share * (1 - share))
    enough = int(25 * true**2)
    mean = 100 - 50 * share

    def samples(n: int, count: int) -> np.ndarray:
        return np.where(luck.random((count, n)) < share, 50.0, 100.0)

    def held(row: np.ndarray) -> bool:
        found = t_interval(row.tolist())
        return bool(found.low <= mean <= found.high)

    few = samples(40, 400)
    assert np.mean([held(row) for row in few]) < 0.9
    told = [values_needed(row) is not None for row in few if 0 < (row < 100).sum() < 4]
    assert np.mean(told) > 0.95
    assert np.mean([held(row) for row in samples(enough, 400)]) > 0.89  # 92.3 % of 2 000
    assert np.mean([values_needed(row) is not None for row in samples(2 * enough, 400)]) < 0.05


def test_stops_that_come_too_seldom():
    """Two machines, 7.5 h a shift: 15 h / 150 h makes one in ten shifts; stops that cost little do not count,
    nor do those by cycles, of which nothing is known.
    """
    cell = load_text(CELL)
    plan = make_plan(cell)
    breakdown, jam = rare_stops(cell, plan)
    assert (breakdown, breakdown.runs) == (
        RareStop("a", "breakdown", pytest.approx(0.1), pytest.approx(2 / 150)),
        100,
    )
    assert (jam.who, jam.per_run, jam.runs) == ("b", pytest.approx(7.5), 2)
    steady = [100.0, 101.0] * 60
    assert runs_to_trust(cell, plan, steady[:99]) == 100
    assert runs_to_trust(cell, plan, steady) is None
    assert trust_caution(cell, plan, steady) == ""
    assert "(a, breakdown: in one of 10 runs)" in trust_caution(cell, plan, steady[:20])
    assert trust_caution(cell, plan, steady[:20]).endswith("Run about 100.")
    assert trust_caution(cell, plan, steady[:1]) == ""


def test_counts_are_rounded_upwards():
    """To two digits."""
    assert [rounded_up(n) for n in (7, 99, 101, 551, 2049)] == [7, 99, 110, 560, 2100]
