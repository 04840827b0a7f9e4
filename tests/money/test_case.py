"""The money of a case: by hand, by normal laws and by counting, with facts that are made by hand."""

from __future__ import annotations

import math
from itertools import product

import numpy as np
import pytest
from scipy.stats import norm, t

from cellsim.errors import UsageError
from cellsim.money.break_even import needed_for_value, needed_gain
from cellsim.money.case import case_answer, deviation_of_year, gain_of
from cellsim.money.flows import annuity, beyond_all, npv, payback
from cellsim.money.measured import means_of
from cellsim.money.year import Drawn, Hours, Years

# A study of 200 paired runs: mean, deviation, and 119 of 200 above the break-even of 2 years, 1.740196.
MEAN, DEVIATION, RUNS, ABOVE = 1.853596, 2.370587, 200, 119
NEEDED = {1: 3.161765, 2: 1.740196, 3: 1.266340, 5: 0.887255}

TAPE = """
case: robot for three winders
investment: {robot cell: 118 000 EUR}
rate: 10 %
payback_limit: 2 years
shifts_per_year: 430
paid_per_shift: 8 h
wage: 31 EUR per h
running: {maintenance: 7 000 EUR per year, technician: 5 000 EUR per year, energy: 600 EUR per year}
"""


def paired_runs() -> np.ndarray:
    """Differences of just this mean, deviation and share above 1.740196."""
    share = ABOVE / RUNS
    apart = DEVIATION * math.sqrt((RUNS - 1) / RUNS / (share * (1 - share)))
    return np.array([MEAN + (1 - share) * apart] * ABOVE + [MEAN - share * apart] * (RUNS - ABOVE))


@pytest.mark.parametrize(
    ("freed", "net", "years", "value"),
    [
        ("1.0", 94_040, 1.25, 238_486),
        (f"{22 / 30}", 65_603, 1.80, 130_686),  # 22 s of hands a unit, one unit every 30 s
        ("0.5", 40_720, 2.90, 36_361),
    ],
)
def test_the_robot_of_the_tape_measure_by_hand(case, facts, freed, net, years, value):
    """430 shifts of 8 h at 31 are 106 640 for a person; less 12 600 a year; 118 000 now; 5 years at 10 %."""
    answer = case_answer(case(TAPE, freed=freed), facts([0.0, 0.0]), draws=10)
    point = answer["point"]
    assert point["net_per_year"] == pytest.approx(430 * 8 * 31 * float(freed) - 12_600)
    assert point["net_per_year"] == pytest.approx(net, abs=0.5)
    assert point["payback"] == pytest.approx(years, abs=0.005)
    assert point["npv"] == pytest.approx(value, abs=0.5)
    assert point["npv"] == pytest.approx(point["net_per_year"] * annuity(0.1, 5) - 118_000)


def test_the_chance_is_that_of_the_mean_not_of_a_single_run(case, facts):
    """A run is no life: that would be .595; by the standard error of the mean it is .753 (Student: .750)."""
    runs = facts(paired_runs())
    mean, error = gain_of(runs)
    assert (mean, error * math.sqrt(RUNS)) == pytest.approx((MEAN, DEVIATION), rel=1e-12)
    answer = case_answer(case(), runs, draws=40_000)
    assert answer["point"]["payback"] == pytest.approx(1.852244, abs=1e-6)
    lives = [payback([-58_000, *[3400 * 6 * d - 6500] * 5]) for d in paired_runs()]
    assert sum(1 for back in lives if back is not None and back <= 2) / RUNS == 0.595
    told = next(row for row in answer["drawn"]["chances"] if row["years"] == 2)
    exact = t.sf((NEEDED[2] - MEAN) / (DEVIATION / math.sqrt(RUNS)), RUNS - 1)
    assert told["mean"] == pytest.approx(
        exact, abs=4 * math.sqrt(exact * (1 - exact) / 40_000)
    )  # 6 in 100 000
    assert told["mean"] == pytest.approx(0.753, abs=0.01)
    assert told["half_width"] == pytest.approx(1.96 * math.sqrt(0.25 * 0.75 / 40_000), rel=0.02)


def test_what_the_case_leaves_open_is_in_the_chance(case, facts):
    """Hours and margin of deviations 15 % and 10 %: 2 years .585, 3 years .962, value above 0 .998.

    Those chances are of lognormal hours and margin; even ranges of the same deviations give them within .01,
    and just what a fine grid of them with Student's law of the gain gives.
    """
    hours, margin = (spread * math.sqrt(3) for spread in (0.15, 0.10))  # half an even range of this deviation
    open_case = case(
        shifts_per_year=f"{425 * (1 - hours):.6f} to {425 * (1 + hours):.6f}",
        margin=f"{6 * (1 - margin):.6f} to {6 * (1 + margin):.6f} EUR per unit",
    )
    answer = case_answer(open_case, facts(paired_runs()), draws=40_000)
    chances = {row["years"]: row["mean"] for row in answer["drawn"]["chances"]}
    chances["value"] = answer["drawn"]["npv"]["chance_above_0"]["mean"]
    assert (chances[2], chances[3], chances["value"]) == pytest.approx((0.585, 0.962, 0.998), abs=0.01)
    even = 2 * (np.arange(400) + 0.5) / 400 - 1
    earned = 3400 * (1 + hours * even[:, None]) * 6 * (1 + margin * even)
    for key, flow in ((2, 58_000 / 2), (3, 58_000 / 3), ("value", 58_000 / annuity(0.08, 5))):
        needed = (flow + 6500) / earned
        exact = float(t.sf((needed - MEAN) / (DEVIATION / math.sqrt(RUNS)), RUNS - 1).mean())
        assert chances[key] == pytest.approx(exact, abs=4 * math.sqrt(exact * (1 - exact) / 40_000))


def test_a_year_varies_far_less_than_a_run(case, facts):
    """Runs of 7.83202 h of deviation 2.370587: a year of 3400 h has .113777; and by drawing such years."""
    assert deviation_of_year(DEVIATION, 7.83202, 3400) == pytest.approx(0.113777, abs=5e-7)
    answer = case_answer(case(), facts(paired_runs(), counted=7.83202), draws=10)
    assert answer["gain"]["deviation_of_a_year"] == pytest.approx(0.113777, abs=5e-7)
    blocks = 434  # in a year
    years = np.random.default_rng(3).normal(MEAN, DEVIATION, (4000, blocks)).mean(axis=1)
    assert years.std() == pytest.approx(0.113777, rel=0.05)  # 4.4 deviations of the estimate


def test_break_even_is_the_closed_form(case, facts):
    """(58 000 / N + 6500) / (3400 x 6) by hand, and the value of 5 years at 8 % is 0 at 1.030710."""
    found = case_answer(case(), facts(paired_runs()), draws=10)["break_even"]["units_per_hour"]
    told = {row["years"]: row["needed"] for row in found["curve"]}
    for years, needed in NEEDED.items():
        assert told[years] == pytest.approx(needed, abs=5e-7)
    assert found["at_limit"] == told[2]
    assert found["for_value"] == pytest.approx(1.030710, abs=5e-7)
    assert found["now"] == pytest.approx(MEAN)


def test_break_even_with_everything_in_the_case(case, facts):
    """With ramp-up, delivery and so on: with the needed gain the payback is just that time, the value 0."""
    open_case = case(
        ramp_up="{month 1: 60 %, month 3: 85 %, year 2: 95 %}", delivery="5 months", lost_output="4 shifts",
        investment="{robot: {price: 40 000 EUR, integration: 9 000 EUR, residual: 7 000 EUR}}",
    )  # fmt: skip
    found = case_answer(open_case, facts(paired_runs()), draws=10)["break_even"]["units_per_hour"]
    for row in found["curve"][6::3]:
        again = case_answer(open_case, facts(np.array([row["needed"]] * 2)), draws=10)["point"]
        assert again["payback"] == pytest.approx(row["years"], rel=1e-9)
    again = case_answer(open_case, facts(np.array([found["for_value"]] * 2)), draws=10)["point"]
    assert again["npv"] == pytest.approx(0.0, abs=1e-6)


def test_break_even_says_what_cannot_be():
    """Nothing earned yet: none; arrays that do not fit: told."""
    assert needed_gain(np.array([-10.0, 0.0]), np.array([0.0, 0.0]), 1) is None
    assert needed_for_value(np.array([-10.0, 0.0]), np.array([0.0, 0.0]), 0.1) is None
    with pytest.raises(ValueError, match="2 and 3 flows"):
        needed_gain(np.zeros(2), np.zeros(3), 1)


def test_flows_month_by_month(case, facts):
    """The same flows by adding up quarters of months; the delivery lies in the middle of a month."""
    ramp = {1: 0.6, 2: 0.75, 3: 0.85, 4: 0.85, 5: 0.85, 6: 0.95}  # a share holds until the next
    open_case = case(
        ramp_up="{month 1: 60 %, month 2: 75 %, month 3: 85 %, month 6: 95 %}", delivery="4.5 months",
        lost_output="3 shifts", can_sell="51 per h", horizon="4 years",
        investment="{robot: {price: 30 000 EUR, integration: 28 000 EUR, life: 1.5 years,"
        " residual: 2 000 EUR}}",
    )  # fmt: skip
    flows = case_answer(open_case, facts(paired_runs()), draws=10)["point"]["flows"]
    wanted = [-58_000 - 3 * 8 * 50 * 6, 0.0, 0.0, 0.0, 0.0]
    for quarter in range(4 * 48):
        month = quarter // 4 - 4 + (quarter % 4 - 2) / 4  # months since delivery
        if month >= 0:
            gain = ramp.get(math.floor(month) + 1, 1.0) * 3400 * 1 * 6  # one more of 1.85 can be sold
            wanted[quarter // 48 + 1] += (gain - 6500) / 48
    for year in (2, 3):  # after 1.5 and 3 years a new one, the old one sold; after 4.5 the case has ended
        wanted[year] += 2_000 - 30_000
    wanted[4] += 2_000
    assert flows == pytest.approx(wanted, abs=1e-6)


@pytest.mark.parametrize(
    ("base", "difference", "limit", "sold"),
    [(50, 4, "52 per h", 2), (50, 4, "40 per h", 0), (50, 4, "416 per shift", 2), (50, -4, "48 per h", -2)],
)
def test_only_what_can_be_sold_counts(case, facts, base, difference, limit, sold):
    """The smaller of output and what can be sold, of both cells; 8 working hours a shift."""
    runs = facts(np.array([difference] * 2, dtype=float), base=base)
    point = case_answer(case(can_sell=limit), runs, draws=10)["point"]
    assert point["gains"]["units"] == pytest.approx(3400 * 6 * sold)


def test_scrap_and_energy_count_as_far_as_they_are_made(case, facts):
    """Per working hour: scrap 2 to 1 at 4, kWh 20 to 30 at 0.25; half of 100 can be sold."""
    runs = facts(
        np.array([50.0, 50.0]),
        scrap={"test": np.array([[2.0, 2.0], [1.0, 1.0]])},
        energy={
            "working": np.array([[15.0, 15.0], [22.0, 22.0]]),
            "idle": np.array([[5.0, 5.0], [8.0, 8.0]]),
        },
    )
    given = case(can_sell="50 per h", scrap="{test: 4 EUR per unit}", energy="0.25 EUR per kWh",
                 material="1 EUR per unit", wage="30 EUR per h")  # fmt: skip
    answer = case_answer(given, runs, draws=10)
    gains = answer["point"]["gains"]
    assert gains["scrap"] == pytest.approx(3400 * (8 - 4 / 2))
    assert gains["energy"] == pytest.approx(3400 * (5 - 7.5 / 2))
    base, proposal = answer["unit_cost"]["base"], answer["unit_cost"]["proposal"]
    assert base["energy_by_state"] == pytest.approx({"working": 15 * 0.25 / 50, "idle": 5 * 0.25 / 50})
    assert proposal["scrap_by_station"] == pytest.approx({"test": 4 / 100})


def test_cost_of_a_unit_sums_exactly_and_by_hand(case, facts):
    """Two people of 8.5 h paid for 8 h worked at 30 (one from elsewhere is paid there), one leader at 50."""
    runs = facts(
        np.array([10.0, 10.0]),
        shifts=((8.0, 9.0), (8.0, 9.0)),
        paid=({"A": 2 * 9 / 8, "leader": 9 / 8, "technician": 9 / 8}, {}),
        away=frozenset({"technician"}),
    )
    given = case(wage="30 EUR per h", wages="{leader: 50 EUR per h}", paid_per_shift="8.5 h", freed="0.5",
                 material="1.20 EUR per unit", running_today="{upkeep: 3 400 EUR per year}")  # fmt: skip
    cost = case_answer(given, runs, draws=10)["unit_cost"]
    base, proposal = cost["base"], cost["proposal"]
    assert base["parts"]["labour"] == pytest.approx((2 * 30 + 50) * 8.5 / 8 / 50)
    assert proposal["parts"]["labour"] == pytest.approx((1.5 * 30 + 50) * 8.5 / 8 / 60)
    assert base["parts"]["running"] == pytest.approx(1 / 50)
    assert proposal["parts"]["running"] == pytest.approx((3400 + 6500) / 3400 / 60)
    assert proposal["parts"]["capital"] == pytest.approx(58_000 / annuity(0.08, 5) / 3400 / 60)
    for each in (base, proposal):
        assert each["total"] == math.fsum(each["parts"].values())
        assert all(value >= 0 for value in each["parts"].values())


def test_capital_of_a_unit_is_worth_the_flows(case, facts):
    """Spread over the years it has the value of what is paid: bought, again after 2 years, resold."""
    given = case(
        investment="{robot: {price: 30 000 EUR, life: 2 years, residual: 6 000 EUR}}", wage="30 EUR per h",
        running="", horizon="4 years",
    )  # fmt: skip
    answer = case_answer(given, facts(np.array([0.0, 0.0])), draws=10)
    yearly = answer["unit_cost"]["proposal"]["parts"]["capital"] * 3400 * 50
    assert -yearly * annuity(0.08, 4) == pytest.approx(npv([-30_000, 0, -24_000, 0, 6_000], 0.08))
    assert answer["point"]["npv"] == pytest.approx(-yearly * annuity(0.08, 4))


def test_without_a_wage_there_is_no_cost_of_a_unit(case, facts):
    """And it says so."""
    cost = case_answer(case(), facts([0.0, 0.0]), draws=10)["unit_cost"]
    assert cost["base"] is None and "no wage" in cost["reason"]


def test_identical_cells_give_exactly_nothing(case, facts):
    """Each draw has the same luck for both, so not even rounding is left: only what is paid remains."""
    luck = np.random.default_rng(1).normal(100, 9, 40)
    runs = facts(np.zeros(40), good=np.vstack([luck, luck]))
    answer = case_answer(case(running="", can_sell="90 to 99 per h"), runs, draws=500)
    assert answer["gain"]["mean"] == 0 and answer["gain"]["interval"] == [0, 0]
    assert answer["point"]["flows"] == [-58_000, 0, 0, 0, 0, 0]
    assert answer["drawn"]["npv"]["p10"] == answer["drawn"]["npv"]["p90"] == -58_000
    assert answer["drawn"]["payback"]["never"] == 1 and answer["verdict"]["says"] == "does not pay"
    assert answer["point"]["internal_rates"] == []


def test_means_are_drawn_as_means_are_spread(facts):
    """Covariance of drawn means of base and proposal: that of the runs by n (4000 draws, 5 deviations)."""
    rng = np.random.default_rng(1)
    common = rng.normal(100, 8, 60)
    runs = facts(np.zeros(60), good=np.vstack([common + rng.normal(0, 3, 60), common + rng.normal(9, 6, 60)]))
    drawn = means_of(runs, np.random.default_rng(2).standard_normal((4000, 60))).good
    wanted = np.cov(runs.good) / 60
    error = np.sqrt((np.outer(np.diag(wanted), np.diag(wanted)) + wanted**2) / 4000)
    assert np.all(np.abs(np.cov(drawn) - wanted) < 5 * error)
    assert drawn.mean(axis=1) == pytest.approx(runs.good.mean(axis=1), abs=5 * math.sqrt(wanted.max() / 4000))


@pytest.mark.parametrize(
    ("price", "says"),
    [("30 000 EUR", "pays"), ("40 000 to 90 000 EUR", "cannot tell"), ("90 000 EUR", "does not pay")],
)
def test_the_verdict_allows_not_to_know(case, facts, price, says):
    """Back in 2 years takes a price below 62 627: surely, a share .45 of the range, surely not."""
    answer = case_answer(case(investment=f"{{robot: {price}}}"), facts(paired_runs() * 0 + MEAN))
    verdict = answer["verdict"]
    assert verdict["says"] == says
    exact = {
        "pays": 1.0,
        "does not pay": 0.0,
        "cannot tell": (2 * (3400 * 6 * MEAN - 6500) - 40_000) / 50_000,
    }[says]
    assert verdict["chance"] == pytest.approx(exact, abs=0.04)
    assert verdict["turning"] == (["investment.robot"] if says == "cannot tell" else [])
    assert verdict["interval"][0] <= verdict["chance"] <= verdict["interval"][1]


@pytest.mark.parametrize(("chance", "bound"), [(0.82, 0.8), (0.18, 0.2)])
def test_the_verdict_holds_back_near_its_bound(case, facts, chance, bound):
    """200 draws cannot tell 82 % from 80 %, nor 18 % from 20 %: the price lies below 62 627 so often."""
    most = 2 * (3400 * 6 * MEAN - 6500)
    price = f"{{robot: {most - 10_000 * chance:.0f} to {most + 10_000 * (1 - chance):.0f} EUR}}"
    verdict = case_answer(case(investment=price), facts(paired_runs() * 0 + MEAN), draws=200)["verdict"]
    assert verdict["says"] == "cannot tell"
    assert (verdict["chance"] > bound) == (bound > 0.5)  # the draws alone would say something
    assert verdict["interval"][0] < bound < verdict["interval"][1]


def test_tornado_is_every_end_on_its_own(case, facts):
    """Each row by a case in which that number alone stands at its end; the largest first."""
    ranges = {
        "margin": ("5", "7", " EUR per unit"),
        "rate": ("6", "10", " %"),
        "delivery": ("0", "6", " months"),
    }
    middle = {"margin": "6 EUR per unit", "rate": "8 %", "delivery": "3 months"}
    runs = facts(paired_runs())
    rows = case_answer(case(**{k: f"{lo} to {hi}{u}" for k, (lo, hi, u) in ranges.items()}), runs, draws=10)[
        "tornado"
    ]
    told = {row["what"]: row for row in rows}
    for key, end in product(ranges, (0, 1)):
        alone = case_answer(case(**middle | {key: ranges[key][end] + ranges[key][2]}), runs, draws=10)[
            "point"
        ]
        row = told[key][("at_low", "at_high")[end]]
        assert (row["npv"], row["payback"]) == pytest.approx((alone["npv"], alone["payback"]))
    assert [row["swing"] for row in rows] == sorted((row["swing"] for row in rows), reverse=True)
    error = DEVIATION / math.sqrt(RUNS)
    end = t.ppf(0.95, RUNS - 1) * error
    assert told["gain"]["high"] == pytest.approx(MEAN + end)
    change = told["gain"]["at_high"]["npv"] - told["gain"]["at_low"]["npv"]
    share = [0.75, 1, 1, 1, 1]
    per = sum(s / 1.08**y for y, s in enumerate(share, start=1)) * 3400 * 6
    assert change == pytest.approx(2 * end * per)


def test_inflation_makes_a_nominal_rate_real(case, facts):
    """The value at real 6 % of today's money is that at nominal 8.12 % of money that rises by 2 % a year."""
    runs = facts(np.array([2.0, 2.0]))
    point = case_answer(case(rate="8.12 %", inflation="2 %"), runs, draws=10)["point"]
    assert point["rate"] == pytest.approx(0.06)
    risen = [flow * 1.02**year for year, flow in enumerate(point["flows"])]
    assert point["npv"] == pytest.approx(npv(risen, 0.0812))


def test_not_knowing_the_cells_widens_the_gain(case, facts):
    """Variance by the inputs is added to that of the mean, in the interval and in the draws."""
    narrow, wide = (case_answer(case(), facts(paired_runs(), more=m), draws=4000) for m in (0.0, 0.25))
    error = math.sqrt(DEVIATION**2 / RUNS + 0.25)
    assert wide["gain"]["standard_error"] == pytest.approx(error)
    assert wide["gain"]["share_of_inputs"] == pytest.approx(0.25 / error**2)
    chance = norm.sf((NEEDED[2] - MEAN) / error)
    assert wide["verdict"]["chance"] == pytest.approx(chance, abs=4 * math.sqrt(chance * (1 - chance) / 4000))
    assert wide["verdict"]["chance"] < narrow["verdict"]["chance"]


def test_few_runs_are_trusted_less(case, facts):
    """Three runs: the chance is that of Student's law with 2 degrees, not the normal one (.652, .674)."""
    runs = facts([2.0, 3.0, 1.0], base=50.0)  # mean 2, error .577
    chance = case_answer(case(), runs, draws=40_000)["verdict"]["chance"]
    exact = t.sf((NEEDED[2] - 2) / (1 / math.sqrt(3)), 2)
    assert chance == pytest.approx(exact, abs=4 * math.sqrt(exact * (1 - exact) / 40_000))


def test_the_same_seed_gives_the_same_answer(case, facts):
    """And another seed another one, about the same."""
    open_case, runs = case(margin="5 to 7 EUR per unit"), facts(paired_runs())
    one, same, other = (case_answer(open_case, runs, seed=seed)["drawn"] for seed in (1, 1, 2))
    assert one == same != other
    assert one["npv"]["median"] == pytest.approx(other["npv"]["median"], rel=0.05)


def test_several_internal_rates_are_no_rate(case, facts):
    """-1600, 10 000, -10 000 (Lorie and Savage 1955), by a gain of one year: 25 % and 400 %, so none."""
    given = case(
        investment="{pump: 1 600 EUR}", running="{upkeep: 10 000 EUR per year}", horizon="2 years",
        ramp_up="{year 1: 100 %, year 2: 0 %}",
    )  # fmt: skip
    answer = case_answer(given, facts(np.array([20_000 / (3400 * 6)] * 2)), draws=50)
    assert answer["point"]["flows"] == pytest.approx([-1600, 10_000, -10_000])
    assert answer["point"]["internal_rates"] == pytest.approx([0.25, 4.0])
    assert answer["drawn"]["internal_rate"] == dict.fromkeys(("p10", "median", "p90")) | {
        "above": None,
        "none_or_several": 1,
    }


def test_a_rate_beyond_all_that_are_looked_at(case, facts):
    """100 bring 1750 a year: 1750 % of it, above 1000 %; so it is told, and not taken for none."""
    given = case(investment="{pump: 100 EUR}", running="", horizon="5 years")
    answer = case_answer(given, facts(np.array([1750 / (3400 * 6)] * 2)), draws=50)
    assert (answer["point"]["internal_rates"], answer["point"]["internal_rate_above"]) == ([], 10.0)
    rate = answer["drawn"]["internal_rate"]
    assert (rate["median"], rate["above"], rate["none_or_several"]) == (None, 10.0, 0)
    assert beyond_all([-100, 1750]) and not beyond_all([-100, 50]) and not beyond_all([100, 50])


def test_people_who_are_needed_more_are_paid_from_the_first_day(case, facts):
    """One more for 8000 a year, a year until it runs, then a ramp that gives nothing: 0, then -8000 a year.

    People who are freed come as the ramp says.
    """
    keys = {
        "investment": "{bench: 1 000 EUR}", "running": "", "horizon": "4 years", "delivery": "12 months",
        "wage": "2.352941 EUR per h", "ramp_up": "{year 1: 0 %}",
    }  # fmt: skip
    more = case_answer(case(freed="-1", **keys), facts([0.0, 0.0]), draws=10)["point"]
    assert more["flows"] == pytest.approx([-1000, 0, -8000, -8000, -8000], abs=0.01)
    freed = case_answer(case(freed="1", **keys), facts([0.0, 0.0]), draws=10)["point"]
    assert freed["flows"] == pytest.approx([-1000, 0, 0, 8000, 8000], abs=0.01)


def test_a_verdict_that_rare_stops_may_turn_is_none(case, facts):
    """It pays surely by the runs; a stop of the proposal that they do not hold may cost the whole gain."""
    runs = [2.0 + 0.01 * (k % 5) for k in range(40)]
    sure = case_answer(case(), facts(runs), draws=200)["verdict"]
    assert (sure["says"], sure["turned_by_rare_stops"]) == ("pays", False)
    open_ = case_answer(case(), facts(runs, unseen=(1.9, 0.0)), draws=200)["verdict"]
    assert (open_["says"], open_["turned_by_rare_stops"]) == ("cannot tell", True)
    assert open_["chance"] == sure["chance"]
    small = case_answer(case(), facts(runs, unseen=(0.01, 0.01)), draws=200)["verdict"]
    assert small == sure


def test_nonsense_is_refused(case, facts):
    """One run has no error; cells without shifts need the length of one."""
    with pytest.raises(ValueError, match="1 replications"):
        case_answer(case(), facts([1.0]))
    with pytest.raises(UsageError, match="paid_per_shift"):
        case_answer(case(paid_per_shift=""), facts([1.0, 2.0]))


def test_a_number_that_is_not_drawn_has_its_middle(case, facts):
    """Two draws of the wage beside one of all else."""
    given = case(wage="20 to 40 EUR per h", freed="1")
    means = means_of(facts([1.0, 1.0]), np.zeros((2, 2)))
    years = Years(given, Hours((8.0, 8.0), 8.0), Drawn({"wage": np.array([20.0, 40.0])}, means))
    assert years.gains()["people"] == pytest.approx([3400 * 20, 3400 * 40])
