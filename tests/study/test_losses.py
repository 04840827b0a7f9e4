"""What limits output: shares of the path from hand-made records, and cells with one known limit."""

from __future__ import annotations

from typing import Any

import pytest

from cellsim.describe.resolve import load_text
from cellsim.engine.model import compile_cell
from cellsim.engine.record import Record
from cellsim.engine.tables import FlatCell
from cellsim.show import limit_words
from cellsim.study.losses import loss_account
from cellsim.study.worker import Worker

T1 = 12.7062  # Student's t, 1 degree of freedom, 97.5 % (table value)
CALENDAR = ("calendar", "breaks and off hours")
NO_INTERVAL = [None, None]

LINE = """
cell: two benches
route: [S1, tray, S2]
stations: {S1: {cycle: 1 min, stops: {jam: {every: 1 h of running, lasts: 5 min}}}, S2: {cycle: 1 min}}
stores: {tray: 3}
study: {run: 1 h}
"""


def record(flat: FlatCell, elapsed: int, **options: Any) -> Record:
    """A record whose path takes `elapsed`, by cause and, where given, its planned part."""
    made = Record(0, path=[0] * len(flat.names.causes), path_plans=[0] * len(flat.names.causes))
    made.path_elapsed = elapsed
    for key, given in options.items():
        for cause, time in given.items():
            getattr(made, key)[flat.names.causes.index(cause)] = time
    return made


def rows(account: dict[str, Any]) -> dict[tuple[str, str], dict[str, Any]]:
    """The causes of an account by (who, what)."""
    return {(row["who"], row["what"]): row for row in account["causes"]}


@pytest.fixture
def two() -> dict[str, Any]:
    """Two runs of 1000 and 2000 s: by cause 500 200 100 200 and 800 0 400 800."""
    flat = compile_cell(load_text(LINE))
    causes = [("S2", "work"), ("S1", "work"), ("S1", "stop: jam"), CALENDAR]
    times = [[500, 200, 100, 200], [800, 0, 400, 800]]
    plans = [{("S2", "work"): 400 * 10**6}, {("S2", "work"): 900 * 10**6}]
    records = [
        record(
            flat,
            sum(row) * 10**6,
            path=dict(zip(causes, [t * 10**6 for t in row], strict=True)),
            path_plans=plan,
        )
        for row, plan in zip(times, plans, strict=True)
    ]
    records[1].path_forced = 3
    return loss_account(flat, records)


def test_shares_of_the_elapsed_time(two: dict[str, Any]) -> None:
    """Means of the shares of each run, with Student's interval, largest first; together they are 1."""
    found = [(row["who"], row["what"], round(row["share"], 12)) for row in two["causes"]]
    assert found == [
        ("S2", "work", 0.45),  # 0.5 and 0.4
        (*CALENDAR, 0.30),  # 0.2 and 0.4
        ("S1", "stop: jam", 0.15),  # 0.1 and 0.2
        ("S1", "work", 0.10),  # 0.2 and 0
    ]
    assert sum(row["share"] for row in two["causes"]) == pytest.approx(1.0, rel=1e-12)
    half = T1 * 0.1 / 2
    assert two["causes"][0]["interval"] == pytest.approx([0.45 - half, 0.45 + half], rel=1e-5)
    assert (two["elapsed_s"], two["shortened"]) == (1500.0, 1)
    assert two["unit"] == "share of the counted time until the last good unit"


def test_elasticity_leaves_the_calendar_out(two: dict[str, Any]) -> None:
    """Of the 800 and 1200 s outside breaks and off hours: 500 / 800 and 800 / 1200; the calendar has none."""
    by_cause = rows(two)
    work = by_cause["S2", "work"]
    first, second = 500 / 800, 800 / 1200
    half = T1 * abs(first - second) / 2
    assert work["elasticity"] == pytest.approx((first + second) / 2, rel=1e-12)
    assert work["elasticity_interval"] == pytest.approx(
        [work["elasticity"] - half, work["elasticity"] + half], rel=1e-5
    )
    assert by_cause[CALENDAR]["elasticity"] is None
    assert "elasticity_interval" not in by_cause[CALENDAR]
    others = [row["elasticity"] for cause, row in by_cause.items() if cause != CALENDAR]
    assert sum(others) == pytest.approx(1.0, rel=1e-12)


def test_work_is_its_planned_part_and_the_excess(two: dict[str, Any]) -> None:
    """Planned 400 / 1000 and 900 / 2000 of the path: 0.425, and 0.025 of the 0.45 is variation."""
    work = rows(two)["S2", "work"]
    assert work["ideal_share"] == pytest.approx(0.425, rel=1e-12)
    assert work["excess_share"] == pytest.approx(0.025, rel=1e-9)
    assert "ideal_share" not in rows(two)["S1", "stop: jam"]


def test_equal_shares_are_listed_by_name() -> None:
    """A tie is settled by name, not by the order in which causes were found."""
    flat = compile_cell(load_text(LINE))
    causes = [("S2", "work"), ("S1", "work"), ("S1", "stop: jam")]
    account = loss_account(flat, [record(flat, 30, path=dict.fromkeys(causes, 10))])
    assert [(row["who"], row["what"]) for row in account["causes"]] == [
        ("S1", "stop: jam"),
        ("S1", "work"),
        ("S2", "work"),
    ]
    assert [row["interval"] for row in account["causes"]] == [NO_INTERVAL] * 3


def test_without_a_good_unit_there_is_no_path() -> None:
    """Nothing left the cell, or only breaks passed: no cause is named; others are not thinned."""
    flat = compile_cell(load_text(LINE))
    nothing, rest = record(flat, 0), record(flat, 7, path={CALENDAR: 7})
    remark = "no good unit left the cell, so there is no path"
    empty = {"causes": [], "hands": [], "elapsed_s": 0.0, "remark": remark}
    assert loss_account(flat, [nothing, nothing]) == empty
    assert loss_account(flat, [rest]) == empty
    one = record(flat, 10, path={("S1", "work"): 10})
    assert loss_account(flat, [nothing, one, nothing]) == loss_account(flat, [one])


def account_of(text: str, replications: int = 2) -> dict[str, Any]:
    """The account of a cell; every replication keeps its laws."""
    worker = Worker(load_text(text))
    records = [worker.replicate(1, k) for k in range(replications)]
    assert [r.violations for r in records] == [[]] * replications
    assert all(sum(r.path) == r.path_elapsed > 0 for r in records)
    account = loss_account(worker.flat, records)
    assert sum(row["share"] for row in account["causes"]) == pytest.approx(1.0, rel=1e-12)
    return account


LIMITS = {
    "a slow station": (
        """
cell: slow in the middle
route: [A, one, B, two, C]
stations:
  A: {cycle: {mean: 20 s, spread: 20 %}}
  B: {cycle: {mean: 40 s, spread: 20 %}}
  C: {cycle: {mean: 20 s, spread: 20 %}}
stores: {one: 5, two: 5}
study: {run: 4 h}
""",
        ("B", "work"),
    ),
    "a technician who comes only at the end of the shift": (
        """
cell: nobody repairs
shifts: {day: {from: 06:00, to: 14:00}, visit: {from: 13:50, to: 14:00}}
crew: {technician: {shift: visit}}
route: [A, tray, B]
stations:
  A: {cycle: 1 s}
  B:
    cycle: 1 s
    stops: {jam: {every: {listed: [5 s], of: running}, lasts: {listed: [1 s]}, cleared_by: technician}}
stores: {tray: 5}
study: {run: 8 h}
""",
        ("B", "waiting for repair: jam"),
    ),
    "a robot that loads and unloads too slowly": (
        """
cell: robot hands
robots: {R1: {}}
route: [M]
stations: {M: {machines: 5, cycle: 10 s, visit: {by: R1, load: 20 s, unload: 20 s}}}
study: {run: 4 h}
""",
        ("M", "handling"),
    ),
    "a robot that has far to go": (
        """
cell: robot on its way
robots: {R1: {travel: {M > N: 60 s}}}
route: [M, N]
stations:
  M: {cycle: 1 s, visit: {by: R1, load: 1 s, unload: 1 s}}
  N: {cycle: 1 s, visit: {by: R1, load: 1 s, unload: 1 s}}
study: {run: 4 h}
""",
        ("R1", "travelling"),
    ),
    "stops": (
        """
cell: jams after each cycle
route: [S, tray, U]
stations:
  S: {cycle: 1 s, stops: {jam: {every: 1 cycles, lasts: 59 s, exact: yes}}}
  U: {cycle: 1 s}
stores: {tray: 2}
study: {run: 4 h}
""",
        ("S", "stop: jam"),
    ),
}


@pytest.mark.parametrize("name", LIMITS)
def test_the_one_limit_is_named(name: str) -> None:
    """Where one thing alone limits the cell, it has more than 95 % of the path, and of the elasticity."""
    text, cause = LIMITS[name]
    account = account_of(text)
    row = account["causes"][0]
    assert (row["who"], row["what"]) == cause
    assert row["share"] > 0.95
    assert row["elasticity"] > 0.95


def test_a_break_goes_to_the_calendar() -> None:
    """A cycle of an hour, a break of the second hour: of 8 h to the last unit 1 h is calendar, 7 are work."""
    account = account_of(
        """
cell: one break
shifts: {day: {from: 06:00, to: 14:00, breaks: [{at: 07:00, for: 1 h}]}}
route: [S]
stations: {S: {cycle: 1 h}}
study: {shifts: 1}
""",
        1,
    )
    assert account["elapsed_s"] == 8 * 3600
    assert rows(account) == {
        ("S", "work"): {
            "who": "S",
            "what": "work",
            "share": 7 / 8,
            "interval": NO_INTERVAL,
            "elasticity": 1.0,
            "elasticity_interval": NO_INTERVAL,
            "ideal_share": 7 / 8,
            "excess_share": 0.0,
        },
        CALENDAR: {
            "who": CALENDAR[0],
            "what": CALENDAR[1],
            "share": 1 / 8,
            "interval": NO_INTERVAL,
            "elasticity": None,
        },
    }


def test_settling_is_no_part_of_the_account() -> None:
    """Cycle 10 min, settle 25 min with a break in it, run 60: the units of the counted time, no break.

    By hand: 0-10, break 10-15, 15-25, 25-35, ... 75-85: 60 of 60 min are work.  With settle 20 the cycle that
    spans the start is cut: 5 min of it, then 5 cycles to 75, so 55 min are work, all of it planned.
    """
    text = """
cell: settles
shifts: {{day: {{from: 06:00, to: 14:00, breaks: [{{at: 06:10, for: 5 min}}]}}}}
route: [S]
stations: {{S: {{cycle: 10 min}}}}
study: {{settle: {settle} min, run: {run} min}}
"""
    for settle, run, elapsed in ((25, 60, 60), (20, 60, 55)):
        account = account_of(text.format(settle=settle, run=run), 1)
        assert account["elapsed_s"] == elapsed * 60
        (row,) = account["causes"]
        assert (row["who"], row["what"], row["share"], row["ideal_share"]) == ("S", "work", 1.0, 1.0)
    account = account_of(text.format(settle=5, run=60), 1)  # 5 min of work, the break, 5 units to 65
    shares = {cause: row["share"] for cause, row in rows(account).items()}
    assert account["elapsed_s"] == 60 * 60
    assert shares == pytest.approx({CALENDAR: 5 / 60, ("S", "work"): 55 / 60}, rel=1e-12)


def test_nothing_good_in_the_counted_time() -> None:
    """The only unit left while the cell was settling: there is no path, and nothing is made up."""
    text = """
cell: over
release: {at: [0 s]}
route: [S]
stations: {S: {cycle: 1 min}}
study: {settle: 5 min, run: 60 min}
"""
    worker = Worker(load_text(text))
    record_ = worker.replicate(1, 0)
    assert (record_.path_elapsed, sum(record_.path), record_.violations) == (0, 0, [])
    assert loss_account(worker.flat, [record_])["causes"] == []


def test_nights_go_to_the_calendar() -> None:
    """Three day shifts of 8 h, 20 cycles of 24 min in each: 24 of 56 hours are work, 32 are nights."""
    account = account_of(
        """
cell: three days
shifts: {day: {from: 06:00, to: 14:00}}
route: [S]
stations: {S: {cycle: 24 min}}
study: {shifts: 3}
""",
        1,
    )
    assert account["elapsed_s"] == 56 * 3600
    shares = {cause: row["share"] for cause, row in rows(account).items()}
    assert shares == pytest.approx({CALENDAR: 32 / 56, ("S", "work"): 24 / 56}, rel=1e-12)


def test_elasticity_is_what_a_small_change_buys() -> None:
    """Cycles 10 and 30 s, a jam of 3 min after every 20th cycle of the second: 1 % less of each, measured.

    All times are fixed, so the time to the last of 100 units gives the elasticity to a thousandth.
    """
    text = """
cell: for a small change
release: {{at: [{arrivals}]}}
route: [A, tray, B]
stations:
  A: {{cycle: 10 s}}
  B: {{cycle: {work}, stops: {{jam: {{every: 20 cycles, lasts: {repair}, exact: yes}}}}}}
stores: {{tray: 5}}
study: {{run: 2 h}}
"""
    arrivals = ", ".join(["0 s"] * 100)

    def elapsed(work: str, repair: str) -> float:
        worker = Worker(load_text(text.format(arrivals=arrivals, work=work, repair=repair)))
        return worker.replicate(1, 0).path_elapsed

    account = rows(account_of(text.format(arrivals=arrivals, work="30 s", repair="3 min"), 1))
    base = elapsed("30 s", "3 min")
    for cause, changed in (
        (("B", "work"), elapsed("29.7 s", "3 min")),
        (("B", "stop: jam"), elapsed("30 s", "178.2 s")),
    ):
        assert account[cause]["elasticity"] == pytest.approx((base - changed) / (0.01 * base), abs=1e-3)
    assert account["B", "stop: jam"]["elasticity"] > 0.1


def test_a_person_at_two_stations_has_what_both_have():
    """D works at S2 and S3, 20 and 15 s of 40; the machine time of S3 is nobody's, S1 is A's alone.

    The path is 35 s of D in each 40 s: 0.5 of it S2's work, 0.375 what D handles at S3.
    """
    cell = load_text(
        "cell: hands\nroute: [S1, a, S2, b, S3]\ncrew: {A: [S1], D: {}}\nstores: {a: 2, b: 1}\n"
        "stations:\n  S1: {cycle: 10 s}\n  S2: {cycle: 20 s, by: D}\n  S3:\n    work:\n"
        "      - {do: load, time: 15 s, by: D, phase: load}\n      - {do: wash, time: 1 s}\n"
        "study: {run: 4 h, settle: 1 h}\n"
    )
    flat = compile_cell(cell)
    account = loss_account(flat, [Worker(cell, "simpy").replicate(1, 0)])
    found = rows(account)
    (hands,) = account["hands"]
    assert (hands["who"], hands["stations"]) == ("D", ["S2", "S3"])
    assert hands["share"] == found["S2", "work"]["share"] + found["S3", "handling"]["share"]
    assert hands["share"] == pytest.approx(1, abs=0.01)
    assert found["S2", "work"]["share"] == pytest.approx(20 / 35, abs=0.01)
    said = list(limit_words(account))
    limits = "D alone works at S2 and S3, together >99 % of the path: D limits,"
    assert said[-1] == f"{limits} more than any one of these stations."
