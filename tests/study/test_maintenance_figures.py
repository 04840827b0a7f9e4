"""Figures of stops and service: what was planned, and what was scrapped after a stop."""

from __future__ import annotations

import io

import pytest
from rich.console import Console

from cellsim.describe.resolve import load_text
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.model import compile_cell
from cellsim.show.checked import checked_text
from cellsim.show.screen import print_result
from cellsim.show.trace import lines
from cellsim.study.paper import paper_figures
from cellsim.study.plan import make_plan, uncounted_services
from cellsim.study.study import run
from cellsim.units import MINUTE

TEXT = """
cell: two kinds
route: [S1]
stations:
  S1:
    cycle: 1 min
    stops: {jam: {every: 30 min of running, exact: yes, lasts: 2 min, restart_scrap: 4}}
    service: {care: {at: [00:15, 01:15], lasts: 6 min}}
study: {run: 2 h, replications: 2}
"""


def test_stops_and_service_in_the_result() -> None:
    """Care at 15 and 75 takes 12 of 120 min; jams at 36, 68 and 106 take 6 and spoil 12 units.

    30 min of running are over at 15 + 6 + 15 = 36, at 38 + 30 = 68 and at 70 + 5 + 6 + 25 = 106.
    """
    result = run(load_text(TEXT))
    care, jam = result["stops"]
    assert (care["cause"], care["planned"], care["stops"]["mean"], care["repair_min"]["mean"]) == (
        "care", True, 2, 12,
    )  # fmt: skip
    assert "scrapped_after" not in care
    assert (jam["cause"], jam["planned"], jam["stops"]["mean"], jam["repair_min"]["mean"]) == (
        "jam", False, 3, 6,
    )  # fmt: skip
    assert jam["scrapped_after"]["mean"] == 12
    shares = {state: row["mean"] * 120 for state, row in result["stations"]["S1"]["shares"].items()}
    assert {state: round(share, 9) for state, share in shares.items()} == {
        "working": 102,
        "down": 6,
        "planned service": 12,
    }
    assert sum(result["output_per_hour"]["by_clock_hour"][k]["mean"] for k in (0, 1)) == 102 - 12


def test_the_screen_tells_service_from_stops() -> None:
    """The table of stops says what was planned and what was scrapped; the stations have a column."""
    page = io.StringIO()
    print_result(run(load_text(TEXT)), Console(file=page, width=100, color_system=None))
    text = page.getvalue()
    rows = [line.split() for line in text.splitlines()]
    assert ["S1", "care", "(planned)", "2.0", "12.0", "0.0"] in rows
    assert ["S1", "jam", "3.0", "6.0", "0.0", "12.0"] in rows
    assert "planned" in text.split("Stops per run")[0]


HANDED = """
cell: hand over
shifts:
  early: {from: 06:00, to: 06:10, breaks: [], at_end: hand over}
  late: {from: 06:00, to: 14:00, breaks: []}
crew:
  ann: {skills: [work], shift: early}
  bob: {shift: late}
route: [S1]
stations:
  S1: {cycle: 15 min, by: ann, stops: {jam: {every: 9000 min of on time, lasts: 1 min, cleared_by: bob}}}
"""


def test_the_trace_tells_who_puts_work_down() -> None:
    """Ann puts her unit down when her shift ends at 06:10."""
    traced = SimpyRun(compile_cell(load_text(HANDED)), 1, 0, trace=True)
    traced.advance(12 * MINUTE)
    assert ("06:10:00.000", "ann", "puts down: at S1") in list(lines(traced))


@pytest.mark.parametrize("clock", ["simpy", "compiled"])
@pytest.mark.parametrize(
    ("settle", "runs", "repair", "waiting"),
    [
        (0, 60, 20, 5),  # all of it
        (0, 20, 10, 0),  # a repair under way at the end: 10 to 20 of 10 to 30
        (20, 40, 10, 5),  # and at the beginning of counting
        (0, 52, 20, 2),  # a wait under way at the end: 50 to 52 of 50 to 55
        (52, 8, 0, 3),  # and at the beginning
    ],
)
def test_stops_under_way_count_with_their_part(clock, settle, runs, repair, waiting):
    """A repair from 10 to 30 by nobody; a stop at 50 for which ann, at work elsewhere until 55, is waited."""
    cell = load_text(
        "cell: c\ncrew: {ann: {}}\nroute: [S1]\nlines: {other: [S2]}\nstations:\n"
        "  S1:\n    cycle: 1 min\n"
        "    service: {a: {at: 00:10, lasts: 20 min}, b: {at: 00:50, lasts: 5 min, by: ann}}\n"
        "  S2: {cycle: 55 min, by: ann}\n"
        f"study: {{settle: {settle} min, run: {runs} min, replications: 1}}\n"
    )
    found = {row["cause"]: row for row in run(cell, clock=clock)["stops"]}
    assert found["a"]["repair_min"]["mean"] == repair
    assert found["b"]["waiting_min"]["mean"] == waiting


@pytest.mark.parametrize(
    ("at", "study", "missed"),
    [
        ("Wed 06:00", "shifts: 1", True),
        ("Mon 06:00", "shifts: 1", False),
        ("13:59", "shifts: 1", False),  # every day
        ("Mon 14:00", "shifts: 1", True),  # at the end
        ("Wed 06:00", "shifts: 5", False),
        ("Fri 13:59", "shifts: 5", False),
        ("Mon 06:00", "{settle: 1 shift, shifts: 1}", True),
        ("Mon 06:00", "{settle: 5 shifts, shifts: 1}", False),  # that of the next week
    ],
)
def test_service_that_no_counted_shift_sees_is_told(at, study, missed):
    """In the cautions of the result, and those of `check`."""
    inner = study.strip("{}")
    cell = load_text(
        "cell: c\nshifts: {day: {from: 06:00, to: 14:00}}\nroute: [S1]\n"
        f"stations: {{S1: {{cycle: 20 s, service: {{care: {{at: {at}, lasts: 5 min}}}}}}}}\n"
        f"study: {{{inner}, replications: 1}}\n"
    )
    result = run(cell, clock="simpy")
    told = [text for text in result["cautions"] if "care of S1" in text]
    assert told == uncounted_services(cell, make_plan(cell))
    assert bool(told) == missed
    (row,) = result["stops"]
    assert (row["repair_min"]["mean"] == 0) == missed
    if told:
        assert told[0].endswith("study: {shifts: 5}.")
        assert f"caution: {told[0]}" in checked_text(cell, paper_figures(cell), "c.yaml", told)
