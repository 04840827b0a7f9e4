"""What a sheet of a workbook is made of: columns with units in their heads, and rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from cellsim.show import Result

Value = str | float | int | None
TEXT, COUNT, NUMBER, SHARE = "text", "count", "number", "share"

SHARE_UNITS = (
    "rejects per test",
    "good at the first test per unit that came to it",
    "good units per unit that left",
)
LABELS = {
    "mean": "inside, mean",
    "stay_s": "stay",
    "repair_min": "in repair",
    "waiting_min": "waiting for repair",
    "late_share": "taken too late",
    "short_share": "short",
    "kwh": "energy",
}
UNITS = {
    "share of the counted time": "share of time",
    "good at the first test per unit that came to it": "good at the first test per unit",
}


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its head with the unit, and how its values are shown."""

    head: str
    kind: str = NUMBER


@dataclass(slots=True)
class Sheet:
    """A table with a name; `heading` stands above the table, where there is one.

    In a sheet of one figure a row (`by_row`) the last text of a row says the unit, by which the row is shown.
    """

    name: str
    columns: list[Column]
    rows: list[list[Value]]
    heading: list[str] = field(default_factory=list)
    by_row: bool = False


def is_share(unit: str) -> bool:
    """Whether a figure of this unit is a share, which is shown in per cent."""
    return unit.startswith("share") or unit in SHARE_UNITS


def with_unit(label: str, unit: str) -> str:
    """A head such as `stay, seconds`; a unit that says it all stands alone, as `cycles`."""
    return unit if unit.startswith(label) else f"{label}, {UNITS.get(unit, unit)}"


def ends_of(result: Result) -> tuple[str, str]:
    """The heads of the two ends of an interval, `95 % low` and `95 % high`."""
    level = f"{100 * result['output_per_hour']['level']:g} %"
    return f"{level} low", f"{level} high"


def is_entry(value: object) -> bool:
    """Whether this is a mean with its interval and unit."""
    return isinstance(value, Mapping) and "mean" in value and "interval" in value


class Table:
    """Rows gathered name by name, whose columns come as they are met, in groups that stay together."""

    def __init__(self, result: Result, first: Sequence[Column]) -> None:
        self.first = list(first)
        self.ends = ends_of(result)
        self.heads: dict[str, Column] = {}
        self.rows: list[tuple[list[Value], dict[str, Value]]] = []

    def row(self, *values: Value) -> None:
        """Begin a row with the values of the first columns."""
        self.rows.append((list(values), {}))

    def put(self, head: str, value: Value, kind: str = NUMBER) -> None:
        """A value of the row that was begun last."""
        self.heads.setdefault(head, Column(head, kind))
        self.rows[-1][1][head] = value

    def entry(self, label: str, entry: Mapping[str, Any], unit: str | None = None) -> None:
        """A mean and the two ends of its interval."""
        unit = entry["unit"] if unit is None else unit
        kind = SHARE if is_share(unit) else NUMBER
        self.put(head := with_unit(label, unit), entry["mean"], kind)
        self.ends_of(head, entry["interval"], kind)

    def ends_of(self, head: str, interval: Sequence[Value], kind: str = NUMBER) -> None:
        """The two ends of an interval, in columns of their own."""
        for end, value in zip(self.ends, interval, strict=True):
            self.put(f"{head}, {end}", value, kind)

    def entries(self, row: Mapping[str, Any], unit: str | None = None) -> None:
        """All figures of a row of the result that have an interval, each under the name of its key."""
        if is_entry(row):
            self.entry(LABELS["mean"], row, unit)
        for key, value in row.items():
            if is_entry(value):
                self.entry(LABELS.get(key, key.replace("_", " ")), value)

    def sheet(self, name: str) -> Sheet:
        """The table with all its columns; what a row does not have is empty."""
        columns = list(self.heads.values())
        rows = [values + [more.get(column.head) for column in columns] for values, more in self.rows]
        return Sheet(name, self.first + columns, rows)
