"""Who did what during one shift, as a section of a page: a lane for each station, person and robot."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from markupsafe import Markup

from cellsim.show import number, plain
from cellsim.show.palette import CREW_STATES, STATION_STATES, look
from cellsim.show.replay import Story, data_script, extent_of, legend, looks_of, used_states
from cellsim.study.story import time_in_states

ASSETS = (
    "replay.css",
    "timelines.css",
    "timelines.js",
)  # what a page with this section needs of `show/assets`
HINT = "Point at a stretch, or go to the lanes by the tab key and use the arrow keys."
TABLES = {"machine": STATION_STATES, "actor": CREW_STATES}


def timelines_section(story: Story) -> Markup:
    """The lanes of a story (`study/story.py`), with breaks shaded, and a table of the minutes in each state.

    The page adds the files named by `ASSETS`; the script finds the section and its data by their names.
    """
    lanes = [
        {"name": plain(row["name"]), "kind": "machine", "changes": row["changes"]}
        for row in story["machines"]
    ] + [
        {"name": plain(row["name"]), "kind": "actor", "changes": row["changes"], "where": row["where"]}
        for row in story["actors"]
    ]
    looks = looks_of(story["states"])
    for kind, table in TABLES.items():
        for name, signs in looks[kind].items():
            signs.append(look(table, name).hatch)
    hour = story["hours"][story["worst_hour"]] if story["worst_hour"] is not None else None
    shown = {"release": "the raw units", "finished": "the finished units"}
    data = {
        "lanes": lanes,
        "looks": looks,
        "states": story["states"],
        "places": [shown.get(name, plain(name)) for _, name in story["places"]],
        "length": story["length"],
        "clock_s": story["clock_s"],
        "pauses": story["pauses"],
        "worst": [hour["start"], hour["end"]] if hour else None,
        "heads": {"machine": "Stations", "actor": "People and robots"},
        "hint": HINT,
    }
    return Markup(
        '<section id="timelines" class="timelines" aria-labelledby="timelines-head">'
        '<h2 id="timelines-head">Who did what</h2>'
        '<p class="lead">Every station, person and robot from one moment to the next, in {extent}. Where a '
        "stretch is narrower than a point of the screen, the state that lasts longest there is shown.</p>"
        "{bar}"
        '<p class="timelines-detail" data-part="detail" role="status"></p>'
        '<div><canvas data-part="lanes" tabindex="0" role="application" aria-label="Lanes: up and down to '
        'another lane, left and right to the next stretch, plus and minus to look closer or wider">'
        "</canvas></div>"
        "{key}{table}{data}</section>"
    ).format(
        extent=extent_of(story), bar=_bar(hour is not None), key=_key(story), table=_table(story),
        data=data_script("timelines-data", data),
    )  # fmt: skip


def _bar(compares: bool) -> Markup:
    buttons = (
        ("in", "Closer", ""),
        ("out", "Wider", ""),
        ("earlier", "◂ Earlier", ""),
        ("later", "Later ▸", ""),
        ("whole", "Whole shift", ""),
        ("worst", "Worst hour", "" if compares else " disabled"),
        ("replay", "Show in the replay", " hidden"),
    )
    return Markup(
        '<div class="timelines-bar" role="group" aria-label="Part of the shift">{}'
        '<span class="timelines-span" data-part="span"></span></div>'
    ).format(
        Markup().join(
            Markup('<button type="button" data-part="{}"{}>{}</button>').format(part, Markup(more), label)
            for part, label, more in buttons
        )
    )


def _key(story: Story) -> Markup:
    heads = {"machine": "States of stations", "actor": "States of people and robots"}
    return Markup().join(
        legend(heads[kind], [look(TABLES[kind], name) for name in names])
        for kind, names in _used(story).items()
        if names
    ) + Markup(
        '<p class="replay-keys">Drag to move along, pinch or turn the wheel with <kbd>ctrl</kbd> to look '
        "closer; <kbd>+</kbd> <kbd>−</kbd> <kbd>0</kbd> do the same, <kbd>enter</kbd> shows the moment in "
        "the replay.</p>"
    )


def _used(story: Story) -> dict[str, list[str]]:
    return {
        "machine": used_states(story["machines"], story["states"]["machine"]),
        "actor": used_states(story["actors"], story["states"]["actor"]),
    }


def _table(story: Story) -> Markup:
    """Minutes in each state, for whoever cannot see the lanes or wants the sums."""
    minutes = time_in_states(story)
    parts = []
    for kind, head, rows in (
        ("machine", "Station", story["machines"]),
        ("actor", "Person or robot", story["actors"]),
    ):
        if rows:
            names = _used(story)[kind]
            parts.append(_one_table(head, rows, names, minutes[kind], TABLES[kind]))
    return Markup(
        '<details><summary>Minutes in each state</summary><div class="timelines-scroll">{}</div></details>'
    ).format(Markup().join(parts))


def _one_table(head: str, rows: Sequence[Any], names: Sequence[str], minutes: Any, table: Any) -> Markup:
    cells = Markup().join(
        Markup("<tr><th scope=row>{}</th>{}</tr>").format(
            plain(row["name"]),
            Markup().join(
                Markup("<td>{}</td>").format(number(minutes[row["name"]].get(name, 0) / 60, 1))
                for name in names
            ),
        )
        for row in rows
    )
    heads = Markup().join(Markup("<th scope=col>{}</th>").format(look(table, name).label) for name in names)
    return Markup(
        '<table class="timelines-table"><thead><tr><th scope=col>{}</th>{}</tr></thead><tbody>{}</tbody>'
        "</table>"
    ).format(head, heads, cells)
