"""How a state looks: one row a state, for pictures and reports alike.

The colours are our own.  They were found by a search that kept every pair of a table apart, for normal sight
and for the three kinds of colour blindness, and neighbours further apart; letter and hatch say it once more.
Families help to remember: blues work, sand, amber and brown wait for units, material or places, violet and
pink wait for somebody, dark tones are stopped, greys are breaks and time off, sage has nothing to make.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

INK_DARK = "#1B1B1F"  # titles and labels on white
LETTER_INKS = ("#000000", "#FFFFFF")  # on fills


@dataclass(frozen=True, slots=True)
class State:
    """The look of one state: its letter, fill colour, hatch (as matplotlib writes it), label and meaning."""

    letter: str
    colour: str
    hatch: str
    label: str
    help: str

    @property
    def ink(self) -> str:
        """The colour, dark or light, in which a letter is best read on the fill."""
        return ink_on(self.colour)


# Rows stand in the order in which a bar is stacked; the names are those of `engine.layout.MACHINE_STATES`.
STATION_STATES: dict[str, State] = {
    "working": State("W", "#29495D", "", "working alone", "runs by itself; nobody is needed"),
    "attended": State("A", "#657DC3", "//", "working, attended", "somebody works at it"),
    "handled": State(
        "H", "#BDD6F8", "\\\\", "loaded or unloaded", "somebody loads or unloads it, or its table turns"
    ),
    "changeover": State("C", "#566E40", "oo", "changeover", "goes over to another variant"),
    "starved": State("S", "#FAE4B1", "..", "starved", "nothing to work on"),
    "blocked": State("B", "#B57F40", "xx", "blocked", "no place for what it has finished"),
    "waiting for operator": State("O", "#BF98D4", "||", "waiting for operator", "ready, nobody comes yet"),
    "waiting for robot": State("R", "#8C508A", "--", "waiting for robot", "has a unit, robot is elsewhere"),
    "waiting for robot, empty": State(
        "E", "#FAC2BA", "---", "empty, waiting for robot", "empty, the robot is elsewhere"
    ),
    "down": State("D", "#2E2229", "", "down, being repaired", "stopped; somebody repairs or clears it"),
    "waiting for repair": State(
        "T", "#8E7F78", "++", "down, waiting for repair", "stopped; the technician has not come yet"
    ),
    "break": State("P", "#B5B9C5", "", "break", "the cell pauses"),
    "off": State("N", "#FAFAFA", "/", "not on shift", "no shift, start up or clean up"),
    "planned service": State("M", "#48240C", "oo", "planned service", "stopped for service that was planned"),
    "waiting for material": State("G", "#DC8828", "..x", "waiting for material", "a purchased part is short"),
    "no lot due": State(
        "L", "#70B87C", "\\\\.", "no lot due", "the store behind it holds enough; no lot is due"
    ),
    "waiting for carrier": State(
        "K", "#7E3609", "xx", "waiting for carrier", "has units, no free pallet, fixture or basket"
    ),
}

# The names are those of `engine.layout.ACTOR_STATES`.
CREW_STATES: dict[str, State] = {
    "working": State("W", "#29495D", "", "working", "does a work element"),
    "travelling": State("G", "#7292A0", "//", "going", "walks or travels to where it is needed"),
    "repairing": State("F", "#7A4E2A", "\\\\", "fixing a stop", "repairs or clears a stop"),
    "free": State("U", "#FAE4B1", "..", "unoccupied", "ready, nobody calls"),
    "held": State("K", "#BF98D4", "||", "kept at a standing job", "belongs to a job that cannot go on"),
    "down": State("D", "#2E2229", "", "down, being repaired", "stopped; somebody repairs it"),
    "waiting for repair": State(
        "T", "#8E7F78", "++", "down, waiting for repair", "stopped; the technician has not come yet"
    ),
    "break": State("P", "#B5B9C5", "", "break", "pauses"),
    "off": State("N", "#FAFAFA", "/", "not on shift", "has no shift now"),
    "helping out": State("H", "#5E97EB", "//", "helping out", "works in the place of another"),
    "handing over": State("V", "#CB9764", "--", "handing over", "takes over from the team before"),
    "absent": State("X", "#59468C", "xx", "absent", "has not come to the shift"),
    "planned service": State("M", "#48240C", "oo", "planned service", "stopped for service that was planned"),
    "bringing": State(
        "B", "#8630BF", "..x", "bringing or collecting", "on a trip with parts or finished units"
    ),
    "waiting for zone": State("Z", "#EE8136", "xx", "waiting for zone", "stands: somebody is in its zone"),
}

# Other parts of pictures.
BAND = "#C9D3E0"
LINE = "#29495D"
TARGET = "#8C508A"
QUIET = "#6B6B73"
SHADE = "#F1F1EF"


def look(table: Mapping[str, State], name: str) -> State:
    """The row of a state; a state that the table does not know is drawn grey, under its own name."""
    return table.get(name, State("?", "#D0D0D0", "oo", name, "a state without a description"))


def _linear(channel: float) -> float:
    return channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4


def luminance(colour: str) -> float:
    """Relative luminance of `#RRGGBB`, 0 black to 1 white (IEC 61966-2-1 weights; from memory)."""
    red, green, blue = (_linear(int(colour[k : k + 2], 16) / 255) for k in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast of two colours, 1 to 21 (WCAG 2.1, definition of contrast ratio; from memory)."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def ink_on(colour: str) -> str:
    """Dark or light ink, whichever is read better on the colour."""
    return max(LETTER_INKS, key=lambda ink: contrast(ink, colour))
