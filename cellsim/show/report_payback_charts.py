"""Drawings of an investment: when the money is back, its flows, what it takes, and what changes it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any

from markupsafe import Markup

from cellsim.show import number
from cellsim.show.paid_back import MOST_ROWS, money, name_of, range_words, shown_needs
from cellsim.show.report_numbers import Part, Source
from cellsim.show.svg import (
    LETTER,
    Row,
    Scale,
    chart,
    in_both_widths,
    line,
    rect,
    shortened,
    svg,
    table,
    tag,
    text,
    ticks,
)

HALF, HIGH = 420, 230  # units of the view box of a drawing beside another one
LEFT, RIGHT, TOP, BOTTOM = 46, 414, 22, 190  # of its axes
PITCH, THICK = 46, 11  # row to row of the tornado, and half a bar
AXIS = {"units_per_hour": "more units per hour", "people": "people freed per shift"}


def _half(parts: Sequence[Markup], label: str) -> Markup:
    return svg(HALF, HIGH, *parts, label=label, class_="half")


def _upward(up: Scale, show: Callable[[float], str], left: float = LEFT) -> list[Markup]:
    """Grid lines and their values on the left."""
    parts = []
    for value in ticks(min(up.low, up.high), max(up.low, up.high), 6):
        parts.append(line(left, up(value), RIGHT, up(value), "grid"))
        parts.append(text(left - 6, up(value) + 4, show(value), "tick", "end"))
    return parts


def _limit(source: Source, across: Scale) -> list[Markup]:
    """The line of the limit with its word."""
    x = across(source.at("payback_limit"))
    late = x > (LEFT + RIGHT) / 2
    words = Markup("limit {}").format(
        tag(
            "tspan",
            source.shown("payback_limit", show="years"),
            **source.marks("payback_limit", show="years"),
        )
    )
    place, anchor = (x - 6, "end") if late else (x + 6, "start")
    return [line(x, TOP - 12, x, BOTTOM, "target"), text(place, TOP - 3, words, "target-word", anchor)]


def histogram_chart(source: Source, ident: str) -> Markup:
    """How many of the draws have the money back in each quarter of a year, or later than the horizon."""
    path = ("drawn", "histogram")
    found, horizon, draws = source.at(*path), source.at("horizon"), source.at("draws")
    counts, never = found["counts"], found["never"]
    across = Scale(0, horizon + (0.9 if never else 0), LEFT, RIGHT)
    up = Scale(0, 100 * max(1, never, *counts) / draws, BOTTOM, TOP)
    parts = _upward(up, number)
    rows: list[Row] = []
    width = found["width"]
    for k, count in enumerate(counts):
        if not count:
            continue
        start, end = k * width, (k + 1) * width
        kind = "bin" if end <= source.at("payback_limit") + 1e-9 else "band"
        high = up(100 * count / draws)
        name = f"{ident}-back-{k}"
        parts.append(
            rect(
                across(start), high, 0.92 * (across(end) - across(start)), BOTTOM - high, kind, data_row=name
            )
        )
        within = tag("span", f"{number(start)} to {number(end)} years", class_="tick")
        rows.append((name, (within, source.num(*path, "counts", k, show="text"))))
    if never:
        high = up(100 * never / draws)
        name = f"{ident}-back-never"
        parts.append(
            rect(across(horizon + 0.25), high, across(0.5) - across(0), BOTTOM - high, "loss", data_row=name)
        )
        parts.append(text(across(horizon + 0.5), BOTTOM + 16, "later", "tick", "middle"))
        rows.append((name, ("later than that", source.num(*path, "never", show="text"))))
    for value in range(horizon + (0 if never else 1)):
        parts.append(text(across(value), BOTTOM + 16, str(value), "tick", "middle"))
    parts += [line(LEFT, BOTTOM, RIGHT, BOTTOM, "axis"), *_limit(source, across)]
    parts.append(text(RIGHT, BOTTOM + 34, "years until the money is back", "quiet", "end"))
    caption = Markup("Per cent of {} draws. Full colour: within the limit.").format(
        source.num("draws", show="text")
    )
    shown = chart(
        _half(parts, "How often the money is back after each time"),
        caption,
        table(("Back after", "Draws"), rows),
        "draws",
    )
    return tag("div", tag("h3", "When the money is back"), shown)


def flows_chart(source: Source, ident: str) -> Markup:
    """The money of each year at the middles as bars, and the sum so far as a line."""
    flows = source.at("point", "flows")
    sums = [sum(flows[: k + 1]) for k in range(len(flows))]
    low, high = min(0.0, *flows, *sums), max(0.0, *flows, *sums)
    pad = 0.1 * ((high - low) or 1.0)
    left = 66
    up = Scale(low - pad, high + pad, BOTTOM, 8)
    across = Scale(-0.5, len(flows) - 0.5, left, RIGHT)
    parts = _upward(up, money, left)
    rows: list[Row] = []
    half = 0.33 * (across(1) - across(0))
    for k, flow in enumerate(flows):
        name = f"{ident}-year-{k}"
        top, bottom = sorted((up(flow), up(0)))
        parts.append(
            rect(across(k) - half, top, 2 * half, bottom - top, "loss" if flow < 0 else "rate", data_row=name)
        )
        label = source.label(
            across(k),
            top - 5 if flow >= 0 else bottom + 13,
            "point",
            "flows",
            k,
            class_="value",
            show="rounded",
        )
        parts.append(label)
        year = tag("span", str(k), class_="tick")
        rows.append((name, (year, source.num("point", "flows", k, show="money"))))
        parts.append(text(across(k), BOTTOM + 16, str(k), "tick", "middle"))
    way = " ".join(f"{'L' if k else 'M'}{across(k):.1f} {up(value):.1f}" for k, value in enumerate(sums))
    parts += [line(left, up(0), RIGHT, up(0), "axis"), tag("path", d=way, class_="so-far")]
    parts.append(text(RIGHT, BOTTOM + 34, "year", "quiet", "end"))
    currency = source.at("currency")
    shown = chart(
        _half(parts, "Money of each year, and the sum so far"),
        f"{currency}, every number at its middle. Bars: the money of the year. Line: the sum so far.",
        table(("Year", f"Flow, {currency}"), rows),
        "money of each year",
    )
    return tag("div", tag("h3", "Money year by year"), shown)


def needed_charts(source: Source, ident: str) -> list[Markup]:
    """For people freed and more units: what is needed to be back after each time, and what there is."""
    return [_needed(source, ident, key) for key in shown_needs(source.answer)]


def _needed(source: Source, ident: str, key: str) -> Markup:
    found = source.at("break_even", key)
    now: tuple[Part, ...] = ("gain", "mean") if key == "units_per_hour" else ("break_even", key, "now")
    ends: tuple[Part, ...] = (
        ("gain", "interval") if key == "units_per_hour" else ("break_even", key, "now_interval")
    )
    mean, (low, high) = max(0.0, source.at(*now)), (max(0.0, end) for end in source.at(*ends))
    reach = 2.0 * max(high, mean, found["now"], found["at_limit"] or 0.0, 1e-9)
    across = Scale(0, source.at("horizon"), LEFT, RIGHT)
    up = Scale(0, reach, BOTTOM, TOP)
    parts = _upward(up, number)
    parts.append(rect(LEFT, up(high), RIGHT - LEFT, up(low) - up(high), "band"))
    parts.append(line(LEFT, up(mean), RIGHT, up(mean), "median"))
    said = "in the case" if key == "people" else "by the runs"
    parts.append(text(RIGHT - 4, up(mean) - 5, said, "value", "end"))
    sold = up(max(0.0, found["now"]))
    if mean - found["now"] > 0.02 * reach:
        parts.append(line(LEFT, sold, RIGHT, sold, "paper"))
        parts.append(text(RIGHT - 4, sold - 5, "of it can be sold", "value", "end"))
    points = [(k, row) for k, row in enumerate(found["curve"]) if row["needed"] is not None]
    rows: list[Row] = []
    slot = across(points[1][1]["years"]) - across(points[0][1]["years"]) if len(points) > 1 else 20.0
    hits = []
    for k, row in points:
        name = f"{ident}-{key}-{k}"
        path = ("break_even", key, "curve", k)
        x = across(row["years"])
        hits.append(rect(x - slot / 2, TOP, slot, BOTTOM - TOP, "hit", data_row=name))
        rows.append((name, (source.num(*path, "years", show="years"), source.num(*path, "needed", digits=2))))
    way = _within([(across(row["years"]), up(row["needed"])) for _, row in points])
    parts.append(tag("path", d=way, class_="curve"))
    for value in range(source.at("horizon") + 1):
        parts.append(text(across(value), BOTTOM + 16, str(value), "tick", "middle"))
    parts += [line(LEFT, BOTTOM, RIGHT, BOTTOM, "axis"), *_limit(source, across), *hits]
    parts.append(text(RIGHT, BOTTOM + 34, "years until the money is back", "quiet", "end"))
    what = AXIS[key]
    return chart(
        _half(parts, f"{what[0].upper()}{what[1:]} needed to have the money back after each time"),
        f"{what[0].upper()}{what[1:]} needed, all else at its middle. Line with band: what there is, with its"
        " range or interval.",
        table(("Back after", f"Needed, {what}"), rows),
        f"{what} needed",
    )


def _within(points: Sequence[tuple[float, float]]) -> str:
    """The way through points, as far as it lies between the top and the bottom of a drawing."""
    steps = []
    for (x1, y1), (x2, y2) in pairwise(points):
        low, high = sorted(((TOP - y1) / (y2 - y1), (BOTTOM - y1) / (y2 - y1))) if y1 != y2 else (0.0, 1.0)
        low, high = max(0.0, low), min(1.0, high)
        if low < high and TOP <= y1 + low * (y2 - y1) <= BOTTOM + 1e-9:
            ends = [(x1 + share * (x2 - x1), y1 + share * (y2 - y1)) for share in (low, high)]
            steps.append("M{:.1f} {:.1f} L{:.1f} {:.1f}".format(*ends[0], *ends[1]))
    return " ".join(steps)


def tornado_chart(source: Source, ident: str) -> Markup:
    """The net present value with one number alone at either end of its range, the largest swing first."""
    found = [k for k, row in enumerate(source.at("tornado")) if row["swing"] > 0][:MOST_ROWS]
    head = tag("h3", "What changes the value, each number alone")
    if not found:
        return tag("div", head, tag("p", "No number of the case is open."))
    drawing = in_both_widths(
        lambda width: _tornado(source, ident, found, width),
        "What each number does to the net present value, low end above, high end below",
    )
    values = [source.at("tornado", k, end, "npv") for k in found for end in ("at_low", "at_high")]
    rows: list[Row] = []
    for k in found:
        path = ("tornado", k)
        cells: list[str | Markup] = [
            source.words("case number", *path, "what"),
            source.words("case range", *path),
            *(source.num(*path, end, "npv", show="rounded") for end in ("at_low", "at_high")),
        ]
        for end in ("at_low", "at_high"):
            known = source.at(*path, end, "payback") is not None
            later = Markup("not in {}").format(source.num("horizon", show="text"))
            cells.append(source.num(*path, end, "payback", show="fixed", digits=2) if known else later)
        rows.append((f"{ident}-number-{k}", cells))
    heads = ("", "Range", "Value at low", "Value at high", "Payback at low", "Payback at high")
    caption = Markup(
        "Net present value, {}, with one number alone at an end of its range; upper bar: low end, lower bar:"
        " high end. Line: every number at its middle, {}.{}"
    ).format(
        source.at("currency"),
        source.num("point", "npv", show="rounded"),
        " Dashed: where it breaks even." if min(values) < 0 < max(values) else "",
    )
    return tag("div", head, chart(drawing, caption, table(heads, rows), "what each number does"))


def _tornado(source: Source, ident: str, found: Sequence[int], width: int) -> tuple[float, list[Markup]]:
    wide = width > 500
    rows: list[Any] = [source.at("tornado", k) for k in found]
    middle = source.at("point", "npv")
    letters = max(max(len(name_of(row["what"])), len(range_words(row))) for row in rows)
    left = min(330.0, 16 + LETTER * 13 * letters) if wide else 0.0
    step = PITCH if wide else PITCH + 22
    reach = [middle, *(row[end]["npv"] for row in rows for end in ("at_low", "at_high"))]
    across = Scale(min(reach), max(reach), left + 62, width - 62)
    height = len(rows) * step + 30
    parts: list[Markup] = []
    for value in ticks(across.low, across.high, 6 if wide else 4):
        parts.append(line(across(value), 4, across(value), height - 24, "grid"))
        parts.append(text(across(value), height - 8, money(value), "tick", "middle"))
    if across.low < 0 < across.high:
        parts.append(line(across(0), 4, across(0), height - 24, "target"))
    for place, (k, row) in enumerate(zip(found, rows, strict=True)):
        y = place * step + (PITCH / 2 if wide else PITCH / 2 + 22)
        room = left - 14 if wide else width - 4
        x, anchor = (left - 12, "end") if wide else (0, "start")
        top = y - 3 if wide else y - 30
        parts.append(_named(source, (x, top, anchor), room, "case number", "name", "tornado", k, "what"))
        parts.append(_named(source, (x, top + 14, anchor), room, "case range", "quiet", "tornado", k))
        for end, above in (("low", y - THICK), ("high", y)):
            value = across(row[f"at_{end}"]["npv"])
            start, stop = sorted((value, across(middle)))
            parts.append(rect(start, above, stop - start, THICK, f"end {end}"))
            side = (value - 5, "end") if value < across(middle) else (value + 5, "start")
            shown = source.label(
                side[0],
                above + 10,
                "tornado",
                k,
                f"at_{end}",
                "npv",
                class_="value",
                show="rounded",
                anchor=side[1],
            )
            parts.append(shown)
        parts.append(rect(0, y - step / 2, width, step, "hit", data_row=f"{ident}-number-{k}"))
    parts.append(line(across(middle), 4, across(middle), height - 24, "axis"))
    return height, parts


def _named(
    source: Source, place: tuple[float, float, str], room: float, words: str, class_: str, *path: Part
) -> Markup:
    """Words of the answer at a place; cut, and then unmarked, where there is not room enough."""
    said = source.words(words, *path, of="tspan")
    plain = said.striptags()
    short = shortened(plain, room, 13)
    return text(place[0], place[1], said if short == plain else short, class_, place[2])
