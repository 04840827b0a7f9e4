"""A study as text for the terminal: the answer first, then what limits it, then the tables.

Nothing here computes a statistic: every number stands in the dictionary of `result.json`, or sums shares.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from cellsim.show import (
    Result,
    assumption_words,
    between,
    can_shorten,
    cause_words,
    chief_assumptions,
    count_of,
    duration,
    extent,
    has_shifts,
    limit_words,
    lock_words,
    number,
    origin,
    percent,
    plain,
    share_between,
    target_words,
)
from cellsim.show.supply import PART_HEADS, goods_words, part_rows, plan_columns, plan_words

if TYPE_CHECKING:
    from rich.console import Console


WIDTH = 100  # wider terminals are not filled
CAUSES, STOPS, HOURS, ASSUMPTIONS, LOCKS, FAULTS = 6, 12, 26, 5, 3, 5  # the most rows shown of each
PLANNING = "Planning study. It estimates time and output. It does not show that the cell is safe or lawful."

# Columns of the station table: heading and the states it adds up.
STATION_COLUMNS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("working", ("working", "attended", "handled")),
    ("starved", ("starved",)),
    ("no\nmaterial", ("waiting for material",)),
    ("no lot\ndue", ("no lot due",)),
    ("blocked", ("blocked",)),
    ("waits\noperator", ("waiting for operator",)),
    ("waits\nrobot", ("waiting for robot", "waiting for robot, empty")),
    ("waits\ncarrier", ("waiting for carrier",)),
    ("down", ("down", "waiting for repair")),
    ("planned\nservice", ("planned service",)),
    ("break,\noff", ("break", "off")),
)
CREW_COLUMNS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("working", ("working",)),
    ("going", ("travelling",)),
    ("fixing", ("repairing",)),
    ("bringing", ("bringing",)),
    ("unoccupied", ("free",)),
    ("waits\nzone", ("waiting for zone",)),
    ("down", ("down", "waiting for repair")),
    ("planned\nservice", ("planned service",)),
    ("break,\noff", ("break", "off")),
)


# Printing ----------------------------------------------------------------------------------------------


class _Page:
    """A console that takes names literally and keeps to a width."""

    def __init__(self, console: Console) -> None:
        self.console = console
        self.width = min(console.width, WIDTH)

    def line(self, text: str = "", style: str = "", indent: int = 0) -> None:
        from rich.text import Text

        for k, part in enumerate(Text(text, style=style).wrap(self.console, self.width - 2 * indent)):
            part.rstrip()
            self.console.print(Text(" " * (indent if k == 0 else 2 * indent)) + part)

    def head(self, text: str) -> None:
        self.line()
        self.line(text, style="bold")

    def table(self, heads: Sequence[str], rows: Sequence[Sequence[str]], texts: Sequence[int] = (0,)) -> None:
        """A table without lines; the columns `texts` are text, the others numbers that are never cut."""
        from rich.table import Table
        from rich.text import Text

        gap = 1 if len(heads) > 8 else 2
        table = Table(box=None, padding=(0, gap, 0, 0), pad_edge=False, header_style="underline")
        for k, head in enumerate(heads):
            if k in texts:
                table.add_column(Text(head), overflow="fold", vertical="bottom", min_width=10)
            else:
                table.add_column(Text(head), justify="right", no_wrap=True, vertical="bottom")
        for row in rows:
            table.add_row(*(Text(cell) for cell in row))
        self.console.print(table, width=self.width)


def print_result(result: Result, console: Console) -> None:
    """Print a study as a shift leader reads it, at most 80 columns on a console of 80.

    `result` is the dictionary of `result.json`, with or without `provenance`.
    """
    page = _Page(console)
    page.line(plain(result["cell"]["name"]), style="bold")
    if result["cell"].get("question"):
        page.line(plain(result["cell"]["question"]))
    if result.get("interrupted"):
        page.line(f"Stopped early: {plain(result['interrupted'])} are in these figures.", style="bold")
    _alarms(page, result)
    _answer(page, result)
    _limits(page, result)
    _stations(page, result)
    _stores(page, result)
    _parts(page, result)
    _crew(page, result, "people", "People")
    _crew(page, result, "robots", "Robots")
    if result["people"] or result["robots"]:
        page.line("Load: share of the time on duty spent working, going, fixing or bringing.")
    _zones(page, result)
    _stops(page, result)
    _units(page, result)
    _board(page, result)
    _remarks(page, result)


def _alarms(page: _Page, result: Result) -> None:
    audit, locked = result["audit"], result["locked"]
    if not audit["passed"]:
        page.line()
        page.line("This program broke its own laws: do not use these figures.", style="bold reverse")
        _listed(page, audit["violations"], FAULTS, "violation")
    if locked:
        page.line()
        page.line(
            f"LOCKED: in {len(locked)} of {count_of(result['study']['replications'], 'run')} the cell or a"
            " part of it came to a standstill that nobody can end.",
            style="bold reverse",
        )
        _listed(page, [lock_words(result, lock) for lock in locked], LOCKS, "locked run")
        page.line("The figures below include the time after a standstill.")


def _listed(page: _Page, texts: Sequence[str], most: int, noun: str) -> None:
    for text in texts[:most]:
        page.line(plain(text), indent=2)
    if len(texts) > most:
        page.line(f"and {count_of(len(texts) - most, 'more ' + noun)} in result.json", indent=2)


def _answer(page: _Page, result: Result) -> None:
    out = result["output_per_hour"]
    page.line()
    if out["mean"] == 0:
        page.line("No good unit leaves the cell.", style="bold")
    else:
        ends = between(out, lambda value: number(value, 1))
        page.line(
            f"{number(out['mean'], 1)} good units leave per working hour "
            + (f"(95 % interval of the mean {ends})." if ends else "(one run: no interval)."),
            style="bold",
        )
        if out["p05"] is not None:
            page.line(
                f"In 9 of 10 hours it is between {number(out['p05'])} and {number(out['p95'])}"
                f" (P5 to P95), half of the hours reach {number(out['p50'])}."
            )
    words = target_words(result)
    page.line(words if words else "The file states no target.")
    if made := plan_words(result):
        page.line(made)
    labour = result.get("units_per_labour_hour")
    if labour and labour["mean"]:
        ends = between(labour)
        text = f"Per paid labour hour: {number(labour['mean'])} good units"
        page.line(text + (f" ({ends})." if ends else "."))
    page.line(f"Studied: {extent(result)}.")


def _limits(page: _Page, result: Result) -> None:
    losses = result["losses"]
    page.head("What limits output")
    causes = losses["causes"]
    if not causes:
        page.line(plain(losses.get("remark", "nothing was recorded")) + ".")
        return
    for text in limit_words(causes):
        page.line(text)
    rows = [
        (
            cause_words(row["who"], row["what"]),
            percent(row["share"], 1),
            share_between(row, 1),
            f"{row['elasticity']:.2f} % more" if can_shorten(row) else "",
        )
        for row in causes[:CAUSES]
    ]
    page.table(("Cause", "share of\ncritical path", "95 % interval", "1 % shorter\ngives about"), rows)
    if len(causes) > CAUSES:
        page.line(f"and {count_of(len(causes) - CAUSES, 'smaller cause')} in result.json")
    page.line("This holds for small changes; after a large one something else limits.")
    if any(row["elasticity"] is None for row in causes):
        page.line("What 1 % gives is counted outside breaks and off hours, which stand where they are.")
    if losses.get("shortened"):
        runs = count_of(losses["shortened"], "long run")
        page.line(f"In {runs} the oldest part of the path is an estimate.")


def _fixed(value: float | None) -> str:
    """A number of a table column: one decimal, so that the points stand below each other."""
    return "-" if value is None else f"{value:.1f}"


def _sum(shares: Mapping[str, Any], states: Sequence[str]) -> float:
    return float(sum(shares[state]["mean"] for state in states if state in shares))


def _state_rows(
    table: Mapping[str, Any], columns: Sequence[tuple[str, tuple[str, ...]]]
) -> tuple[list[str], dict[str, list[str]]]:
    """The columns that any row needs, and the percentages of each row in them."""
    known = {state for _, states in columns for state in states}
    others = tuple(dict.fromkeys(s for row in table.values() for s in row["shares"] if s not in known))
    occurring = {s for row in table.values() for s in row["shares"]}
    used = [column for column in (*columns, ("other", others)) if occurring.intersection(column[1])]
    cells = {
        name: [_fixed(100 * _sum(row["shares"], states)) for _, states in used] for name, row in table.items()
    }
    return [head for head, _ in used], cells


def _stations(page: _Page, result: Result) -> None:
    stations = result["stations"]
    page.head("Stations, % of the counted time")
    heads, cells = _state_rows(stations, STATION_COLUMNS)
    judging = any("rejected_share" in row for row in stations.values())
    rows = []
    for name, row in stations.items():
        label = plain(name) + (f" ({row['machines']})" if row["machines"] > 1 else "")
        rejected = row.get("rejected_share")
        last = [_fixed(100 * rejected["mean"]) if rejected and rejected["mean"] is not None else ""]
        rows.append([label, *cells[name], *(last if judging else [])])
    page.table(("Station", *heads, *(["rejects\n% tests"] if judging else [])), rows)


def _stores(page: _Page, result: Result) -> None:
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


def _parts(page: _Page, result: Result) -> None:
    if rows := part_rows(result):
        page.head("Purchased parts, per run")
        page.table(PART_HEADS, rows)
        page.line("Short: a station has its units but waits for this part.")
    if words := goods_words(result):
        page.head("Finished goods")
        page.line(words)


def _crew(page: _Page, result: Result, key: str, title: str) -> None:
    crew = result[key]
    if not crew:
        return
    page.head(f"{title}, % of the counted time")
    heads, cells = _state_rows(crew, CREW_COLUMNS)
    rows = []
    for name, row in crew.items():
        label = plain(name) + (f" ({row['count']})" if row["count"] > 1 else "")
        load = row["load"]
        text = "-" if load["mean"] is None else percent(load["mean"])
        rows.append([label, text, *cells[name], "over 90 %" if (load["mean"] or 0) > 0.9 else ""])
    last = len(heads) + 2
    flagged = any(row[-1] for row in rows)
    rows = rows if flagged else [row[:-1] for row in rows]
    page.table(("Who", "load", *heads, *([""] if flagged else [])), rows, texts=(0, last))


def _zones(page: _Page, result: Result) -> None:
    for name, row in result["robots"].items():
        if "gripper_changes" in row:
            page.line(f"{plain(name)} changes its gripper {number(row['gripper_changes']['mean'])} times.")
        if "picks" in row:
            failed, picks = number(row["mispicks"]["mean"]), number(row["picks"]["mean"])
            page.line(f"{plain(name)}: {failed} of {picks} picks fail.")
    for name, row in result.get("zones", {}).items():
        per = row["entries"]["unit"]
        page.line(
            f"Zone {plain(name)}: {number(row['entries']['mean'])} {per}, somebody inside"
            f" {percent(row['somebody_inside']['mean'], 1)} of the counted time."
        )


def _stops(page: _Page, result: Result) -> None:
    stops = result["stops"]
    if not stops:
        return
    shifts = result["study"]["shifts"] if has_shifts(result) else 1
    page.head(f"Stops per {'shift' if has_shifts(result) else 'run'}")
    rows = [
        (
            plain(row["who"]),
            plain(row["cause"]) + (" (planned)" if row["planned"] else ""),
            _fixed(row["stops"]["mean"] / shifts),
            _fixed(row["repair_min"]["mean"] / shifts),
            _fixed(row["waiting_min"]["mean"] / shifts),
            _fixed(row["scrapped_after"]["mean"] / shifts) if "scrapped_after" in row else "",
        )
        for row in sorted(stops, key=lambda row: -row["repair_min"]["mean"] - row["waiting_min"]["mean"])
    ]
    heads = ("Where", "cause", "stops", "min in repair", "min waiting for it", "scrapped after it")
    count = len(heads) if any(row[-1] for row in rows[:STOPS]) else len(heads) - 1
    page.table(heads[:count], [row[:count] for row in rows[:STOPS]], texts=(0, 1))
    if len(rows) > STOPS:
        page.line(f"and {count_of(len(rows) - STOPS, 'smaller cause')} in result.json")


def _units(page: _Page, result: Result) -> None:
    quality, lead, wip = result["quality"], result["lead_time"], result["wip"]
    page.head("Quality, lead time and work in progress")
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
    page.line(f"Scrapped: {number(quality['scrapped']['mean'])} units in the counted time{good}")
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
    energy = result.get("energy")
    if energy:
        unit = energy["kwh_per_good_unit"]["mean"]
        each = "" if unit is None else f", {number(unit, 3)} kWh per good unit"
        base = energy["base_load_share"]["mean"]
        idle = "" if base is None else f"; {percent(base)} of it while nothing is worked on"
        page.line(f"Energy: {number(energy['kwh']['mean'], 1)} kWh{each}{idle}")


def _board(page: _Page, result: Result) -> None:
    hours = result["output_per_hour"]["by_clock_hour"]
    page.head("Hour by hour, good units")
    target = any("target" in row for row in hours)
    planned = plan_columns(result)
    rows = []
    for row in hours[:HOURS]:
        cells = [row["hour"], *(number(row[key]) for key in ("working_min", "p05", "p50", "p95"))]
        cells.append(_fixed(row["mean"]))
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


def _remarks(page: _Page, result: Result) -> None:
    assumptions = result["assumptions"]
    if assumptions:
        shown = chief_assumptions(result, ASSUMPTIONS)
        page.head(f"{count_of(len(assumptions), 'value')} assumed, not measured")
        for row in shown:
            page.line(assumption_words(row), indent=2)
        if len(assumptions) > len(shown):
            page.line("All of them: cellsim check, or `assumptions` in result.json.")
    page.head("Cautions")
    for text in dict.fromkeys((PLANNING, *result["cautions"])):
        page.line(plain(text))
    page.line()
    audit = result["audit"]
    runs = count_of(result["study"]["replications"], "run")
    laws = f"{count_of(len(audit['laws']), 'law')} checked in {runs}"
    if audit["passed"]:
        page.line(f"{laws}: all hold.")
    else:
        page.line(f"{laws}: {count_of(len(audit['violations']), 'violation')}.", style="bold")
    if origin(result):
        page.line(f"Made by {origin(result)}.")


# The progress -----------------------------------------------------------------------------------------


@contextmanager
def progress(console: Console, total: int) -> Iterator[Callable[[int, int], None]]:
    """Give a callback `(done, of)` that shows runs done and time remaining; silent when not a terminal."""
    if not console.is_terminal:
        yield lambda done, of: None
        return
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    bar = BarColumn(complete_style="bold", finished_style="bold", style="dim")
    columns = (TextColumn("runs"), bar, MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=console, transient=True) as shown:
        task = shown.add_task("runs", total=total)
        yield lambda done, of: shown.update(task, completed=done, total=of)
