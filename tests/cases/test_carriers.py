"""Pallets, fixtures and baskets in circulation, by hand and against the closed loop of queueing theory.

Hand-computed traces are in minutes.
"""

from __future__ import annotations

import pytest
from tracing import Trace, check, minutes, run_text

from cellsim.describe.resolve import load_text
from cellsim.study.replicate import run_replications

PALLETS = """
cell: pallets
route: [load, a, press, b, unload]
stations: {{load: {{cycle: 2 min}}, press: {{cycle: 3 min}}, unload: {{cycle: 1 min}}}}
stores: {{a: {places}, b: {places}}}
carriers: {{pallets: {{count: {count}, from: load, to: unload, returns: 4 min}}}}
"""


def test_one_pallet():
    """One pallet: 2 + 3 + 1 min with it, 4 min on its way back, so a unit every 10 min: 6, 16, 26, ..."""
    run = check(
        Trace(
            "one pallet",
            PALLETS.format(count=1, places=9),
            40,
            (6, 16, 26, 36, 46),
            4,
            {
                "load": {"working": 8, "waiting for carrier": 32},
                "press": {"working": 12, "starved": 28},
                "unload": {"working": 4, "starved": 36},
            },
        )
    )
    kind = run.run.state.carrier_kinds[0]
    assert (kind.taken, kind.free, kind.coming) == (5, 0, 1)  # at 46, when the fifth unit is off


def test_two_pallets_starve():
    """Two pallets, each 10 min around unless it waits: the second waits 1 min before the press in the first
    round only, then both run free of each other 2 min, later 3 min, apart.

    Loaded at 0, 2; pressed 2-5, 5-8; unloaded at 6, 9; back at 10, 13; the same 10 min later.
    """
    check(
        Trace(
            "two pallets",
            PALLETS.format(count=2, places=9),
            30,
            (6, 9, 16, 19, 26, 29, 36),
            6,
            {
                "load": {"working": 12, "waiting for carrier": 18},
                "press": {"working": 18, "starved": 12},
                "unload": {"working": 6, "starved": 24},
            },
        )
    )


def test_many_pallets_block():
    """Nine pallets and one place before the press: the press is the bottleneck, load is blocked, none is
    missing: units at 6, 9, 12, ..."""
    check(
        Trace(
            "many pallets",
            PALLETS.format(count=9, places=1),
            30,
            (6, 9, 12, 15, 18, 21, 24, 27, 30),
            9,
            {
                "load": {"working": 23, "blocked": 7},
                "press": {"working": 28, "starved": 2},
                "unload": {"working": 9, "starved": 21},
            },
        )
    )


def test_no_more_batches_than_baskets():
    """Two baskets of up to 3 parts: the third batch waits for the first to come back from the rinse at 21.

    Wash takes batches of 3 for 5 min at 0 and 5; the rinse takes its parts one by one, 5 min each: the first
    basket is empty with the third part at 20 and back at 21, the second at 35 and 36.
    """
    text = """
cell: baskets
route: [wash, rack, rinse]
stations: {wash: {cycle: 5 min, batch: {size: 3}}, rinse: {cycle: 5 min}}
stores: {rack: unlimited}
carriers: {baskets: {count: 2, from: wash, to: rinse, returns: 1 min, per: batch}}
"""
    run = check(
        Trace(
            "baskets",
            text,
            40,
            (10, 15, 20, 25, 30, 35, 40),
            7,
            {
                "wash": {"working": 5 + 5 + 5 + 4, "waiting for carrier": 11 + 10},
                "rinse": {"starved": 5, "working": 35},
            },
        )
    )
    assert run.run.state.carrier_kinds[0].taken == 4


def test_scrapped_unit_leaves_its_pallet():
    """The press scraps every second unit at the end of its cycle: its pallet sets out for the load then.

    One pallet: unit of 0 scrapped at 5, pallet back at 9; unit of 9 good: out at 15; back at 19.
    """
    text = PALLETS.format(count=1, places=9).replace(
        "press: {cycle: 3 min}", "press: {cycle: 3 min, rejects: {verdicts: [reject, good], to: scrap}}"
    )
    run = run_text(text, 40)
    assert run.left() == minutes(15, 34)


def test_rework_keeps_the_pallet():
    """A unit that comes back to the loading station on its pallet needs no other one: no lock with one.

    Loaded 0-2, rejected at 3, loaded again 3-5, good at 6, packed at 7; pallet back at 8; the same from 8 on.
    """
    text = """
cell: rework
release: {at: [0 s, 0 s]}
route: [load, test, pack]
stations:
  load: {cycle: 2 min}
  test: {cycle: 1 min, rejects: {verdicts: [reject, good], to: load}}
  pack: {cycle: 1 min}
carriers: {pallets: {count: 1, from: load, to: pack, returns: 1 min}}
"""
    run = run_text(text, 30)
    assert run.left() == minutes(7, 15)


def test_units_made_of_one_share_its_pallet():
    """Sawing gives 3 units of one: all ride on its pallet, which comes back when the last is unloaded."""
    text = """
cell: saw
route: [load, saw, rack, unload]
stations: {load: {cycle: 2 min}, saw: {cycle: 1 min, gives: 3}, unload: {cycle: 1 min}}
stores: {rack: 9}
carriers: {pallets: {count: 1, from: load, to: unload, returns: 1 min}}
"""
    run = run_text(text, 20)
    assert run.left() == minutes(4, 5, 6, 11, 12, 13, 18, 19, 20)


@pytest.mark.parametrize(("stations", "carriers"), [(3, 2), (4, 6), (2, 3)])
def test_closed_loop_of_exponential_stations(stations, carriers):
    """Balanced closed loop, large places: rate W / (W + M - 1) of a station's.

    Gordon and Newell 1967, Closed Queuing Systems with Exponential Servers (all states of a balanced loop
    are equally likely).  20 runs of 4000 min with means of 1 min, fixed seed; the standard error is
    estimated from the runs, and the bound of 4.5 of Student's t with 19 degrees of freedom lets a right
    program fail with a chance of about 0.0002.
    """
    names = [f"s{k}" for k in range(stations)]
    stores = [f"q{k}" for k in range(1, stations)]
    route = [names[0], *(x for pair in zip(stores, names[1:], strict=True) for x in pair)]
    cycle = "{cycle: {law: exponential, mean: 1 min}}"
    text = f"""
cell: loop
route: [{", ".join(route)}]
stations: {{{", ".join(f"{name}: {cycle}" for name in names)}}}
stores: {{{", ".join(f"{store}: unlimited" for store in stores)}}}
carriers: {{pallets: {{count: {carriers}, from: {names[0]}, to: {names[-1]}}}}}
study: {{run: 4000 min, settle: 100 min}}
"""
    study = run_replications(load_text(text), 5, range(20))
    rates = [sum(record.hourly) / 4000 for record in study.records]
    assert not any(record.violations for record in study.records)
    mean = sum(rates) / len(rates)
    error = (sum((rate - mean) ** 2 for rate in rates) / (len(rates) - 1) / len(rates)) ** 0.5
    assert abs(mean - carriers / (carriers + stations - 1)) < 4.5 * error < 0.02


@pytest.mark.parametrize(("until", "coming"), [(40, 16), (38, 14)])
def test_areas_of_carriers(until, coming):
    """One pallet, 6 of 10 min in use, 4 coming back, never free; at 38 the fourth has been coming for 2."""
    run = run_text(PALLETS.format(count=1, places=9), until)
    kind = run.run.state.carrier_kinds[0]
    assert [kind.area_used, kind.area_coming, kind.none_free] == minutes(24, coming, until)
