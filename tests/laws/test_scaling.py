"""All times multiplied by k: everything happens k times as late, in the same order, at rates divided by k."""

from __future__ import annotations

import json
import re
from dataclasses import fields, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from draw_rows import compiled_law, stream
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from scaled_cells import KINDS, PURE, TIMES, scalable, scaled, scaled_law
from small_cells import HORIZON, SECOND
from whole_cells import whole_cells
from whole_runs import outcome, run_cell

from cellsim.describe.behaviours import behaviours
from cellsim.describe.cell import Cell, Element, Outlet, Release, Station, Store, Study
from cellsim.describe.laws import LAWS, make_law, mean
from cellsim.describe.resolve import load, load_text
from cellsim.engine.clock_compiled import CompiledRun
from cellsim.engine.draws import duration
from cellsim.engine.model import compile_cell
from cellsim.engine.record import Record
from cellsim.study.figures import figures
from cellsim.study.worker import Worker
from cellsim.units import HOUR

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.yaml"))
EXAMPLES = {f"{one.topic}-{one.name}": one.example for one in behaviours()}
UNIT = Fraction(2**20, SECOND)  # a second becomes 2^20 us, which can be halved twenty times

quick = settings(
    max_examples=28,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much],
)


def test_every_number_of_a_description_is_known_as_a_time_or_not() -> None:
    """A new field with a number in it must be entered in a table, or the other tests mean little."""
    for kind in KINDS:
        numbers = {field.name for field in fields(kind) if re.search(r"\b(int|float)\b", str(field.type))}
        times, pure = TIMES.get(kind, set()), PURE.get(kind.__name__, set())
        assert times | pure == numbers and not times & pure, kind.__name__


def whole(time: Fraction) -> int:
    """A time that must be a whole number of microseconds."""
    assert time.denominator == 1
    return int(time)


def times(value: Any, k: Fraction) -> Any:
    """Every number in nested tuples, lists and dictionaries multiplied; text stays, and -1 for never."""
    if isinstance(value, dict):
        return {key: times(one, k) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return type(value)(times(one, k) for one in value)
    return whole(value * k) if isinstance(value, int) and value != -1 else value


# Where the times stand among the numbers that `outcome` gives for each machine, store and so on.
TIMED: dict[str, tuple[int, ...]] = {
    "machines": (0, 2), "actors": (0,), "stops": (1, 2), "parts": (3, 4),
}  # fmt: skip


def stretched(found: dict[str, Any], k: Fraction) -> dict[str, Any]:
    """What a run leaves, as it must be when all times are k times as long."""
    found = dict(found)
    for part, places in TIMED.items():
        found[part] = {
            name: tuple(times(one, k) if x in places else one for x, one in enumerate(row))
            for name, row in found[part].items()
        }
    found["stores"] = {
        name: ((*row[:2], *times(row[2:4], k), *row[4:]), times(levels, k))
        for name, (row, levels) in found["stores"].items()
    }
    found["cell"] = found["cell"] | {"wip_area": times(found["cell"]["wip_area"], k)}
    for part in ("exits", "path", "stalled_at"):
        found[part] = times(found[part], k)
    return found


@quick
@given(whole_cells(), st.integers(0, 3), st.sampled_from(("1/2", "2", "3", "7")))
def test_random_cells(cell: Cell, seed: int, factor: str) -> None:
    """Every behaviour, all ties: the whole trace and every ledger are those of the plain cell, times k."""
    k = Fraction(factor)
    plain = scaled(scalable(cell, SECOND), UNIT)
    horizon = whole(HORIZON * UNIT)
    one = run_cell(plain, horizon, seed, trace=True)
    two = CompiledRun(compile_cell(scaled(plain, k)), seed, 0, trace=True)
    two.advance(whole(horizon * k))
    assert two.notes == [(whole(at * k), *rest) for at, *rest in one.notes]
    assert outcome(two) == stretched(outcome(one), k)


def one_day(cell: Cell) -> Cell:
    """The cell in a form that scales exactly, for a Monday, from the first shift to the end of the last.

    A cell without shifts is run for eight hours.  The first quarter is not counted.
    """
    cell = scalable(cell, 64, 32)
    span = 8 * HOUR
    if cell.shifts:
        span = max(shift.end for shift in cell.shifts) - min(shift.start for shift in cell.shifts)
    study = replace(cell.study, shifts=0, settle_shifts=0, run=span - span // 4, settle=span // 4)
    return replace(cell, study=study)


TIMED_FIELDS = {
    "ended_at", "lead_times", "machines", "actors", "minutes", "time_at", "path", "path_plans",
    "path_elapsed", "wip_by_hour", "levels_by_hour",
}  # fmt: skip
TIMED_KEYS = {
    "area", "stays", "repair_time", "waiting_time", "short_time", "area_used", "area_coming", "none_free",
    "wip_area", "wip_stays", "inside",
}  # fmt: skip


def stretched_record(record: Record, k: Fraction) -> dict[str, Any]:
    """A record as it must be when all times are k times as long; what is kept by the hour is added up."""
    found = record.as_dict() | {"hourly": sum(record.hourly)}
    found["wip_by_hour"] = sum(found["wip_by_hour"])
    found["levels_by_hour"] = [sum(row) for row in found["levels_by_hour"]]
    for name, value in found.items():
        if name in TIMED_FIELDS:
            found[name] = times(value, k)
        elif isinstance(value, dict):
            found[name] = {key: times(one, k) if key in TIMED_KEYS else one for key, one in value.items()}
    return found


POWERS = {
    "good units per working hour": -1, "good units per paid labour hour": -1, "entries per 8 h": -1,
    "seconds": 1, "minutes": 1, "hours of work": 1, "kWh": 1, "kWh in the counted time": 1,
    "kWh per good unit": 1,
}  # fmt: skip
ENDINGS = ("_s", "_min", "_h")
# Hours of the clock keep their length, so what is counted by them does not scale.
BY_THE_HOUR = {
    "by_clock_hour", "hours_counted", "chance_of_target_in_an_hour", "attainment", "p05", "p50", "p95",
    "p05_interval", "p50_interval", "p95_interval", "distribution",
}  # fmt: skip


def power_of(entry: dict[str, Any], key: str, power: int) -> int:
    """The power of k that a figure is multiplied by: by the end of its key, its unit, or what it is in."""
    if key == "value":  # of the paper check, which is a rate
        return -1
    if key.endswith(ENDINGS) or key == "kwh_by_state":
        return 1
    return POWERS.get(entry.get("unit", ""), 0) if key in ("mean", "interval", "target") else power


def wrong_figures(one: Any, two: Any, k: Fraction, power: int = 0, where: str = "") -> list[str]:
    """Where a result is not what another one with k times the times says, by the units that both state."""
    if isinstance(one, dict):
        assert one.keys() == two.keys(), where
        hourly = BY_THE_HOUR if where in ("", " output_per_hour") else {"by_hour"}
        return [
            found
            for key in one.keys() - hourly
            for found in wrong_figures(one[key], two[key], k, power_of(one, key, power), f"{where} {key}")
        ]
    if isinstance(one, list):
        assert len(one) == len(two), where
        rows = enumerate(zip(one, two, strict=True))
        return [found for x, pair in rows for found in wrong_figures(*pair, k, power, f"{where} {x}")]
    if isinstance(one, str):  # a caution may say how often something happens
        one, two = (re.sub(r"[\d.]*\d( min| h| s)?", "#", text) for text in (one, two))
    if isinstance(one, bool) or not isinstance(one, int | float):
        return [] if one == two else [f"{where}: {one} and {two}"]
    if two == pytest.approx(one * float(k) ** power, rel=1e-9, abs=1e-12):
        return []
    return [f"{where}: {one} and {two}, not {k}^{power} of it"]


def check_figures(cell: Cell, replications: int) -> None:
    """Each record of the cell is that of the plain one times k exactly, each figure what its unit says."""
    one = Worker(cell, "compiled")
    plain = [one.replicate(3, replication) for replication in range(replications)]
    said = json.loads(json.dumps(figures(one.flat, one.plan, plain)))
    rate = said["output_per_hour"]["mean"]
    assert rate > 0
    for k in (Fraction(1, 2), Fraction(2), Fraction(3)):
        two = Worker(scaled(cell, k), "compiled")
        other = [two.replicate(3, replication) for replication in range(replications)]
        assert [stretched_record(r, Fraction(1)) for r in other] == [stretched_record(r, k) for r in plain]
        result = json.loads(json.dumps(figures(two.flat, two.plan, other)))
        assert wrong_figures(said, result, k) == []
        assert result["output_per_hour"]["mean"] == pytest.approx(rate / float(k), rel=1e-9)


@pytest.mark.parametrize("file", SCENARIOS, ids=lambda file: file.stem)
def test_scenarios(file: Path) -> None:
    """A day of every scenario: all times x k, rates divided by k."""
    check_figures(one_day(load(file)), 3)


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_behaviour_of_the_reference(name: str) -> None:
    """Likewise the example of each behaviour."""
    check_figures(one_day(load_text(EXAMPLES[name])), 1)


@pytest.mark.parametrize("k", [Fraction(1, 2), Fraction(2), Fraction(3), Fraction(1000)])
@pytest.mark.parametrize("name", LAWS)
def test_drawn_times(name: str, k: Fraction) -> None:
    """With the same luck a time of the scaled law is k times the plain one, but for the rounding of both.

    Each is rounded to the microsecond: they differ by (k + 1) / 2 us at most, and by the rounding of floats,
    which for these times of minutes is below 0.001 us.
    """
    law = make_law(name, LAWS[name].example)
    one, two = compiled_law(law), compiled_law(scaled_law(law, k))
    luck, same = stream(), stream()
    for _ in range(500):
        plain, other = duration(one[0], luck, one[1]), duration(two[0], same, two[1])
        assert abs(other - k * plain) <= (k + 1) / 2 + Fraction(1, 1000)


@pytest.mark.parametrize("name", LAWS)
def test_random_times_in_a_line(name: str) -> None:
    """Every departure of a line is k times as late, to within the rounding of the times that lead to it.

    A departure is the longest of many sums of times, and a path with unit n at its end goes through at most 2
    n + 4 of them in a line of four stations: each step goes back by one unit, one station, or one unit or
    more and forward by one station.  So it differs by at most (k + 1) / 2 us for each.
    """
    law = make_law(name, LAWS[name].example)
    names = ("release", "b1", "b2", "b3", "finished")
    stations = tuple(
        Station(f"S{i + 1}", 1, (Element("work", law),), ((names[i], 1),), 1, (Outlet(names[i + 1]),))
        for i in range(4)
    )
    stores = (Store("b1", 0), Store("b2", 2), Store("b3", 1))
    cell = Cell("line", "", None, (), (), (), stations, stores, Release(), Study(run=HORIZON))
    k = Fraction(3)
    exits = []
    for one, horizon in ((cell, 300 * mean(law)), (scaled(cell, k), 900 * mean(law))):
        run = CompiledRun(compile_cell(one), 5, 0)
        run.advance(round(horizon))
        exits.append([at for at, _, _ in run.exits])
    assert min(map(len, exits)) > 150
    for n, (plain, other) in enumerate(zip(*exits, strict=False), start=1):
        assert abs(other - k * plain) <= (k + 1) / 2 * (2 * n + 4)
