"""The output of a cell on the page: how often which rate occurs, and hour by hour over the shift."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from markupsafe import Markup

from cellsim.show import has_shifts, number
from cellsim.show.report_numbers import Source
from cellsim.show.supply import plan_columns
from cellsim.show.svg import (
    Row,
    Scale,
    chart,
    in_both_widths,
    joined,
    line,
    rect,
    section,
    table,
    tag,
    text,
    ticks,
)

MANY_HOURS = 14  # beyond so many hours a drawing carries no numbers and fewer labels


def output_section(source: Source) -> Markup:
    """How often the cell makes how many units in an hour, and hour by hour."""
    parts = [_sub("How often which rate occurs", _distribution(source))]
    if source.at("output_per_hour", "by_clock_hour"):
        parts.append(_sub("Hour by hour", _hours(source)))
    return section("output", "Output per hour", source.words("answer"), *parts)


def _sub(title: str, *content: Markup) -> Markup:
    return tag("div", tag("h3", title), *content, class_="part")


# ---- the distribution ----


def _distribution(source: Source) -> Markup:
    """Bars: how many of the counted hours lie in each interval of the rate."""
    found = source.at("output_per_hour").get("distribution")
    if found is None:
        return tag(
            "p",
            "These figures do not hold how often each rate occurs: no hour was counted, or an earlier "
            "version wrote them.",
        )
    out = source.at("output_per_hour")
    path = ("output_per_hour", "distribution")
    drawing = in_both_widths(
        lambda width: _draw_distribution(source, found, width),
        "Bars: number of hours by good units per working hour",
    )
    caption = [
        tag(
            "span",
            source.num("output_per_hour", "hours_counted", show="text"),
            " hours; bars of ",
            source.num(*path, "width", show="text"),
            " good units per working hour each. ",
        ),
        tag(
            "span",
            "P5 ",
            source.num("output_per_hour", "p05"),
            ", median ",
            source.num("output_per_hour", "p50"),
            ", P95 ",
            source.num("output_per_hour", "p95"),
            ". ",
        ),
    ]
    if out["target"] is not None:
        caption.append(tag("span", "Dashed: the target of ", source.num("output_per_hour", "target"), "."))
    rows: list[Row] = [
        (f"rate-{k}", (_from_to(found, k), source.num(*path, "counts", k, show="text")))
        for k in range(len(found["counts"]))
    ]
    heads = ("Good units per working hour", "Hours")
    return chart(drawing, joined(caption), table(heads, rows), "how many hours in each interval")


def _from_to(found: Any, k: int) -> Markup:
    """An interval of the rate, its ends on the grid of the bars."""
    low = found["from"] + k * found["width"]
    return tag("span", f"{low} to below {low + found['width']}", class_="tick")


def _draw_distribution(source: Source, found: Any, width: int) -> tuple[float, list[Markup]]:
    out = source.at("output_per_hour")
    wide = width > 500
    counts, step = found["counts"], found["width"]
    low, high = found["from"], found["from"] + step * len(counts)
    target = out["target"]
    least, most = (min(low, target), max(high, target)) if target is not None else (low, high)
    pad = 0.03 * (most - least)
    across = Scale(least - pad, most + pad, 38, width - 10)
    top, bottom = 64.0, 250.0
    up = Scale(0, max(counts), bottom, top)
    parts = []
    if target is not None:
        x = across(target)
        parts.append(rect(across.start, top - 8, x - across.start, bottom - top + 8, "below"))
    for value in ticks(0, max(counts), 4):
        parts.append(line(across.start, up(value), across.end, up(value), "axis" if value == 0 else "grid"))
        parts.append(text(across.start - 8, up(value) + 4, number(value), "tick", "end"))
    parts.append(text(0, top - 14, "hours", "quiet"))
    for k, count in enumerate(counts):
        x1, x2 = across(low + k * step), across(low + (k + 1) * step)
        parts.append(
            rect(x1 + 0.75, up(count), x2 - x1 - 1.5, bottom - up(count), "bin", data_row=f"rate-{k}")
        )
    for value in ticks(across.low, across.high, 10 if wide else 5):
        parts.append(text(across(value), bottom + 18, number(value), "tick", "middle"))
    parts.append(text(width - 10, bottom + 36, "good units per working hour", "quiet", "end"))
    if out["p05"] is not None:
        parts += _marks_above(source, across, 26.0)
    if target is not None:
        x = across(target)
        parts.append(line(x, 44, x, bottom, "target"))
        parts.append(_flag(source, x, 42, width))
    return bottom + 44, parts


def _marks_above(source: Source, across: Scale, y: float) -> list[Markup]:
    """P5 to P95 as a band with the median, above the bars."""
    low, middle, high = (source.at("output_per_hour", key) for key in ("p05", "p50", "p95"))
    parts = [rect(across(low), y - 6, across(high) - across(low), 12, "band", rx=2)]
    parts.append(line(across(middle), y - 8, across(middle), y + 8, "median"))
    names = {"p05": "P5 ", "p50": "median ", "p95": "P95 "}
    places = {"p05": across(low), "p50": across(middle), "p95": across(high)}
    if min(places["p50"] - places["p05"], places["p95"] - places["p50"]) < 90:
        del places["p50"]
    if places["p95"] - places["p05"] < 60:  # side by side, and inside the drawing
        centre = min(max((places["p05"] + places["p95"]) / 2, across.start + 60), across.end - 60)
        places = {"p05": centre - 30, "p95": centre + 30}
    for key, x in places.items():
        marks = source.marks("output_per_hour", key)
        value = tag("tspan", source.shown("output_per_hour", key), **marks)
        parts.append(text(x, y - 12, Markup("{}{}").format(names[key], value), "value", "middle"))
    return parts


def _flag(source: Source, x: float, y: float, width: float) -> Markup:
    """The word target beside its line, on the side where there is room."""
    right = x > 0.75 * width
    value = tag(
        "tspan", source.shown("output_per_hour", "target"), **source.marks("output_per_hour", "target")
    )
    words = Markup("target {}").format(value)
    return text(x - 6 if right else x + 6, y + 14, words, "target-word", "end" if right else "start")


# ---- hour by hour ----


def _hours(source: Source) -> Markup:
    rows = source.at("output_per_hour", "by_clock_hour")
    drawing = in_both_widths(
        lambda width: _draw_hours(source, rows, width),
        "Good units in each hour: band from P5 to P95, median, mean and target",
    )
    words = ["Band: P5 to P95 (9 of 10 hours). Thick line: median. Dot: mean with its 95 % interval."]
    if rows[0].get("target") is not None:
        words.append("Dashed: target, less where less than 60 min are worked.")
    if any(row["working_min"] < 60 for row in rows):
        words.append("Shaded: less than 60 min worked.")
    return chart(drawing, " ".join(words), _hour_table(source, rows), "good units hour by hour")


def _hour_table(source: Source, rows: Sequence[Any]) -> Markup:
    path = ("output_per_hour", "by_clock_hour")
    target, planned = rows[0].get("target") is not None, plan_columns(source.answer)
    heads = ["Hour", "Minutes worked", "P5", "Median", "P95", "Mean", "95 % interval"]
    heads += ["Target", "Chance"] if target else []
    found: list[Row] = []
    for k, _ in enumerate(rows):
        cells = [source.num(*path, k, "hour", show="text"), source.num(*path, k, "working_min")]
        cells += [source.num(*path, k, key) for key in ("p05", "p50", "p95")]
        cells += [source.num(*path, k, "mean", show="fixed", digits=1)]
        cells += [source.ends(*path, k, "interval", digits=1)]
        if target:
            cells += [source.num(*path, k, "target")]
            cells += [source.num(*path, k, "chance_of_target", show="percent")]
        found.append((f"hour-{k}", cells))
    shown = table(heads, found)
    if planned:
        shown += _plan_table(source)
    return shown


def _plan_table(source: Source) -> Markup:
    """What each hour of the hourly plan asks and how much of it is made."""
    path = ("attainment", "by_clock_hour")
    rows: list[Row] = [
        (
            f"plan-{k}",
            [
                source.num(*path, k, "hour", show="text"),
                source.num(*path, k, "planned", show="fixed", digits=0),
                source.num(*path, k, "mean", show="percent") if "mean" in row else "",
            ],
        )
        for k, row in enumerate(source.at(*path))
    ]
    return table(("Hour", "Planned", "Made of it"), rows)


def _draw_hours(source: Source, rows: Sequence[Any], width: int) -> tuple[float, list[Markup]]:
    wide = width > 500
    count = len(rows)
    highest = max(_highest(row) for row in rows) or 1.0
    left, right, top, bottom = 38.0, width - 4.0, 18.0, 270.0
    up = Scale(0, 1.08 * highest, bottom, top)
    slot = (right - left) / count
    parts = []
    for k, row in enumerate(rows):
        if row["working_min"] < 60:
            parts.append(rect(left + k * slot, top, slot, bottom - top, "short"))
    for value in ticks(0, up.high, 7):
        parts.append(line(left, up(value), right, up(value), "axis" if value == 0 else "grid"))
        parts.append(text(left - 8, up(value) + 4, number(value), "tick", "end"))
    numbers = count <= (MANY_HOURS if wide else 8)
    for k, row in enumerate(rows):
        parts += _draw_hour(source, k, row, (left + k * slot, slot), up, numbers)
    if None not in [row.get("target") for row in rows]:
        steps = []
        for k, row in enumerate(rows):
            start, end, y = left + k * slot, left + (k + 1) * slot, up(row["target"])
            steps.append(f"{'L' if k else 'M'}{start:.1f} {y:.1f} H{end:.1f}")
        parts.append(tag("path", d=" ".join(steps), class_="target"))
    parts += _hour_labels(source, rows, left, slot, bottom)
    return bottom + 42, parts


def _highest(row: Any) -> float:
    return float(
        max(v for v in (row["p95"], row["mean"], row["interval"][1], row.get("target")) if v is not None)
    )


def _draw_hour(
    source: Source, k: int, row: Any, place: tuple[float, float], up: Scale, numbers: bool
) -> list[Markup]:
    left, slot = place
    middle, half = left + slot / 2, slot * (0.32 if numbers else 0.4)
    name = f"hour-{k}"
    low, high = up(row["p05"]), up(row["p95"])
    parts = [rect(middle - half, high, 2 * half, low - high, "band", rx=2)]
    parts.append(line(middle - half, up(row["p50"]), middle + half, up(row["p50"]), "median"))
    x = middle - half / 2 if numbers else middle
    ends = row["interval"]
    if None not in ends:
        parts.append(line(x, up(ends[0]), x, up(ends[1]), "interval"))
    parts.append(tag("circle", cx=x, cy=up(row["mean"]), r=3.5 if numbers else 2.2, class_="mean"))
    parts.append(rect(left, up(up.high), slot, up(0) - up(up.high), "hit", data_row=name))
    if numbers and row["working_min"] > 0:
        path = ("output_per_hour", "by_clock_hour", k)
        target = None if row.get("target") is None else up(row["target"])
        above = target if target is not None and high - 18 < target <= high else high
        parts.append(source.label(middle, above - 6, *path, "p95", class_="value quiet"))
        below = target if target is not None and low <= target < low + 18 else low
        if up(0) - below > 18:
            parts.append(source.label(middle, below + 15, *path, "p05", class_="value quiet"))
        if up(row["p50"]) - high > 17:
            parts.append(
                source.label(middle + half / 2, up(row["p50"]) - 5, *path, "p50", class_="value strong")
            )
    return parts


def _hour_labels(
    source: Source, rows: Sequence[Any], left: float, slot: float, bottom: float
) -> list[Markup]:
    """The hour below each column, as many as there is room for; under short hours the minutes worked."""
    step = max(1, -(-44 // int(max(slot, 1))))
    parts = []
    for k in range(0, len(rows), step):
        label = rows[k]["hour"].split("-")[0].removeprefix("hour ")
        x = left + (k + 0.5) * slot
        parts.append(text(x, bottom + 18, label, "tick", "middle"))
        if step == 1 and rows[k]["working_min"] < 60:
            marks = source.marks("output_per_hour", "by_clock_hour", k, "working_min")
            shown = source.shown("output_per_hour", "by_clock_hour", k, "working_min")
            words = Markup("{} min").format(tag("tspan", shown, **marks))
            parts.append(text(x, bottom + 34, words, "tick", "middle"))
    if not has_shifts(source.answer):
        parts.append(text(left, bottom + 34, "hour of the run", "tick"))
    return parts
