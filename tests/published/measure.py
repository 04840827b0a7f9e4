"""Measure the published values as sharply as wanted: `python tests/published/measure.py --half-width 0.002`.

Each entry is replicated until the half width of its 99 % interval is small enough, or the time is over.  The
verdict uses the wider interval of the suite (`verdicts.LEVEL`), with the tolerance of the entry.
"""

from __future__ import annotations

import argparse
import math
import sys
import time
from collections.abc import Sequence

from published_values import PUBLISHED, Published
from verdicts import LEVEL, Verdict, judge, measurements

from cellsim.describe.resolve import load_text
from cellsim.engine.model import compile_cell
from cellsim.engine.record import Record
from cellsim.study.plan import make_plan
from cellsim.study.runner import run_replications

RESERVE = 1.1  # replications beyond the forecast, so that the next look is mostly the last
SLICE = 40  # replications between two looks at the time


def needed(verdict: Verdict, replications: int, half_width: float) -> int:
    """Forecast of the replications in all for a half width: it shrinks with the root of their number."""
    return math.ceil(RESERVE * replications * (verdict.half_width / half_width) ** 2)


def measure(
    entries: Sequence[Published], half_width: float, workers: int, until: float
) -> list[tuple[Verdict, int]]:
    """Verdict on each entry of one cell and the replications behind it; stops at `until` (time.monotonic)."""
    cell = load_text(entries[0].cell)
    flat, plan = compile_cell(cell), make_plan(cell)
    records: list[Record] = []
    wanted = cell.study.replications
    while True:
        while len(records) < wanted and (not records or time.monotonic() < until):
            numbers = range(len(records), min(wanted, len(records) + max(SLICE, cell.study.replications)))
            study = run_replications(cell, cell.study.seed, numbers, workers=workers)
            if study.interrupted:
                raise KeyboardInterrupt
            assert not any(record.violations for record in study.records), "a run broke its own laws"
            records += study.records
        found = [judge(entry, measurements(entry, flat, plan, records)) for entry in entries]
        if all(verdict.half_width <= half_width for verdict in found) or time.monotonic() >= until:
            return [(verdict, len(records)) for verdict in found]
        wanted = max(len(records) + 1, *(needed(verdict, len(records), half_width) for verdict in found))


def words(verdict: Verdict, half_width: float) -> str:
    """The verdict as printed."""
    if not verdict.agrees:
        return "DIFFERS"
    return "agrees" if verdict.half_width <= half_width else "agrees, but not yet sharp"


def by_cell(entries: Sequence[Published]) -> list[list[Published]]:
    """Entries of the same cell together, since they share its runs."""
    groups: dict[str, list[Published]] = {}
    for entry in entries:
        groups.setdefault(entry.cell, []).append(entry)
    return list(groups.values())


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the table; 1 when a value differs, 2 when the request is wrong."""
    parser = argparse.ArgumentParser(description="Measure published values with the simulator.")
    parser.add_argument(
        "--half-width", type=float, default=0.01, help="of the 99 %% interval, relative: 0.002"
    )
    parser.add_argument("--workers", type=int, default=1, help="processes")
    parser.add_argument(
        "--only", action="append", metavar="ID", help="entries whose id contains this; repeat"
    )
    parser.add_argument("--minutes", type=float, default=60.0, help="stop after so long")
    options = parser.parse_args(arguments)
    if not 0 < options.half_width < 1 or options.workers < 1 or not options.minutes > 0:
        parser.error("a half width is between 0 and 1, workers are at least 1, minutes above 0")
    only = options.only or [""]
    chosen = [entry for entry in PUBLISHED if any(part in entry.id for part in only)]
    if not chosen:
        parser.error(f"no id contains {' or '.join(only)}; the ids are: {', '.join(e.id for e in PUBLISHED)}")
    until = time.monotonic() + 60 * options.minutes
    print(f"half width: of the 99 % interval, wanted {options.half_width:.2%}; verdict at {LEVEL:.3%}")
    print(f"{'id':34}{'value':>10}{'tolerance':>11}{'measured':>11}{'half width':>12}{'runs':>6}  verdict")
    differ = False
    for group in by_cell(chosen):
        for entry, (found, runs) in zip(
            group, measure(group, options.half_width, options.workers, until), strict=True
        ):
            differ |= not found.agrees
            print(
                f"{entry.id:34}{entry.value:10.4f}{entry.tolerance:11.1%}{found.measured:11.4f}"
                f"{found.half_width:12.3%}{runs:6d}  {words(found, options.half_width)}",
                flush=True,
            )
    return 1 if differ else 0


if __name__ == "__main__":
    try:
        sys.exit(main())
    except KeyboardInterrupt:
        sys.exit("interrupted; the rows above are complete")
