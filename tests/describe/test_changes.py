"""Changes to a description: as if they stood in the file, or told where they cannot be made."""

from __future__ import annotations

import pytest

from cellsim.describe.changes import read_changes, read_proposals
from cellsim.describe.resolve import load_text, resolved_text
from cellsim.errors import DescriptionError

TEXT = """
cell: bench
crew: {anna: [press, fit]}
route: [press, tray, fit, "bin no. 2", pack]
stations:
  press:
    work:
      - {do: load, time: 4 s, by: anna}
      - {do: press, time: 9 s}
    stops: {jam: {every: 20 min of running, lasts: 4 min, law: exponential}}
  fit: {cycle: 12 s, by: anna}
  pack: {cycle: 10 s}
stores: {tray: 8, "bin no. 2": {places: 5}}
study: {run: 8 h}
"""
STOPS = "    stops: {jam: {every: 20 min of running, lasts: 4 min, law: exponential}}\n"
SHIFTS = "cell: bench\nshifts: {day: {from: 06:00, to: 14:00}}"


def changed(*lines: str) -> str:
    """The resolved text of the bench with changes."""
    return resolved_text(load_text(TEXT, changes=read_changes(lines)))


def rewritten(*pairs: tuple[str, str]) -> str:
    """The resolved text of the bench with its own text rewritten."""
    text = TEXT
    for before, after in pairs:
        assert text.count(before) == 1
        text = text.replace(before, after)
    return resolved_text(load_text(text))


@pytest.mark.parametrize(
    ("line", "pair"),
    [
        ("stores.tray: 12", ("tray: 8", "tray: 12")),
        ("stores.tray.places: 12", ("tray: 8", "tray: 12")),
        ("stores.tray.starts_with: 3", ("tray: 8", "tray: {places: 8, starts_with: 3}")),
        ("stores.bin no. 2.places: 7", ("{places: 5}", "{places: 7}")),
        (
            "stations.press.work[2].time: {mean: 8 s, spread: 10 %}",
            ("time: 9 s", "time: {mean: 8 s, spread: 10 %}"),
        ),
        ("stations.press.machines: 2", ("    work:", "    machines: 2\n    work:")),
        ("stations.fit.cycle: 11 s", ("cycle: 12 s", "cycle: 11 s")),
        ("stations.press.stops.jam.lasts: 2 min", ("lasts: 4 min", "lasts: 2 min")),
        ("stations.press.stops: ~", (STOPS, "")),
        ("crew.anna.people: 2", ("[press, fit]", "{works_at: [press, fit], people: 2}")),
        ("crew.eva: [pack]", ("{anna: [press, fit]}", "{anna: [press, fit], eva: [pack]}")),
        ("study.seed: 7", ("{run: 8 h}", "{run: 8 h, seed: 7}")),
        ("target: 200 per h", ("cell: bench", "cell: bench\ntarget: 200 per h")),
        ("shifts.day: {from: 06:00, to: 14:00}", ("cell: bench", SHIFTS)),
    ],
)  # fmt: skip
def test_a_change_is_as_if_it_stood_in_the_file(line, pair):
    """The resolved cell is the same as with the change written into the text."""
    assert changed(line) == rewritten(pair) != rewritten()


def test_changes_are_made_one_after_the_other():
    """The last one holds, and what one has made another may change."""
    assert changed("stores.tray: 3", "stores.tray.places: 12") == rewritten(("tray: 8", "tray: 12"))
    lines = ("robots.R1: {gripper: double}", "robots.R1.gripper: single", "robots.R1: ~")
    assert changed(*lines, "stores.tray: 8") == rewritten()


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("stores.trya.places: 8", 'cell.yaml: stores.trya.places: stores has no "trya"; there is tray'),
        ("stations.weld.machines: 2", 'stations has no "weld"; there is press, fit, pack'),
        ("stations.press.machine: 2", 'cell.yaml: stations.press.machine: "machine" is no key of a station'),
        ("stores.tray.places: many", "cell.yaml: stores.tray.places:"),
        ("stations.press.work[3].time: 2 s", "stations.press.work is a list; name one of its 2 places"),
        ("stations.press.work.time: 2 s", "stations.press.work"),
        ("stations.fit.machines: ~", "cell.yaml: stations.fit.machines: there is nothing to take away"),
        ("places: 8", 'cell.yaml: places: "places" is no key of a cell file'),
        ("stores.tray.places", "is made of"),
        ("stores.tray: [", "a value is missing here"),
    ],
)
def test_a_change_that_cannot_be_made_is_told(line, said):
    """Where, and what is there."""
    with pytest.raises(DescriptionError) as told:
        changed(line)
    assert said in str(told.value)


def test_all_wrong_changes_are_told_at_once():
    """Two mistakes, two lines."""
    with pytest.raises(DescriptionError) as told:
        changed("stores.a.places: 8", "stations.b.machines: 2")
    assert len(told.value.mistakes) == 2


def test_proposals_of_a_file():
    """Each has a name and changes, in the order of the file."""
    text = "more places: {stores.tray: 12}\n"
    text += "two presses:\n  stations.press.machines: 2\n  stores.tray.places: 10\n"
    first, second = read_proposals(text, "proposals.yaml")
    assert (first.name, [str(change) for change in first.changes]) == ("more places", ["stores.tray: 12"])
    assert second.name == "two presses"
    assert [str(c) for c in second.changes] == ["stations.press.machines: 2", "stores.tray.places: 10"]
    both = load_text(TEXT, changes=second.changes)
    assert resolved_text(both) == changed("stations.press.machines: 2", "stores.tray.places: 10")


def test_wrong_proposals_are_told_with_their_place():
    """A proposal without changes, and a name that is none."""
    with pytest.raises(DescriptionError) as told:
        read_proposals("more: 12\nfinished: {stores.tray: 12}\n", "proposals.yaml")
    first, second = told.value.mistakes
    assert str(first).startswith("proposals.yaml:1:7: more: wanted are the changes of this proposal")
    assert str(second).startswith('proposals.yaml:2:1: finished: "finished" has a meaning of its own')


def test_a_mistake_in_a_proposal_stands_where_it_is_written():
    """The place is that in the file of proposals."""
    (proposal,) = read_proposals("fast:\n  stations.fit.cycle: 8 parsecs\n", "proposals.yaml")
    with pytest.raises(DescriptionError) as told:
        load_text(TEXT, changes=proposal.changes)
    assert "stations.fit.cycle" in str(told.value)
