"""What limits output on the page: from the rate of the work alone to the real one, and the path by cause."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from cellsim.show import can_shorten, number
from cellsim.show.report_numbers import Source
from cellsim.show.svg import (
    LETTER,
    Row,
    Scale,
    chart,
    in_both_widths,
    line,
    rect,
    section,
    shortened,
    table,
    tag,
    text,
    ticks,
)

MOST_CAUSES = 12  # rows of the table of the path
BAR, STEP = 20, 34

MEANING = (
    "How to read it: walking back from the last good unit through what released each start, the critical"
    " path says what the working time went for. The first bar is the rate if only work, loading and unloading"
    " on that path took time. Each bar below it takes off what one more cause costs, the largest first, down"
    " to the rate that the runs make. Without a cause something else may limit at once, so a bar is the most"
    " that could be gained. The units of a bar depend on the order, its seconds do not."
)
NOTE = (
    "What 1 % gives holds for changes so small that events keep their order, and is counted outside breaks"
    " and off hours. cellsim limits measures larger changes."
)


def limits_section(source: Source) -> Markup:
    """What limits output: a waterfall from the rate of the work alone, and the critical path by cause."""
    losses = source.at("losses")
    if not losses["causes"]:
        return section("limits", "What limits output", source.words("limits"))
    parts = []
    if source.answer.get("waterfall"):
        parts.append(tag("h3", "From the work alone to the real rate"))
        parts.append(tag("p", source.words("steps")))
        parts.append(_waterfall(source))
        parts.append(tag("p", MEANING, class_="note"))
    parts.append(_path(source))
    return section("limits", "What limits output", source.words("limits"), *parts)


def _waterfall(source: Source) -> Markup:
    found = source.at("waterfall")
    drawing = in_both_widths(
        lambda width: _draw(source, found, width), "Steps from the rate of the work alone to the real rate"
    )
    rows: list[Row] = [
        (
            "step-ideal",
            (
                "work, loading and unloading alone",
                "",
                source.num("waterfall", "ideal", "mean", digits=1),
                source.num("waterfall", "ideal_s"),
            ),
        ),
    ]
    for k in range(len(found["steps"])):
        path = ("waterfall", "steps", k)
        loss = source.num(*path, "loss", "mean")
        after = source.num(*path, "after", "mean", digits=1)
        cells = (source.words("cause", *path), loss, after, source.num(*path, "time_s"))
        rows.append((f"step-{k}", cells))
    real = (source.num("waterfall", "real", "mean", digits=1), source.num("waterfall", "real_s"))
    rows.append(("step-real", ("as it is", "", *real)))
    heads = ("", "Takes off, per hour", "Leaves, good units per working hour", "Seconds per good unit")
    caption: list[str | Markup] = [
        "Good units per working hour. A bar that hangs: the most that the cell could gain without this cause."
    ]
    limit = source.at("paper", "limit")
    if limit is not None:
        caption += [" Dotted: what the busiest allows on paper, ", source.num("paper", "limit", "value"), "."]
    if source.at("output_per_hour", "target") is not None:
        caption += [" Dashed: the target, ", source.num("output_per_hour", "target"), "."]
    return chart(drawing, tag("span", *caption), table(heads, rows), "the steps, with seconds per good unit")


def _draw(source: Source, found: Any, width: int) -> tuple[float, list[Markup]]:
    wide = width > 500
    words = [source.words("cause", "waterfall", "steps", k) for k in range(len(found["steps"]))]
    names = ["work and loading alone", *(word.striptags() for word in words), "as it is"]
    left = min(300.0, 16 + LETTER * 13 * max(map(len, names))) if wide else 0.0
    step = STEP if wide else STEP + 14
    values = [found["ideal"]["mean"], found["real"]["mean"]]
    values += [v for v in (source.at("output_per_hour", "target"), _limit(source)) if v is not None]
    across = Scale(0, max(values), left, width - 52)
    bottom = len(names) * step + 26
    parts: list[Markup] = []
    for value in ticks(across.low, across.high, 7 if wide else 4):
        parts.append(line(across(value), 20, across(value), bottom - 8, "grid"))
        parts.append(
            text(across(value), bottom + 8, number(value), "tick", "middle" if wide or value else "start")
        )
    for bound, kind in ((_limit(source), "paper"), (source.at("output_per_hour", "target"), "target")):
        if bound is not None:
            parts.append(line(across(bound), 12, across(bound), bottom - 8, kind))
    before = found["ideal"]["mean"]
    for k, name in enumerate(names):
        y = 22 + k * step + (0 if wide else 14)
        place = (left - 12, y + 15, "end") if wide else (0, y - 4, "start")
        room = left - 14 if wide else width - 10
        parts.append(text(place[0], place[1], shortened(name, room, 13), "name", place[2]))
        if k in (0, len(names) - 1):
            key = "ideal" if k == 0 else "real"
            value = found[key]["mean"]
            kind = "rate" if k else "rate first"
            parts.append(rect(left, y, across(value) - left, BAR, kind, data_row=f"step-{key}"))
            parts.append(
                source.label(
                    across(value) + 6,
                    y + 15,
                    "waterfall",
                    key,
                    "mean",
                    class_="value strong",
                    digits=1,
                    anchor="start",
                )
            )
            continue
        after = found["steps"][k - 1]["after"]["mean"]
        start, end = across(after), across(before)
        parts.append(rect(start, y, max(end - start, 1.0), BAR, "loss", data_row=f"step-{k - 1}"))
        parts.append(line(start, y, start, y + step, "step"))
        loss = source.shown("waterfall", "steps", k - 1, "loss", "mean")
        marks = source.marks("waterfall", "steps", k - 1, "loss", "mean")
        shown = Markup("−{}").format(tag("tspan", loss, **marks))
        parts.append(text(end + 6, y + 15, shown, "value", "start"))
        before = after
    return bottom + 16, parts


def _limit(source: Source) -> float | None:
    found = source.at("paper", "limit")
    return None if found is None else float(found["value"])


def _path(source: Source) -> Markup:
    causes = source.at("losses", "causes")
    rows: list[Row] = []
    for k, row in enumerate(causes[:MOST_CAUSES]):
        path = ("losses", "causes", k)
        gain = ""
        if can_shorten(row):
            key = "elasticity_with_stops" if "elasticity_with_stops" in row else "elasticity"
            gain = source.num(*path, key, show="fixed", digits=2) + Markup(" % more")
        share = source.num(*path, "share", show="percent", digits=1)
        ends = source.ends(*path, "interval", show="percent", digits=1)
        rows.append((f"cause-{k}", (source.words("cause", *path), share, ends, gain)))
    heads = ("Cause", "Share of the critical path", "95 % interval", "1 % shorter gives up to")
    rest = " Smaller causes stand in result.json." if len(causes) > MOST_CAUSES else ""
    return tag(
        "details",
        tag("summary", "Table: the critical path by cause"),
        tag("div", table(heads, rows), class_="scroll"),
        tag("p", NOTE + rest, class_="note"),
    )
