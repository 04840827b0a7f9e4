"""The JSON Schema and the reference page say the same as the tables that validate."""

from pathlib import Path

import jsonschema
import pytest
import yaml

from cellsim.describe.laws import LAWS
from cellsim.describe.reader import read_text
from cellsim.describe.reference import reference
from cellsim.describe.resolve import load, load_text, resolved_text
from cellsim.describe.schema import cell_schema
from cellsim.describe.spec import TABLES
from cellsim.describe.tree import Notes
from cellsim.errors import DescriptionError

HERE = Path(__file__).parent
RIGHT = sorted((HERE.parents[1] / "scenarios").glob("*.yaml")) + sorted((HERE / "right").glob("*.yaml"))


class AllText(yaml.SafeLoader):
    """YAML with every scalar as text."""

    yaml_implicit_resolvers = {}  # noqa: RUF012


def complaints(text):
    """What the schema has against a text."""
    validator = jsonschema.Draft202012Validator(cell_schema())
    return [error.message for error in validator.iter_errors(yaml.load(text, AllText))]


def test_the_schema_is_a_schema():
    """The schema keeps the rules of JSON Schema 2020-12."""
    jsonschema.Draft202012Validator.check_schema(cell_schema())


@pytest.mark.parametrize("file", RIGHT, ids=lambda file: file.stem)
def test_right_cells_fit_the_schema(file):
    """Every cell that loads fits the schema, and so does its resolved form."""
    assert complaints(file.read_text(encoding="utf-8")) == []
    assert complaints(resolved_text(load(file))) == []


@pytest.mark.parametrize(
    "stem",
    [
        "unknown_top_key", "unknown_station_key", "unknown_stop_key", "no_unit", "length_for_a_time",
        "missing_keys",
        "law_unknown", "misspelt_choice", "rate_without_per", "every_without_clock", "half_a_place",
        "no_yes_no",
        "text_for_a_list", "empty_route", "layout_with_one_length",
    ],
)  # fmt: skip
def test_wrong_forms_do_not_fit_the_schema(stem):
    """What is wrong in form is seen by an editor with the schema too."""
    assert complaints((HERE / "wrong" / f"{stem}.yaml").read_text(encoding="utf-8")) != []


def test_numbers_and_truth_values_fit_the_schema():
    """Editors that make numbers and truth values of scalars can use the schema too."""
    data = {
        "cell": 7,
        "route": [10, 20],
        "stations": {
            "10": {"cycle": "5 s", "machines": 2, "scrap": 0.02, "runs_through_breaks": True},
            "20": {"cycle": "5 s"},
        },
        "stores": {"10>20": 4},
    }
    jsonschema.validate(data, cell_schema())


@pytest.mark.parametrize("slug", TABLES)
def test_every_key_is_in_schema_and_reference(slug):
    """Each row of each table is a property of the schema and a line of the page, with its help."""
    table, page = TABLES[slug], reference()
    schema = cell_schema()
    properties = (schema if slug == "cell_file" else schema["$defs"][slug])["properties"]
    assert set(properties) == {*table.key, "origin"}
    for row in table.keys:
        assert row.help in page
        assert properties[row.name]["description"].startswith(row.help)
        assert f"| `{row.name}` |" in page
        assert f"`{row.example}`" in page


def test_every_law_is_on_the_page():
    """The page lists the laws with their parameters and the sources of their formulas."""
    page = reference()
    for law in LAWS.values():
        assert f"| `{law.name}` |" in page
        assert law.source in page


@pytest.mark.parametrize("slug", TABLES)
def test_defaults_are_legal_values(slug):
    """Every default in a table can be written in a file: its own kind reads it."""
    for row in TABLES[slug].keys:
        if row.default:
            assert row.default_value() is not None or row.default == "unlimited"


@pytest.mark.parametrize("slug", TABLES)
def test_examples_are_read_by_their_own_kind(slug):
    """Every example on the page is legal for its key: a file with it has no mistake of form at that key."""
    for row in TABLES[slug].keys:
        assert row.example.startswith(f"{row.name}: ")
        text = "x: {" + row.example + "}"
        node = read_text(text, "example").values["x"].values[row.name]
        notes = Notes("example")
        row.kind.read(node, row.name, notes)
        assert notes.mistakes == []


def test_the_example_of_the_page_loads():
    """The examples of the top level make a cell together."""
    keys = {row.name: row.example for row in TABLES["cell_file"].keys}
    text = "\n".join(keys[name] for name in ("cell", "target", "shifts", "route", "stores", "release"))
    assert load_text(text + "\nstations: {press: {cycle: 24 s}, fit: {cycle: 24 s}}\n").name == "Spinning top"
    with pytest.raises(DescriptionError):
        load_text(text + "\nstations: {press: {cycle: 24 s}}\n")
