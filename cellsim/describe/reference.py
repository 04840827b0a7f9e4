"""The reference page of all keys, made from the tables that validate."""

from __future__ import annotations

from cellsim import units
from cellsim.describe.behaviours import behaviours
from cellsim.describe.fields import Key, Table
from cellsim.describe.laws import LAWS
from cellsim.describe.spec import TABLES
from cellsim.describe.spec_investment import CASE, ITEM
from cellsim.describe.spec_people import BREAK, SHIFT
from cellsim.describe.spec_plan import PLAN_TABLES

_VALUES = (
    ("time", "`24 s`, `1.5 min`, `1 h 30 min`, `450 ms`; TMU is 0.036 s, cmin is 0.6 s"),
    ("time of day", "`06:00`, `22:30:15`"),
    ("rate", "`120 per h`, `900 per shift`"),
    ("share, spread", "`3 %`, `3 per 1000`, `0.03`; a spread is the standard deviation divided by the mean"),
    ("count", "`8`, `1 000`, `1e3`; never with a comma"),
    ("length, speed", "`3.5 m`, `800 mm`; `1 m/s`, `250 mm/s`"),
    ("how often", "`20 min of running`, `14 h of on time`, `900 cycles`"),
    ("name", "letters, digits, blanks and `_ - . ' / + & # ( )`"),
)


def reference() -> str:
    """The reference page in Markdown."""
    parts = [
        "# Keys of a cell file",
        "This page is made from the tables that check a file. Every mapping may also carry `origin`, a text"
        " that says where its values come from; the report lists it.",
        "## Values",
        _rows(("kind", "forms"), _VALUES),
        "Units: " + "; ".join(f"{name}: {', '.join(table)}" for name, table in units.UNITS.items()) + ".",
        "## Laws",
        _rows(("law", "parameters", "meaning", "formula from"), _laws()),
    ]
    parts += ["## Behaviours", "Each example is a whole cell file that runs."]
    for behaviour in behaviours():
        heading = f"### {behaviour.topic.capitalize()}: {behaviour.title[0].lower()}{behaviour.title[1:]}"
        parts += [heading, behaviour.text, f"```yaml\n{behaviour.example}```"]
    for table in TABLES.values():
        parts += [f"## {_title(table)}", table.help, _table(table)]
    return "\n\n".join(parts) + "\n"


def plan_reference() -> str:
    """The keys of a work plan in Markdown."""
    parts = ["# Keys of a work plan", "This page is made from the tables that check a plan.", "## Values"]
    parts.append(_rows(("kind", "forms"), _VALUES))
    for table in (*PLAN_TABLES, SHIFT, BREAK):
        parts += [f"## {_title(table)}", table.help, _table(table)]
    return "\n\n".join(parts) + "\n"


def case_reference() -> str:
    """The keys of a file of an investment, in Markdown."""
    parts = [
        "# Keys of a file of an investment",
        "Any number may be a range, `LOW to HIGH`, in which every value is alike likely. One file has one"
        " currency. Every mapping may also carry `origin`, a text that says where its values come from.",
    ]
    for table in (CASE, ITEM):
        parts += [f"## {_title(table)}", table.help, _table(table)]
    return "\n\n".join(parts) + "\n"


def _title(table: Table) -> str:
    words = table.slug.replace("_", " ")
    return words[0].upper() + words[1:]


def _laws() -> list[tuple[str, ...]]:
    return [
        (
            f"`{row.name}`",
            ", ".join(p.name if p.default is None else f"{p.name} (optional)" for p in row.parameters),
            row.help,
            row.source,
        )
        for row in LAWS.values()
    ]


def _table(table: Table) -> str:
    header = ("key", "value", "without it", "says", "example")
    return _rows(
        header,
        [(f"`{row.name}`", row.kind.said, _default(row), row.help, f"`{row.example}`") for row in table.keys],
    )


def _default(row: Key) -> str:
    if row.required:
        return "an error"
    if not row.default:
        return ""
    return f"`{row.default}`, listed as assumed" if row.why else f"`{row.default}`"


def _rows(header: tuple[str, ...], rows: list[tuple[str, ...]] | tuple[tuple[str, ...], ...]) -> str:
    lines = [header, tuple("---" for _ in header), *rows]
    return "\n".join("| " + " | ".join(cell.replace("|", "\\|") for cell in line) + " |" for line in lines)
