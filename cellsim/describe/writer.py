"""The fully resolved form of a cell: a legal cell file in which every value is spelled out."""

from __future__ import annotations

from cellsim.describe.cell import Cell, Study
from cellsim.describe.kinds import ALWAYS_THERE
from cellsim.describe.writer_crew import post_value, robot_value, shift_value, zone_value
from cellsim.describe.writer_flow import (
    carrier_value,
    finished_goods_value,
    part_value,
    release_value,
    sequence_value,
    store_value,
)
from cellsim.describe.writer_stations import station_value
from cellsim.describe.writer_text import Value, lines_of
from cellsim.describe.writer_work import law_value
from cellsim.units import format_number, format_ratio, format_time


def resolved_text(cell: Cell) -> str:
    """The cell as a legal cell file with nothing left to assume; loading it gives an equal cell again."""
    return "".join(f"{line}\n" for key, value in _cell(cell).items() for line in lines_of(key, value, 0))


def resolved_fits(cell: Cell, most_nodes: int, most_bytes: int) -> bool:
    """Whether the resolved text of a cell has no more keys and values, and no more bytes, than a file may."""
    return _nodes(_cell(cell)) <= most_nodes and len(resolved_text(cell).encode()) <= most_bytes


def _nodes(value: Value) -> int:
    if isinstance(value, dict):
        return 1 + sum(1 + _nodes(inner) for inner in value.values())
    return 1 + sum(map(_nodes, value)) if isinstance(value, list) else 1


def _cell(cell: Cell) -> dict[str, Value]:
    """The keys of the file in the order in which they are written; what there is none of is left out."""
    whole: dict[str, Value] = {"cell": cell.name}
    if cell.question:
        whole["question"] = cell.question
    if cell.target_per_hour is not None:
        whole["target"] = f"{format_number(cell.target_per_hour)} per h"
    whole["shifts"] = {shift.name: shift_value(shift) for shift in cell.shifts}
    whole["crew"] = {post.name: post_value(post, bool(cell.shifts)) for post in cell.posts}
    whole["levels"] = {str(k + 1): format_number(factor) for k, factor in enumerate(cell.levels)}
    if cell.posts:
        whole["allowance"] = "0 %"  # stations spell theirs out
    whole["robots"] = {robot.name: robot_value(robot) for robot in cell.robots}
    whole["zones"] = {zone.name: zone_value(zone) for zone in cell.zones}
    whole["shared"] = {thing: str(count) for thing, count in cell.shared}
    whole["route"] = list(cell.route)
    whole["lines"] = {line.name: list(line.places) for line in cell.lines}
    hides = any(station.faults is not None for station in cell.stations)
    whole["stations"] = {station.name: station_value(station, hides) for station in cell.stations}
    whole["stores"] = {store.name: store_value(store) for store in cell.stores}
    whole["variants"] = {variant.name: format_ratio(variant.share) for variant in cell.variants}
    if cell.variants:
        whole["sequence"] = sequence_value(cell.sequence)
    whole["varied_lines"] = list(cell.varied_lines)
    whole["parts"] = {part.name: part_value(part) for part in cell.parts} or ALWAYS_THERE
    whole["finished_goods"] = finished_goods_value(cell.finished_goods)
    whole["release"] = release_value(cell.release)
    whole["tables"] = {
        table.name: {"stations": list(table.stations), "index": law_value(table.index)}
        for table in cell.tables
    }
    whole["carriers"] = {carrier.name: carrier_value(carrier) for carrier in cell.carriers}
    whole["layout"] = {
        point: [f"{format_number(x)} m", f"{format_number(y)} m"] for point, x, y in cell.layout
    }
    whole["study"] = _study(cell.study)
    whole["margins"] = {figure: format_ratio(share) for figure, share in cell.margins}
    whole["assumed"] = [{"path": a.path, "value": a.value, "why": a.why} for a in cell.assumptions]
    whole["origins"] = [{"path": origin.path, "text": origin.text} for origin in cell.origins]
    return {key: value for key, value in whole.items() if value or key == "assumed"}


def _study(study: Study) -> dict[str, Value]:
    value: dict[str, Value] = (
        {"shifts": str(study.shifts)} if study.shifts else {"run": format_time(study.run)}
    )
    return value | {
        "settle": _shifts(study.settle_shifts) if study.settle_shifts else format_time(study.settle),
        "start": study.start,
        "seed": str(study.seed),
        "replications": str(study.replications),
    }


def _shifts(count: int) -> str:
    return f"{count} shift" if count == 1 else f"{count} shifts"
