"""Hour-by-hour sheets of real and simulated shifts, mixed, for people who know the cell to tell apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import binom

from cellsim.describe.cell import Cell
from cellsim.engine.record import Record
from cellsim.errors import UsageError
from cellsim.evidence.observed import RealShift, spans_of
from cellsim.study.plan import make_plan

CHANCE = 0.05  # that mere guessing passes for knowing
SHEETS = 16  # fewer find a judge who is right in three of four cases in less than 63 %
FEWEST = 8


@dataclass(frozen=True, slots=True)
class Sheet:
    """Units of each hour of a shift, with the labels of its hours, and whether it was real."""

    hours: tuple[str, ...]
    units: tuple[int, ...]
    real: bool


def correct_needed(sheets: int, chance: float = CHANCE) -> int:
    """The fewest right answers of a judge that guessing reaches with at most this chance (binomial).

    One more than the number of sheets where not even all right would do.
    """
    return next((k for k in range(sheets + 1) if binom.sf(k - 1, sheets, 0.5) <= chance), sheets + 1)


def chance_found(sheets: int, skill: float, chance: float = CHANCE) -> float:
    """The chance that a judge who is right with this share is told from one who guesses."""
    return float(binom.sf(correct_needed(sheets, chance) - 1, sheets, skill))


def mixed_sheets(
    cell: Cell, real: Sequence[RealShift], records: Sequence[Record], seed: int, sheets: int = SHEETS
) -> list[Sheet]:
    """Shifts of which each is real or simulated by the toss of a coin, drawn without repeat.

    So a judge cannot count on half of each, and guessing is right by the binomial law.

    Raises:
        UsageError: there are fewer than FEWEST whole shifts or replications.
    """
    plan = make_plan(cell)
    spans = spans_of(plan)
    count = min(sheets, len(real), len(records))
    if count < FEWEST:
        raise UsageError(
            f"{len(real)} whole shifts and {len(records)} replications; sheets for judges take {FEWEST} of"
            " each at least"
        )
    luck = np.random.default_rng(seed)
    shifts = [real[k] for k in luck.permutation(len(real))[:count]]
    runs = [records[k] for k in luck.permutation(len(records))[:count]]
    found = []
    for shift, record, is_real in zip(shifts, runs, luck.random(count) < 0.5, strict=True):
        choices = spans[shift.begins]
        span = choices[int(luck.integers(len(choices)))]
        labels = tuple(plan.hours[k].label for k in span)
        counted = shift.hours if is_real else [record.hourly[k] for k in span]
        found.append(Sheet(labels, tuple(round(units) for units in counted), bool(is_real)))
    return found


def sheets_text(sheets: Sequence[Sheet], name: str) -> str:
    """The sheets to print, all of one layout, with what the judge is to do."""
    lines = [
        f"{name}: which of these shifts were real?",
        "",
        f"For each of these {len(sheets)} sheets a coin was tossed: a real shift, or one of the model.",
        "Write real or model under each, and why you think so.",
    ]
    for number, sheet in enumerate(sheets, 1):
        lines += ["", f"Sheet {number}"]
        lines += [f"  {hour:<13}{units:>6}" for hour, units in zip(sheet.hours, sheet.units, strict=True)]
        lines += [f"  {'shift':<13}{sum(sheet.units):>6}", "  real / model, because:"]
    return "\n".join(lines) + "\n"


def key_text(sheets: Sequence[Sheet], name: str) -> str:
    """The answers, and what a number of right ones says."""
    count = len(sheets)
    needed = correct_needed(count)
    by_luck, found = binom.sf(needed - 1, count, 0.5), chance_found(count, 0.75)
    lines = [f"{name}: the answers; not for the judge", ""]
    lines += [
        f"Sheet {number}: {'real' if sheet.real else 'model'}" for number, sheet in enumerate(sheets, 1)
    ]
    lines += [
        "",
        f"{needed} or more right answers of {count}: the judge can tell the model from the cell",
        f"(guessing reaches that in {by_luck:.1%}). Ask what he saw: that is worth more than the number.",
        f"Fewer say little: who is right in three of four cases reaches {needed} in {found:.0%} only.",
    ]
    return "\n".join(lines) + "\n"
