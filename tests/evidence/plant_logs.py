"""A small cell and stop logs as plants write them, for tests."""

from __future__ import annotations

from pathlib import Path

from click.testing import CliRunner

from cellsim import cli
from cellsim.describe.resolve import load_text
from cellsim.evidence.stop_inputs import StopStudy, stop_study

TEXT = """cell: Stapler
shifts: {day: {from: 06:00, to: 14:00, breaks: [{at: 09:00, for: 15 min}]}}
crew:
  A: [press, rivet]
  mechanic: {}
route: [press, box, rivet]
stations:
  press:
    cycle: 20 s
  rivet:
    cycle: 20 s
    stops:
      rivet jam: {every: 5 h of on time, lasts: 9 min}
      old: {every: 50 h of on time, lasts: 9 min}
stores: {box: 4}
"""
CELL = load_text(TEXT)
HEAD = "Machine;Start date;Start time;End date;End time;Reason;Planned?;Remarks;Sign;Order\n"
PLANT = HEAD + (  # 2 November 2026 is a Monday
    "rivet;02.11.2026;06:40;02.11.2026;06:52;rivet jam;;;A;1\n"
    "rivet;03.11.2026;10:15;03.11.2026;10:31;Rivet jam;;;A;1\n"
    "press;03.11.2026;06:00;03.11.2026;06:20;maintenance;yes;;M;1\n"
    "rivet;04.11.2026;06:00;04.11.2026;06:30;maintenance;yes;weekly;M;1\n"
    "rivet;09.11.2026;08:50;09.11.2026;09:10;rivet jam;;;A;1\n"
    "rivet;11.11.2026;06:00;11.11.2026;06:30;maintenance;x;;M;1\n"
    "press;12.11.2026;07:30;12.11.2026;07:41;ram sticks;;;A;1\n"
    "rivet;13.11.2026;07:30;;;rivet jam;;;A;1\n"
    "rivet;13.11.2026;07:55;13.11.2026;08:04;rivet jam;;;A;1\n"
)
SHORT = "start,end,station,cause\n"


def study(tmp_path: Path, text: str, cell=CELL, **how) -> StopStudy:
    """The study of a log with this text."""
    path = tmp_path / "log.csv"
    path.write_text(text)
    return stop_study(path, cell, **how)


def printed(tmp_path: Path, text: str, *options: str, cell: str = TEXT) -> str:
    """What the command prints of a log, or its mistakes, on one line where it wraps."""
    log, file = tmp_path / "log.csv", tmp_path / "cell.yaml"
    log.write_text(text)
    file.write_text(cell)
    done = CliRunner().invoke(cli.main, ["stops", str(log), "--cell", str(file), *options])
    assert max(map(len, done.output.split("For the cell file")[0].splitlines())) <= 80 or done.exit_code
    return " ".join(done.output.split())


def changes(found: StopStudy, step: str) -> list[tuple[int, str]]:
    """The changes of one kind."""
    return [(change.line, change.text) for change in found.changes if change.step == step]


def rows_at(starts: list[str], minutes: int = 10, cause: str = "belt", station: str = "press") -> str:
    """A log with a stop of so many minutes at each moment."""
    return SHORT + "".join(f"{at},{at[:-2]}{int(at[-2:]) + minutes:02d},{station},{cause}\n" for at in starts)
