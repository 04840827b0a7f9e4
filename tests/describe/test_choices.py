"""Files of choices: what is read, and what is told of a wrong one with its place."""

from __future__ import annotations

import pytest

from cellsim.describe.choices import read_choices
from cellsim.describe.resolve import load_text
from cellsim.errors import DescriptionError

CELL = "cell: Test\nroute: [press]\nstations:\n  press: {cycle: 24 s}\n"


def test_options_with_costs_and_changes():
    """An option without anything changes nothing and costs nothing."""
    text = (
        "benches:\n  one:\n  two:\n    costs: 0.9\n    changes: {stations.press.machines: 2,"
        " stations.press.cycle: 30 s}\n"
    )
    (benches,) = read_choices(text, "choices.yaml")
    assert benches.name == "benches"
    assert [option.name for option in benches.options] == ["one", "two"]
    assert [option.costs for option in benches.options] == [0.0, 0.9]
    assert benches.options[0].changes == ()
    assert [str(change) for change in benches.options[1].changes] == [
        "stations.press.machines: 2",
        "stations.press.cycle: 30 s",
    ]


WRONG = [
    ("benches: 3\n", "c.yaml:1:10: benches: wanted are the options of this choice, each with its name"),
    ("benches:\n  two: 4\n", "c.yaml:2:8: benches.two: wanted are the keys costs and changes, or nothing"),
    (
        "benches:\n  two: {cost: 4}\n",
        "c.yaml:2:9: benches.two.cost: this is no key of an option; its keys are costs, changes",
    ),
    (
        "benches:\n  two: {costs: 4 EUR}\n",
        "c.yaml:2:16: benches.two.costs: wanted is a number: money per working hour, for example 0.8",
    ),
    (
        "benches:\n  two: {changes: [a]}\n",
        "c.yaml:2:18: benches.two.changes: wanted are changes, for example {stores.tray.places: 8}",
    ),
    ("a, b:\n  two:\n", 'c.yaml:1:1: a, b: "a, b" cannot be a name'),
]


@pytest.mark.parametrize(("text", "said"), WRONG)
def test_wrong_files(text: str, said: str):
    """Each mistake with file, line, column and path."""
    with pytest.raises(DescriptionError) as caught:
        read_choices(text, "c.yaml")
    assert str(caught.value).startswith(said)


def test_a_wrong_change_is_told_in_the_file_in_which_it_stands():
    """The second line of the choices, not of the cell; a mistake of the cell itself stays there."""
    (choice,) = read_choices("benches:\n  two: {changes: {stations.press.cycle: 30}}\n", "c.yaml")
    with pytest.raises(DescriptionError) as caught:
        load_text(CELL, "cell.yaml", None, choice.options[0].changes)
    assert str(caught.value).startswith('c.yaml:2:41: stations.press.cycle: "30" has no unit')
    with pytest.raises(DescriptionError) as caught:
        load_text(CELL.replace("route", "rout"), "cell.yaml", None, choice.options[0].changes)
    assert {mistake.file for mistake in caught.value.mistakes} == {"c.yaml", "cell.yaml"}
