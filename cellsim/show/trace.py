"""The trace of a run in words: time of day, who, what."""

from __future__ import annotations

from collections.abc import Iterator

from cellsim.engine import layout as L
from cellsim.engine.calendars import DAY
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.tables import FlatCell

Line = tuple[str, str, str]  # time of day, who, what

DUTY = {
    L.ON: "on duty",
    L.BREAK: "break",
    L.OFF: "off duty",
    L.RUNNING_OUT: "running out",
    L.HANDING_OVER: "hand-over",
    L.ABSENT: "absent",
}


def time_of_day(flat: FlatCell, at: int) -> str:
    """A moment of the run as a time of day; as time since the start where the cell has no shifts."""
    since_midnight = flat.start_of_run + at if flat.cell.shifts else at
    seconds, micro = divmod(since_midnight, 1_000_000)
    day, seconds = divmod(seconds, DAY // 1_000_000)
    first_day = flat.start_of_run // DAY if flat.cell.shifts else 0
    text = f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}.{micro // 1000:03d}"
    return text if day == first_day else f"day {day - first_day + 1} {text}"


def job_words(flat: FlatCell, j: int) -> str:
    """What a job is, in words."""
    machines = len(flat.names.machines)
    if j < machines:
        return f"at {flat.names.machines[j]}"
    if j < 2 * machines:
        return f"visits {flat.names.machines[j - machines]}"
    if j >= flat.state.supply_base:
        supply: str = flat.names.supplies[j - flat.state.supply_base]
        return supply
    if j >= flat.state.errand_base:
        return f"handles a unit: {flat.names.errands[j - flat.state.errand_base]}"
    if j >= flat.state.inside_base:
        return f"inside the machine time of {flat.names.machines[j - flat.state.inside_base]}"
    who, cause = flat.names.stops[j - 2 * machines]
    return f"repairs {who} ({cause})"


def lines(run: SimpyRun) -> Iterator[Line]:
    """The notes of a traced run as lines of words, in order of time."""
    flat = run.flat
    names = flat.names
    who_names = {
        "machine": names.machines,
        "actor": names.actors,
        "store": names.stores,
        "part": names.parts,
        "calendar": names.calendars,
        "errand": [names.actors[errand.robot] for errand in run.state.errands],
    }
    for at, what, who, other in run.notes:
        verb, kind, other_kind = L.NOTES[what]
        subject = " ".join(names.stops[who][:1]) if kind == "stop" else who_names[kind][who]
        if kind == "calendar":
            subject = f"shift {subject}" if subject else "calendar"
        words = verb
        if kind == "stop":
            words = f"{verb}: {names.stops[who][1]}"
        elif other_kind == "step":
            words = f"{verb} {names.steps[other]}"
        elif other_kind == "store":
            words = f"{verb} {names.stores[other]}"
        elif kind == "errand":
            words = f"{verb} ({names.errands[who]})"
        elif other_kind == "gripper":
            words = f"{verb} {names.grippers[other]}"
        elif other_kind == "zone":
            words = f"{verb} {names.zones[other]}"
        elif other_kind == "point":
            words = f"{verb} {names.points[other]}"
        elif other_kind == "duty":
            words = f"{verb}: {DUTY[other]}" if kind == "actor" else f"{verb} {DUTY[other]}"
        elif other_kind == "times":
            words = f"{verb} a unit" if other == 1 else f"{verb} a unit for the {other}. time"
        elif other_kind == "turn":
            words = f"{verb} to place {other + 1}"
        elif other_kind == "pieces":
            words = f"{verb}: {other}"
        elif other_kind == "job":
            words = job_words(flat, other)
            if what == L.N_PUTS_DOWN:
                words = f"{verb}: {words}"
        yield time_of_day(flat, at), subject, words
