"""The result folder of a study: what is finished is on disk, an interrupted study can go on, nothing is lost.

While a study runs the folder holds `study.json` (what is being run), `cell.yaml` (the resolved description)
and `replications.jsonl` (one finished replication a line).  At the end `result.json`, `hourly.csv` and the
pictures are added; each is written beside its place and then moved there, so that no file is half written.
"""

from __future__ import annotations

import csv
import io
import json
import os
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from cellsim.engine.record import Record
from cellsim.errors import UsageError
from cellsim.study.plan import Plan

STUDY, REPLICATIONS, RESULT, HOURLY, CELL = (
    "study.json",
    "replications.jsonl",
    "result.json",
    "hourly.csv",
    "cell.yaml",
)


def free_name(where: Path, stem: str, ending: str = "") -> Path:
    """A name beside which nothing is overwritten: `bell_result`, `bell_result_2`, ..."""
    path, k = where / f"{stem}{ending}", 1
    while path.exists():
        k += 1
        path = where / f"{stem}_{k}{ending}"
    return path


def write_whole(path: Path, text: str) -> None:
    """Write a file so that it is there whole or not at all."""
    beside = path.with_name(path.name + ".part")
    beside.write_text(text, encoding="utf-8")
    os.replace(beside, path)


def as_json(result: dict[str, Any]) -> str:
    """A result as text, the same text for the same result."""
    return json.dumps(result, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _line(record: Record) -> str:
    """A finished replication as it stands in the folder."""
    return json.dumps(record.as_dict(), separators=(",", ":")) + "\n"


def records_in(folder: Path) -> list[Record]:
    """The finished replications in a folder in the order in which they were kept, whole lines only."""
    records = []
    file = folder / REPLICATIONS
    for line in file.read_text(encoding="utf-8").splitlines() if file.exists() else []:
        try:
            records.append(Record(**json.loads(line)))
        except (ValueError, TypeError):
            continue
    return records


class ResultFolder:
    """A folder in which a study is written.

    `what` is what makes two studies the same: hash of the resolved description, seed and version; the number
    of replications may differ.
    """

    def __init__(self, path: Path, what: dict[str, Any]) -> None:
        self.path = path
        self.what = what

    def begin(self, cell_text: str) -> None:
        """Make the folder.

        Raises:
            UsageError: there is something with this name already, or it cannot be made.
        """
        if self.path.exists():
            raise UsageError(
                f"{self.path} exists and is not overwritten; name another folder with --out, or go on with "
                f"an interrupted study with --resume"
            )
        try:
            self.path.mkdir(parents=True)
            write_whole(self.path / CELL, cell_text)
            write_whole(self.path / STUDY, as_json(self.what))
        except OSError as error:
            raise UsageError(f"{self.path} cannot be written: {error.strerror}") from None

    def resume(self) -> list[Record]:
        """The finished replications of an interrupted study; a half written last line is dropped.

        Raises:
            UsageError: the folder holds no study, or one of another cell, seed or version.
        """
        try:
            found = json.loads((self.path / STUDY).read_text(encoding="utf-8"))
            if not isinstance(found, dict):
                raise ValueError("not a mapping")
        except (OSError, ValueError):
            raise UsageError(f"{self.path} holds no study that could go on (no readable {STUDY})") from None
        for key, value in self.what.items():
            if found.get(key) != value:
                raise UsageError(
                    f"{self.path} holds a study with another {key} ({found.get(key)}, now {value}); "
                    f"it cannot go on with this one"
                )
        records = records_in(self.path)
        lines = "".join(_line(record) for record in records)
        write_whole(self.path / REPLICATIONS, lines)
        return records

    def keep(self, record: Record) -> None:
        """Add a finished replication.

        Raises:
            UsageError: the folder can no longer be written.
        """
        try:
            with open(self.path / REPLICATIONS, "a", encoding="utf-8") as file:
                file.write(_line(record))
        except OSError as error:
            raise UsageError(f"{self.path} cannot be written: {error.strerror}") from None

    def write_result(self, result: dict[str, Any], plan: Plan, records: Sequence[Record]) -> None:
        """Write the figures and the hourly counts."""
        write_whole(self.path / HOURLY, hourly_csv(plan, records))
        write_whole(self.path / RESULT, as_json(result))


def read_result(path: Path) -> dict[str, Any]:
    """The figures of a study made earlier, from its result folder or its `result.json`.

    Raises:
        UsageError: there are none that can be read.
    """
    file = path / RESULT if path.is_dir() else path
    try:
        found = json.loads(file.read_text(encoding="utf-8"))
    except OSError as error:
        raise UsageError(f"{file} cannot be read: {error.strerror}") from None
    except ValueError:
        found = None
    if not isinstance(found, dict) or not {"output_per_hour", "stations", "losses", "audit"} <= set(found):
        raise UsageError(f"{file} holds no result of cellsim run")
    return found


def hourly_csv(plan: Plan, records: Sequence[Record]) -> str:
    """Good units of each counted hour, one line per replication and hour.

    Plain ASCII with commas and decimal points, and without the mark of a byte order, for programs that read
    it: no such file is split right by spreadsheets of every language, so those have the workbook.
    """
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(["replication", "shift", "hour", "clock", "working_min", "good_units"])
    for record in records:
        for hour, count in zip(plan.hours, record.hourly, strict=True):
            table.writerow(
                [record.replication, hour.shift + 1, hour.number + 1, hour.label, hour.worked / 60e6, count]
            )
    return out.getvalue()
