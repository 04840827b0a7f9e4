"""A study as a workbook: tidy sheets whose numbers are numbers and whose texts stay texts."""

from __future__ import annotations

import io
import os
from datetime import datetime
from pathlib import Path
from typing import Any

import xlsxwriter

from cellsim.show import Result, extent, origin, plain
from cellsim.show.screen import PLANNING
from cellsim.show.workbook_sheets import sheets
from cellsim.show.workbook_table import COUNT, NUMBER, SHARE, TEXT, Sheet, Value, is_share

MADE = datetime(2000, 1, 1)  # every workbook says so, so that equal results give equal files
LONGEST = 32_767  # characters of a text that a spreadsheet takes
NARROW, WIDE = 11, 60  # characters: the width of a column of numbers, the most of a column of text
ACROSS = 14  # columns that are printed on one page, smaller if need be
LOOKS = {NUMBER: "#,##0.00", COUNT: "#,##0", SHARE: "0.0 %"}
HEAD_COLOUR, LINE_COLOUR = "#E8EDF3", "#9FB2C8"


def save_workbook(result: Result, path: Path) -> None:
    """Write a study as a workbook; equal results give equal files.

    Numbers are those of `result.json` to 16 digits, which is what the format holds.

    Raises:
        OSError: the file cannot be written.
    """
    beside = path.with_name(path.name + ".part")
    beside.write_bytes(workbook_bytes(result))
    os.replace(beside, path)


def workbook_bytes(result: Result) -> bytes:
    """The file as bytes."""
    out = io.BytesIO()
    with xlsxwriter.Workbook(out, {"in_memory": True}) as book:
        name = plain(result["cell"]["name"])
        about = f"{PLANNING} {extent(result)}. {origin(result)}".strip()
        book.set_properties({"title": name[:250], "subject": "cellsim", "comments": about, "created": MADE})
        for sheet in sheets(result):
            _Writer(book, sheet).write()
    return out.getvalue()


class _Writer:
    """Writes one sheet."""

    def __init__(self, book: Any, sheet: Sheet) -> None:
        self.book = book
        self.sheet = sheet
        self.page = book.add_worksheet(sheet.name)
        self.looks = {kind: self._look(num_format=look) for kind, look in LOOKS.items()}
        self.whole = self._look(num_format="0")
        self.plain = self._look(align="left", indent=1)
        self.quoted = self._look(align="left", indent=1, quote_prefix=True)

    def _look(self, **more: Any) -> Any:
        return self.book.add_format({"valign": "top", **more})

    def write(self) -> None:
        """Heading, table, and how it is shown and printed."""
        sheet, page = self.sheet, self.page
        head = len(sheet.heading) + (1 if sheet.heading else 0)
        for k, text in enumerate(sheet.heading):
            title = self._look(bold=True, align="left", indent=1, font_size=14, quote_prefix=_acts(text))
            self._text(k, 0, text, title if k == 0 else None)
        lined = {"bold": True, "text_wrap": True, "bg_color": HEAD_COLOUR, "bottom": 1}
        look = self._look(**lined, border_color=LINE_COLOUR, align="left", indent=1)
        right = self._look(**lined, border_color=LINE_COLOUR, align="right")
        for k, column in enumerate(sheet.columns):
            self._text(head, k, column.head, look if column.kind == TEXT else right)
            page.set_column(k, k, self._width(k))
        lines = max(-(-len(c.head) // self._letters(k)) for k, c in enumerate(sheet.columns))
        page.set_row(head, 16 * min(8, lines))
        for r, row in enumerate(sheet.rows, head + 1):
            for k, value in enumerate(row):
                self._cell(r, k, value, self._kind(row, k))
        page.freeze_panes(head + 1, 1)
        page.autofilter(head, 0, head + max(1, len(sheet.rows)), len(sheet.columns) - 1)
        page.set_landscape()
        page.set_paper(9)  # A4
        page.fit_to_pages(1 if len(sheet.columns) <= ACROSS else 0, 0)
        page.repeat_columns(0)
        page.repeat_rows(head)
        page.set_footer("&L&A&Rpage &P of &N")

    def _kind(self, row: list[Value], k: int) -> str:
        """How a value is shown: by its column, or in a list of figures by the unit of its row."""
        kind = self.sheet.columns[k].kind
        if self.sheet.by_row and kind == NUMBER:
            return SHARE if is_share(str(row[4])) else NUMBER
        return kind

    def _cell(self, r: int, k: int, value: Value, kind: str) -> None:
        if value is None:
            return
        if isinstance(value, str):
            self._text(r, k, value)
            return
        if kind == NUMBER and self.sheet.by_row and isinstance(value, int):
            kind = COUNT
        self.page.write_number(r, k, value, self.whole if kind == TEXT else self.looks[kind])

    def _text(self, r: int, k: int, text: str, look: Any = None) -> None:
        """A text that stays one also when somebody edits the cell: marked as if typed after a quote."""
        usual = self.quoted if _acts(text) else self.plain
        self.page.write_string(r, k, text[:LONGEST], look or usual)

    def _letters(self, k: int) -> int:
        """Letters of a head on one line."""
        return max(1, self._width(k) - 1)

    def _width(self, k: int) -> int:
        """Characters: as wide as the longest text or a number; heads are wrapped, their words are not cut."""
        words = max(len(word) for word in self.sheet.columns[k].head.split(" ")) + 3
        texts = [row[k] for row in self.sheet.rows]
        longest = max((len(text) for text in texts if isinstance(text, str)), default=0)
        return min(WIDE, max(NARROW, words, longest + 3))


def _acts(text: str) -> bool:
    """Whether a spreadsheet would take this text, if typed, for a formula."""
    return text[:1] in ("=", "+", "-", "@")
