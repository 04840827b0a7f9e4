"""The command line: each command parses, calls one function, prints and sets the exit code.

Exit codes: 0 done, 2 the description or the call is wrong (nothing was written), 3 the cell locks up,
70 a run broke one of its own laws (a fault of this program), 130 stopped by Ctrl-C.
"""

from __future__ import annotations

import os
import sys
import threading
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

import cellsim
from cellsim.errors import AuditFailure, CellsimError, DescriptionError, LockedCell, UsageError

if TYPE_CHECKING:
    from collections.abc import Callable

    from cellsim.describe.cell import Cell
    from cellsim.engine.record import Record
    from cellsim.published.suite import Check

LOCKED, AUDIT, INTERRUPTED = LockedCell.exit_code, AuditFailure.exit_code, 130

CELL = click.argument("cell", type=click.Path(path_type=Path))
SEED = click.option(
    "--seed",
    type=click.IntRange(0, 2**64 - 1),
    help="Number that fixes all random times.  [default: the file's, else 1]",
)


class Commands(click.Group):
    """A group whose commands end with the exit code of the error, and its text on stderr."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except DescriptionError as error:
            click.echo(error.report(), err=True)
            ctx.exit(error.exit_code)
        except CellsimError as error:
            click.echo(f"cellsim: {error}", err=True)
            ctx.exit(error.exit_code)


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(cellsim.__version__, prog_name="cellsim")
def main() -> None:
    """How many good units an hour an assembly cell makes, hour by hour, with a band, and what limits it.

    A cell is described in one YAML file: stations, the places between them, people, robots, shifts, stops.

    \b
    Example:
      cellsim run scenarios/tape_measure.yaml
    """


@main.command()
@CELL
def check(cell: Path) -> None:
    """Read a cell file and list its mistakes, or what was assumed where it says nothing.

    \b
    Example:
      cellsim check scenarios/bicycle_bell.yaml
    """
    from cellsim.describe.resolve import load
    from cellsim.show.checked import checked_text

    click.echo(checked_text(load(cell), str(cell)))


@main.command()
@CELL
def resolve(cell: Path) -> None:
    """Print the cell with every default spelled out; the output is itself a cell file.

    \b
    Example:
      cellsim resolve scenarios/spinning_top.yaml > spelled_out.yaml
    """
    from cellsim.describe.resolve import load, resolved_text

    click.echo(resolved_text(load(cell)), nl=False)


@main.command()
@click.option("--reference", is_flag=True, help="Print the reference of all keys as Markdown instead.")
def schema(reference: bool) -> None:
    """Print the JSON Schema of cell files, for editors that check while one writes.

    \b
    Example:
      cellsim schema > cell.schema.json
    """
    import json

    from cellsim.describe.reference import reference as reference_text
    from cellsim.describe.schema import cell_schema

    text = reference_text() if reference else json.dumps(cell_schema(), indent=1) + "\n"
    click.echo(text, nl=False)


def _study_of(cell: Cell, replications: int | None, seed: int | None) -> tuple[int, int]:
    from cellsim.study.runner import DEFAULT_REPLICATIONS

    count = replications or cell.study.replications or DEFAULT_REPLICATIONS
    return count, cell.study.seed if seed is None else seed


@main.command()
@CELL
@click.option(
    "--replications",
    "-n",
    type=click.IntRange(1),
    help="How many times the study is run.  [default: the file's, else 100]",
)
@SEED
@click.option(
    "--workers",
    "-w",
    type=click.IntRange(1),
    help="Processes that work at once.  [default: one per core, at most 4, where the work is worth it]",
)
@click.option(
    "--clock",
    type=click.Choice(["simpy", "compiled", "auto"]),
    default="auto",
    show_default=True,
    help="What advances time: readable Python, the same rules compiled, or whichever is done first.  "
    "The figures are the same.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="Result folder to make.  [default: CELL_result, with a number if that exists]",
)
@click.option(
    "--resume", type=click.Path(path_type=Path), help="Go on with the interrupted study in this folder."
)
@click.option(
    "--json",
    "json_file",
    type=click.Path(path_type=Path, allow_dash=True),
    help="Also write the figures to this file; - = standard output, and nothing else there.",
)
@click.option("--quiet", "-q", is_flag=True, help="Print no table and no progress.")
def run(
    cell: Path,
    replications: int | None,
    seed: int | None,
    workers: int | None,
    clock: str,
    out: Path | None,
    resume: Path | None,
    json_file: Path | None,
    quiet: bool,
) -> None:
    """Run a cell many times and say what it makes per hour, with a band, and what limits it.

    Writes a result folder: result.json (all figures), hourly.csv, cell.yaml (the description with every
    default spelled out) and two pictures.

    \b
    Example:
      cellsim run scenarios/tape_measure.yaml --replications 200
    """
    from cellsim.describe.resolve import load, resolved_sha256, resolved_text
    from cellsim.engine.clocks import AUTO, clock_named
    from cellsim.study.folder import ResultFolder, as_json, free_name, write_whole
    from cellsim.study.plan import make_plan
    from cellsim.study.runner import run_replications
    from cellsim.units import HOUR

    if out is not None and resume is not None:
        raise UsageError("--out makes a new folder and --resume goes on with an old one; give one of them")
    described = load(cell)
    if clock != AUTO:
        clock_named(clock)  # what is not there is told before anything is written
    plan = make_plan(described)
    count, number = _study_of(described, replications, seed)
    what = {"version": cellsim.__version__, "sha256": resolved_sha256(described), "seed": number}
    folder = ResultFolder(resume or out or free_name(cell.stem, Path.cwd()), what)
    done = folder.resume() if resume is not None else []
    if resume is None:
        folder.begin(resolved_text(described))
    finished = {record.replication for record in done}
    wanted = [k for k in range(count) if k not in finished]
    to_stdout = json_file is not None and str(json_file) == "-"
    counts = [sum(record.hourly) for record in done]
    ahead = threading.Thread(target=_import_what_follows)

    def keep(record: Record) -> None:
        folder.keep(record)
        counts.append(sum(record.hourly))
        if ahead.ident is None and not quiet:
            ahead.start()  # worker processes, if any, are at work by now, and this one waits for them

    def so_far() -> str:
        per_hour = sum(counts) / len(counts) / (plan.worked / HOUR) if counts and plan.worked else 0.0
        return f"so far about {per_hour:.0f} good units per hour"

    with _progress(len(wanted), quiet or to_stdout, so_far) as progress:
        study = run_replications(
            described,
            number,
            wanted,
            clock=clock,
            announce=None if quiet or to_stdout else _announce,
            workers=workers,
            progress=progress,
            keep=keep,
        )
    records = sorted(
        [*(r for r in done if r.replication < count), *study.records], key=lambda r: r.replication
    )
    if not records:
        click.echo(
            f"stopped before the first replication was finished; go on with --resume {folder.path}", err=True
        )
        sys.exit(INTERRUPTED)
    if ahead.ident is not None:
        ahead.join()
    from cellsim.study.study import figures_of

    result = figures_of(described, number, records, study.clock)
    if study.interrupted:
        result["interrupted"] = f"{len(records)} of {count} replications"
    folder.write_result(result, plan, records)
    if json_file is not None:
        text = as_json(result)
        if to_stdout:
            click.echo(text, nl=False)
        else:
            write_whole(json_file, text)
    if not quiet and not to_stdout:
        _show(result, folder.path)
    _finish(result, records, study.interrupted, count, folder.path)


def _import_what_follows() -> None:
    """Libraries that are needed once all runs are done, and take half a second to import."""
    import cellsim.show.plots
    import cellsim.study.study  # noqa: F401


def _announce(text: str) -> None:
    click.echo(text, err=True)


def _progress(total: int, silent: bool, so_far: Callable[[], str], what: str = "runs") -> Any:
    if silent:
        return nullcontext(None)
    from rich.console import Console

    from cellsim.show.screen import progress

    return progress(Console(stderr=True), total, so_far, what)


def _show(result: dict[str, Any], folder: Path) -> None:
    from rich.console import Console

    from cellsim.show.plots import save_pictures
    from cellsim.show.screen import print_result

    print_result(result, Console())
    pictures = save_pictures(result, folder)
    click.echo(f"Pictures: {', '.join(p.name for p in pictures)}")
    click.echo(f"Result folder: {folder}")


def _finish(result: dict[str, Any], records: Any, interrupted: bool, count: int, folder: Path) -> None:
    from cellsim.show import full_words

    broken = [r for r in records if r.violations]
    if broken:
        seed = result["provenance"]["seed"]
        click.echo(
            f"cellsim: this is a fault of the program, please report it: seed {seed}, replication "
            f"{broken[0].replication}: {broken[0].violations[0]}",
            err=True,
        )
        sys.exit(AUDIT)
    if interrupted:
        click.echo(
            f"Stopped.  {len(records)} of {count} replications are finished and kept; "
            f"go on with --resume {folder}",
            err=True,
        )
        sys.exit(INTERRUPTED)
    if result["locked"]:
        first = result["locked"][0]
        waits = "; ".join([*first["circle"], full_words(first) or "none of them can ever go on"])
        click.echo(
            f"cellsim: the cell locks up {first['at_s'] / 60:.1f} min after the start (replication "
            f"{first['replication']}): {waits}",
            err=True,
        )
        sys.exit(LOCKED)


@main.command()
@CELL
@SEED
@click.option(
    "--replication", type=click.IntRange(0), default=0, show_default=True, help="Which replication."
)
@click.option(
    "--for",
    "minutes",
    type=click.FloatRange(0, min_open=True),
    help="Minutes from the start of the run.  [default: one shift, or 8 h]",
)
def trace(cell: Path, seed: int | None, replication: int, minutes: float | None) -> None:
    """Print what happens in one replication: time of day, who, what; one shift from the start of the run.

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
    _, number = _study_of(described, None, seed)
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


@main.command()
@click.option(
    "--full", is_flag=True, help="Until every interval is within 0.3 %; minutes instead of seconds."
)
@click.option(
    "--only", multiple=True, metavar="TEXT", help="Entries whose id or topic contains this; repeat."
)
@click.option(
    "--workers",
    "-w",
    type=click.IntRange(1),
    help="Processes that work at once.  [default: one per core, at most 4]",
)
@click.option(
    "--json",
    "json_file",
    type=click.Path(path_type=Path, allow_dash=True),
    help="Also write the checks to this file; - = standard output, and nothing else there.",
)
def verify(full: bool, only: tuple[str, ...], workers: int | None, json_file: Path | None) -> None:
    """Compare the program with known results: statement, published value, ours with interval, source.

    Ends with code 70 where one differs.

    \b
    Example:
      cellsim verify --json checks.json
    """
    from rich.console import Console

    from cellsim.published.answer import answer
    from cellsim.published.suite import level_for, run_table
    from cellsim.published.table import TABLE, choose
    from cellsim.show.verified import print_answer
    from cellsim.study.folder import as_json, write_whole

    chosen = choose(TABLE, only, full)
    to_stdout = json_file is not None and str(json_file) == "-"
    if json_file is not None and not to_stdout and not json_file.absolute().parent.is_dir():
        raise UsageError(f"{json_file}: the folder {json_file.parent} does not exist")
    done: list[Check] = []
    with _progress(
        len(chosen), to_stdout, lambda: f"{sum(check.agrees for check in done)} agree", "checks"
    ) as progress:

        def show(check: Check) -> None:
            done.append(check)
            if progress is not None:
                progress(len(done), len(chosen))

        try:
            checks = run_table(
                TABLE,
                chosen,
                full=full,
                workers=workers or min(4, os.cpu_count() or 1),
                show=show,
                announce=None if to_stdout else _announce,
            )
        except KeyboardInterrupt:
            click.echo(f"Stopped after {len(done)} of {len(chosen)} checks; nothing was written.", err=True)
            sys.exit(INTERRUPTED)
    found = answer(checks, level_for(TABLE), full)
    if to_stdout:
        click.echo(as_json(found), nl=False)
    else:
        if json_file is not None:
            write_whole(json_file, as_json(found))
        print_answer(found, Console())
    if found["agree"] < found["of"]:
        sys.exit(AUDIT)
