"""What stops say beyond how often and how long: when service is due, whom they hold, who comes from where."""

from __future__ import annotations

from cellsim.describe.cell import Stop
from cellsim.engine.calendars import WEEK
from cellsim.engine.tables import FlatCell
from cellsim.engine.tables_stations import stops_of


def add_maintenance(flat: FlatCell) -> None:
    """Fill in the rows of stops, which are all there."""
    c = flat.state
    stops = {station.name: station.stops for station in flat.cell.stations}
    stops |= {robot.name: stops_of(robot) for robot in flat.cell.robots}
    for k, (owner, cause) in enumerate(flat.names.stop_groups):
        stop = next(stop for stop in stops[owner] if stop.name == cause)
        row = c.stops[k]
        row.planned, row.after_cycle = int(stop.planned), int(stop.after_cycle)
        row.restart_scrap, row.interrupts = stop.restart_scrap, int(stop.interrupts)
        row.first_moment, row.moments = len(c.moments), len(stop.at)
        c.moments.extend(sorted((moment - flat.start_of_run) % WEEK for moment in stop.at))
        row.first_member = len(c.members)
        if stop.stops_too:
            target = row.target + row.of_actor * c.machine_count
            c.members.extend(_members(flat, (owner, *stop.stops_too), target))
        row.members = len(c.members) - row.first_member
        _add_helpers(flat, k, stop)
    c.call_outs = int(any(row.called_out >= 0 for row in c.stops))


def _members(flat: FlatCell, names: tuple[str, ...], target: int) -> list[int]:
    """Machines, and robots counted on behind them, that stand still beside `target`."""
    c = flat.state
    held = [i for i, m in enumerate(c.machines) if flat.names.stations[m.station] in names]
    held += [c.machine_count + a for a, name in enumerate(flat.names.posts) if name in names]
    return [who for who in held if who != target]


def _add_helpers(flat: FlatCell, k: int, stop: Stop) -> None:
    """How long it takes those who repair it to come from other cells, or from home."""
    row = flat.state.stops[k]
    posts = [post for post in flat.cell.posts if post.can_help(stop.repaired_by)]
    row.response_law = row.called_out = -1
    for post in posts:
        if post.response is not None:
            row.response_law = flat.law(post.response)
            name, cause = flat.names.stops[k]
            row.response_stream = flat.stream(name, f"stop {cause} response")
            break
    outs = [post.called_out for post in posts if post.called_out is not None]
    if outs:
        row.called_out = min(outs)
