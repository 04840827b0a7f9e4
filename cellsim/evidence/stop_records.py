"""What a stop log is: its columns, a stop, a change that was made, the log as it was read."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from cellsim.evidence.records import Column, Table, is_heading
from cellsim.evidence.worktime import Axis

_DAY_OF_START = Column(
    "start_date",
    ("start date", "date start", "from date", "date from", "begin date", "date begin", "start day",
     "date of start"),
    needed=False,
)  # fmt: skip
_DAY_OF_END = Column(
    "end_date",
    ("end date", "date end", "to date", "date to", "until date", "finish date", "end day", "date of end"),
    needed=False,
)  # fmt: skip
CAUSE = Column("cause", ("reason", "fault", "failure", "code", "error", "kind", "stop reason"), needed=False)
_TELLS_CAUSE = ("what", "what happened", "problem", "trouble", "description", "disturbance", "event")
_DURATION = Column("duration", ("length", "downtime", "lasts", "lasted", "minutes", "seconds"), needed=False)
COLUMNS = (
    Column("start", ("from", "begin", "stop", "down at", "stopped", "stopped at", "stop at", "down from",
                     "down since", "started", "start time", "beginning", "from time", "time from",
                     "begin time", "time start", "start date time", "start date and time")),
    Column("end", ("to", "finish", "until", "restart", "running again", "running", "back", "up again",
                   "up at", "restarted", "finished", "ended", "end time", "to time", "time to",
                   "finish time", "time end", "end date time", "end date and time"), instead=_DURATION),
    _DURATION,
    Column("station", ("machine", "equipment", "workplace", "resource", "asset", "where", "place")),
    replace(CAUSE, also=(*CAUSE.also, *_TELLS_CAUSE)),
    Column("cleared_by", ("cleared by", "repaired by", "technician", "by", "who", "sign", "signed",
                          "signed by", "signature", "initials", "cleared", "fixed by"), needed=False),
    Column("requested", ("called", "request", "call", "reported"), needed=False),
    Column("arrived", ("arrival", "repair start", "repair began", "on site"), needed=False),
    Column("planned", ("scheduled", "planned stop", "is planned", "planned or not"), needed=False),
    Column("date", ("day",), needed=False),
    _DAY_OF_START,
    _DAY_OF_END,
    Column("remark", ("remarks", "note", "notes", "comment"), needed=False),
)  # fmt: skip


def columns_of(table: Table) -> tuple[Column, ...]:
    """The columns to look for.

    `Start date` alone holds the whole moment and is the column start.  Headings that only may mean a cause
    (`description`) do so where no other does.
    """
    headings, columns = table.headings, list(COLUMNS)
    for name, day in (("start", _DAY_OF_START), ("end", _DAY_OF_END)):
        k = next(k for k, column in enumerate(columns) if column.name == name)
        if any(is_heading(text, columns[k]) for text in headings):
            continue
        if any(is_heading(text, day) for text in headings):
            columns[k] = replace(columns[k], also=(*columns[k].also, *day.also))
            columns.remove(day)
    if any(is_heading(text, CAUSE) for text in headings):
        columns = [CAUSE if column.name == CAUSE.name else column for column in columns]
    return tuple(columns)


@dataclass(frozen=True, slots=True)
class Change:
    """What was done to a line of the log: which step of the cleaning, the line, in words."""

    step: str
    line: int
    text: str


@dataclass(frozen=True, slots=True)
class Logged:
    """A stop: lines it comes from, station or robot, the machine as written, cause, moments (None = unknown).

    Moments are microseconds of the axis of the log.  `ended`: its end was seen in planned time; `outside`: it
    was seen in a break or off hours; `known`: at least how long it lasted is.  `planned` is what the log says
    of it, None where it says nothing, and `marked` the heading of the column that says so.
    """

    lines: tuple[int, ...]
    owner: str
    machine: str
    cause: str
    begin: int
    end: int | None
    ended: bool = True
    cleared_by: str = ""
    requested: int | None = None
    arrived: int | None = None
    known: bool = True
    outside: bool = False
    planned: bool | None = None
    marked: str = ""

    @property
    def line(self) -> int:
        """The first of its lines."""
        return self.lines[0]


@dataclass
class StopLog:
    """A log as it was read: stops in order of time, what was changed, what had to be decided in reading.

    `asked` are questions to whoever knows the log.
    """

    file: str
    axis: Axis
    stops: list[Logged]
    changes: list[Change]
    repairs: list[str]
    asked: list[str] = field(default_factory=list)
