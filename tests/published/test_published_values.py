"""The simulator against known results, each of which is first computed a second time, the slow obvious way.

False alarms: a right simulator fails one of the tests of this folder with a chance of at most 1 % over all
choices of the seeds (`published_values.FALSE_ALARM`, shared out evenly by Bonferroni).  The seeds are fixed.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

import measure
import numpy as np
import pytest
from published_values import (
    ALONE,
    FOUR_MEANS,
    FOUR_PLACES,
    FOUR_STATIONS,
    PUBLISHED,
    REPAIRED,
    TENDED,
    THREE_STATIONS,
    TOPS,
    TWO_STATIONS,
    Published,
)
from verdicts import CHECKS, LEVEL, QUANTITIES, judge, measurements, verdict

from cellsim.describe.resolve import load_text
from cellsim.engine.model import compile_cell
from cellsim.engine.record import Record
from cellsim.engine.tables import FlatCell
from cellsim.study.plan import Plan, make_plan
from cellsim.study.runner import run_replications

SHARPNESS = 0.01  # half width of the 99 % interval, relative
CYCLE, MEAN_RUN, MEAN_REPAIR = 24.0, 1200.0, 240.0  # seconds, of the spinning top


def named(entries: Sequence[Published]) -> list[object]:
    """Parameters of a test, named."""
    return [pytest.param(entry, id=entry.id) for entry in entries]


def stationary(states: Sequence[tuple], moves: Callable[[tuple], list[tuple[tuple, float]]]) -> np.ndarray:
    """Long-run share of time of each state of a Markov chain; `moves` gives (next state, rate) of a state."""
    place = {state: k for k, state in enumerate(states)}
    balance = np.zeros((len(states), len(states)))
    for state in states:
        for following, rate in moves(state):
            balance[place[following], place[state]] += rate
            balance[place[state], place[state]] -= rate
    balance[-1, :] = 1.0  # one balance follows from the others; the shares add up to 1 instead
    right = np.zeros(len(states))
    right[-1] = 1.0
    return np.linalg.solve(balance, right)


def reached(start: tuple, moves: Callable[[tuple], list[tuple[tuple, float]]]) -> list[tuple]:
    """Every state that can follow from one, in order of discovery."""
    found = [start]
    seen = {start}
    for state in found:
        for following, _ in moves(state):
            if following not in seen:
                seen.add(following)
                found.append(following)
    return found


def line_rate(means: Sequence[float], places: Sequence[int]) -> float:
    """Output rate of a line of exponential stations, blocking after service, from its chain.

    State: for each store, how many units the station before it has finished and the one behind it has not.
    """
    last = len(means) - 1

    def working(state: tuple) -> list[bool]:
        blocked = [False] * (last + 1)
        for i in range(last - 1, -1, -1):
            room = places[i] + (0 if blocked[i + 1] else 1)  # the places, and the next station itself
            blocked[i] = state[i] > room
        return [not blocked[i] and (i == 0 or state[i - 1] > 0) for i in range(last + 1)]

    def moves(state: tuple) -> list[tuple[tuple, float]]:
        out = []
        for i, works in enumerate(working(state)):
            if works:
                counts = list(state)
                if i > 0:
                    counts[i - 1] -= 1
                if i < last:
                    counts[i] += 1
                out.append((tuple(counts), 1 / means[i]))
        return out

    states = reached((0,) * last, moves)
    shares = stationary(states, moves)
    return (
        sum(share for share, state in zip(shares, states, strict=True) if working(state)[last]) / means[last]
    )


def elasticity(station: int, means: Sequence[float], places: Sequence[int], step: float = 1e-3) -> float:
    """Relative gain of the rate of a line per relative cut of the mean time of one station."""
    shorter, longer = list(means), list(means)
    shorter[station] *= math.exp(-step)
    longer[station] *= math.exp(step)
    return math.log(line_rate(shorter, places) / line_rate(longer, places)) / (2 * step)


def served_machines(machines: int, servers: int, run: float, service: float) -> tuple[float, float]:
    """Services per time and share of time that a machine runs, from the chain of the number that stand."""
    states = [(n,) for n in range(machines + 1)]

    def moves(state: tuple) -> list[tuple[tuple, float]]:
        (n,) = state
        stop = [((n + 1,), (machines - n) / run)] if n < machines else []
        return stop + ([((n - 1,), min(n, servers) / service)] if n > 0 else [])

    shares = stationary(states, moves)
    rate = sum(shares[n] * min(n, servers) / service for n in range(machines + 1))
    running = sum(shares[n] * (machines - n) / machines for n in range(machines + 1))
    return rate, running


def services_per_hour(machines: int) -> float:
    """Units per hour of machines that run 66 s and take 11 s of one operator."""
    return served_machines(machines, 1, 66, 11)[0] * 3600


def running_share(machines: int, servers: int, run: float, service: float) -> float:
    """Share of time that a machine runs."""
    return served_machines(machines, servers, run, service)[1]


def erlang_loss(servers: int, load: float) -> float:
    """Erlang's loss formula, by its recursion."""
    lost = 1.0
    for n in range(1, servers + 1):
        lost = load * lost / (n + load * lost)
    return lost


def top_formula(places: int) -> float:
    """Units per hour of the spinning top, closed form."""
    n, ratio = places * CYCLE / MEAN_REPAIR, MEAN_REPAIR / MEAN_RUN
    return 3600 / CYCLE * (2 + n * (1 + ratio)) / (2 * (1 + 2 * ratio) + n * (1 + ratio) ** 2)


@functools.cache
def top_in_steps(places: int, steps: int) -> float:
    """The same from a chain in which the tray fills and empties by small steps (0: there is no tray).

    State: level in steps, first station up, second station up.  A station that cannot run does not stop.
    """
    pace = steps / (places * CYCLE) if places else 0.0

    def running(state: tuple) -> tuple[bool, bool]:
        level, first, second = state
        return first and (second or level < steps), second and (first or level > 0)

    def moves(state: tuple) -> list[tuple[tuple, float]]:
        level, first, second = state
        runs_first, runs_second = running(state)
        out = [] if first else [((level, True, second), 1 / MEAN_REPAIR)]
        out += [] if second else [((level, first, True), 1 / MEAN_REPAIR)]
        out += [((level, False, second), 1 / MEAN_RUN)] if runs_first else []
        out += [((level, first, False), 1 / MEAN_RUN)] if runs_second else []
        if runs_first != runs_second:
            out.append(((level + (1 if runs_first else -1), first, second), pace))
        return out

    states = reached((0, True, True), moves)
    shares = stationary(states, moves)
    return sum(x for x, state in zip(shares, states, strict=True) if running(state)[1]) * 3600 / CYCLE


def top_in_the_limit(places: int) -> float:
    """The limit of ever smaller steps, from two sizes; the error goes with the size of a step."""
    return 2 * top_in_steps(places, 200) - top_in_steps(places, 100) if places else top_in_steps(0, 0)


def top_unit_by_unit(places: int, seed: int, replications: int = 100) -> list[float]:
    """Units per hour of the spinning top by the recursion of departures, one value per replication.

    A station stops by running time, so the time S of a unit there, repairs included, depends on nothing
    else: the number of stops in one cycle is Poisson.  Unit j leaves the first station at
    D1[j] = max(D1[j-1] + S1[j], D2[j-b-1]), the second at D2[j] = max(D1[j], D2[j-1]) + S2[j].
    """
    settle, units = 2000, 22000
    luck = np.random.default_rng(seed)
    stops = luck.poisson(CYCLE / MEAN_RUN, (2, units, replications))
    times = CYCLE + MEAN_REPAIR * luck.standard_gamma(stops)
    left = np.zeros((units, replications))
    before = np.zeros(replications)
    for j in range(units):
        before = before + times[0, j]
        if j > places:
            before = np.maximum(before, left[j - places - 1])
        left[j] = np.maximum(before, left[j - 1] if j else 0.0) + times[1, j]
    return (3600 * (units - settle) / (left[-1] - left[settle - 1])).tolist()


EXACT, ROUNDING_2, ROUNDING_4, ROUNDING_6 = 1e-12, 0.5e-2, 0.5e-4, 0.5e-6
TOP_PLACES = (0, 5, 10, 20, 40, 100)
TENDED_MACHINES = (4, 6, 8)
# By id: a second way to the value, and how far the stated value may be from it.
SECOND_METHODS: dict[str, tuple[Callable[[], float], float]] = {
    **{e.id: (partial(line_rate, [1, 1], [places]), EXACT) for places, e in enumerate(TWO_STATIONS)},
    THREE_STATIONS[0].id: (partial(line_rate, [1, 1, 1], [0, 0]), EXACT),
    **{e.id: (partial(top_in_the_limit, n), ROUNDING_2) for n, e in zip(TOP_PLACES, TOPS, strict=True)},
    FOUR_STATIONS[0].id: (partial(line_rate, FOUR_MEANS, FOUR_PLACES), ROUNDING_6),
    **{
        e.id: (partial(elasticity, k, FOUR_MEANS, FOUR_PLACES), ROUNDING_4)
        for k, e in enumerate(FOUR_STATIONS[1:])
    },
    **{
        e.id: (partial(services_per_hour, n), ROUNDING_2)
        for n, e in zip(TENDED_MACHINES, TENDED, strict=True)
    },
    **{e.id: (partial(running_share, 3, r, 100, 20), ROUNDING_4) for r, e in enumerate(REPAIRED, start=1)},
    ALONE[0].id: (partial(running_share, 1, 1, 100, 10), EXACT),
}

# Values that a wrong simulator, or a wrong reading of a rule, would give.
WRONG = [
    *[(e, (b + 2) / (b + 4), "another formula") for b, e in enumerate(TWO_STATIONS)],
    *[(e, (b + 3) / (b + 4), "one place more") for b, e in enumerate(TWO_STATIONS)],
    *[(e, (b + 1) / (b + 2), "one place less") for b, e in enumerate(TWO_STATIONS)],
    (THREE_STATIONS[0], 6 / 11, "all units move at once"),
    (TOPS[0], 150 / 1.2**2, "stations stop also while they stand"),
    *[(e, other.value, f"as {other.id}") for e, other in zip(TOPS, TOPS[2:], strict=False)],
    (TOPS[-2], 125.0, "unlimited places"),
    (FOUR_STATIONS[0], 0.698640, "the busy share of S1"),
    *[(e, 0.25, "equal shares") for e in FOUR_STATIONS[1:]],
    (FOUR_STATIONS[1], 0.698640, "utilisation"),
    *[(e, n * 3600 / 77, "no interference") for n, e in zip(TENDED_MACHINES, TENDED, strict=True)],
    (REPAIRED[0], 100 / 120, "a technician for each"),
    (ALONE[0], 90 / 100, "time between stops counted from stop to stop"),
]


@functools.cache
def runs_of(cell: str) -> tuple[FlatCell, Plan, list[Record]]:
    """The replications that a cell's study asks for; entries of one cell share them."""
    described = load_text(cell)
    study = run_replications(described, described.study.seed, range(described.study.replications))
    assert not any(record.violations for record in study.records)
    return compile_cell(described), make_plan(described), study.records


def measured(entry: Published) -> list[float]:
    """The quantity of an entry in each of its replications."""
    return measurements(entry, *runs_of(entry.cell))


@pytest.mark.parametrize("entry", named(PUBLISHED))
def test_the_simulator_gives_the_published_value(entry):
    """The interval of all replications holds the value, and its half width at 99 % is at most 1 %."""
    found = judge(entry, measured(entry))
    assert found.accepts(SHARPNESS), f"{found} for {entry.value} from {entry.source}"


@pytest.mark.parametrize(
    ("entry", "wrong", "why"), [pytest.param(*row, id=f"{row[0].id}: {row[2]}") for row in WRONG]
)
def test_a_wrong_value_is_rejected(entry, wrong, why):
    """Negative control: the same verdict on the same runs rejects what a wrong rule would give."""
    assert not judge(entry, measured(entry), wrong).agrees


@pytest.mark.parametrize("entry", named(PUBLISHED))
def test_a_second_method_gives_the_published_value(entry):
    """Chains and derivatives, written the slow way, agree with every value to its last digit."""
    method, rounding = SECOND_METHODS[entry.id]
    assert method() == pytest.approx(entry.value, abs=rounding, rel=0)


@pytest.mark.parametrize("places", TOP_PLACES)
def test_the_closed_form_of_the_spinning_top(places):
    """The stated formula gives the stated value, and the limit of small steps gives the formula."""
    assert top_formula(places) == pytest.approx(TOPS[TOP_PLACES.index(places)].value, abs=ROUNDING_2, rel=0)
    assert top_in_the_limit(places) == pytest.approx(top_formula(places), rel=1e-5)


@pytest.mark.parametrize("places", TOP_PLACES)
def test_whole_units_differ_from_continuous_flow_by_less_than_the_tolerance(places):
    """The recursion of departures, unit by unit, agrees with the closed form within the tolerance."""
    entry = TOPS[TOP_PLACES.index(places)]
    found = judge(entry, top_unit_by_unit(places, seed=700 + places))
    assert found.accepts(SHARPNESS / 2), found


@pytest.mark.parametrize("machines", TENDED_MACHINES)
def test_the_loss_formula_gives_the_load_of_the_operator(machines):
    """The operator is busy 1 - B(N, 66/11), and makes 3600 / 11 units an hour while busy."""
    entry = TENDED[TENDED_MACHINES.index(machines)]
    busy = 1 - erlang_loss(machines, 66 / 11)
    assert busy * 3600 / 11 == pytest.approx(entry.value, abs=ROUNDING_2, rel=0)


def test_the_elasticities_of_a_line_add_up_to_one():
    """Twice as fast everywhere is twice the output; the path shares add up to 1 to the last microsecond."""
    assert sum(entry.value for entry in FOUR_STATIONS[1:]) == pytest.approx(1, abs=4 * ROUNDING_4)
    _, _, records = runs_of(FOUR_STATIONS[0].cell)
    assert all(sum(record.path) == record.path_elapsed for record in records)


def test_the_false_alarms_of_the_suite_are_shared_out():
    """As many random verdicts as are counted, each with its share of the 1 %."""
    assert len(PUBLISHED) + len(TOP_PLACES) == CHECKS
    share_of_each = 1 - LEVEL
    assert share_of_each == pytest.approx(0.01 / 30, rel=1e-9)


def test_every_entry_is_told_apart_and_says_where_it_comes_from():
    """Ids are unique, nothing is left blank, and every entry has a second method."""
    ids = [entry.id for entry in PUBLISHED]
    assert len(set(ids)) == len(ids) == len(SECOND_METHODS) == 24
    assert set(ids) == set(SECOND_METHODS)
    assert {entry.quantity for entry in PUBLISHED} == set(QUANTITIES)
    assert all(entry.source and entry.statement and entry.exactness for entry in PUBLISHED)


@pytest.mark.parametrize(
    ("value", "tolerance", "agrees"),
    [
        (1.04, 0, True),
        (1.03, 0, False),
        (4.96, 0, True),
        (4.97, 0, False),
        (1.03, 0.01, True),
        (5.0, 0.01, True),
    ],
)
def test_a_verdict_by_hand(value, tolerance, agrees):
    """1..5: mean 3, standard error sqrt(1/2); Student's t is 2.776445 at 95 %, 4.604095 at 99 %."""
    found = verdict([1, 2, 3, 4, 5], value, tolerance=tolerance, scale=3.0, level=0.95)
    assert found.agrees == agrees
    assert (found.measured, found.low, found.high) == pytest.approx((3, 1.036757, 4.963243), abs=1e-6)
    assert found.half_width == pytest.approx(4.604095 * math.sqrt(0.5) / 3, rel=1e-6)
    assert found.accepts(1.09) == agrees
    assert not found.accepts(1.08)


SHORT = replace(ALONE[0], id="short", cell=ALONE[0].cell.replace("run: 1500 h", "run: 60 h"))
TOO_HIGH = replace(SHORT, id="too high", value=0.99)


def test_measuring_by_hand_prints_a_row_for_each_entry(monkeypatch, capsys):
    """Runs are added until the half width is reached; a value that differs ends with 1."""
    monkeypatch.setattr(measure, "PUBLISHED", [SHORT, TOO_HIGH, TOPS[0]])
    assert measure.main(["--half-width", "0.008", "--only", "short"]) == 0
    row = capsys.readouterr().out.splitlines()[-1].split()
    assert (row[0], row[1], row[-1]) == ("short", "0.9091", "agrees")
    assert float(row[4].rstrip("%")) <= 0.8
    assert int(row[5]) > 16
    assert measure.main(["--half-width", "0.05", "--only", "short", "--only", "too high"]) == 1
    assert [line.split()[-1] for line in capsys.readouterr().out.splitlines()[2:]] == ["agrees", "DIFFERS"]


def test_measuring_by_hand_stops_in_time_and_says_so(monkeypatch, capsys):
    """When the time is over the first replications are judged; what is not sharp is told."""
    monkeypatch.setattr(measure, "PUBLISHED", [SHORT])
    assert measure.main(["--half-width", "0.0001", "--minutes", "0.0001"]) == 0
    assert capsys.readouterr().out.rstrip().endswith("16  agrees, but not yet sharp")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--only", "four machines"], "no id contains four machines; the ids are: two stations, 0 places"),
        (["--half-width", "0"], "a half width is between 0 and 1"),
        (["--workers", "0"], "workers are at least 1"),
    ],
)
def test_a_wrong_request_is_told(arguments, said, capsys):
    """Exit code 2 and what is allowed, before anything runs."""
    with pytest.raises(SystemExit) as end:
        measure.main(arguments)
    assert end.value.code == 2
    assert said in " ".join(capsys.readouterr().err.split())
