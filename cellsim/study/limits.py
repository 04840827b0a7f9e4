"""What limits output, and what changes buy: the critical path, other hints, measured differences."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from cellsim.describe.cell import Cell
from cellsim.engine import layout as L
from cellsim.engine.model import compile_cell
from cellsim.engine.record import Record
from cellsim.engine.tables import FlatCell
from cellsim.study.broken import stop_if_broken
from cellsim.study.compare import Alternative, comparison, run_pairs
from cellsim.study.hints import WATCHED_RUNS, active_periods, hints, pointed_at
from cellsim.study.improvements import Improvement, improvements
from cellsim.study.losses import loss_account, most_gain
from cellsim.study.replicate import replicate
from cellsim.study.runner import Progress, Runner
from cellsim.study.standing import machines_of, pressure, share_of_time, sides
from cellsim.study.statistics import t_interval
from cellsim.study.watched import CHIEF, values_of

SHARE = 0.1  # by how much times are made shorter and stops rarer
# Changes that are measured: by what the path promises, of one thing that is added, of two together.
MOST_TIMES, MOST_ADDED, MOST_PAIRS = 8, 8, 4
USUAL_CELLS = 1 + MOST_TIMES + MOST_ADDED + MOST_PAIRS
LEAST_NEED = 0.5  # of the time that a machine and a post must be at work for both together to be tried
LEAST_PROMISE = 0.001  # of the output: what the path promises less of is not measured


def chosen(
    cell: Cell, flat: FlatCell, records: Sequence[Record], account: Mapping[str, Any]
) -> list[tuple[Improvement, float | None]]:
    """The changes that are worth measuring, each with what the path promises at most in units per hour.

    Times and stops by their share of the critical path; of what is added first the posts and stations that
    are at work most, and the stores between a blocked and a starved station; then stations with their people.
    """
    rate = t_interval(values_of(CHIEF, cell, list(records)) or [0.0]).mean
    promise = {
        (row["who"], row["what"]): most_gain(row, SHARE) * rate
        for row in account["causes"]
        if row["elasticity"] is not None
    }
    found = improvements(cell, SHARE)
    timed = [(each, promise.get(each.cause, 0.0)) for each in found if each.cause is not None]
    timed = [(each, gain) for each, gain in timed if gain > LEAST_PROMISE * rate]
    timed.sort(key=lambda pair: -pair[1])
    added = [(_need(flat, records, each), each) for each in found if each.cause is None]
    added.sort(key=lambda pair: -pair[0])
    alone = [each for _, each in added if len(each.adds) == 1]
    together = [each for need, each in added if len(each.adds) > 1 and need >= LEAST_NEED]
    return [*timed[:MOST_TIMES], *((each, None) for each in [*alone[:MOST_ADDED], *together[:MOST_PAIRS]])]


def _need(flat: FlatCell, records: Sequence[Record], each: Improvement) -> float:
    """How much a cell seems to be short of all that is added: a hint by shares of time."""
    return min(_need_of(flat, records, section, name) for section, name, *_ in each.adds)


def _need_of(flat: FlatCell, records: Sequence[Record], section: str, name: str) -> float:
    if section == "stores":
        return pressure(records, sides(flat, name))
    if section == "stations":
        machines = machines_of(flat, name)
        return 1 - share_of_time(
            [r.machines[i] for r in records for i in machines], (L.M_STARVED, L.M_BLOCKED)
        )
    actors = [a for a, post in enumerate(flat.names.posts) if post == name]
    return 1 - share_of_time([r.actors[a] for r in records for a in actors], (L.A_FREE,))


def limits(
    cell: Cell,
    seed: int,
    replications: int,
    runner: Runner,
    progress: Progress | None = None,
    begin: Callable[[str, int], None] = lambda what, of: None,
) -> dict[str, Any]:
    """The account of the path, where other hints point, and what some changes buy, measured in pairs.

    It has three stages: the cell as it is, the changes, and runs that are watched closely.  `begin(what, of)`
    is called as each begins, `progress(done, of)` as it goes on.

    Raises:
        ValueError: fewer than two replications were run.
        AuditFailure: a run broke one of its own laws.
        KeyboardInterrupt: somebody stopped it before all changes were run twice.
    """
    flat = compile_cell(cell)
    begin("runs of the cell as it is", replications)
    study = replicate(runner, cell, seed, range(replications), progress=progress)
    if study.interrupted:
        raise KeyboardInterrupt
    stop_if_broken(study.records, seed)
    account = loss_account(flat, study.records)
    picked = chosen(cell, flat, study.records, account)
    alternatives = [Alternative(cell.name, cell), *(Alternative(each.name, each.cell) for each, _ in picked)]
    begin("runs of the changes", replications * len(alternatives))
    found = run_pairs(alternatives, seed, replications, runner, progress)
    if found.interrupted:
        raise KeyboardInterrupt
    found.stop_if_broken(seed)
    answer = comparison(found)
    rows = []
    for row, (each, promised) in zip(answer["proposals"], picked, strict=True):
        rows.append(
            {
                "change": each.name,
                "cause": list(each.cause) if each.cause else None,
                "adds": [f"{'.'.join(where)}: {value}" for *where, value in each.adds],
                "promised": promised,
                "difference": row["differences"]["output_per_hour"],
            }
        )
    rows.sort(key=lambda row: -row["difference"]["mean"])
    watched = min(replications, WATCHED_RUNS)
    begin("runs watched for who is busy without a gap", watched)
    active = active_periods(flat, seed, watched, progress=progress)
    return {
        "output_per_hour": answer["base"]["figures"]["output_per_hour"],
        "losses": account,
        "hints": hints(flat, study.records, account, active),
        "arrows": pointed_at(flat, study.records),
        "active_periods": active,
        "changes": rows,
        "share": SHARE,
        "level": answer["level"],
        "replications": replications,
    }
