"""The file of an investment: one currency, money and times with units, ranges for what is not known.

It stands beside the cell files, since it comes from finance, and changes no result of a cell.

case: Robot for the winders
investment: {robot cell: 118 000 EUR}
wage: 31 EUR per h
freed: 0.5 to 1.0           people per shift, every value in between alike likely
...
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass, replace

from cellsim.describe import reader
from cellsim.describe.fields import Item, Record
from cellsim.describe.spec_investment import CASE, Stated
from cellsim.describe.tree import Notes
from cellsim.errors import DescriptionError, Mistake

NONE = Stated(0.0, 0.0)
RampRow = tuple[int, int, Stated]


@dataclass(frozen=True, slots=True)
class Bought:
    """An investment item; `life` in years, None where it lasts as long as the case looks ahead."""

    name: str
    price: Stated
    integration: Stated
    life: Stated | None
    residual: Stated


@dataclass(frozen=True, slots=True)
class Investment:
    """An investment case as stated; money in `currency`, None where nothing is said.

    Attributes:
        items: what is bought.
        rate, inflation: shares per year.
        horizon, payback_limit: years.
        sure: how likely it must be to say that it pays.
        shifts_per_year: shifts.
        paid_per_shift: paid hours of a person in a shift.
        wage, wages: per paid hour, of everybody and of single posts.
        freed: people per shift.
        margin, material, scrap: per unit; scrap by station.
        can_sell: units per shift or per hour, as its unit says.
        energy: per kWh.
        running, running_today: per year, by name.
        delivery: months.
        lost_output: shifts.
        ramp_up: (first month, last month, share of the gain) in order, months after delivery from 1.
        origins: where values come from, as (path of a mapping, text).
        assumed: (path, value, reason) of what the file does not say.
    """

    name: str
    currency: str
    items: tuple[Bought, ...]
    rate: Stated
    inflation: Stated | None
    horizon: int
    payback_limit: float
    sure: float
    shifts_per_year: Stated
    paid_per_shift: float | None
    wage: Stated | None
    wages: dict[str, Stated]
    freed: Stated
    margin: Stated | None
    can_sell: Stated | None
    material: Stated | None
    scrap: dict[str, Stated]
    energy: Stated | None
    running: dict[str, Stated]
    running_today: dict[str, Stated]
    delivery: Stated
    lost_output: Stated
    ramp_up: tuple[RampRow, ...]
    origins: tuple[tuple[str, str], ...]
    assumed: tuple[tuple[str, str, str], ...]

    def stated(self) -> Iterator[Stated]:
        """Every number of the file that may be a range."""
        for item in self.items:
            each = (item.price, item.integration, item.life, item.residual)
            yield from (number for number in each if number is not None and number.path)
        single = (
            self.rate, self.inflation, self.shifts_per_year, self.wage, self.freed, self.margin,
            self.can_sell, self.material, self.energy, self.delivery, self.lost_output,
        )  # fmt: skip
        yield from (number for number in single if number is not None and number.path)
        for named in (self.wages, self.scrap, self.running, self.running_today):
            yield from named.values()
        yield from (share for _, _, share in self.ramp_up)


def load_investment(path: str | os.PathLike[str]) -> Investment:
    """The investment case of a file.

    Raises:
        DescriptionError: with every mistake.
    """
    return read_investment(reader.read_file(path), os.path.basename(path))


def read_investment(text: str, name: str) -> Investment:
    """The investment case of a text; `name` stands in messages for the file.

    Raises:
        DescriptionError: with every mistake.
    """
    notes = Notes(name)
    record = CASE.read(reader.read_text(text, name), "", notes)
    notes.stop_if_any()
    assert record is not None
    made = _Making(notes)
    found = made.investment(record)
    notes.stop_if_any()
    return found


class _Making:
    """Makes the case from what was read, and notes what does not fit together."""

    def __init__(self, notes: Notes) -> None:
        self.notes = notes
        self.currency = ""
        self.assumed: list[tuple[str, str, str]] = []

    def investment(self, record: Record) -> Investment:
        items = tuple(
            self._bought(name, entry.value) for name, entry in (record.get("investment") or {}).items()
        )
        if not items:
            self.wrong(record, "investment", "nothing is bought; write investment: {robot cell: 118 000 EUR}")
        for key in ("horizon", "sure"):
            if key not in record:
                row = CASE.key[key]
                self.assumed.append((key, row.default, row.why))
        found = Investment(
            name=record.single("case", ""),
            currency="",
            items=items,
            rate=self.needed(record, "rate"),
            inflation=self.one(record, "inflation"),
            horizon=record.single("horizon", CASE.key["horizon"].default_value()),
            payback_limit=record.single("payback_limit", 0.0),
            sure=record.single("sure", CASE.key["sure"].default_value()),
            shifts_per_year=self.needed(record, "shifts_per_year"),
            paid_per_shift=record.single("paid_per_shift", None),
            wage=self.one(record, "wage"),
            wages=self.named(record, "wages"),
            freed=self.one(record, "freed") or NONE,
            margin=self.one(record, "margin"),
            can_sell=self.one(record, "can_sell"),
            material=self.one(record, "material"),
            scrap=self.named(record, "scrap"),
            energy=self.one(record, "energy"),
            running=self.named(record, "running"),
            running_today=self.named(record, "running_today"),
            delivery=self.one(record, "delivery") or NONE,
            lost_output=self.one(record, "lost_output") or NONE,
            ramp_up=self._ramp(record),
            origins=tuple(self.notes.origins),
            assumed=(),
        )
        self._fits(record, found)
        return replace(found, currency=self.currency, assumed=tuple(self.assumed))

    def wrong(self, record: Record, key: str, message: str) -> None:
        """Note a mistake at a key."""
        self.notes.wrong(record.places.get(key), key, message)

    def take(self, item: Item) -> Stated:
        """A number as stated, its currency being that of the file."""
        stated: Stated = replace(item.value, path=item.path)
        money = stated.unit.split(" per ")[0]
        if money.isalpha() and money not in ("per", "months", "years", "shifts"):
            self.currency = self.currency or money
            if money != self.currency:
                place = Mistake(
                    self.notes.file, item.line, item.column, item.path,
                    f"this file counts money in {self.currency}, not {money}; one file has one currency",
                )  # fmt: skip
                self.notes.mistakes.append(place)
        return stated

    def one(self, record: Record, key: str) -> Stated | None:
        item = record.get(key)
        return None if item is None else self.take(item)

    def needed(self, record: Record, key: str) -> Stated:
        return self.one(record, key) or NONE

    def named(self, record: Record, key: str) -> dict[str, Stated]:
        return {name: self.take(entry.value) for name, entry in (record.get(key) or {}).items()}

    def _bought(self, name: str, given: Item | Record) -> Bought:
        if isinstance(given, Item):
            return Bought(name, self.take(given), NONE, None, NONE)
        price, integration = self.needed(given, "price"), self.one(given, "integration") or NONE
        return Bought(name, price, integration, self.one(given, "life"), self.one(given, "residual") or NONE)

    def _ramp(self, record: Record) -> tuple[RampRow, ...]:
        """The rows in order, each lasting until the next."""
        rows: list[tuple[int, int, Stated]] = sorted(
            ((*when, self.take(entry.value)) for when, entry in (record.get("ramp_up") or {}).items()),
            key=lambda row: row[:2],
        )
        found = []
        for k, (first, last, share) in enumerate(rows):
            if k + 1 < len(rows):
                following = rows[k + 1][0]
                if following <= last:
                    self.wrong(
                        record, "ramp_up", f"month {following} is told twice; months and years overlap"
                    )
                last = following - 1
            found.append((first, last, share))
        if found and found[0][0] != 1:
            self.wrong(record, "ramp_up", "the first share must be that of month 1 or year 1")
        return tuple(found)

    def _fits(self, record: Record, case: Investment) -> None:
        if (case.margin is None) != (case.can_sell is None):
            there, missing = ("margin", "can_sell") if case.margin else ("can_sell", "margin")
            self.wrong(
                record,
                there,
                f"{missing} is missing: more units are worth what they leave, if they can be sold",
            )
        if "freed" in record and case.wage is None:
            self.wrong(record, "freed", "the wage is missing: a freed person is worth his wage")
        if case.wages and case.wage is None:
            self.wrong(record, "wages", "the wage of everybody else is missing")
        if case.payback_limit > case.horizon:
            self.wrong(
                record, "payback_limit", f"the case looks ahead {case.horizon} years, the limit is beyond"
            )
        if not 0.5 <= case.sure < 1:
            self.wrong(record, "sure", "how sure one must be lies between 50 % and 100 %")
        if case.scrap and case.material is None:
            self.assumed.append(("scrap", "", "what is scrapped at other stations is worth nothing here"))
        elif case.material is not None and not case.scrap:
            why = "a scrapped unit is worth its material alone, whatever the station"
            self.assumed.append(("scrap", case.material.text, why))


def value_of_scrap(case: Investment, station: str) -> Stated:
    """What a unit is worth that is scrapped at a station."""
    return case.scrap.get(station) or case.material or NONE


def origin_of(case: Investment, path: str) -> str:
    """Where a number comes from, by its own mapping or the nearest around it; empty if nothing says."""
    told = {"" if where == "cell" else where: text for where, text in case.origins}
    while path:
        path = path.rpartition(".")[0]
        if path in told:
            return told[path]
    return ""


def check_names(case: Investment, posts: set[str], stations: set[str], name: str) -> None:
    """Hold the posts and stations of a case against those of the cells.

    Raises:
        DescriptionError: the case names one that is in neither cell.
    """
    wrong: list[Mistake] = []
    for kind, given, known in (("wages", case.wages, posts), ("scrap", case.scrap, stations)):
        what = "post" if kind == "wages" else "station"
        wrong += [
            Mistake(name, 0, 0, f"{kind}.{each}", f"neither cell has a {what} of this name", _there(known))
            for each in given
            if each not in known
        ]
    if wrong:
        raise DescriptionError(wrong)


def _there(known: set[str]) -> str:
    return f"there is {', '.join(sorted(known))}" if known else "there is none"
