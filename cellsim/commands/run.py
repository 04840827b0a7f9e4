"""The commands run and trace."""

from __future__ import annotations

import sys
import threading
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

import cellsim
from cellsim.commands.common import (
    CELL,
    FORMAT,
    INTERRUPTED,
    JSON,
    LOCKED,
    PICTURES,
    PRECISION,
    QUIET,
    REPLICATIONS,
    SEED,
    Means,
    Whole,
    all_different,
    new_files,
    next_step,
    precision_of,
    progress_bar,
    save_workbook,
    study_of,
    with_means,
    write_answer,
)
from cellsim.commands.report import write_report
from cellsim.errors import UsageError, WorkersLost

if TYPE_CHECKING:
    from cellsim.engine.record import Record


@click.command(short_help="output per hour with a band, and what limits it")
@CELL
@REPLICATIONS
@PRECISION
@SEED
@with_means
@click.option(
    "--out",
    metavar="FOLDER",
    type=click.Path(path_type=Path),
    help="Result folder to make.  [default: CELL_result, with a number if that exists]",
)
@click.option(
    "--resume",
    metavar="FOLDER",
    type=click.Path(path_type=Path),
    help="Go on with the interrupted study in this folder.",
)
@click.option(
    "--report",
    "report_file",
    type=click.Path(path_type=Path),
    help="Also write the report page, one HTML file that needs nothing else.",
)
@click.option(
    "--workbook",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Also write the figures as tables for a spreadsheet, FILE.xlsx.",
)
@FORMAT
@JSON
@QUIET
def run(
    cell: Path,
    replications: int | None,
    precision: str | None,
    seed: int | None,
    means: Means,
    out: Path | None,
    resume: Path | None,
    report_file: Path | None,
    workbook: Path | None,
    picture_format: str | None,
    json_file: Path | None,
    quiet: bool,
) -> None:
    """Run a cell many times and say what it makes per hour, with a band, and what limits it.

    Writes a result folder: result.json (all figures), hourly.csv (good units of each hour of each run),
    cell.yaml (the description with every default spelled out) and two pictures.

    \b
    Example:
      cellsim run scenarios/tape_measure.yaml --replications 200
    """
    from cellsim.describe.resolve import load, resolved_sha256, resolved_text
    from cellsim.engine.clocks import AUTO, clock_named
    from cellsim.study.folder import ResultFolder, free_name
    from cellsim.study.plan import make_plan
    from cellsim.study.replicate import replicate
    from cellsim.units import HOUR

    if out is not None and resume is not None:
        raise UsageError("--out makes a new folder and --resume goes on with an old one; give one of them")
    files = {"--report": report_file, "--workbook": workbook}
    new_files(files)
    if str(json_file) != "-":  # it may lie in the result folder, which is not there yet
        all_different({**files, "--out": out, "--json": json_file})
    described = load(cell)
    if means.clock != AUTO:
        clock_named(means.clock)  # what is not there is told before anything is written
    plan = make_plan(described)
    count, number = study_of(described, replications, seed)
    wanted = precision_of(precision, replications) or range(count)
    what = {"version": cellsim.__version__, "sha256": resolved_sha256(described), "seed": number}
    folder = ResultFolder(resume or out or free_name(Path.cwd(), f"{cell.stem}_result"), what)
    silent = quiet or str(json_file) == "-"
    counts: list[int] = []
    ahead = threading.Thread(target=_import_what_follows)

    def keep(record: Record) -> None:
        folder.keep(record)
        counts.append(sum(record.hourly))
        if ahead.ident is None and not quiet:
            ahead.start()  # worker processes, if any, are at work by now, and this one waits for them

    def so_far() -> str:
        if not counts or not plan.worked:
            return ""
        per_hour = sum(counts) / len(counts) / (plan.worked / HOUR)
        return f"so far about {per_hour:.0f} good units per hour"

    first = len(wanted) if isinstance(wanted, range) else wanted.least
    with means.open(silent) as runner:
        done = folder.resume() if resume is not None else []
        if resume is None:
            folder.begin(resolved_text(described))
        if isinstance(wanted, range):
            done = [record for record in done if record.replication < count]
        counts += [sum(record.hourly) for record in done]
        try:
            with progress_bar(first, silent, so_far) as progress:
                study = replicate(runner, described, number, wanted, done=done, keep=keep, progress=progress)
        except WorkersLost as error:
            raise WorkersLost(f"{error}; go on with --resume {folder.path}") from error
    records = study.records
    if not records:
        click.echo(
            f"stopped before the first replication was finished; go on with --resume {folder.path}", err=True
        )
        sys.exit(INTERRUPTED)
    if ahead.ident is not None:
        ahead.join()
    from cellsim.study.result import result_of

    result = result_of(described, number, study, count, precision)
    folder.write_result(result, plan, records)
    write_answer(result, json_file)
    if workbook is not None:
        save_workbook(result, workbook)
    if report_file is not None:
        write_report([folder.path], report_file)
    if not silent:
        _show(result)
    if not silent or picture_format is not None:
        pictures = _draw(result, folder.path, picture_format or PICTURES[0])
        if not silent:
            click.echo(f"Pictures: {', '.join(p.name for p in pictures)}")
            for noun, file in (("Workbook", workbook), ("Report", report_file)):
                if file is not None:
                    click.echo(f"{noun}: {file}")
            click.echo(f"Result folder: {folder.path}")
            if not study.interrupted and not result["locked"]:
                next_step("limits", cell)
    _finish(result, records, study.interrupted, folder.path)


def _import_what_follows() -> None:
    """Libraries that are needed once all runs are done, and take half a second to import."""
    import cellsim.show.plots
    import cellsim.study.result  # noqa: F401


def _show(result: dict[str, Any]) -> None:
    from rich.console import Console

    from cellsim.show.screen import print_result

    print_result(result, Console())


def _draw(result: dict[str, Any], folder: Path, kind: str) -> list[Path]:
    from cellsim.show.plots import save_pictures

    return save_pictures(result, folder, kind)


def _finish(result: dict[str, Any], records: Any, interrupted: bool, folder: Path) -> None:
    from cellsim.show import full_words
    from cellsim.study.broken import stop_if_broken

    stop_if_broken(records, result["provenance"]["seed"])
    if interrupted:
        click.echo(
            f"Stopped.  {result['interrupted']} are finished and kept; go on with --resume {folder}",
            err=True,
        )
        sys.exit(INTERRUPTED)
    if result["locked"]:
        first = result["locked"][0]
        waits = "; ".join([*first["circle"], full_words(first) or "none of them can ever go on"])
        click.echo(
            f"cellsim: the cell locks up {first['at_s'] / 60:.1f} min after the start (replication "
            f"{first['replication']}): {waits}" + (f". {first['remedy']}" if first["remedy"] else ""),
            err=True,
        )
        sys.exit(LOCKED)


@click.command(short_help="one run line by line: time of day, who, what")
@CELL
@SEED
@click.option("--replication", type=Whole(0), default=0, show_default=True, help="Which run, counted from 0.")
@click.option(
    "--for",
    "minutes",
    type=click.FloatRange(0, min_open=True),
    help="Minutes from the start of the run.  [default: one shift, or 8 h]",
)
def trace(cell: Path, seed: int | None, replication: int, minutes: float | None) -> None:
    """Print what happens in one run, line by line: time of day, who, what; one shift from its start.

    \b
    Example:
      cellsim trace scenarios/spinning_top.yaml --for 10
    """
    from cellsim.describe.resolve import load
    from cellsim.engine.clock_simpy import SimpyRun
    from cellsim.engine.model import compile_cell
    from cellsim.show.trace import lines
    from cellsim.study.plan import shift_spans
    from cellsim.units import HOUR

    described = load(cell)
    _, number = study_of(described, None, seed)
    end = shift_spans(described, 1)[0][1] if described.shifts else 8 * HOUR
    until = round(minutes * 60_000_000) if minutes is not None else end
    traced = SimpyRun(compile_cell(described), number, replication, trace=True)
    at = 0
    while at < until:
        at = min(until, at + HOUR // 4)
        traced.advance(at)
        for time, who, what in lines(traced):
            click.echo(f"{time}  {who:<20} {what}")
        traced.notes.clear()
