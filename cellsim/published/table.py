"""All known results, topic after topic, and which of them are checked."""

from __future__ import annotations

from collections.abc import Sequence

from cellsim.errors import UsageError
from cellsim.published import (
    assembly,
    batches,
    closed_lines,
    effective_times,
    intervals,
    key_figures,
    line_balancing,
    lines,
    lines_laws,
    lines_unequal,
    lots,
    practice,
    quality,
    queue_examples,
    queues,
    rework,
    stops,
    stops_by_cycles,
    tending,
    tending_examples,
    tending_rounds,
    traces_lines,
    traces_material,
    traces_people,
    traces_robots,
    traces_stops,
    two_with_buffer,
    work_study,
)
from cellsim.published.entry import Published

TABLE: tuple[Published, ...] = (
    *queues.ENTRIES,
    *queue_examples.ENTRIES,
    *lines.ENTRIES,
    *lines_unequal.ENTRIES,
    *lines_laws.ENTRIES,
    *assembly.ENTRIES,
    *stops.ENTRIES,
    *effective_times.ENTRIES,
    *two_with_buffer.ENTRIES,
    *stops_by_cycles.ENTRIES,
    *tending.ENTRIES,
    *tending_rounds.ENTRIES,
    *tending_examples.ENTRIES,
    *closed_lines.ENTRIES,
    *batches.ENTRIES,
    *lots.ENTRIES,
    *rework.ENTRIES,
    *quality.ENTRIES,
    *traces_lines.ENTRIES,
    *traces_stops.ENTRIES,
    *traces_people.ENTRIES,
    *traces_material.ENTRIES,
    *traces_robots.ENTRIES,
    *practice.ENTRIES,
    *work_study.ENTRIES,
    *key_figures.ENTRIES,
    *line_balancing.ENTRIES,
    *intervals.ENTRIES,
)


def choose(table: Sequence[Published], only: Sequence[str], full: bool) -> list[Published]:
    """The entries of the quick or the full set whose id or topic contains one of these texts; all for none.

    Raises:
        UsageError: no entry contains any of them.
    """
    there = [entry for entry in table if full or not entry.full_only]
    words = [text.casefold() for text in only] or [""]
    chosen = [e for e in there if any(text in f"{e.id} {e.topic}".casefold() for text in words)]
    if not chosen:
        topics = "; ".join(dict.fromkeys(entry.topic for entry in table))
        raise UsageError(f"no entry contains {' or '.join(only)}; the topics are: {topics}")
    return chosen
