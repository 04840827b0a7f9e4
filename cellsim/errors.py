"""Everything that can go wrong in a way a user should read: one class per exit code."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Mistake:
    """One mistake in a file and where it stands; `line` and `column` count from 1, 0 = the file as a whole.

    `path` names the value by its keys (`stations.press.cycle`); `hint` is one more half sentence of help.
    """

    file: str
    line: int
    column: int
    path: str
    message: str
    hint: str = ""

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}:{self.column}" if self.line else self.file
        parts = [place, self.path, self.message] if self.path else [place, self.message]
        return ": ".join(parts) + (f"; {self.hint}" if self.hint else "")


class CellsimError(Exception):
    """The base of all errors that are shown to the user as text; `exit_code` is the code of the command."""

    exit_code = 1


class UsageError(CellsimError):
    """A command or function was called in a way that makes no sense."""

    exit_code = 2


class DescriptionError(CellsimError):
    """A description cannot be used; carries all mistakes of the stage that found them, sorted by place.

    `unlisted` is how many more were found than are carried.
    """

    exit_code = 2

    def __init__(self, mistakes: Iterable[Mistake], unlisted: int = 0) -> None:
        self.mistakes: tuple[Mistake, ...] = tuple(
            sorted(mistakes, key=lambda m: (m.file, m.line, m.column, m.path, m.message, m.hint))
        )
        self.unlisted = unlisted
        super().__init__("\n".join(str(mistake) for mistake in self.mistakes))

    def report(self) -> str:
        """All mistakes, one a line, and a last line that counts them."""
        count = len(self.mistakes) + self.unlisted
        listed = f" ({len(self.mistakes)} of them are listed)" if self.unlisted else ""
        return f"{self}\n{count} mistake{'' if count == 1 else 's'}{listed}, nothing was run"


class LockedCell(CellsimError):
    """A run came to a circular wait: nothing in the cell can move any more."""

    exit_code = 3


class AuditFailure(CellsimError):
    """A run broke one of its own laws: a fault of this program, not of the description."""

    exit_code = 70


class WorkersLost(CellsimError):
    """Worker processes or a cluster were lost in the middle of a study; what was finished may go on later."""

    exit_code = 75


class NotSettled(CellsimError):
    """A cell has no long-run behaviour that a study of its steady state could tell."""

    exit_code = 4
