"""The replay of one shift as a section of a page: the plan, controls, and what everybody does just then."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from markupsafe import Markup

from cellsim.show import plain
from cellsim.show.floor_boxes import FloorPlan
from cellsim.show.palette import CREW_STATES, STATION_STATES, State, look

ASSETS = ("replay.css", "replay.js")  # what a page with this section needs of `show/assets`
SPEEDS = (1, 2, 5, 10, 30, 60, 120, 300, 600)
USUAL_SPEED = 60
SMALL = 700.0  # a plan up to this many pixels wide is never wider than its page
STRIP = 1000.0  # units of the strip below the scrub bar

Story = Mapping[str, Any]


def data_script(name: str, data: object) -> Markup:
    """Data for a script of the page, as JSON that no text in it can leave."""
    text = json.dumps(data, separators=(",", ":"), ensure_ascii=False)
    for sign, code in (
        ("<", "\\u003c"),
        (">", "\\u003e"),
        ("&", "\\u0026"),
        ("\u2028", "\\u2028"),
        ("\u2029", "\\u2029"),
    ):
        text = text.replace(sign, code)
    return Markup('<script type="application/json" id="{}">{}</script>').format(name, Markup(text))


def looks_of(states: Mapping[str, Sequence[str]]) -> dict[str, dict[str, list[str]]]:
    """Letter, colour, ink and label of every state of machines and of people and robots."""
    tables = {"machine": STATION_STATES, "actor": CREW_STATES}
    return {
        kind: {name: _signs(look(tables[kind], name)) for name in names} for kind, names in states.items()
    }


def _signs(style: State) -> list[str]:
    return [style.letter, style.colour, style.ink, style.label]


def clock_of(story: Story, ms: float) -> str:
    """A time of a story as the time of day, `06:12`; as time since the start where there are no shifts."""
    start = story["clock_s"]
    minutes = int(ms // 60_000 + (0 if start is None else start // 60))
    hours = minutes // 60 if start is None else minutes // 60 % 24
    return f"{hours}:{minutes % 60:02d}" if start is None else f"{hours:02d}:{minutes % 60:02d}"


def used_states(rows: Sequence[Mapping[str, Any]], names: Sequence[str]) -> list[str]:
    """The states that occur in `changes` of rows, in the order of the palette's list."""
    numbers = {value for row in rows for value in row["changes"][1::2]}
    return [name for k, name in enumerate(names) if k in numbers]


def extent_of(story: Story) -> str:
    """What a story tells, as `replication 0, seed 1, shift 1, 06:00 to 14:00`."""
    text = f"replication {story['replication']}, seed {story['seed']}, shift {story['shift'] + 1}"
    return f"{text}, {clock_of(story, 0)} to {clock_of(story, story['length'])}"


def replay_section(story: Story, plan: FloorPlan) -> Markup:
    """The replay of a story (`study/story.py`) on a plan of the same cell.

    The page adds the files named by `ASSETS`; the script finds the section and its data by their names.
    """
    arrows = {f"{arrow.source}|{arrow.target}": k for k, arrow in enumerate(plan.arrows)}
    data = {
        "story": dict(story),
        "plan": plan.as_dict(),
        "looks": looks_of(story["states"]),
        "arrows": arrows,
    }
    hour = story["hours"][story["worst_hour"]] if story["worst_hour"] is not None else None
    worst = f"worst hour: {hour['label']} with {hour['good']} good units" if hour else "no hour to compare"
    small = " replay-small" if plan.width <= SMALL else ""
    title = f"Plan of {plain(story['cell'])} with its units, people and robots at the time shown"
    return Markup(
        '<section id="replay" class="replay{small}" aria-labelledby="replay-head">'
        '<h2 id="replay-head">One shift, played back</h2>'
        '<p class="lead">What happened in {extent}; {worst}. One shift is an example, not the answer.</p>'
        '{bar}{counts}<div class="replay-stage">'
        '<canvas data-part="stage" width="{w}" height="{h}" role="img" tabindex="0" aria-label="{title}" '
        'style="aspect-ratio:{w}/{h}"></canvas></div>'
        "{now}{key}{data}</section>"
    ).format(
        small=small,
        extent=extent_of(story),
        worst=worst,
        w=int(plan.width),
        h=int(plan.height),
        title=title,
        bar=_bar(story, hour is not None),
        counts=_counts(story),
        now=_now(story),
        key=_key(story),
        data=data_script("replay-data", data),
    )


def _bar(story: Story, compares: bool) -> Markup:
    """Buttons, speed, clock and the scrub bar with hours, breaks and stops below it."""
    speeds = Markup().join(
        Markup('<option value="{}"{}>{}×</option>').format(
            speed, Markup(" selected") if speed == USUAL_SPEED else "", speed
        )
        for speed in SPEEDS
    )
    return Markup(
        '<div class="replay-bar" role="group" aria-label="Playing">'
        '<span class="replay-clock" data-part="clock" aria-label="Time"></span>'
        '<button type="button" data-part="play">Play</button>'
        '<button type="button" data-part="back" aria-label="Back to the change before">◂ Step</button>'
        '<button type="button" data-part="step" aria-label="On to the next change">Step ▸</button>'
        '<label>Speed <select data-part="speed">{speeds}</select></label>'
        '<button type="button" data-part="worst"{disabled}>Worst hour</button>'
        '<button type="button" data-part="stop">Next stop</button>'
        '<span class="replay-status" data-part="status" role="status"></span></div>'
        '<div class="replay-scrub"><input type="range" data-part="scrub" min="0" max="{length}" step="1000" '
        'value="0" aria-label="Time in the shift">{strip}</div>'
    ).format(
        speeds=speeds,
        disabled="" if compares else Markup(" disabled"),
        length=story["length"],
        strip=_strip(story),
    )


def _strip(story: Story) -> Markup:
    """Under the scrub bar: hours with their output, the worst one shaded, pauses, and where stops begin."""
    at = STRIP / story["length"]
    parts: list[Markup] = []
    for k, hour in enumerate(story["hours"]):
        x, w = at * hour["start"], at * (hour["end"] - hour["start"])
        if k == story["worst_hour"]:
            parts.append(_rect(x, 14, w, 26, "var(--band)"))
        parts.append(
            Markup('<line x1="{0:.1f}" x2="{0:.1f}" y1="14" y2="40" stroke="var(--line)"/>').format(x)
        )
    parts += [_rect(at * a, 14, at * (b - a), 26, "var(--shade)") for a, b, _ in story["pauses"]]
    for begins, _, _, who, cause, planned in story["stops"]:
        if planned:
            continue
        parts.append(
            Markup(
                '<rect x="{:.1f}" y="6" width="1.6" height="7" fill="var(--quiet)"><title>{}</title></rect>'
            ).format(at * begins, f"{plain(who)}: {plain(cause)}")
        )
    labels = [
        Markup('<text class="{}" x="{:.2f}%" y="32" text-anchor="middle">{}</text>').format(
            "every" if k % 2 else "other",
            100 * (hour["start"] + hour["end"]) / 2 / story["length"],
            hour["good"],
        )
        for k, hour in enumerate(story["hours"])
        if hour["end"] - hour["start"] > story["length"] / 24
    ]
    return Markup(
        '<svg aria-hidden="true"><svg viewBox="0 0 {} 42" preserveAspectRatio="none" width="100%" '
        'height="42">'
        "{}</svg>{}</svg>"
    ).format(int(STRIP), Markup().join(parts), Markup().join(labels))


def _rect(x: float, y: float, w: float, h: float, fill: str) -> Markup:
    return Markup('<rect x="{:.1f}" y="{}" width="{:.1f}" height="{}" fill="{}"/>').format(x, y, w, h, fill)


def _counts(story: Story) -> Markup:
    rows = [("good so far", "good", ""), ("scrapped", "scrap", ""), ("inside", "inside", "")]
    if story["stops"]:
        rows.append(("stopped now", "stops", "wide"))
    else:
        rows.append(("stops in this shift", "stops", "wide"))
    return Markup('<dl class="replay-counts">{}</dl>').format(
        Markup().join(
            Markup('<div class="{}"><dt>{}</dt><dd data-part="{}">0</dd></div>').format(kind, label, part)
            for label, part, kind in rows
        )
    )


def _now(story: Story) -> Markup:
    """A line for each machine and for each person and robot, which the script keeps up to date."""
    blocks = []
    for head, part, names in (
        ("Stations at this time", "lines", [m["name"] for m in story["machines"]]),
        ("People and robots at this time", "people", [a["name"] for a in story["actors"]]),
    ):
        rows = Markup().join(
            Markup('<li><span class="letter"></span><b title="{0}">{0}</b><span></span></li>').format(
                plain(name)
            )
            for name in names
        )
        hidden = Markup("") if names else Markup(" hidden")
        blocks.append(Markup('<h3{}>{}</h3><ul data-part="{}">{}</ul>').format(hidden, head, part, rows))
    return Markup('<div class="replay-now">{}</div>').format(Markup().join(blocks))


def legend(head: str, styles: Sequence[State]) -> Markup:
    """Swatches with letter and label."""
    return Markup('<ul class="replay-key" aria-label="{}">{}</ul>').format(
        head,
        Markup().join(
            Markup('<li><span class="letter" style="background:{};color:{}">{}</span>{}</li>').format(
                style.colour, style.ink, style.letter, style.label
            )
            for style in styles
        ),
    )


def _key(story: Story) -> Markup:
    machine = used_states(story["machines"], story["states"]["machine"])
    actor = used_states(story["actors"], story["states"]["actor"])
    keys = (
        ("space", "play or pause"), ("← →", "10 s, with shift 1 min"), ("↑ ↓", "next or last change"),
        ("w", "worst hour"), ("n", "next stop"),
    )  # fmt: skip
    return Markup(
        "<details><summary>What letters and colours mean</summary>{}{}"
        '<p class="replay-keys">Discs are people, squares are robots, small dots are units. {}</p></details>'
    ).format(
        legend("States of stations", [look(STATION_STATES, name) for name in machine]),
        legend("States of people and robots", [look(CREW_STATES, name) for name in actor]),
        Markup(" ").join(Markup("<kbd>{}</kbd> {};").format(key, what) for key, what in keys),
    )
