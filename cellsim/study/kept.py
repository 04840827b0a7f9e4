"""Finished replications in a file, so that a repeated or longer study runs only what is missing."""

from __future__ import annotations

import functools
import hashlib
import json
import sqlite3
import zlib
from collections.abc import Sequence
from pathlib import Path

import cellsim
from cellsim.engine.record import Record
from cellsim.errors import UsageError

PACKAGE = Path(cellsim.__file__).parent
SOURCES = ("engine/**/*.py", "study/worker.py", "study/plan.py")  # what a record depends on, beside the cell
PATIENCE = 60.0  # seconds that one study waits while another writes
AT_ONCE = 500  # numbers asked for in one question
TABLE = """
CREATE TABLE IF NOT EXISTS replications (
    cell TEXT NOT NULL,
    rules TEXT NOT NULL,
    seed TEXT NOT NULL,
    number INTEGER NOT NULL,
    record BLOB NOT NULL,
    PRIMARY KEY (cell, rules, seed, number)
) WITHOUT ROWID
"""


@functools.cache
def rules_name() -> str:
    """A name for the version of the rules: a hash of the sources of everything that makes a record."""
    digest = hashlib.sha256(cellsim.__version__.encode())
    for pattern in SOURCES:
        for path in sorted(PACKAGE.glob(pattern)):
            digest.update(path.relative_to(PACKAGE).as_posix().encode() + path.read_bytes())
    return digest.hexdigest()[:16]


class Kept:
    """Replications by hash of the resolved description, version of the rules, seed and number.

    Each is written as a whole or not at all, whenever the process is killed; several studies may use one file
    at once.

    Raises:
        UsageError: the file is not such a file, or cannot be written.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.rules = rules_name()
        try:
            self._base = sqlite3.connect(path, timeout=PATIENCE, isolation_level=None)
            self._base.execute("PRAGMA journal_mode = WAL")
            self._base.execute("PRAGMA synchronous = NORMAL")
            self._base.execute(TABLE)
            self._base.execute("SELECT cell, rules, seed, number, record FROM replications LIMIT 0")
        except sqlite3.Error as error:
            raise UsageError(f"{path}: cannot be used for finished replications ({error})") from None

    def get(self, cell: str, seed: int, numbers: Sequence[int]) -> dict[int, Record]:
        """The replications with these numbers that are there, by number."""
        found = {}
        for first in range(0, len(numbers), AT_ONCE):
            some = numbers[first : first + AT_ONCE]
            marks = ", ".join("?" * len(some))
            rows = self._base.execute(
                "SELECT number, record FROM replications WHERE cell = ? AND rules = ? AND seed = ? "
                f"AND number IN ({marks})",
                (cell, self.rules, str(seed), *some),
            )
            for number, record in rows:
                found[number] = Record(**json.loads(zlib.decompress(record)))
        return found

    def put(self, cell: str, seed: int, record: Record) -> None:
        """Keep a replication; one that is there already stays."""
        text = zlib.compress(json.dumps(record.as_dict(), separators=(",", ":")).encode(), 1)
        self._base.execute(
            "INSERT OR IGNORE INTO replications VALUES (?, ?, ?, ?, ?)",
            (cell, self.rules, str(seed), record.replication, text),
        )

    def close(self) -> None:
        """Nothing more will be asked or kept."""
        self._base.close()
