"""Material by hand: purchased parts in bins, by order and in rounds, who brings them, who gets them, cards.

All figures are hand-computed traces in minutes.  A station that has its unit but no piece of a purchased
part is `waiting for material`; the traces call that starved.
"""

from __future__ import annotations

import math

import pytest
from tracing import MINUTE, PUBLISHED, Trace, check, exactly, in_units, known, minutes, run_text

from cellsim.describe.resolve import load_text
from cellsim.engine import layout as L
from cellsim.engine.model import compile_cell
from cellsim.published.traces_material import one_part as one
from cellsim.study.supply import part_figures
from cellsim.study.worker import Worker

WAITS = "waiting for material"


# Supply by order and in bins ---------------------------------------------------------------------------


def test_an_order_that_comes_too_late():
    """Bin of 10, order at 3 or fewer, delivery of 10 after 15: seven minutes without material in every 27."""
    traced = check(known("trace-order-comes-too-late", 100, 39, {"S1": {"working": 79, WAITS: 21}}))
    assert traced.said(L.N_SENT_FOR) == minutes(12, 39, 66, 93)
    assert traced.said(L.N_DELIVERED) == minutes(27, 54, 81)


def test_an_order_that_comes_in_time():
    """The same with a delivery after 5: orders at 12, 32, ..., never short."""
    traced = check(known("trace-order-comes-in-time", 100, 50, {"S1": {"working": 100}}))
    assert traced.said(L.N_SENT_FOR) == minutes(12, 32, 52, 72, 92)


def test_two_bins():
    """Two bins of 6, each back full 20 after its last piece: without material 24 to 30 and 54 to 60."""
    traced = check(known("trace-two-bins", 80, 34, {"S1": {"working": 68, WAITS: 12}}))
    assert traced.said(L.N_SENT_FOR) == minutes(10, 22, 40, 52, 70)


def test_several_pieces_a_cycle_from_two_bins():
    """Four a cycle, two bins of 6, back after 20: a cycle takes the last of one bin and the rest of the next.

    Bins are emptied at 2, 4, 24, 26 and come back at 22, 24, 44, 46; cycles begin at 0, 2, 4, 22, 24, 26, 44
    and, with 2 + 6 pieces, 46, which empties the next.
    """
    text = one("used_at: {S1: 4}, box: 6, bins: 2, delivery: 20 min")
    waits = {"working": 14, WAITS: 32}
    traced = check(Trace("four", text, 46, [2, 4, 6, 24, 26, 28, 46], 7, {"S1": waits}))
    assert traced.said(L.N_SENT_FOR) == minutes(2, 4, 24, 26, 46)


def test_bins_that_are_not_full_at_the_start():
    """Two bins of 6 with 8 pieces in them: the second is in use with 2, so none is away; with 6 one is."""
    part = "used_at: S1, box: 6, bins: 2, delivery: 20 min, starts_with: {}"
    assert run_text(one(part.format(8)), 60).said(L.N_SENT_FOR)[:2] == minutes(2, 14)
    traced = run_text(one(part.format(6)), 32)
    assert traced.said(L.N_DELIVERED) == minutes(20, 30)
    assert traced.left() == minutes(2, 4, 6, 8, 10, 12, 22, 24, 26, 28, 30, 32)


def test_a_small_box_is_ordered_again_at_once():
    """Five a cycle, boxes of 2 after 3 min: order after order until more than the level of 4 are there.

    5 at 0; orders at 0, 3, 6 arrive at 3, 6, 9: 6 pieces at 9.
    """
    traced = run_text(one("used_at: {S1: 5}, box: 2, orders_at: 4, delivery: 3 min, starts_with: 5"), 11)
    assert traced.said(L.N_SENT_FOR) == minutes(0, 3, 6, 9)
    assert traced.left() == minutes(2, 11)


def test_which_delivery_the_output_waited_for():
    """The path to the 12th unit at 31: work 0 to 12, delivery 12 to 27, work 27 to 31."""
    traced = run_text(PUBLISHED["trace-order-comes-too-late"].cell, 31)
    assert traced.path() == {
        ("S1", "work"): exactly(16),
        ("pin", "delivery"): exactly(15),
    }


def test_figures_of_a_part():
    """Order at 3, delivery after 15, 100 minutes: 39 used, 3 boxes, three shortages, 21 % of the time short.

    Pieces lying ready: 9 + 8 + ... + 1 each for 2 minutes, then none to 27, in periods of 27 min; the last 19
    minutes from 81 hold 2 (9 + ... + 1) + 1 x 0 = 90 too: 4 x 90 / 100.
    """
    cell = load_text(PUBLISHED["trace-order-comes-too-late"].cell)
    assert cell.study.run == exactly(100)
    worker = Worker(cell)
    record = worker.replicate(1, 0)
    row = part_figures(worker.flat, worker.plan, [record])["pin"]
    assert record.violations == []
    assert [row[key]["mean"] for key in ("used", "deliveries", "shortages", "short_share")] == [
        39,
        3,
        3,
        0.21,
    ]
    assert row["mean"] == pytest.approx(3.6)


@pytest.mark.parametrize(("until", "area", "short"), [(15, 86, 0), (25, 90, 5)])
def test_a_part_is_accounted_for_up_to_the_last_minute(until, area, short):
    """Order at 3, delivery at 27: 9 to 3 pieces lie 2 min each and then 2 from 14 on, none from 18 on.

    To 15 that is 2 (9 + 8 + ... + 3) + 1 x 2 = 86 piece minutes.  S1 lacks one from 20 on: 5 min at 25.
    """
    stock = run_text(one("used_at: S1, box: 10, orders_at: 3, delivery: 15 min"), until).run.state.stocks[0]
    assert [stock.area, stock.short_time] == minutes(area, short)


# Who brings it -----------------------------------------------------------------------------------------


def test_a_handler_brings_one_bin_after_the_other():
    """Two bins of 6, a trip of 20 by one handler: bins emptied at 10, 22, 40, 60 are back at 30, 50, 70, 90.

    S1 has no material 24-30, 42-50, 62-70; the handler is busy from 10 on.
    """
    check(
        Trace(
            "handler",
            one("used_at: S1, box: 6, bins: 2, brought_by: H, trip: 20 min", more="crew: {H: {}}\n"),
            horizon=80,
            left=[*range(2, 25, 2), *range(32, 43, 2), *range(52, 63, 2), 72, 74],
            count=29,
            states={"S1": {"working": 58, WAITS: 22}},
            actors={"H": {"bringing": 70, "free": 10}},
        )
    )


def test_trips_never_take_longer_than_the_handler_is_there():
    """Trips of 20 min, one after the other: rounds x round time = busy time, at most the shift."""
    part = "used_at: S1, box: 6, bins: 2, brought_by: H, trip: 20 min"
    traced = run_text(one(part, more="crew: {H: {}}\n"), 490)
    trips = len(traced.said(L.N_DELIVERED))
    assert traced.actors()["H"] == in_units({"H": {"bringing": 20 * trips, "free": 10}})["H"]
    assert trips == 24


def test_a_box_that_must_be_made_ready_before_it_is_brought():
    """Order at 12, ready after 5, trip of 3: there at 20, just when the tenth unit is done."""
    part = "used_at: S1, box: 10, orders_at: 3, delivery: 5 min, brought_by: H, trip: 3 min"
    traced = run_text(one(part, more="crew: {H: {}}\n"), 40)
    assert traced.said(L.N_SENT_FOR) == minutes(12, 32)
    assert traced.said(L.N_DELIVERED) == minutes(20, 40)
    assert traced.said(L.N_ATTENDS) == minutes(17, 37)


def test_parts_come_only_while_the_handler_is_on_duty():
    """Bins of 6 at 10 min a piece, emptied at 50 and 110; the handler comes at 120 and needs 20 a bin.

    S1 waits 120 to 140, its third bin is emptied at 190: trips 120-140, 140-160, 190-210.
    """
    more = (
        "shifts: {early: {from: 06:00, to: 08:00}, late: {from: 08:00, to: 10:00}}\n"
        "crew: {H: {shift: late}}\n"
    )
    check(
        Trace(
            "off duty",
            one("used_at: S1, box: 6, bins: 2, brought_by: H, trip: 20 min", "cycle: 10 min", more),
            horizon=240,
            left=[*range(10, 121, 10), *range(150, 241, 10)],
            count=22,
            states={"S1": {"working": 220, WAITS: 20}},
            actors={"H": {"off": 120, "bringing": 60, "free": 60}},
        )
    )


def test_a_break_of_the_handler_interrupts_the_trip():
    """A trip of 20 from 10 on; a break from 20 to 25 that suspends it: the bin is there at 35."""
    more = (
        "shifts: {day: {from: 06:00, to: 14:00, breaks: [{at: 06:20, for: 5 min}]}}\n"
        "crew: {H: {at_break: suspend}}\n"
    )
    part = "used_at: S1, box: 6, bins: 2, brought_by: H, trip: 20 min"
    traced = run_text(one(part, "cycle: 2 min, runs_through_breaks: yes", more), 36)
    assert traced.said(L.N_DELIVERED) == minutes(35)
    assert traced.states() == in_units({"S1": {"working": 25, WAITS: 11}})


def test_a_handler_who_starts_nothing_that_he_cannot_finish():
    """Called at 10 with a break from 20 to 25: a trip of 15 begins at 25 and ends at 40; one of 10 fits."""
    more = (
        "shifts: {day: {from: 06:00, to: 14:00, breaks: [{at: 06:20, for: 5 min}]}}\n"
        "crew: {H: {at_break: do not start}}\n"
    )
    part = "used_at: S1, box: 6, bins: 2, brought_by: H, trip: {} min"
    for trip, there in ((15, 40), (10, 20)):
        text = one(part.format(trip), "cycle: 2 min, runs_through_breaks: yes", more)
        assert run_text(text, 40).said(L.N_DELIVERED)[:1] == minutes(there)


def test_regular_rounds_do_not_drift():
    """A round every 10 with a trip of 4: boxes arrive at 14, 24, 34, 44."""
    part = "used_at: S1, box: 5, every: 10 min, brought_by: H, trip: 4 min"
    traced = run_text(one(part, more="crew: {H: {}}\n"), 44)
    assert traced.said(L.N_DELIVERED) == minutes(14, 24, 34, 44)
    assert traced.actors() == in_units({"H": {"bringing": 16, "free": 28}})


def test_an_urgent_part_is_brought_first():
    """Both bins are emptied at 0; the handler takes that of priority 1 first, whatever the names say."""
    text = """
cell: two parts
crew: {H: {}}
route: [S1]
stations: {S1: {cycle: 2 min}}
parts:
  a: {used_at: S1, box: 1, bins: 2, brought_by: H, trip: 3 min, priority: 2}
  b: {used_at: S1, box: 1, bins: 2, brought_by: H, trip: 3 min}
"""
    for swap in (text, text.replace("  a:", "  x:").replace("  b:", "  a:").replace("  x:", "  b:")):
        traced = run_text(swap, 6)
        urgent = "b" if swap is text else "a"
        order = [
            traced.run.flat.names.parts[who] for _, what, who, _ in traced.run.notes if what == L.N_DELIVERED
        ]
        assert order[0] == urgent and traced.said(L.N_DELIVERED) == minutes(3, 6)


# Who gets it -------------------------------------------------------------------------------------------

SHARED = """
cell: shared bin
route: [A]
lines: {gate: [G, door], second: [door, B]}
stations:
  A: {cycle: 100 min}
  G: {cycle: 1 min}
  B: {cycle: 100 min, goes_to: finished}
stores: {door: 1}
parts: {kit: {used_at: {A: 5, B: 1}, box: 1, every: 10 min, starts_with: 1, overtaking: no}}
"""
SHARED_UNITS = """
cell: shared store
route: [A]
lines: {gate: [G, door], second: [door, B], kits: [K, bin]}
stations:
  A: {cycle: 100 min, takes: {bin: 5}}
  G: {cycle: 1 min}
  B: {cycle: 100 min, goes_to: finished, takes: {bin: 1}}
  K: {cycle: 10 min}
stores: {door: 1, bin: {places: 20, starts_with: 1, overtaking: no}}
"""


@pytest.mark.parametrize("text", [SHARED, SHARED_UNITS], ids=["pieces", "units"])
@pytest.mark.parametrize(("overtaking", "starts"), [("no", (40, 50)), ("yes", (50, 1))])
def test_a_small_request_overtakes_or_not(text, overtaking, starts):
    """One piece at 0, one more every 10; A asks for 5 at 0, B for 1 at 1.

    In strict order A gets its five at 40 and B one at 50; where overtaking is allowed, B at 1 and A at 50.
    """
    traced = run_text(text.replace("overtaking: no", f"overtaking: {overtaking}"), 60)
    assert (traced.said(L.N_STARTS, "A"), traced.said(L.N_STARTS, "B")) == tuple(
        [exactly(at)] for at in starts
    )


def test_who_waits_for_something_else_holds_nobody_up():
    """A asks for kits but lacks screws until 30: B, which asks later, takes its kit at 1.

    At 30 A is ready but for the kits: 1 at 0 less B's, one each at 10, 20, 30: its five are there at 50.
    """
    screws = "  screws: {used_at: A, box: 1, every: 30 min, starts_with: 0}"
    text = SHARED.replace("parts: {kit: {", "parts:\n  kit: {").replace("no}}", "no}\n" + screws)
    traced = run_text(text, 60)
    assert (traced.said(L.N_STARTS, "A"), traced.said(L.N_STARTS, "B")) == (minutes(50), minutes(1))


def test_an_urgent_station_goes_before_who_asked_first():
    """B has priority 1, A 2: A waits for five from 0 on, B asks at 1 and gets the one that is there."""
    text = SHARED.replace("A: {cycle: 100 min}", "A: {cycle: 100 min, priority: 2}")
    traced = run_text(text, 60)
    assert (traced.said(L.N_STARTS, "A"), traced.said(L.N_STARTS, "B")) == (minutes(50), minutes(1))


# Consumables -------------------------------------------------------------------------------------------


def test_a_reel_is_changed_after_its_cycles():
    """Every 5 cycles a change of 3 min by the operator: changes = cycles // 5."""
    stop = "stops: {reel: {every: 5 cycles, lasts: 3 min, exact: yes, cleared_by: op}}"
    text = f"cell: reel\ncrew: {{op: {{}}}}\nroute: [S1]\nstations: {{S1: {{cycle: 2 min, {stop}}}}}\n"
    traced = check(
        Trace(
            "reel",
            text,
            horizon=26,
            left=[2, 4, 6, 8, 10, 15, 17, 19, 21, 23, 28],
            count=10,
            states={"S1": {"working": 20, "down": 6}},
            actors={"op": {"repairing": 6, "free": 20}},
        )
    )
    traced.advance(exactly(500))
    assert traced.run.state.stops[0].count == traced.cycles()["S1"] // 5


# What goes on for ever must not hide a standstill -------------------------------------------------------


def test_a_circular_wait_is_found_although_boxes_go_on_coming():
    """Every unit goes back once: locked at 3, while a box comes every 10 min and a truck every 7."""
    text = """
cell: circle
route: [S1, buffer, S2]
stations:
  S1: {cycle: 1 min}
  S2: {cycle: 1.5 min, rejects: {verdicts: [reject], to: S1, attempts: 9, waits: on the station}}
stores: {buffer: 1}
parts: {pin: {used_at: S2, box: 5, every: 10 min}}
finished_goods: {places: 5, collected: {every: 7 min}}
"""
    traced = run_text(text, 60)
    assert traced.left() == []
    assert traced.run.stalled_at == exactly(3)


def test_who_waits_for_the_next_box_is_not_locked():
    """The only pieces come every 100 min: nothing moves in between, and that is no standstill."""
    traced = run_text(one("used_at: S1, box: 1, every: 100 min"), 350)
    assert traced.left() == minutes(2, 102, 202, 302)
    assert traced.run.stalled_at == -1


# By chance ---------------------------------------------------------------------------------------------


def test_stock_outs_of_two_bins():
    """A bin of Q pieces at t = 0.5 min, refill exponential, mean 20: P(out) = exp(-Q t / 20).

    That is the chance that a bin is not back when the other one has given its last piece.  For 1 % Q is 184.2
    (185; with a mean of 30 min 277), although mean demand in the time of a refill is only 40.  Here Q = 40.

    With a = t / 20, exp(-Q a) holds after a bin that was back in time.  After one that was not, both are
    away; whichever comes first is used from max(t, that time) on, so that the other one is away at its last
    piece with exp(-(Q - 1) a) (2 exp(-a) - exp(-2 a)).  The station waits where none of both is back within
    t: exp(-2 a). Bins follow each other almost independently (the two chances differ by 0.009).  4.1
    standard errors for each of two shares: false alarm 1 in 12 000.
    """
    assert math.exp(-184.2 * 0.5 / 20) == pytest.approx(0.01, rel=1e-3)
    assert [math.ceil(-math.log(0.01) * mean / 0.5) for mean in (20, 30)] == [185, 277]
    part = "used_at: S1, box: 40, bins: 2, delivery: {law: exponential, mean: 20 min}"
    traced = run_text(one(part, "cycle: 0.5 min"), 60_000, seed=11)
    away = bins = out = 0
    for _, what, _, _ in traced.run.notes:
        if what == L.N_SENT_FOR:
            bins, out, away = bins + 1, out + (away == 1), away + 1
        elif what == L.N_DELIVERED:
            away -= 1
    a = 0.5 / 20
    after_in, after_out = math.exp(-40 * a), math.exp(-39 * a) * (2 * math.exp(-a) - math.exp(-2 * a))
    share = after_in / (1 + after_in - after_out)
    assert bins > 2000
    for count, chance in ((out, share), (traced.run.state.stocks[0].shortages, share * math.exp(-2 * a))):
        assert abs(count / bins - chance) < 4.1 * math.sqrt(chance * (1 - chance) / bins)


def test_one_per_cent_of_stock_outs_counted_exactly():
    """Bins of 185 pieces at 0.5 min: a refill of 92.5 min is in time for the last piece, one of 93 min for
    the next.

    Refills in turn of 92.5, 93 and 94 min: only the last lets the station wait, for 1 min.
    """
    part = "used_at: S1, box: 185, bins: 2, delivery: {listed: [92.5 min, 93 min, 94 min]}"
    traced = run_text(one(part, "cycle: 0.5 min"), 3 * 92.5 + 92.5 + 10)
    assert traced.states() == in_units({"S1": {"working": 3 * 92.5 + 92.5 + 9, WAITS: 1}})


def test_a_closed_loop_of_cards():
    """M balanced exponential stations, W cards, large places: rate W / (W + M - 1) of one station.

    M = 3, W = 5, mean 1 min: 5/7 a minute (balanced closed networks of Gordon and Newell 1967, from
    memory).  Ten runs of 4000 min after 200; Student's t with 9 degrees of freedom at 1e-4, two sides: 6.6
    standard errors.
    """
    stations = ", ".join(f"{name}: {{cycle: {{law: exponential, mean: 1 min}}}}" for name in "abc")
    text = (
        f"cell: loop\nroute: [a, x, b, y, c]\nstations: {{{stations}}}\n"
        "stores: {x: unlimited, y: unlimited}\n"
        "release: cards 5\nstudy: {run: 4000 min, settle: 200 min}\n"
    )
    worker = Worker(load_text(text))
    rates = [sum(worker.replicate(3, k).hourly) / 4000 for k in range(10)]
    mean = sum(rates) / 10
    error = math.sqrt(sum((rate - mean) ** 2 for rate in rates) / 9 / 10)
    assert abs(mean - 5 / 7) < 6.6 * error
    assert error < 0.01


def test_nothing_of_this_stands_in_a_cell_without_it():
    """A cell without parts, bars, lots, plan or places behind it has none of their rows, and says so."""
    cell = load_text("cell: plain\nroute: [S1]\nstations: {S1: {cycle: 2 min}}\n")
    c = compile_cell(cell).state
    assert (len(c.stocks), len(c.supplies), len(c.hourly), c.stations[0].supplied) == (0, 0, 0, 0)
    assert ("parts", "always there") in {(a.path, a.value) for a in cell.assumptions}
    assert MINUTE == 60_000_000
