"""Results and answers of studies read back from disk, and whether results can be compared run by run."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cellsim.describe.cell import Cell
from cellsim.describe.resolve import load, resolved_sha256
from cellsim.errors import DescriptionError, UsageError
from cellsim.study.compare import Alternative, Compared, comparison
from cellsim.study.figures import RESULT_VERSION
from cellsim.study.folder import CELL, RESULT, STUDY, records_in
from cellsim.study.story import Story, story

# What tells the answers of the studies apart: keys that only they have together.
KINDS: Mapping[str, frozenset[str]] = {
    "result": frozenset(
        {"version", "cell", "study", "output_per_hour", "stations", "stores", "people", "robots", "losses"}
        | {"audit", "assumptions", "cautions", "paper", "quality", "wip", "lead_time", "stops", "locked"}
    ),
    "comparison": frozenset({"base", "proposals", "chief", "replications"}),
    "buffers": frozenset({"stores", "places", "curve", "one_more", "now"}),
    "limits": frozenset({"changes", "hints", "losses", "share"}),
    "sensitivity": frozenset({"inputs", "not_knowing", "verdict"}),
    "payback": frozenset({"case", "gain", "drawn", "verdict", "tornado", "break_even", "stated"}),
    "load": frozenset({"cell", "takt", "posts", "busiest", "tending", "batches", "warnings"}),
    "crew": frozenset({"rows", "cheapest_unit", "cheapest_for_target", "combinations", "open"}),
    "balance": frozenset({"plan", "seeks", "cycle_s", "binds", "stations", "sure"}),
}


@dataclass(frozen=True, slots=True)
class Opened:
    """An answer with its kind (a key of KINDS), where it was found and a short name for it."""

    kind: str
    path: Path
    name: str
    answer: dict[str, Any]


def opened(path: Path) -> Opened:
    """Read a result folder, its `result.json`, or what a study wrote with `--json`.

    Raises:
        UsageError: there is nothing to read, the study is unfinished, or it is something else.
    """
    file = path
    if path.is_dir():
        file = path / RESULT
        if not file.exists():
            if (path / STUDY).exists():
                raise UsageError(
                    f"{path} holds a study that is not finished (no {RESULT} yet); go on with it first: "
                    f"cellsim run CELL --resume {path}"
                )
            raise UsageError(f"{path} is no result folder: it holds no {RESULT}")
    try:
        found = json.loads(file.read_text(encoding="utf-8"))
    except OSError as error:
        raise UsageError(f"{file} cannot be read: {error.strerror}") from None
    except ValueError:
        raise UsageError(
            f"{file} is no JSON file; a report takes result folders and answers written by --json"
        ) from None
    kind = _kind(found)
    if kind is None:
        raise UsageError(
            f"{file} is neither a result nor an answer that a report can show; it takes result folders of "
            f"cellsim run, and what compare, buffers, limits, sensitivity, payback, load, balance and crew "
            f"write with --json"
        )
    if kind == "result" and found["version"] != RESULT_VERSION:
        raise UsageError(
            f"{file} has version {found['version']} of the figures; this program reads {RESULT_VERSION}"
        )
    name = file.parent.resolve().name if file.name == RESULT else file.stem
    return Opened(kind, path, name, found)


def _kind(found: Any) -> str | None:
    if not isinstance(found, dict):
        return None
    return next((kind for kind, keys in KINDS.items() if keys <= found.keys()), None)


def names_of(results: Sequence[Opened]) -> list[str]:
    """A name for each result: that of its cell, or of its folder where two cells have the same."""
    cells = [str(each.answer["cell"]["name"]) for each in results]
    if len(set(cells)) == len(cells):
        return cells
    folders = [each.name for each in results]
    if len(set(folders)) == len(folders):
        return folders
    return [str(each.path) for each in results]


def paired_comparison(results: Sequence[Opened]) -> tuple[dict[str, Any] | None, str]:
    """The comparison of results run by run, the first is the base; or None and what stands against it.

    Runs of two folders belong together where seed, version and numbers of the replications are the same:
    then runs of one number have the same luck.
    """
    known = [each.answer.get("provenance") or {} for each in results]
    for key, words in (("seed", "their seeds differ"), ("version", "other versions made them")):
        values = [one.get(key) for one in known]
        if len(set(values)) > 1 or values[0] is None:
            return None, f"{words} ({', '.join(map(str, values))})"
    alternatives, records = [], []
    for each, name, own in zip(results, names_of(results), known, strict=True):
        folder = each.path if each.path.is_dir() else each.path.parent
        try:
            cell = load(folder / CELL)
            found = sorted(records_in(folder), key=lambda record: record.replication)
        except (DescriptionError, OSError, UnicodeDecodeError):
            return None, f"{folder} holds no {CELL} that can be read"
        if resolved_sha256(cell) != own.get("sha256"):
            return None, f"{folder / CELL} is not the description of the result beside it"
        alternatives.append(Alternative(name, cell))
        records.append(found)
    numbers = [[record.replication for record in found] for found in records]
    if any(other != numbers[0] for other in numbers):
        return None, f"they have other replications ({', '.join(str(len(found)) for found in numbers)})"
    if len(numbers[0]) < 2:
        return None, "a difference takes at least two replications of each"
    return comparison(Compared(alternatives, records)), ""


def typical_shift(result: Opened) -> tuple[Cell, Story]:
    """The cell of a result folder, and its first counted shift as it went in the run nearest to the median.

    Raises:
        UsageError: the folder does not hold the description or the runs of the result any more.
    """
    try:
        cell = load(result.path / CELL)
    except DescriptionError as error:
        raise UsageError(f"{result.path / CELL} cannot be read: {error}") from None
    if resolved_sha256(cell) != result.answer["provenance"]["sha256"]:
        raise UsageError(f"{result.path / CELL} is not the cell of {RESULT} beside it")
    totals = {record.replication: sum(record.hourly) for record in records_in(result.path)}
    if not totals:
        raise UsageError(f"{result.path} holds no run")
    middle = sorted(totals.values())[len(totals) // 2]
    chosen = min(totals, key=lambda number: (abs(totals[number] - middle), number))
    return cell, story(cell, result.answer["provenance"]["seed"], chosen)
