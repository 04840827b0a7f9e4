"""Stops and service as they are described: when service is due, and what is assumed where nothing is said."""

from __future__ import annotations

import pytest

from cellsim.describe.cell import Assumption, Cell, Law, Need
from cellsim.describe.resolve import load_text
from cellsim.units import DAY, HOUR, MINUTE

TWO_SHIFTS = """
shifts:
  early: {from: 06:00, to: 14:00, days: Mon-Sat}
  night: {from: 22:00, to: 06:00, days: [Sun, Mon]}
"""


def serviced(service: str, head: str = "", station: str = "") -> Cell:
    """A cell with one service called care."""
    of_a = f"{{cycle: 5 s, {station}service: {{care: {{{service}}}}}}}"
    return load_text(f"cell: x\n{head}\nroute: [a]\nstations:\n  a: {of_a}\n")


@pytest.mark.parametrize(
    ("at", "moments"),
    [
        ("06:00", [(day, 6) for day in range(6)]),  # early begins, the night ends on Mon and Tue
        ("02:00", [(0, 2), (1, 2)]),  # the nights of Sunday and Monday, after midnight
        ("23:00", [(0, 23), (6, 23)]),
        ("18:00", [(day, 18) for day in range(7)]),  # no shift is on then, one begins every day
        ("Fri 13:00", [(4, 13)]),
        ("[Sat-Mon 08:00, Mon 07:00]", [(0, 7), (0, 8), (5, 8), (6, 8)]),
    ],
)
def test_when_service_is_due(at: str, moments: list[tuple[int, int]]) -> None:
    """Without days, service is due on those on which a shift is on then, else on which one begins."""
    (stop,) = serviced(f"at: {at}, lasts: 10 min", TWO_SHIFTS).stations[0].stops
    assert stop.at == tuple(day * DAY + hour * HOUR for day, hour in moments)
    assert stop.planned


def test_assumed_days_are_told() -> None:
    """Days that are not written are an assumption; days that are written are none."""
    found = serviced("at: [06:00, Fri 13:00], lasts: 10 min").assumptions
    why = "without shifts every day is alike, and a run begins at midnight"
    assert Assumption("stations.a.service.care.at[1]", "daily 06:00", why) in found
    assert not any("at[2]" in a.path for a in found)


def test_service_lets_the_cycle_end_and_is_exact_unless_told_otherwise() -> None:
    """Planned work is fixed in length and interval, waits for the end of the cycle, and says so."""
    cell = serviced("every: 40 h of on time, lasts: 10 min")
    (stop,) = cell.stations[0].stops
    assert (stop.every, stop.lasts) == (Law("fixed", (40.0 * HOUR,)), Law("fixed", (10.0 * MINUTE,)))
    assert (stop.clock, stop.after_cycle, stop.repaired_by) == ("on time", True, ())
    assert {(a.path, a.value) for a in cell.assumptions} >= {
        ("stations.a.service.care.begins", "after the cycle"),
        ("stations.a.service.care.by", "nobody"),
    }
    (stop,) = serviced("every: 900 units, lasts: 10 min, begins: at once").stations[0].stops
    assert (stop.every, stop.clock, stop.after_cycle) == (Law("fixed", (900.0,)), "units", False)


def test_stops_are_neutral_unless_told_otherwise() -> None:
    """A stop strikes at once, alone, scraps nothing after it and interrupts nobody."""
    jam = "stops: {jam: {every: 20 min of running, lasts: 4 min}}, "
    jammed, care = (serviced("at: 06:00, lasts: 10 min", station=jam).stations[0].stops)[::-1]
    assert (jammed.name, care.name) == ("jam", "care")
    assert not (jammed.planned or jammed.after_cycle or jammed.interrupts)
    assert (jammed.at, jammed.stops_too, jammed.restart_scrap) == ((), (), 0)


def test_people_who_come_from_elsewhere() -> None:
    """A plain response time is fixed; without the keys nobody is elsewhere and nobody is called out."""
    head = (
        "shifts: {day: {from: 06:00, to: 14:00, breaks: []}}\n"
        "crew: {fitter: {response: 5 min, called_out: 40 min}, op: {}}"
    )
    fitter, op = serviced("at: 06:00, lasts: 10 min, by: [fitter, op]", head).posts
    assert (fitter.response, fitter.called_out) == (Law("fixed", (5.0 * MINUTE,)), 40 * MINUTE)
    assert (op.response, op.called_out) == (None, None)
    assert fitter.can_help((Need("fitter"), Need("op")))
    assert not op.can_help((Need("fitter"),))


def test_caution_of_clearing_by_hand() -> None:
    """Whoever clears stops by hand makes the caution due; planned service alone does not."""
    text = "Clearing by hand is taken to be safe without lockout. Confirm this with safety."
    crew = "crew: {op: {}}"
    assert text not in serviced("at: 06:00, lasts: 10 min, by: op", crew).cautions
    jam = "stops: {jam: {every: 20 min of running, lasts: 4 min%s}}, "
    assert text in serviced("at: 06:00, lasts: 1 min", crew, jam % ", cleared_by: op").cautions
    assert text not in serviced("at: 06:00, lasts: 1 min, by: op", crew, jam % "").cautions
