"""The drawings of the report page stand where their axes say, and their tables have the right columns."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from page import Element, read_page

from cellsim.describe.resolve import load
from cellsim.show.report_flow import flow_section
from cellsim.show.report_limits import limits_section
from cellsim.show.report_numbers import Source
from cellsim.show.report_output import output_section
from cellsim.study.study import run

SCENARIOS = Path(__file__).parents[2] / "scenarios"
PIXEL = 0.06  # places are rounded to hundredths, and ticks stand 4 units above their text


@pytest.fixture(scope="module")
def result() -> dict[str, Any]:
    """A real result with a target, short hours and several causes."""
    found = run(load(SCENARIOS / "bicycle_bell.yaml"), replications=4)
    return dict(json.loads(json.dumps(found)))


def drawings(section: str, class_: str) -> list[Element]:
    """The drawings of a section in one width."""
    return [e for e in read_page(section).named("svg") if e.attributes.get("class") == class_]


def parts(drawing: Element, class_: str) -> list[Element]:
    """The elements of a class."""
    return [e for e in drawing.all() if e.attributes.get("class") == class_]


def at(element: Element, *keys: str) -> list[float]:
    """Attributes as numbers."""
    return [float(element.attributes[key]) for key in keys]


def axis(drawing: Element, way: str) -> Any:
    """The function from values to places that the labels of an axis define: `y` upward or `x` along."""
    ticks = [e for e in parts(drawing, "tick") if e.text().replace(".", "").isdigit()]
    anchor = {"y": "end", "x": "middle"}[way]
    chosen = [e for e in ticks if e.attributes.get("text-anchor") == anchor]
    values = [float(e.text()) for e in chosen]
    places = [at(e, way)[0] - (4 if way == "y" else 0) for e in chosen]
    slope, start = np.polyfit(values, places, 1)
    assert np.allclose(slope * np.array(values) + start, places, atol=PIXEL)
    return lambda value: slope * value + start


@pytest.mark.parametrize("class_", ["wide", "narrow"])
def test_hours_stand_where_the_axis_says(result: dict[str, Any], class_: str) -> None:
    """Band from P5 to P95, median, mean, interval and target of every hour."""
    drawing = drawings(output_section(Source(result)), class_)[1]
    rows = result["output_per_hour"]["by_clock_hour"]
    place = axis(drawing, "y")
    bands, medians = parts(drawing, "band"), parts(drawing, "median")
    means, intervals = parts(drawing, "mean"), parts(drawing, "interval")
    steps = parts(drawing, "target")[0].attributes["d"].split()
    assert len(bands) == len(medians) == len(means) == len(intervals) == len(rows) == 8
    for k, row in enumerate(rows):
        y, height = at(bands[k], "y", "height")
        assert [y, y + height] == pytest.approx([place(row["p95"]), place(row["p05"])], abs=PIXEL)
        assert at(medians[k], "y1", "y2") == pytest.approx([place(row["p50"])] * 2, abs=PIXEL)
        assert at(means[k], "cy") == pytest.approx([place(row["mean"])], abs=PIXEL)
        ends = [place(end) for end in row["interval"]]
        assert at(intervals[k], "y1", "y2") == pytest.approx(ends, abs=PIXEL)
        assert float(steps[3 * k + 1]) == pytest.approx(place(row["target"]), abs=PIXEL)
    assert len(parts(drawing, "short")) == sum(row["working_min"] < 60 for row in rows)


@pytest.mark.parametrize("class_", ["wide", "narrow"])
def test_bars_are_as_high_as_the_counts(result: dict[str, Any], class_: str) -> None:
    """Each bar of the distribution from its interval, as high as its hours; band and target above it."""
    drawing = drawings(output_section(Source(result)), class_)[0]
    found, out = result["output_per_hour"]["distribution"], result["output_per_hour"]
    up, along = axis(drawing, "y"), axis(drawing, "x")
    bins = parts(drawing, "bin")
    assert len(bins) == len(found["counts"])
    for k, count in enumerate(found["counts"]):
        x, width, y, height = at(bins[k], "x", "width", "y", "height")
        low = found["from"] + k * found["width"]
        assert [x - 0.75, x + width + 0.75] == pytest.approx(
            [along(low), along(low + found["width"])], abs=PIXEL
        )
        assert [y, y + height] == pytest.approx([up(count), up(0)], abs=PIXEL)
    x, width = at(parts(drawing, "band")[0], "x", "width")
    assert [x, x + width] == pytest.approx([along(out["p05"]), along(out["p95"])], abs=PIXEL)
    assert at(parts(drawing, "target")[0], "x1")[0] == pytest.approx(along(out["target"]), abs=PIXEL)


@pytest.mark.parametrize("class_", ["wide"])
def test_steps_lead_from_the_ideal_to_the_real_rate(result: dict[str, Any], class_: str) -> None:
    """The first bar ends at the ideal, each step hangs where the one before ended, the last bar is real."""
    drawing = drawings(limits_section(Source(result)), class_)[0]
    found = result["waterfall"]
    along = axis(drawing, "x")
    first, last = parts(drawing, "rate first")[0], parts(drawing, "rate")[0]
    for bar, key in ((first, "ideal"), (last, "real")):
        x, width = at(bar, "x", "width")
        assert [x, x + width] == pytest.approx([along(0), along(found[key]["mean"])], abs=PIXEL)
    losses = parts(drawing, "loss")
    assert len(losses) == len(found["steps"])
    before = found["ideal"]["mean"]
    for bar, step in zip(losses, found["steps"], strict=True):
        x, width = at(bar, "x", "width")
        assert x == pytest.approx(along(step["after"]["mean"]), abs=PIXEL)
        assert width == pytest.approx(max(1.0, along(before) - along(step["after"]["mean"])), abs=2 * PIXEL)
        before = step["after"]["mean"]
    assert at(parts(drawing, "paper")[0], "x1")[0] == pytest.approx(
        along(result["paper"]["limit"]["value"]), abs=PIXEL
    )


def test_units_inside_stand_where_the_axis_says(result: dict[str, Any]) -> None:
    """Mean and interval of the work in progress in every hour."""
    drawing = drawings(flow_section(Source(result)), "wide")[0]
    place = axis(drawing, "y")
    rows = result["wip"]["by_hour"]
    bands = parts(drawing, "band")
    assert len(bands) == len(rows)
    for row, band, mean in zip(rows, bands, parts(drawing, "median"), strict=True):
        y, height = at(band, "y", "height")
        low, high = row["interval"]
        assert [y + height, y] == pytest.approx([place(low), place(high)], abs=PIXEL)
        assert at(mean, "y1")[0] == pytest.approx(place(row["mean"]), abs=PIXEL)


def test_columns_of_the_hours(result: dict[str, Any]) -> None:
    """Each heading stands above its own figure."""
    table = read_page(output_section(Source(result))).named("table")[1]
    heads = [cell.text() for cell in table.named("thead")[0].named("th")]
    row = next(tr for tr in table.named("tr") if tr.attributes.get("data-row") == "hour-2")
    keys = [cell.having("data-key")[0].attributes["data-key"].split(".")[3] for cell in row.inside]  # type: ignore[union-attr]
    assert dict(zip(heads, keys, strict=True)) == {
        "Hour": "hour", "Minutes worked": "working_min", "P5": "p05", "Median": "p50", "P95": "p95",
        "Mean": "mean", "95 % interval": "interval", "Target": "target", "Chance": "chance_of_target",
    }  # fmt: skip


def test_columns_of_stops_and_stores(result: dict[str, Any]) -> None:
    """Likewise where it stops and what lies in the stores."""
    page = read_page(flow_section(Source(result)))
    seen = {}
    for table in page.named("table"):
        for tr in table.named("tr"):
            name = tr.attributes.get("data-row", "")
            if name in ("stop-1", "store-1"):
                heads = [cell.text() for cell in table.named("thead")[0].named("th")]
                cells = [cell for cell in tr.inside if isinstance(cell, Element)]
                marks = [cell.having("data-key") for cell in cells]
                keys = [".".join(m[0].attributes["data-key"].split(".")[2:]) if m else "" for m in marks]
                seen[name] = dict(zip(heads, keys, strict=True))
    assert seen["stop-1"] == {
        "Where": "", "Cause": "", "Stops": "stops.mean", "Minutes in repair": "repair_min.mean",
        "Minutes waiting for it": "waiting_min.mean",
    }  # fmt: skip
    assert seen["store-1"] == {
        "Store": "", "Units, mean": "mean", "P95": "p95", "Most": "max", "Places": "capacity",
        "Mean stay": "stay_s.mean",
    }  # fmt: skip
