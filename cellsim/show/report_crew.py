"""The search for people, robots and places on the page: the front as a picture, and who is in each row."""

from __future__ import annotations

from markupsafe import Markup

from cellsim.show import number
from cellsim.show.report_numbers import Source
from cellsim.show.svg import Row, Scale, in_both_widths, line, rect, section, table, tag, text, ticks

HIGH = 250  # units from the top of the picture to its axis


def crew_section(source: Source) -> Markup:
    """What `cellsim crew --json` holds: by rising cost what makes more, and the cheapest for the target."""
    ident = f"crew-{source.index}"
    target, rows = source.at("target"), source.at("rows")
    chosen = [source.words("crew choice", "rows", k, "chosen", of="li") for k in range(len(rows))]
    caption: list[str | Markup] = [
        "Each dot: a row of the table with its interval; large: the cheapest for the target."
    ]
    caption += [" Dashed: the target, ", source.num("target"), "."] if target is not None else []
    drawing = in_both_widths(lambda width: _front(source, ident, width), "Output against cost of each row")
    parts = [
        source.words("crew", of="p", class_="verdict"),
        tag(
            "figure",
            tag("div", drawing, class_="drawing", tabindex="0"),
            tag("figcaption", *caption),
            tag("div", _table(source, ident), class_="scroll"),
            class_="chart",
        ),
        tag("h3", "What is in each row"),
        tag("ol", *chosen),
        *(source.words("crew open", "open", k, of="p") for k in range(len(source.at("open")))),
        tag("p", source.words("crew left out"), class_="note"),
    ]
    return section(ident, "Who and what is worth its money", "", *parts)


def _table(source: Source, ident: str) -> Markup:
    found: list[Row] = []
    for k, row in enumerate(source.at("rows")):
        path = ("rows", k)
        more = source.num(*path, "more", "mean", show="signed") if row["more"] is not None else ""
        known = row["cost_per_unit"] is not None
        cells = (
            tag("span", str(k + 1), class_="tick"),
            source.num(*path, "cost_per_hour"),
            source.num(*path, "output_per_hour", "mean", digits=1),
            source.ends(*path, "output_per_hour", "interval", digits=1),
            more,
            source.num(*path, "wip", "mean", digits=1),
            source.num(*path, "cost_per_unit") if known else "–",
        )
        found.append((f"{ident}-{k}", cells))
    heads = ("Row", "Cost per hour", "Good units per hour", "95 % interval", "More than above")
    return table((*heads, "Units inside", "Cost of a unit"), found)


def _front(source: Source, ident: str, width: int) -> tuple[float, list[Markup]]:
    """A dot for each row: cost across, output upward with its interval."""
    rows, target = source.at("rows"), source.at("target")
    best = source.at("cheapest_for_target")
    costs = [row["cost_per_hour"] for row in rows]
    reach = [row["output_per_hour"]["mean"] for row in rows]
    reach += [end for row in rows for end in row["output_per_hour"]["interval"] if end is not None]
    reach += [target] if target is not None else []
    pad, beside = (0.1 * ((max(part) - min(part)) or 1.0) for part in (reach, costs))
    up = Scale(min(reach) - pad, max(reach) + pad, HIGH, 24)
    across = Scale(min(costs) - beside, max(costs) + beside, 48, width - 8)
    parts: list[Markup] = [text(0, 12, "good units per hour", "quiet")]
    for value in ticks(up.low, up.high, 7):
        parts.append(line(48, up(value), width - 8, up(value), "grid"))
        parts.append(text(42, up(value) + 4, number(value), "tick", "end"))
    for value in ticks(across.low, across.high, 8 if width > 500 else 4):
        parts.append(text(across(value), HIGH + 18, number(value), "tick", "middle"))
    parts.append(line(48, HIGH, width - 8, HIGH, "axis"))
    parts.append(text(width - 8, HIGH + 38, "cost per working hour", "quiet", "end"))
    if target is not None:
        parts.append(line(48, up(target), width - 8, up(target), "target"))
    for k, row in enumerate(rows):
        x, out = across(row["cost_per_hour"]), row["output_per_hour"]
        if None not in out["interval"]:
            parts.append(line(x, up(out["interval"][0]), x, up(out["interval"][1]), "interval"))
        found = best is not None and best["row"] == k
        kind = "mean found" if found else "mean"
        parts.append(tag("circle", cx=x, cy=up(out["mean"]), r=7 if found else 4.5, class_=kind))
        parts.append(text(x + 11, up(out["mean"]) + 4, str(k + 1), "tick row-number"))
        parts.append(rect(x - 14, up(out["mean"]) - 14, 36, 28, "hit", data_row=f"{ident}-{k}"))
    return HIGH + 46, parts
