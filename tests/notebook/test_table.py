"""Tables with units: what they hold, how they show themselves, and what becomes of them in pandas."""

from __future__ import annotations

import math
import sys
from html.parser import HTMLParser

import pandas
import pytest

from cellsim.errors import UsageError
from cellsim.notebook.table import Column, Table

HOSTILE = "<script>alert('x')</script> & \"co\""


@pytest.fixture
def table() -> Table:
    """Three rows with numbers, a gap, a word and a yes or no."""
    return Table(
        "Stores",
        (
            Column("store"),
            Column("places", "units"),
            Column("stay", "s"),
            Column("full"),
            Column("none", "s"),
        ),
        (("tray", 8, 12.5, True, None), ("rack", None, 0.25, False, None), ("box", 1200, None, False, None)),
    )


class Reader(HTMLParser):
    """The rows of a table in HTML, and every tag that stands in it."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self.tags: list[str] = []
        self.open: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        if tag != "br":
            self.open.append(tag)
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self.rows[-1].append("")

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if "tr" in self.open:
            self.rows[-1][-1] += data


def test_values_by_name_and_by_row(table: Table) -> None:
    """Columns by name or label, rows as tuples."""
    assert table["store"] == ["tray", "rack", "box"]
    assert table["places"] == table["places [units]"] == [8, None, 1200]
    assert (len(table), list(table)[1]) == (3, ("rack", None, 0.25, False, None))
    with pytest.raises(KeyError, match=r"there is store, places \[units\], stay \[s\], full"):
        table["colour"]


def test_a_name_that_stands_twice_needs_its_unit() -> None:
    """`wait` in s and in min."""
    table = Table("Waits", (Column("wait", "s"), Column("wait", "min")), ((60.0, 1.0),))
    assert table["wait [min]"] == [1.0]
    with pytest.raises(KeyError, match="'wait'"):
        table["wait"]


def test_what_is_no_table_is_refused() -> None:
    """Rows of another length, and two columns with one label."""
    with pytest.raises(ValueError, match="Stores: a row of 1 values under 2 columns"):
        Table("Stores", (Column("a"), Column("b")), (("x",),))
    with pytest.raises(ValueError, match="Stores: two columns have the same label"):
        Table("Stores", (Column("a", "s"), Column("a", "s")), ())


def test_as_text(table: Table) -> None:
    """Title, names, units, then rows; numbers to the right, nothing where there is no value."""
    assert repr(table).splitlines() == [
        "Stores",
        "store  places  stay  full  none",
        "        units     s        s",
        "tray        8  12.5  yes",
        "rack           0.25  no",
        "box      1200        no",
    ]


def test_as_html(table: Table) -> None:
    """The same cells, every tag closed, units below the names."""
    read = Reader(table._repr_html_())
    assert read.rows == [
        ["store\xa0", "placesunits", "stays", "full\xa0", "nones"],
        ["tray", "8", "12.5", "yes", ""],
        ["rack", "", "0.25", "no", ""],
        ["box", "1200", "", "no", ""],
    ]
    assert read.open == []


def test_markup_in_names_is_shown_as_it_is_written() -> None:
    """In title, column, unit and value: no tag comes from them, and the text can be read."""
    table = Table(HOSTILE, (Column(HOSTILE, HOSTILE),), ((HOSTILE,), ("\x1b[2J",)))
    text = table._repr_html_()
    read = Reader(text)
    assert set(read.tags) == {"table", "caption", "thead", "tbody", "tr", "th", "td", "br", "small"}
    assert read.rows == [[HOSTILE * 2], [HOSTILE], ["?[2J"]]
    assert "\x1b" not in text + repr(table)


def test_as_data_frame(table: Table) -> None:
    """Units in the labels, numbers numeric, NaN where there is no value, also where there is none at all."""
    frame = table.to_frame()
    assert list(frame.columns) == ["store", "places [units]", "stay [s]", "full", "none [s]"]
    assert [frame[label].dtype.kind for label in frame.columns[1:]] == ["f", "f", "b", "f"]
    assert not pandas.api.types.is_numeric_dtype(frame["store"])
    assert frame["stay [s]"].sum() == 12.75
    assert math.isnan(frame["places [units]"][1])
    assert frame["none [s]"].isna().all()
    assert frame.attrs["title"] == "Stores"
    assert frame.attrs["units"] == {
        "store": "", "places [units]": "units", "stay [s]": "s", "full": "", "none [s]": "s"
    }  # fmt: skip


def test_whole_numbers_stay_whole_and_no_rows_are_a_frame_too() -> None:
    """A count is an integer; an empty table has its columns."""
    counts = Table("Counts", (Column("count"),), ((1,), (2,)))
    assert counts.to_frame()["count"].dtype.kind == "i"
    empty = Table("Counts", (Column("who"), Column("time", "s")), ())
    assert empty.to_frame().shape == (0, 2)
    assert repr(empty).splitlines() == ["Counts", "who  time", "     s"]
    assert Reader(empty._repr_html_()).rows == [["who\xa0", "times"]]


def test_without_pandas_it_is_told(table: Table, monkeypatch: pytest.MonkeyPatch) -> None:
    """How to install it."""
    monkeypatch.setitem(sys.modules, "pandas", None)
    with pytest.raises(UsageError, match="pip install pandas"):
        table.to_frame()
