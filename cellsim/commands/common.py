"""What the commands share: options, how errors end a command, progress."""

from __future__ import annotations

import functools
import shlex
import sys
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from cellsim.errors import AuditFailure, CellsimError, DescriptionError, LockedCell, UsageError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from cellsim.describe.cell import Cell
    from cellsim.show.progress import Progress
    from cellsim.study.precision import Precision
    from cellsim.study.runner import Runner

LOCKED, AUDIT, INTERRUPTED = LockedCell.exit_code, AuditFailure.exit_code, 130
PICTURES = ("png", "svg", "pdf")
PICTURE_ENDINGS = tuple(f".{kind}" for kind in PICTURES)
WORKBOOK_ENDING = ".xlsx"
ENDINGS = {"--picture": PICTURE_ENDINGS, "--workbook": (WORKBOOK_ENDING,)}


class Whole(click.IntRange):
    """A whole number whose bounds the help does not list, since its words say enough."""

    def _describe_range(self) -> str:
        return ""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """The number; out of bounds it fails with words that name them."""
        found: int = click.INT.convert(value, param, ctx)
        if self.min is not None and found < self.min:
            self.fail(f"{found} is too small; at least {self.min:g} is wanted", param, ctx)
        if self.max is not None and found > self.max:
            self.fail(f"{found} is too large; at most {self.max:g} is possible", param, ctx)
        return found


CELL = click.argument("cell", type=click.Path(path_type=Path))
SEED = click.option(
    "--seed",
    metavar="NUMBER",
    type=Whole(0, 2**64 - 1),
    help="Number that fixes all random times.  [default: the file's, else 1]",
)
REPLICATIONS = click.option(
    "--replications",
    "-n",
    metavar="COUNT",
    type=Whole(1),
    help="How many runs (replications) the study has.  [default: the file's, else 100]",
)
WORKERS = click.option(
    "--workers",
    "-w",
    metavar="COUNT",
    type=Whole(1),
    help="Processes that work at once.  [default: one per core, at most 4, where the work is worth it]",
)
CLOCK = click.option(
    "--clock",
    type=click.Choice(["simpy", "compiled", "auto"]),
    default="auto",
    show_default=True,
    help="What advances time: readable Python, the same rules compiled, or whichever is done first.  "
    "The figures are the same.",
)
JSON = click.option(
    "--json",
    "json_file",
    metavar="FILE",
    type=click.Path(path_type=Path, allow_dash=True),
    help="Also write all figures as JSON to this file; - is standard output, and nothing else there.",
)
PRECISION = click.option(
    "--precision",
    metavar="SHARE",
    help="Run until the 95 % interval is this narrow to each side, as a share: '2 %'; -n is then the most.",
)
KEPT = click.option(
    "--kept-in",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="A file in which finished replications are kept; those that are there are not run again.",
)
SCHEDULER = click.option(
    "--scheduler",
    metavar="ADDRESS",
    help="Run on the Dask cluster whose scheduler has this address, such as tcp://192.168.0.5:8786.",
)
FORMAT = click.option(
    "--format",
    "picture_format",
    type=click.Choice(PICTURES),
    help="Format of the pictures; svg and pdf stay sharp at any size, for papers and slides.  [default: png]",
)
QUIET = click.option("--quiet", "-q", is_flag=True, help="Print nothing but what goes wrong.")


@dataclass(frozen=True, slots=True)
class Means:
    """What a study is run with, as the call of a command says it."""

    workers: int | None
    scheduler: str | None
    clock: str
    kept_in: Path | None

    def open(self, silent: bool) -> AbstractContextManager[Runner]:
        """A runner; what takes long is told unless nothing is to be shown."""
        from cellsim.study.means import means

        return means(announce=None if silent else announce, **self.arguments())

    def arguments(self) -> dict[str, Any]:
        """As calls in Python take them."""
        return {key: getattr(self, key) for key in self.__slots__}


def with_means(command: Callable[..., None]) -> Callable[..., None]:
    """Gives a command --workers, --scheduler, --clock and --kept-in; it gets them as one, `means`."""

    @functools.wraps(command)
    def called(
        *given: Any, workers: int | None, scheduler: str | None, clock: str, kept_in: Path | None, **rest: Any
    ) -> None:
        command(*given, means=Means(workers, scheduler, clock, kept_in), **rest)

    for option in (KEPT, CLOCK, SCHEDULER, WORKERS):  # the help lists them from the last to the first
        called = option(called)
    return called


@contextmanager
def stopped_in_words(so_far: Callable[[], str] = lambda: "Stopped") -> Iterator[None]:
    """Ctrl-C within it ends the command in words, which begin with how far it was: nothing was written."""
    try:
        yield
    except KeyboardInterrupt:
        click.echo(f"{so_far()}; nothing was written.", err=True)
        sys.exit(INTERRUPTED)


class Commands(click.Group):
    """A group whose commands end with the exit code of the error, and its text on stderr.

    Its help lists them in the order in which they were added, which is the order of the work.
    """

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(self.commands)

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except DescriptionError as error:
            click.echo(error.report(), err=True)
            ctx.exit(error.exit_code)
        except CellsimError as error:
            click.echo(f"cellsim: {error}", err=True)
            ctx.exit(error.exit_code)


def study_of(cell: Cell, replications: int | None, seed: int | None) -> tuple[int, int]:
    from cellsim.study.replicate import study_of as found

    return found(cell, replications, seed)


def announce(text: str) -> None:
    click.echo(text, err=True)


def next_step(*words: object) -> None:
    """Name the next sensible command to a person who reads along; not in a file or a pipe.

    The first word is the command, such as `run`.
    """
    if sys.stdout.isatty():
        click.echo(f"next: cellsim {shlex.join(str(word) for word in words)}")


def progress_bar(
    total: int, silent: bool, so_far: Callable[[], str] = str, what: str = "runs"
) -> AbstractContextManager[Progress]:
    """How far the work is, on stderr where that is a terminal, unless nothing is to be shown."""
    from cellsim.show.progress import Progress, progress

    if silent:
        return nullcontext(Progress(so_far))
    from rich.console import Console

    return progress(Console(stderr=True), total, so_far, what)


def precision_of(text: str | None, most: int | None) -> Precision | None:
    """The precision that an option asks for; `most` is the largest number of replications."""
    from cellsim.study.precision import as_precision

    return as_precision(text, most) if text is not None else None


def write_new(path: Path, text: str) -> None:
    """Write a text to a file that is not there yet.

    Raises:
        UsageError: there is something with this name already, or it cannot be written.
    """
    from cellsim.study.folder import write_whole

    if path.exists():
        raise UsageError(f"{path} exists and is not overwritten; name another file")
    try:
        write_whole(path, text)
    except OSError as error:
        raise UsageError(f"{path} cannot be written: {error.strerror}") from None


def new_file(path: Path, option: str, endings: Sequence[str] = ()) -> None:
    """Look, before any work is done, whether a file can be made.

    Raises:
        UsageError: it exists, nothing can be written to its folder, or its name has none of the `endings`.
    """
    if path.exists():
        raise UsageError(f"{path} exists and is not overwritten; name another file")
    if endings and path.suffix.lower() not in endings:
        raise UsageError(f"{option} {path}: the name of the file must end in {' or '.join(endings)}")
    writable_folder(path.parent, f"{option} {path}")


def new_files(files: Mapping[str, Path | None], json_file: Path | None = None) -> None:
    """Look, before anything is written, whether all files of a call can be made, by option.

    Those of ENDINGS have their own.  What `--json` writes may be there already.

    Raises:
        UsageError: as for `new_file`, or two of the files are the same.
    """
    for option, path in files.items():
        if path is not None:
            new_file(path, option, ENDINGS.get(option, ()))
    if str(json_file) != "-":
        if json_file is not None:
            renewed_file(json_file, "--json")
        all_different({**files, "--json": json_file})


def renewed_file(path: Path, option: str) -> None:
    """Look, before any work is done, whether a file that may be there already can be written.

    Raises:
        UsageError: it is a folder, or nothing can be written to its folder.
    """
    if path.is_dir():
        raise UsageError(f"{option} {path}: this is a folder; name a file")
    writable_folder(path.parent, f"{option} {path}")


def all_different(files: Mapping[str, Path | None]) -> None:
    """Look whether the files of a call, by option, are different ones.

    Raises:
        UsageError: two are the same.
    """
    seen: dict[Path, str] = {}
    for option, path in files.items():
        if path is not None:
            other = seen.setdefault(path.resolve(), option)
            if other != option:
                raise UsageError(f"{other} and {option} name the same file, {path}; name two")


def writable_folder(folder: Path, what: str) -> None:
    """Look whether a folder is there and a file can be made in it; `what` the file is for, in the message.

    Raises:
        UsageError: it is not, or it cannot.
    """
    import tempfile

    if not folder.is_dir():
        raise UsageError(f"{what}: the folder {folder} does not exist")
    try:
        tempfile.TemporaryFile(dir=folder).close()
    except OSError as error:
        raise UsageError(f"{what}: the folder {folder} cannot be written: {error.strerror}") from None


def save_workbook(result: dict[str, Any], path: Path) -> None:
    """Write the workbook of a study.

    Raises:
        UsageError: the file cannot be written.
    """
    from cellsim.show.workbook import save_workbook as save

    try:
        save(result, path)
    except OSError as error:
        raise UsageError(f"{path} cannot be written: {error.strerror}") from None


def write_answer(answer: dict[str, Any], json_file: Path | None) -> None:
    """Write an answer as JSON where that was asked for; `-` is standard output.

    Raises:
        UsageError: the file cannot be written.
    """
    if json_file is None:
        return
    from cellsim.study.folder import as_json, write_whole

    if str(json_file) == "-":
        click.echo(as_json(answer), nl=False)
        return
    try:
        write_whole(json_file, as_json(answer))
    except OSError as error:
        raise UsageError(f"{json_file} cannot be written: {error.strerror}") from None
