"""Commands that look at a description without running it: check, resolve, schema."""

from __future__ import annotations

import shutil
import textwrap
from pathlib import Path

import click

from cellsim.commands.common import CELL, next_step


@click.command(short_help="list the mistakes of a cell file, or what it assumes")
@CELL
def check(cell: Path) -> None:
    """List the mistakes of a cell file; without any, what paper says of its output and what was assumed.

    \b
    Example:
      cellsim check scenarios/bicycle_bell.yaml
    """
    from cellsim.describe.resolve import load
    from cellsim.show.checked import checked_text
    from cellsim.show.screen_page import WIDTH
    from cellsim.study.paper import paper_figures
    from cellsim.study.plan import make_plan, uncounted_services

    described = load(cell)
    more = uncounted_services(described, make_plan(described))
    width = min(WIDTH, shutil.get_terminal_size().columns)
    for line in checked_text(described, paper_figures(described), str(cell), more).splitlines():
        indent = "    " if line.startswith(" ") else "  "
        click.echo("\n".join(textwrap.wrap(line, width, subsequent_indent=indent, break_on_hyphens=False)))
    next_step("run", cell)


@click.command(short_help="the cell file with every default spelled out")
@CELL
def resolve(cell: Path) -> None:
    """Print the cell with every default spelled out; the output is itself a cell file.

    \b
    Example:
      cellsim resolve scenarios/spinning_top.yaml > spelled_out.yaml
    """
    from cellsim.describe.resolve import load, resolved_text

    click.echo(resolved_text(load(cell)), nl=False)


@click.command(short_help="JSON Schema of cell files for editors, or all keys")
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
