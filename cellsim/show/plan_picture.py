"""The picture of a cell as it is described: stations, stores, ways, and who attends what."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle, FancyBboxPatch, Polygon, Rectangle

from cellsim.describe.cell import FINISHED, RELEASE, Cell, Element, Station
from cellsim.errors import UsageError
from cellsim.show import count_of, plain
from cellsim.show.floor_boxes import Box, FloorPlan
from cellsim.show.palette import BAND, INK_DARK, LINE, QUIET, SHADE, TARGET
from cellsim.show.picture_files import FORMATS, save_picture
from cellsim.show.plots_sheet import title_lines, write_heading

PIXEL = 10.0 / 1240  # inches of a pixel of the plan
PERSON, ROBOT = LINE, TARGET
MEASURED = "Positions as the file gives them in metres, moved apart where boxes would overlap."
CHOSEN = "Positions are chosen so that the plan is easy to read; nothing here is to scale."


def attends(cell: Cell) -> dict[str, list[str]]:
    """The posts and robots that do work at each station, people before robots."""
    robots = {robot.name for robot in cell.robots}
    found: dict[str, list[str]] = {}
    for station in cell.stations:
        needs = {need.skill for element in _elements(station) for need in element.by}
        people = [
            post.name for post in cell.posts if needs & {post.name, *(skill for skill, _ in post.skills)}
        ]
        moving = {r.name for r in cell.robots if any(station.name in (m.start, m.end) for m in r.moves)}
        found[station.name] = people + sorted(needs & robots | moving)
    return found


def _elements(station: Station) -> list[Element]:
    return [*station.work, *station.extra]


def draw_plan(cell: Cell, plan: FloorPlan) -> Figure:
    """The plan as a figure; boxes are patches whose gid is `station/name`, `store/name` or `crew/name`."""
    title = title_lines(plain(cell.name), plain(cell.question)) if cell.question else [plain(cell.name)]
    head = 0.36 + 0.27 * len(title)
    width = max(10.0, plan.width * PIXEL)
    figure = Figure(figsize=(width, plan.height * PIXEL + head + 0.58), facecolor="white")
    people = sum(post.people for post in cell.posts)
    words = [count_of(len(cell.stations), "station")]
    words += [count_of(people, "person", "people")] if people else []
    words += [count_of(len(cell.robots), "robot")] if cell.robots else []
    foot = MEASURED if plan.measured else CHOSEN
    _heading(figure, title, ", ".join(words) + ".", foot)
    height = figure.get_figheight()
    left = (width - plan.width * PIXEL) / 2
    axes = figure.add_axes(
        (left / width, 0.55 / height, plan.width * PIXEL / width, plan.height * PIXEL / height)
    )
    axes.set_xlim(0, plan.width)
    axes.set_ylim(plan.height, 0)
    axes.axis("off")
    for arrow in plan.arrows:
        _way(axes, arrow.corners, arrow.main)
    for name, box in plan.stores.items():
        if box.w:
            _store(axes, cell, name, box)
    for name, box in plan.points.items():
        _text(axes, box.cx, box.cy, box.label, 6, QUIET)
        axes.add_patch(_frame(box, "none", QUIET, f"point/{name}", dashes="--"))
    crew = attends(cell)
    for station in cell.stations:
        _station(axes, plan, station, crew[station.name], {robot.name for robot in cell.robots})
    _crew(axes, cell, plan)
    _key(figure, cell)
    return figure


def _heading(figure: Figure, title: list[str], line: str, foot: str) -> None:
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    FigureCanvasAgg(figure)
    write_heading(figure, title, [line], foot)


def _frame(box: Box, fill: str, edge: str, gid: str, width: float = 0.9, dashes: str = "-") -> FancyBboxPatch:
    return FancyBboxPatch(
        (box.x, box.y),
        box.w,
        box.h,
        boxstyle="round,pad=0,rounding_size=4",
        facecolor=fill,
        edgecolor=edge,
        linewidth=width,
        linestyle=dashes,
        gid=gid,
        zorder=3,
    )


def _text(
    axes: Axes, x: float, y: float, lines: tuple[str, ...], size: float, colour: str, **more: Any
) -> None:
    axes.text(
        x, y, "\n".join(lines), fontsize=size, color=colour, ha="center", va="center", parse_math=False,
        zorder=6, linespacing=1.0, **more,
    )  # fmt: skip


def _way(axes: Axes, corners: tuple[tuple[float, float], ...], main: bool) -> None:
    """A line with an arrow head at its end; the route is drawn stronger than what joins or leaves it."""
    colour, width = (LINE, 1.8) if main else (QUIET, 0.9)
    xs, ys = zip(*corners, strict=True)
    axes.plot(xs, ys, color=colour, linewidth=width, zorder=2, solid_joinstyle="round", solid_capstyle="butt")
    (x0, y0), (x, y) = corners[-2:]
    length = ((x - x0) ** 2 + (y - y0) ** 2) ** 0.5 or 1.0
    dx, dy = (x - x0) / length, (y - y0) / length
    size = 6.5 if main else 5.0
    tip = [(x, y), (x - size * dx - 0.5 * size * dy, y - size * dy + 0.5 * size * dx)]
    tip.append((x - size * dx + 0.5 * size * dy, y - size * dy - 0.5 * size * dx))
    axes.add_patch(Polygon(tip, closed=True, facecolor=colour, edgecolor="none", zorder=4))


def _store(axes: Axes, cell: Cell, name: str, box: Box) -> None:
    store = next((s for s in cell.stores if s.name == name), None)
    ends = name in (RELEASE, FINISHED)
    axes.add_patch(
        _frame(box, "white" if ends else SHADE, QUIET, f"store/{name}", dashes=":" if ends else "-")
    )
    _text(axes, box.cx, box.y + (box.h / 2 if ends else 15), box.label, 6.3, INK_DARK)
    if ends or store is None:
        return
    room = "no limit" if store.places is None else count_of(store.places, "place")
    _text(axes, box.cx, box.y + box.h - 9, (room,), 5.6, QUIET)


def _station(axes: Axes, plan: FloorPlan, station: Station, crew: list[str], robots: set[str]) -> None:
    box = plan.stations[station.name]
    axes.add_patch(_frame(box, "white", INK_DARK, f"station/{station.name}", 1.3))
    cells = [b for name, b in plan.machines.items() if name in _machines(station)]
    middle = (box.y + min(b.y for b in cells)) / 2
    _text(axes, box.cx, middle, box.label, 7.6 if len(box.label) == 1 else 6.4, INK_DARK, fontweight="bold")
    for cell_box in cells:
        axes.add_patch(
            Rectangle(
                (cell_box.x, cell_box.y), cell_box.w, cell_box.h, facecolor=BAND, edgecolor="white", zorder=4
            )
        )
    for k, cell_box in enumerate(cells if len(cells) > 1 else ()):
        _text(axes, cell_box.cx, cell_box.cy, (str(k + 1),), 6.5, INK_DARK)
    _badges(axes, box, crew, robots)


def _machines(station: Station) -> set[str]:
    one = station.machines == 1
    return {station.name} if one else {f"{station.name}.{k + 1}" for k in range(station.machines)}


def _badges(axes: Axes, box: Box, crew: list[str], robots: set[str]) -> None:
    """Who attends a station, written above it: people round, robots square."""
    shown = crew if len(crew) <= 3 else [*crew[:2], f"+{len(crew) - 2}"]
    widths = [12.0 + 6.4 * min(len(name), 10) for name in shown]
    x = box.cx - (sum(widths) + 3 * len(shown) - 3) / 2
    for name, width in zip(shown, widths, strict=True):
        text = plain(name) if len(name) <= 10 else plain(name)[:9] + "…"
        shape = "square,pad=0.25" if name in robots else "round,pad=0.25,rounding_size=0.6"
        axes.text(
            x + width / 2, box.y - 8, text, fontsize=6, color="white", ha="center", va="center", zorder=6,
            parse_math=False, bbox={
                "boxstyle": shape, "facecolor": ROBOT if name in robots else PERSON, "edgecolor": "none"
            },
        )  # fmt: skip
        x += width + 3


def _crew(axes: Axes, cell: Cell, plan: FloorPlan) -> None:
    """Everybody by name below the plan."""
    robots = {robot.name for robot in cell.robots}
    people = {f"{p.name} {k + 1}" if p.people > 1 else p.name for p in cell.posts for k in range(p.people)}
    for name, box in plan.actors.items():
        colour = PERSON if name in people else ROBOT if name in robots else QUIET  # else a shared thing
        axes.add_patch(_frame(box, "white", colour, f"crew/{name}", 1.1))
        x, y = box.x + 13, box.cy
        if name not in people:
            axes.add_patch(Rectangle((x - 6, y - 6), 12, 12, facecolor=colour, edgecolor="none", zorder=5))
        else:
            axes.add_patch(Circle((x, y), 6.5, facecolor=colour, edgecolor="none", zorder=5))
        _text(axes, box.x + 24 + (box.w - 27) / 2, box.cy, box.label, 6.6, INK_DARK)


def _key(figure: Figure, cell: Cell) -> None:
    """What the signs mean, in one line above the foot."""
    parts = ["bold box: station with its machines", "grey box: store between stations"]
    signs = (["round: person"] if cell.posts else []) + (["square: robot"] if cell.robots else [])
    if signs:
        parts.append(", ".join(signs) + ", above the stations that they attend")
    at = (0.2 / figure.get_figwidth(), 0.42 / figure.get_figheight())
    figure.text(*at, "   ".join(parts), fontsize=8, color=QUIET)


def save_plan(cell: Cell, plan: FloorPlan, path: Path) -> None:
    """Write the picture as png, svg or pdf, by the ending of the file.

    Raises:
        UsageError: another ending, or a file that cannot be written.
    """
    if path.suffix.lower().lstrip(".") not in FORMATS:
        raise UsageError(f"{path}: a picture can be written as .png, .svg or .pdf")
    save_picture(lambda _: draw_plan(cell, plan), {}, path)
