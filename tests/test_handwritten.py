"""The hand-written SimPy line of the benchmark is itself right: it obeys the exact law of a serial line."""

from __future__ import annotations

import math
import random
import sys
from itertools import islice, pairwise, repeat
from pathlib import Path
from statistics import fmean, pstdev

import pytest
import simpy

sys.path.insert(0, str(Path(__file__).parent / "benchmarks"))
import handwritten
from handwritten import HOUR, STATES, Station, build_line, report

Times = list[list[float]]  # [part][station] or [station][stop], seconds


def recurrence(work: Times, places: list[int]) -> tuple[Times, Times]:
    """When each part is done at, and leaves, each station that blocks after service, [part][station].

    D[j,i] = max(max(D[j-1,i], D[j,i-1]) + S[j,i], D[j-b-1,i+1]), b places behind station i; the part is done
    at the first of the two.
    """
    done: Times = []
    left: Times = []
    for part, row in enumerate(work):
        done.append([])
        left.append([])
        for station, time in enumerate(row):
            free = left[part - 1][station] if part else 0.0
            there = left[part][station - 1] if station else 0.0
            done[part].append(max(free, there) + time)
            before = part - places[station] - 1 if station < len(places) else -1
            room = left[before][station + 1] if before >= 0 else 0.0
            left[part].append(max(done[part][station], room))
    return done, left


def simulate(work: Times, places: list[int], horizon: float, stops: Times, repairs: Times) -> list[Station]:
    """The hand-written line run on given times."""
    env = simpy.Environment()
    stations = build_line(
        env,
        work_times=[iter(column) for column in zip(*work, strict=True)],
        running_times=[iter(row) for row in stops],
        repair_times=[iter(row) for row in repairs],
        places=places,
    )
    env.run(until=horizon)
    return stations


def never(stations: int) -> Times:
    """Running times that no run reaches."""
    return [[math.inf]] * stations


CONSTANT_LINES = [
    ([36.0] * 10, [4] * 9),
    ([30.0, 41.0, 36.0, 44.0, 20.0], [1, 2, 1, 3]),
    ([50.0, 10.0, 45.0, 12.0, 60.0, 11.0], [2, 1, 4, 1, 1]),
]


@pytest.mark.parametrize(("cycles", "places"), CONSTANT_LINES)
def test_constant_times_follow_the_recurrence(cycles: list[float], places: list[int]) -> None:
    """With constant times and no stops every unit leaves exactly when the recurrence says."""
    hours = 2
    parts = int(hours * HOUR / min(cycles)) + 1
    _, left = recurrence([cycles] * parts, places)
    env = simpy.Environment()
    stations = build_line(
        env,
        work_times=[repeat(cycle) for cycle in cycles],
        running_times=[repeat(math.inf) for _ in cycles],
        repair_times=[repeat(0.0) for _ in cycles],
        places=places,
    )
    env.run(until=hours * HOUR)
    answer = report(stations, hours)
    expected = [row[-1] for row in left if row[-1] < hours * HOUR]
    assert answer["finished"] == expected
    assert answer["units"] == len(expected) > 100
    assert answer["hourly"] == [sum(time // HOUR == hour for time in expected) for hour in range(hours)]


def test_recurrence_by_hand() -> None:
    """The recurrence itself, worked by hand: five parts, three stations, stores of 1 and 0 places."""
    work: Times = [[3, 5, 2], [4, 1, 6], [2, 2, 2], [5, 3, 1], [1, 4, 3]]
    _, left = recurrence(work, [1, 0])
    assert left == [[3, 8, 10], [7, 10, 16], [9, 16, 18], [14, 19, 20], [16, 23, 26]]


def test_blocking_by_hand() -> None:
    """A 1 s station, one place, a 10 s station: the third part hangs until the second is taken.

    Part 1 leaves station 1 at 1, part 2 at 2 into the place, part 3 is done at 3 and hangs until 11; from
    then on one part leaves every 10 s, and station 1 has begun six cycles by 40.5 s.
    """
    stations = simulate([[1.0, 10.0]] * 10, [1], 40.5, never(2), never(2))
    answer = report(stations, 40.5 / HOUR)
    assert answer["finished"] == [11.0, 21.0, 31.0]
    assert answer["stations"] == {
        "m1": {"cycles": 6, "busy": 6.0, "blocked": 34.5, "starved": 0.0, "down": 0.0},
        "m2": {"cycles": 3, "busy": 39.5, "blocked": 0.0, "starved": 1.0, "down": 0.0},
    }


@pytest.mark.parametrize("seed", range(20))
def test_varying_times_follow_the_recurrence(seed: int) -> None:
    """Departures, cycles and state times of any line of whole-second times are those of the recurrence.

    The run is cut where half of the parts are out, so that open states are charged as well.
    """
    rng = random.Random(seed)
    size = rng.randint(2, 8)
    places = [rng.randint(1, 4) for _ in range(size - 1)]
    work = [[float(rng.randint(1, 60)) for _ in range(size)] for _ in range(150)]
    done, left = recurrence(work, places)
    end = left[75][-1] + 0.5
    stations = simulate(work, places, end, never(size), never(size))
    assert stations[-1].finished == [row[-1] for row in left if row[-1] < end]
    for i, (name, answer) in enumerate(report(stations, end / HOUR)["stations"].items()):
        busy = sum(
            min(there[i], end) - min(there[i] - row[i], end) for there, row in zip(done, work, strict=True)
        )
        blocked = sum(min(gone[i], end) - min(there[i], end) for there, gone in zip(done, left, strict=True))
        assert name == f"m{i + 1}"
        assert answer["cycles"] == sum(there[i] < end for there in done)
        assert answer["busy"] == busy
        assert answer["blocked"] == blocked
        assert answer["starved"] == end - busy - blocked
        assert answer["down"] == 0.0


@pytest.mark.parametrize("seed", range(20))
def test_a_stop_lengthens_the_cycle_it_strikes(seed: int) -> None:
    """Stops after running time act as longer cycles: the cycle whose work spans the stop lasts a repair more.

    So the recurrence holds exactly with the lengthened times, and the down time is the sum of the repairs.
    Stops fall on half seconds, never on the end of a cycle.
    """
    rng = random.Random(seed)
    size, parts = rng.randint(2, 6), 120
    places = [rng.randint(1, 4) for _ in range(size - 1)]
    work = [[float(rng.randint(5, 60)) for _ in range(size)] for _ in range(parts)]
    stops = [[float(rng.randint(1, 300)) for _ in range(2 * parts)] for _ in range(size)]
    for row in stops:
        row[0] += 0.5
    repairs = [[float(rng.randint(1, 400)) for _ in range(2 * parts)] for _ in range(size)]
    lengthened = [row.copy() for row in work]
    down = [0.0] * size
    for i in range(size):
        strikes, at, run = 0, stops[i][0], 0.0
        for part in range(parts):
            run += work[part][i]
            while at < run:
                lengthened[part][i] += repairs[i][strikes]
                down[i] += repairs[i][strikes]
                strikes += 1
                at += stops[i][strikes]
        assert strikes > 5
    _, left = recurrence(lengthened, places)
    end = left[-1][-1] + 1.0
    stations = simulate(work, places, end, stops, repairs)
    assert stations[-1].finished == [row[-1] for row in left]
    answer = report(stations, end / HOUR)["stations"]
    assert [answer[name]["down"] for name in answer] == down
    assert [answer[name]["busy"] for name in answer] == [sum(column) for column in zip(*work, strict=True)]


def test_states_sum_to_the_horizon() -> None:
    """In the benchmark's own run the four state times of each station add up to the shift."""
    for hours in (8, 2.5):
        answer = handwritten.run(seed=3, hours=hours)
        assert len(answer["stations"]) == 10
        for station in answer["stations"].values():
            assert sum(station[state] for state in STATES) == pytest.approx(hours * HOUR, rel=1e-12)
        assert answer["stations"]["m1"]["starved"] == 0.0
        assert answer["stations"]["m10"]["blocked"] == 0.0


def test_the_run_repeats_itself() -> None:
    """The answer is a function of the seed alone."""
    assert handwritten.run(seed=5, hours=1) == handwritten.run(seed=5, hours=1)
    assert handwritten.run(seed=5, hours=1) != handwritten.run(seed=6, hours=1)


def test_hourly_counts_and_cycles_add_up() -> None:
    """Hours sum to the units out; a station leads the next by at most a full store and two machines."""
    answer = handwritten.run(seed=7)
    assert sum(answer["hourly"]) == answer["units"] == answer["stations"]["m10"]["cycles"]
    cycles = [station["cycles"] for station in answer["stations"].values()]
    for ahead, behind in pairwise(cycles):
        assert 0 <= ahead - behind <= handwritten.PLACES + 2


def test_drawn_times_have_the_stated_laws() -> None:
    """Cycles average 36 s with a spread of 15 %, running and repair times are exponential of 40 and 3 min.

    200 000 draws of each kind.  Each of the six bounds is 5 standard errors of its estimate, so a right model
    fails for about one seed in 290 000.  Standard error of a standard deviation: sd sqrt((kurtosis - 1) /
    4n), kurtosis 3.37 for the lognormal and 9 for the exponential law.
    """
    stations = handwritten.ten_stations(simpy.Environment(), seed=11)
    each = 20_000
    root = math.sqrt(each * len(stations))
    for kind, mean, spread, kurtosis in (
        ("work_times", 36.0, 0.15, 3.37),
        ("running_times", 2400.0, 1.0, 9.0),
        ("repair_times", 180.0, 1.0, 9.0),
    ):
        drawn = [time for station in stations for time in islice(getattr(station, kind), each)]
        assert len(set(drawn)) == len(drawn), "stations share a stream"
        assert fmean(drawn) == pytest.approx(mean, rel=5 * spread / root)
        assert pstdev(drawn) == pytest.approx(mean * spread, rel=5 * math.sqrt((kurtosis - 1) / 4) / root)
