"""What is inside the cell, on the page: units and stores over the day, lead time, quality, stops."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from markupsafe import Markup

from cellsim.show import counted_words, has_shifts, number
from cellsim.show.report_numbers import Part, Source
from cellsim.show.supply import goods_words
from cellsim.show.svg import (
    Row,
    Scale,
    chart,
    in_both_widths,
    line,
    rect,
    section,
    svg,
    table,
    tag,
    text,
    ticks,
)

MOST_CURVES = 8  # stores with a curve of their own; the fullest ones
CURVE = 62  # height of the curve of a store


def flow_section(source: Source) -> Markup:
    """Work in progress and stores over the day, how long units stay, quality and stops."""
    parts = [_facts(source)]
    if source.at("wip").get("by_hour"):
        parts += [tag("h3", "Units inside, by the hour"), _wip(source)]
    if source.at("stores"):
        parts += [tag("h3", "Stores"), _stores(source)]
    if source.at("stops"):
        parts += [tag("h3", "Stops"), _stops(source)]
    return section("inside", "Inside the cell", _lead(source), *parts)


def _lead(source: Source) -> Markup:
    mean, most = source.num("wip", "mean"), source.num("wip", "max", show="text")
    words = Markup("On average {} units are inside, at most {}.").format(mean, most)
    if source.at("lead_time", "mean_s") is None:
        return words
    middle = source.num("lead_time", "p50_s", show="duration")
    return words + Markup(" Half of the units are through in {}.").format(middle)


def _facts(source: Source) -> Markup:
    """Lead time, yield and scrap as a list of terms."""
    rows: list[tuple[str | Markup, Markup]] = []
    if source.at("lead_time", "mean_s") is not None:
        mean, p95 = (source.num("lead_time", key, show="duration") for key in ("mean_s", "p95_s"))
        rows.append(("Lead time", Markup("mean {}, 95 % of the units within {}").format(mean, p95)))
    inside = source.num("wip", "inside_at_end", "mean")
    ends = source.ends("wip", "interval")
    words = Markup("mean {}").format(source.num("wip", "mean"))
    words += Markup(" (95 % interval {})").format(ends) if ends else Markup("")
    rows.append(("Units inside", words + Markup(", at the end {}").format(inside)))
    quality = source.at("quality")
    for name, row in quality["first_pass_yield"].items():
        if row["mean"] is not None:
            path = ("quality", "first_pass_yield", name)
            said = source.num(*path, "mean", show="percent", digits=1)
            ends = source.ends(*path, "interval", show="percent", digits=1)
            said += Markup(" ({})").format(ends) if ends else Markup("")
            rows.append((Markup("Good at the first test, {}").format(name), said))
    scrapped = source.num("quality", "scrapped", "mean")
    words = Markup("{} units {}").format(scrapped, counted_words(source.answer))
    if quality["good_share"]["mean"] is not None:
        share = source.num("quality", "good_share", "mean", show="percent", digits=1)
        words += Markup("; good {} of what left").format(share)
    rows.append(("Scrapped", words))
    labour = source.answer.get("units_per_labour_hour")
    if labour and labour["mean"]:
        words = Markup("{} good units").format(source.num("units_per_labour_hour", "mean"))
        ends = source.ends("units_per_labour_hour", "interval")
        rows.append(("Per paid labour hour", words + (Markup(" ({})").format(ends) if ends else Markup(""))))
    if source.answer.get("energy"):
        words = Markup("{} kWh in the counted time").format(source.num("energy", "kwh", "mean", digits=1))
        rows.append(("Energy", words))
    if goods_words(source.answer):
        rows.append(("Finished goods", source.words("goods")))
    pairs = [tag("div", tag("dt", term), tag("dd", words)) for term, words in rows]
    return tag("dl", *pairs, class_="facts")


def _wip(source: Source) -> Markup:
    drawing = in_both_widths(
        lambda width: _curve(source, ("wip",), width, 150.0, "wip", None),
        "Mean number of units inside in each hour",
    )
    return chart(
        drawing,
        "Mean over the runs in each hour; the band is its 95 % interval.",
        _by_hour_table(source, ("wip",), "wip"),
        "units inside by the hour",
    )


def _by_hour_table(source: Source, path: Sequence[Part], name: str) -> Markup:
    rows: list[Row] = []
    for k in range(len(source.at(*path, "by_hour"))):
        at = (*path, "by_hour", k)
        cells = (
            source.num(*at, "hour", show="text"),
            source.num(*at, "mean", show="fixed", digits=2),
            source.ends(*at, "interval", show="fixed", digits=2),
        )
        rows.append((f"{name}-{k}", cells))
    return table(("Hour", "Units, mean", "95 % interval"), rows)


def _curve(
    source: Source, path: Sequence[Part], width: int, height: float, name: str, places: float | None
) -> tuple[float, list[Markup]]:
    """A level by the hour as steps with its interval, and a line where the places end."""
    hours = source.at(*path, "by_hour")
    tops = [row["interval"][1] if row["interval"][1] is not None else row["mean"] for row in hours]
    highest = max([*tops, *([places] if places is not None else [])]) or 1.0
    left, right, top, bottom = 38.0, width - 4.0, 10.0, height
    up, slot = Scale(0, 1.08 * highest, bottom, top), (right - left) / len(hours)
    parts: list[Markup] = []
    for value in ticks(0, up.high, 5 if height > 100 else 3):
        parts.append(line(left, up(value), right, up(value), "axis" if value == 0 else "grid"))
        parts.append(text(left - 8, up(value) + 4, number(value), "tick", "end"))
    if places is not None:
        parts.append(line(left, up(places), right, up(places), "places"))
    for k, row in enumerate(hours):
        low, high = row["interval"]
        x = left + k * slot
        if low is not None and high is not None:
            parts.append(rect(x, up(high), slot, up(low) - up(high), "band"))
        parts.append(line(x, up(row["mean"]), x + slot, up(row["mean"]), "median"))
        parts.append(rect(x, top, slot, bottom - top, "hit", data_row=f"{name}-{k}"))
    if height > 100:
        step = max(1, -(-44 // int(max(slot, 1))))
        for k in range(0, len(hours), step):
            label = hours[k]["hour"].split("-")[0].removeprefix("hour ")
            parts.append(text(left + (k + 0.5) * slot, bottom + 18, label, "tick", "middle"))
        bottom += 16
    return bottom + 8, parts


def _stores(source: Source) -> Markup:
    """A table of all stores, and the course of the fullest ones over the day."""
    stores = source.at("stores")
    rows: list[Row] = []
    for k, (name, row) in enumerate(stores.items()):
        path = ("stores", name)
        free = row["capacity"] is None
        cells = (
            name,
            source.num(*path, "mean", show="fixed", digits=2),
            "–" if row["p95"] is None else source.num(*path, "p95", show="text"),
            source.num(*path, "max", show="text"),
            "unlimited" if free else source.num(*path, "capacity", show="text"),
            source.num(*path, "stay_s", "mean", show="duration"),
        )
        rows.append((f"store-{k}", cells))
    heads = ("Store", "Units, mean", "P95", "Most", "Places", "Mean stay")
    full = tag("div", table(heads, rows), class_="scroll")
    known = [name for name, row in stores.items() if row.get("by_hour") and row["capacity"] != 0]
    fullest = sorted(known, key=lambda name: -_fullness(stores[name]))[:MOST_CURVES]
    shown = [name for name in known if name in fullest]
    if not shown:
        return full
    curves = [_store_curve(source, name, list(stores).index(name)) for name in shown]
    title = "Stores over the day" if len(shown) == len(known) else "The fullest stores over the day"
    return full + tag("h4", title) + tag("div", *curves, class_="multiples")


def _fullness(row: Any) -> float:
    """Mean level as a share of the places, or of the highest level where places are unlimited."""
    room = row["capacity"] or row["max"]
    return float(row["mean"] / room) if room else 0.0


def _store_curve(source: Source, name: str, k: int) -> Markup:
    path = ("stores", name)
    places = source.at(*path, "capacity")
    height, parts = _curve(source, path, 300, CURVE, f"store-{k}-hour", places)
    drawing = svg(300, height, *parts, label=f"Mean number of units in {name} in each hour", class_="small")
    words = Markup("{}: ").format(name)
    end = (
        Markup("no limit")
        if places is None
        else Markup("{} places").format(source.num(*path, "capacity", show="text"))
    )
    return chart(drawing, words + end, _by_hour_table(source, path, f"store-{k}-hour"), "units by the hour")


def _stops(source: Source) -> Markup:
    stops = source.at("stops")
    order = sorted(
        range(len(stops)), key=lambda k: -stops[k]["repair_min"]["mean"] - stops[k]["waiting_min"]["mean"]
    )
    rows: list[Row] = []
    for k in order:
        cause = stops[k]["cause"] + (" (planned)" if stops[k]["planned"] else "")
        found = [
            source.num("stops", k, key, "mean", show="fixed", digits=1)
            for key in ("stops", "repair_min", "waiting_min")
        ]
        rows.append((f"stop-{k}", (stops[k]["who"], cause, *found)))
    heads = ("Where", "Cause", "Stops", "Minutes in repair", "Minutes waiting for it")
    words = "Means per run."
    if has_shifts(source.answer):
        words = Markup("Means per run; a run counts {}.").format(source.words("shifts"))
    runs = tag("p", words, class_="note")
    return tag("div", table(heads, rows), class_="scroll") + runs
