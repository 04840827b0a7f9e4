"""The keys of a file of an investment: what finance knows, one row per key."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from cellsim import units
from cellsim.describe.fields import Forms, Item, Key, MapOf, Scalar, Schema, Table
from cellsim.describe.kinds import NAME, SHARE, WORDS
from cellsim.describe.tree import Node, Notes
from cellsim.units import UnitError, quoted

MONTHS = 12
_AMOUNT = re.compile(r"([+-]?[0-9.][0-9 _.,]*(?:[eE][+-]?[0-9]+)?)\s*(.*)")
_WHEN = re.compile(r"(month|year)\s+([1-9][0-9]?)")


@dataclass(frozen=True, slots=True)
class Stated:
    """A number as it is stated: one value, or a range in which every value is alike likely.

    `unit` is what stands behind it, such as `EUR per h`; `text` is how it was written, `path` its keys.
    """

    low: float
    high: float
    unit: str = ""
    text: str = ""
    path: str = ""

    @property
    def middle(self) -> float:
        """The value, or the middle of the range."""
        return (self.low + self.high) / 2

    @property
    def is_range(self) -> bool:
        """Whether there are two ends."""
        return self.low < self.high


@dataclass(frozen=True)
class Amount:
    """A number with its unit, or a range `LOW to HIGH`; `parse` makes number and unit of one end."""

    said: str
    parse: Callable[[str], tuple[float, str]]
    example: str

    def read(self, node: Node, path: str, notes: Notes) -> Item | None:
        one = Scalar(f"{self.said}, or two with to between them", self._stated, self.example)
        return one.read(node, path, notes)

    def schema(self) -> Schema:
        return {"type": ["string", "number"], "examples": [self.example]}

    def _stated(self, text: str) -> Stated:
        ends = re.split(r"\s+to(?:\s+|$)", text)
        if len(ends) > 2 or not all(ends):
            raise UnitError(f"{quoted(text)} is neither one value nor two ends; write {self.example}")
        found = _AMOUNT.fullmatch(ends[-1])
        if len(ends) == 2 and found and (first := _AMOUNT.fullmatch(ends[0])) and not first[2]:
            ends[0] = f"{ends[0]} {found[2]}".strip()
        (low, unit), (high, other) = self.parse(ends[0]), self.parse(ends[-1])
        if unit != other:
            raise UnitError(f"the two ends are not in the same unit: {quoted(ends[0])} and {quoted(ends[1])}")
        if len(ends) == 2 and not low < high:
            raise UnitError(f"the low end {quoted(ends[0])} is not below the high end {quoted(ends[1])}")
        return Stated(low, high, unit, " ".join(text.split()))


def _money(per: str, below_zero: bool = False) -> Callable[[str], tuple[float, str]]:
    def parse(text: str) -> tuple[float, str]:
        money = units.parse_money(text)
        if money.per != per:
            wanted = f"money per {per}" if per else "money, not per anything"
            raise UnitError(f"{quoted(text)}: wanted is {wanted}, such as {_example(money.currency, per)}")
        if money.amount < 0 and not below_zero:
            raise UnitError(f"{quoted(text)} is negative")
        return float(money.amount), money.currency + (f" per {per}" if per else "")

    return parse


def _example(currency: str, per: str) -> str:
    return f"31 {currency}" + (f" per {per}" if per else "")


def _count_of(
    what: str, least: float, most: float, *, whole: bool = False
) -> Callable[[str], tuple[float, str]]:
    """A number of something: `4 months`, `6 shifts`; without a word where `what` is empty."""

    def parse(text: str) -> tuple[float, str]:
        found = re.fullmatch(rf"(.*?)\s*{what}s?" if what else r"(.*)", text)
        if not found:
            raise UnitError(f"{quoted(text)} is no number of {what}s, which looks like 4 {what}s")
        value = float(units.parse_number(found[1]))
        if not least <= value <= most or (whole and value != int(value)):
            kind = "a whole number " if whole else ""
            raise UnitError(f"{quoted(text)}: {kind}from {least:g} to {most:g} is allowed")
        return value, f"{what}s" if what else ""

    return parse


def _selling(text: str) -> tuple[float, str]:
    """What can be sold: `870 per shift` or `120 per h`; any other rate becomes one per hour."""
    rate = units.parse_rate(text)
    if rate.per is None:
        return float(rate.count), "per shift"
    return float(rate.count) * units.HOUR / rate.per, "per h"


def _share(text: str) -> tuple[float, str]:
    return units.parse_share(text), ""


def parse_when(text: str) -> tuple[int, int]:
    """`month 3` as (3, 3), `year 2` as (13, 24): first and last month."""
    found = _WHEN.fullmatch(" ".join(text.split()))
    if not found:
        raise UnitError(f'{quoted(text)} is no time after delivery, which looks like "month 3" or "year 1"')
    number = int(found[2])
    return (number, number) if found[1] == "month" else (MONTHS * (number - 1) + 1, MONTHS * number)


def parse_paid(text: str) -> float:
    """Paid hours of a shift."""
    hours = units.parse_time(text) / units.HOUR
    if not 0 < hours <= 24:
        raise UnitError(f"{quoted(text)}: a shift is above 0 and at most 24 h")
    return hours


MONEY = Amount("money", _money(""), "118 000 EUR")
WAGE = Amount("money per hour", _money("h"), "31 EUR per h")
PER_UNIT = Amount("money per unit", _money("unit", below_zero=True), "1.20 to 1.60 EUR per unit")
PER_YEAR = Amount("money per year", _money("year", below_zero=True), "7 000 EUR per year")
TARIFF = Amount("money per kWh", _money("kWh"), "0.25 EUR per kWh")
PEOPLE = Amount("a number of people", _count_of("", -100, 100), "0.5 to 1.0")
SHIFTS_A_YEAR = Amount("a number of shifts", _count_of("", 1, 1500), "430")
SHIFTS = Amount("a number of shifts", _count_of("shift", 0, 1000), "6 to 10 shifts")
DELAY = Amount("a number of months", _count_of("month", 0, 120), "4 to 6 months")
LIFE = Amount("a number of years", _count_of("year", 1, 50), "8 years")
SELLING = Amount("a rate", _selling, "870 to 930 per shift")
PART_OF_GAIN = Amount("a share", _share, "60 %")
INTEREST = Amount("a share", _share, "8 %")
WHEN = Scalar("a time after delivery", parse_when, "month 3")
PAID = Scalar("a time", parse_paid, "8 h")
YEARS = Scalar(
    "a whole number of years", lambda t: int(_count_of("year", 1, 30, whole=True)(t)[0]), "5 years"
)
LIMIT = Scalar("a number of years", lambda text: _count_of("year", 0.1, 30)(text)[0], "2 years")

ITEM = Table("an investment item", "Something that is bought, with what it takes to make it run.", (
    Key("price", MONEY, "What it costs to buy.", "price: 62 000 EUR", required=True),
    Key("integration", MONEY, "What it costs beside its price until it runs: gripper, guards, programs,"
        " starting up, training.", "integration: 45 000 to 60 000 EUR"),
    Key("life", LIFE, "After so many years it is bought again, at its price.  Without it, it lasts as long as"
        " the case looks ahead.", "life: 8 years"),
    Key("residual", MONEY, "What it can be sold for at the end of its life, or where the case ends if that is"
        " sooner.", "residual: 5 000 EUR"),
))  # fmt: skip
CASE = Table("an investment case", "What finance knows about a proposal: money, people, time.", (
    Key("case", WORDS, "What it is about.", "case: Robot for the winders", required=True),
    Key("investment", MapOf(NAME, Forms("money or the keys of an item", MONEY, mapping=ITEM)),
        "What is bought, each with its name; all of it is paid at the order.",
        "investment: {robot cell: 118 000 EUR}", required=True),
    Key("rate", INTEREST, "Discount rate per year: a real one, as all money is in today's prices, unless"
        " inflation is given.", "rate: 8 %", required=True),
    Key("inflation", INTEREST, "Says that the rate is a nominal one; it is made real with this.",
        "inflation: 2 %"),
    Key("horizon", YEARS, "How many years are looked at.", "horizon: 5 years", default="5 years",
        why="five years, common practice, no source"),
    Key("payback_limit", LIMIT, "The longest payback that is accepted, from the order on.",
        "payback_limit: 2 years", required=True),
    Key("sure", SHARE, "How likely it must be to say that it pays; as likely not, that it does not.",
        "sure: 80 %", default="80 %", why="four of five, agree it with finance"),
    Key("shifts_per_year", SHIFTS_A_YEAR, "Shifts that are worked in a year, all of them together.",
        "shifts_per_year: 430", required=True),
    Key("paid_per_shift", PAID, "Paid time of a person in a shift, breaks as in the contract.  Without it the"
        " length of the shifts of the cell.", "paid_per_shift: 8 h"),
    Key("wage", WAGE, "A paid hour of a person with all on-costs.", "wage: 31 EUR per h"),
    Key("wages", MapOf(NAME, WAGE), "The same for single posts of the crew.",
        "wages: {technician: 40 EUR per h}"),
    Key("freed", PEOPLE, "People per shift who are really freed for other work that is worth their wage; may"
        " be a fraction, and below zero where more people are needed.  Without it nobody is freed,"
        " and people that the proposal has more cost their wage.",
        "freed: 0.5 to 1.0"),
    Key("margin", PER_UNIT, "What one more unit that is sold leaves: price less material and whatever else"
        " each unit costs, but not the energy and scrap that the runs count.",
        "margin: 0.80 to 1.20 EUR per unit"),
    Key("can_sell", SELLING, "How many units can be sold at most, all together.",
        "can_sell: 870 to 930 per shift"),
    Key("material", PER_UNIT, "Purchased material of a unit.", "material: 3.10 EUR per unit"),
    Key("scrap", MapOf(NAME, PER_UNIT), "What a unit is worth that is scrapped at a station: material and the"
        " work put into it.  Without it the material alone.", "scrap: {test: 4.20 EUR per unit}"),
    Key("energy", TARIFF, "Energy tariff; what is drawn comes from the runs, where the cells say it (power).",
        "energy: 0.25 EUR per kWh"),
    Key("running", MapOf(NAME, PER_YEAR), "What the proposal costs more per year, such as maintenance; below"
        " zero: what falls away.", "running: {maintenance: 7 000 EUR per year}"),
    Key("running_today", MapOf(NAME, PER_YEAR), "What both cost per year; counts in the cost of a unit only.",
        "running_today: {maintenance: 3 000 EUR per year}"),
    Key("delivery", DELAY, "From order to the day it runs.", "delivery: 4 to 6 months"),
    Key("lost_output", SHIFTS, "Shifts of output that are lost while it is put in.",
        "lost_output: 4 to 8 shifts"),
    Key("ramp_up", MapOf(WHEN, PART_OF_GAIN), "Share of the gain in a month or year after delivery; a share"
        " holds until the next, and after the last one all of the gain.",
        "ramp_up: {month 1: 60 %, month 3: 85 %}"),
))  # fmt: skip
