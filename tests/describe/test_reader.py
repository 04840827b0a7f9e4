"""Hostile files are refused without much work, and the tree keeps every text and place as written."""

import os

import pytest
import yaml
from counted import little_work

from cellsim.describe import reader
from cellsim.describe.resolve import load, load_text
from cellsim.describe.tree import Listing, Mapping, Text
from cellsim.errors import DescriptionError

LOADERS = [yaml.SafeLoader] + ([yaml.CSafeLoader] if hasattr(yaml, "CSafeLoader") else [])


@pytest.fixture(params=LOADERS, ids=lambda loader: loader.__name__)
def either_loader(request, monkeypatch):
    """Both parsers of the YAML library, the one written in C and the plain one."""
    monkeypatch.setattr(reader, "_LOADER", request.param)


def refusal(text, name="x.yaml"):
    """The text with which a description is refused, without much work."""
    with little_work(), pytest.raises(DescriptionError) as caught:
        load_text(text, name)
    return str(caught.value)


HOSTILE = {
    "brackets": ("[" * 10_000, "nested more than 40 deep"),
    "braces": ("{a: " * 10_000, "nested more than 40 deep"),
    "dashes": ("- " * 10_000, "nested more than 40 deep"),
    "question marks": ("? " * 10_000, "nested more than 40 deep"),
    "aliases": (
        "a: &a [x, x]\n" + "".join(f"b{i}: &b{i} [*a, *a]\n" for i in range(30)),
        "anchors and aliases",
    ),
    "quotes": ('"' * 9_999, "something stands after the end of the description"),
    "empty lines": ("\n" * 900_000, "the file is empty"),
    "comments": ("# x\n" * 240_000, "the file is empty"),
    "colons": (":" * 5_000, 'a second ":" in one line'),
    "tabs": ("\t" * 5_000, "a tab; use spaces"),
    "spaces": (" " * 900_000 + "\x00", "a NUL"),
    "many names": ("a: [" + "1," * 30_000 + "]", '"a" is no key of a cell file'),
}


@pytest.mark.parametrize("case", HOSTILE, ids=str)
def test_hostile_text_is_refused_at_once(case):
    """Depth, repetition and size cost no time and never a crash."""
    text, said = HOSTILE[case]
    assert said in refusal(text)


def many(count, form):
    """Text with a number in it, many times."""
    return ", ".join(form.format(i) for i in range(count))


LARGE = {
    "stations": (f"cell: x\nroute: [s0]\nstations: {{{many(12_000, 's{}: {{cycle: 0 s}}')}}}", "too many"),
    "unknown names": (
        f"cell: x\nroute: [{many(15_000, 'n{}')}]\nstations: {{a: {{cycle: 1 s}}}}",
        "no station",
    ),
    "unknown keys": ("cell: x\n" + "\n".join(f"k{i}: 1" for i in range(20_000)), "no key"),
    "zero cycles": (
        f"cell: x\nroute: [{many(500, 's{}')}]\nstations: {{{many(500, 's{}: {{cycle: 0 s}}')}}}",
        "never stop",
    ),
    "elements": (
        f"cell: x\nroute: [a]\nstations: {{a: {{work: [{many(8_000, '{{do: e{}, time: 1 s}}')}]}}}}",
        "8000 entries are too many; at most 100 are possible",
    ),
    "written out": (
        f"cell: x\nroute: [{many(70, 's{}')}]\n"
        f"stations: {{{many(70, 's{}: {{work: [' + many(100, '{{{{do: e, time: 1 s}}}}') + ']}}')}}}",
        "written out in full, the cell would have more than 50000 keys and values",
    ),
    "points": (
        f"cell: x\nroute: [{many(200, 's{}')}]\nstations: {{{many(200, 's{}: {{cycle: 1 s}}')}}}\n"
        f"layout: {{{many(200, 's{0}: [{0} m, 0 m]')}}}\n"
        f"crew: {{A: {{walks: 1 m/s, works_at: [{many(200, 's{}')}]}}}}",
        "ways between points",
    ),
    "people": (
        f"cell: x\nroute: [a]\nstations: {{a: {{cycle: 1 s, by: {{{many(20, 'p{}: 100')}}}}}}}\n"
        f"crew: {{{many(20, 'p{}: {{people: 100}}')}}}",
        "more than 8 different helpers",
    ),
    "lines": (
        f"cell: x\nroute: [a]\nstations: {{a: {{cycle: 1 s}}, {many(499, 's{}: {{cycle: 1 s}}')}}}\n"
        f"lines: {{{many(499, 'l{0}: [s{0}]')}}}",
        "",
    ),
}


@pytest.mark.parametrize("case", LARGE, ids=str)
def test_large_descriptions_take_no_longer(case):
    """What passes the reader is bounded too: entries, ways, helpers, and the size of the resolved form."""
    text, said = LARGE[case]
    if said:
        assert said in refusal(text)
    else:
        with little_work():
            load_text(text)


@pytest.mark.parametrize("text", ["[" * 400, "{a: " * 400, "- " * 400], ids=["brackets", "braces", "dashes"])
def test_depth_is_bounded_with_either_parser(either_loader, text):
    """Forty levels are the limit whichever parser reads, and the place is that of the level too many."""
    column = 1 + 40 * len(text) // 400
    assert refusal(text) == f"x.yaml:1:{column}: nested more than 40 deep"


def test_forty_levels_are_allowed(either_loader):
    """A mapping with 39 lists inside is read; it fails later, for what it says."""
    assert "nested" not in refusal("a: " + "[" * 39 + "]" * 39)
    assert "nested more than 40 deep" in refusal("a: " + "[" * 40 + "]" * 40)


def test_too_many_values():
    """More than 50 000 keys and values are refused where the limit is passed."""
    text = "a:\n" + "- 1\n" * 50_010
    assert refusal(text) == "x.yaml:49999:3: more than 50000 keys and values"


def test_a_big_file_is_refused_before_it_is_read(tmp_path, monkeypatch):
    """A file of 10 MB is refused by its size, without opening it."""
    file = tmp_path / "big.yaml"
    file.write_bytes(b"a" * 10_000_000)
    monkeypatch.setattr("pathlib.Path.open", lambda *a, **k: pytest.fail("the file was opened"))
    with pytest.raises(DescriptionError) as caught:
        load(file)
    assert str(caught.value) == "big.yaml: 10000000 bytes are too many; a cell file has at most 1000000"


def test_a_big_text_is_refused():
    """A text over the limit is refused by its size in bytes, not in letters."""
    assert refusal("é" * 600_000) == "x.yaml: 1200000 bytes are too many; a cell file has at most 1000000"


def test_what_is_no_file(tmp_path):
    """A folder, a missing file and a pipe are refused; a pipe would wait for ever if it were read."""
    with pytest.raises(DescriptionError, match="this is not a file"):
        load(tmp_path)
    with pytest.raises(DescriptionError, match=r"cannot be read \(No such file or directory\)"):
        load(tmp_path / "none.yaml")
    os.mkfifo(tmp_path / "pipe.yaml")
    with pytest.raises(DescriptionError, match="this is not a file"):
        load(tmp_path / "pipe.yaml")
    with pytest.raises(DescriptionError, match="cannot be read"):
        load("bad\0name.yaml")


def test_byte_order_mark_is_accepted(tmp_path):
    """A UTF-8 file may begin with a byte order mark, as some editors write it."""
    file = tmp_path / "bom.yaml"
    file.write_bytes(b"\xef\xbb\xbfcell: x\r\nroute: [a]\r\nstations: {a: {cycle: 5 s}}\r\n")
    assert load(file).name == "x"
    assert load_text("\ufeffcell: x\nroute: [a]\nstations: {a: {cycle: 5 s}}").name == "x"


def test_every_scalar_is_text(either_loader):
    """What YAML would turn into a number, truth value, date or base-60 number stays as it was written."""
    text = "a: [14:00, on, no, 010, 0755, 1e3, 1_000, 2024-01-02, 0x1F, .inf, '10', \"7\"]"
    tree = reader.read_text(text, "x.yaml")
    items = tree.values["a"].items
    assert [item.text for item in items] == [
        "14:00", "on", "no", "010", "0755", "1e3", "1_000", "2024-01-02", "0x1F", ".inf", "10", "7",
    ]  # fmt: skip
    assert [item.quoted for item in items] == [False] * 10 + [True] * 2


def test_places_count_from_one(either_loader):
    """Keys, values, list items and nested mappings know their line and column."""
    tree = reader.read_text("a: 1\nb:\n  - x\n  - {c: é, d: y}\n", "x.yaml")
    assert isinstance(tree, Mapping)
    assert (tree.keys["b"].line, tree.keys["b"].column) == (2, 1)
    listing = tree.values["b"]
    assert isinstance(listing, Listing)
    assert (listing.line, listing.column) == (3, 3)
    assert listing.items[0] == Text("x", 3, 5)
    inner = listing.items[1]
    assert isinstance(inner, Mapping)
    assert inner.values["d"] == Text("y", 4, 15)


@pytest.mark.parametrize("word", ["", "~", "null", "NULL", "None"])
def test_blank_words(either_loader, word):
    """Nothing and its other spellings are blank without quotes; in quotes they are text."""
    tree = reader.read_text(f"a: {word}\nb: '{word}'\n", "x.yaml")
    assert tree.values["a"].blank
    assert tree.values["b"].blank == (word == "")


def test_unclosed_brace_names_where_reading_stopped():
    """Words of the parser are never shown; its place is."""
    assert refusal("cell: {a: 1\nb: 2\n") == (
        'x.yaml:2:2: a "{" is not closed, or a comma is missing; it opens in line 1'
    )
