"""The sheets of a workbook that are lists: summary, paper check, assumptions, cautions, provenance."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from cellsim.show import Result, answer, extent, has_shifts, origin, plain, target_words
from cellsim.show.screen import PLANNING
from cellsim.show.workbook_table import COUNT, TEXT, Column, Sheet, Value, ends_of, is_entry

MOST_EXACT = 10**15 - 1  # the largest whole number of which a spreadsheet keeps every digit


def _figures(result: Result, name: str) -> Sheet:
    """An empty list of figures."""
    low, high = ends_of(result)
    columns = [Column("Figure", TEXT), Column("value"), Column(low), Column(high), Column("unit", TEXT)]
    return Sheet(name, columns, [], by_row=True)


def _add(sheet: Sheet, label: str, entry: Any, unit: str = "", ends: Any = None) -> None:
    """One figure: a number, or a mean with its interval; nothing where there is none."""
    if is_entry(entry):
        unit, ends, entry = unit or entry.get("unit", ""), entry["interval"], entry["mean"]
    if entry is not None:
        sheet.rows.append([label, entry, *(ends or (None, None)), unit])


def summary_sheet(result: Result) -> Sheet:
    """The answer: output with its band, the chance of the target, what is inside, quality, the study."""
    sheet = _figures(result, "summary")
    cell = result["cell"]
    made = f"Made by {origin(result)}. " if origin(result) else ""
    sheet.heading = [
        plain(cell["name"]) + (f": {plain(cell['question'])}" if cell.get("question") else ""),
        ". ".join(part for part in (answer(result), target_words(result)) if part),
        f"{made}Studied: {extent(result)}. {PLANNING}",
    ]
    out = result["output_per_hour"]
    shift = out["per_shift"]
    one = "shift" if has_shifts(result) else "run"
    _add(sheet, "Output, mean", out)
    _band(sheet, "Output in one hour", out, out["unit"])
    _add(sheet, "Target", out["target"], out["unit"])
    _add(sheet, "Chance to reach the target in an hour", out.get("chance_of_target_in_an_hour"))
    _add(sheet, f"Output of a {one}, mean", shift)
    _band(sheet, f"Output of a {one}", shift, shift["unit"])
    _add(sheet, f"Target of a {one}", shift.get("target"), shift["unit"])
    _add(sheet, f"Chance to reach the target of a {one}", shift.get("chance_of_target"))
    _add(sheet, "Made of the hourly plan", result.get("attainment"))
    _add(sheet, "Output per paid hour", result.get("units_per_labour_hour"))
    _inside(sheet, result)
    _quality(sheet, result)
    study = result["study"]
    _add(sheet, "Replications", study["replications"], "runs")
    _add(sheet, "Hours counted", out["hours_counted"], "hours of all runs")
    if one == "shift":
        _add(sheet, "Counted shifts", study["shifts"], "shifts a run")
    _add(sheet, "Counted time", study["working_h"], "working hours a run")
    _add(sheet, "Counted from", study["counted_from_s"], "s after the start of a run")
    return sheet


def _band(sheet: Sheet, label: str, row: Mapping[str, Any], unit: str) -> None:
    for key, name in (("p05", "P5"), ("p50", "P50, median"), ("p95", "P95")):
        _add(sheet, f"{label}, {name}", row[key], unit, row.get(f"{key}_interval"))


def _inside(sheet: Sheet, result: Result) -> None:
    wip, lead, goods = result["wip"], result["lead_time"], result.get("finished_goods") or {}
    _add(sheet, "Work in progress, mean", wip)
    _add(sheet, "Work in progress, most", wip["max"], "units")
    _add(sheet, "Work in progress at the end", wip["inside_at_end"])
    _add(sheet, "Lead time, mean", lead["mean_s"], "s", lead["interval_s"])
    for key, label in (("p50_s", "P50, median"), ("p90_s", "P90"), ("p95_s", "P95")):
        _add(sheet, f"Lead time, {label}", lead[key], "s")
    _add(sheet, "Finished goods waiting, mean", goods or None)
    _add(sheet, "Finished goods waiting, most", goods.get("max"), "units")
    _add(sheet, "Places for finished goods", goods.get("capacity"), "units")
    _add(sheet, "Finished goods collected", goods.get("collected"))


def _quality(sheet: Sheet, result: Result) -> None:
    quality, energy = result["quality"], result.get("energy") or {}
    _add(sheet, "Scrapped", quality["scrapped"], "units in the counted time")
    _add(sheet, "Good of the units that left", quality["good_share"])
    _add(sheet, "Rolled yield", quality["rolled_yield"], "share of units good at every first test")
    _add(sheet, "Faulty among the good output", quality.get("escapes"))
    _add(sheet, "Faulty among a million good", quality.get("escapes_per_million"))
    for name, row in (result.get("outlets") or {}).items():
        _add(sheet, f"Left by {plain(name)}", row, "units in the counted time")
    for key, label in (
        ("kwh", "Energy"),
        ("kwh_per_good_unit", "Energy of a good unit"),
        ("base_load_share", "Energy while nothing is worked on"),
    ):
        _add(sheet, label, energy.get(key))


def paper_sheet(result: Result) -> Sheet:
    """What paper says beside the runs."""
    paper = result["paper"]
    sheet = _figures(result, "paper check")
    sheet.columns.append(Column("remark", TEXT))
    limit, estimate = paper.get("limit"), paper.get("estimate")
    if limit:
        _add(sheet, "Most on paper", limit["value"], paper["unit"])
        above = "the runs are above it" if limit.get("above_limit") else "the runs keep to it"
        sheet.rows[-1].append(f"by {', '.join(plain(who) for who in limit['who'])}; {above}")
    if estimate:
        _add(sheet, "Estimate on paper", estimate["value"], paper["unit"])
        sheet.rows[-1].append(plain(paper["how"]))
        if error := estimate.get("usual_error_percent"):
            _add(sheet, "Usual error of this estimate", None if error is None else 0.0, "%", error)
            sheet.rows[-1][1] = None
        if estimate.get("difference") is not None:
            _add(sheet, "Runs above the estimate", estimate["difference"], "share of the estimate")
            sheet.rows[-1].append("agree" if estimate.get("agrees") else "do not agree")
    else:
        sheet.rows.append(["Estimate on paper", None, None, None, paper["unit"], plain(paper["how"])])
    for row in sheet.rows:
        row += [None] * (len(sheet.columns) - len(row))
    return sheet


def list_sheets(result: Result) -> list[Sheet]:
    """The sheets at the end: paper check, assumptions, cautions, standstills, provenance."""
    heads = [Column("Key of the cell file", TEXT), Column("value", TEXT), Column("why", TEXT)]
    assumed = [[plain(row[key]) for key in ("path", "value", "why")] for row in result["assumptions"]]
    cautions: list[list[Value]] = [
        [plain(text)] for text in dict.fromkeys((PLANNING, *result["cautions"], *_remarks(result)))
    ]
    found = [
        paper_sheet(result),
        Sheet("assumptions", heads, [list(row) for row in assumed]),
        Sheet("cautions", [Column("Caution", TEXT)], cautions),
    ]
    if result["locked"]:
        columns = [Column("Replication", COUNT), Column("standstill after, s"), Column("who waits", TEXT)]
        rows: list[list[Value]] = [
            [lock["replication"], lock["at_s"], "; ".join(plain(text) for text in lock["circle"])]
            for lock in result["locked"]
        ]
        found.append(Sheet("standstills", columns, rows))
    return [*found, provenance_sheet(result)]


def _remarks(result: Result) -> list[str]:
    """What the study itself remarks."""
    early = result.get("interrupted")
    return [*result["study"].get("remarks", ()), *([f"Stopped early: {early}."] if early else [])]


def provenance_sheet(result: Result) -> Sheet:
    """Where the figures come from: enough to make them again."""
    rows: list[list[Value]] = [
        ["what this is", "the figures of result.json of one study by cellsim, as tables"],
        ["cell", plain(result["cell"]["name"])],
        ["question", plain(result["cell"].get("question") or "")],
    ]
    for key, value in (result.get("provenance") or {}).items():
        exact = isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= MOST_EXACT
        rows.append([key.replace("_", " "), value if exact else plain(value)])
    audit = result["audit"]
    rows.append(["laws checked in every run", len(audit["laws"])])
    rows.append(["laws broken", len(audit["violations"])])
    rows += [["law broken", plain(text)] for text in audit["violations"]]
    rows.append(["percentiles", plain(result["output_per_hour"].get("percentile_rule", ""))])
    rows.append(["an interval", "of the mean, over the replications; empty where one run gives none"])
    return Sheet("provenance", [Column("What", TEXT), Column("value", TEXT)], rows)
