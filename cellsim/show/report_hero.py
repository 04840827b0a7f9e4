"""The first screen of the page: the output with its band, and the chances to reach the target."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from cellsim.show.report_numbers import Part, Source
from cellsim.show.report_words import shift_name
from cellsim.show.svg import Scale, line, rect, svg, tag

WIDTH, HEIGHT = 300, 34
PLACES = 20  # of the strip of a chance


def cards(source: Source) -> Markup:
    """A card for the output and one for each chance that the figures hold."""
    found = [_output(source)]
    out = source.at("output_per_hour")
    hourly, shift = out.get("chance_of_target_in_an_hour"), out["per_shift"].get("chance_of_target")
    if hourly and hourly["mean"] is not None:
        target = source.num("output_per_hour", "target")
        found.append(_chance(source, ("output_per_hour", "chance_of_target_in_an_hour"), "hours", target))
    if shift and shift["mean"] is not None:
        target = source.num("output_per_hour", "per_shift", "target")
        path = ("output_per_hour", "per_shift", "chance_of_target")
        found.append(_chance(source, path, f"{shift_name(source.answer)}s", target))
    return tag("div", *found, class_="cards")


def _output(source: Source) -> Markup:
    path = ("output_per_hour",)
    parts = [
        tag("p", source.num(*path, "mean", digits=1), class_="big"),
        tag("p", "good units per working hour", class_="unit"),
    ]
    if source.at(*path, "p05") is not None:
        parts.append(_ruler(source))
        band = Markup("In 9 of 10 hours {} to {}.")
        parts.append(
            tag("p", band.format(source.num(*path, "p05"), source.num(*path, "p95")), class_="small")
        )
    ends = source.ends(*path, "interval", digits=1)
    words = Markup("95 % interval: {}.").format(ends) if ends else "One run: the mean has no interval."
    return tag("div", *parts, tag("p", words, class_="small"), class_="card")


def _ruler(source: Source) -> Markup:
    """P5 to P95 as a band with median and target on a line."""
    out = source.at("output_per_hour")
    values = [out["p05"], out["p95"], out["mean"], *([out["target"]] if out["target"] is not None else [])]
    low, high = min(values), max(values)
    pad = 0.08 * ((high - low) or 1.0)
    across = Scale(low - pad, high + pad, 0, WIDTH)
    middle = HEIGHT / 2
    parts = [line(0, middle, WIDTH, middle, "axis")]
    parts.append(
        rect(across(out["p05"]), middle - 8, across(out["p95"]) - across(out["p05"]), 16, "band", rx=2)
    )
    parts.append(line(across(out["p50"]), middle - 8, across(out["p50"]), middle + 8, "median"))
    parts.append(tag("circle", cx=across(out["mean"]), cy=middle, r=4, class_="mean"))
    label = "Band from P5 to P95 with median and mean"
    if out["target"] is not None:
        parts.append(line(across(out["target"]), 0, across(out["target"]), HEIGHT, "target"))
        label += ", dashed: the target"
    return svg(WIDTH, HEIGHT, *parts, label=label, class_="ruler")


def _chance(source: Source, path: tuple[Part, ...], of: str, target: Markup) -> Markup:
    """A chance in large figures with a strip of 20 places, as many filled as the share says."""
    ends = source.ends(*path, "interval", show="percent")
    known = Markup("95 % interval: {}.").format(ends) if ends else "One run: no interval."
    return tag(
        "div",
        tag("p", source.num(*path, "mean", show="percent"), class_="big"),
        tag("p", Markup("of the {} reach {}").format(of, target), class_="unit"),
        strip(source.at(*path, "mean"), source.at(*path, "interval")),
        tag("p", known, class_="small"),
        class_="card",
    )


def strip(share: float, ends: Sequence[float | None]) -> Markup:
    """A strip of 20 places, as many filled as the share says, with its interval as a line below."""
    gap, size = 3.0, (WIDTH + 3.0) / PLACES - 3.0
    parts = []
    for k in range(PLACES):
        x = k * (size + gap)
        parts.append(rect(x, 6, size, 16, "place", rx=2))
        filled = min(1.0, max(0.0, share * PLACES - k))
        if filled > 0:
            parts.append(rect(x, 6, size * filled, 16, "place filled", rx=2))
    low, high = ends
    if low is not None and high is not None:
        across = Scale(0, 1, 0, WIDTH)
        parts.append(line(across(max(0.0, low)), 29, across(min(1.0, high)), 29, "interval"))
    return svg(
        WIDTH, HEIGHT, *parts, label="A strip of 20 places, filled as far as the chance", class_="ruler"
    )
