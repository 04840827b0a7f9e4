"""The command timestudy."""

from __future__ import annotations

from pathlib import Path

import click

from cellsim.commands.common import JSON, QUIET, new_files, write_answer, write_new

DECIMALS = {"comma": ",", "point": "."}


@click.command(short_help="stopwatch sheets become element times for a cell file")
@click.argument("sheet", type=click.Path(path_type=Path))
@click.option("--unit", default="", help="Unit of the times, over that of the headings: s, min, cmin or h.")
@click.option(
    "--decimal", type=click.Choice(list(DECIMALS)), help="Mark of decimals, where the file leaves it open."
)
@click.option("--allowance", default="0 %", show_default=True, help="Allowance for rest and delays.")
@click.option(
    "--of-shift", is_flag=True, help="The allowance is a share of the shift, not added to the time."
)
@click.option(
    "--leave-out",
    multiple=True,
    metavar="LINE",
    help="A line not to use, or one reading: 2:5 is line 2, cycle 5; repeat.",
)
@click.option(
    "--by",
    multiple=True,
    metavar="NAME=POST",
    help="Who does it, as the cell file calls him: NAME is a person, an element or a station of the sheet;"
    " POST alone does all elements; the post nobody is a machine alone, without allowance; repeat.",
)
@click.option("--station", default="", metavar="NAME", help="Station of elements where the sheet says none.")
@click.option(
    "--ranges", type=click.Path(path_type=Path), help="Write 95 % bounds here, as ranges for sensitivity."
)
@click.option("--out", type=click.Path(path_type=Path), help="Also write the lines for the cell file here.")
@click.option(
    "--picture", metavar="FILE", type=click.Path(path_type=Path), help="Draw the times against their laws."
)
@JSON
@QUIET
def timestudy(
    sheet: Path,
    unit: str,
    decimal: str | None,
    allowance: str,
    of_shift: bool,
    leave_out: tuple[str, ...],
    by: tuple[str, ...],
    station: str,
    ranges: Path | None,
    out: Path | None,
    picture: Path | None,
    json_file: Path | None,
    quiet: bool,
) -> None:
    """Turn a stopwatch sheet (CSV) into element times for a cell file, with how sure they are.

    A row for each cycle with the headings element and time [s]; or a row for each element with the cycles in
    columns 1, 2, 3, ...  Nothing is left out unsaid.

    \b
    Headings that are understood, in any order (unit or % behind):
      element   task, step, operation, activity, what is done, job, motion,
                description, action, work
      time      reading, observed, duration, cycle time, stopwatch
      rating    performance, perf, pace, LG: 100 is normal pace
      station   bench, workplace, machine
      operator  worker, person, by, post
      cycle     no, nr, number, round
      remark    note, comment

    \b
    Examples:
      cellsim timestudy scenarios/records/bell_times.csv --allowance "12 %"
      cellsim timestudy scenarios/records/bell_times.csv --by Ann=A \\
        --by "take dome off=nobody"
    """
    from cellsim.errors import UsageError
    from cellsim.evidence.answers import time_study_answer
    from cellsim.evidence.timestudy import time_study
    from cellsim.show.timed import print_time_study, ranges_text, snippet
    from cellsim.study.provenance import versions
    from cellsim.units import UnitError, parse_share

    try:
        share = parse_share(allowance)
    except UnitError as error:
        raise UsageError(f"--allowance: {error}") from None
    new_files({"--out": out, "--ranges": ranges, "--picture": picture}, json_file)
    study = time_study(
        sheet,
        unit=unit.casefold(),
        decimal=DECIMALS.get(decimal or "", ""),
        allowance=share,
        of_shift=of_shift,
        leave_out=leave_out,
        by=by,
        station=station,
    )
    if ranges is not None and not all(element.station for element in study.elements):
        raise UsageError("--ranges: name the station of these elements with --station")
    answer = time_study_answer(study, share, of_shift) | {"provenance": versions()}
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

        print_time_study(answer, Console())
