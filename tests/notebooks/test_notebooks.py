"""The notebooks run in a fresh kernel, say what is stored in them, and are small and plain."""

from __future__ import annotations

import re
import subprocess
import sys

import nbformat
import pytest
from executed import FOLDER, executed, notebooks, plain_form, texts

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning")  # of the library that talks to kernels
NAMES = [file.name for file in notebooks()]


def test_all_four_are_there():
    """A line by hand, buffers, variation, luck."""
    assert [name[:2] for name in NAMES] == ["01", "02", "03", "04"]


@pytest.mark.parametrize("name", NAMES)
def test_a_fresh_run_says_what_is_stored(name, tmp_path):
    """No cell fails, and every text that is printed or shown is that of the file, to the last digit."""
    stored = nbformat.read(FOLDER / name, as_version=4)
    fresh = executed(FOLDER / name, tmp_path)
    assert list(texts(fresh)) == list(texts(stored))
    assert sum(1 for _ in texts(stored)) >= 6
    kinds = {output.output_type for cell in stored.cells for output in cell.get("outputs", [])}
    assert "error" not in kinds


@pytest.mark.parametrize("name", NAMES)
def test_it_is_small_and_plain(name):
    """Valid, in its plain form, without what belongs to one machine, one day or one version."""
    file = FOLDER / name
    notebook = nbformat.read(file, as_version=4)
    nbformat.validate(notebook)
    assert plain_form(nbformat.read(file, as_version=4)) == notebook
    assert file.stat().st_size < 150_000
    told = "\n".join(text for _, _, text in texts(notebook))
    assert not re.search(r"cellsim \d+\.\d+|description [0-9a-f]{12}|/tmp/|/home/|20\d\d-\d\d-\d\dT", told)


@pytest.mark.parametrize("name", NAMES)
def test_it_is_a_lesson(name):
    """A title, headings, prose before code, something to do, sources with a year."""
    notebook = nbformat.read(FOLDER / name, as_version=4)
    prose = "\n".join(cell.source for cell in notebook.cells if cell.cell_type == "markdown")
    assert notebook.cells[0].source.startswith("# ")
    assert len(re.findall(r"^## ", prose, re.M)) >= 3
    assert "**To do.**" in prose
    assert re.search(r"\*Sources\.\* .*\((18|19|20)\d\d\)", prose)


def test_a_changed_output_is_seen(tmp_path):
    """The comparison can fail: one digit more in a stored output is found."""
    stored = nbformat.read(FOLDER / NAMES[0], as_version=4)
    before = list(texts(stored))
    cell = next(cell for cell in stored.cells if cell.get("outputs"))
    cell.outputs[0].text += "0"
    assert list(texts(stored)) != before


def test_the_code_of_the_notebooks_is_clean():
    """The linter and the formatter of the repository find nothing in them."""
    for words in (["check"], ["format", "--check"]):
        call = [sys.executable, "-m", "ruff", *words, *map(str, notebooks())]
        done = subprocess.run(call, capture_output=True, text=True)
        assert done.returncode == 0, done.stdout + done.stderr
