"""The command guide."""

from __future__ import annotations

from pathlib import Path

import click

from cellsim.commands.common import new_file, next_step, write_new


@click.command(short_help="how to use all this: a tutorial, all keys, figures and cautions")
@click.argument("page", required=False)
@click.option(
    "--html",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="Write all pages as one HTML file, to read in a browser or to print.",
)
@click.option(
    "--files",
    metavar="DIR",
    type=click.Path(path_type=Path, file_okay=False),
    help="Copy the files of the tutorial into this folder; nothing is overwritten.",
)
@click.pass_context
def guide(ctx: click.Context, page: str | None, html: Path | None, files: Path | None) -> None:
    """Print a page of the guide, or say which pages there are.

    The tutorial leads from a stopwatch sheet to a decision; the other pages are to look things up.

    \b
    Examples:
      cellsim guide
      cellsim guide --html guide.html
    """
    from rich.console import Console

    import cellsim
    from cellsim.errors import UsageError
    from cellsim.guide.blocks import read_blocks
    from cellsim.guide.examples import write_examples
    from cellsim.guide.pages import PAGES, page_text
    from cellsim.guide.terminal import print_blocks, print_contents

    group = ctx.find_root().command
    assert isinstance(group, click.Group)
    if page is not None and page not in (names := [one.name for one in PAGES]):
        raise UsageError(f"the guide has no page {page!r}; its pages are {', '.join(names)}")
    if html is not None:
        new_file(html, "--html", (".html", ".htm"))
    if files is not None:
        for path in write_examples(files):
            click.echo(f"written: {path}")
    if html is not None:
        from cellsim.guide.web import guide_html

        pages = [(one, read_blocks(page_text(one.name, group))) for one in PAGES]
        write_new(html, guide_html(pages, cellsim.__version__))
        click.echo(f"written: {html}")
    if page is not None:
        print_blocks(read_blocks(page_text(page, group)), Console())
    elif html is None and files is None:
        print_contents(PAGES, Console())
        next_step("guide", "tutorial")
