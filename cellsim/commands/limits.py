"""The command limits."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from cellsim.commands.common import (
    CELL,
    CLOCK,
    INTERRUPTED,
    JSON,
    KEPT,
    QUIET,
    REPLICATIONS,
    SCHEDULER,
    SEED,
    WORKERS,
    announce,
    progress_bar,
    study_of,
    write_answer,
)
from cellsim.errors import UsageError

CHANGES = 17  # cells that are usually run


@click.command()
@CELL
@REPLICATIONS
@SEED
@WORKERS
@SCHEDULER
@CLOCK
@KEPT
@JSON
@QUIET
def limits(
    cell: Path,
    replications: int | None,
    seed: int | None,
    workers: int | None,
    scheduler: str | None,
    clock: str,
    kept_in: Path | None,
    json_file: Path | None,
    quiet: bool,
) -> None:
    """Say what limits output, and what ten per cent less, or one more, of something would buy.

    The critical path says where to look; the changes that promise most are then run with the same luck.

    \b
    Example:
      cellsim limits scenarios/tape_measure.yaml
    """
    from cellsim.describe.resolve import load
    from cellsim.study.limits import limits as found_limits
    from cellsim.study.means import means
    from cellsim.study.provenance import versions

    described = load(cell)
    count, number = study_of(described, replications, seed)
    if count < 2:
        raise UsageError("differences take at least two replications")
    silent = quiet or str(json_file) == "-"
    say = None if silent else announce
    with (
        means(clock=clock, workers=workers, scheduler=scheduler, kept_in=kept_in, announce=say) as runner,
        progress_bar(count * CHANGES, silent, str) as progress,
    ):
        runner.settle_means(described, count * CHANGES)
        try:
            answer = found_limits(described, number, count, runner, progress)
        except KeyboardInterrupt:
            click.echo("Stopped; nothing was written.", err=True)
            sys.exit(INTERRUPTED)
        answer["provenance"] = versions() | {"seed": number, "clock": runner.clock}
    write_answer(answer, json_file)
    if not silent:
        from rich.console import Console

        from cellsim.show.limited import print_limits

        print_limits(answer, Console())
