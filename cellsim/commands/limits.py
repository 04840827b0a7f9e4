"""The command limits."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from cellsim.commands.common import (
    CELL,
    JSON,
    QUIET,
    REPLICATIONS,
    SEED,
    Means,
    next_step,
    progress_bar,
    stopped_in_words,
    study_of,
    with_means,
    write_answer,
)
from cellsim.errors import UsageError

if TYPE_CHECKING:
    from cellsim.describe.cell import Cell


@click.command(short_help="what limits output, and what ten per cent less would buy")
@CELL
@REPLICATIONS
@SEED
@with_means
@JSON
@QUIET
def limits(
    cell: Path,
    replications: int | None,
    seed: int | None,
    means: Means,
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
    from cellsim.study.limits import USUAL_CELLS
    from cellsim.study.limits import limits as found_limits
    from cellsim.study.provenance import versions

    described = load(cell)
    count, number = study_of(described, replications, seed)
    if count < 2:
        raise UsageError("differences take at least two replications")
    silent = quiet or str(json_file) == "-"
    with stopped_in_words(), means.open(silent) as runner, progress_bar(count, silent) as progress:
        runner.settle_means(described, count * USUAL_CELLS)
        answer = found_limits(described, number, count, runner, progress, progress.begin)
        answer["provenance"] = versions() | {"seed": number, "clock": runner.clock}
    write_answer(answer, json_file)
    if not silent:
        from rich.console import Console

        from cellsim.show.limited import print_limits

        print_limits(answer, Console())
        next_step(*_what_next(cell, described, answer["changes"]))


def _what_next(file: Path, cell: Cell, changes: Sequence[dict[str, Any]]) -> tuple[object, ...]:
    """What follows from the change that buys most: sizing, a proposal, or times measured better."""
    best = next((row for row in changes if row["difference"]["interval"][0] > 0), None)
    if best is not None and best["adds"]:
        if best["adds"][0].startswith("stores.") and cell.target_per_hour is not None:
            return "buffers", file
        change = ", ".join(best["adds"])
        return "compare", file, "--change", f"{{{change}}}" if len(best["adds"]) > 1 else change
    return "sensitivity", file
