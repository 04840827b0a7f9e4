"""The look of states: complete, told apart by everybody, readable."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from cellsim.engine.layout import ACTOR_STATES, MACHINE_STATES
from cellsim.show.palette import CREW_STATES, STATION_STATES, contrast, look

TABLES = pytest.mark.parametrize("table", [STATION_STATES, CREW_STATES], ids=["stations", "crew"])

# Linear RGB as seen with one kind of cone missing (Machado, Oliveira and Fernandes 2009,
# A Physiologically-based Model for Simulation of Color Vision Deficiency, severity 1.0; from memory).
SIGHT = {
    "normal": np.eye(3),
    "protanopia": np.array(
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
    ),
    "deuteranopia": np.array(
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
    ),
    "tritanopia": np.array(
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]
    ),
}
TO_XYZ = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)


def linear(colour: str) -> np.ndarray:
    """Linear RGB of `#RRGGBB` (IEC 61966-2-1; from memory)."""
    c = np.array([int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)])
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def lab(colour: str, sight: np.ndarray) -> np.ndarray:
    """CIELAB coordinates for white D65 (CIE 15; from memory) of a colour as this sight sees it."""
    x = TO_XYZ @ np.clip(sight @ linear(colour), 0, 1) / np.array([0.95047, 1.0, 1.08883])
    f = np.where(x > 216 / 24389, np.cbrt(x), (24389 / 27 * x + 16) / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def distance(one: str, other: str, sight: np.ndarray) -> float:
    """Euclidean distance in CIELAB; 2.3 is just noticeable."""
    return float(np.linalg.norm(lab(one, sight) - lab(other, sight)))


def test_distance_on_known_colours():
    """Black to white is 100 in CIELAB by definition of L*; red and green collapse for deuteranopes."""
    assert distance("#000000", "#FFFFFF", SIGHT["normal"]) == pytest.approx(100, abs=0.01)
    normal = distance("#C04040", "#4C8030", SIGHT["normal"])
    assert distance("#C04040", "#4C8030", SIGHT["deuteranopia"]) < normal / 3


def test_every_state_of_the_engine_has_a_look():
    """No state is drawn as unknown, and no look is left without a state; the order is that of the engine."""
    assert tuple(STATION_STATES) == MACHINE_STATES
    assert tuple(CREW_STATES) == ACTOR_STATES


@TABLES
def test_letters_labels_and_fills_differ(table):
    """Within a panel letter, label and the pair of colour and hatch name exactly one state."""
    rows = list(table.values())
    assert all(len(row.letter) == 1 and row.letter.isupper() for row in rows)
    for key in (lambda r: r.letter, lambda r: r.label, lambda r: r.colour, lambda r: (r.colour, r.hatch)):
        assert len({key(row) for row in rows}) == len(rows)


@TABLES
@pytest.mark.parametrize("sight", SIGHT)
def test_neighbours_are_told_apart_by_everybody(table, sight):
    """In stack order neighbours are at least 20 apart in CIELAB, and any two states at least 15."""
    colours = [row.colour for row in table.values()]
    assert min(distance(a, b, SIGHT[sight]) for a, b in itertools.pairwise(colours)) >= 20
    assert min(distance(a, b, SIGHT[sight]) for a, b in itertools.combinations(colours, 2)) >= 15


@TABLES
def test_letters_are_readable(table):
    """Contrast of letter and fill is at least 4.5 (WCAG 2.1, 1.4.3; from memory)."""
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert min(contrast(row.ink, row.colour) for row in table.values()) >= 4.5


def test_shared_states_look_alike():
    """A state that stations and crew share has one letter and one colour."""
    shared = set(STATION_STATES) & set(CREW_STATES)
    assert shared == {"working", "down", "waiting for repair", "break", "off", "planned service"}
    for name in shared:
        assert STATION_STATES[name].letter == CREW_STATES[name].letter
        assert STATION_STATES[name].colour == CREW_STATES[name].colour


def test_an_unknown_state_keeps_its_name():
    """What the table does not know is drawn as `?` under its own name, not left out."""
    row = look(STATION_STATES, "juggling")
    assert (row.letter, row.label) == ("?", "juggling")
