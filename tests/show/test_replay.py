"""The replay in a real browser: at every instant looked at it says what the story says, and the keys work."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest
from browser import opened
from framed import page
from tales import told

from cellsim.show.replay import ASSETS, clock_of, data_script, replay_section
from cellsim.study.story import story_at


def replay_page(name: str, folder: Path) -> Path:
    """A page with the replay of a cell."""
    return page(folder / "replay.html", [replay_section(*told(name))], ASSETS)


def spot(plan, actors, place, own, depth=0):
    """Where somebody stands: above a station or store, beside a point, at his name, with a robot."""
    kind, name = place
    if kind == "machine":
        box = plan.machines[name]
        station = next(s for n, s in plan.stations.items() if name == n or name.rpartition(".")[0] == n)
        return box.cx, station.y - 13
    if kind == "actor":
        if name != own and depth == 0:
            return spot(plan, actors, actors[name]["place"], name, 1)
        return plan.actors[name].x + plan.actors[name].w - 14, plan.actors[name].cy
    box = plan.stores[name] if kind == "store" else plan.points[name]
    return (box.cx, box.y - 13) if kind == "store" else (box.x + box.w + 14, box.cy)


@pytest.mark.parametrize("name", ["tape_measure", "padlock", "bicycle_light", "walks", "hostile"])
def test_it_shows_what_the_story_says_at_every_instant(name, tmp_path):
    """States, levels, units, counts, stops and points at 150 instants, in any order, forwards and back."""
    tale, plan = told(name)
    chance = random.Random(1)
    moments = [0, tale["length"], *(chance.randint(0, tale["length"]) for _ in range(118))]
    turns = [sum(tale["machines"][0]["changes"][: 2 * k + 1 : 2]) for k in range(1, 16)]
    ways = [round((m[0] + m[1]) / 2) for row in tale["actors"] for m in row["moves"][5:20] if m[0] >= 0]
    moments += [at + d for at in turns for d in (0, -1) if 0 <= at + d <= tale["length"]] + ways
    with opened(replay_page(name, tmp_path)) as seen:
        shown = seen.page.evaluate("(all) => all.map((ms) => cellsimReplay.at(ms / 1000))", moments)
        assert (seen.errors, seen.requests) == ([], [])
    checked_ways = 0
    for at, found in zip(moments, shown, strict=True):
        expected = story_at(tale, at)
        for key in ("machines", "stores", "units", "good", "scrap", "inside", "stops"):
            assert found[key] == expected[key], (at, key)
        assert set(found["actors"]) == set(expected["actors"])
        for who, row in expected["actors"].items():
            drawn = found["actors"][who]
            assert (drawn["state"], drawn["place"]) == (row["state"], row["place"]), (at, who)
            here = spot(plan, expected["actors"], row["place"], who)
            assert (drawn["moving"] is None) == (row["moving"] is None)
            if row["moving"] is not None:
                checked_ways += 1
                assert drawn["moving"]["from"] == row["moving"]["from"]
                share = row["moving"]["share"]
                assert drawn["moving"]["share"] == pytest.approx(share, abs=2e-4)
                there = spot(plan, expected["actors"], row["moving"]["from"], who)
                here = tuple(a + (b - a) * share for a, b in zip(there, here, strict=True))
            assert drawn["spot"] == pytest.approx(here, abs=0.2), (at, who)
    assert checked_ways >= (10 if name in ("walks", "hostile") else 0)


def test_the_page_tells_the_instant_in_words(tmp_path):
    """Clock, counts and a line for each station are those of the story; a machine that stops is named."""
    tale, _ = told("walks")
    stop = next(s for s in tale["stops"] if s[0] > 600_000)
    at = stop[0] + 1000
    expected = story_at(tale, at)
    with opened(replay_page("walks", tmp_path)) as seen:
        seen.page.evaluate("(s) => cellsimReplay.goTo(s)", at / 1000)
        part = {
            name: seen.page.inner_text(f"[data-part={name}]")
            for name in ("clock", "good", "scrap", "inside", "stops")
        }
        lines = seen.page.locator("[data-part=lines] li").all_inner_texts()
        people = seen.page.locator("[data-part=people] li").all_inner_texts()
    assert part["clock"] == f"{at // 3600000}:{at // 60000 % 60:02d}:{at // 1000 % 60:02d}"
    assert [part["good"], part["scrap"], part["inside"]] == [
        str(expected[k]) for k in ("good", "scrap", "inside")
    ]
    assert part["stops"].startswith("bore: jam")
    assert [line.split("\n")[1] for line in lines] == ["cut", "bore", "pack"]
    assert "down" in lines[1] and len(people) == 2


def test_keys_and_buttons(tmp_path):
    """Space plays and pauses, arrows go 10 s or 1 min, w and n jump, steps go from change to change."""
    tale, _ = told("bicycle_light")
    with opened(replay_page("bicycle_light", tmp_path)) as seen:
        tab = seen.page
        now = lambda: tab.evaluate("cellsimReplay.now()")  # noqa: E731
        tab.focus("[data-part=stage]")
        for key, far in (("ArrowRight", 10), ("Shift+ArrowRight", 70), ("ArrowLeft", 60), ("Home", 0)):
            tab.keyboard.press(key)
            assert now() == far
        tab.keyboard.press("w")
        assert now() * 1000 == tale["hours"][tale["worst_hour"]]["start"]
        assert tale["hours"][tale["worst_hour"]]["label"] in tab.inner_text("[data-part=status]")
        tab.keyboard.press("n")
        later = sorted(s for s in tale["stops"] if s[0] > tale["hours"][tale["worst_hour"]]["start"])
        assert now() * 1000 == later[0][0] and later[0][3] in tab.inner_text("[data-part=status]")
        tab.click("[data-part=step]")
        changes = {t for row in tale["machines"] for t in sums(row["changes"][::2])}
        assert now() * 1000 == min(t for t in changes if t > later[0][0])
        tab.click("[data-part=back]")
        assert now() * 1000 == max(t for t in changes if t <= later[0][0])
        before = now()
        tab.select_option("[data-part=speed]", "600")
        tab.focus("[data-part=stage]")
        tab.keyboard.press(" ")
        tab.wait_for_timeout(400)
        tab.keyboard.press(" ")
        halted = now()
        assert halted > before + 60
        tab.wait_for_timeout(100)
        assert now() == halted and tab.inner_text("[data-part=play]") == "Play"
        tab.locator("[data-part=scrub]").fill("3600000")
        assert now() == 3600 and tab.get_attribute("[data-part=scrub]", "aria-valuetext") == "15:00:00"
        unlabelled = tab.evaluate(
            "[...document.querySelectorAll('button, select, input')].filter((e) => !(e.textContent.trim() || "
            "e.labels?.length || e.getAttribute('aria-label'))).length"
        )
        assert unlabelled == 0 and seen.errors == []


def sums(steps):
    """Times from steps."""
    total, out = 0, []
    for step in steps:
        total += step
        out.append(total)
    return out


def test_names_are_text_and_nothing_else(tmp_path):
    """Names full of markup make no element and run nothing; they stand on the page as they are."""
    with opened(replay_page("hostile", tmp_path)) as seen:
        alerts = []
        seen.page.on("dialog", lambda dialog: (alerts.append(dialog.message), dialog.dismiss()))
        seen.page.evaluate("cellsimReplay.goTo(3000)")
        assert "</script><b>" in seen.page.inner_text("[data-part=lines]")
        assert seen.page.locator("#replay img, #replay li b b").count() == 0
        assert (seen.errors, alerts) == ([], [])
    text = str(data_script("x", {"a": "</script>&\u2028"}))
    inside = text[text.index(">") + 1 : text.rindex("<")]
    assert not set("<>&\u2028") & set(inside) and json.loads(inside) == {"a": "</script>&\u2028"}


@pytest.mark.parametrize("width", [1280, 390])
def test_it_holds_at_both_widths_and_in_the_dark(width, tmp_path):
    """Nothing is wider than the page; the plan is drawn on the colour of the paper of the look."""
    for dark, paper in ((False, [251, 250, 247]), (True, [20, 24, 28])):
        with opened(replay_page("bicycle_light", tmp_path), width, 900, dark) as seen:
            assert seen.page.evaluate("document.documentElement.scrollWidth") <= width
            corner = "(e) => [...e.getContext('2d').getImageData(2, 2, 1, 1).data]"
            assert seen.page.locator("[data-part=stage]").evaluate(corner)[:3] == paper


def test_it_is_drawn_quickly(tmp_path):
    """A frame of the largest plan takes less than half of the 16.7 ms of 60 frames a second (median)."""
    with opened(replay_page("padlock", tmp_path)) as seen:
        times = seen.page.evaluate(
            "() => Array.from({ length: 200 }, (_, k) => { const t = performance.now(); "
            "cellsimReplay.goTo(9000 + k); return performance.now() - t; }).sort((a, b) => a - b)"
        )
    assert times[100] < 8.3


def test_clock_words():
    """Time of day where there are shifts, also over midnight; else time since the start."""
    assert clock_of({"clock_s": 79200.0}, 3 * 3_600_000) == "01:00"
    assert clock_of({"clock_s": None}, 5_400_000) == "1:30"
