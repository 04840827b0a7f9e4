"""Active periods and the momentary bottleneck: by hand, by their laws, and against an exact chain."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cellsim.describe.behaviours import behaviours
from cellsim.describe.resolve import load_text
from cellsim.engine.model import compile_cell
from cellsim.study.active_periods import (
    OFF_DUTY,
    WAITING,
    Period,
    bottleneck_chain,
    merged,
    shares_of,
    watch,
)
from cellsim.study.plan import make_plan
from cellsim.study.statistics import ratio_interval
from cellsim.study.worker import Worker
from cellsim.theory.chains import expected, explore, long_run_shares
from cellsim.theory.saturated import Standing, after_finish, standing
from cellsim.units import HOUR

MINUTE = 60_000_000
A, B, C = [(0, 4), (5, 12), (13, 20)], [(0, 7), (8, 10), (11, 20)], [(1, 3), (6, 9), (14, 16)]


def test_three_machines_by_hand():
    """B to 7, then A, which began at 5, to 12, then B, which began at 11.  By definition, worked by hand.

    Alone: B 0-5 and 12-20, A 7-11 of 20.  It shifts 5-7 and 11-12.
    """
    chain = bottleneck_chain([A, B, C], 0, 20)
    assert chain == [(1, (0, 7)), (0, (5, 12)), (1, (11, 20))]
    shares = shares_of(chain, 3, 0, 20)
    assert shares.sole == pytest.approx([0.20, 0.65, 0.0], abs=1e-12)
    assert shares.shifting == pytest.approx([0.15, 0.15, 0.0], abs=1e-12)
    assert shares.both == pytest.approx([0.275, 0.725, 0.0], abs=1e-12)


def test_periods_that_touch_are_one():
    """Work, repair and work again without a wait; what lies outside the window does not count."""
    assert merged([(4, 6), (0, 2), (2, 4), (9, 12), (20, 30), (7, 7)], 1, 10) == [(1, 6), (9, 10)]


def test_a_time_when_nobody_is_active_has_no_bottleneck():
    """Nobody from 0 to 2 and 4 to 6; of equal periods that of the machine named first counts."""
    chain = bottleneck_chain([[(2, 4)], [(2, 4), (6, 8)], [(6, 8)]], 0, 8)
    assert chain == [(0, (2, 4)), (1, (6, 8))]
    assert shares_of(chain, 3, 0, 8).both == [0.25, 0.25, 0.0]
    assert bottleneck_chain([[], []], 0, 8) == []


@pytest.mark.parametrize(
    ("periods", "start", "end", "words"),
    [([[(3, 2)]], 0, 5, "begins at 3 and ends before that, at 2"), ([[]], 5, 5, "from 5 to 5 has no length")],
)
def test_what_is_no_period_is_refused(periods, start, end, words):
    """A period that runs backwards, a window without length."""
    with pytest.raises(ValueError, match=words):
        bottleneck_chain(periods, start, end)


def test_shares_of_an_empty_window_are_refused():
    """As for the chain."""
    with pytest.raises(ValueError, match="has no length"):
        shares_of([], 1, 3, 3)


@st.composite
def logs(draw: st.DrawFn) -> list[list[Period]]:
    """Active periods of one to four machines within 0 to 30."""
    machines = []
    for _ in range(draw(st.integers(1, 4))):
        cuts = sorted(draw(st.sets(st.integers(0, 30), max_size=10)))
        machines.append(list(zip(cuts[::2], cuts[1::2], strict=False)))
    return machines


@given(logs())
def test_the_chain_keeps_its_laws(machines):
    """Each link is the longest period under way when the one before ends, and every active moment has a link.

    The shares are counted again, slot by slot.
    """
    chain = bottleneck_chain(machines, 0, 30)
    for (_, before), (_, link) in pairwise(chain):
        at = before[1] if link[0] <= before[1] else link[0]
        running = [p for row in machines for p in merged(row, 0, 30) if p[0] <= at < p[1]]
        assert link in running
        assert link[1] - link[0] == max(end - start for start, end in running)
        if at > before[1]:
            assert not any(p[0] < at and p[1] > before[1] for row in machines for p in row)
    count = len(machines)
    slots = [{who for who, p in chain if p[0] <= t < p[1]} for t in range(30)]
    active = [any(p[0] <= t < p[1] for row in machines for p in row) for t in range(30)]
    assert [bool(slot) for slot in slots] == active
    shares = shares_of(chain, count, 0, 30)
    for who in range(count):
        assert shares.sole[who] == pytest.approx(sum(slot == {who} for slot in slots) / 30)
        assert shares.shifting[who] == pytest.approx(sum(who in s and len(s) > 1 for s in slots) / 30)
    assert sum(shares.both) == pytest.approx(sum(active) / 30)


def watched(text: str, replication: int = 0):
    """The active periods of a cell in minutes, by machine, and how much working time was watched."""
    cell = load_text(text)
    plan = make_plan(cell)
    seen = watch(compile_cell(cell), 1, replication, plan.counted_from, plan.horizon, 10**9)
    periods = [[(start / MINUTE, end / MINUTE) for start, end in row] for row in seen.periods]
    return periods, seen.end / MINUTE


def test_a_run_by_hand():
    """A takes 2 minutes and jams for 3 after its third cycle; B takes 1 and has no place before it.

    A: 0-6 work, 6-9 jam, 9-12 work, with no wait: 0-12.  B: a unit at 2, 4, 6, 11 (the jam holds the next).
    """
    periods, end = watched(
        "cell: by hand\nroute: [A, B]\n"
        "stations: {A: {cycle: 2 min, stops: {jam: {every: 3 cycles, lasts: 3 min, exact: yes}}},"
        " B: {cycle: 1 min}}\nstudy: {run: 12 min}\n"
    )
    assert (periods, end) == ([[(0, 12)], [(2, 3), (4, 5), (6, 7), (11, 12)]], 12)


def test_a_wait_for_somebody_is_no_activity_and_a_break_no_time():
    """One person for two machines of 2 minutes, who take turns; a break of 10 minutes is cut out."""
    periods, end = watched(
        "cell: one person\nshifts: {day: {from: 06:00, to: 07:00, breaks: [{at: 06:10, for: 10 min}]}}\n"
        "crew: {ann: {}}\nroute: [A, B]\nstations: {A: {cycle: 2 min, by: ann}, B: {cycle: 2 min, by: ann}}\n"
        "study: {shifts: 1}\n"
    )
    assert end == 50
    assert all(length == 2 for row in periods for length in (b - a for a, b in row))
    assert sum(b - a for row in periods for a, b in row) == 50


@pytest.mark.parametrize("name", ["robots-tends_machines", "stops-tool_change", "material-two_bins"])
def test_active_time_is_what_the_record_counts(name):
    """All time in states that are no wait, as the ledger of the same run has it, to the microsecond."""
    (example,) = [one.example for one in behaviours() if f"{one.topic}-{one.name}" == name]
    worker = Worker(load_text(example))
    record = worker.replicate(3, 0)
    seen = watch(worker.flat, 3, 0, worker.plan.counted_from, worker.plan.horizon, 10**9)
    for row, totals in zip(seen.periods, record.machines, strict=True):
        kept = [time for state, time in enumerate(totals) if state not in WAITING | OFF_DUTY]
        assert sum(end - start for start, end in row) == sum(kept)


def test_a_limit_of_events_ends_it():
    """The window is as long as what was seen: what holds after the 30th event lasts until the next."""
    cell = load_text("cell: one\nroute: [A]\nstations: {A: {cycle: 1 min}}\nstudy: {run: 2 h}\n")
    seen = watch(compile_cell(cell), 1, 0, 0, 2 * HOUR, 30)
    assert (seen.events, seen.end, seen.periods) == (30, 31 * MINUTE, [[(0, 31 * MINUTE)]])


MEANS, PLACES = (1.05, 1.0, 1.0, 1.0), (8, 8, 0)


def exact_mean_lengths() -> list[float]:
    """Mean active period of each station of an exponential line: share at work / rate of ceasing to work."""

    def moves(held):
        for i, now in enumerate(standing(held, PLACES)):
            if now is Standing.WORKING:
                yield after_finish(held, i), 1 / MEANS[i]

    chain = explore((0,) * len(PLACES), moves, 10**6)
    shares = long_run_shares(chain)

    def works(held, i):
        return float(standing(held, PLACES)[i] is Standing.WORKING)

    def ceases(held, i):
        return sum(rate for to, rate in moves(held) if works(held, i) and not works(to, i))

    return [
        expected(chain, shares, lambda held, i=i: works(held, i))
        / expected(chain, shares, lambda held, i=i: ceases(held, i))
        for i in range(len(MEANS))
    ]


def test_mean_active_periods_of_an_exponential_line():
    """Ten runs of 2000 units against the chain: one false alarm in 1000 for the four stations together."""
    stations = ", ".join(
        f"S{k + 1}: {{cycle: {{law: exponential, mean: {m} min}}}}" for k, m in enumerate(MEANS)
    )
    cell = load_text(
        f"cell: line\nroute: [S1, T1, S2, T2, S3, T3, S4]\nstations: {{{stations}}}\n"
        "stores: {T1: 8, T2: 8, T3: 0}\nstudy: {settle: 200 min, run: 2000 min}\n"
    )
    flat, plan = compile_cell(cell), make_plan(cell)
    runs = [watch(flat, 4, k, plan.counted_from, plan.horizon, 10**9).periods for k in range(10)]
    for i, exact in enumerate(exact_mean_lengths()):
        lengths = [sum(end - start for start, end in run[i]) / MINUTE for run in runs]
        found = ratio_interval(lengths, [float(len(run[i])) for run in runs], 1 - 0.001 / 4)
        assert found.low < exact < found.high, f"S{i + 1}: {found}, exactly {exact}"
