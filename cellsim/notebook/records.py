"""Records of the shop floor as inputs: a stopwatch sheet, a stop log; each answer shows itself."""

from __future__ import annotations

import math
import os
import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from cellsim.describe.cell import Cell
from cellsim.errors import UsageError
from cellsim.evidence.answers import stop_study_answer, time_study_answer
from cellsim.evidence.stop_inputs import stop_study
from cellsim.evidence.timestudy import time_study
from cellsim.notebook.results import Answer
from cellsim.notebook.table import Column, Table, Value
from cellsim.show import count_of, stop_lines, timed
from cellsim.units import UnitError, parse_share

File = str | os.PathLike[str]


class TimeStudyAnswer(Answer):
    """What a stopwatch sheet says, in the keys of `cellsim timestudy --json`."""

    def headline(self) -> list[str]:
        """How many elements, and all remarks."""
        said = [f"{count_of(len(self['elements']), 'work element')} of {self['file']}."]
        told = [*self["repairs"], *timed.unused(self)]
        told += [f"{row['name']}: {text}" for row in self["elements"] for text in timed.remarks(row)]
        told = [re.sub(r"--leave-out (\d+:\d+)", r'leave_out=["\1"]', text) for text in told]
        return said + [re.sub(r"--leave-out (\d+)", r"leave_out=[\1]", text) for text in told]

    def shown_tables(self) -> Iterable[Table]:
        """The elements."""
        return (self.elements,)

    @property
    def elements(self) -> Table:
        """Cycles, how many 5 % would take, mean with its interval (at normal pace if rated), by element."""
        rows = [
            (row["name"], len(row["cycles"]), row["needed"], row["basic_s"], *row["interval_s"],
             row["spread"], row["standard_s"])
            for row in self["elements"]
        ]  # fmt: skip
        columns = (
            Column("element"), Column("cycles"), Column("needed", "cycles"), Column("mean", "s"),
            Column("low", "s"), Column("high", "s"), Column("spread", "share"), Column("standard", "s"),
        )  # fmt: skip
        return Table(timed.pace(self).replace("Times", "Element times"), columns, tuple(rows))

    @property
    def lines(self) -> str:
        """The lines for the cell file."""
        return timed.snippet(self)


class StopsAnswer(Answer):
    """What a stop log says, in the keys of `cellsim stops --json`."""

    def headline(self) -> list[str]:
        """How many stops in which time, how many lines were changed or left out, and cautions."""
        said = [
            f"{self['stops']} stops of {self['file']} in {self['planned_h']:.0f} h of planned time; "
            f"{count_of(len(self['changes']), 'line')} changed or left out."
        ]
        return said + list(self["cautions"])

    def shown_tables(self) -> Iterable[Table]:
        """The causes."""
        return (self.causes,)

    @property
    def causes(self) -> Table:
        """Stops, time between them and length with intervals, and share of planned time lost, by cause."""
        rows = [
            (row["station"], row["cause"], row["count"], *_bounds(row["every"], 3600),
             *_bounds(row["lasts"], 60), row["lost_share"])
            for row in self["causes"]
        ]  # fmt: skip
        columns = (
            Column("station"), Column("cause"), Column("stops"),
            Column("every", "h"), Column("every low", "h"), Column("every high", "h"),
            Column("lasts", "min"), Column("lasts low", "min"), Column("lasts high", "min"),
            Column("lost", "share"),
        )  # fmt: skip
        return Table("Stops by cause", columns, tuple(rows))

    @property
    def changes(self) -> Table:
        """Every line that was changed or left out, with the reason."""
        rows = [(row["line"], row["step"], row["text"]) for row in self["changes"]]
        return Table(
            "Lines changed or left out", (Column("line"), Column("why"), Column("what")), tuple(rows)
        )

    @property
    def lines(self) -> str:
        """The lines for the cell file, with where each part goes."""
        return stop_lines.pasted(self)


def _bounds(estimate: dict[str, Any] | None, unit_s: float) -> tuple[Value, Value, Value]:
    """Mean and both ends of an estimate in units of so many seconds; Nones where there is none."""
    if estimate is None:
        return None, None, None
    bounds = estimate["bounds"]
    mean, low, high = (
        bounds[key] / unit_s
        if math.isfinite(bounds[key]) and (estimate["interval"] or key == "mean")
        else None
        for key in ("mean", "low", "high")
    )
    return mean, low, high


def timestudy(
    sheet: File,
    *,
    allowance: float | str = 0.0,
    by: str | Sequence[str] | None = None,
    leave_out: Sequence[int | str] = (),
) -> TimeStudyAnswer:
    """Study a stopwatch sheet (CSV) as `cellsim timestudy` does.

    `by` is who does these elements, or entries `NAME=POST` (a person, an element or a station of the sheet;
    `POST` nobody is a machine alone);
    `allowance` is added to times at normal pace, as a share (0.12 or `12 %`); lines `leave_out`, or single
    readings as `"2:5"` (line 2, cycle 5), are not used.

    Raises:
        UsageError, DescriptionError: the file cannot be used, with row and column, or the allowance.
    """
    try:
        share = parse_share(allowance) if isinstance(allowance, str) else allowance
    except UnitError as error:
        raise UsageError(f"allowance: {error}") from None
    posts = [by] if isinstance(by, str) else list(by or ())
    study = time_study(Path(sheet), allowance=share, leave_out=leave_out, by=posts)
    return TimeStudyAnswer(time_study_answer(study, share))


def stops(log: File, cell: Cell) -> StopsAnswer:
    """Study a stop log (CSV) of a cell as `cellsim stops` does, with its defaults.

    Raises:
        UsageError, DescriptionError: the file cannot be used, with row and column.
    """
    return StopsAnswer(stop_study_answer(stop_study(Path(log), cell), cell))
