"""The page of all figures, made from their table."""

from __future__ import annotations

from cellsim.guide.figure_table import FIGURES, ISO, MEMORY, PARTS, Figure
from cellsim.show.palette import CREW_STATES, STATION_STATES, State

ABOUT = f"""\
Every figure that a study reports, by its place in `result.json`, which `cellsim run` writes into the result
folder. NAME stands for the name of a station, a store, a person and so on; `[]` for each row of a list. The
counted time is the time of a run that counts: one shift where the file says `shifts: 1`.

> Names of standards stand here so that you can talk to others about the same thing, not as a claim to follow
> them. Formulas of {ISO} were seen only as OPC 40501, OPC 40001-1 and secondary pages quote them;
> "{MEMORY}" was not even seen there. Look into the standard before you quote it: there seems to be
> an edition of 2022.

The tool prints no OEE: availability x effectiveness x quality of {ISO} is made for one machine and one
planned time per item; for a cell with waiting and buffers it hides more than it says. Who needs it has its
parts: time down and in repair, cycles, and good units."""


def figures_text() -> str:
    """The page of all figures, in the Markdown of the guide."""
    parts = ["# The figures and what they mean", ABOUT, "## What an entry holds"]
    parts.append(_rows(("key", "says"), [(f"`{key}`", says) for key, says in PARTS.items()]))
    for topic, rows in FIGURES.items():
        parts += [
            f"## {topic}",
            _rows(("key", "figure", "formula", "unit", "standard"), [_row(f) for f in rows]),
        ]
    for title, states in (("States of a station", STATION_STATES), ("States of people", CREW_STATES)):
        parts += [
            f"## {title}",
            _rows(("state", "says"), [_state(name, row) for name, row in states.items()]),
        ]
    return "\n\n".join(parts) + "\n"


def _row(figure: Figure) -> tuple[str, ...]:
    says = f"{figure.name}. {figure.says}".strip()
    return f"`{figure.key}`", says, figure.formula, figure.unit, figure.standard


def _state(name: str, state: State) -> tuple[str, str]:
    return f"`{name}`", f"{state.label}: {state.help}" if state.label != name else state.help


def _rows(heads: tuple[str, ...], rows: list[tuple[str, ...]]) -> str:
    lines = [heads, tuple("---" for _ in heads), *rows]
    return "\n".join("| " + " | ".join(cell.replace("|", "\\|") for cell in line) + " |" for line in lines)
