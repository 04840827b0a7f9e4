"""The replications of one cell: so many, or until its output is known well enough."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field

from cellsim.describe.cell import Cell
from cellsim.engine.clocks import AUTO, SIMPY
from cellsim.engine.record import Record
from cellsim.study.precision import Precision, forecast, next_count, stop_at
from cellsim.study.runner import Progress, Runner, Wanted, uninterrupted
from cellsim.study.watched import CHIEF, values_of

DEFAULT_REPLICATIONS = 100

Keep = Callable[[Record], None]


@dataclass
class Study:
    """The replications of a study in order; under which clock; `interrupted` when somebody stopped it.

    `reached`: whether the precision that was asked for was; None where none was.
    """

    clock: str = SIMPY
    records: list[Record] = field(default_factory=list)
    interrupted: bool = False
    reached: bool | None = None


def study_of(cell: Cell, replications: int | None, seed: int | None) -> tuple[int, int]:
    """How many replications and which seed: what is asked for, else what the cell says."""
    count = replications or cell.study.replications or DEFAULT_REPLICATIONS
    return count, cell.study.seed if seed is None else seed


def replicate(
    runner: Runner,
    cell: Cell,
    seed: int,
    wanted: Iterable[int] | Precision,
    *,
    done: Sequence[Record] = (),
    keep: Keep | None = None,
    progress: Progress | None = None,
) -> Study:
    """Replications with these numbers, or 0, 1, 2, ... until the interval of output is narrow enough.

    `done` are replications that are there already.  `progress(done, of)` is called in this process after
    each record, `keep(record)` for each that is new, in order of completion.  Ctrl-C ends the study cleanly
    with what is finished; of a study to a precision that are the numbers up to the first that is missing.
    """
    study = Study(records=list(done))

    def add(numbers: Iterable[int], of: int | None = None) -> None:
        there = {record.replication for record in study.records}
        missing = tuple(k for k in numbers if k not in there)
        total = len(study.records) + len(missing)
        for _, record in runner.each([Wanted(cell, seed, missing)] if missing else []):
            with uninterrupted():
                if keep is not None:
                    keep(record)
                study.records.append(record)
            if progress is not None:
                progress(len(study.records), max(total, of or 0))

    try:
        if isinstance(wanted, Precision):
            _to_precision(study, cell, wanted, add)
        else:
            add(wanted)
    except KeyboardInterrupt:
        study.interrupted = True
    study.clock = SIMPY if runner.clock == AUTO else runner.clock
    study.records.sort(key=lambda record: record.replication)
    if isinstance(wanted, Precision):
        study.records = _unbroken(study.records)
    return study


def _unbroken(records: Sequence[Record]) -> list[Record]:
    """The records with the numbers 0, 1, 2, ... up to the first that is missing."""
    return [record for k, record in enumerate(records) if record.replication == k]


def _to_precision(
    study: Study, cell: Cell, wanted: Precision, add: Callable[[Iterable[int], int | None], None]
) -> None:
    """Add replications until the rule is met, or the most are there; drop what was run beyond."""
    study.reached = False
    count, of = wanted.least, wanted.least
    while True:
        add(range(count), of)
        study.records.sort(key=lambda record: record.replication)
        figures = [values_of(CHIEF, cell, study.records[: wanted.most]) or []]
        stop = stop_at(figures, wanted)
        if stop is not None:
            study.records = study.records[: stop.run]
            study.reached = True
            return
        if count >= wanted.most:
            study.records = study.records[: wanted.most]
            return
        of, count = forecast(figures, wanted), next_count(figures, wanted)


def run_replications(
    cell: Cell,
    seed: int,
    replications: Iterable[int],
    *,
    clock: str = AUTO,
    workers: int | None = 1,
    executor: Executor | None = None,
    progress: Progress | None = None,
    keep: Keep | None = None,
    announce: Callable[[str], None] | None = None,
) -> Study:
    """Run the replications with these numbers; the records come back in order of number.

    The clock changes no figure, and neither does the number of processes or the executor; `auto` and None
    have them chosen by the amount of work.  `announce(text)` is called before and after what takes long.
    """
    with Runner(clock=clock, workers=workers, executor=executor, announce=announce) as runner:
        return replicate(runner, cell, seed, replications, keep=keep, progress=progress)
