"""The command nightly."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path

import click

from cellsim.commands.common import (
    QUIET,
    REPLICATIONS,
    SEED,
    Means,
    all_different,
    progress_bar,
    renewed_file,
    stopped_in_words,
    with_means,
    writable_folder,
)
from cellsim.errors import UsageError

MOVED = 5  # exit code: a figure moved, or a cell is broken or wrong


@click.command(short_help="guard a folder of cells night by night")
@click.argument("folder", type=click.Path(path_type=Path, exists=True, file_okay=False))
@click.option(
    "--baselines", type=click.Path(path_type=Path), help="Where they are kept.  [default: in the folder]"
)
@click.option("--accept", metavar="WHY", help="Renew the baselines and take down why.")
@click.option(
    "--margin",
    multiple=True,
    metavar="SHARE",
    help="What is material, before what cell files say: 'output_per_hour: 1 %'; repeat.",
)
@click.option(
    "--junit", "junit_file", type=click.Path(path_type=Path), help="Write JUnit XML for a CI system."
)
@click.option("--page", type=click.Path(path_type=Path), help="Write the night as one HTML page.")
@REPLICATIONS
@SEED
@with_means
@QUIET
def nightly(
    folder: Path,
    baselines: Path | None,
    accept: str | None,
    margin: tuple[str, ...],
    junit_file: Path | None,
    page: Path | None,
    replications: int | None,
    seed: int | None,
    means: Means,
    quiet: bool,
) -> None:
    """Run all cells of a folder and hold them against what was accepted once.

    An unchanged cell must give equal figures; a changed one fails when a figure surely moved by more than its
    margin, which the key margins of its file states.  Where 40 runs (-n) cannot tell, 160 are made, then 640.
    Exit codes: 0 nothing fails, 5 a cell fails, 2 the call is wrong, 130 stopped.  With --kept-in a night
    that was stopped goes on where it was.

    \b
    Example:
      cellsim nightly scenarios --baselines night --accept "first night" -n 2
    """
    from cellsim.evidence import nightly as night
    from cellsim.show.nightly import junit, night_page, print_nights
    from cellsim.study.folder import write_whole
    from cellsim.study.provenance import versions

    paths = night.cells_of(folder)
    where = baselines or folder / "baselines"
    margins = dict(_margin(text) for text in margin)
    _check_files(paths, where, accept, junit_file, page)
    for path in paths:
        night.accepted_of(path.stem, where, accept is not None)  # told before anything runs
    found: list[night.Night] = []
    usual = replications or night.REPLICATIONS
    with (
        stopped_in_words(lambda: f"Stopped after {len(found)} of {len(paths)} cells"),
        means.open(quiet) as runner,
    ):
        night.settle_means(runner, paths, usual, accept is not None)
        for path in paths:
            with progress_bar(usual, quiet, str, path.stem) as progress:
                found.append(
                    night.one_night(
                        path, where, runner,
                        seed=seed, replications=replications, margins=margins,
                        accepting=accept is not None, progress=progress,
                    )
                )  # fmt: skip
    title = f"Night of {date.today().isoformat()}: {folder.resolve().name}"
    if junit_file is not None:
        write_whole(junit_file, junit(found, f"cellsim.{folder.resolve().name}"))
    if page is not None:
        write_whole(page, night_page(found, title, f"cellsim {versions()['version']}"))
    if not quiet:
        from rich.console import Console

        print_nights(found, Console())
    if accept is not None:
        renewed = night.accept(found, where, accept, date.today().isoformat())
        if not quiet:
            click.echo(f"accepted: {len(renewed)}, see {where / night.LOG}")
        return
    if any(one.failed for one in found):
        sys.exit(MOVED)


def _check_files(
    cells: list[Path], baselines: Path, why: str | None, junit_file: Path | None, page: Path | None
) -> None:
    """Look, before anything runs, whether all can be written that the call asks for.

    The page and the JUnit file are made anew each night, so they may be there.
    """
    if why is not None and not why.strip():
        raise UsageError("--accept takes a reason in words, which is kept")
    files = {"--junit": junit_file, "--page": page}
    for option, file in files.items():
        if file is not None:
            renewed_file(file, option)
    all_different(files | {f"the cell {path.name}": path for path in cells})
    if baselines.exists() and not baselines.is_dir():
        raise UsageError(f"--baselines {baselines}: this is a file; name a folder")
    if why is not None:
        there = next(folder for folder in (baselines, *baselines.absolute().parents) if folder.exists())
        writable_folder(there, f"--baselines {baselines}")


def _margin(text: str) -> tuple[str, float]:
    from cellsim.evidence.nightly import MARGINS
    from cellsim.units import UnitError, parse_share

    name, _, share = text.partition(":")
    try:
        value = parse_share(share.strip())
    except UnitError as error:
        raise UsageError(f"--margin {text}: {error}") from None
    if name.strip() not in MARGINS or not 0 < value < 1:
        raise UsageError(
            f"--margin {text}: a figure and a share are wanted, as output_per_hour: 1 %; figures are"
            f" {', '.join(MARGINS)}"
        )
    return name.strip(), value
