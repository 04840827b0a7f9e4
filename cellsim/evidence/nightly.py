"""A folder of cells guarded night by night: what was accepted once, and what has moved since.

An unchanged cell under unchanged rules with the same seed must give equal figures to the last bit.  Where the
cell or the rules have changed, the same luck is used again, and a figure fails only when it surely moved by
more than its margin; where that cannot be told, further looks take as many times more replications as
LOOKS says, of which the baseline holds the figures.  With another seed the two nights share no luck and are
compared as independent ones.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from cellsim.describe.cell import Cell
from cellsim.describe.resolve import load, resolved_sha256
from cellsim.engine.record import Record
from cellsim.errors import DescriptionError, UsageError
from cellsim.evidence.equivalence import Comparison, difference, moved
from cellsim.study.folder import as_json, write_whole
from cellsim.study.kept import rules_name
from cellsim.study.marks import arithmetic
from cellsim.study.runner import Progress, Runner, Wanted
from cellsim.study.watched import WATCHED, values_of

MARGINS = {"output_per_hour": 0.01, "wip": 0.05, "lead_time": 0.05}  # shares (common practice, no source)
CHANCE = 0.01  # that the interval of a figure leaves out the truth in any of the looks
REPLICATIONS = 40  # of the first look
LOOKS = (1, 4, 16)  # how many times as many each look takes
VERSION = 2
LOG = "accepted.md"  # beside the baselines
Verdict = Literal["equal", "passed", "moved", "broken", "new", "wrong"]
FAILS = ("moved", "broken", "wrong")


@dataclass(frozen=True, slots=True)
class Baseline:
    """What was accepted of one cell: figures of each replication, and everything on which they depend.

    `first` is how many replications the first look of a night takes, and `arithmetic` a hash of results of
    the machine's mathematical functions.
    """

    name: str
    sha256: str
    rules: str
    arithmetic: str
    seed: int
    first: int
    values: dict[str, list[float]]

    def text(self) -> str:
        """As it is kept in a file."""
        return as_json({"version": VERSION} | {key: getattr(self, key) for key in self.__slots__})


class OtherVersion(UsageError):
    """A baseline that was written by another version of the program."""


def read_baseline(path: Path) -> Baseline:
    """A baseline from its file.

    Raises:
        OtherVersion: it is that of another version.
        UsageError: the file is no baseline.
    """
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        if data.pop("version") != VERSION:
            raise OtherVersion(f"{path} was written by another version; renew it with --accept")
        return Baseline(**data)
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as error:
        raise UsageError(f"{path} is no baseline ({error})") from None


def accepted_of(name: str, baselines: Path, accepting: bool) -> Baseline | None:
    """What was accepted of a cell; None where nothing was, or when `accepting` by another version only.

    Raises:
        UsageError: its file is no baseline, or without `accepting` one of another version.
    """
    path = baselines / f"{name}.json"
    try:
        return read_baseline(path) if path.exists() else None
    except OtherVersion:
        if accepting:
            return None
        raise


@dataclass
class Night:
    """What a night says of one cell: the verdict, one sentence for it, and each figure that was compared."""

    name: str
    verdict: Verdict
    why: str
    figures: dict[str, Comparison] = field(default_factory=dict)
    baseline: Baseline | None = None  # what would be accepted

    @property
    def failed(self) -> bool:
        """Whether the night fails by this cell."""
        return self.verdict in FAILS

    @property
    def open(self) -> bool:
        """Whether a figure may have moved by more than its margin, or not, and none surely did."""
        return not self.failed and any(one.verdict == "undecided" for one in self.figures.values())


def measured(
    cell: Cell,
    name: str,
    runner: Runner,
    seed: int,
    replications: int,
    first: int | None = None,
    progress: Progress | None = None,
) -> tuple[Baseline, str]:
    """Run a cell and take down its figures; and what is broken, empty where nothing is."""
    records: list[Record] = []
    for _, record in runner.each([Wanted(cell, seed, tuple(range(replications)))]):
        records.append(record)
        if progress is not None:
            progress(len(records), replications)
    records.sort(key=lambda record: record.replication)
    broken = next((f"replication {r.replication}: {r.violations[0]}" for r in records if r.violations), "")
    if not broken and any(record.reason == "locked" for record in records):
        count = sum(record.reason == "locked" for record in records)
        broken = f"the cell locks up in {count} of {replications} runs"
    found = {key: values_of(key, cell, records) for key in MARGINS}
    values = {key: row for key, row in found.items() if row is not None}
    of_this = (resolved_sha256(cell), rules_name(), arithmetic())
    return Baseline(name, *of_this, seed, first or replications, values), broken


def judged(before: Baseline, after: Baseline, margins: Mapping[str, float] = MARGINS) -> Night:
    """One night held against what was accepted; where it ran fewer replications, against as many of those."""
    changes = {
        "the cell": before.sha256 != after.sha256,
        "the rules": before.rules != after.rules,
        "the arithmetic of the machine": before.arithmetic != after.arithmetic,
        "the seed": before.seed != after.seed,
    }
    what = " and ".join(name for name, changed in changes.items() if changed)
    old, new = _of_both(before.values, after.values)
    if not what:
        if old == new:
            return Night(after.name, "equal", "equal to the last bit", baseline=after)
        return Night(after.name, "broken", "nothing has changed, yet the figures differ", baseline=after)
    gone = sorted(old.keys() - new.keys())
    if gone:
        return Night(after.name, "moved", f"{', '.join(gone)} cannot be told any more", baseline=after)
    paired = before.seed == after.seed
    figures = {key: _compared(old[key], new[key], margins[key], paired) for key in old}
    far = [key for key, found in figures.items() if found.verdict == "moved"]
    unclear = [key for key, found in figures.items() if found.verdict == "undecided"]
    if far:
        why = f"{', '.join(far)} moved by more than the margin"
    elif unclear:
        why = f"nothing surely moved by more than its margin; of {', '.join(unclear)} it cannot be told"
    else:
        why = "nothing moved by more than its margin"
    return Night(after.name, "moved" if far else "passed", f"{what} changed; {why}", figures, after)


Values = dict[str, list[float]]


def _of_both(old: Values, new: Values) -> tuple[Values, Values]:
    """The figures of the replications that both have."""
    count = min((len(row) for values in (old, new) for row in values.values()), default=0)
    return {key: row[:count] for key, row in old.items()}, {key: row[:count] for key, row in new.items()}


def _compared(old: Sequence[float], new: Sequence[float], share: float, paired: bool) -> Comparison:
    margin, chance = share * abs(math.fsum(old) / len(old)), CHANCE / len(LOOKS)
    if paired:
        return moved(old, new, margin, chance)
    gap = difference(old, new)
    low, high = gap.interval(1 - chance)
    if low > margin or high < -margin:
        return Comparison("moved", gap.mean, low, high, margin)
    inside = -margin < low and high < margin
    return Comparison("within the margin" if inside else "undecided", gap.mean, low, high, margin)


def cells_of(folder: Path) -> list[Path]:
    """The cell files of a folder, by name.

    Raises:
        UsageError: there is none.
    """
    found = sorted(path for path in folder.glob("*.yaml") if path.is_file())
    if not found:
        raise UsageError(f"{folder} holds no cell file (*.yaml)")
    return found


def settle_means(runner: Runner, paths: Sequence[Path], count: int, accepting: bool) -> None:
    """Choose clock and processes for a whole night, by the first cell that can be read."""
    for path in paths:
        try:
            cell = load(path)
        except DescriptionError:
            continue  # the night tells it
        looks = LOOKS[0] + (LOOKS[-1] if accepting else 0)
        return runner.settle_means(cell, looks * count * len(paths))


def one_night(
    path: Path,
    baselines: Path,
    runner: Runner,
    *,
    seed: int | None = None,
    replications: int | None = None,
    margins: Mapping[str, float] | None = None,
    accepting: bool = False,
    progress: Progress | None = None,
) -> Night:
    """Run one cell of the folder and hold it against its baseline, with the seed and number of that.

    A cell that cannot be read, locks up or breaks a law fails; one without a baseline is new.  Margins are
    those of the call, else those of the cell file, else MARGINS.  With `accepting` a cell that is not equal
    is run as often as a baseline needs.
    """
    name = path.stem
    accepted = accepted_of(name, baselines, accepting)
    try:
        cell = load(path)
    except DescriptionError as error:
        return Night(name, "wrong", str(error))
    count = replications or (accepted.first if accepted else REPLICATIONS)
    number = seed if seed is not None else accepted.seed if accepted else cell.study.seed
    wide = {**MARGINS, **dict(cell.margins), **(margins or {})}

    def look(runs: int) -> Night:
        found, broken = measured(cell, name, runner, number, runs, count, progress)
        if broken:
            return Night(name, "broken", broken, baseline=found)
        if accepted is None:
            old = (baselines / f"{name}.json").exists()
            why = (
                "its baseline is of another version"
                if old
                else "there is no baseline yet; --accept makes one"
            )
            return Night(name, "new", why, baseline=found)
        return judged(accepted, found, wide)

    night = look(LOOKS[0] * count)
    if accepting and night.verdict in ("new", "passed", "moved"):
        return look(LOOKS[-1] * count)
    for times in LOOKS[1:]:
        if not night.open:
            break
        night = look(times * count)
    return night


def accept(nights: Sequence[Night], baselines: Path, why: str, date: str) -> list[str]:
    """Renew the baselines of all cells that ran and are not equal, and take down why.

    Returns:
        The names of the cells that were renewed.

    Raises:
        UsageError: a cell is broken or wrong, or no reason is given.
    """
    if not why.strip():
        raise UsageError("--accept takes a reason in words, which is kept")
    for night in nights:
        if night.verdict in ("broken", "wrong"):
            raise UsageError(f"{night.name} cannot be accepted: {night.why}; nothing was written")
    baselines.mkdir(parents=True, exist_ok=True)
    renewed = []
    log = baselines / LOG
    lines = log.read_text(encoding="utf-8") if log.exists() else "# Baselines and why they were accepted\n"
    for night in nights:
        if night.verdict == "equal" or night.baseline is None:
            continue
        there = baselines / f"{night.name}.json"
        old = _told(there)
        write_whole(there, night.baseline.text())
        lines += f"\n- {date}, {night.name}: {old} -> {_means(night.baseline)}. {why.strip()}"
        renewed.append(night.name)
    if renewed:
        write_whole(log, lines.rstrip("\n") + "\n")
    return renewed


def _told(path: Path) -> str:
    """What was accepted until now, for the log."""
    if not path.exists():
        return "none"
    try:
        return _means(read_baseline(path))
    except OtherVersion:
        return "made by another version"


def _means(baseline: Baseline) -> str:
    return ", ".join(
        f"{key} {math.fsum(row) / len(row):.6g} {WATCHED[key].unit}" for key, row in baseline.values.items()
    )
