"""The hand-written SimPy lines of the benchmark are right themselves: they obey the law of a serial line.

Every law is asked of both forms, the one whose machines are interrupted and the lean one.
"""

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
import handwritten_lean
from handwritten import HOUR, STATES, Station, build_line, report
from handwritten_lean import LeanStation

Times = list[list[float]]  # [part][station] or [station][stop], seconds
FORMS = {"interrupted": Station, "lean": LeanStation}
both_forms = pytest.mark.parametrize("form", FORMS.values(), ids=FORMS)


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


def simulate(
    form: type[Station], work: Times, places: list[int], horizon: float, stops: Times, repairs: Times
) -> list[Station]:
    """The hand-written line run on given times."""
    env = simpy.Environment()
    stations = build_line(
        env,
        work_times=[iter(column) for column in zip(*work, strict=True)],
        running_times=[iter(row) for row in stops],
        repair_times=[iter(row) for row in repairs],
        places=places,
        form=form,
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


@both_forms
@pytest.mark.parametrize(("cycles", "places"), CONSTANT_LINES)
def test_constant_times_follow_the_recurrence(
    form: type[Station], cycles: list[float], places: list[int]
) -> None:
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
        form=form,
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


@both_forms
def test_blocking_by_hand(form: type[Station]) -> None:
    """A 1 s station, one place, a 10 s station: the third part hangs until the second is taken.

    Part 1 leaves station 1 at 1, part 2 at 2 into the place, part 3 is done at 3 and hangs until 11; from
    then on one part leaves every 10 s, and station 1 has begun six cycles by 40.5 s.
    """
    stations = simulate(form, [[1.0, 10.0]] * 10, [1], 40.5, never(2), never(2))
    answer = report(stations, 40.5 / HOUR)
    assert answer["finished"] == [11.0, 21.0, 31.0]
    assert answer["stations"] == {
        "m1": {"cycles": 6, "busy": 6.0, "blocked": 34.5, "starved": 0.0, "down": 0.0},
        "m2": {"cycles": 3, "busy": 39.5, "blocked": 0.0, "starved": 1.0, "down": 0.0},
    }


@both_forms
@pytest.mark.parametrize("seed", range(20))
def test_varying_times_follow_the_recurrence(form: type[Station], seed: int) -> None:
    """Departures, cycles and state times of any line of whole-second times are those of the recurrence.

    The run is cut where half of the parts are out, so that open states are charged as well.
    """
    rng = random.Random(seed)
    size = rng.randint(2, 8)
    places = [rng.randint(1, 4) for _ in range(size - 1)]
    work = [[float(rng.randint(1, 60)) for _ in range(size)] for _ in range(150)]
    done, left = recurrence(work, places)
    end = left[75][-1] + 0.5
    stations = simulate(form, work, places, end, never(size), never(size))
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


def lengthen(work: Times, stops: Times, repairs: Times) -> tuple[Times, list[float], list[int]]:
    """Work times with the repairs of the stops that strike in them; down time and stops of each station.

    A stop due exactly when a cycle ends strikes the next cycle, at its start.
    """
    lengthened = [row.copy() for row in work]
    down = [0.0] * len(stops)
    strikes = [0] * len(stops)
    for i, every in enumerate(stops):
        at, run = every[0], 0.0
        for part, row in enumerate(work):
            run += row[i]
            while at < run:
                lengthened[part][i] += repairs[i][strikes[i]]
                down[i] += repairs[i][strikes[i]]
                strikes[i] += 1
                at += every[strikes[i]]
    return lengthened, down, strikes


@both_forms
def test_stops_by_hand(form: type[Station]) -> None:
    """The clock of the stops counts running time only: neither waiting nor repairs bring a stop nearer.

    Station 1 works 10 s a part and never stops.  Station 2 works 4 s a part and stops after 6 s of running,
    for 3 s each: parts 1 at 10-14, 2 at 20-22, repair to 25, to 27; part 3 at 30-34 makes 12 s of running,
    so the second stop is due as it ends and strikes at the start of part 4: repair 40-43, done at 47.
    """
    stations = simulate(form, [[10.0, 4.0]] * 10, [1], 49.0, [[math.inf], [6.0] * 9], [[], [3.0] * 9])
    answer = report(stations, 49 / HOUR)
    assert answer["finished"] == [14.0, 27.0, 34.0, 47.0]
    assert answer["stations"]["m2"] == {
        "cycles": 4,
        "busy": 16.0,
        "blocked": 0.0,
        "starved": 27.0,
        "down": 6.0,
    }


@both_forms
@pytest.mark.parametrize("seed", range(40))
def test_a_stop_lengthens_the_cycle_it_strikes(form: type[Station], seed: int) -> None:
    """Stops after running time act as longer cycles: the cycle whose work spans the stop lasts a repair more.

    So the recurrence holds exactly with the lengthened times, and the down time is the sum of the repairs.
    In odd seeds the stops fall on half seconds, never on the end of a cycle; in even seeds many fall there.
    """
    rng = random.Random(seed)
    size, parts = rng.randint(2, 6), 120
    places = [rng.randint(1, 4) for _ in range(size - 1)]
    work = [[float(rng.randint(5, 60)) for _ in range(size)] for _ in range(parts)]
    stops = [[float(rng.randint(1, 300)) for _ in range(2 * parts)] for _ in range(size)]
    for row in stops:
        row[0] += seed % 2 / 2
    if seed % 2 == 0:  # the first stop of each station is due as its third cycle ends
        for i, row in enumerate(stops):
            row[0] = sum(times[i] for times in work[:3])
    repairs = [[float(rng.randint(1, 400)) for _ in range(2 * parts)] for _ in range(size)]
    lengthened, down, strikes = lengthen(work, stops, repairs)
    assert min(strikes) > 5
    _, left = recurrence(lengthened, places)
    end = left[-1][-1] + 1.0
    stations = simulate(form, work, places, end, stops, repairs)
    assert stations[-1].finished == [row[-1] for row in left]
    answer = report(stations, end / HOUR)["stations"]
    assert [answer[name]["down"] for name in answer] == down
    assert [answer[name]["busy"] for name in answer] == [sum(column) for column in zip(*work, strict=True)]


@pytest.mark.parametrize("constant", CONSTANT_LINES)
def test_both_forms_agree_exactly_on_constant_times(constant: tuple[list[float], list[int]]) -> None:
    """With constant whole running and repair times, where no sum is rounded, the two reports are equal."""
    cycles, places = constant
    reports = []
    for form in FORMS.values():
        env = simpy.Environment()
        stations = build_line(
            env,
            work_times=[repeat(cycle) for cycle in cycles],
            running_times=[repeat(600.0 + 60.0 * i) for i in range(len(cycles))],
            repair_times=[repeat(100.0 + 10.0 * i) for i in range(len(cycles))],
            places=places,
            form=form,
        )
        env.run(until=8 * HOUR)
        reports.append(report(stations, 8))
    assert reports[0] == reports[1]
    assert reports[0]["units"] > 100
    assert all(station["down"] > 500 for station in reports[0]["stations"].values())


@pytest.mark.parametrize("seed", range(5))
def test_both_forms_agree_on_drawn_times(seed: int) -> None:
    """The benchmark's own runs of one seed give the same units and cycles, and times within a microsecond.

    The forms draw the same numbers; their sums of running time are rounded differently.
    """
    interrupted, lean = handwritten.run(seed), handwritten_lean.run(seed)
    assert interrupted["hourly"] == lean["hourly"]
    assert interrupted["finished"] == pytest.approx(lean["finished"], rel=0, abs=1e-6)
    for name, station in interrupted["stations"].items():
        assert station["cycles"] == lean["stations"][name]["cycles"]
        assert station["down"] > 0
        assert station == pytest.approx(lean["stations"][name], rel=0, abs=1e-6)


@both_forms
def test_states_sum_to_the_horizon(form: type[Station]) -> None:
    """In the benchmark's own run the four state times of each station add up to the shift."""
    for hours in (8, 2.5):
        answer = handwritten.run(3, hours, form)
        assert len(answer["stations"]) == 10
        for station in answer["stations"].values():
            assert sum(station[state] for state in STATES) == pytest.approx(hours * HOUR, rel=1e-12)
        assert answer["stations"]["m1"]["starved"] == 0.0
        assert answer["stations"]["m10"]["blocked"] == 0.0


@both_forms
def test_the_run_repeats_itself(form: type[Station]) -> None:
    """The answer is a function of the seed alone."""
    assert handwritten.run(5, 1, form) == handwritten.run(5, 1, form)
    assert handwritten.run(5, 1, form) != handwritten.run(6, 1, form)


@both_forms
def test_hourly_counts_and_cycles_add_up(form: type[Station]) -> None:
    """Hours sum to the units out; a station leads the next by at most a full store and two machines."""
    answer = handwritten.run(7, 8, form)
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
