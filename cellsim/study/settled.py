"""Whether a study that lets its cell settle first does so long enough, and counts long enough after that."""

from __future__ import annotations

from collections.abc import Sequence

from cellsim.describe.cell import Cell
from cellsim.engine.calendars import start_of_run, week_pattern
from cellsim.engine.record import Record
from cellsim.study.plan import Plan, on_time
from cellsim.study.rounds import FloatArray, Series, intervals, rounds_of, series
from cellsim.study.statistics import t_interval
from cellsim.study.warmup import GROUP, truncate
from cellsim.units import HOUR

TIMES = 10  # a run should count so many times what is dropped (J. Banks and others; from memory)
LEAST = 10 * GROUP  # intervals below which the rule says nothing
FEWEST = 5  # replications below which nobody can tell a trend from luck
SURE = 0.999  # level at which two stretches of a series are said to differ
MATTERS = 0.003  # of the mean: a difference below it matters to nobody


def differs(early: FloatArray, late: FloatArray, level: float = SURE) -> bool:
    """Whether two stretches of the same replications differ on average: paired Student's t, (n,) each."""
    apart = t_interval((late - early).tolist(), level)
    return apart.low is not None and apart.high is not None and not apart.low <= 0 <= apart.high


def unsettled(found: Series) -> list[str]:
    """Which of output and work in progress still changes at the start of these series, or to their end.

    The rule for dropping alone cries too often, since it drops something of most settled series: so what it
    would drop, or the first half where it finds no place, must also differ from the rest by more than luck
    (SURE) and by what matters (MATTERS).
    """
    names = []
    for name, values in found.each():
        cut = truncate(values.mean(axis=0).tolist())
        at = values.shape[1] // 2 if cut.too_short else cut.dropped
        if not at:
            continue
        early, late = values[:, :at].mean(axis=1), values[:, at:].mean(axis=1)
        if differs(early, late) and abs(late.mean() - early.mean()) > MATTERS * abs(late.mean()):
            names.append({"output": "output", "wip": "work in progress"}[name])
    return names


def settling_remarks(cell: Cell, plan: Plan, records: Sequence[Record]) -> list[str]:
    """What is to be said of the settling time of a study, in sentences; nothing where it has none.

    A study that counts no more shifts than repeat themselves, or begins as shifts before left the cell, asks
    what a shift makes, not for the long run: it need not be ten times as long.
    """
    if not plan.counted_from:
        return []
    said = []
    rounds = rounds_of(cell)
    settling = on_time(week_pattern(cell.shifts, start_of_run(cell)), 0, plan.counted_from)
    of_a_shift = cell.study.start == "as left" or 0 < plan.shifts <= rounds.spans
    if not of_a_shift and plan.worked < TIMES * settling:
        said.append(
            f"The run counts {plan.worked / HOUR:.4g} working hours after {settling / HOUR:.4g} for settling;"
            f" for a long-run rate it should be {TIMES} times as many."
        )
    groups = intervals(rounds, plan)
    if len(groups) >= LEAST and len(records) >= FEWEST:
        names = unsettled(series(plan, groups, records))
        if names:
            verb = "change" if len(names) > 1 else "changes"
            said.append(
                f"The settling time looks too short: {' and '.join(names)} still {verb} while counting;"
                f" cellsim warmup says how long it takes."
            )
    return said
