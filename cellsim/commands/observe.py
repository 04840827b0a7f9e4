"""The command observe."""

from __future__ import annotations

from pathlib import Path

import click

from cellsim.commands.common import (
    CELL,
    JSON,
    QUIET,
    REPLICATIONS,
    SEED,
    Means,
    new_files,
    progress_bar,
    stopped_in_words,
    study_of,
    with_means,
    write_answer,
    write_new,
)
from cellsim.commands.timestudy import DECIMALS
from cellsim.errors import UsageError

SHOWN = 10  # shifts with missing hours that are named
ORDERS = {"day-first": "day first", "month-first": "month first"}


@click.command(short_help="hold a cell against hourly counts of real shifts")
@CELL
@click.argument("counts", type=click.Path(path_type=Path))
@click.option(
    "--margin", default="3 %", show_default=True, help="What counts as the same, as a share of output."
)
@click.option("--cumulative", is_flag=True, help="Counts rise over the shift, as a counter shows them.")
@click.option(
    "--decimal", type=click.Choice(list(DECIMALS)), help="Mark of decimals, where the file leaves it open."
)
@click.option("--dates", type=click.Choice(list(ORDERS)), help="Order of dates such as 3/1/2026.")
@click.option(
    "--picture", type=click.Path(path_type=Path), help="Draw observed hours over the band of the model."
)
@click.option(
    "--sheets",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Write real and simulated shifts, mixed, for people to tell apart; the answers go to FILE.key.",
)
@REPLICATIONS
@SEED
@with_means
@JSON
@QUIET
def observe(
    cell: Path,
    counts: Path,
    margin: str,
    cumulative: bool,
    decimal: str | None,
    dates: str | None,
    picture: Path | None,
    sheets: Path | None,
    replications: int | None,
    seed: int | None,
    means: Means,
    json_file: Path | None,
    quiet: bool,
) -> None:
    """Hold a cell against hourly counts of real shifts (CSV): does the model make the same?

    A row for each hour with the headings time (or date and hour) and good.  The margin is to be stated before
    looking.  With too few shifts the answer is that it cannot be told.  With --sheets people who know the
    cell judge too.

    \b
    Example:
      cellsim observe scenarios/bicycle_light.yaml \\
        scenarios/records/light_counts.csv
    """
    from cellsim.describe.resolve import load
    from cellsim.evidence.blind import key_text, mixed_sheets, sheets_text
    from cellsim.evidence.observed import held_against, read_counts
    from cellsim.study.broken import stop_if_broken
    from cellsim.study.provenance import versions
    from cellsim.study.replicate import replicate
    from cellsim.units import UnitError, parse_share

    try:
        share = parse_share(margin)
    except UnitError as error:
        raise UsageError(f"--margin: {error}") from None
    if not 0 < share < 1:
        raise UsageError(f"--margin {margin}: a share above 0 and below 100 % is wanted")
    if sheets is not None and not sheets.name:
        raise UsageError(f"--sheets {sheets}: this is a folder; name a file")
    key = None if sheets is None else sheets.with_name(f"{sheets.name}.key")
    new_files({"--sheets": sheets, "the key of --sheets": key, "--picture": picture}, json_file)
    described = load(cell)
    real, repairs = read_counts(
        counts,
        described,
        decimal=DECIMALS.get(decimal or "", ""),
        order=ORDERS.get(dates or "", ""),
        cumulative=cumulative,
    )
    if len(real) < 2:
        told = [text for text in repairs if text.startswith("shift of ")]
        rest = [f"and {len(told) - SHOWN} more"] if len(told) > SHOWN else []
        whole = "1 whole shift" if len(real) == 1 else f"{len(real)} whole shifts"
        raise UsageError(
            "\n  ".join(
                [f"{counts.name} holds {whole}; a comparison takes two at least", *told[:SHOWN], *rest]
            )
        )
    count, number = study_of(described, replications, seed)
    silent = quiet or str(json_file) == "-"
    with stopped_in_words(), means.open(silent) as runner, progress_bar(count, silent, str) as progress:
        study = replicate(runner, described, number, range(count), progress=progress)
        if study.interrupted:
            raise KeyboardInterrupt
    stop_if_broken(study.records, number)
    mixed = mixed_sheets(described, real, study.records, number) if sheets is not None else []
    answer = held_against(described, study.records, real, share)
    answer |= {"name": described.name, "repairs": repairs}
    answer["provenance"] = versions() | {"seed": number, "clock": study.clock}
    write_answer(answer, json_file)
    if sheets is not None and key is not None:
        write_new(sheets, sheets_text(mixed, described.name))
        write_new(key, key_text(mixed, described.name))
    if picture is not None:
        from cellsim.show.observed import save_observed

        save_observed(answer, picture)
    if not silent:
        from rich.console import Console

        from cellsim.show.observed import print_observed

        print_observed(answer, Console())
