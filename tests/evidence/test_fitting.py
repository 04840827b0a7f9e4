"""Fitted laws against values computed another way, and the traps that spoil them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from cellsim.evidence.fitting import (
    FAMILIES,
    anderson_darling,
    availability_between,
    chosen,
    fit_chance,
    fitted,
    kolmogorov,
    mean_between,
    quantile_pairs,
    ranked,
    resampled,
    sample,
)

GOLDEN = [math.modf((j + 1) * 0.6180339887498949)[0] for j in range(50)]
RUNNING = [round(float(stats.weibull_min.ppf(u, 1.4, scale=50)), 2) for u in GOLDEN[:40]]
CYCLES = [round(float(stats.lognorm.ppf(u, 0.12, scale=48)), 1) for u in GOLDEN]


def test_the_data_are_those_of_the_values():
    """Sums of the two samples, which the values below belong to."""
    assert sum(RUNNING) == pytest.approx(1760.58)
    assert sum(CYCLES) == pytest.approx(2414.1)


# law: parameters, log likelihood, AIC, BIC, AICc, Kolmogorov, Anderson-Darling; computed with scipy 1.17
# apart from this program, location fixed at 0
VALUES = [
    ("exponential", [44.0145], -191.380765, 384.76153, 386.450409, 384.866793, 0.137766, 1.4315),
    ("weibull", [1.475794, 48.621267], -187.363424, 378.726848, 382.104607, 379.051172, 0.035013, 0.058829),
    ("gamma", [1.825963, 24.10482], -187.755384, 379.510768, 382.888527, 379.835093, 0.053599, 0.121059),
    ("lognormal", [0.875467, 32.666907], -190.892127, 385.784254, 389.162013, 386.108579, 0.10236, 0.598202),
]


@pytest.mark.parametrize(("name", "parameters", "likelihood", "aic", "bic", "aicc", "ks", "ad"), VALUES)
def test_running_times(name, parameters, likelihood, aic, bic, aicc, ks, ad):
    """40 running times of a Weibull law with shape 1.4 and scale 50."""
    found = fitted(sample(RUNNING), name)
    assert found.parameters == pytest.approx(parameters, rel=2e-5)
    assert found.log_likelihood == pytest.approx(likelihood, abs=1e-6)
    assert (found.aic, found.bic, found.aicc) == pytest.approx((aic, bic, aicc), abs=1e-5)
    assert kolmogorov(np.array(RUNNING), found.law) == pytest.approx(ks, abs=1e-5)
    assert anderson_darling(np.array(RUNNING), found.law) == pytest.approx(ad, abs=1e-5)


def test_cycle_times_do_not_tell_lognormal_from_gamma():
    """50 cycles of spread 12 %: the two differ by less than 2 in AIC; a Weibull law fits worse."""
    fits = {fit.family.name: fit for fit in ranked(sample(CYCLES))}
    assert fits["lognormal"].parameters == pytest.approx((0.114824, 47.965918), rel=1e-5)
    assert fits["gamma"].aic == pytest.approx(316.433093, abs=1e-5)
    assert fits["lognormal"].aic == pytest.approx(316.507075, abs=1e-5)
    assert fits["weibull"].aic == pytest.approx(321.117887, abs=1e-5)
    assert list(fits) == ["gamma", "lognormal", "weibull", "exponential"]


def test_a_simpler_law_wins_a_tie():
    """Twelve exponential values: Weibull may be a little better, and is not taken for that."""
    values = [2.1, 0.4, 5.5, 1.2, 0.8, 3.3, 9.1, 0.1, 2.7, 1.9, 4.4, 0.6]
    fits = ranked(sample(values))
    assert chosen(fits).family.name == "exponential"


def test_a_beginning_that_is_free_is_no_option():
    """20 repairs: shape 2.0692 and scale 9.9814 from 0; a free beginning would give 1.840, 0.749, 9.081."""
    values = [
        1.59, 2.79, 3.65, 4.39, 5.05, 5.67, 6.27, 6.86, 7.44, 8.03,
        8.63, 9.25, 9.9, 10.6, 11.36, 12.21, 13.2, 14.42, 16.09, 19.21,
    ]  # fmt: skip
    assert fitted(sample(values), "weibull").parameters == pytest.approx((2.0692, 9.9814), abs=5e-5)
    assert fitted(sample([3, 5, 10, 4, 8]), "exponential").mean == pytest.approx(6.0)


def test_zeros_count():
    """Four zeros and four twos: mean 1 as exponential; laws without a zero say so and are left out."""
    found = sample([0, 0, 0, 0, 2, 2, 2, 2])
    assert fitted(found, "exponential").mean == pytest.approx(1.0)
    with pytest.raises(ValueError, match="0 is impossible under a lognormal law"):
        fitted(found, "lognormal")
    assert [fit.family.name for fit in ranked(found)] == ["exponential"]


def test_machines_that_still_run_count():
    """Stops at 20, 50, 80 h, two machines still running at 100 h: 350 / 3."""
    found = sample([20, 50, 80, 100, 100], [False, False, False, True, True])
    assert fitted(found, "exponential").mean == pytest.approx(350 / 3)


def test_a_watch_that_ended_at_60():
    """The running times cut at 60: Weibull and exponential, by scipy with censored data."""
    cut = [min(value, 60.0) for value in RUNNING]
    found = sample(cut, [value > 60 for value in RUNNING])
    assert int(found.censored.sum()) == 10
    assert fitted(found, "exponential").mean == pytest.approx(50.007333, abs=1e-5)
    weibull = fitted(found, "weibull")
    assert weibull.parameters == pytest.approx((1.452408, 48.641064), rel=2e-5)
    assert weibull.log_likelihood == pytest.approx(-145.011397, abs=1e-6)
    assert weibull.mean == pytest.approx(44.093707, rel=2e-5)


def test_short_stops_that_were_never_logged():
    """Kept from 2 min on: 3, 5, 10, 4, 8 have the mean 6 - 2, and 39 % of all were never seen."""
    found = fitted(sample([3, 5, 10, 4, 8], unseen_below=2), "exponential")
    assert found.mean == pytest.approx(4.0)
    assert found.unseen_share(2) == pytest.approx(1 - math.exp(-2 / 4))


@pytest.mark.parametrize("name", ["gamma", "lognormal", "weibull"])
def test_truncated_samples_give_the_law_back(name):
    """20 000 values of a law of which those below 1 are lost: its mean and spread within 3 %."""
    law = {"gamma": stats.gamma(2, scale=1.5), "lognormal": stats.lognorm(0.6, scale=2.5)}.get(
        name, stats.weibull_min(1.5, scale=3)
    )
    values = law.rvs(20_000, random_state=np.random.default_rng(3))
    found = fitted(sample(values[values >= 1], unseen_below=1), name)
    assert found.mean == pytest.approx(law.mean(), rel=0.03)
    assert found.spread == pytest.approx(law.std() / law.mean(), rel=0.03)


def test_whether_a_law_fits():
    """The example in which a table would say 0.183 and the truth is 0.046: exponential, 12 values."""
    values = [1, 2, 3, 3, 4, 4, 5, 5, 6, 7, 8, 9]
    fit = fitted(sample(values), "exponential")
    assert fit.mean == pytest.approx(4.75)
    assert kolmogorov(np.array(values, dtype=float), fit.law) == pytest.approx(0.3016, abs=5e-5)
    assert fit_chance(sample(values), fit, 999) < 0.05


def test_a_right_law_is_not_refused_too_often():
    """60 samples of 25 exponential values: at 5 % at most 9 are refused (chance of more 0.3 %)."""
    rng = np.random.default_rng(5)
    refused = 0
    for _ in range(60):
        values = rng.exponential(3, 25)
        refused += fit_chance(sample(values), fitted(sample(values), "exponential"), 99) < 0.05
    assert refused <= 9


def test_how_uncertain_a_mean_is():
    """The bootstrap spread of an exponential mean of 100 values is about a tenth of it."""
    values = np.random.default_rng(1).exponential(10, 100)
    means = [fit.mean for fit in resampled(sample(values), "exponential", 300, seed=2)]
    assert np.std(means) / np.mean(means) == pytest.approx(0.1, rel=0.25)


BETWEEN = [
    (500, 8, False, (62.5, 34.638873, 125.602175)),
    (500, 8, True, (62.5, 38.028268, 125.602175)),
    (200, 0, False, (math.inf, 66.76164, math.inf)),
]


@pytest.mark.parametrize(("total", "count", "by_count", "values"), BETWEEN)
def test_time_between_events(total, count, by_count, values):
    """Chi-square bounds at 90 %, computed with scipy apart from this program."""
    found = mean_between(total, count, 0.9, by_count)
    assert (found.mean, found.low, found.high) == pytest.approx(values, abs=1e-5)


@pytest.mark.parametrize(("count", "ratio"), [(3, 9.482375), (10, 3.126443), (100, 1.403379)])
def test_how_wide_the_bounds_are(count, ratio):
    """Upper over lower bound at 90 % by the number of events."""
    found = mean_between(1000, count, 0.9)
    assert found.high / found.low == pytest.approx(ratio, abs=1e-5)


def test_availability():
    """12 cycles of 45 up and 5 down: 0.9, 0.819392 to 0.946960 at 90 %."""
    found = availability_between(45, 5, 12, 0.9)
    assert (found.mean, found.low, found.high) == pytest.approx((0.9, 0.819392, 0.94696), abs=1e-6)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: sample([-1, 2]), "at least 0"),
        (lambda: sample([1, 2], [True, True]), "none of the durations has ended"),
        (lambda: sample([1, 2], [True]), "2 durations and 1 marks"),
        (lambda: sample([1, 2], unseen_below=1.5), "below 1.5 were never written down"),
        (lambda: fitted(sample([2, 2, 2]), "gamma"), "at least two different values"),
        (lambda: fitted(sample([0, 0]), "exponential"), "all durations are 0"),
        (lambda: fit_chance(sample([1, 2], [False, True]), fitted(sample([1, 2]), "gamma")), "have ended"),
        (lambda: mean_between(0, 3), "must be above 0"),
        (lambda: availability_between(1, 0, 3), "above 0"),
    ],
)
def test_wrong_arguments(call, said):
    """Each says what was given and what is allowed."""
    with pytest.raises(ValueError, match=said):
        call()
    assert set(FAMILIES) == {"exponential", "weibull", "gamma", "lognormal"}


def test_quantiles_beside_values():
    """Places by hand: (j - 1/2) / n; by product limits where an end was not seen; above what is not seen."""
    whole = sample([3.0, 1.0, 2.0])
    law = fitted(whole, "exponential")
    pairs = quantile_pairs(whole, law)
    assert [value for value, _ in pairs] == [1.0, 2.0, 3.0]
    assert [law.law.cdf(q) for _, q in pairs] == pytest.approx([1 / 6, 1 / 2, 5 / 6])
    # Of three the second had not ended: 1/3 goes at the first, the other 2/3 at the third.
    censored = sample([1.0, 2.0, 3.0], [False, True, False])
    law = fitted(censored, "exponential")
    pairs = quantile_pairs(censored, law)
    assert [value for value, _ in pairs] == [1.0, 3.0]
    assert [law.law.cdf(q) for _, q in pairs] == pytest.approx([1 / 6, 2 / 3])
    hidden = sample([2.0, 4.0], unseen_below=1.0)
    law = fitted(hidden, "exponential")  # memoryless: mean 2 above 1
    assert [q for _, q in quantile_pairs(hidden, law)] == pytest.approx(
        [1 - 2 * np.log(3 / 4), 1 - 2 * np.log(1 / 4)]
    )


def test_quantiles_of_a_right_law_lie_on_the_line():
    """2 000 exponential times, a third censored at random: medians of both within 6 %."""
    luck = np.random.default_rng(8)
    ends, looks = luck.exponential(10, 2000), luck.exponential(20, 2000)
    found = sample(np.minimum(ends, looks), ends > looks)
    pairs = np.array(quantile_pairs(found, fitted(found, "exponential")))
    middle = pairs[np.searchsorted(pairs[:, 1], 10 * np.log(2))]
    assert middle[0] == pytest.approx(middle[1], rel=0.06)
