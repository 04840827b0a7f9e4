"""The paper work before any run: takt, balance, tending, warnings, each case worked out by hand."""

from __future__ import annotations

from typing import Any

import pytest

import cellsim
from cellsim.describe.resolve import load_text
from cellsim.errors import UsageError
from cellsim.study.workload import workload

DAY = (
    "shifts: {day: {from: 06:00, to: 14:00, breaks: [{at: 08:30, for: 10 min}, {at: 11:30, for: 10 min}],"
    " clean_up: 10 min}}\n"
)


def work(text: str, **how: Any) -> dict[str, Any]:
    """The paper work of a cell."""
    return workload(load_text("cell: Test\n" + text), **how)


def benches(times: list[float], target: str, more: str = "", shifts: str = DAY, last: str = "") -> str:
    """A row of benches, each with a person of its own."""
    names = [f"b{k + 1}" for k in range(len(times))]
    route = ", ".join(name if k == 0 else f"s{k}, {name}" for k, name in enumerate(names))
    stations = ", ".join(
        f"{name}: {{cycle: {time} s{last if name == names[-1] else ''}}}"
        for name, time in zip(names, times, strict=True)
    )
    crew = ", ".join(f"P{k + 1}: [{name}]" for k, name in enumerate(names))
    stores = ", ".join(f"s{k + 1}: 4" for k in range(len(times) - 1))
    return (
        f"target: {target}\n{shifts}crew: {{{crew}}}\nroute: [{route}]\nstations: {{{stations}}}\n"
        f"stores: {{{stores}}}\n{more}"
    )


FIVE = [22.0, 24.0, 21.21, 17.17, 22.0]


def test_takt_people_and_balance():
    """480 min less 2 x 10 and 10 is 450 min, for 900 units 30.0 s.

    106.38 s of work are 3.55 people, so 4 at 88.7 %; the five who are posted make 70.9 %.
    """
    found = work(benches(FIVE, "900 per shift"))
    takt, people = found["takt"], found["people"]
    (shift,) = takt["shifts"]
    assert (shift["length_min"], shift["breaks_min"], shift["clean_up_min"]) == (480, [10, 10], 10)
    assert (shift["net_min"], shift["demand"]) == (450, pytest.approx(900))
    assert takt["takt_s"] == pytest.approx(30.0)
    assert people["hand_work_s"] == pytest.approx(106.38)
    assert round(people["people_of_work"], 2) == 3.55
    assert people["least_people"] == people["least_people_with_stops"] == 4
    assert round(100 * people["balance_of_least_with_stops"], 2) == 88.65
    assert (people["posted"], round(100 * people["balance"], 2)) == (5, 70.92)
    assert takt["planned_cycle_s"] is people["least_people_planned"] is None


def test_scrap_makes_the_takt_of_started_units_shorter():
    """Of 100 started 98 become good: 30 s x 0.98 = 29.4 s; work before the scrap is 1 / 0.98 of itself."""
    text = benches(FIVE, "900 per shift", last=", rejects: {share: 2 %, to: scrap}")
    takt = work(text)["takt"]
    assert takt["started_per_good"] == pytest.approx(1 / 0.98)
    assert takt["started_per_hour"] == pytest.approx(120 / 0.98)
    assert takt["takt_of_started_s"] == pytest.approx(29.4)
    assert work(text)["people"]["hand_work_s"] == pytest.approx(106.38 / 0.98)
    assert work(text, with_losses=False)["people"]["hand_work_s"] == pytest.approx(106.38)
    assert work(text, with_losses=False)["takt"]["takt_of_started_s"] == pytest.approx(30)


def test_the_planned_cycle():
    """90 % of 30 s are 27 s: 106.38 / 27 = 3.94, still 4; 85 % are 25.5 s: 4.17, so 5."""
    found = work(benches(FIVE, "900 per shift"), planned="90 %")
    assert found["takt"]["planned_cycle_s"] == pytest.approx(27)
    assert found["people"]["least_people_planned"] == 4
    assert work(benches(FIVE, "900 per shift"), planned=0.85)["people"]["least_people_planned"] == 5
    # 24 of 27 s: nobody above the plan; at 75 % or 22.5 s the second bench and its person are
    assert found["warnings"] == []
    tight = work(benches(FIVE, "900 per shift"), planned="75 %")["warnings"]
    assert [(row["kind"], row["about"]) for row in tight] == [("over plan", ["b2"]), ("over plan", ["P2"])]


@pytest.mark.parametrize(
    ("shifts", "target", "times", "takt", "work_s", "exact", "least", "balance"),
    [
        # three stations of 110, 120 and 95 s in a shift of 480 min for 240 units
        ("{day: {from: 06:00, to: 14:00}}", 240, [110, 120, 95], 120, 325, 2.70833, 3, 0.90278),
        # five stations, 97 min of work in 800 min for 32 units
        ("{day: {from: 06:00, to: 19:20}}", 32, [1200, 1500, 1080, 1140, 900], 1500, 5820, 3.88, 4, 0.776),
    ],
    ids=["seven elements", "ten elements"],
)
def test_known_balances(shifts, target, times, takt, work_s, exact, least, balance):
    """Exercises of courses in operations management, recomputed by hand: 325 / 360 and 97 / 125 min."""
    found = work(benches(times, f"{target} per shift", shifts=f"shifts: {shifts}\n"))
    people = found["people"]
    assert found["takt"]["takt_s"] == pytest.approx(takt)
    assert people["hand_work_s"] == pytest.approx(work_s)
    assert people["people_of_work"] == pytest.approx(exact, abs=1e-5)
    assert people["least_people"] == least
    assert people["balance"] == pytest.approx(balance, abs=1e-5)


def test_the_longest_pause():
    """One shift from Monday to Friday: 16 h over night, 64 h over the weekend; round the clock none."""
    assert work(benches(FIVE, "900 per shift"))["takt"]["longest_pause_h"] == pytest.approx(64)
    days = (
        "shifts: {a: {from: 06:00, to: 18:00, days: [Mon, Wed]}, b: {from: 17:00, to: 02:00, days: [Mon]}}\n"
    )
    # Monday 06:00 to Tuesday 02:00, Wednesday 06:00 to 18:00: 28 h, then 108 h until Monday
    assert work(benches(FIVE, "9 per h", shifts=days))["takt"]["longest_pause_h"] == pytest.approx(108)
    assert work(benches(FIVE, "9 per h", shifts=""))["takt"]["longest_pause_h"] == 0
    assert work(benches(FIVE, "9 per h", shifts=""))["takt"]["shifts"] == []


@pytest.mark.parametrize(
    ("rate", "hourly"), [(90, 90), ("90 per h", 90), ("1.5 per min", 90), ("450 per shift", 60)]
)
def test_another_rate_than_the_target(rate, hourly):
    """24 s of 3600 / 90 = 40 s, or of 60 s."""
    found = work(benches(FIVE, "900 per shift"), rate=rate)
    assert (found["rate_per_hour"], found["rate_from"]) == (pytest.approx(hourly), "given")
    assert found["busiest"]["names"] == ["b2"]
    assert found["busiest"]["load"] == pytest.approx(24 * hourly / 3600)


@pytest.mark.parametrize(
    ("how", "message"),
    [
        ({"rate": 0}, "--rate 0: a rate above 0 is wanted"),
        ({"rate": 1e-12}, "--rate 1e-12: a rate between 0.001 and 1e.09 per h is wanted"),
        ({"rate": 2e9}, "--rate 2e.09: a rate between 0.001 and 1e.09 per h is wanted"),
        ({"rate": float("inf")}, "--rate inf: a rate above 0 is wanted"),
        ({"rate": "-3 per h"}, "--rate: .*above zero"),
        ({"rate": "90 per shift"}, "--rate: a rate per time is wanted"),
        ({"planned": 1.2}, "--planned 1.2: a share above 0 and at most 100 %"),
        ({"planned": "0 %"}, "--planned 0 %: a share above 0"),
        ({"planned": "much"}, "--planned: "),
    ],
)
def test_impossible_figures(how, message):
    """Told with the option, and with what is allowed."""
    with pytest.raises(UsageError, match=message):
        work(benches(FIVE, "90 per h", shifts=""), **how)


def test_without_a_target_the_loads_are_those_at_the_limit():
    """24 s for a unit and 4 min of stop in 20 of work: 28.8 s, at most 125 an hour, all of the time."""
    text = (
        "route: [a, s, b]\nstations: {a: {cycle: 20 s}, b: {cycle: 24 s, stops: {jam: {every: 20 min of"
        " running, lasts: 4 min}}}}\nstores: {s: 40}\n"
    )
    found = work(text)
    assert (found["rate_from"], found["rate_per_hour"]) == ("limit", pytest.approx(125))
    assert (found["busiest"]["names"], found["busiest"]["load_with_stops"]) == (["b"], pytest.approx(1))
    assert found["paper"]["limit"]["who"] == ["b"]
    assert found["warnings"] == []  # that somebody is busy all of the time is no news at the limit
    assert [row["kind"] for row in work(text, rate=121)["warnings"]] == ["no reserve"]
    assert [row["kind"] for row in work(text, rate=126)["warnings"]] == ["over"]


def test_neither_target_nor_limit():
    """Whoever somebody stands in for is there more than the rest and sets no limit: a rate must be given."""
    text = (
        "crew: {ann: {works_at: [a], absent: 4 %}, bea: {stands_in_for: ann}}\n"
        + DAY
        + "route: [a]\nstations: {a: {cycle: 20 s}}\n"
    )
    with pytest.raises(UsageError, match="no target, and nothing settles its limit on paper; give a --rate"):
        work(text)
    assert work(text, rate=90)["busiest"]["load"] == pytest.approx(0.5 / 0.96)


def test_a_cell_without_people():
    """No balance and no chart; who only clears stops does no work element."""
    text = "target: 90 per h\nroute: [a]\nstations: {a: {cycle: 20 s%s}}\n"
    found = work(text % "")
    assert (found["people"], found["charts"], found["posts"], found["tending"]) == (None, [], [], [])
    stops = ", stops: {jam: {every: 20 min of running, lasts: 1 min, cleared_by: ann}}"
    found = work("crew: {ann: {}}\n" + text % stops)
    assert found["people"] is None
    (ann,) = found["posts"]
    assert [(duty["what"], duty["kind"]) for duty in ann["duties"]] == [("jam", "stops")]
    assert ann["load_with_stops"] == pytest.approx(0.5 * 60 / 1200)  # 20 of 40 s run, 1 min in 20


def test_who_is_there_half_of_the_time_counts_half():
    """Two shifts of 8 h; ann comes to one, bea to both: 1.5 people are there."""
    text = (
        "target: 90 per h\nshifts: {early: {from: 06:00, to: 14:00}, late: {from: 14:00, to: 22:00}}\n"
        "crew: {ann: {works_at: [a], shift: early}, bea: [a]}\nroute: [a]\nstations: {a: {cycle: 20 s}}\n"
    )
    found = work(text)
    assert found["people"]["posted"] == pytest.approx(1.5)
    assert found["people"]["balance"] == pytest.approx(20 / (1.5 * 40))
    rows = {row["name"]: row for row in found["posts"]}
    assert rows["bea"]["work_s"] == pytest.approx(2 * rows["ann"]["work_s"])
    assert [row["available_s"] for row in found["posts"]] == pytest.approx([20, 40])


def test_people_who_can_do_the_same_are_over_together_or_not_at_all():
    """Ann can do a and b, bea only b.

    Shared by their time, b costs each 15 s, so that ann has 30 + 15 of 40 s; together they have 60 of 80 s.
    """
    text = (
        "target: 90 per h\ncrew: {ann: [a, b], bea: [b]}\nroute: [a, s, b]\nstations: {a: {cycle: 30 s},"
        " b: {cycle: 30 s}}\nstores: {s: 4}\n"
    )
    found = work(text)
    rows = {row["name"]: row for row in found["posts"]}
    assert rows["ann"]["load"] == pytest.approx(45 / 40)
    assert found["warnings"] == []
    assert found["busiest"]["names"] in (["a"], ["b"], ["ann", "bea"])
    assert found["busiest"]["load"] == pytest.approx(0.75)
    # at 125 an hour 30 of 28.8 s at each bench, 60 of 57.6 s for the two; later from round to round
    told = [(row["kind"], row["about"]) for row in work(text, rate=125)["warnings"]]
    both = ["ann", "bea"]
    assert told == [("over", ["a"]), ("over", ["b"]), ("over", both), ("falls behind", both)]


def test_a_high_pace():
    """37 of 40 s are 92.5 %: no matter for a machine, much for a person."""
    found = work(benches([37], "90 per h", shifts=""))
    assert [(row["kind"], row["about"]) for row in found["warnings"]] == [("high pace", ["P1"])]


def test_trips_with_parts_and_finished_units_take_time():
    """Ann brings a box of 100 screws, 4 a unit, for 5 min each: 12 s a unit; a label box of 50 each hour,

    3 min: 180 / 90 = 2 s; she takes finished ones away each half hour, 6 min: 8 s.
    """
    text = (
        "target: 90 per h\ncrew: {ann: {}}\nroute: [a]\nstations: {a: {cycle: 20 s}}\nparts:\n"
        "  screws: {used_at: {a: 4}, box: 100, bins: 2, brought_by: ann, trip: 5 min}\n"
        "  labels: {used_at: {a: 1}, box: 50, every: 60 min, brought_by: ann, trip: 3 min}\n"
        "finished_goods: {places: 200, collected: {every: 30 min, by: ann, trip: 6 min}}\n"
    )
    assert work(text)["people"] is None  # she works on no unit
    (ann,) = work(text)["posts"]
    duties = {duty["at"]: (duty["what"], duty["seconds"]) for duty in ann["duties"]}
    assert duties["screws"] == ("bring", pytest.approx(12))
    assert duties["labels"] == ("bring", pytest.approx(2))
    assert duties["finished goods"] == ("collect", pytest.approx(8))
    assert ann["load"] == pytest.approx(22 / 40)


def test_duties_add_up_to_the_load():
    """Walking, changeover, work, stops of others, and for the robot its own, by hand.

    Ann: load 5 and unload 3 s, 2 + 2 s of walking, 1 min of jam in 20 min of running: (8 + 12) x 0.05 = 1 s.
    R1: 12 s, stands 30 s in each 10 min it works: 0.6 s.
    """
    text = (
        "target: 90 per h\ncrew: {ann: {travel: {a > b: 2 s}}}\nrobots: {R1: {stops: {fault: {every: 10 min"
        " of running, lasts: 30 s}}}}\nroute: [a, s, b, t, c]\nstations:\n"
        "  a:\n    work: [{do: put on, time: 5 s, by: ann, phase: load}, {do: run, time: 12 s},"
        " {do: take off, time: 3 s, by: ann, phase: unload}]\n"
        "    stops: {jam: {every: 20 min of running, lasts: 1 min, cleared_by: ann}}\n"
        "  b: {work: [{do: fit, time: 10 s, by: ann}]}\n  c: {cycle: 12 s, by: R1}\nstores: {s: 4, t: 4}\n"
    )
    found = work(text)
    (ann,), (robot,) = found["posts"], found["robots"]
    assert [(row["at"], row["what"], row["kind"], round(row["seconds"], 9)) for row in ann["duties"]] == [
        ("a", "put on", "work", 5), ("a", "take off", "work", 3), ("a", "jam", "stops", 1),
        ("b", "fit", "work", 10), ("", "walking", "walking", 4),
    ]  # fmt: skip
    assert [(duty["what"], duty["kind"], round(duty["seconds"], 9)) for duty in robot["duties"]] == [
        ("work", "work", 12), ("stands still", "down", 0.6),
    ]  # fmt: skip
    for row in (ann, robot):
        assert sum(duty["seconds"] for duty in row["duties"]) == pytest.approx(row["required_with_stops_s"])
    assert found["stations"][0]["availability"] == pytest.approx(20 / 21)


TENDED = (
    "target: 120 per h\ncrew: {ann: {}}\nroute: [mill]\nstations:\n  mill:\n    machines: %d\n    cycle: %s\n"
    "    visit: {by: ann, %s: 2 s, load: 5 s, unload: 4 s}\n"
)


@pytest.mark.parametrize(
    ("phase", "machines", "rate"),
    [
        ("return", 6, 288.0),
        ("return", 7, 327.3),
        ("return", 8, 327.3),
        ("fetch", 6, 280.5),
        ("fetch", 7, 327.3),
    ],
)
def test_machines_visited_in_a_round(phase, machines, rate):
    """Loaded and unloaded 9 s, running 66 s, way 2 s: ideal 75 / 11 = 6.8 machines.

    A round takes 75 s, or 11 s for each machine if that is more.  While the next unit is fetched the machine
    waits: 77 s, and 77 / 11 = 7 machines.  A run with these constant times makes the same.
    """
    (team,) = work(TENDED % (machines, "66 s", phase))["tending"]
    (mill,) = team["stations"]
    assert (mill["attended_s"], mill["alone_s"], mill["away_s"]) == pytest.approx((9, 66, 2))
    assert mill["ideal_machines"] == pytest.approx(75 / 11 if phase == "return" else 7)
    assert team["in_a_round"]["rate_per_hour"] == pytest.approx(rate, abs=0.05)
    run = "cell: Test\nstudy: {run: 4 h, settle: 1 h, replications: 1}\n" + TENDED % (machines, "66 s", phase)
    made = cellsim.run(load_text(run), clock="simpy")["output_per_hour"]["mean"]
    assert made == pytest.approx(rate, abs=machines / 4)  # one unit of each machine more or less in 4 h
    assert team["at_random"] is None
    assert team["why_not"].startswith("their times do not vary")


@pytest.mark.parametrize(
    ("machines", "rate", "busy"),
    [(4, 173.6, 0.530), (5, 209.3, 0.640), (6, 240.6, 0.735), (7, 266.7, 0.815), (8, 287.4, 0.878)],
)
def test_machines_that_call_at_random(machines, rate, busy):
    """The same with exponential times of 66 and 11 s, one person: M/M/1 with a finite source, computed anew.

    With six machines and somebody at each 6 x 3600 / 77 = 280.5 an hour, so that waiting costs 14.2 %.
    """
    (team,) = work(TENDED % (machines, "{law: exponential, mean: 66 s}", "fetch"))["tending"]
    chance = team["at_random"]
    ratio = 11 / 66
    weights = [1.0]
    for n in range(1, machines + 1):
        weights.append(weights[-1] * (machines - n + 1) * ratio)
    assert chance["busy"] == pytest.approx(1 - 1 / sum(weights))
    assert chance["rate_per_hour"] == pytest.approx(rate, abs=0.05)
    assert chance["busy"] == pytest.approx(busy, abs=0.0005)
    if machines == 6:
        assert chance["with_one_each_per_hour"] == pytest.approx(280.5, abs=0.05)
        assert round(100 * chance["lost"], 1) == 14.2


def test_two_kinds_of_machines_at_random():
    """Machines of 60 and 30 s with visits of 10 s each, all exponential, one of each, served in their order.

    Five states, by who is down and in which order; their balance solved as linear equations.
    """
    import numpy as np

    text = (
        "target: 30 per h\ncrew: {ann: {}}\nroute: [a, s, b]\nstations:\n"
        "  a: {cycle: {law: exponential, mean: 60 s}, visit: {by: ann, load: 10 s}}\n"
        "  b: {cycle: {law: exponential, mean: 30 s}, visit: {by: ann, load: 10 s}}\nstores: {s: 4}\n"
    )
    (team,) = work(text)["tending"]
    a, b, m = 1 / 60, 1 / 30, 1 / 10
    # states: nobody down, a down, b down, a then b, b then a
    moves = np.zeros((5, 5))
    ways = [(0, 1, a), (0, 2, b), (1, 3, b), (1, 0, m), (2, 4, a), (2, 0, m), (3, 2, m), (4, 1, m)]
    for start, end, rate in ways:
        moves[start, end] += rate
        moves[start, start] -= rate
    shares = np.linalg.lstsq(np.vstack([moves.T, np.ones(5)]), np.array([0, 0, 0, 0, 0, 1.0]), rcond=None)[0]
    slower = min((shares[0] + shares[2]) * a, (shares[0] + shares[1]) * b)
    assert team["at_random"]["rate_per_hour"] == pytest.approx(3600 * slower, rel=1e-9)
    assert team["at_random"]["with_one_each_per_hour"] == pytest.approx(3600 / 70)


def test_a_technician_of_three_machines():
    """Three machines that always run, 100 min between stops of 20 min, one technician, all exponential.

    Availability 0.7839, he is busy 47.0 % of the time; so 3 x 0.2161 stand, and 0.470 / 20 min are repaired:
    0.6483 / 0.0235 = 27.57 min each, 7.57 of them waiting.
    """
    text = (
        "target: 360 per h\ncrew: {tom: {}}\nroute: [a]\nstations: {a: {machines: 3, cycle: 30 s,"
        " stops: {fault: {every: 100 min of running, lasts: 20 min, law: exponential, cleared_by: tom}}}}\n"
    )
    (row,) = work(text)["repairs"]
    assert (row["who"], row["machines"], row["stations"]) == ("tom", 3, ["a"])
    assert row["busy"] == pytest.approx(0.470, abs=0.0005)
    assert row["wait_s"] / 60 == pytest.approx(7.57, abs=0.02)


def interference(up: float, lasts: float, machines: int) -> tuple[float, float]:
    """Busy share of one repairer and mean wait, by the chain of how many machines stand; exponential."""
    weights = [1.0]
    for n in range(1, machines + 1):
        weights.append(weights[-1] * (machines - n + 1) * lasts / up)
    busy = 1 - 1 / sum(weights)
    stand = sum(n * weight for n, weight in enumerate(weights)) / sum(weights)
    return busy, stand / (busy / lasts) - lasts


FAULTY = (
    "target: %g per h\ncrew: {tom: {%s}}\nroute: [a]\nstations: {a: {machines: 3, cycle: 30 s,"
    " stops: {fault: {every: %s, lasts: 20 min, law: exponential, cleared_by: tom}}}}\n"
)


@pytest.mark.parametrize("rate", [90, 180, 360])
def test_on_time_a_technician_is_as_busy_at_any_rate(rate):
    """On for 100 min between stops of 20 min: 47.0 % busy and 7.57 min of wait, by the chain of four states.

    The clock runs where a machine has nothing to do, so that the rate does not matter.
    """
    (row,) = work(FAULTY % (rate, "", "100 min of on time"))["repairs"]
    busy, wait = interference(100, 20, 3)
    assert (round(busy, 3), round(wait, 2)) == (0.470, 7.57)
    assert row["busy"] == pytest.approx(busy)
    assert row["wait_s"] / 60 == pytest.approx(wait)
    assert (row["lasts_s"], row["response_s"]) == (pytest.approx(1200), 0)


def test_stops_by_running_time_come_as_often_as_the_machines_work():
    """180 an hour is half of the time for three machines of 30 s: a stop of each in 200 min of all time.

    So he is busy 3 x 20 / 200 = 30 %, and a machine is up for 200 min less a stop and its wait.
    """
    (row,) = work(FAULTY % (180, "", "100 min of running"))["repairs"]
    assert row["busy"] == pytest.approx(0.3, rel=1e-9)
    low, high = 100.0, 200.0
    for _ in range(60):
        up = (low + high) / 2
        low, high = (up, high) if up + 20 + interference(up, 20, 3)[1] < 200 else (low, up)
    assert row["wait_s"] / 60 == pytest.approx(interference(up, 20, 3)[1], rel=1e-6)
    by_cycles = work(FAULTY % (180, "", "{law: exponential, mean: 200, of: cycles}"))["repairs"]
    same = {key: pytest.approx(row[key]) for key in ("lasts_s", "response_s", "busy", "wait_s")}
    assert by_cycles == [row | same]  # 200 cycles of 30 s are 100 min


@pytest.mark.parametrize("clock", ["on time", "running"])
def test_a_response_keeps_nobody(clock):
    """30 min until he comes, during which he may repair another machine: up, on his way, waiting or repaired.

    All exponential: the balance of the ten states (up, called, queue) of three machines as linear equations.
    At 360 an hour both clocks are the same, since a machine then works all of the time that it is up.
    """
    import numpy as np

    (row,) = work(FAULTY % (360, "response: 30 min", f"100 min of {clock}"))["repairs"]
    states = [(u, c) for u in range(4) for c in range(4 - u)]
    moves = np.zeros((10, 10))

    def move(start: tuple[int, int], end: tuple[int, int], rate: float) -> None:
        if rate > 0:
            moves[states.index(start), states.index(end)] += rate
            moves[states.index(start), states.index(start)] -= rate

    for up, called in states:
        move((up, called), (up - 1, called + 1), up / 100)
        move((up, called), (up, called - 1), called / 30)
        move((up, called), (up + 1, called), 1 / 20 if up + called < 3 else 0)
    shares = np.linalg.lstsq(np.vstack([moves.T, np.ones(10)]), np.eye(11)[10], rcond=None)[0]
    busy = sum(p for (u, c), p in zip(states, shares, strict=True) if u + c < 3)
    stand = sum(p * (3 - u - c) for (u, c), p in zip(states, shares, strict=True))
    assert row["busy"] == pytest.approx(busy)
    assert row["wait_s"] / 60 == pytest.approx(stand / (busy / 20) - 20)
    assert (row["lasts_s"], row["response_s"]) == pytest.approx((1200, 1800))


def test_on_time_stands_still_during_the_response():
    """100 min on, 30 min until he comes, 20 min of repair: up for 100 of 150 min, in a run too."""
    text = (
        "target: 20 per h\ncrew: {tom: {response: 30 min}}\nroute: [a]\nstations: {a: {cycle: 60 s,"
        " stops: {fault: {every: 100 min of on time, lasts: 20 min, exact: yes, cleared_by: tom}}}}\n"
    )
    assert work(text)["stations"][0]["stops_s"] == pytest.approx(180 * 50 / 150)
    run = "cell: Test\nstudy: {run: 150 h, settle: 15 h, replications: 1}\n" + text
    made = cellsim.run(load_text(run), clock="simpy")["output_per_hour"]["mean"]
    assert made == pytest.approx(60 * 100 / 150, abs=0.5 / 150 + 60 / 150)  # 60 stops, a unit at each


TWO_SHIFTS = "shifts: {day: {from: 06:00, to: 14:00}, late: {from: 14:00, to: 22:00}}\n"
POOL = TWO_SHIFTS + (
    "target: 90 per h\ncrew: {%s}\nroute: [m1, s, m2, t, b]\nstations:\n"
    "  m1: {cycle: 20 s, visit: {by: %s, load: 5 s}}\n  m2: {cycle: 20 s, visit: {by: %s, load: 5 s}}\n"
    "  b: {%s}\nstores: {s: 4, t: 4}\n"
)


@pytest.mark.parametrize(
    ("crew", "first", "second", "third", "why"),
    [
        ("P: {}", "P", "P", "cycle: 30 s, by: P", "there is other work too (b)"),
        (
            "P: {skills: [x, y]}, Q: {skills: [y]}",
            "x",
            "y",
            "cycle: 1 s",
            "not each of them can do everything",
        ),
        ("P: {people: 2}", "{P: 2}", "P", "cycle: 1 s", "some of it takes several of them at once"),
        ("P: {people: 2, shift: day}", "P", "P", "cycle: 1 s", "they are not all there all of the time"),
    ],
)
def test_no_round_for_those_who_are_no_crew_of_machines(crew, first, second, third, why):
    """A bench of 30 s takes a person's 40 s to 90 an hour, where two machines of 5 s alone would say 144."""
    for law in ("20 s", "{law: exponential, mean: 20 s}"):
        text = (POOL % (crew, first, second, third)).replace("cycle: 20 s", f"cycle: {law}")
        (team,) = work(text)["tending"]
        assert (team["in_a_round"], team["why_no_round"], team["at_random"]) == (None, why, None)
        assert team["why_not"] == (why if "law" in law else team["why_not"])
    assert team["why_not"] == why


def test_a_round_where_everybody_can_do_everything():
    """Two people at 30 machines of 20 s with visits of 5 s: 30 x 5 / 2 = 75 s, 30 units: 1440 an hour.

    Who is there half of the time makes half: of six machines 6 x 5 = 30 s, so 720 / 2.
    """
    text = "target: 90 per h\ncrew: {P: {skills: [x]}, Q: {skills: [x]}}\nroute: [m]\n"
    text += "stations: {m: {machines: 30, cycle: 20 s, visit: {by: x, load: 5 s}}}\n"
    (team,) = work(text)["tending"]
    assert (team["people"], team["in_a_round"]["rate_per_hour"]) == (2, pytest.approx(1440))
    half = TWO_SHIFTS + text.replace("P: {skills: [x]}, Q: {skills: [x]}", "P: {skills: [x], shift: day}")
    half = half.replace("s: 30", "s: 6")
    (team,) = work(half)["tending"]
    assert team["there"] == pytest.approx(0.5)
    assert team["in_a_round"]["rate_per_hour"] == pytest.approx(360)
    assert team["in_a_round"]["rate_per_hour"] == pytest.approx(work(half)["paper"]["limit"]["value"])


@pytest.mark.parametrize(("available", "saved"), [(0.99, 0.333), (0.9, 0.336), (0.8, 0.342), (0.5, 0.4)])
def test_a_store_that_covers_the_mean_stop_saves_a_third(available, saved):
    """Two equal stations, exponential stops by running time, as the words below the table of stores say.

    Without a store A / (2 - A), with an endless one A; stations that stop more gain more.
    """
    from cellsim.theory.two_unreliable import fluid_pair

    repair = (1 - available) / available
    none, one, endless = (fluid_pair([1, 1], [repair] * 2, n * repair).rate for n in (0, 1, 1e6))
    assert none == pytest.approx(available / (2 - available))
    assert endless == pytest.approx(available, rel=1e-3)
    assert (one - none) / (available - none) == pytest.approx(saved, abs=0.001)
