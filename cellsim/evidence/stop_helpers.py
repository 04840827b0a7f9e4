"""Who clears stops and how long he takes to come, by a stop log."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from cellsim.describe.cell import Cell, Post
from cellsim.errors import UsageError
from cellsim.evidence.fitting import sample
from cellsim.evidence.stop_cleaning import CleanLog
from cellsim.evidence.stop_laws import Estimate, lengths_estimate
from cellsim.evidence.stop_records import Logged
from cellsim.units import SECOND, nearest, quoted


@dataclass
class WaitInput:
    """How long somebody took to come to so many stops, from the request (or the start) to the arrival."""

    who: str
    post: str
    count: int
    waits: Estimate


def named(stops: Sequence[Logged], cell: Cell, people: Mapping[str, str]) -> list[Logged]:
    """The stops with posts or skills of the cell in place of names of people, upper or lower case.

    Raises:
        UsageError: the cell has no such post or skill, or the log no such person.
    """
    known = {name for post in cell.posts for name in (post.name, *(skill for skill, _ in post.skills))}
    folded = {old.casefold(): new for old, new in people.items()}
    there = {stop.cleared_by.casefold() for stop in stops}
    for old, new in people.items():
        if new not in known:
            near = nearest(new, known)
            advice = f"; did you mean {quoted(near)}?" if near else ""
            line = f"below crew:\n  {new}: {{}}" if cell.posts else f"as a line:\ncrew: {{{new}: {{}}}}"
            raise UsageError(
                f"--person: the cell has no post or skill {quoted(new)}{advice}\n"
                f"to add it, paste into the cell file {line}"
            )
        if old.casefold() not in there:
            raise UsageError(f"--person: nobody called {quoted(old)} clears a stop in the log")
    return [replace(s, cleared_by=folded.get(s.cleared_by.casefold(), s.cleared_by)) for s in stops]


def cleared_by(stops: Sequence[Logged], cell: Cell, remarks: list[str]) -> str:
    """Who clears most of these stops, by a post or skill of the cell; empty where the log does not say."""
    named = [stop.cleared_by for stop in stops if stop.cleared_by]
    if not named:
        return ""
    folded = [name.casefold() for name in named]
    most = max(dict.fromkeys(folded), key=folded.count)
    known = {
        name.casefold(): name
        for post in cell.posts
        for name in (*(skill for skill, _ in post.skills), post.name)
    }
    written = named[folded.index(most)]
    if most not in known:
        remarks.append(f"cleared by {quoted(written)}, which is no post or skill of the cell; say --person"
                       f' "{written}=POST"')  # fmt: skip
        return ""
    if folded.count(most) < len(stops):
        remarks.append(
            f"{folded.count(most)} of {len(stops)} were cleared by {written}, which is taken for all"
        )
    return known[most]


def _helper(cell: Cell, who: str) -> Post | None:
    """The one post that a name stands for."""
    able = [post for post in cell.posts if post.name == who] or [
        post for post in cell.posts if who in (skill for skill, _ in post.skills)
    ]
    return able[0] if len(able) == 1 else None


def has_response(cell: Cell, who: str) -> bool:
    """Whether the cell file says how long whoever clears a stop takes to come."""
    post = _helper(cell, who)
    return post is not None and post.response is not None


def waits_of(log: CleanLog, cell: Cell, resamples: int) -> list[WaitInput]:
    """Times from request (or start) to arrival, by who cleared the stop."""
    found: dict[str, list[float]] = {}
    names: dict[str, str] = {}
    for stop in log.stops:
        if stop.arrived is None:
            continue
        called = stop.begin if stop.requested is None else max(stop.begin, stop.requested)
        wait = log.planned[stop.owner].between(called, max(called, stop.arrived)) / SECOND
        names.setdefault(stop.cleared_by.casefold(), stop.cleared_by)
        found.setdefault(stop.cleared_by.casefold(), []).append(wait)
    out = []
    for key, waits in found.items():
        if max(waits) == 0:
            continue
        known = [post for post in cell.posts if post.name.casefold() == key]
        estimate = lengths_estimate(sample(waits), resamples)
        out.append(
            WaitInput(names[key] or "nobody named", known[0].name if known else "", len(waits), estimate)
        )
    return out
