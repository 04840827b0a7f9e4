"""Files of an investment: what is read, and what is told of a wrong one with its place."""

from __future__ import annotations

from pathlib import Path

import pytest

from cellsim.describe.investment import check_names, origin_of, read_investment, value_of_scrap
from cellsim.describe.reference import case_reference
from cellsim.describe.spec_investment import CASE, ITEM
from cellsim.errors import DescriptionError

FIRST = """\
case: test
investment: {robot: 100 EUR}
rate: 8 %
payback_limit: 2 years
shifts_per_year: 430
"""


def test_numbers_and_ranges_are_read_with_their_units():
    """One value, a range whose low end leaves the unit out, rates by the shift and by any time."""
    case = read_investment(
        FIRST + "wage: 31 to 35 EUR per h\nfreed: 0.5 to 1.0\nmargin: 1.20 EUR/unit\n"
        "can_sell: 870 to 930 per shift\ndelivery: 4 to 6 months\nenergy: 0.25 EUR per kWh\n"
        "running: {upkeep: -7 000 EUR per year}\nlost_output: 1 shift\npaid_per_shift: 7 h 30 min\n",
        "c.yaml",
    )
    assert case.currency == "EUR" and case.paid_per_shift == 7.5
    assert (case.wage.low, case.wage.high, case.wage.middle, case.wage.unit) == (31, 35, 33, "EUR per h")
    assert (case.freed.low, case.freed.high, case.freed.is_range) == (0.5, 1.0, True)
    assert (case.can_sell.low, case.can_sell.high, case.can_sell.unit) == (870, 930, "per shift")
    assert (case.delivery.low, case.delivery.high, case.lost_output.low) == (4, 6, 1)
    assert case.running["upkeep"].low == -7000 and not case.running["upkeep"].is_range
    assert (case.horizon, case.sure, case.payback_limit) == (5, 0.8, 2.0)
    assert [what for what, _, _ in case.assumed] == ["horizon", "sure"]
    other = read_investment(FIRST + "margin: 1 EUR per unit\ncan_sell: 2 per min\n", "c.yaml")
    assert (other.can_sell.low, other.can_sell.unit) == (120, "per h")
    paths = [each.path for each in case.stated()]
    assert len(paths) == len(set(paths)) and "investment.robot" in paths and "freed" in paths


def test_ramp_up_holds_until_the_next():
    """Months and years in any order; each share lasts until the month before the next one."""
    case = read_investment(FIRST + "ramp_up: {month 6: 95 %, month 1: 60 to 70 %, year 2: 98 %}\n", "c.yaml")
    assert [(first, last, share.middle) for first, last, share in case.ramp_up] == [
        (1, 5, pytest.approx(0.65)), (6, 12, 0.95), (13, 24, 0.98)
    ]  # fmt: skip


def test_origins_hold_for_what_is_below_them():
    """The nearest one counts; without any there is none."""
    text = FIRST.replace("{robot: 100 EUR}", "{robot: {price: 100 EUR, origin: offer of May}, guard: 5 EUR}")
    case = read_investment(text + "running: {upkeep: 5 EUR per year}\n", "c.yaml")
    assert origin_of(case, "investment.robot.price") == "offer of May"
    assert origin_of(case, "investment.guard") == origin_of(case, "rate") == ""
    whole = read_investment(
        text + "origin: finance, May\nrunning: {origin: guess, upkeep: 5 EUR per year}\n", "c.yaml"
    )
    assert [origin_of(whole, path) for path in ("rate", "running.upkeep", "investment.guard")] == [
        "finance, May", "guess", "finance, May"
    ]  # fmt: skip


def test_scrap_is_worth_what_is_said_or_its_material():
    """By station, else the material, else nothing; what is assumed is listed."""
    case = read_investment(FIRST + "material: 2 EUR per unit\nscrap: {test: 4 EUR per unit}\n", "c.yaml")
    assert (value_of_scrap(case, "test").low, value_of_scrap(case, "press").low) == (4, 2)
    assert value_of_scrap(read_investment(FIRST, "c.yaml"), "test").high == 0
    assert "scrap" in [
        what for what, _, _ in read_investment(FIRST + "material: 2 EUR per unit\n", "c").assumed
    ]


WRONG = [
    ("wage: 31\n", 'c.yaml:6:7: wage: "31" is not an amount of money'),
    (
        "wage: 31 USD per h\n",
        "c.yaml:6:7: wage: this file counts money in EUR, not USD; one file has one currency",
    ),
    ("wage: 31 EUR\n", 'c.yaml:6:7: wage: "31 EUR": wanted is money per h, such as 31 EUR per h'),
    ("wage: -3 EUR per h\n", 'c.yaml:6:7: wage: "-3 EUR per h" is negative'),
    ("wage: 40 to 31 EUR per h\n", 'c.yaml:6:7: wage: the low end "40 EUR per h" is not below the high end'),
    (
        "wage: 1 to 2 to 3 EUR per h\n",
        'c.yaml:6:7: wage: "1 to 2 to 3 EUR per h" is neither one value nor two',
    ),
    ("wage: 31 to\n", 'c.yaml:6:7: wage: "31 to" is neither one value nor two ends; write 31 EUR per h'),
    ("freed: 0.5 to 1\n", "c.yaml:6:1: freed: the wage is missing: a freed person is worth his wage"),
    ("freed: 1,5\nwage: 3 EUR per h\n", 'c.yaml:6:8: freed: "1,5" has a comma; use a point: "1.5"'),
    (
        "margin: 1 EUR per unit\n",
        "c.yaml:6:1: margin: can_sell is missing: more units are worth what they leave",
    ),
    ("can_sell: 3 per h\n", "c.yaml:6:1: can_sell: margin is missing"),
    ("ramp_up: {month 2: 50 %}\n", "c.yaml:6:1: ramp_up: the first share must be that of month 1 or year 1"),
    ("ramp_up: {year 1: 50 %, month 3: 80 %}\n", "c.yaml:6:1: ramp_up: month 3 is told twice"),
    ("ramp_up: {monat 2: 50 %}\n", 'c.yaml:6:11: ramp_up.monat 2: "monat 2" is no time after delivery'),
    (
        "delivery: 4 weeks\n",
        'c.yaml:6:11: delivery: "4 weeks" is no number of months, which looks like 4 months',
    ),
    ("horizon: 2.5 years\n", 'c.yaml:6:10: horizon: "2.5 years": a whole number from 1 to 30 is allowed'),
    ("horizon: 1 year\n", "c.yaml:4:1: payback_limit: the case looks ahead 1 years, the limit is beyond"),
    ("sure: 30 %\n", "c.yaml:6:1: sure: how sure one must be lies between 50 % and 100 %"),
    (
        "wags: {a: 3 EUR per h}\n",
        'c.yaml:6:1: wags: "wags" is no key of an investment case; did you mean "wages"?',
    ),
    ("wages: {a: 3 EUR per h}\n", "c.yaml:6:1: wages: the wage of everybody else is missing"),
    ("paid_per_shift: 30 h\n", 'c.yaml:6:17: paid_per_shift: "30 h": a shift is above 0 and at most 24 h'),
]


@pytest.mark.parametrize(("text", "said"), WRONG)
def test_wrong_files(text: str, said: str):
    """Each mistake with file, line, column and path."""
    with pytest.raises(DescriptionError) as caught:
        read_investment(FIRST + text, "c.yaml")
    assert len(caught.value.mistakes) == 1
    assert str(caught.value).startswith(said)


def test_all_that_is_missing_is_told_at_once():
    """Keys that must be there, and an investment of nothing."""
    with pytest.raises(DescriptionError) as caught:
        read_investment("case: t\n", "c.yaml")
    assert [m.message.split('"')[1] for m in caught.value.mistakes] == [
        "investment", "payback_limit", "rate", "shifts_per_year"
    ]  # fmt: skip
    with pytest.raises(DescriptionError, match="investment: nothing is bought"):
        read_investment(FIRST.replace("robot: 100 EUR", ""), "c.yaml")


def test_posts_and_stations_must_be_in_a_cell():
    """A wage for nobody and scrap of nowhere are told with what there is."""
    case = read_investment(
        FIRST + "wage: 3 EUR per h\nwages: {Bob: 4 EUR per h}\nscrap: {tst: 4 EUR per unit}\n", "c.yaml"
    )
    check_names(case, {"Bob"}, {"tst"}, "c.yaml")
    with pytest.raises(DescriptionError) as caught:
        check_names(case, {"Ann"}, {"test", "fit"}, "c.yaml")
    assert str(caught.value).splitlines() == [
        "c.yaml: scrap.tst: neither cell has a station of this name; there is fit, test",
        "c.yaml: wages.Bob: neither cell has a post of this name; there is Ann",
    ]


def test_every_key_has_an_example_that_is_read():
    """The reference lists each, and a file made of all the examples is a case."""
    page = case_reference()
    assert all(f"| `{row.name}` |" in page and row.help in page for row in (*CASE.keys, *ITEM.keys))
    lines = [row.example for row in CASE.keys]
    item = "{" + ", ".join(row.example for row in ITEM.keys) + "}"
    text = "\n".join(lines).replace("{robot cell: 118 000 EUR}", f"{{robot cell: {item}}}")
    case = read_investment(text + "\n", "all.yaml")
    assert {each.path for each in case.stated()} >= {
        "investment.robot cell.life",
        "scrap.test",
        "ramp_up.month 3",
    }


def test_the_demo_case_is_invented_and_says_so():
    """Every number of it has an origin."""
    file = Path(__file__).parents[2] / "scenarios" / "choices" / "tape_measure_robot.yaml"
    case = read_investment(file.read_text(encoding="utf-8"), file.name)
    assert all("invented" in origin_of(case, each.path) for each in case.stated())
