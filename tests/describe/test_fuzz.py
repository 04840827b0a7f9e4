"""No text does more than raise DescriptionError, and whatever loads resolves to itself."""

import re
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cellsim.describe import reader
from cellsim.describe.resolve import load_text, resolved_text
from cellsim.describe.spec import TABLES
from cellsim.errors import DescriptionError

HERE = Path(__file__).parent
FILES = sorted((HERE.parents[1] / "scenarios").glob("*.yaml")) + sorted((HERE / "right").glob("*.yaml"))
TEXTS = [file.read_text(encoding="utf-8") for file in FILES]
KEYS = sorted({row for table in TABLES.values() for row in table.key})
VALUES = [
    "24 s", "8", "3 %", "yes", "no", "a", "press", "tray", "A", "R1", "unlimited", "0 s", "0", "100 %",
    "nobody",
    "scrap", "finished", "release", "day", "20 min of running", "900 cycles", "lognormal", "06:00",
    "every 5 s",
    "2 shifts", "a > b", "in front", "raw:x", "out:x", "a>b", "measured", "1e400", "~", '""', "cards 2",
    "[a]", "{}",
    "[]", "{a: 1}", "{press: 8}", "[press, press]",
]  # fmt: skip
FEW = settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def survives(text):
    """The text loads to a cell that is its own resolved form, or is refused with a message."""
    try:
        cell = load_text(text)
    except DescriptionError as error:
        assert error.mistakes
        assert all(mistake.message for mistake in error.mistakes)
        return False
    resolved = resolved_text(cell)
    assert load_text(resolved) == cell
    assert resolved_text(load_text(resolved)) == resolved
    return True


@FEW
@given(st.text(max_size=300))
def test_any_text(text):
    """Random letters."""
    survives(text)


@FEW
@given(st.binary(max_size=200))
def test_any_bytes(data):
    """Random bytes."""
    try:
        survives(reader.decode(data, "x.yaml"))
    except DescriptionError as error:
        assert str(error)


@FEW
@given(st.text(alphabet="{}[]:,-'\"#&*!|>%@?~<=\n abc01", max_size=120))
def test_any_text_of_signs(text):
    """Random signs that mean something in YAML."""
    survives("cell: x\n" + text)


@FEW
@given(st.data())
def test_cells_with_a_word_changed(data):
    """Real cells in which words are exchanged for others or lines are lost or doubled."""
    text = data.draw(st.sampled_from(TEXTS))
    for _ in range(data.draw(st.integers(1, 3))):
        words = list(re.finditer(r"[\w.%]+(?: (?:s|min|h|%))?", text))
        what = data.draw(st.sampled_from(["word", "word", "drop", "double"]))
        if what == "word" and words:
            word = words[data.draw(st.integers(0, len(words) - 1))]
            text = text[: word.start()] + data.draw(st.sampled_from(VALUES + KEYS)) + text[word.end() :]
        else:
            lines = text.split("\n")
            where = data.draw(st.integers(0, len(lines) - 1))
            lines[where : where + 1] = [] if what == "drop" else [lines[where]] * 2
            text = "\n".join(lines)
    survives(text)


@FEW
@given(st.dictionaries(st.sampled_from(KEYS), st.sampled_from(VALUES), max_size=4), st.sampled_from(VALUES))
def test_stations_of_any_keys(keys, other):
    """Any keys with any values in a station, and any value for the crew."""
    inner = ", ".join(f"{key}: {value}" for key, value in keys.items())
    survives(f"cell: x\nroute: [a, b]\nstations: {{a: {{{inner}}}, b: {{cycle: 5 s}}}}\ncrew: {other}\n")


def test_the_check_of_these_tests_can_tell():
    """Real cells survive by loading, nonsense by being refused."""
    assert all(survives(text) for text in TEXTS)
    assert not survives("nonsense")
