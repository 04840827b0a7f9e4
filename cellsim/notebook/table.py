"""A table with units: shows itself in a notebook and on a terminal, and becomes a pandas DataFrame."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from cellsim.errors import UsageError
from cellsim.show import plain

Value = str | int | float | bool | None


@dataclass(frozen=True, slots=True)
class Column:
    """The name of a column and the unit of its values; empty for names, counts and words."""

    name: str
    unit: str = ""

    @property
    def label(self) -> str:
        """`takt [s]`, or the name alone."""
        return f"{self.name} [{self.unit}]" if self.unit else self.name


@dataclass(frozen=True, slots=True, repr=False)
class Table:
    """Rows of values under columns with units; None where there is no value.

    `rows` has the shape (rows, columns).

    Raises:
        ValueError: a row has more or fewer values than there are columns, or two columns have one label.
    """

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Value, ...], ...]

    def __post_init__(self) -> None:
        labels = [column.label for column in self.columns]
        if len(set(labels)) < len(labels):
            raise ValueError(f"{self.title}: two columns have the same label: {', '.join(labels)}")
        for row in self.rows:
            if len(row) != len(labels):
                raise ValueError(f"{self.title}: a row of {len(row)} values under {len(labels)} columns")

    def __len__(self) -> int:
        return len(self.rows)

    def __iter__(self) -> Iterator[tuple[Value, ...]]:
        return iter(self.rows)

    def __getitem__(self, name: str) -> list[Value]:
        """The values of a column by its name, or by its label where names repeat.

        Raises:
            KeyError: there is no such column, or the name stands for several.
        """
        found = [k for k, column in enumerate(self.columns) if column.label == name] or [
            k for k, column in enumerate(self.columns) if column.name == name
        ]
        if len(found) != 1:
            raise KeyError(f"{name!r}: there is {', '.join(column.label for column in self.columns)}")
        return [row[found[0]] for row in self.rows]

    def to_frame(self) -> Any:
        """The table as a pandas DataFrame of shape (rows, columns), units in the column labels.

        `attrs` holds `title` and `units` (by label).  Columns of numbers are numeric, NaN where there is no
        value.

        Raises:
            UsageError: pandas is not installed.
        """
        try:
            import pandas
        except ImportError:
            raise UsageError("a DataFrame needs pandas, which is not installed: pip install pandas") from None
        data = {column.label: _numeric(self[column.label]) for column in self.columns}
        frame = pandas.DataFrame(data, columns=list(data))
        frame.attrs = {"title": self.title, "units": {column.label: column.unit for column in self.columns}}
        return frame

    def __repr__(self) -> str:
        return "\n".join([plain(self.title), *self._lines()])

    def _lines(self) -> Iterator[str]:
        head = [[plain(c.name) for c in self.columns], [plain(c.unit) for c in self.columns]]
        lines = [*head, *([shown(value) for value in row] for row in self.rows)]
        widths = [max(map(len, column)) for column in zip(*lines, strict=True)]
        right = [_is_number(self[column.label]) for column in self.columns]
        for row in lines:
            fields = [
                text.rjust(width) if number else text.ljust(width)
                for text, width, number in zip(row, widths, right, strict=True)
            ]
            yield "  ".join(fields).rstrip()

    def _repr_html_(self) -> str:
        """The table for a notebook; names that hold markup are shown as they are written."""
        right = [_is_number(self[column.label]) for column in self.columns]
        head = "".join(
            _cell(
                "th", f"{escape(plain(c.name))}<br><small>{escape(plain(c.unit)) or '&nbsp;'}</small>", number
            )
            for c, number in zip(self.columns, right, strict=True)
        )
        body = "".join(
            "<tr>"
            + "".join(_cell("td", escape(shown(v)), number) for v, number in zip(row, right, strict=True))
            + "</tr>"
            for row in self.rows
        )
        title = f"<caption>{escape(plain(self.title))}</caption>"
        return f"<table>{title}<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def shown(value: Value) -> str:
    """A value as people read it: four digits, whole from 1000 on, empty where there is none."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.0f}" if abs(value) >= 1000 else f"{value:.4g}"
    return plain(value)


def _cell(tag: str, inside: str, number: bool) -> str:
    return f'<{tag} style="text-align: {"right" if number else "left"}">{inside}</{tag}>'


def _is_number(values: Sequence[Value]) -> bool:
    """Whether a column holds numbers and nothing else, and at least one."""
    there = [value for value in values if value is not None]
    return bool(there) and all(isinstance(v, (int, float)) and not isinstance(v, bool) for v in there)


def _numeric(values: list[Value]) -> list[Any]:
    """Values for a data frame: NaN instead of None in a column of numbers, or of nothing."""
    if _is_number(values) or all(value is None for value in values):
        return [float("nan") if value is None else value for value in values]
    return list(values)
