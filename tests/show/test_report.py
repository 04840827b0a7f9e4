"""The report page: every number is one of the answer, nothing else is a number, names are only text."""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from page import HOSTILE, page_of, read_page, renamed, value_at, wrong_numbers
from planning import balanced, crewed, loads, paid_back

from cellsim.cli import main
from cellsim.describe.resolve import load
from cellsim.show.report import report_page
from cellsim.show.report_numbers import key_of
from cellsim.show.report_words import (
    NEVER_MODELLED,
    chief_groups,
    decision_words,
    left_out,
    promise_words,
)
from cellsim.study.study import compare, limits, run, size_buffers

SCENARIOS = Path(__file__).parents[2] / "scenarios"

# Phrases of the page that hold digits but no figure.
PROSE = ("95 % interval", "95 % of the units", "its 95 %", "P95", "P5", "9 of 10 hours", "1 %", "60 min")
PROSE += ("SHA-256", "A strip of 20 places", "In 8 of 10 draws", "Year 0 is the order", "below 95 %")


@pytest.fixture(scope="module")
def answers(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[str, dict[str, Any]]]:
    """A result with people, a robot, stops and rejects, and an answer of each study that a report shows."""
    file = tmp_path_factory.mktemp("answers") / "inputs.json"
    options = ["--ways", "4", "--each", "2", "-w", "1", "-q", "--json", str(file)]
    done = CliRunner().invoke(main, ["sensitivity", str(SCENARIOS / "spinning_top.yaml"), *options])
    assert done.exit_code == 0, done.output
    top = load(SCENARIOS / "spinning_top.yaml")
    more = load(SCENARIOS / "spinning_top.yaml", ["stores.tray.places: 16"])
    found = [
        ("result", run(load(SCENARIOS / "tape_measure.yaml"), replications=3)),
        ("comparison", compare(top, {"16 places": more}, replications=3)),
        ("limits", limits(top, replications=2)),
        ("buffers", size_buffers(top, total=2, matters="20 per h", most=4)),
        ("sensitivity", json.loads(file.read_text(encoding="utf-8"))),
        ("payback", paid_back()),
        ("load", loads()),
        ("crew", crewed(file.parent)),
        ("balance", balanced()),
    ]
    return json.loads(json.dumps(found))


def strings_of(part: Any) -> Iterator[str]:
    """Every text in an answer, its keys too: what a user or the file named."""
    if isinstance(part, dict):
        yield from part
        part = list(part.values())
    if isinstance(part, list):
        for value in part:
            yield from strings_of(value)
    elif isinstance(part, str):
        yield part


def test_every_number_is_one_of_the_answer(answers: list[tuple[str, Any]]) -> None:
    """All marked numbers and sentences, in texts, tables and drawings, are what the answers hold."""
    page = page_of(answers)
    assert list(wrong_numbers(page, [answer for _, answer in answers])) == []
    keys = {element.attributes["data-key"] for element in page.having("data-key")}
    assert len(keys) > 300
    assert {"output_per_hour.mean", "output_per_hour.p05", "wip.mean", "lead_time.mean_s"} <= keys
    seen = {element.attributes.get("data-of") for element in page.having("data-key")}
    assert seen == {None, *map(str, range(1, len(answers)))}


@pytest.mark.parametrize("key", ["output_per_hour.mean", "waterfall.ideal_s", "stops.0.repair_min.mean"])
def test_a_wrong_number_is_seen(answers: list[tuple[str, Any]], key: str) -> None:
    """The check above can fail: a figure changed after the page was made is found."""
    page = page_of(answers)
    changed = copy.deepcopy([answer for _, answer in answers])
    *path, last = key.split(".")
    row = value_at(changed[0], ".".join(path))
    row[last] = 1.3 * row[last] + 1
    assert any(text.startswith(f"{key}: ") for text in wrong_numbers(page, changed))


def test_no_number_goes_unmarked(answers: list[tuple[str, Any]]) -> None:
    """Beside marked numbers, axes, names and a few phrases, no text of the page holds a digit."""
    page = page_of(answers)
    words = sorted({s for _, answer in answers for s in strings_of(answer)}, key=len, reverse=True)
    known = [*PROSE, *left_out(answers[0][1]), *NEVER_MODELLED, *words]
    loose = []
    for text in page.loose_texts():
        for phrase in known:
            if re.search(r"\d", phrase):
                text = text.replace(phrase, "")
        if re.search(r"\d", re.sub(r"\w+ \((\d)\)", "", text)):  # equal machines, "drill (2)"
            loose.append(text)
    assert loose == []


def test_a_key_of_a_name_with_dots_comes_back() -> None:
    """Dots and tildes of names survive in a key."""
    key = key_of(("stores", "a.b~c", 3))
    assert key == "stores.a~1b~0c.3"
    assert value_at({"stores": {"a.b~c": [0, 1, 2, "x"]}}, key) == "x"


def hostile(result: dict[str, Any]) -> dict[str, Any]:
    """A result whose cell, stations, stores, people and causes have hostile names."""
    own = [result["cell"]["name"], *result["stations"], *result["stores"], *result["people"]]
    names = {name: HOSTILE[k % len(HOSTILE)] + str(k) for k, name in enumerate(own)}
    found = renamed(result, names)
    found["cell"]["question"] = HOSTILE[0]
    found["assumptions"].append({"path": HOSTILE[0], "value": HOSTILE[1], "why": HOSTILE[2]})
    return found


def test_names_are_only_text(answers: list[tuple[str, Any]]) -> None:
    """Hostile names change no element of the page, and stand on it letter for letter."""
    plain = page_of(answers[:1])
    bad = hostile(answers[0][1])
    page = page_of([("result", bad)])
    assert sorted({e.name for e in page.all()}) == sorted({e.name for e in plain.all()})
    assert len(page.named("script")) == len(plain.named("script")) == 1
    assert {key for e in page.all() for key in e.attributes} == {
        key for e in plain.all() for key in e.attributes
    }
    heading = page.named("h1")[0].text()
    assert heading == "<script>alert(1)</script>0"
    assert list(wrong_numbers(page, [bad])) == []


def test_the_page_asks_for_nothing(answers: list[tuple[str, Any]]) -> None:
    """No element names another file, and the page forbids itself to fetch any; it stays small."""
    text = report_page(answers, ["cell"])
    page = read_page(text)
    assert not page.having("src")
    assert all(e.attributes["href"].startswith("#") for e in page.having("href"))
    policy = next(e for e in page.named("meta") if "http-equiv" in e.attributes)
    assert policy.attributes["content"].startswith("default-src 'none';")
    assert len(text.encode()) < 5_000_000


def test_the_parts_stand_in_their_order(answers: list[tuple[str, Any]]) -> None:
    """The first sheet, what has sheets of its own, other studies, states to evidence; each with a heading."""
    from cellsim.show.svg import section

    page = page_of(answers, extra=[section("replay", "Replay", "")])
    sections = page.named("section")
    assert [s.attributes["id"] for s in sections] == [
        "output", "limits", "payback-5", "load-6", "crew-7", "balance-8", "comparison-1", "changes-2",
        "buffers-3", "inputs-4", "states", "inside", "replay", "evidence",
    ]  # fmt: skip
    assert all(len(s.named("h2")) == 1 for s in sections)
    assert len(page.named("h1")) == 1


def test_headings_have_no_gaps(answers: list[tuple[str, Any]]) -> None:
    """A heading is at most one level below the one before; every drawing says what it shows."""
    page = page_of(answers)
    levels = [int(e.name[1]) for e in page.all() if re.fullmatch("h[1-6]", e.name)]
    assert levels[0] == 1
    assert all(b <= a + 1 for a, b in pairwise(levels))
    drawings = [e for e in page.named("svg") if e.attributes.get("aria-hidden") != "true"]
    assert all(e.attributes["role"] == "img" and e.attributes["aria-label"] for e in drawings)
    assert all(figure.named("table") for figure in page.named("figure"))


def test_a_number_is_pointed_at_by_the_row_of_its_name(answers: list[tuple[str, Any]]) -> None:
    """Every part of a drawing that can be pointed at has one row in the table of its figure."""
    for figure in page_of(answers).named("figure"):
        rows = [e.attributes["data-row"] for e in figure.named("tr") if "data-row" in e.attributes]
        marks = {e.attributes["data-row"] for e in figure.having("data-row") if e.name != "tr"}
        assert marks
        assert all(rows.count(mark) == 1 for mark in marks), marks


@pytest.mark.parametrize("name", ["result", "single", "locked"])
def test_results_without_newer_figures(name: str, request: pytest.FixtureRequest) -> None:
    """A result of an earlier version, of one run, or of a cell that locks up: a page that says so."""
    result = request.getfixturevalue(name)
    page = page_of([("result", result)])
    assert list(wrong_numbers(page, [result])) == []
    assert "do not hold how often each rate occurs" in page.text()
    if name == "locked":
        alarms = [e.text() for e in page.all() if e.attributes.get("class") == "alarm"]
        assert len(alarms) == 1 and "press holds a unit for tray" in alarms[0]
    if name == "single":
        assert "One run: the mean has no interval." in page.text()


def test_nothing_made_and_no_target(result: dict[str, Any]) -> None:
    """A cell that makes nothing and a file without a target still have a page."""
    out = result["output_per_hour"]
    out["target"] = None
    del out["chance_of_target_in_an_hour"], out["per_shift"]["chance_of_target"]
    for row in out["by_clock_hour"]:
        del row["target"], row["chance_of_target"]
    result["losses"] = {
        "causes": [],
        "elapsed_s": 0.0,
        "remark": "no good unit left the cell, so there is no path",
    }
    page = page_of([("result", result)])
    assert list(wrong_numbers(page, [result])) == []
    assert "The file states no target" in page.text()
    assert "no good unit left the cell, so there is no path." in page.text()


@pytest.mark.parametrize(
    ("mean", "half", "words"),
    [
        (104.4, 1.6, "The cell makes its target of 100 per hour on average; not in every hour."),
        (100.9, 1.6, "Cannot tell from 40 runs whether the cell makes 100 per hour on average: the mean lies"
                     " anywhere from 99.3 to 102.5. More runs would tell."),
        (97.0, 1.6, "The cell does not make its target of 100 per hour on average."),
    ],
)  # fmt: skip
def test_the_decision_goes_as_far_as_the_numbers(
    result: dict[str, Any], mean: float, half: float, words: str
) -> None:
    """Above, across and below the target."""
    result["output_per_hour"] |= {"mean": mean, "interval": [mean - half, mean + half]}
    assert decision_words(result) == words


def test_a_target_that_is_always_met(result: dict[str, Any]) -> None:
    """Where all hours reach the target, the decision does not say that some miss it."""
    result["output_per_hour"]["chance_of_target_in_an_hour"]["mean"] = 1
    words = "The cell makes its target of 100 per hour on average, and in every hour studied."
    assert decision_words(result) == words


def test_no_decision_on_broken_figures(result: dict[str, Any], locked: dict[str, Any]) -> None:
    """A locked cell and broken laws come before any target."""
    assert decision_words(locked) == "Not as described: the cell or a part of it locks up in 2 of 40 runs."
    result["audit"]["passed"] = False
    assert decision_words(result).startswith("Do not decide by these figures")


def test_the_promise(result: dict[str, Any]) -> None:
    """At least P5 in 19 of 20 hours, with what is known of it; nothing where P5 is nothing."""
    assert promise_words(result) == "19 of 20 hours make 81 or more."
    result["output_per_hour"]["p05_interval"] = [79.0, 84.0]
    assert promise_words(result) == "19 of 20 hours make 81 or more (known to 79 to 84)."
    result["output_per_hour"]["p05"] = 0.0
    assert promise_words(result).startswith("No number can be promised for a single hour")


def test_alike_assumptions_are_named_together(result: dict[str, Any]) -> None:
    """The six stations that work alone are one group of the short list, the seed another."""
    assert chief_groups(result, 4) == [
        "Works alone: s0, s1, s2, s3 and 2 more.",
        "Any number will do (1): seed.",
    ]


def test_what_the_file_leaves_out(result: dict[str, Any]) -> None:
    """Stations without stops, parts, finished goods and power are named as not in the figures."""
    found = " ".join(left_out(result))
    assert "Stops of glue, test, R1" in found and "press" not in found
    for words in ("Purchased parts", "Full places behind the cell", "Energy"):
        assert words in found
    result["energy"] = {"kwh": 1}
    assert "Energy" not in " ".join(left_out(result))


def test_what_a_page_cannot_show_is_refused(result: dict[str, Any]) -> None:
    """An unknown kind, nothing at all, a name too few."""
    with pytest.raises(ValueError, match="not \\['warmup'\\]"):
        report_page([("warmup", {})], [])
    with pytest.raises(ValueError, match="not nothing"):
        report_page([], [])
    with pytest.raises(ValueError, match="1 results and 0 names"):
        report_page([("result", result)], [])
