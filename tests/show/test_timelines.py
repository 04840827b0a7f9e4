"""The lanes in a real browser: pixels, words and keys against the story that they are drawn from."""

from __future__ import annotations

from itertools import accumulate
from pathlib import Path

import pytest
from browser import opened
from framed import page
from tales import told

from cellsim.show.palette import CREW_STATES, STATION_STATES
from cellsim.show.replay import ASSETS as REPLAY
from cellsim.show.replay import replay_section
from cellsim.show.timelines import ASSETS, timelines_section
from cellsim.study.story import story_at, time_in_states


def lanes_page(name: str, folder: Path) -> Path:
    """A page with the lanes of a story."""
    return page(folder / "lanes.html", [timelines_section(told(name)[0])], ASSETS)


def stretches(tale, row):
    """(start, end, state) of a lane in milliseconds."""
    times = list(accumulate(row["changes"][::2]))
    return list(zip(times, [*times[1:], tale["length"]], row["changes"][1::2], strict=True))


@pytest.mark.parametrize("name", ["padlock", "kitchen_timer"])
def test_each_stretch_has_the_colour_of_its_state(name, tmp_path):
    """Close enough to see every stretch, the pixels of each lane are those of the palette."""
    tale, _ = told(name)
    pixels = """(asked) => asked.map(([name, at]) => {
      const [x, y, lane] = cellsimTimelines.spot(name, at);
      const pen = document.querySelector('[data-part=lanes]').getContext('2d');
      return [...pen.getImageData(Math.round(x), Math.round(y - lane / 2 + 1), 1, 1).data];
    })"""
    lanes = [("machine", row, STATION_STATES) for row in tale["machines"]]
    lanes += [("actor", row, CREW_STATES) for row in tale["actors"]]
    checked = set()
    with opened(lanes_page(name, tmp_path)) as seen:
        for start in (0, 5000, 12000, 20000, 28400):
            seen.page.evaluate("([a, b]) => cellsimTimelines.look(a, b)", [start, start + 120])
            asked, looks = [], []
            for kind, row, table in lanes:
                for begins, ends, state in stretches(tale, row):
                    a, b = max(begins / 1000, start), min(ends / 1000, start + 120)
                    if b - a > 1.0:
                        asked.append([row["name"], a + 0.25])
                        looks.append(table[tale["states"][kind][state]])
                        checked.add((kind, state))
            for where, look, found in zip(asked, looks, seen.page.evaluate(pixels, asked), strict=True):
                fill = [int(look.colour[k : k + 2], 16) for k in (1, 3, 5)]
                ink = [255] * 3 if look.ink == "#FFFFFF" else [85, 85, 91]
                if look.hatch:  # the pixel may lie on a stroke of the hatch
                    between = zip(fill, ink, found, strict=False)
                    assert all(min(f, i) <= g <= max(f, i) for f, i, g in between), (where, found)
                else:
                    assert found[:3] == fill, (where, found)
        assert seen.errors == [] and seen.requests == []
    assert len(checked) > 10


def test_the_keys_go_from_stretch_to_stretch_and_say_what_it_is(tmp_path):
    """The line of detail names lane, state and both ends of each stretch that the arrow keys reach."""
    tale, _ = told("bicycle_light")
    row = tale["machines"][1]
    rows = stretches(tale, row)
    with opened(lanes_page("bicycle_light", tmp_path)) as seen:
        tab = seen.page
        tab.focus("[data-part=lanes]")
        tab.keyboard.press("ArrowDown")
        tab.keyboard.press("ArrowDown")
        tab.keyboard.press("Home")
        for k in range(1, 12):
            tab.keyboard.press("ArrowRight")
            start, end, state = rows[k]
            text = tab.inner_text("[data-part=detail]")
            label = STATION_STATES[tale["states"]["machine"][state]].label
            clock = [
                f"{14 + t // 3600000:02d}:{t // 60000 % 60:02d}:{t // 1000 % 60:02d}" for t in (start, end)
            ]
            assert text.startswith(f"{row['name']}: {label} ("), k
            assert f"{clock[0]} to {clock[1]}" in text, k
        tab.keyboard.press("End")
        assert "or later" in tab.inner_text("[data-part=detail]")
        tab.keyboard.press("Escape")
        assert tab.inner_text("[data-part=detail]").startswith("Point at a stretch")


def test_looking_closer_and_wider(tmp_path):
    """Buttons, wheel, drag and keys change what is seen, within the shift and down to 5 s."""
    tale, _ = told("kitchen_timer")
    with opened(lanes_page("kitchen_timer", tmp_path)) as seen:
        tab = seen.page
        view = lambda: tab.evaluate("cellsimTimelines.view()")  # noqa: E731
        whole = tale["length"] / 1000
        assert view() == [0, whole]
        tab.click("[data-part=in]")
        assert view() == [whole / 4, 3 * whole / 4]
        tab.click("[data-part=later]")
        tab.click("[data-part=later]")
        assert view() == [whole / 2, whole]
        tab.click("[data-part=worst]")
        hour = tale["hours"][tale["worst_hour"]]
        assert view() == [hour["start"] / 1000, hour["end"] / 1000]
        assert tab.inner_text("[data-part=span]") == "{}:00 to {}:00".format(*hour["label"].split("-"))
        tab.click("[data-part=out]")
        assert view()[1] - view()[0] == 7200
        box = tab.locator("[data-part=lanes]").bounding_box()
        middle = (box["x"] + 128 + (box["width"] - 136) / 2, box["y"] + 80)
        tab.mouse.move(*middle)
        tab.mouse.wheel(0, -300)
        assert view()[1] - view()[0] == 7200  # the wheel alone moves the page
        tab.evaluate("scrollTo(0, 0)")
        before = view()
        tab.mouse.move(*middle)
        tab.mouse.down()
        tab.mouse.move(middle[0] + 100, middle[1], steps=4)
        tab.mouse.up()
        moved = view()
        assert moved[0] == pytest.approx(before[0] - 100 * 7200 / (box["width"] - 136), abs=20)
        tab.focus("[data-part=lanes]")
        tab.mouse.move(*middle)
        tab.mouse.wheel(0, -60)
        tab.wait_for_timeout(50)
        assert view()[1] - view()[0] < 7200
        for _ in range(20):
            tab.keyboard.press("+")
        assert view()[1] - view()[0] == pytest.approx(5)
        tab.keyboard.press("0")
        assert view() == [0, whole]


def test_the_pointer_shows_what_it_is_over(tmp_path):
    """Over a lane the detail is what the story says of that instant, the place of a person included."""
    tale, _ = told("bicycle_light")
    with opened(lanes_page("bicycle_light", tmp_path)) as seen:
        tab = seen.page
        tab.evaluate("cellsimTimelines.look(4000, 4060)")
        box = tab.locator("[data-part=lanes]").bounding_box()
        lane = next(row for row in tale["actors"] if row["name"] == "P1")
        for at in (4003.0, 4020.5, 4044.0):
            x, y, _ = tab.evaluate("(t) => cellsimTimelines.spot('P1', t)", at)
            tab.mouse.move(box["x"] + x + 0.5, box["y"] + y)
            state = story_at(tale, round(at * 1000))["actors"]["P1"]["state"]
            start = max(a for a, _, _ in stretches(tale, lane) if a <= at * 1000)
            text = tab.inner_text("[data-part=detail]")
            assert text.startswith(f"P1: {CREW_STATES[state].label} (")
            assert text.endswith(f", at {story_at(tale, start)['actors']['P1']['place'][1]}")


@pytest.mark.parametrize("width", [1280, 390])
def test_it_stays_within_the_page(width, tmp_path):
    """The widest page and the narrowest: no sideways scrolling, and 45 lanes are at most 1300 pixels high."""
    with opened(lanes_page("padlock", tmp_path), width, dark=width == 390) as seen:
        assert seen.page.evaluate("document.documentElement.scrollWidth") <= width
        assert 900 < seen.page.locator("[data-part=lanes]").bounding_box()["height"] < 1300


def test_minutes_add_up_and_names_are_text(tmp_path):
    """Each row of the table behind adds up to the shift; names full of markup stand there as they are."""
    for name in ("tape_measure", "hostile"):
        tale, _ = told(name)
        for rows in time_in_states(tale).values():
            for sums in rows.values():
                assert sum(sums.values()) == pytest.approx(tale["length"] / 1000)
    with opened(lanes_page("hostile", tmp_path)) as seen:
        seen.page.click("summary")
        heads = seen.page.locator("tbody th").all_inner_texts()
        assert "</script><b>" in heads and "<img src=x onerror=alert(1)>" in heads
        assert seen.page.locator("#timelines img, #timelines b").count() == 0
        seen.page.focus("[data-part=lanes]")
        seen.page.keyboard.press("ArrowDown")
        assert seen.page.inner_text("[data-part=detail]").startswith("</script><b>: ")
        assert seen.errors == []


def test_a_stretch_is_shown_in_the_replay(tmp_path):
    """Both sections on one page: the enter key takes the replay to the start of the stretch."""
    tale, plan = told("kitchen_timer")
    sections = [replay_section(tale, plan), timelines_section(tale)]
    with opened(page(tmp_path / "both.html", sections, tuple(dict.fromkeys((*REPLAY, *ASSETS))))) as seen:
        seen.page.focus("[data-part=lanes]")
        for key in ("ArrowDown", "ArrowRight", "ArrowRight", "Enter"):
            seen.page.keyboard.press(key)
        start = stretches(tale, tale["machines"][0])[2][0]
        assert seen.page.evaluate("cellsimReplay.now()") == start / 1000
        assert (seen.errors, seen.requests) == ([], [])
        assert seen.page.locator("[data-part=replay]").is_visible()


def test_two_fingers_look_closer(tmp_path):
    """Two fingers at three times their distance show a third of the time, around the same moment."""
    tale, _ = told("kitchen_timer")
    with opened(lanes_page("kitchen_timer", tmp_path)) as seen:
        box = seen.page.locator("[data-part=lanes]").bounding_box()
        touch = seen.page.context.new_cdp_session(seen.page)
        middle, y = box["x"] + 128 + (box["width"] - 136) / 2, box["y"] + 80

        def fingers(kind, apart):
            points = [{"x": middle + side * apart / 2, "y": y, "id": k} for k, side in enumerate((-1, 1))]
            touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points if apart else []})

        fingers("touchStart", 100)
        for apart in (150, 200, 250, 300):
            fingers("touchMove", apart)
        fingers("touchEnd", 0)
        start, end = seen.page.evaluate("cellsimTimelines.view()")
    assert end - start == pytest.approx(tale["length"] / 3000, rel=0.02)
    assert (start + end) / 2 == pytest.approx(tale["length"] / 2000, rel=0.02)
