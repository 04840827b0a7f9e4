"""What a description means once it is resolved, and that resolving the resolved form changes nothing."""

import hashlib
import json
import random
from pathlib import Path

import pytest

from cellsim.describe.cell import (
    FINISHED,
    OUT,
    RAW,
    RELEASE,
    Assumption,
    Law,
    Need,
    Origin,
    Outlet,
    Rejects,
    Release,
    Store,
    Study,
)
from cellsim.describe.reader import read_text
from cellsim.describe.resolve import load, load_text, resolved_sha256, resolved_text
from cellsim.describe.tree import Listing, Text
from cellsim.errors import DescriptionError
from cellsim.units import HOUR, MINUTE, SECOND

HERE = Path(__file__).parent
DEMO = sorted((HERE.parents[1] / "scenarios").glob("*.yaml"))
RIGHT = sorted((HERE / "right").glob("*.yaml"))
FILES = DEMO + RIGHT


def cell(stations, route="[a, b]", **more):
    """A cell of a few lines."""
    rest = "".join(f"{key}: {value}\n" for key, value in more.items())
    return load_text(f"cell: x\nroute: {route}\nstations: {stations}\n{rest}")


def by_name(things):
    """Things by their names."""
    return {thing.name: thing for thing in things}


def assumed(cell):
    """The assumptions as path -> value."""
    return {assumption.path: assumption.value for assumption in cell.assumptions}


def test_there_are_demo_cells_and_test_cells():
    """The checks below have something to check."""
    assert {file.stem for file in DEMO} >= {"spinning_top", "bicycle_bell", "tape_measure"}
    assert len(RIGHT) >= 6


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_resolving_the_resolved_form_changes_nothing(file):
    """The resolved text is legal, gives an equal cell with equal assumptions, and the same text again."""
    first = load(file)
    text = resolved_text(first)
    second = load_text(text)
    assert second == first
    assert resolved_text(second) == text
    assert second.assumptions == first.assumptions != ()
    assert resolved_sha256(first) == hashlib.sha256(text.encode()).hexdigest()


def shuffled(node, order):
    """The tree as YAML in one line, with the keys of every mapping in random order."""
    if isinstance(node, Text):
        return json.dumps(node.text, ensure_ascii=False)
    if isinstance(node, Listing):
        return "[" + ", ".join(shuffled(item, order) for item in node.items) + "]"
    keys = list(node.keys)
    order.shuffle(keys)
    return (
        "{"
        + ", ".join(f"{json.dumps(k, ensure_ascii=False)}: {shuffled(node.values[k], order)}" for k in keys)
        + "}"
    )


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_the_order_of_keys_changes_nothing(file):
    """Mappings have no order: with all keys shuffled the cell is equal."""
    expected = load(file)
    tree = read_text(file.read_text(encoding="utf-8"), file.name)
    order = random.Random(5)
    texts = {shuffled(tree, order) for _ in range(8)}
    assert len(texts) == 8
    assert [load_text(text) for text in texts] == [expected] * 8


def test_the_smallest_cell():
    """A station takes raw units, hands over directly to the next one, and the last one gives to finished."""
    small = cell("{a: {cycle: 5 s}, b: {cycle: 6 s}}")
    a, b = small.stations
    assert (a.name, a.takes, a.outlets) == ("a", ((RELEASE, 1),), (Outlet("a>b"),))
    assert (b.name, b.takes, b.outlets) == ("b", (("a>b", 1),), (Outlet(FINISHED),))
    assert small.stores == (Store("a>b", 0),)
    assert small.route == ("a", "a>b", "b")
    assert a.work[0].time == Law("fixed", (5e6,))
    assert a.work[0].by == ()
    assert small.release == Release()
    assert small.study == Study(run=8 * HOUR, seed=1, replications=100)
    assert small.shifts == small.posts == small.robots == ()
    assert small.target_per_hour is None


def test_every_default_is_an_assumption():
    """What the smallest cell does not say is listed, once for all stations where it holds for all."""
    assert assumed(cell("{a: {cycle: 5 s}, b: {cycle: 6 s, by: A}}", crew="{A: {}}")) == {
        "allowance": "0 %",
        "crew.A.at_break": "finish element",
        "crew.A.overtaking": "yes",
        "crew.A.serves": "longest waiting, downstream first",
        "parts": "always there",
        "release": "as much as it takes",
        "stations.*.hands_on": "holds finished part",
        "stations.*.runs_through_breaks": "no",
        "stations.a.by": "nobody",
        "stores.a>b.places": "0",
        "study.replications": "100",
        "study.run": "8 h",
        "study.seed": "1",
        "study.settle": "0 s",
        "study.start": "empty",
    }


def test_what_is_said_is_no_assumption():
    """A default that is written down is no assumption any more."""
    said = cell("{a: {cycle: 5 s, hands_on: holds finished part, by: nobody}, b: {cycle: 6 s}}")
    assert "stations.b.hands_on" in assumed(said)
    assert "stations.a.hands_on" not in assumed(said)
    assert "stations.a.by" not in assumed(said)


def test_a_time_with_mean_and_spread_is_lognormal_and_says_so():
    """Mean and spread alone are a right-skewed law, and that is listed."""
    found = cell("{a: {cycle: {mean: 24 s, spread: 15 %}}}", "[a]")
    assert found.stations[0].work[0].time == Law("lognormal", (24e6, 0.15))
    assert assumed(found)["stations.a.cycle.law"] == "lognormal"


TIMES = {
    "24 s": Law("fixed", (24e6,)),
    "{min: 20 s, likely: 24 s, max: 35 s}": Law("triangular", (20e6, 24e6, 35e6)),
    "{law: beta, min: 20 s, likely: 24 s, max: 35 s}": Law("beta", (20e6, 24e6, 35e6)),
    "{law: weibull, mean: 40 min, shape: 1.4}": Law("weibull", (2400e6, 1.4)),
    "{law: exponential, mean: 12 min}": Law("exponential", (720e6,)),
    "{law: normal, mean: 10 s, spread: 40 %, min: 5 s, max: 20 s}": Law("normal", (10e6, 0.4, 5e6, 20e6)),
    "{listed: [1 min, 1 min, 13 min]}": Law("listed", (), (60_000_000, 60_000_000, 780_000_000)),
    "{measured: [21 s, 24 s]}": Law("measured", (), (21_000_000, 24_000_000)),
    "{law: measured, measured: [21 s]}": Law("measured", (), (21_000_000,)),
}


@pytest.mark.parametrize("text", TIMES)
def test_each_way_of_giving_a_time(text):
    """Times become laws with parameters in microseconds."""
    assert cell(f"{{a: {{cycle: {text}}}}}", "[a]").stations[0].work[0].time == TIMES[text]


STOPS = {
    "{every: 20 min of running, lasts: 4 min, law: exponential}": (
        Law("exponential", (1200e6,)), "running", Law("exponential", (240e6,)), set(),
    ),
    "{every: 20 min of running, lasts: 4 min}": (
        Law("exponential", (1200e6,)), "running", Law("lognormal", (240e6, 1.0)), {"every.law", "lasts.law"},
    ),
    "{every: 14 h of on time, lasts: {law: gamma, mean: 1 h, spread: 80 %}}": (
        Law("exponential", (50_400e6,)), "on time", Law("gamma", (3600e6, 0.8)), {"every.law"},
    ),
    "{every: 900 cycles, lasts: 4 min}": (
        Law("fixed", (900.0,)), "cycles", Law("fixed", (240e6,)), {"every.law", "lasts.law"},
    ),
    "{every: 900 cycles, lasts: 4 min, exact: yes}": (
        Law("fixed", (900.0,)), "cycles", Law("fixed", (240e6,)), set(),
    ),
    "{every: 2 h of running, lasts: 4 min, exact: yes}": (
        Law("fixed", (7200e6,)), "running", Law("fixed", (240e6,)), set(),
    ),
    "{every: 167 cycles, lasts: 35 s, law: exponential}": (
        Law("exponential", (167.0,)), "cycles", Law("exponential", (35e6,)), set(),
    ),
    "{every: {law: weibull, mean: 40 h, shape: 2, of: on time}, lasts: 1 h}": (
        Law("weibull", (144_000e6, 2.0)), "on time", Law("lognormal", (3600e6, 1.0)), {"lasts.law"},
    ),
    "{every: {law: erlang, mean: 300, phases: 3, of: cycles}, lasts: 1 h, law: exponential}": (
        Law("erlang", (300.0, 3.0)), "cycles", Law("exponential", (3600e6,)), set(),
    ),
}  # fmt: skip


@pytest.mark.parametrize("text", STOPS)
def test_each_way_of_giving_a_stop(text):
    """Stops without a law are assumed random, counted ones exact; what is stated is not assumed."""
    every, clock, lasts, told = STOPS[text]
    found = cell(f"{{a: {{cycle: 5 s, stops: {{jam: {text}}}}}}}", "[a]")
    stop = found.stations[0].stops[0]
    assert (stop.every, stop.clock, stop.lasts) == (every, clock, lasts)
    laws = {path.removeprefix("stations.a.stops.jam.") for path in assumed(found) if path.endswith(".law")}
    assert laws == told


def test_a_visit_becomes_elements_in_order():
    """A visit fetches, loads, lets the machine run, unloads, delivers, returns; together unless said."""
    visit = "{by: R1, deliver: 4 s, load: 3.5 s, fetch: 5.5 s, return: 1 s, unload: 3 s}"
    found = cell(
        f"{{a: {{machines: 3, cycle: 72 s, visit: {visit}}}}}", "[a]", robots="{R1: {gripper: double}}"
    )
    station = found.stations[0]
    robot = (Need("R1"),)
    assert [(e.phase, e.time.values[0] / SECOND, e.by) for e in station.work] == [
        ("fetch", 5.5, robot), ("load", 3.5, robot), ("work", 72, ()), ("unload", 3, robot),
        ("deliver", 4, robot), ("return", 1, robot),
    ]  # fmt: skip
    assert station.one_visit
    assert station.machines == 3
    assert found.robots[0].double_gripper
    assert (
        not cell("{a: {cycle: 9 s, visit: {by: R1, unload: 3 s}}}", "[a]", robots="{R1: {}}")
        .stations[0]
        .one_visit
    )


def test_works_at_attends_stations_without_by():
    """One post in works_at attends; two posts share a skill named after the station; by is left as it is."""
    found = cell(
        "{a: {cycle: 5 s}, b: {cycle: 5 s}, c: {cycle: 5 s, by: ann}}",
        "[a, b, c]",
        crew="{ann: [a, b, c], bob: {works_at: [b], skills: {weld: 1.2}}}",
    )
    assert [station.work[0].by for station in found.stations] == [
        (Need("ann"),), (Need("work at b"),), (Need("ann"),),
    ]  # fmt: skip
    posts = by_name(found.posts)
    assert posts["ann"].skills == (("work at b", 1.0),)
    assert posts["bob"].skills == (("weld", 1.2), ("work at b", 1.0))
    assert posts["ann"].listed == ("a", "b", "c")


def test_needs():
    """Several names, numbers of people and skills; in the order of names, since all are needed at once."""
    crew = "{ann: {}, bob: {people: 3}, cid: {skills: [weld]}}"
    for by, needs in {
        "ann": (Need("ann"),),
        "[cid, ann]": (Need("ann"), Need("cid")),
        "{bob: 2, ann: 1}": (Need("ann"), Need("bob", 2)),
        "weld": (Need("weld"),),
        "nobody": (),
    }.items():
        assert cell(f"{{a: {{cycle: 5 s, by: {by}}}}}", "[a]", crew=crew).stations[0].work[0].by == needs


def test_shares_that_almost_add_up():
    """0.7 + 0.2 + 0.1 is one although the sum of the floats is not; 0.95 is refused and named."""

    def split(shares):
        goals = ", ".join(f"{name}: {share}" for name, share in zip("bcd", shares, strict=True))
        others = ", ".join(f"{name}: {{cycle: 5 s}}" for name in "bcd")
        return cell(f"{{a: {{cycle: 5 s, goes_to: {{{goals}}}}}, {others}}}")

    assert 0.7 + 0.2 + 0.1 != 1
    assert [outlet.share for outlet in by_name(split(("0.7", "0.2", "0.1")).stations)["a"].outlets] == [
        0.7,
        0.2,
        0.1,
    ]
    with pytest.raises(DescriptionError, match=r"the shares add up to 0\.95; they must add up to 1"):
        split(("0.7", "0.2", "0.05"))


def test_rework_bench_beside_the_route():
    """A bench that only rejects reach gets a store of its own; its units go before the named station."""
    rejects = "{share: 10 %, to: bench, returns_to: a, attempts: 3, then: scrap}"
    found = cell(
        f"{{a: {{cycle: 5 s}}, b: {{cycle: 6 s, rejects: {rejects}}}, bench: {{cycle: 9 s}}}}",
        "[a, tray, b]",
        stores="{tray: 4}",
    )
    stations = by_name(found.stations)
    assert list(stations) == ["a", "b", "bench"]
    assert stations["b"].rejects == Rejects(share=0.1, after_rework=0.1, to="bench's rework", attempts=3)
    assert stations["bench"].takes == (("bench's rework", 1),)
    assert stations["bench"].outlets == (Outlet(RELEASE, 1.0, True),)
    assert Store("bench's rework", None) in found.stores
    assert found.lines[0].places == ("bench's rework", "bench")


def test_rework_straight_into_the_route():
    """Units sent to a station of the route join the store before it, in front unless said otherwise."""
    for enters, in_front in (("", True), (", enters: behind", False)):
        rejects = f"{{share: 10 %, after_rework: 2 %, to: a{enters}}}"
        found = cell(
            f"{{z: {{cycle: 1 s}}, a: {{cycle: 5 s}}, b: {{cycle: 6 s, rejects: {rejects}}}}}",
            "[z, tray, a, b]",
            stores="{tray: 4}",
        )
        assert by_name(found.stations)["b"].rejects == Rejects(0.1, 0.02, (), "tray", 0, in_front)


def test_scrap_and_verdicts():
    """`scrap` is short for rejects that are thrown away; verdicts are kept in order."""
    found = cell("{a: {cycle: 5 s, scrap: 2 %}, b: {cycle: 5 s, rejects: {verdicts: [good, reject]}}}")
    assert found.stations[0].rejects == Rejects(share=0.02, after_rework=0.02)
    assert found.stations[1].rejects == Rejects(verdicts=(True, False))
    assert assumed(found)["stations.b.rejects.to"] == "scrap"


def test_lines_beside_the_route():
    """A line that begins with a station has raw units of its own; one that ends in one leaves the cell."""
    found = load(HERE / "right" / "lines_and_rework.yaml")
    stations = by_name(found.stations)
    assert stations["stamp"].takes == ((RAW + "handles", 1),)
    assert stations["bend"].outlets == (Outlet("hook bin"),)
    assert stations["join"].takes == (("cut parts", 1), ("hook bin", 4), ("screws", 2))
    assert stations["mark"].outlets == (Outlet(OUT + "seconds"),)
    assert stations["clean"].outlets == (Outlet("cut parts", 1.0, False),)
    assert stations["pack"].outlets == (
        Outlet("before wrap", 0.1), Outlet(FINISHED, 0.7), Outlet("seconds", 0.2),
    )  # fmt: skip
    assert by_name(found.stores)["join>test"].places == 2
    assert [s.name for s in found.stations] == [
        "cut", "stamp", "bend", "join", "test", "strip", "clean", "pack", "mark", "retouch", "wrap",
    ]  # fmt: skip


def test_shifts_and_target_per_shift():
    """A night shift ends on the next day, breaks lie inside it, and a target counts working hours."""
    breaks = "[{at: 02:00, for: 20 min}], start_up: 5 min, clean_up: 5 min"
    shifts = f"{{night: {{from: 22:00, to: 06:00, breaks: {breaks}}}}}"
    found = cell("{a: {cycle: 5 s}}", "[a]", shifts=shifts, target="900 per shift")
    shift = found.shifts[0]
    assert (shift.start, shift.end) == (22 * HOUR, 30 * HOUR)
    assert shift.breaks == ((26 * HOUR, 20 * MINUTE),)
    assert shift.days == (0, 1, 2, 3, 4)
    assert found.target_per_hour == 120.0
    assert found.study.shifts == 1
    assert assumed(found)["target"] == "120 per h"
    assert cell("{a: {cycle: 5 s}}", "[a]", target="80 strokes per min").target_per_hour == 4800.0


def test_days():
    """Days are a list, a span that may run over Sunday, or daily."""
    for days, numbers in {"daily": range(7), "Mon": [0], "Sat-Mon": [0, 5, 6], "[Sun, Tue]": [1, 6]}.items():
        found = cell("{a: {cycle: 5 s}}", "[a]", shifts=f"{{day: {{from: 06:00, to: 14:00, days: {days}}}}}")
        assert found.shifts[0].days == tuple(numbers)


def test_travel():
    """A way is the same back unless that is given; own times before the cell's before the layout's."""
    found = cell(
        "{a: {cycle: 5 s}, b: {cycle: 5 s}, c: {cycle: 5 s}}",
        "[a, b, c]",
        crew="{ann: {works_at: [a, b, c], walks: 1 m/s, travel: {a > c: 9 s, a > b: 1 s, b > a: 3 s}}}",
        travel="{a > b: 2 s, b > a: 7 s}",
        layout="{a: [0 m, 0 m], b: [3 m, 4 m], c: [0 m, 2.5 m]}",
    )
    ways = {(start, end): time / SECOND for start, end, time in found.posts[0].travel}
    assert ways == {
        ("a", "b"): 1, ("b", "a"): 3, ("a", "c"): 9, ("c", "a"): 9, ("b", "c"): 3.354102,
        ("c", "b"): 3.354102,
    }  # fmt: skip
    assert "crew.ann.travel" not in assumed(found)
    assert (
        assumed(cell("{a: {cycle: 5 s}, b: {cycle: 5 s}}", crew="{ann: [a, b]}"))["crew.ann.travel"] == "0 s"
    )


@pytest.mark.parametrize(
    ("text", "release"),
    [
        ("as much as it takes", Release()),
        ("every 36 s", Release("every", Law("fixed", (36e6,)))),
        ("{every: {law: exponential, mean: 36 s}}", Release("every", Law("exponential", (36e6,)))),
        ("{at: [0 s, 5 s]}", Release("at", at=(0, 5_000_000))),
        ("cards 12", Release("cards", cards=12)),
    ],
)
def test_release(text, release):
    """Raw units come as they are taken, every so often, at given times, or by cards."""
    assert cell("{a: {cycle: 5 s}}", "[a]", release=text).release == release


def test_origins_are_kept():
    """Any mapping may say where its values come from; that is kept with its path and changes nothing else."""
    found = load_text(
        "cell: x\norigin: guess\nroute: [a]\nstations:\n"
        "  a: {cycle: {mean: 5 s, spread: 10 %, origin: measured 2026-03}, origin: quoted}\n"
    )
    assert found.origins == (
        Origin("cell", "guess"), Origin("stations.a", "quoted"),
        Origin("stations.a.cycle", "measured 2026-03"),
    )  # fmt: skip


def test_assumptions_survive_the_resolved_form():
    """The resolved text lists what was assumed, with its reason."""
    found = cell("{a: {cycle: 5 s}}", "[a]")
    assert Assumption("release", "as much as it takes", "raw material is always there") in found.assumptions
    assert (
        "  - {path: release, value: as much as it takes, why: raw material is always there}"
        in resolved_text(found)
    )


def test_cautions():
    """The cell carries what a reader of its study must be told."""
    crew, stops = "{A: {}, B: [a]}", "{jam: {every: 20 min of running, lasts: 1 min, cleared_by: B}}"
    found = cell(f"{{a: {{cycle: 5 s, stops: {stops}}}}}", "[a]", crew=crew)
    assert found.cautions == (
        "Clearing by hand is taken to be safe without lockout. Confirm this with safety.",
        "Cycles under 30 s without a change of places (B): high pace or repetitive work, have an ergonomist"
        " assess it (ISO 11228-3).",
        "Post A attends nothing.",
    )
    long = cell("{a: {cycle: 5 s}}", "[a]", shifts="{day: {from: 06:00, to: 14:00}}")
    assert long.cautions[0].startswith("A shift has more than 6 hours without a break.")
    own = "{A: {works_at: [a], breaks: [{at: 10:00, for: 10 min}]}}"
    for post, told in (("{A: [a]}", True), (own, False)):
        found = cell("{a: {cycle: 30 s}}", "[a]", shifts="{day: {from: 06:00, to: 14:00}}", crew=post)
        assert any(text.startswith("A shift has more than 6 hours") for text in found.cautions) == told
    turning = "{A: {rotates: {every: 1 h, among: [a, b]}}}"
    for post, told in (("{A: [a], B: [b]}", 1), ("{A: [a, b]}", 0), (turning, 0)):
        found = cell("{a: {cycle: 29 s}, b: {cycle: 29 s}}", "[a, b]", crew=post)
        assert len([text for text in found.cautions if text.startswith("Cycles under 30 s")]) == told


def test_a_target_nobody_can_reach_is_no_mistake():
    """Whether the target can be reached is what the study is for."""
    assert cell("{a: {cycle: 1 h}}", "[a]", target="1000 per h").target_per_hour == 1000.0


def test_texts_that_yaml_would_change():
    """Names such as on, 010 and null-safe stay what they are."""
    assert [station.name for station in load(HERE / "right" / "quoted_names.yaml").stations] == [
        "on", "010", "null-safe", "it's", "Größe 2",
    ]  # fmt: skip


def test_study():
    """A study counts shifts or time, and settles for shifts or time."""
    shifts = "{day: {from: 06:00, to: 14:00}}"
    found = cell(
        "{a: {cycle: 5 s}}", "[a]", shifts=shifts, study="{shifts: 3, settle: 2 shifts, start: as left}"
    )
    assert found.study == Study(shifts=3, settle_shifts=2, start="as left", seed=1, replications=100)
    found = cell("{a: {cycle: 5 s}}", "[a]", study="{run: 2 h, settle: 30 min, seed: 0, replications: 1}")
    assert found.study == Study(run=2 * HOUR, settle=30 * MINUTE, seed=0, replications=1)
