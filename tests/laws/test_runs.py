"""Laws of any run, asked of random small cells full of ties."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from hypothesis import HealthCheck, assume, given, reject, settings
from hypothesis import strategies as st
from small_cells import (
    HORIZON,
    SECOND,
    SINGLE_FILE,
    Traits,
    cells,
    durations,
    elements,
    fixed,
    listed,
    shuffled,
)
from told import mixed_text, tellable
from whole_cells import whole_cells
from whole_runs import account, asked_again, bounded, outcome, run_cell

from cellsim.describe.cell import Cell, Element, Law, Need, Outlet, Post, Release, Station, Stop, Store, Study
from cellsim.describe.resolve import load_text, resolved_text
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.layout import MACHINE_STATES, rows
from cellsim.engine.locked_part import locked_part, stuck_for_good
from cellsim.engine.model import compile_cell
from cellsim.engine.record import counted_path, dead_ends, find_circle
from cellsim.errors import DescriptionError
from cellsim.study.audit import audit
from cellsim.study.worker import Worker

NEVER = 10**9 * SECOND

quick = settings(
    max_examples=22,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
)

seeds = st.integers(0, 3)
moments = st.lists(st.integers(0, HORIZON // SECOND), max_size=6).map(sorted)


@quick
@given(whole_cells(), seeds)
def test_what_is_called_locked_never_moves_again(cell: Cell, seed: int) -> None:
    """Machines found stuck for good keep their units to the end, and no standstill in a circle is missed."""
    stuck: dict[int, int] = {}
    with bounded():
        run = SimpyRun(compile_cell(cell), seed, 0)
        c = run.state
        for eighth in range(1, 9):
            run.advance(HORIZON * eighth // 8)
            found = stuck_for_good(c)
            assert set(stuck) <= set(found)
            assert all(c.machines[i].unit == u for i, u in stuck.items())
            stuck = {i: c.machines[i].unit for i in found if i < len(c.machines)}
    part = locked_part(c, run.flat.names)
    assert (part is None) == (not found)
    if run.stalled_at >= 0 and (dead_ends(c) or find_circle(c, run.flat.names)):
        assert part is not None and part.since <= run.stalled_at


@quick
@given(whole_cells(), seeds, moments)
def test_a_run_keeps_its_own_laws_at_any_instant_and_looking_changes_nothing(
    cell: Cell, seed: int, looks: list[int]
) -> None:
    """The audit finds nothing whenever one looks, and a run that was looked at ends as one that was not."""
    with bounded():
        run = SimpyRun(compile_cell(cell), seed, 0)
        for at in looks:
            run.advance(at * SECOND)
            assert audit(run) == []
        run.advance(HORIZON)
        assert audit(run) == []
    assert outcome(run) == outcome(run_cell(cell, HORIZON, seed))


@quick
@given(whole_cells(), seeds, st.data())
def test_the_order_in_which_a_cell_is_told_changes_nothing(
    cell: Cell, seed: int, data: st.DataObject
) -> None:
    """Posts, robots, stores, shifts, skills and travel times may stand in any order."""
    other = shuffled(data.draw, cell)
    assert outcome(run_cell(cell, HORIZON, seed)) == outcome(run_cell(other, HORIZON, seed))


@quick
@given(whole_cells(), seeds, st.data())
def test_the_order_of_keys_in_a_file_changes_nothing(cell: Cell, seed: int, data: st.DataObject) -> None:
    """A file whose mappings stand in another order, at any depth, tells the same cell and runs the same."""
    told = tellable(cell)
    try:
        plain = load_text(resolved_text(told))
    except DescriptionError:
        reject()  # a random cell may be one that no file may say
    other = load_text(mixed_text(data.draw, told))
    assert other == plain
    assert outcome(run_cell(other, HORIZON, seed)) == outcome(run_cell(plain, HORIZON, seed))


@settings(quick, max_examples=40)
@given(whole_cells(), seeds)
def test_nobody_and_nothing_waits_in_vain(cell: Cell, seed: int) -> None:
    """Whatever could start at an instant has started, and no call stands that nobody could serve.

    So asking every machine and everybody once more, after each instant, changes nothing.
    """
    with bounded(), asked_again():
        run = SimpyRun(compile_cell(cell), seed, 0)
        run.advance(HORIZON)
    assert outcome(run) == outcome(run_cell(cell, HORIZON, seed))


@quick
@given(cells(SINGLE_FILE), seeds)
def test_units_do_not_overtake_each_other_in_single_file(cell: Cell, seed: int) -> None:
    """With one machine a station and nothing that comes back, units leave as they came."""
    entered = [came for _, came, _ in run_cell(cell, HORIZON, seed).exits]
    assert entered == sorted(entered)


def test_who_has_waited_longest_for_a_place_gets_it() -> None:
    """Units done at 4 s and 7 s wait for one place: that of 4 s, from 0 s, goes on before the other.

    S1.1, S1.2 and S1.3 take units at 0 s and end at 2, 3 and 4 s; S1.1 takes the fourth at 2 s, done at 7 s.
    """
    first = Station("S1", 3, (Element("e1", listed(2, 3, 4, 5, 9)),), (("release", 1),), 1, (Outlet("b1"),))
    second = Station("S2", 1, (Element("e1", fixed(10)),), (("b1", 1),), 1, (Outlet("finished"),))
    line = replace(long_line(), stations=(first, second), stores=(Store("b1", 1),))
    leaving = [(at // SECOND, came // SECOND) for at, came, _ in run_cell(line, 42 * SECOND).exits]
    assert leaving == [(12, 0), (22, 0), (32, 0), (42, 2)]


def pair(*skills: tuple[str, float], people: int = 1) -> Post:
    """A post on duty all day."""
    return Post("ann" if people == 1 else "pair", people, skills, ())


def test_a_pair_works_at_the_pace_of_the_slower() -> None:
    """Two people with time factors 0.5 and 1.5 need 6 s for what takes 4 s."""
    slow, quick_one = pair(("fix", 1.5)), replace(pair(("fix", 0.5)), name="bob")
    both = Station(
        "S1", 1, (Element("e1", fixed(4), (Need("fix", 2),)),), (("release", 1),), 1, (Outlet("finished"),)
    )
    cell = replace(long_line(), posts=(slow, quick_one), stations=(both,), stores=())
    assert [at // SECOND for at, _, _ in run_cell(cell, 13 * SECOND).exits] == [6, 12]


def test_two_visitors_never_carry_units_to_one_place() -> None:
    """Both machines are done at 2 s; the second is unloaded only when the place is free again, at 4 s."""
    by = (Need("pair"),)
    work = (Element("run", fixed(2)), Element("unload", fixed(1), by, "", "unload"))
    work = (Element("load", fixed(0), by, "", "load"), *work, Element("go", fixed(1), by, "", "deliver"))
    first = Station("S1", 2, work, (("release", 1),), 1, (Outlet("b1"),))
    second = Station("S2", 1, (Element("e1", fixed(30)),), (("b1", 1),), 1, (Outlet("finished"),))
    cell = replace(long_line(), posts=(pair(people=2),), stations=(first, second), stores=(Store("b1", 1),))
    run = run_cell(cell, 5 * SECOND)
    assert audit(run) == []
    assert outcome(run)["machines"]["S1.2"][0][MACHINE_STATES.index("blocked")] == 2 * SECOND


def test_a_reserved_place_that_is_given_back_goes_to_who_waits_for_it() -> None:
    """S1 keeps b1 until 10 s and does not need it; T, further down and done at 4 s, hands over at 10 s."""
    outlets = (Outlet("finished", 1.0), Outlet("b1", 0.0))
    first = Station("S1", 1, (Element("e1", fixed(10)),), (("release", 1),), 1, outlets, True)
    beside = Station("T", 1, (Element("e1", fixed(4)),), (("raw:T", 1),), 1, (Outlet("b1"),))
    last = Station("S2", 1, (Element("e1", fixed(30)),), (("b1", 1),), 1, (Outlet("finished"),))
    cell = replace(long_line(), stations=(first, beside, last), stores=(Store("b1", 1),))
    machines = outcome(run_cell(cell, 12 * SECOND))["machines"]
    assert machines["T"][0][MACHINE_STATES.index("blocked")] == 6 * SECOND
    assert machines["S2"][0][MACHINE_STATES.index("starved")] == 10 * SECOND


@quick
@given(whole_cells(), seeds)
def test_tracing_a_run_does_not_change_it(cell: Cell, seed: int) -> None:
    """A run with its trace on ends as one with its trace off."""
    plain, traced = run_cell(cell, HORIZON, seed), run_cell(cell, HORIZON, seed, trace=True)
    assert outcome(plain) == outcome(traced)
    assert plain.notes == [] and traced.notes != []


@quick
@given(whole_cells(), seeds, st.integers(0, 5))
def test_a_replication_does_not_depend_on_those_before_it(cell: Cell, seed: int, replication: int) -> None:
    """Replication r alone, and after others in whose memory it runs, leaves the same record."""
    with bounded():
        worker = Worker(cell)
        for before in range(2):
            worker.replicate(seed, before)
        record = worker.replicate(seed, replication)
        assert record == Worker(cell).replicate(seed, replication)
    flat = compile_cell(cell)
    with bounded():
        first = SimpyRun(flat, seed, replication + 1)
        first.advance(HORIZON // 2)
        second = SimpyRun(flat, seed, replication, scratch=first.state)
        second.advance(HORIZON)
    assert outcome(second) == outcome(run_cell(cell, HORIZON, seed, replication))


def without(part: dict[str, Any], names: set[str]) -> dict[str, Any]:
    """The entries of an outcome that belong to nobody in `names`."""
    return {
        key: value for key, value in part.items() if not ({key} if isinstance(key, str) else {*key}) & names
    }


@quick
@given(cells(Traits(run_out=False)), seeds, elements((), {}), st.integers(0, 9), durations(2, 9))
def test_a_line_of_its_own_changes_nothing_elsewhere(
    cell: Cell, seed: int, work: tuple[Element, ...], place: int, gap: Any
) -> None:
    """A station that shares nothing with the others shifts none of their draws, exits and times in state."""
    stop = Stop("jam", gap, "running", fixed(2))
    alone = Station("lone", 1, work, (("raw:lone", 1),), 1, (Outlet("out:lone"),), stops=(stop,))
    k = place % (len(cell.stations) + 1)
    with_it = replace(cell, stations=(*cell.stations[:k], alone, *cell.stations[k:]))
    one, two = outcome(run_cell(cell, HORIZON, seed)), outcome(run_cell(with_it, HORIZON, seed))
    assert two["machines"]["lone"][1] > 0
    assert one["exits"] == [exit_ for exit_ in two["exits"] if exit_[2] != "out:lone"]
    for part in ("machines", "actors", "stores", "stations", "stops", "draws", "path"):
        assert one[part] == without(two[part], {"lone", "raw:lone"}), part


@quick
@given(whole_cells(), seeds, st.data())
def test_a_stop_that_never_comes_changes_nothing(cell: Cell, seed: int, data: st.DataObject) -> None:
    """A cause of stops beyond the end of the run leaves everything as it was."""
    k = data.draw(st.integers(0, len(cell.stations) - 1))
    station = cell.stations[k]
    clock = data.draw(st.sampled_from(("running", "on time", "cycles")))
    by = data.draw(st.sampled_from(((), *(stop.repaired_by for stop in station.stops))))
    stop = Stop(
        "never",
        fixed(NEVER / SECOND),
        clock,
        fixed(1),
        by,
        data.draw(st.sampled_from(("continues", "restarts"))),
    )
    stopping = replace(station, stops=(*station.stops, stop))
    other = replace(cell, stations=(*cell.stations[:k], stopping, *cell.stations[k + 1 :]))
    one, two = outcome(run_cell(cell, HORIZON, seed)), outcome(run_cell(other, HORIZON, seed))
    for found in (one, two):
        found["draws"] = without(found["draws"], {"stop never every"})
        found["stops"] = without(found["stops"], {"never"})
    assert one == two


def short_log(cell: Cell, seed: int, limit: int) -> SimpyRun:
    """A run whose log of the path is condensed again and again."""
    with bounded():
        run = SimpyRun(compile_cell(cell), seed, 0)
        run.state.path_limit = limit
        run.advance(HORIZON)
    return run


@quick
@given(whole_cells(), seeds, st.integers(8, 60))
def test_a_short_log_of_the_path_still_fills_the_clock(cell: Cell, seed: int, limit: int) -> None:
    """However often the log is condensed, the account adds up, and nothing that happens changes."""
    run, whole = short_log(cell, seed, limit), run_cell(cell, HORIZON, seed)
    assert audit(run) == []
    one, two = outcome(run), outcome(whole)
    assert sum(one.pop("path").values()) == sum(two.pop("path").values())
    assert one == two


def long_line() -> Cell:
    """Three stations of like times that stop now and then, with few places between them."""
    stop = Stop("jam", Law("exponential", (9.0 * SECOND,)), "running", Law("exponential", (1.0 * SECOND,)))
    names = ("release", "b1", "b2", "finished")
    stations = tuple(
        Station(
            f"S{k + 1}",
            1 + (k == 1),
            (Element("e1", Law("exponential", ((1.0 + (k == 1)) * SECOND,))),),
            ((names[k], 1),),
            1,
            (Outlet(names[k + 1]),),
            stops=(stop,),
        )
        for k in range(3)
    )
    empty = Cell("long", "", None, (), (), (), stations, (), Release(), Study(run=HORIZON))
    return replace(empty, stores=(Store("b1", 2), Store("b2", 1)))


def test_a_log_that_is_condensed_hundreds_of_times_is_exact_in_the_end() -> None:
    """Two hours of a line in a log of 300 nodes: the account is that of a log that holds them all."""
    until, limit = 7200 * SECOND, 300
    flat = compile_cell(long_line())
    short, whole = SimpyRun(flat, 1, 0), SimpyRun(flat, 1, 0)
    short.state.path_limit = limit
    whole.state.path.extend(rows("path", 60_000))
    whole.state.path_limit = 70_000
    for run in (short, whole):
        run.advance(until)
        assert audit(run) == []
    assert whole.state.path_count > 50 * limit and short.state.path_count <= limit
    assert short.state.path_forced == 0
    assert short.walk_back() == whole.walk_back()
    assert outcome(short) == outcome(whole)


@quick
@given(whole_cells(), seeds, st.integers(20, 200))
def test_condensing_loses_nothing_where_history_is_shared(cell: Cell, seed: int, limit: int) -> None:
    """People, robots, stops and shifts: the account of a condensed log is that of the whole log."""
    run = short_log(cell, seed, limit)
    assume(run.state.path_forced == 0)
    assert account(run) == account(run_cell(cell, HORIZON, seed))


@quick
@given(whole_cells(), seeds, st.integers(20, 200), st.integers(1, 3))
def test_condensing_does_not_bring_back_time_before_counting(
    cell: Cell, seed: int, limit: int, quarters: int
) -> None:
    """The account since counting started adds up to that time, and is that of a log that holds everything."""
    accounts = []
    for path_limit in (limit, None):
        with bounded():
            run = SimpyRun(compile_cell(cell), seed, 0)
            run.state.path_limit = path_limit or run.state.path_limit
            run.advance(HORIZON * quarters // 4)
            run.count_from_now()
            run.advance(HORIZON)
        totals, plans, elapsed = counted_path(run)
        assert sum(totals) == elapsed == max(0, run.state.last_good_at - HORIZON * quarters // 4)
        assert min(totals, default=0) >= 0
        accounts.append((totals, plans))
        if path_limit and run.state.path_forced:
            reject()
    assert accounts[0] == accounts[1]
