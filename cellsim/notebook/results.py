"""The answers of studies: the dictionaries that `--json` writes, which show themselves and have tables."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from html import escape
from typing import Any

from cellsim.notebook.table import Column, Table, Value
from cellsim.show import (
    answer,
    between,
    cause_words,
    extent,
    limit_words,
    lock_words,
    number,
    origin,
    percent,
    plain,
    remedy_words,
    target_words,
)
from cellsim.show.compared import verdict
from cellsim.show.limited import MOST_CAUSES
from cellsim.show.sensed import first_words, interval_words, next_words
from cellsim.show.sized import spelled, sure

RATE = "good units per working hour"
PER_HOUR = "per working h"  # the same where room is short


def ends_of(entry: Mapping[str, Any] | None) -> tuple[Value, Value, Value]:
    """Mean and both ends of the interval of a figure; Nones where there is none."""
    if entry is None:
        return None, None, None
    low, high = entry["interval"]
    return entry["mean"], low, high


def figure_columns(unit: str, name: str = "") -> tuple[Column, Column, Column]:
    """The columns of a figure: mean and both ends of its 95 % interval."""
    before = f"{name} " if name else ""
    return Column(f"{before}mean", unit), Column(f"{before}low", unit), Column(f"{before}high", unit)


def _of_states(title: str, who: str, entries: Mapping[str, Any], figure: str, unit: str) -> Table:
    """One row for each name: how many, a figure, and the mean share of time in each state (0 where never)."""
    states = list(dict.fromkeys(state for entry in entries.values() for state in entry["shares"]))
    rows = [
        (
            name,
            entry.get("machines", entry.get("count")),
            *ends_of(entry[figure]),
            *(entry["shares"][state]["mean"] if state in entry["shares"] else 0.0 for state in states),
        )
        for name, entry in entries.items()
    ]
    shares = [Column(state, "share") for state in states]
    return Table(title, (Column(who), Column("count"), *figure_columns(unit, figure), *shares), tuple(rows))


def losses_table(account: Mapping[str, Any]) -> Table:
    """The critical path by cause: share, and per cent more output for one per cent less of it."""
    rows = [
        (row["who"], row["what"], row["share"], *row["interval"], row["elasticity"])
        for row in account["causes"]
    ]
    columns = (Column("who"), Column("what"), *figure_columns("share"), Column("gain", "% per 1 % shorter"))
    return Table("What limits output: shares of the critical path", columns, tuple(rows))


class Answer(dict[str, Any]):
    """An answer in the keys of `--json`; shown as a headline, what it rests on, and tables."""

    def headline(self) -> list[str]:
        """The answer in sentences, most important first."""
        raise NotImplementedError

    def shown_tables(self) -> Iterable[Table]:
        """The tables that belong to the first look."""
        raise NotImplementedError

    def __repr__(self) -> str:
        return "\n".join(self.headline())

    def _repr_html_(self) -> str:
        first, *others = (escape(plain(text)) for text in self.headline())
        lines = "".join(f"<p>{text}</p>" for text in others)
        tables = "".join(table._repr_html_() for table in self.shown_tables())
        return f"<div><p><b>{first}</b></p>{lines}{tables}</div>"


class RunAnswer(Answer):
    """The figures of one cell, in the keys of `result.json`."""

    def headline(self) -> list[str]:
        """Output per hour with its interval and band, the target, what limits, and what it rests on."""
        said = []
        if not self["audit"]["passed"]:
            said.append("This program broke its own laws: do not use these figures.")
        ends = between(self["output_per_hour"])
        interval = f" (95 % interval of the mean {ends})" if ends else ""
        said.append(f"{self['cell']['name']}: {answer(self)}{interval}.")
        if self["locked"]:
            told = f"The cell locks up: {lock_words(self, self['locked'][0])}. {remedy_words(self)}"
            said.append(told.rstrip())
        if self.get("interrupted"):
            said.append(f"Stopped early: {self['interrupted']} are in these figures.")
        said += [words for words in (target_words(self),) if words]
        if self["losses"]["causes"]:
            said.append("What limits output: " + next(limit_words(self["losses"])))
        said.append(f"{extent(self)}; {origin(self)}.")
        return said

    def shown_tables(self) -> Iterable[Table]:
        """Output hour by hour."""
        return (self.hourly,)

    @property
    def hourly(self) -> Table:
        """Good units of each hour by the clock: mean with 95 % interval, band, chance to reach the target."""
        rows = [
            (
                hour["hour"],
                hour["working_min"],
                *ends_of(hour),
                hour["p05"],
                hour["p50"],
                hour["p95"],
                hour.get("target"),
                hour.get("chance_of_target"),
            )
            for hour in self["output_per_hour"]["by_clock_hour"]
        ]
        unit = "units"
        columns = (
            Column("hour"), Column("working", "min"), *figure_columns(unit),
            *(Column(name, unit) for name in ("P5", "P50", "P95", "target")),
            Column("chance of target", "share"),
        )  # fmt: skip
        return Table("Good units hour by hour", columns, tuple(rows))

    @property
    def stations(self) -> Table:
        """Machines, cycles in the counted time and share of time in each state, by station."""
        title = "Stations: cycles and states in the counted time"
        return _of_states(title, "station", self["stations"], "cycles", "cycles")

    @property
    def people(self) -> Table:
        """Load and share of time in each state, by post."""
        title = "People: load on duty and states in the counted time"
        return _of_states(title, "post", self["people"], "load", "share")

    @property
    def robots(self) -> Table:
        """Load and share of time in each state, by robot."""
        title = "Robots: load on duty and states in the counted time"
        return _of_states(title, "robot", self["robots"], "load", "share")

    @property
    def stores(self) -> Table:
        """Level (mean with interval, 95 % of the time, highest), places and stay, by store with places."""
        rows = [
            (name, entry["capacity"], *ends_of(entry), entry["p95"], entry["max"], *ends_of(entry["stay_s"]))
            for name, entry in self["stores"].items()
        ]
        columns = (
            Column("store"), Column("places", "units"), *figure_columns("units"), Column("P95", "units"),
            Column("highest", "units"), *figure_columns("s", "stay"),
        )  # fmt: skip
        return Table("Stores", columns, tuple(rows))

    @property
    def stops(self) -> Table:
        """Stops in the counted time, minutes of repair and of waiting for it, by cause."""
        rows = [
            (row["who"], row["cause"], row["planned"], *ends_of(row["stops"]), *ends_of(row["repair_min"]),
             *ends_of(row["waiting_min"]))
            for row in self["stops"]
        ]  # fmt: skip
        columns = (
            Column("who"), Column("cause"), Column("planned"), *figure_columns("stops"),
            *figure_columns("min", "repair"), *figure_columns("min", "waiting"),
        )  # fmt: skip
        return Table("Stops in the counted time", columns, tuple(rows))

    @property
    def losses(self) -> Table:
        """What limits output: shares of the critical path by cause."""
        return losses_table(self["losses"])

    @property
    def assumptions(self) -> Table:
        """What the description does not say and was assumed, with the reason."""
        rows = [(str(row["path"]), str(row["value"]), str(row["why"])) for row in self["assumptions"]]
        return Table("Assumed, not measured", (Column("key"), Column("value"), Column("why")), tuple(rows))


class CompareAnswer(Answer):
    """Proposals beside a base, in the keys of `cellsim compare --json`."""

    def headline(self) -> list[str]:
        """The verdict on each proposal."""
        base, chief, runs = self["base"], self["chief"], self["replications"]
        said = [f"{base['name']}: {number(base['figures'][chief]['mean'])} {RATE}."]
        said += [f"{p['name']}: {verdict(p['differences'][chief], runs)}." for p in self["proposals"]]
        if self.get("interrupted"):
            said.append("Stopped early.")
        return [*said, f"{runs} runs of each with the same luck; {percent(self['level'])} for all together."]

    def shown_tables(self) -> Iterable[Table]:
        """All differences."""
        return (self.differences,)

    @property
    def figures(self) -> Table:
        """Every figure of every alternative: mean with its 95 % interval, in the unit of the row."""
        rows = [
            (each["name"], name, *ends_of(entry), entry["unit"])
            for each in (self["base"], *self["proposals"])
            for name, entry in each["figures"].items()
        ]
        columns = (Column("alternative"), Column("figure"), *figure_columns(""), Column("unit"))
        return Table("Figures", columns, tuple(rows))

    @property
    def differences(self) -> Table:
        """Every difference of every proposal from the base, with its interval, in the unit of the row."""
        rows = [
            (each["name"], name, *ends_of(row), row["level"], row["p_adjusted"], row["unit"])
            for each in self["proposals"]
            for name, row in each["differences"].items()
        ]
        columns = (
            Column("proposal"), Column("figure"), *figure_columns(""), Column("level"), Column("adjusted p"),
            Column("unit"),
        )  # fmt: skip
        return Table("Differences from the base", columns, tuple(rows))


class BuffersAnswer(Answer):
    """The places that each store needs, in the keys of `cellsim buffers --json`."""

    def headline(self) -> list[str]:
        """Places, the rate they make, and how sure that is."""
        said = [f"{self['total']} places: {spelled(self['places'])}."]
        said.append(f"They make {number(self['rate']['mean'])} {RATE} ({between(self['rate'])}).")
        if self["target"] is not None:
            said.append(sure(self))
        return [*said, f"The search stopped because {self['why']}."]

    def shown_tables(self) -> Iterable[Table]:
        """Places by store and output against places."""
        return self.stores, self.curve

    @property
    def stores(self) -> Table:
        """Places now and as sized, and what one place more gives, by store."""
        gain = {row["store"]: row for row in self["one_more"]}
        rows = [
            (name, self["now"]["places"][name], self["places"][name], *ends_of(gain.get(name)))
            for name in self["stores"]
        ]
        columns = (
            Column("store"), Column("now", "places"), Column("sized", "places"),
            *figure_columns(PER_HOUR, "one more"),
        )  # fmt: skip
        return Table("Places by store", columns, tuple(rows))

    @property
    def curve(self) -> Table:
        """Output against places in all, each used as well as any that was tried, and that use by store."""
        rows = [(row["total"], *ends_of(row), *row["places"].values()) for row in self["curve"]]
        columns = (
            Column("total", "places"),
            *figure_columns(PER_HOUR),
            *(Column(n, "places") for n in self._by_name()),
        )
        return Table("Output by number of places", columns, tuple(rows))

    def _by_name(self) -> Sequence[str]:
        """Column names of the stores, told from the total."""
        return [f"in {name}" for name in self["stores"]]


class LimitsAnswer(Answer):
    """What limits and what changes buy, in the keys of `cellsim limits --json`."""

    def headline(self) -> list[str]:
        """Output, the chief cause, and the change that buys most."""
        rate = self["output_per_hour"]
        said = [f"{number(rate['mean'])} {RATE} ({between(rate)})."]
        causes = [row for row in self["losses"]["causes"] if row["elasticity"] is not None]
        if causes:
            first = causes[0]
            said.append(f"{cause_words(first['who'], first['what'])}: {percent(first['share'])} of the path.")
        if self["changes"]:
            best = self["changes"][0]
            gain = best["difference"]
            said.append(f"{best['change']}: {gain['mean']:+.2f} per hour ({between(gain)}).")
        return said

    def shown_tables(self) -> Iterable[Table]:
        """The changes, and the chief causes."""
        losses = self.losses
        return self.changes, Table(losses.title, losses.columns, losses.rows[:MOST_CAUSES])

    @property
    def changes(self) -> Table:
        """What each change buys: measured, with its interval, and as the critical path promises."""
        rows = [(row["change"], *ends_of(row["difference"]), row["promised"]) for row in self["changes"]]
        columns = (Column("change"), *figure_columns(PER_HOUR), Column("by the path", PER_HOUR))
        return Table("What changes would buy", columns, tuple(rows))

    @property
    def losses(self) -> Table:
        """What limits output: shares of the critical path by cause."""
        return losses_table(self["losses"])


class SensitivityAnswer(Answer):
    """What is not known does to output, in the keys of `cellsim sensitivity --json`."""

    def headline(self) -> list[str]:
        """Output, what not knowing the inputs does to it, and what to measure better first."""
        rate = self["output_per_hour"]
        said = [f"{number(rate['mean'])} {RATE} with the inputs as they stand ({between(rate)})."]
        said += [words for words in (interval_words(self), first_words(self), next_words(self)) if words]
        return said

    def shown_tables(self) -> Iterable[Table]:
        """The inputs."""
        return (self.inputs,)

    @property
    def inputs(self) -> Table:
        """Every input with its range and what its low to its high end does to output, largest first."""
        rows = [
            (row["input"], row["known"], row["low"], row["high"], row["unit"], *ends_of(row["effect"]))
            for row in self["inputs"]
        ]
        columns = (
            Column("input"), Column("known"), Column("low"), Column("high"), Column("unit"),
            *figure_columns(PER_HOUR, "effect"),
        )  # fmt: skip
        return Table("What inputs do to output, from the low to the high end", columns, tuple(rows))
