"""One tiny file per way to be wrong, each with the exact text that its author must read."""

from pathlib import Path

import pytest

from cellsim.describe.resolve import load
from cellsim.errors import DescriptionError, Mistake

WRONG = Path(__file__).parent / "wrong"
FILES = sorted(WRONG.glob("*.yaml"))


def test_the_corpus_is_large():
    """At least 70 ways to be wrong are kept, each with its expected text beside it."""
    assert len(FILES) >= 70
    assert {file.stem for file in FILES} == {file.stem for file in WRONG.glob("*.txt")}


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_the_message_is_exactly_this(file):
    """A wrong file gives every mistake of the stage that finds it: file, line, column, path and advice."""
    with pytest.raises(DescriptionError) as caught:
        load(file)
    assert caught.value.report() + "\n" == file.with_suffix(".txt").read_text(encoding="utf-8")
    assert caught.value.exit_code == 2


def test_mistakes_are_sorted_by_place():
    """Mistakes are told in the order of the file, however they were found."""
    late, early = Mistake("c.yaml", 9, 1, "b", "two"), Mistake("c.yaml", 2, 7, "a", "one", "three")
    assert str(DescriptionError([late, early])) == "c.yaml:2:7: a: one; three\nc.yaml:9:1: b: two"
    assert str(Mistake("c.yaml", 0, 0, "", "too big")) == "c.yaml: too big"
