"""The command stops."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from cellsim.commands.common import JSON, QUIET, Whole, new_files, write_answer, write_new
from cellsim.errors import UsageError

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

DECIMALS = {"comma": ",", "point": "."}
ORDERS = {"day-first": "day first", "month-first": "month first"}
FILE = click.Path(path_type=Path)


@click.command(short_help="stop logs become stops for a cell file")
@click.argument("log", type=FILE)
@click.option("--cell", required=True, type=FILE, help="The cell file: its stations, posts and shifts.")
@click.option("--from", "begin", default="", metavar="DATE", help="Since when the log is complete.")
@click.option("--to", "end", default="", metavar="DATE", help="Up to when, this day included.")
@click.option(
    "--closed",
    multiple=True,
    metavar="DATE",
    help="A holiday, or DATE to DATE, when nobody worked; repeat.",
)
@click.option(
    "--between",
    "clock",
    type=click.Choice(["on-time", "running"]),
    default="on-time",
    show_default=True,
    help="What time between stops is counted.",
)
@click.option(
    "--running", multiple=True, metavar="'STATION: SHARE'", help="Share of its on time that it works; repeat."
)
@click.option("--result", type=FILE, help="A result.json of this cell that says these shares.")
@click.option("--merge", default="30 s", show_default=True, help="Repeats of a cause so soon are one stop.")
@click.option("--unseen-below", default="", metavar="TIME", help="Stops shorter than this are never logged.")
@click.option("--split", default="", metavar="TIME", help="Parts minor stops from breakdowns.")
@click.option("--exclude", multiple=True, metavar="CAUSE", help="A cause to leave out; repeat.")
@click.option(
    "--keep",
    multiple=True,
    metavar="CAUSE",
    help="A cause to keep though it looks like a wait or planned work.",
)
@click.option("--planned", multiple=True, metavar="CAUSE", help="A cause that is planned work; repeat.")
@click.option(
    "--station", multiple=True, metavar="OLD=NEW", help="A name of the log and that of the cell, or none."
)
@click.option("--cause", multiple=True, metavar="OLD=NEW", help="A cause to rename, or to join to another.")
@click.option("--leave-out", multiple=True, metavar="LINE", type=Whole(1), help="A line not to read; repeat.")
@click.option(
    "--person", multiple=True, metavar="NAME=POST", help="Who in the log is which post of the cell; repeat."
)
@click.option("--unit", default="", help="Unit of durations where the heading says none: s, min or h.")
@click.option("--decimal", type=click.Choice(list(DECIMALS)), help="Mark of decimals where it is open.")
@click.option("--dates", type=click.Choice(list(ORDERS)), help="Order of dates such as 3/4/2026.")
@click.option("--zone", default="", metavar="ZONE", help="Where moments are written with a zone: that here.")
@click.option("--out", type=FILE, help="Also write the lines for the cell file here.")
@click.option("--ranges", type=FILE, help="Write 95 % bounds here, as ranges for sensitivity.")
@click.option("--picture", metavar="FILE", type=FILE, help="Draw lengths and times between against laws.")
@JSON
@QUIET
def stops(
    log: Path,
    cell: Path,
    begin: str,
    end: str,
    closed: tuple[str, ...],
    clock: str,
    running: tuple[str, ...],
    result: Path | None,
    merge: str,
    unseen_below: str,
    split: str,
    exclude: tuple[str, ...],
    keep: tuple[str, ...],
    planned: tuple[str, ...],
    station: tuple[str, ...],
    cause: tuple[str, ...],
    leave_out: tuple[int, ...],
    person: tuple[str, ...],
    unit: str,
    decimal: str | None,
    dates: str | None,
    zone: str,
    out: Path | None,
    ranges: Path | None,
    picture: Path | None,
    json_file: Path | None,
    quiet: bool,
) -> None:
    """Turn a stop log (CSV) into stops for a cell file, with how sure they are.

    A row for each stop.  Whatever is changed is listed with its line.  Headings that are understood:

    \b
      start       start, begin, from, stopped; or Start date, Start time
      end         end, finish, to, running again; or End date, End time
      duration    duration, downtime, length: in place of the end
      date        date, day: where start and end are times of day
      station     station, machine, equipment, place; all = every one
      cause       cause, reason, fault, code, what, problem
      planned     planned, scheduled: yes or no; or these words in remarks
      cleared by  cleared by, who, by, sign, initials, technician
      requested   requested, called; arrived: arrived, on site

    \b
    Example:
      cellsim stops scenarios/records/bell_stops.csv \\
        --cell scenarios/bicycle_bell.yaml
    """
    from cellsim.describe.resolve import load
    from cellsim.evidence.answers import stop_study_answer
    from cellsim.evidence.stop_inputs import stop_study
    from cellsim.show.stop_lines import ranges_text, snippet
    from cellsim.show.stopped import print_stop_study
    from cellsim.study.provenance import versions

    new_files({"--out": out, "--ranges": ranges, "--picture": picture}, json_file)
    described = load(cell)
    counted: Literal["on time", "running"] = "running" if clock == "running" else "on time"
    study = stop_study(
        log,
        described,
        begin=_iso(begin, dates),
        end=_iso(end, dates),
        closed=[_iso(text, dates) for text in closed],
        running=_shares(running, result, [one.name for one in described.stations]),
        clock=counted,
        merge=_time("--merge", merge),
        unseen_below=_time("--unseen-below", unseen_below),
        split=_time("--split", split),
        exclude=exclude,
        keep=keep,
        planned=planned,
        renamed=_renamed("--station", station, "PRESS 1=press"),
        causes=_renamed("--cause", cause, "jamm=jam"),
        leave_out=leave_out,
        people=_renamed("--person", person, "Smith=technician"),
        unit=unit.casefold(),
        decimal=DECIMALS.get(decimal or "", ""),
        order=ORDERS.get(dates or "", ""),
        zone=_zone(zone),
    )
    answer = stop_study_answer(study, described) | {"provenance": versions()}
    if picture is not None and not any(
        (row[key] or {}).get("quantiles") for row in answer["causes"] for key in ("every", "lasts")
    ):
        raise UsageError("--picture: too few stops of each cause for a law; there is nothing to draw")
    if out is not None:
        write_new(out, snippet(answer))
    if ranges is not None:
        write_new(ranges, ranges_text(answer))
    write_answer(answer, json_file)
    if picture is not None:
        from cellsim.show.plots_quantiles import save_quantiles

        save_quantiles(answer, picture)
    if not quiet and str(json_file) != "-":
        from rich.console import Console

        print_stop_study(answer, Console())


def _time(option: str, text: str) -> int:
    """A time in microseconds, 0 where none is given."""
    from cellsim.units import UnitError, parse_time

    if not text:
        return 0
    try:
        return parse_time(text)
    except UnitError as error:
        raise UsageError(f"{option}: {error}") from None


def _shares(running: tuple[str, ...], result: Path | None, stations: list[str]) -> dict[str, float]:
    """Shares of on time that stations work: those of a result, then those given by hand."""
    import json

    from cellsim.evidence.worktime import running_share
    from cellsim.units import UnitError, parse_share

    shares: dict[str, float] = {}
    if result is not None:
        try:
            figures = json.loads(result.read_text(encoding="utf-8"))
            shares = {name: running_share(figures, name) for name in stations}
        except (OSError, ValueError, KeyError, TypeError, AttributeError):
            raise UsageError(f"--result: {result} is no result.json of a run") from None
    for text in running:
        name, mark, share = text.rpartition(":")
        if not mark:
            raise UsageError(f"--running: \"{text}\" does not look like 'press: 80 %'")
        try:
            shares[name.strip()] = parse_share(share)
        except UnitError as error:
            raise UsageError(f"--running: {error}") from None
        if shares[name.strip()] == 0:
            raise UsageError(f"--running: {name.strip()} never works; its stops cannot be counted so")
    return shares


def _iso(text: str, dates: str | None) -> str:
    """The text with dates such as 21.9.2026 (day first) or 9/21/2026 in ISO form; others stay as they are."""

    def written(found: re.Match[str]) -> str:
        first, mark, second, year = int(found[1]), found[2], int(found[3]), found[4]
        if mark == "/" and not dates and first <= 12 and second <= 12:
            return found[0]
        month_first = mark == "/" and (dates == "month-first" or (not dates and second > 12))
        month, day = (first, second) if month_first else (second, first)
        return f"{year}-{month:02d}-{day:02d}"

    return re.sub(r"\b(\d{1,2})([./])(\d{1,2})\2(\d{4})\b", written, text)


def _renamed(option: str, given: tuple[str, ...], example: str) -> dict[str, str]:
    """Names of the log and those of the cell."""
    found = {}
    for text in given:
        old, mark, new = text.partition("=")
        if not mark or not old.strip():
            raise UsageError(f'{option}: "{text}" does not look like "{example}"')
        found[old.strip()] = new.strip()
    return found


def _zone(name: str) -> ZoneInfo | None:
    """A zone of the shop floor by its name."""
    from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

    if not name:
        return None
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise UsageError(f'--zone: "{name}" is no zone such as Europe/Berlin') from None
