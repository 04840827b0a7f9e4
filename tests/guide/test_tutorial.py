"""The tutorial tells the truth: its commands run in order, every quoted line and number is printed."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from quoted import LEFT_OUT, TUTORIAL, Call, calls_of, pieces_of, prose_of, run

from cellsim.guide.examples import example_files, write_examples

PAGES = sorted(TUTORIAL.glob("*.md"))
YAML = re.compile(r"^```yaml\n(.*?)^```$", re.M | re.S)
WHOLE = re.compile(r"^.*`([\w.]+\.yaml)`, whole.*:\n\n```yaml\n((?:.*\n)*?)```$", re.M)
# A number that a reader would take for a figure: with decimals, or with a unit behind it.
NUMBER = re.compile(r"(?<![\w.])(\d+\.\d+|\d+(?= (?:%|s|h|min|an hour|a shift|runs|cycles|shifts|bells)\b))")
STORY = {"970"}  # rounded before anything is printed


@pytest.fixture(scope="module")
def called(tmp_path_factory):
    """All commands of the tutorial, run in order in a folder with its files, with what they printed."""
    folder = tmp_path_factory.mktemp("bell")
    write_examples(folder)
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        patch.setenv("COLUMNS", "80")
        found: dict[str, list[Call]] = {}
        for page in PAGES:
            found[page.name] = calls_of(page.read_text(encoding="utf-8"))
            for call in found[page.name]:
                call.printed = run(call)
        yield found


def test_every_quotation_is_printed(called):
    """Piece by piece, in order, to the last character; equal figures from equal cell, seed and runs."""
    assert sum(len(calls) for calls in called.values()) >= 14
    for page, calls in called.items():
        for call in calls:
            at = 0
            assert call.pieces, (page, call.words)
            for piece in call.pieces:
                found = f"\n{call.printed}\n".find(f"\n{piece}\n", at)
                assert found >= 0, f"{page}: {' '.join(call.words)} does not print this here:\n{piece}"
                at = found + len(piece)


def test_every_number_in_the_prose_can_be_seen(called):
    """What the text says of a figure stands in a quotation up to there or in a file of the tutorial."""
    seen, wrong = " ".join(text.decode() for text in example_files().values()), []
    for page in PAGES:
        seen += " ".join(piece for call in called[page.name] for piece in call.pieces)
        known = set(re.findall(r"\d+(?:\.\d+)?", seen)) | STORY
        said = NUMBER.findall(prose_of(page.read_text(encoding="utf-8")))
        wrong += [(page.name, number) for number in said if number not in known]
    assert wrong == []


def test_every_piece_of_a_cell_file_stands_in_a_file():
    """What the tutorial asks to type is in the files, line for line."""
    files = [text.decode() for name, text in example_files().items() if name.endswith(".yaml")]
    pieces = [piece for page in PAGES for piece in YAML.findall(page.read_text(encoding="utf-8"))]
    assert len(pieces) > 5
    for piece in pieces:
        lines = [line.rstrip() for line in piece.splitlines() if line.strip()]
        assert any(
            all(line in [other.rstrip() for other in text.splitlines()] for line in lines) for text in files
        ), piece


def test_a_file_that_is_quoted_whole_is_whole():
    """What is typed as printed is the file of the tutorial; no investment case is quoted in part."""
    files = {name: text.decode() for name, text in example_files().items()}
    pages = [page.read_text(encoding="utf-8") for page in PAGES]
    found = [quoted for page in pages for quoted in WHOLE.findall(page)]
    assert {name for name, _ in found} == {"bell_fixture.yaml", "bell_proposals.yaml"}
    assert [name for name, body in found if body != files[name]] == []
    cases = [piece for page in pages for piece in YAML.findall(page) if "investment:" in piece]
    assert cases == [body for _, body in found if "investment:" in body]


def test_the_cell_grows_only_by_what_the_text_says():
    """From file to file: two slips mended, stops and response added, ten minutes at the start."""
    files = {name: text.decode().splitlines()[1:] for name, text in example_files().items()}
    assert len([line for line in files["bell_1.yaml"] if line not in files["bell_2.yaml"]]) == 2
    assert [line for line in files["bell_4.yaml"] if line not in files["bell_3.yaml"]] == [
        "    start_up: 10 min"
    ]
    assert files["cells/bell.yaml"] == files["bell_4.yaml"]


def test_a_wrong_quotation_is_seen():
    """The pieces are compared as they stand: a mark of what is left out parts them."""
    assert pieces_of(f"one\ntwo\n{LEFT_OUT}\nthree\n") == ["one\ntwo", "three"]
    page = "```console\n$ cellsim check x.yaml\nfine\n```\ntext\n```output\nmore\n```\n"
    (call,) = calls_of(page)
    assert call.words == ["cellsim", "check", "x.yaml"]
    assert call.pieces == ["fine", "more"]
    assert prose_of(page) == "\ntext\n\n"


def test_files_are_never_overwritten(tmp_path):
    """Nothing is written where one of the files is there."""
    from cellsim.errors import UsageError

    (tmp_path / "bell_4.yaml").write_text("mine")
    with pytest.raises(UsageError, match=r"bell_4\.yaml exists and is not overwritten"):
        write_examples(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["bell_4.yaml"]
    written = write_examples(tmp_path / "new")
    assert {str(Path(path).relative_to(tmp_path / "new")) for path in written} == set(example_files())
