"""The machines of a stop log as stations and robots of a cell; `all` stands for every station."""

from __future__ import annotations

import re
from collections.abc import Mapping

from cellsim.describe.cell import Cell, Robot, Station
from cellsim.errors import UsageError
from cellsim.evidence.records import Records, Row
from cellsim.evidence.stop_records import Change
from cellsim.units import nearest, quoted

ALL = {"all", "all machines", "all stations", "whole line", "whole cell", "entire line", "line", "cell",
       "the line", "the cell", "everything"}  # fmt: skip
_MACHINE = re.compile(r"(.+?)(?:\s*[.#_-]\s*|\s+)(\d+)")

Place = tuple[str, str]  # station or robot, and which of its machines


def places_of(
    records: Records, cell: Cell, renamed: Mapping[str, str], changes: list[Change]
) -> list[list[Place]]:
    """Where each row stopped, one or every station; nowhere for a row that is left out as asked.

    A name that the cell does not have is a mistake, told once.

    Raises:
        UsageError: a name of `renamed` is not one of the log or of the cell.
    """
    owners: dict[str, Station | Robot] = {station.name: station for station in cell.stations}
    owners |= {robot.name: robot for robot in cell.robots}
    for new in renamed.values():
        if new and new not in owners:
            near = nearest(new, owners)
            advice = f"; did you mean {quoted(near)}?" if near else ""
            raise UsageError(f"--station: the cell has no station or robot {quoted(new)}{advice}")
    new_names = {old.casefold(): new for old, new in renamed.items()}
    there = {" ".join(row["station"].casefold().split()) for row in records.rows}
    for old in renamed:
        if old.casefold() not in there:
            raise UsageError(f"--station: the log has no station {quoted(old)}")
    found: list[list[Place]] = []
    unknown = set()
    for row in records.rows:
        written = " ".join(row["station"].split())
        folded = written.casefold()
        name = new_names.get(folded, written)
        place = _place(name, owners)
        if folded in new_names and not name:
            changes.append(Change("left out as asked", row.line, quoted(written)))
            found.append([])
        elif place is None and folded in ALL:
            text = f"{quoted(written)} stands for each of the {len(cell.stations)} stations"
            changes.append(Change("whole cell", row.line, text))
            found.append([(station.name, station.name) for station in cell.stations])
        elif place is None:
            if folded not in unknown:
                _tell_unknown(records, row, written, owners)
            unknown.add(folded)
            found.append([])
        else:
            found.append([place])
    return found


def _tell_unknown(records: Records, row: Row, written: str, owners: Mapping[str, Station | Robot]) -> None:
    if not written:
        records.wrong(row, "station", "this cell is empty; wanted is a station")
        return
    near = nearest(written, owners)
    hint = f"did you mean {quoted(near)}? " if near else ""
    hint += f'say --station "{written}={near or "NAME"}", or "{written}=" to leave its rows out'
    records.wrong(row, "station", f"{quoted(written)} is no station or robot of the cell", hint)


def _place(written: str, owners: Mapping[str, Station | Robot]) -> Place | None:
    """Owner and machine of a name: that of a station or robot, or of one of its machines as `press.2`."""
    folded = {name.casefold(): name for name in owners}
    if written in owners:
        return written, written
    if written.casefold() in folded:
        name = folded[written.casefold()]
        return name, name
    machine = _MACHINE.fullmatch(written)
    if machine and machine[1].casefold() in folded:
        owner = owners[folded[machine[1].casefold()]]
        if isinstance(owner, Station) and 1 <= int(machine[2]) <= owner.machines > 1:
            return owner.name, f"{owner.name}.{int(machine[2])}"
    return None
