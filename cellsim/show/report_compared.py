"""Alternatives on the page: results side by side, proposals, places of stores, and what changes would buy."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from cellsim.show import number
from cellsim.show.compared import NAMES
from cellsim.show.report_numbers import Part, Source
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

STEP = 34
CHANCE = ("output_per_hour", "chance_of_target_in_an_hour")
SHIFT = ("output_per_hour", "per_shift", "chance_of_target")


def alternatives_section(
    sources: Sequence[Source], names: Sequence[str], pairs: Source | None, why: str
) -> Markup:
    """Several results side by side, the first is the base; their differences where runs belong together.

    `pairs` holds the comparison run by run; without it `why` says what stands against one.
    """
    rows: list[Row] = []
    for k, (source, name) in enumerate(zip(sources, names, strict=True)):
        cells: list[str | Markup] = [
            name + (" (base)" if k == 0 else ""),
            source.num("output_per_hour", "mean", digits=1),
            source.ends("output_per_hour", "interval", digits=1),
        ]
        for key in ("p05", "p95"):
            known = source.at("output_per_hour", key) is not None
            cells.append(source.num("output_per_hour", key) if known else "–")
        for path in (CHANCE, SHIFT):
            known = path[-1] in source.at(*path[:-1])
            cells.append(source.num(*path, "mean", show="percent") if known else "–")
        cells.append(source.num("wip", "mean"))
        cells.append(source.num("lead_time", "mean_s", show="duration"))
        rows.append((f"alternative-{k}", cells))
    heads = (
        "",
        "Good units per hour",
        "95 % interval",
        "P5",
        "P95",
        "Hours on target",
        "Shifts on target",
        "Units inside",
        "Lead time",
    )
    shown = tag("div", table(heads, rows), class_="scroll")
    if pairs is None:
        words = f"The difference has no interval: these runs do not belong together, since {why}."
        return section("alternatives", "Alternatives side by side", words, shown)
    return section(
        "alternatives", "Alternatives side by side", pairs.words("together"), shown, *_proposals(pairs)
    )


def comparison_section(source: Source) -> Markup:
    """What `cellsim compare --json` holds: each proposal with its difference and how sure that is."""
    ident = f"comparison-{source.index}"
    lead = Markup("{}: {} good units per working hour. {}").format(
        source.at("base", "name"),
        source.num("base", "figures", source.at("chief"), "mean"),
        source.words("together"),
    )
    return section(ident, "Proposals compared", lead, *_proposals(source))


def _proposals(source: Source) -> list[Markup]:
    """A verdict for each proposal, a drawing of the differences of output, and a table for each figure."""
    chief = source.at("chief")
    paths = [("proposals", k, "differences", chief) for k in range(len(source.at("proposals")))]
    names = [str(row["name"]) for row in source.at("proposals")]
    verdicts = [
        tag("li", tag("b", name), ": ", source.words("verdict", *path), ".")
        for name, path in zip(names, paths, strict=True)
    ]
    ident = f"difference-{source.index}"
    figures = [_figure_table(source, name, title) for name, title in NAMES.items()]
    drawing = _differences(source, names, paths, ident, "Difference of good units per hour from the base")
    shown = chart(
        drawing,
        "Good units per working hour more or fewer than the base, with the interval.",
        _chief_table(source, names, paths, ident),
        "differences of output",
    )
    more = tag("details", tag("summary", "Table: all figures"), *(one for one in figures if one))
    return [tag("ul", *verdicts, class_="verdicts"), shown, more]


def _chief_table(source: Source, names: Sequence[str], paths: Sequence[Sequence[Part]], ident: str) -> Markup:
    rows: list[Row] = [
        (
            f"{ident}-{k}",
            (name, source.num(*path, "mean", show="signed"), source.ends(*path, "interval", show="signed")),
        )
        for k, (name, path) in enumerate(zip(names, paths, strict=True))
    ]
    return table(("", "Good units per hour", "Interval"), rows)


def _figure_table(source: Source, name: str, title: str) -> Markup:
    base = source.at("base", "figures").get(name)
    if base is None:
        return Markup("")
    end = "_s" if base["unit"] == "s" else ""
    rows: list[Row] = [
        (
            "",
            (
                str(source.at("base", "name")),
                source.num("base", "figures", name, "mean", show="size" + end),
                "",
                "",
            ),
        )
    ]
    for k, row in enumerate(source.at("proposals")):
        if name not in row["figures"] or name not in row["differences"]:
            continue
        own = source.num("proposals", k, "figures", name, "mean", show="size" + end)
        path = ("proposals", k, "differences", name)
        more = source.num(*path, "mean", show="difference" + end)
        rows.append(
            ("", (str(row["name"]), own, more, source.ends(*path, "interval", show="difference" + end)))
        )
    return tag("div", table((title, "Mean", "Difference", "Interval"), rows), class_="scroll")


def _differences(
    source: Source, names: Sequence[str], paths: Sequence[Sequence[Part]], ident: str, label: str
) -> Markup:
    """A dot with its interval for each difference, around a line at 0."""
    means = [source.at(*path, "mean") for path in paths]
    intervals = [source.at(*path, "interval") for path in paths]
    reach = [0.0, *means, *(end for ends in intervals for end in ends if end is not None)]

    def draw(width: int) -> tuple[float, list[Markup]]:
        across, places, height, parts = _frame(names, min(reach), max(reach), width)
        parts.append(line(across(0), 4, across(0), height - 24, "axis"))
        for k, (path, mean, ends) in enumerate(zip(paths, means, intervals, strict=True)):
            y = places[k]
            if None not in ends:
                parts.append(
                    rect(across(ends[0]), y - 5, across(ends[1]) - across(ends[0]), 10, "band", rx=2)
                )
            parts.append(tag("circle", cx=across(mean), cy=y, r=4, class_="mean"))
            parts.append(
                rect(across.start, y - STEP / 2, width - across.start, STEP, "hit", data_row=f"{ident}-{k}")
            )
            right = max(mean, *(end for end in (*ends, mean) if end is not None))
            parts.append(
                source.label(
                    across(right) + 8,
                    y + 5,
                    *path,
                    "mean",
                    show="signed",
                    class_="value strong",
                    anchor="start",
                )
            )
        return height, parts

    return in_both_widths(draw, label)


def _frame(
    names: Sequence[str], low: float, high: float, width: int
) -> tuple[Scale, list[float], float, list[Markup]]:
    """Names beside (wide) or above (narrow) and a grid: scale, middle of each row, height, elements."""
    wide = width > 500
    left = min(300.0, 16 + LETTER * 13 * max(map(len, names), default=0)) if wide else 0.0
    step = STEP if wide else STEP + 18
    pad = 0.04 * ((high - low) or 1.0)
    across = Scale(low - pad, high + pad, left, width - 64)
    height = len(names) * step + 32
    parts: list[Markup] = []
    for value in ticks(across.low, across.high, 7 if wide else 4):
        parts.append(line(across(value), 4, across(value), height - 24, "grid"))
        parts.append(text(across(value), height - 8, number(value), "tick", "middle"))
    places = [k * step + STEP / 2 + (2 if wide else 20) for k in range(len(names))]
    for name, y in zip(names, places, strict=True):
        if wide:
            parts.append(text(left - 12, y + 5, shortened(name, left - 14, 13), "name", "end"))
        else:
            parts.append(text(0, y - 14, shortened(name, width - 4, 13), "name"))
    return across, places, height, parts


def changes_section(source: Source) -> Markup:
    """What `cellsim limits --json` holds: what less, or one more, of something buys, measured."""
    rows = source.at("changes")
    names = [str(row["change"]) for row in rows]
    paths = [("changes", k, "difference") for k in range(len(rows))]
    ident = f"change-{source.index}"
    drawing = _differences(source, names, paths, ident, "What each change gives, good units per hour")
    found: list[Row] = []
    for k, (name, path) in enumerate(zip(names, paths, strict=True)):
        said = rows[k]["promised"] is not None
        cells = (
            name,
            source.num(*path, "mean", show="signed"),
            source.ends(*path, "interval", show="signed"),
            source.num("changes", k, "promised", show="signed") if said else "",
        )
        found.append((f"{ident}-{k}", cells))
    heads = ("Change", "Measured, good units per hour", "Interval", "By the path up to")
    shown = chart(
        drawing,
        "Measured with the same luck: good units per hour more or fewer, with the interval.",
        table(heads, found),
        "what each change gives",
    )
    mean = source.num("output_per_hour", "mean", digits=1)
    lead = Markup("As it is the cell makes {} good units per working hour.").format(mean)
    return section(f"changes-{source.index}", "What changes would buy", lead, shown)


def buffers_section(source: Source) -> Markup:
    """What `cellsim buffers --json` holds: output against places, what was found and what one more gives."""
    rows = source.at("curve")
    ident = f"places-{source.index}"
    reach = [end for row in rows for end in (*row["interval"], row["mean"]) if end is not None]
    target = source.at("target")
    reach += [target] if target is not None else []
    totals = [row["total"] for row in rows]

    def draw(width: int) -> tuple[float, list[Markup]]:
        pad = 0.06 * ((max(reach) - min(reach)) or 1.0)
        up = Scale(min(reach) - pad, max(reach) + pad, 260, 14)
        across = Scale(min(totals) - 0.5, max(totals) + 0.5, 48, width - 6)
        parts: list[Markup] = []
        for value in ticks(up.low, up.high, 7):
            parts.append(line(48, up(value), width - 6, up(value), "grid"))
            parts.append(text(40, up(value) + 4, number(value), "tick", "end"))
        for value in ticks(across.low, across.high, 10 if width > 500 else 5):
            if value == int(value):
                parts.append(text(across(value), 280, number(value), "tick", "middle"))
        parts.append(text(width - 6, 298, "places in all", "quiet", "end"))
        if target is not None:
            parts.append(line(48, up(target), width - 6, up(target), "target"))
        slot = max(8.0, across(1) - across(0))
        for k, row in enumerate(rows):
            x = across(row["total"])
            if None not in row["interval"]:
                parts.append(line(x, up(row["interval"][0]), x, up(row["interval"][1]), "interval"))
            kind = "mean found" if row["total"] == source.at("total") else "mean"
            parts.append(
                tag("circle", cx=x, cy=up(row["mean"]), r=6 if "found" in kind else 3.5, class_=kind)
            )
            parts.append(rect(x - slot / 2, 14, slot, 246, "hit", data_row=f"{ident}-{k}"))
        return 304, parts

    found: list[Row] = [
        (
            f"{ident}-{k}",
            (
                source.num("curve", k, "total", show="text"),
                source.words("places", "curve", k, "places"),
                source.num("curve", k, "mean"),
                source.ends("curve", k, "interval"),
                source.num("curve", k, "replications", show="text"),
            ),
        )
        for k in range(len(rows))
    ]
    heads = ("Places", "Where", "Good units per hour", "95 % interval", "Runs")
    caption: list[str | Markup] = [
        "Each dot: the best use of so many places, with its interval; large: what was found. "
    ]
    caption += ["Dashed: the target, ", source.num("target"), "."] if target is not None else []
    shown = chart(
        in_both_widths(draw, "Output against places"),
        tag("span", *caption),
        table(heads, found),
        "output against places",
    )
    lead = Markup("{} places ({}) make {} good units per working hour ({}).").format(
        source.num("total", show="text"),
        source.words("places", "places"),
        source.num("rate", "mean"),
        source.ends("rate", "interval"),
    )
    sure = [tag("p", source.words("sure"))] if target is not None else []
    more = [
        tag(
            "li",
            Markup("One more in {}: {} per hour ({}).").format(
                row["store"],
                source.num("one_more", k, "mean", show="signed"),
                source.ends("one_more", k, "interval", show="signed"),
            ),
        )
        for k, row in enumerate(source.at("one_more"))
    ]
    return section(f"buffers-{source.index}", "How many places", lead, *sure, shown, tag("ul", *more))


def tornado_section(source: Source) -> Markup:
    """What `cellsim sensitivity --json` holds: output with one input alone at either end of its range."""
    found = [k for k, row in enumerate(source.at("inputs")) if row["alone"]]
    found.sort(key=lambda k: -_span(source, k))
    names = [str(source.at("inputs", k, "input")) for k in found]
    ident = f"input-{source.index}"
    reach = [0.0, *(source.at("inputs", k, "alone", end, "mean") for k in found for end in ("low", "high"))]

    def draw(width: int) -> tuple[float, list[Markup]]:
        across, places, height, parts = _frame(names, min(reach), max(reach), width)
        for k, y in zip(found, places, strict=True):
            for end, above in (("low", -9), ("high", 1)):
                x = across(source.at("inputs", k, "alone", end, "mean"))
                left, right = min(x, across(0)), max(x, across(0))
                parts.append(rect(left, y + above, right - left, 8, f"end {end}"))
            parts.append(
                rect(across.start, y - STEP / 2, width - across.start, STEP, "hit", data_row=f"{ident}-{k}")
            )
        parts.append(line(across(0), 4, across(0), height - 24, "axis"))
        return height, parts

    rows: list[Row] = []
    for k in found:
        cells: list[str | Markup] = [str(source.at("inputs", k, "input")), source.words("range", "inputs", k)]
        for end in ("low", "high"):
            path = ("inputs", k, "alone", end)
            cells += [source.num(*path, "mean", show="signed"), source.ends(*path, "interval", show="signed")]
        rows.append((f"{ident}-{k}", cells))
    heads = ("Input", "Range", "At the low end", "Interval", "At the high end", "Interval")
    parts = []
    if rows:
        parts.append(
            chart(
                in_both_widths(draw, "What each input does to output, low end above, high end below"),
                "Good units per hour more or fewer with one input alone at an end of its range; upper "
                "bar: low end, lower bar: high end.",
                table(heads, rows),
                "what each input does",
            )
        )
    lead = tag("span", source.words("measure"), " ", source.words("not known"))
    return section(f"inputs-{source.index}", "Which number to measure better", lead, *parts)


def _span(source: Source, k: int) -> float:
    low, high = (source.at("inputs", k, "alone", end, "mean") for end in ("low", "high"))
    return abs(float(high - low))
