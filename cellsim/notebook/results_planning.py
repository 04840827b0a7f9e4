"""The answers of planning and money: who does what, and whether a proposal pays."""

from __future__ import annotations

from collections.abc import Iterable

from cellsim.notebook.results import Answer, ends_of, figure_columns
from cellsim.notebook.table import Column, Table
from cellsim.show import balanced
from cellsim.show.paid_back import first_words, name_of, needed_words, verdict_words


class BalanceAnswer(Answer):
    """A work plan shared out among people, and what the line makes."""

    def headline(self) -> list[str]:
        """How many people and how sure, the rate as a cell and on paper, what binds."""
        said = [f"{self['plan']}: {balanced.decision(self)}", balanced.rate_words(self)]
        return [*said, f"What binds: {balanced.binding_words(self)}."]

    def shown_tables(self) -> Iterable[Table]:
        """Who does what."""
        return (self.stations,)

    @property
    def stations(self) -> Table:
        """The people with their time by hand for a unit, what is left of the cycle, and their elements."""
        rows = [
            (row["station"], row["person"], row["load_s"], row["idle_s"],
             ", ".join(element["name"] for element in row["elements"]))
            for row in self["stations"]
        ]  # fmt: skip
        columns = (
            Column("station"), Column("person"), Column("by hand", "s per unit"),
            Column("idle", "s per unit"), Column("elements"),
        )  # fmt: skip
        return Table("Who does what", columns, tuple(rows))


class PaybackAnswer(Answer):
    """Whether a proposal pays, in the keys of `cellsim payback --json`."""

    def headline(self) -> list[str]:
        """The verdict, what to settle first, and what it takes."""
        said = [f"{self['case']}: {verdict_words(self)}", first_words(self), needed_words(self)]
        return [text for text in said if text]

    def shown_tables(self) -> Iterable[Table]:
        """The chance to be back, and what changes the result."""
        return self.chances, self.swings

    @property
    def chances(self) -> Table:
        """The chance that the money is back within so many years."""
        rows = [(row["years"], *ends_of(row)) for row in self["drawn"]["chances"]]
        return Table(
            "Chance that the money is back",
            (Column("within", "years"), *figure_columns("share")),
            tuple(rows),
        )

    @property
    def swings(self) -> Table:
        """Net present value and payback with each number alone at its ends, the largest change first."""
        rows = [
            (name_of(row["what"]), row["low"], row["high"], row["unit"],
             *(row[end][key] for key in ("npv", "payback") for end in ("at_low", "at_high")))
            for row in self["tornado"]
        ]  # fmt: skip
        value, years = self["currency"], "years"
        columns = (
            Column("number"), Column("low"), Column("high"), Column("unit"), Column("value at low", value),
            Column("value at high", value), Column("payback at low", years), Column("payback at high", years),
        )  # fmt: skip
        return Table("What changes the result", columns, tuple(rows))

    @property
    def flows(self) -> Table:
        """Money of each year with every number at its middle."""
        rows = tuple(enumerate(self["point"]["flows"]))
        return Table("Money by year", (Column("year"), Column("flow", self["currency"])), rows)
