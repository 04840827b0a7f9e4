"""The plan of a cell: nothing overlaps, all lies inside, and the order of the file does not matter."""

from __future__ import annotations

from itertools import combinations, pairwise
from pathlib import Path

import pytest
import yaml

from cellsim.describe.behaviours import behaviours
from cellsim.describe.cell import FINISHED, RELEASE
from cellsim.describe.resolve import load, load_text
from cellsim.engine.model import compile_cell
from cellsim.show.floor_boxes import Box, label_lines, nearest_free
from cellsim.show.floor_plan import floor_plan
from cellsim.study.story_places import Places

ROOT = Path(__file__).parents[2]
FILES = {file.stem: file.read_text() for file in sorted((ROOT / "scenarios").glob("*.yaml"))}
FILES |= {f"{one.topic}-{one.name}": one.example for one in behaviours()}
FILES["many machines"] = (
    "cell: M\nroute: [a, s, b]\nstores: {s: 3}\nstations: {a: {cycle: 9 s, machines: 23}, b: {cycle: 1 s}}\n"
)
FILES["40 stations"] = (
    "cell: Long\nroute: [" + ", ".join(f"station {k}, s{k}" for k in range(39)) + ", last]\n"
    + "stores: {" + ", ".join(f"s{k}: {k + 1}" for k in range(39)) + "}\nstations:\n"
    + "".join(f"  station {k}: {{cycle: 9 s}}\n" for k in range(39)) + "  last: {cycle: 9 s}\n"
)  # fmt: skip
FILES["metres"] = (
    "cell: Metres\nroute: [a, s, b, t, c]\n"
    "layout: {a: [0 m, 0 m], b: [0.4 m, 0 m], c: [0.4 m, 3 m]}\n"
    "stations: {a: {cycle: 9 s}, b: {cycle: 9 s}, c: {cycle: 9 s}}\nstores: {s: 3, t: 2}\n"
)
FILES["all at one point"] = (
    FILES["metres"].replace("[0.4 m, 0 m]", "[0 m, 0 m]").replace("[0.4 m, 3 m]", "[0 m, 0 m]")
)


@pytest.mark.parametrize("name", FILES)
def test_nothing_overlaps_and_all_lies_inside(name):
    """No two boxes of stations, stores, people, robots or points overlap, and the frame holds them all."""
    cell = load_text(FILES[name])
    plan = floor_plan(cell)
    solid = plan.solid()
    assert set(plan.stations) == {station.name for station in cell.stations}
    for (one, a), (other, b) in combinations(solid.items(), 2):
        assert a.clear_of(b), (one, other)
    for what, box in solid.items():
        assert box.x >= 0 and box.y >= 0, what
        assert box.x + box.w <= plan.width and box.y + box.h <= plan.height, what
    for arrow in plan.arrows:
        assert all(0 <= x <= plan.width and 0 <= y <= plan.height for x, y in arrow.corners), arrow


@pytest.mark.parametrize("name", FILES)
def test_every_place_of_a_story_has_a_box(name):
    """Units, people and robots can be shown wherever they are; machines lie apart inside their stations."""
    cell = load_text(FILES[name])
    plan = floor_plan(cell)
    kinds = {"store": plan.stores, "machine": plan.machines, "actor": plan.actors, "point": plan.points}
    for kind, place in Places(compile_cell(cell)).table:
        assert place in kinds[kind]
    for station in cell.stations:
        outer = plan.stations[station.name]
        own = [
            b for n, b in plan.machines.items() if n == station.name or n.rpartition(".")[0] == station.name
        ]
        assert len(own) == station.machines
        assert all(a.clear_of(b) for a, b in combinations(own, 2))
        assert all(outer.x <= b.x and b.x + b.w <= outer.x + outer.w for b in own)
        assert all(outer.y <= b.y and b.y + b.h <= outer.y + outer.h for b in own)


@pytest.mark.parametrize("name", ["padlock", "bicycle_light", "tape_measure", "robots-moves", "metres"])
def test_the_order_of_declaration_does_not_matter(name):
    """The same cell with every mapping of its file the other way round has the same plan."""

    def turned(node):
        if isinstance(node, dict):
            return {key: turned(node[key]) for key in reversed(node)}
        return [turned(item) for item in node] if isinstance(node, list) else node

    text = FILES[name]
    backwards = yaml.dump(turned(yaml.load(text, yaml.BaseLoader)), sort_keys=False, width=1000)
    plans = [floor_plan(load_text(t)).as_dict() for t in (text, text, backwards)]
    assert plans[0] == plans[1] == plans[2]


def test_the_route_runs_in_rows_there_and_back():
    """Neighbours of the route in one row are neighbours on the plan; a row runs against the one before."""
    cell = load(ROOT / "scenarios" / "padlock.yaml")
    plan = floor_plan(cell)
    boxes = [{**plan.stations, **plan.stores}[name] for name in (RELEASE, *cell.route, FINISHED)]
    rows: list[list[Box]] = [[boxes[0]]]
    for a, b in pairwise(boxes):
        if abs(a.cy - b.cy) > 1:
            rows.append([])
        rows[-1].append(b)
    assert len(rows) == 3 and min(map(len, rows)) > 8
    for k, row in enumerate(rows):
        steps = [b.cx - a.cx for a, b in pairwise(row)]
        assert all((step > 0) == (k % 2 == 0) and abs(step) < 120 for step in steps)


def test_a_line_beside_the_route_ends_near_where_it_joins():
    """The shackle rack lies below the shackle station, and the line of keys below the pins that it joins."""
    plan = floor_plan(load(ROOT / "scenarios" / "padlock.yaml"))
    for store, station in (("cores", "insert"), ("keys", "pin"), ("to touch up", "inspect")):
        end, joined = plan.stores[store], plan.stations[station]
        assert abs(end.cx - joined.cx) < 200 and 0 < end.cy - joined.cy < 260


def test_metres_are_kept_where_there_is_room():
    """Two stations 3 m apart up the hall stand one above the other; one scale holds for all of them."""
    text = FILES["metres"].replace("0.4 m, 0 m", "4 m, 0 m").replace("0.4 m, 3 m", "4 m, 3 m")
    plan = floor_plan(load_text(text))
    a, b, c = (plan.stations[name] for name in "abc")
    assert plan.measured and not floor_plan(load_text(FILES["padlock"])).measured
    assert (a.cy, b.cx) == (b.cy, c.cx)
    assert (b.cx - a.cx) / 4 == pytest.approx((b.cy - c.cy) / 3)
    assert a.cx < plan.stores["s"].cx < b.cx
    desk = "work: [{do: look, time: 3 s, by: A, at: desk}]"
    text = text.replace("layout: {", "layout: {desk: [1 m, 3 m], ").replace(
        "c: {cycle: 9 s}", f"c: {{{desk}}}"
    )
    plan = floor_plan(load_text(text + "crew: {A: {}}\n"))
    a, b, point = plan.stations["a"], plan.stations["b"], plan.points["desk"]
    assert (point.cx - a.cx) / 1 == pytest.approx((b.cx - a.cx) / 4, abs=8)
    assert point.cy == pytest.approx(plan.stations["c"].cy, abs=8)


def test_ways_follow_the_flow():
    """Each way goes from what gives to what takes; those of the route are marked; all end at boxes."""
    plan = floor_plan(load_text(FILES["bicycle_bell"]))
    ways = {(a.source, a.target): a for a in plan.arrows}
    main = [(a.source, a.target) for a in plan.arrows if a.main]
    assert len(main) == 12 and ("press", "domes") in main and ("ring test", "tune's rework") not in main
    assert {("ring test", "tune's rework"), ("tune's rework", "tune"), ("tune", "clamped")} <= set(ways)
    for (source, target), way in ways.items():
        for name, (x, y) in ((source, way.corners[0]), (target, way.corners[-1])):
            box = {**plan.stations, **plan.stores}[name]
            assert min(abs(x - box.x), abs(x - box.x - box.w), abs(y - box.y), abs(y - box.y - box.h)) < 0.1
        assert all(a[0] == b[0] or a[1] == b[1] for a, b in pairwise(way.corners))


def test_labels_are_cut_and_boxes_moved_apart():
    """A long name takes two lines, the rest is cut; a box moves one step to where there is room."""
    assert label_lines("final inspection", 13) == ("final", "inspection")
    assert label_lines("a b\x1bc", 13) == ("a b?c",)
    lines = label_lines("an extremely long name of a station in the cell", 13)
    assert len(lines) == 2 and max(map(len, lines)) <= 13 and lines[1].endswith("…")
    moved = nearest_free(Box(0, 0, 10, 10), [Box(-100, 0, 104, 200)], 2)
    assert (moved.x, moved.y) == (8, 0)
