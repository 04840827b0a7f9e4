"""How much of a difference between two cells is not knowing the times, stops and shares of the cells."""

from __future__ import annotations

import numpy as np

from cellsim.describe.cell import Cell
from cellsim.money.flows import FloatArray
from cellsim.study.broken import stop_if_broken
from cellsim.study.not_knowing import Split, split
from cellsim.study.runner import Progress, Runner, Wanted
from cellsim.study.shares_of_variance import latin_hypercube
from cellsim.study.uncertain import Input, inputs_of
from cellsim.study.watched import CHIEF, values_of

EACH = 3  # runs of both cells at every draw of the inputs


def shared_inputs(base: Cell, proposal: Cell) -> list[tuple[Input | None, Input | None]]:
    """What is not known about two cells; an input with one name and value in both is one."""
    others = {(each.name, each.stands): each for each in inputs_of(proposal)}
    pairs: list[tuple[Input | None, Input | None]] = [
        (each, others.pop((each.name, each.stands), None)) for each in inputs_of(base)
    ]
    return [*pairs, *((None, each) for each in others.values())]


def variance_by_inputs(
    base: Cell, proposal: Cell, seed: int, draws: int, runner: Runner, progress: Progress | None = None
) -> Split | None:
    """Variance of the difference of output per hour by not knowing the inputs; None without inputs.

    Measured inputs vary as their samples allow, stated ones by 10 % to each side, assumed ones by 50 %.  A
    draw has luck of its own, the same for both cells.

    Raises:
        ValueError: there are fewer than two draws.
        AuditFailure: a run broke one of its own laws.
    """
    pairs = shared_inputs(base, proposal)
    if not pairs:
        return None
    points = latin_hypercube(len(pairs), draws, np.random.default_rng(seed))
    cells: list[Cell] = []
    for shares in points:
        one, other = base, proposal
        for share, (first, second) in zip(shares, pairs, strict=True):
            one = first.put(one, float(share)) if first else one
            other = second.put(other, float(share)) if second else other
        cells += [one, other]
    return split(_differences(cells, seed, draws, runner, progress))


def _differences(
    cells: list[Cell], seed: int, draws: int, runner: Runner, progress: Progress | None
) -> FloatArray:
    """Difference of good units per hour, (draws, EACH)."""
    rates = np.empty((2 * draws, EACH))
    requests = [
        Wanted(cell, seed, tuple(range(k // 2 * EACH, (k // 2 + 1) * EACH)), slim=True)
        for k, cell in enumerate(cells)
    ]
    for done, (index, record) in enumerate(runner.each(requests), start=1):
        stop_if_broken([record], seed)
        (value,) = values_of(CHIEF, cells[index], [record]) or [0.0]
        rates[index, record.replication - requests[index].numbers[0]] = value
        if progress is not None:
            progress(done, rates.size)
    return rates[1::2] - rates[0::2]
