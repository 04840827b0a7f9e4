"""The command workbook."""

from __future__ import annotations

from pathlib import Path

import click

from cellsim.commands.common import WORKBOOK_ENDING, new_file, save_workbook


@click.command(short_help="a study made earlier, as tables for a spreadsheet")
@click.argument("result", type=click.Path(path_type=Path))
@click.argument("file", type=click.Path(path_type=Path))
def workbook(result: Path, file: Path) -> None:
    """Write a study made earlier as a workbook (.xlsx), for a spreadsheet.

    RESULT is the folder that `cellsim run` made, or its result.json.  Each sheet is one table: a row for each
    thing, a column for each figure with its unit in the head.

    \b
    Example:
      cellsim workbook tape_measure_result tape_measure.xlsx
    """
    from cellsim.study.folder import read_result

    new_file(file, "FILE", [WORKBOOK_ENDING])
    save_workbook(read_result(result), file)
