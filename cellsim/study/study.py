"""One call from a cell to an answer: a run, a comparison, the places of stores, and what limits.

The answers are those that the commands write as JSON.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

from cellsim.describe import reader
from cellsim.describe.cell import Cell
from cellsim.describe.ranges import aimed, read_ranges
from cellsim.describe.resolve import load
from cellsim.engine.clocks import AUTO
from cellsim.errors import UsageError
from cellsim.study import limits as limits_found
from cellsim.study import sensitivity as inputs_found
from cellsim.study import size_buffers as buffers_found
from cellsim.study.compare import Alternative, comparison, run_pairs
from cellsim.study.means import means
from cellsim.study.precision import as_precision
from cellsim.study.provenance import versions
from cellsim.study.replicate import replicate, study_of
from cellsim.study.result import result_of
from cellsim.study.runner import Progress, Runner
from cellsim.study.sensitivity import Effort
from cellsim.study.size_buffers import PerStore
from cellsim.study.unknowns import unknowns

File = str | os.PathLike[str]
Announce = Callable[[str], None]


def run(
    cell: Cell,
    *,
    replications: int | None = None,
    precision: float | str | None = None,
    seed: int | None = None,
    workers: int | None = 1,
    scheduler: str | None = None,
    clock: str = AUTO,
    kept_in: File | None = None,
    progress: Progress | None = None,
    announce: Announce | None = None,
) -> dict[str, Any]:
    """Run a cell and return its figures in the keys of `result.json`.

    After Ctrl-C the figures are those of what is finished, which `interrupted` says.

    Args:
        replications: how many; without it those of the cell's study.
        precision: run until the 95 % interval of output per hour is so narrow to each side, as a share of
            the mean (0.02 or `2 %`); `replications` is then the most.
        seed: fixes all random times; without it that of the cell's study.
        workers: a number of processes, or None to have it chosen.
        scheduler: the address of the scheduler of a Dask cluster that does the work instead.
        clock: `simpy`, `compiled` or `auto`; it changes no figure.
        kept_in: a file of finished replications; those that are there are not run again.
        progress: called as `progress(done, of)` after each replication.
        announce: called with a text when something takes long, such as compiling.

    Raises:
        UsageError: an argument makes no sense, or the cluster or the file cannot be used.
        WorkersLost: processes or the cluster were lost in the middle of the study.
    """
    count, number = study_of(cell, replications, seed)
    wanted = range(count) if precision is None else as_precision(precision, replications)
    with means(
        clock=clock, workers=workers, scheduler=scheduler, kept_in=kept_in, announce=announce
    ) as runner:
        study = replicate(runner, cell, number, wanted, progress=progress)
    if not study.records:
        raise KeyboardInterrupt
    return result_of(cell, number, study, count, precision)


def compare(
    base: Cell,
    proposals: Mapping[str, Cell],
    *,
    replications: int | None = None,
    precision: float | str | None = None,
    seed: int | None = None,
    workers: int | None = 1,
    scheduler: str | None = None,
    clock: str = AUTO,
    kept_in: File | None = None,
    progress: Progress | None = None,
    announce: Announce | None = None,
) -> dict[str, Any]:
    """Compare proposals, by name, with a cell as it is; all are run with the same luck.

    Runs so many `replications` (those of the base's study where none are given), or until every difference of
    output is known to `precision`, a share of the base's output.  The other arguments are those of `run`.

    Returns:
        The answer in the keys of `cellsim compare --json`: `base`, `proposals` with `figures` and
        `differences`, `replications`, `level`.

    Raises:
        ValueError: there is no proposal, or fewer than two replications.
        AuditFailure: a run broke one of its own laws.
        UsageError, WorkersLost: as for `run`.
    """
    count, number = study_of(base, replications, seed)
    wanted = count if precision is None else as_precision(precision, replications)
    if not proposals or count < 2:
        raise ValueError("a comparison takes a base, a proposal and two replications of each")
    alternatives = [Alternative(base.name, base), *(Alternative(n, cell) for n, cell in proposals.items())]
    with means(
        clock=clock, workers=workers, scheduler=scheduler, kept_in=kept_in, announce=announce
    ) as runner:
        found = run_pairs(alternatives, number, wanted, runner, progress)
        found.stop_if_broken(number)
        if len(found.records[0]) < 2:
            raise KeyboardInterrupt
        answer = _signed(comparison(found), number, runner)
    if found.interrupted:
        answer["interrupted"] = True
    return answer


def size_buffers(
    cell: Cell,
    *,
    target: float | str | None = None,
    total: int | None = None,
    earns: float | None = None,
    place_costs: PerStore | None = None,
    least: PerStore | None = None,
    most: PerStore | None = None,
    area: PerStore | None = None,
    room: float | None = None,
    stores: Sequence[str] = (),
    matters: float | str | None = None,
    seed: int | None = None,
    workers: int | None = 1,
    scheduler: str | None = None,
    clock: str = AUTO,
    kept_in: File | None = None,
    progress: Progress | None = None,
    announce: Announce | None = None,
) -> dict[str, Any]:
    """Size the stores: fewest places for a rate, best use of a number of places, or best profit.

    Args:
        target: the rate to make, good units per working hour or a text (`115 per h`); without any goal that
            of the cell.
        total: or so many places, to be used best.
        earns: or what a good unit earns, for the best profit; needs `place_costs`.
        place_costs: what a place costs per working hour; like all values by store one number for all, or a
            mapping.
        least, most: fewest and most places, by store.
        area, room: floor space of a place, by store, and in all, m2.
        stores: change only these; without it all that have places.
        matters: smallest difference of output that matters, per hour; without it 0.3 % of the output.
        progress: called as `progress(allocations, replications)` as the search goes on.

    The other arguments are those of `run`.

    Returns:
        The answer in the keys of `cellsim buffers --json`: `places`, `rate`, `enough`, `one_less`,
        `one_more`, `curve`.

    Raises:
        UsageError: what is wanted makes no sense, or cannot be reached.
        WorkersLost: as for `run`.
    """
    _, number = study_of(cell, None, seed)
    with means(
        clock=clock, workers=workers, scheduler=scheduler, kept_in=kept_in, announce=announce
    ) as runner:
        answer = buffers_found.size_buffers(
            cell,
            runner,
            number,
            target=target,
            total=total,
            earns=earns,
            place_costs=place_costs,
            least=least,
            most=most,
            area=area,
            room=room,
            stores=stores,
            matters=matters,
            heard=progress,
        )
        return _signed(answer, number, runner)


def limits(
    cell: Cell,
    *,
    replications: int | None = None,
    seed: int | None = None,
    workers: int | None = 1,
    scheduler: str | None = None,
    clock: str = AUTO,
    kept_in: File | None = None,
    progress: Progress | None = None,
    announce: Announce | None = None,
) -> dict[str, Any]:
    """What limits output, and what ten per cent less, or one more, of something would buy; as for `run`.

    Returns:
        The answer in the keys of `cellsim limits --json`: `output_per_hour`, `losses`, `arrows`, `changes`.

    Raises:
        UsageError: there are fewer than two replications, or as for `run`.
        WorkersLost: as for `run`.
    """
    count, number = study_of(cell, replications, seed)
    if count < 2:
        raise UsageError("differences take at least two replications")
    with means(
        clock=clock, workers=workers, scheduler=scheduler, kept_in=kept_in, announce=announce
    ) as runner:
        runner.settle_means(cell, count * limits_found.USUAL_CELLS)
        answer = limits_found.limits(cell, number, count, runner, progress)
        return _signed(answer, number, runner)


def sensitivity(
    file: File,
    *,
    ranges: Sequence[str] = (),
    only: bool = False,
    shares: bool = False,
    replications: int | None = None,
    seed: int | None = None,
    workers: int | None = 1,
    scheduler: str | None = None,
    clock: str = AUTO,
    kept_in: File | None = None,
    progress: Progress | None = None,
    announce: Announce | None = None,
) -> dict[str, Any]:
    """Which number of a cell file to measure better; as for `run`.

    Args:
        file: of the cell, since ranges are about what stands in it.
        ranges: between which limits values lie, `stations.press.cycle: 20 s to 26 s` each.
        only: vary nothing but these.
        shares: also find the share of each input that matters, more exactly.

    Returns:
        The answer in the keys of `cellsim sensitivity --json`: `inputs`, `verdict`, `not_knowing`, `shares`.

    Raises:
        DescriptionError: the file or a range is wrong.
        UsageError: nothing is uncertain, there are fewer than two replications, or as for `run`.
        WorkersLost: as for `run`.
    """
    path = Path(file)
    tree = reader.read_text(reader.read_file(path), path.name)
    unknown = unknowns(lambda changes: load(path, changes), aimed(read_ranges(ranges), tree), only)
    count, number = study_of(unknown.cell, replications, seed)
    if not unknown.inputs:
        raise UsageError("nothing about this cell is uncertain; give ranges")
    if count < 2:
        raise UsageError("an interval takes at least two replications")
    effort = Effort(count, shares=shares)
    with means(
        clock=clock, workers=workers, scheduler=scheduler, kept_in=kept_in, announce=announce
    ) as runner:
        runner.settle_means(unknown.cell, effort.runs(len(unknown.inputs)))
        answer = inputs_found.sensitivity(unknown, number, effort, runner, progress)
        return _signed(answer, number, runner)


def _signed(answer: dict[str, Any], seed: int, runner: Runner) -> dict[str, Any]:
    """An answer with where it comes from."""
    return answer | {"provenance": versions() | {"seed": seed, "clock": runner.clock}}
