"""Money and paper work on the report page: drawings stand where the numbers say, words fit every outcome."""

from __future__ import annotations

import copy
from typing import Any

import numpy as np
import pytest
from page import HOSTILE, Element, page_of, read_page, renamed, wrong_numbers
from planning import balanced, crewed, loads, nothing_open, paid_back

from cellsim.show.paid_back import first_words, verdict_words
from cellsim.show.report import STUDIES
from cellsim.show.report_numbers import Source
from cellsim.study.opened import KINDS

PIXEL = 0.06  # places are rounded to hundredths


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, Any]]:
    """An answer of each kind."""
    folder = tmp_path_factory.mktemp("planning")
    return {"payback": paid_back(), "load": loads(), "crew": crewed(folder), "balance": balanced()}


def section_of(kind: str, answer: dict[str, Any]) -> Element:
    """The section of an answer, its numbers and sentences checked."""
    page = read_page(STUDIES[kind](Source(answer)))
    assert list(wrong_numbers(page, [answer])) == []
    return page


def drawing(page: Element, label: str, class_: str = "wide") -> Element:
    """The drawing of a label in one width."""
    return next(
        e
        for e in page.named("svg")
        if e.attributes.get("class") == class_ and e.attributes["aria-label"].startswith(label)
    )


def boxes(part: Element, class_: str) -> list[tuple[float, float]]:
    """Left end and width of each rectangle of a class, in their order."""
    found = [e for e in part.named("rect") if e.attributes.get("class") == class_]
    return [(float(e.attributes["x"]), float(e.attributes["width"])) for e in found]


def along(part: Element, anchor: str = "middle", way: str = "x") -> Any:
    """The function from values to places that ticks define: below a drawing, or `end` and `y` beside it."""
    ticks = [
        e
        for e in part.named("text")
        if e.attributes.get("class") == "tick" and e.attributes.get("text-anchor") == anchor
    ]
    values = [float(e.text().replace(" ", "")) for e in ticks]
    slope, start = np.polyfit(values, [float(e.attributes[way]) for e in ticks], 1)
    return lambda value: slope * value + start


@pytest.mark.parametrize("kind", ["payback", "load", "crew", "balance"])
def test_answers_are_told_apart_by_their_keys(kind: str, made: dict[str, Any]) -> None:
    """Each is taken for what it is, and for nothing else."""
    assert [name for name, keys in KINDS.items() if keys <= made[kind].keys()] == [kind]


@pytest.mark.parametrize(
    ("kind", "title"),
    [
        ("payback", "second bench"),
        ("load", "Brass padlock"),
        ("balance", "Four"),
        ("crew", "Answers of studies"),
    ],
)
def test_a_page_of_one_answer_has_its_name(kind: str, title: str, made: dict[str, Any]) -> None:
    """Without a result the page is about its case, cell or plan; all stands on one free sheet."""
    page = page_of([(kind, made[kind])])
    assert page.named("h1")[0].text() == title
    sheets = [e.attributes["class"] for e in page.all() if e.attributes.get("class", "").startswith("sheet")]
    assert sheets == ["sheet free"]


@pytest.mark.parametrize("kind", ["payback", "load", "crew", "balance"])
def test_hostile_names_are_only_text(kind: str, made: dict[str, Any]) -> None:
    """Names of cases, stations, people, choices and elements change no element and no attribute of a page."""
    answer = made[kind]
    own = {
        "payback": lambda a: [a["case"], a["base"]["name"], a["proposal"]["name"], a["cautions"][0], "bench"],
        "load": lambda a: [a["cell"], *(r["name"] for r in (*a["stations"], *a["posts"], *a["robots"]))],
        "crew": lambda a: [text for row in a["rows"] for pair in row["chosen"].items() for text in pair],
        "balance": lambda a: [a["plan"], *(e["name"] for row in a["stations"] for e in row["elements"])],
    }[kind](answer)
    bad = renamed(
        answer, {name: HOSTILE[k % len(HOSTILE)] + str(k) for k, name in enumerate(dict.fromkeys(own))}
    )
    plain, page = page_of([(kind, answer)]), page_of([(kind, bad)])
    assert {e.name for e in page.all()} == {e.name for e in plain.all()}
    assert {key for e in page.all() for key in e.attributes} == {
        key for e in plain.all() for key in e.attributes
    }
    assert "<script>alert(1)</script>" in page.text()
    assert list(wrong_numbers(page, [bad])) == []


def test_the_verdict_comes_first(made: dict[str, Any]) -> None:
    """In words, with the chance and why, before any number; what to settle next."""
    page = section_of("payback", made["payback"])
    first, second = (e.text() for e in page.named("p")[1:3])
    said = verdict_words(made["payback"])
    assert first == said[0].upper() + said[1:]
    assert second.split() == first_words(made["payback"]).split()
    bold = [row.text() for row in page.named("tr") if "a full year" in row.text()]
    assert len(bold) == 1


@pytest.mark.parametrize(
    ("says", "words"),
    [("pays", "It pays: with"), ("does not pay", "It does not pay:"), ("cannot tell", "Cannot tell: the")],
)
def test_every_verdict_has_its_words(says: str, words: str, made: dict[str, Any]) -> None:
    """Pays, does not pay, cannot tell."""
    answer = copy.deepcopy(made["payback"])
    answer["verdict"]["says"] = says
    page = section_of("payback", answer)
    assert next(e.text() for e in page.all() if e.attributes.get("class") == "verdict").startswith(words)


def test_a_case_without_anything_open_still_has_a_page() -> None:
    """No range, never back, no rate: later than the horizon, none, and no drawing of what is not there."""
    answer = nothing_open()
    page = section_of("payback", answer)
    cards = [e.text() for e in page.all() if e.attributes.get("class") == "card"]
    assert cards[1].startswith("later than 5") and cards[3].startswith("none")
    assert "No number of the case is open." in page.text()
    bars = boxes(drawing(page, "How often the money is back", "half"), "loss")
    assert len(bars) == 1


def test_bars_of_the_draws_are_as_high_as_their_share(made: dict[str, Any]) -> None:
    """A bar for each quarter of a year that occurs; dark within the limit."""
    found, draws = made["payback"]["drawn"]["histogram"], made["payback"]["draws"]
    part = drawing(section_of("payback", made["payback"]), "How often the money is back", "half")
    rows = [e for e in part.named("rect") if "-back-" in e.attributes.get("data-row", "")]
    rows = [e for e in rows if not e.attributes["data-row"].endswith("never")]
    counts = [count for count in found["counts"] if count]
    heights = [float(e.attributes["height"]) for e in rows]
    assert len(rows) == len(counts) > 3
    most = max(found["never"], *found["counts"])
    assert heights == pytest.approx([168 * count / most for count in counts], abs=PIXEL)
    limit = made["payback"]["payback_limit"]
    dark = sum(1 for k, count in enumerate(found["counts"]) if count and (k + 1) * found["width"] <= limit)
    assert sum(e.attributes["class"] == "bin" for e in rows) == dark
    assert sum(counts) + found["never"] == draws


@pytest.mark.parametrize("class_", ["wide", "narrow"])
def test_the_tornado_ends_where_the_axis_says(class_: str, made: dict[str, Any]) -> None:
    """From the value at the middles to that at either end of each number."""
    answer = made["payback"]
    part = drawing(section_of("payback", answer), "What each number does", class_)
    place = along(part)
    rows = [row for row in answer["tornado"] if row["swing"] > 0]
    assert len(rows) > 2
    for end in ("low", "high"):
        for row, (x, width) in zip(rows, boxes(part, f"end {end}"), strict=True):
            ends = sorted((place(row[f"at_{end}"]["npv"]), place(answer["point"]["npv"])))
            assert [x, x + width] == pytest.approx(ends, abs=2 * PIXEL)


def test_the_curve_of_what_is_needed_falls(made: dict[str, Any]) -> None:
    """More time to be back needs less; what there is lies at the gain of the runs."""
    page = section_of("payback", made["payback"])
    part = drawing(page, "More units per hour", "half")
    way = next(e for e in part.named("path") if e.attributes["class"] == "curve").attributes["d"]
    heights = [float(number) for number in way.replace("M", " ").replace("L", " ").split()[1::2]]
    assert len(heights) > 6 and heights == sorted(heights)
    assert heights[0] == 22 and heights[-1] <= 190  # cut off at the top of the drawing, not drawn above it
    needed = [row["needed"] for row in made["payback"]["break_even"]["units_per_hour"]["curve"]]
    shown = [v for v in needed if v is not None]
    assert len([e for e in part.named("rect") if e.attributes["class"] == "hit"]) == len(shown)


@pytest.mark.parametrize("class_", ["wide", "narrow"])
def test_load_bars_end_at_the_load(class_: str, made: dict[str, Any]) -> None:
    """Stations, people and robots, in parts that add up to the load with stops; takt at 100, plan at 90."""
    answer = made["load"]
    page = section_of("load", answer)
    whole = [e for e in page.named("svg") if e.attributes.get("class") == class_]
    for part, kinds in zip(whole, (("stations",), ("posts", "robots")), strict=True):
        place = along(part) if class_ == "wide" else None
        rows = [row for kind in kinds for row in answer[kind]]
        frames = boxes(part, "frame")
        assert len(frames) == len(rows)
        lines = [e for e in part.named("line") if e.attributes["class"] in ("limit", "target")]
        takt, planned = (float(e.attributes["x1"]) for e in lines)
        left = frames[0][0]
        assert (planned - left) / (takt - left) == pytest.approx(0.9, abs=1e-3)
        for row, (x, width) in zip(rows, frames, strict=True):
            assert width / (takt - left) == pytest.approx(row["load_with_stops"], abs=2e-3), row["name"]
            assert x == left
        if place is not None:
            assert takt == pytest.approx(place(100), abs=PIXEL)


def test_the_load_section_says_what_the_answer_holds(made: dict[str, Any]) -> None:
    """Takt, planned cycle, least people, every doubt, tending, stores and batches."""
    page = section_of("load", made["load"])
    text = " ".join(page.text().split())
    assert "The rate cannot be made: drill is the busiest" in text
    facts = [" ".join(e.text().split()) for e in page.named("dd")]
    assert facts == ["36 s", "32.4 s", "7 of 9 posted", "101.1 %"]
    keys = [e.attributes["data-key"] for dd in page.named("dd") for e in dd.having("data-key")]
    assert keys[2:] == ["people.least_people_with_stops", "people.posted", "busiest.load_with_stops"]
    for row in (*made["load"]["tending"], *made["load"]["warnings"]):
        names = row.get("who", row.get("about"))
        assert all(name in text for name in ([names] if isinstance(names, str) else names))
    heads = [e.text() for e in page.named("h3")]
    assert any(head.startswith("Stores:") for head in heads)
    assert heads[-1] == "Batches: how they gather at this rate, each variant running alone"


def columns_of(page: Element, row: str) -> dict[str, str]:
    """What stands below each heading of a table: the last part of the key of its number."""
    table = next(t for t in page.named("table") if any(e.attributes.get("data-row") == row for e in t.all()))
    heads = [cell.text() for cell in table.named("thead")[0].named("th")]
    line = next(tr for tr in table.named("tr") if tr.attributes.get("data-row") == row)
    marks = [cell.having("data-key") for cell in line.inside if isinstance(cell, Element)]
    found = [m[0].attributes["data-key"].split(".")[-1] if m else "" for m in marks]
    return dict(zip(heads, found, strict=True))


def test_each_heading_stands_above_its_own_figure(made: dict[str, Any]) -> None:
    """Seconds of people, rows of the front, ends of the tornado."""
    assert columns_of(section_of("load", made["load"]), "load-0-posts-0") == {
        "Who": "", "Work, s": "work_s", "Walking, s": "", "Changeovers, s": "", "Stops, s": "stops_s",
        "Needs, s": "required_with_stops_s", "Has, s": "available_s", "Load": "load",
        "With stops": "load_with_stops",
    }  # fmt: skip
    assert columns_of(section_of("crew", made["crew"]), "crew-0-1") == {
        "Row": "", "Cost per hour": "cost_per_hour", "Good units per hour": "mean", "95 % interval": "0",
        "More than above": "mean", "Units inside": "mean", "Cost of a unit": "cost_per_unit",
    }  # fmt: skip
    page = section_of("payback", made["payback"])
    line = next(e for e in page.named("tr") if e.attributes.get("data-row") == "payback-0-number-0")
    keys = [e.attributes["data-key"] for e in line.having("data-key")]
    assert keys == [f"tornado.0.at_{end}.{what}" for what in ("npv", "payback") for end in ("low", "high")]


def test_loads_of_a_small_cell_leave_out_what_is_not_there() -> None:
    """No planned cycle, people, tending or batches: no line, no table, no empty heading."""
    page = section_of("load", loads("spinning_top", None))
    assert [e.text() for e in page.named("dt")] == ["Takt", "Load of the busiest, with stops"]
    heads = [e.text() for e in page.named("h3")]
    assert heads == ["What to look at", "Stations against the time there is", heads[-1]]
    assert heads[-1].startswith("Stores:")


def test_the_front_stands_where_cost_and_output_say(made: dict[str, Any]) -> None:
    """A dot a row, the cheapest for the target large; the table has the same rows."""
    answer = made["crew"]
    page = section_of("crew", answer)
    part = drawing(page, "Output against cost")
    place, high = along(part), along(part, "end", "y")
    dots = part.named("circle")
    assert len(dots) == len(answer["rows"]) == 2
    for k, (row, dot) in enumerate(zip(answer["rows"], dots, strict=True)):
        assert float(dot.attributes["cx"]) == pytest.approx(place(row["cost_per_hour"]), abs=PIXEL)
        assert float(dot.attributes["cy"]) + 4 == pytest.approx(
            high(row["output_per_hour"]["mean"]), abs=PIXEL
        )
        best = answer["cheapest_for_target"]["row"] == k
        assert ("found" in dot.attributes["class"]) == best
    assert [e.text() for e in page.named("ol")[0].named("li")] == ["tray: small", "tray: large - 16 places"]


def test_without_target_no_row_is_the_cheapest_for_it(made: dict[str, Any]) -> None:
    """No target: no line, no large dot, and what a unit costs least stays."""
    answer = made["crew"] | {"target": None, "cheapest_for_target": None, "open": [[1, 0]]}
    page = section_of("crew", answer)
    assert not [e for e in page.all() if e.attributes.get("class") in ("target", "mean found")]
    assert "Whether row 2 makes more than row 1 cannot be told" in page.text()


def test_every_element_is_a_part_of_its_person(made: dict[str, Any]) -> None:
    """Bars of people and machines as long as their seconds; the plan dashed, the takt whole."""
    answer = made["balance"]
    page = section_of("balance", answer)
    part = drawing(page, "Work of each person")
    place = along(part)
    expected = []
    for row in answer["stations"]:
        expected.append(row["load_s"])
        expected += [machine["busy_s"] for machine in row["machines"]]
    ends = [x + width for x, width in boxes(part, "frame")]
    assert ends == pytest.approx([place(seconds) for seconds in expected], abs=2 * PIXEL)
    elements = sum(len(row["elements"]) for row in answer["stations"])
    assert len(boxes(part, "segment")) == elements - 1 + 3  # the machine alone only in its own bar, of three
    fills = [e.attributes["fill"] for e in part.named("rect") if e.attributes.get("class") == "segment"]
    assert sum(fill.startswith("url(#") for fill in fills) == 1  # the machine alone is hatched
    lines = {e.attributes["class"]: float(e.attributes["x1"]) for e in part.named("line")}
    assert lines["limit"] == pytest.approx(place(10), abs=PIXEL)
    assert lines["target"] == pytest.approx(place(9.5), abs=PIXEL)
    assert "it is proven that fewer cannot" in page.text()
    assert "What it makes when it runs" in page.text()


def test_a_balance_on_paper_has_no_rates() -> None:
    """Without runs there is what the longest station makes, and no table of runs."""
    page = section_of("balance", balanced(on_paper=True))
    assert "What it makes when it runs" not in page.text()
    assert "On paper the longest station" in page.text()


def test_several_answers_are_sections_in_their_order(made: dict[str, Any]) -> None:
    """All four beside one another on a page: each is a section of its own, in the order given."""
    page = page_of(list(made.items()))
    ids = [e.attributes["id"] for e in page.named("section")]
    assert ids == ["payback-0", "load-1", "crew-2", "balance-3"]
    assert page.named("h1")[0].text() == "Answers of studies"
