"""The paper work of a cell before any run, which shows itself: sentences, loads and further tables."""

from __future__ import annotations

from collections.abc import Iterable

from cellsim.notebook.results import Answer
from cellsim.notebook.table import Column, Table
from cellsim.show import plain
from cellsim.show.loaded_words import (
    headline,
    limit_words,
    people_words,
    rate_words,
    takt_words,
    tending_words,
    warning_words,
)

UNIT = "s per good unit"


class WorkloadAnswer(Answer):
    """Takt, loads, balance, tending, stores and batches, in the keys of `cellsim load --json`."""

    def headline(self) -> list[str]:
        """Whether the rate can be made on paper, takt, people, the limit, and what to look at."""
        return [
            f"{plain(self['cell'])}: loads on paper at {rate_words(self)}.",
            headline(self),
            *takt_words(self),
            *people_words(self),
            *(text for team in self["tending"] for text in tending_words(self, team)),
            limit_words(self),
            *(warning_words(row) for row in self["warnings"]),
        ]

    def __repr__(self) -> str:
        return "\n".join([*self.headline(), "", repr(self.loads)])

    def shown_tables(self) -> Iterable[Table]:
        """The loads."""
        return (self.loads,)

    @property
    def loads(self) -> Table:
        """Required and available time of everybody in seconds per good unit, one row each.

        A load above 1 cannot make the rate in working hours; one below may still not, since waiting is not
        in it.
        """
        rows = tuple(
            (
                row["name"], row["kind"], row["count"], row["work_s"], row["walking_s"], row["changeover_s"],
                row["required_s"], row["stops_s"], row["available_s"], row["load"], row["load_with_stops"],
            )
            for row in (*self["stations"], *self["posts"], *self["robots"])
        )  # fmt: skip
        columns = (
            Column("who"), Column("kind"), Column("count"), Column("work", UNIT), Column("walking", UNIT),
            Column("changeovers", UNIT), Column("required", UNIT), Column("by stops", UNIT),
            Column("available", UNIT), Column("load", "share"), Column("load with stops", "share"),
        )  # fmt: skip
        return Table(f"Loads at {self['rate_per_hour']:g} good units per working hour", columns, rows)

    @property
    def duties(self) -> Table:
        """What each post and robot does: work elements, walking, changeovers, stops; the balance chart."""
        rows = tuple(
            (row["name"], duty["at"], duty["what"], duty["kind"], duty["seconds"], duty["times"])
            for row in (*self["posts"], *self["robots"])
            for duty in row["duties"]
        )
        columns = (
            Column("who"), Column("at"), Column("what"), Column("kind"), Column("time", UNIT),
            Column("times", "per good unit"),
        )  # fmt: skip
        return Table("What everybody does for a good unit", columns, rows)

    @property
    def shifts(self) -> Table:
        """How the net available time of each shift comes about, and its demand."""
        rows = tuple(
            (
                row["name"], row["days_per_week"], row["length_min"], sum(row["breaks_min"]),
                row["start_up_min"], row["clean_up_min"], row["net_min"], row["demand"],
            )
            for row in self["takt"]["shifts"]
        )  # fmt: skip
        columns = (
            Column("shift"), Column("days", "per week"), Column("length", "min"), Column("breaks", "min"),
            Column("start up", "min"), Column("clean up", "min"), Column("net", "min"),
            Column("demand", "good units"),
        )  # fmt: skip
        return Table("Net available time", columns, rows)

    @property
    def stores(self) -> Table:
        """How long a stop of its neighbours each store covers at this rate."""
        rows = tuple(
            (row["store"], row["places"], row["cover_s"], row["mean_stop_s"], row["longest_stop_s"],
             row["longest_stop"])
            for row in self["stores"]
        )  # fmt: skip
        columns = (
            Column("store"), Column("places"), Column("covers", "s"), Column("mean stop", "s"),
            Column("longest mean", "s"), Column("cause"),
        )  # fmt: skip
        return Table("Stores against the stops of their neighbours", columns, rows)

    @property
    def batches(self) -> Table:
        """How each batch gathers, against how long it may wait and how long it takes a machine."""
        rows = tuple(
            (row["station"], row["variant"], row["machines"], row["size"], row["gathers_s"],
             row["first_waits_s"], row["mean_waits_s"], row["longest_wait_s"], row["starts_with"],
             row["occupied_s"], row["machines_needed"])
            for row in self["batches"]
        )  # fmt: skip
        columns = (
            Column("station"), Column("variant"), Column("machines"), Column("size", "units"),
            Column("gathers in", "s"), Column("first waits", "s"), Column("mean wait", "s"),
            Column("longest wait", "s"), Column("starts with", "units"), Column("taken for", "s"),
            Column("needed", "machines"),
        )  # fmt: skip
        return Table("Batches", columns, rows)

    @property
    def charts(self) -> Table:
        """The bars of the man-machine charts, in seconds from the beginning of each chart."""
        rows = tuple(
            (" and ".join(chart["who"]), line["name"], bar["at"], bar["what"], bar["kind"], bar["from_s"],
             bar["to_s"])
            for chart in self["charts"]
            for line in chart["lines"]
            for bar in line["bars"]
        )  # fmt: skip
        columns = (
            Column("chart"), Column("line"), Column("at"), Column("what"), Column("kind"),
            Column("from", "s"), Column("to", "s"),
        )  # fmt: skip
        return Table("Man-machine charts", columns, rows)
