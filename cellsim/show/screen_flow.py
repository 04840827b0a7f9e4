"""Stores, parts, units and hours of a study, as text of the terminal."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from cellsim.show import (
    Result,
    between,
    count_of,
    counted_words,
    duration,
    number,
    percent,
    plain,
    share_between,
)
from cellsim.show.screen_page import Page, fixed
from cellsim.show.supply import PART_HEADS, goods_words, part_rows, plan_columns

HOURS = 26  # the most hours shown


def print_stores(page: Page, result: Result) -> None:
    """How full the stores are and how long units stay."""
    if not result["stores"]:
        return
    page.head("Stores, units inside")
    rows = []
    for name, row in result["stores"].items():
        places, p95 = row["capacity"], row["p95"]
        remark = ""
        if places == 0:
            remark = "direct hand-over"
        elif places is not None and p95 is not None and p95 >= places:
            remark = "often full" if p95 == places else "often nearly full"
            p95 = places
        rows.append(
            (
                plain(name),
                f"{row['mean']:.2f}",
                "-" if p95 is None else str(p95),
                str(row["max"]),
                "unlimited" if places is None else str(places),
                duration(row["stay_s"]["mean"]),
                remark,
            )
        )
    page.table(("Store", "mean", "P95", "most", "places", "mean stay", ""), rows, texts=(0, 6))
    if any(row[-1].startswith("often") for row in rows):
        page.line("Often full: more than 5 % of the counted time.")


def print_parts(page: Page, result: Result) -> None:
    """Purchased parts that ran short, and finished goods that waited."""
    if rows := part_rows(result):
        page.head("Purchased parts, per run")
        page.table(PART_HEADS, rows)
        page.line("Short: a station has its units but waits for this part.")
    if words := goods_words(result):
        page.head("Finished goods")
        page.line(words)


def print_units(page: Page, result: Result) -> None:
    """Yield, scrap, lead time, work in progress, carriers and energy."""
    page.head("Quality, lead time and work in progress")
    _quality(page, result["quality"], counted_words(result))
    _inside(page, result)
    _energy(page, result)


def _quality(page: Page, quality: Mapping[str, Any], counted: str) -> None:
    for name, row in quality["first_pass_yield"].items():
        if row["mean"] is not None:
            ends = share_between(row, 1)
            text = f"First-pass yield of {plain(name)}: {percent(row['mean'], 1)}"
            page.line(text + (f" ({ends})" if ends else ""))
    if len(quality["first_pass_yield"]) > 1:
        page.line(f"Rolled yield: {percent(quality['rolled_yield'], 1)}")
    for name, row in quality.get("inspections", {}).items():
        found, false = number(row["faulty_rejected"]["mean"]), number(row["good_rejected"]["mean"])
        text = f"{plain(name)} rejects {found} faulty and {false} good units"
        page.line(f"{text}, misses {number(row['faulty_accepted']['mean'])}")
    for name, row in quality.get("samples", {}).items():
        text = f"Samples of {plain(name)}: {number(row['tested']['mean'])} tested"
        page.line(f"{text}, {number(row['faulty']['mean'])} of them faulty")
    escapes = quality.get("escapes_per_million")
    if escapes and escapes["mean"] is not None:
        ends = between(escapes)
        text = f"Escapes: {number(escapes['mean'])} of a million good units are faulty"
        page.line(text + (f" ({ends})" if ends else ""))
    share = quality["good_share"]["mean"]
    good = "" if share is None else f"; good {percent(share, 1)} of the units that left"
    page.line(f"Scrapped: {number(quality['scrapped']['mean'])} units {counted}{good}")


def _inside(page: Page, result: Result) -> None:
    """How long units stay, how many there are, and the carriers that they ride on."""
    lead, wip = result["lead_time"], result["wip"]
    if lead["mean_s"] is None:
        page.line("Lead time: no unit left")
    else:
        page.line(
            f"Lead time: mean {duration(lead['mean_s'])}, median {duration(lead['p50_s'])},"
            f" P95 {duration(lead['p95_s'])}"
        )
    ends = between(wip)
    page.line(
        f"Work in progress: mean {number(wip['mean'])} units"
        + (f" ({ends})" if ends else "")
        + f", most {wip['max']}, at the end {number(wip['inside_at_end']['mean'])}"
    )
    for name, row in result.get("carriers", {}).items():
        page.line(
            f"{plain(name)}: of {row['count']} on average {number(row['in_use']['mean'])} in use and"
            f" {number(row['coming_back']['mean'])} coming back; none free"
            f" {percent(row['none_free']['mean'])} of the time"
        )


def _energy(page: Page, result: Result) -> None:
    energy = result.get("energy")
    if energy:
        unit = energy["kwh_per_good_unit"]["mean"]
        each = "" if unit is None else f", {number(unit, 3)} kWh per good unit"
        base = energy["base_load_share"]["mean"]
        idle = "" if base is None else f"; {percent(base)} of it while nothing is worked on"
        page.line(f"Energy: {number(energy['kwh']['mean'], 1)} kWh{each}{idle}")


def print_board(page: Page, result: Result) -> None:
    """Good units in each hour, beside target and plan."""
    hours = result["output_per_hour"]["by_clock_hour"]
    page.head("Hour by hour, good units")
    target = any("target" in row for row in hours)
    planned = plan_columns(result)
    rows = []
    for row in hours[:HOURS]:
        cells = [row["hour"], *(number(row[key]) for key in ("working_min", "p05", "p50", "p95"))]
        cells.append(fixed(row["mean"]))
        if target:
            works = row["working_min"] > 0
            cells += [number(row["target"]), percent(row["chance_of_target"])] if works else ["", ""]
        cells += planned.get(row["hour"], ())
        rows.append(cells)
    heads = ["Hour", "min worked", "P5", "median", "P95", "mean", *(["target", "chance"] if target else [])]
    heads += ["plan", "made"] if planned else []
    page.table(heads, rows)
    if len(hours) > HOURS:
        page.line(f"and {count_of(len(hours) - HOURS, 'more hour')} in result.json")
