"""Tables that the shop floor keeps: any usual delimiter, encoding and order of columns, titles above them.

Repairs are listed, and columns that nobody reads are kept by their headings.

Nothing is guessed silently: what can be read in two ways is a mistake that says how to settle it.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from pathlib import Path

from cellsim.errors import DescriptionError, Mistake, UsageError
from cellsim.units import quoted

MOST_BYTES = 20_000_000
MOST_ROWS = 500_000
MOST_MISTAKES = 50
SHOWN_HEADINGS = 5  # other headings of a column that is missing that are told
LIKE = 0.75  # how alike in spelling a heading is to one that is known to be proposed for it, at most 1
SHARED = {"time", "date"}  # words that headings of several columns have
MOST_TITLES = 30  # lines among which headings are looked for that stand below a title
DELIMITERS = (";", "\t", ",", "|")
IN_WORDS = {";": "semicolons", "\t": "tabs", ",": "commas", "|": "bars"}
SECONDS = {
    "s": 1.0, "sec": 1.0, "second": 1.0, "seconds": 1.0, "min": 60.0, "minute": 60.0, "minutes": 60.0,
    "cmin": 0.6, "1/100 min": 0.6, "min/100": 0.6, "hm": 0.6, "hundredths of a minute": 0.6,
    "h": 3600.0, "hour": 3600.0, "hours": 3600.0, "ms": 1e-3, "tmu": 0.036,
}  # fmt: skip
_BOMS = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)
_NEVER_1252 = b"\x81\x8d\x8f\x90\x9d"
_LINE_END = re.compile(r"\r\n|\n|\r")
_READING_NO = re.compile(r"(?:(?:cycle|reading|round|observation|no|nr|c|#)[ .]*)?(\d{1,4})")


_SUMMARY = re.compile(
    r"(?:mean|average|avg|median|total|sum|mittelwert|durchschnitt|summe|gesamt|std\.? ?dev"
    r"|standard deviation|min|max|minimum|maximum|ø)\b\.?"
    r"(?: (?:time|value|of|all|cycles?|readings?|s)\b.*)?[ :=]*"
)


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a kind of record: its name, other headings it goes by, whether it must be there.

    `instead` is a column that does in its place.
    """

    name: str
    also: tuple[str, ...] = ()
    needed: bool = True
    instead: Column | None = None


@dataclass(frozen=True, slots=True)
class Row:
    """One record: the line of the file on which it begins, and its texts by name."""

    line: int
    texts: dict[str, str]

    def __getitem__(self, name: str) -> str:
        return self.texts.get(name, "")


@dataclass(frozen=True, slots=True)
class Unused:
    """A column that was not read: place from 1, heading (empty where it has none), its filled cells."""

    place: int
    heading: str
    cells: tuple[str, ...]


@dataclass
class Table:
    """A table with its headings found and nothing read yet.

    `line` is that of the headings; `rows` are lines of the file and cells, `aside` those that were asked to
    be left out, whether they can be read or not; `repairs` say what was decided.
    """

    file: str
    delimiter: str
    line: int
    headings: list[str]
    rows: list[tuple[int, list[str]]]
    aside: list[tuple[int, list[str]]]
    repairs: list[str]

    def numbered(self) -> dict[str, str]:
        """Headings that number readings side by side (`1`, `cycle 2`), by number; empty for less than two."""
        return _numbered(self.headings)


@dataclass
class Records:
    """A table as it was read.

    `headings` are the headings of the file by column name, `places` their positions from 1; `repairs` say
    what was changed or decided in reading, `mistakes` gather while values are read; of those beyond the most
    that are listed only the number is kept, `unlisted`.  `line` is that of the headings, `unused` the columns
    that nobody asked for, `aside` the rows that were left out as asked.
    """

    file: str
    delimiter: str
    headings: dict[str, str]
    places: dict[str, int]
    rows: list[Row]
    repairs: list[str] = field(default_factory=list)
    mistakes: list[Mistake] = field(default_factory=list)
    unlisted: int = 0
    line: int = 1
    unused: list[Unused] = field(default_factory=list)
    aside: list[Row] = field(default_factory=list)

    def has(self, name: str) -> bool:
        """Whether the file has a column."""
        return name in self.places

    def wrong(self, row: Row | None, name: str, message: str, hint: str = "") -> None:
        """Note a mistake in a row and column."""
        line = row.line if row is not None else self.line
        if len(self.mistakes) < MOST_MISTAKES:
            place = self.places.get(name, 1)
            self.mistakes.append(
                Mistake(self.file, line, place, self.headings.get(name, name), message, hint)
            )
        else:
            self.unlisted += 1

    def repaired(self, row: Row, what: str) -> None:
        """Note a change that was made to a row."""
        self.repairs.append(f"line {row.line}: {what}")

    def leave_out_summaries(self, texts_of: Callable[[Row], Iterable[str]]) -> None:
        """Take out the rows in which one of some texts names a mean or a sum, and list them."""
        kept = []
        for row in self.rows:
            word = next((text for text in texts_of(row) if is_summary(text)), "")
            if word:
                self.repaired(row, f"a summary row ({word}); left out")
            else:
                kept.append(row)
        self.rows = kept

    def stop_if_wrong(self) -> None:
        """Raise DescriptionError with every mistake that was noted; its columns are those of the table."""
        if self.mistakes:
            raise DescriptionError(self.mistakes, self.unlisted)


def tell_leave_out(records: Records) -> None:
    """Mistakes of a line that name no call yet name the one that leaves their line out."""
    lines = {row.line for row in records.rows}
    records.mistakes[:] = [
        replace(wrong, hint=f"{_before_a_call(wrong.hint)} leave the line out with --leave-out {wrong.line}")
        if wrong.line in lines and "--" not in wrong.hint
        else wrong
        for wrong in records.mistakes
    ]


def _before_a_call(hint: str) -> str:
    """A hint as it stands before another way out."""
    return f"{hint} If not," if hint.endswith("?") else f"{hint or 'correct it'}, or"


def read_records(path: Path, columns: Sequence[Column], delimiter: str = "") -> Records:
    """Read a table: `find_table`, then `records_of`."""
    return records_of(find_table(path, columns, delimiter), columns)


def find_table(
    path: Path, columns: Sequence[Column], delimiter: str = "", leave_out: Iterable[int] = ()
) -> Table:
    """Find the headings of a table, in any order, upper or lower case, and cut its rows into cells.

    The headings stand in the line among the first ones that has most of `columns`; what stands above it is
    listed as a repair.  Empty lines are skipped.  Lines `leave_out` are put aside before anything is read.
    Encodings: UTF-8, UTF-16 with its mark, else Windows-1252, which is listed as a repair.

    Raises:
        UsageError: the file cannot be read, is too large, or no line looks like its headings.
    """
    text, repairs = _text_of(path)
    asked = set(leave_out)
    line, mark = _headings_line(path.name, text, columns, delimiter, asked)
    rows, aside = _rows(path.name, text, mark, asked)
    at = max(k for k, (begins, _) in enumerate(rows) if begins <= line)
    if at:
        where = "line 1" if line == 2 else f"lines 1-{rows[at][0] - 1}"
        verb = "was" if line == 2 else "were"
        repairs.append(f"{where} above the headings {verb} not read: {quoted(' '.join(rows[0][1]), 40)}")
    if len(rows) - at - 1 > MOST_ROWS:
        raise UsageError(f"{path.name} has {len(rows) - at - 1} rows; at most {MOST_ROWS} are read")
    return Table(path.name, mark, rows[at][0], rows[at][1], rows[at + 1 :], aside, repairs)


def records_of(table: Table, columns: Sequence[Column]) -> Records:
    """The rows of a table by the names of columns; other columns are kept as `unused`.

    Raises:
        DescriptionError: headings are missing or there twice, or rows do not fit, with line and column: a row
            with too many cells, or one that repeats the headings.
    """
    file, mark, headings = table.file, table.delimiter, table.headings
    records = Records(file, mark, {}, {}, [], table.repairs, line=table.line)
    _find_columns(records, table.line, headings, columns)
    records.stop_if_wrong()
    for line, cells in table.rows:
        extra = [cell for cell in cells[len(headings) :] if cell]
        if extra:
            records.mistakes.append(
                Mistake(
                    file,
                    line,
                    len(headings) + 1,
                    "",
                    f"{quoted(extra[0])} stands beyond the last heading",
                    f"cells are separated by {IN_WORDS[mark]} here; put texts that hold one in quotes",
                )
            )
            continue
        if again := _repeated(cells, headings, records.places.values()):
            records.mistakes.append(Mistake(file, line, 1, "", f"line {line} {again}", "delete it"))
            continue
        records.rows.append(_row(records, line, cells))
    records.stop_if_wrong()
    records.aside = [_row(records, line, cells) for line, cells in table.aside]
    records.unused = _unused(table, set(records.places.values()))
    return records


def _row(records: Records, line: int, cells: Sequence[str]) -> Row:
    return Row(line, {name: cells[k - 1] for name, k in records.places.items() if k <= len(cells)})


def _unused(table: Table, used: set[int]) -> list[Unused]:
    """The columns that were not asked for and have a heading or a filled cell."""
    found = []
    for place, heading in enumerate(table.headings, start=1):
        if place in used:
            continue
        cells = tuple(row[place - 1] for _, row in table.rows if place <= len(row) and row[place - 1])
        if heading or cells:
            found.append(Unused(place, heading, cells))
    return found


def _headings_line(
    name: str, text: str, columns: Sequence[Column], delimiter: str, asked: set[int]
) -> tuple[int, str]:
    """The line with most of the columns needed, then most of all, the first of equals, and its delimiter.

    The most cells decide a tie between delimiters.
    """
    marks = (delimiter,) if delimiter else DELIMITERS
    filled = [(k, line) for k, line in enumerate(_LINE_END.split(text), 1) if line.strip() and k not in asked]
    if not filled:
        raise UsageError(f"{name} is empty; its first line holds headings such as {_names(columns)}")
    best, found = (0, 0), (0, "")  # columns needed and of all kinds; line and delimiter
    for number, line in filled[:MOST_TITLES]:
        fits = {mark: _fit(_cells(line, mark), columns) for mark in marks}
        mark = max(marks, key=lambda mark: fits[mark])
        if fits[mark][:2] > best:
            best, found = fits[mark][:2], (number, mark)
    if not found[0]:
        raise UsageError(f"{name}: {_no_headings(filled[:MOST_TITLES], columns, marks)}")
    return found


def _fit(cells: Sequence[str], columns: Sequence[Column]) -> tuple[int, int, int]:
    """How many of the columns needed and of all a line of headings has, and how many cells; numbered readings
    count as one that is needed."""
    known = [column for column in columns if any(is_heading(cell, column) for cell in cells)]
    numbered = bool(known and _numbered(cells))
    return sum(column.needed for column in known) + numbered, len(known) + numbered, len(cells)


def _no_headings(filled: Sequence[tuple[int, str]], columns: Sequence[Column], marks: Sequence[str]) -> str:
    """What to say where no line has a heading that is known: which one looks like headings."""

    def words(line: str) -> int:
        cut = max((_cells(line, mark) for mark in marks), key=len)
        return sum(any(c.isalpha() for c in cell) - cell[:1].isdigit() for cell in cut)

    number, line = max(filled, key=lambda entry: words(entry[1]))
    if number == filled[0][0]:
        which = "the first line has none of the headings"
        return f"{which} {_names(columns)}; it is {quoted(line, 40)}"
    return (
        f"no line has one of the headings {_names(columns)}; line {number} looks most like headings:"
        f" {quoted(line, 40)}. Rename them there"
    )


def _numbered(headings: Sequence[str]) -> dict[str, str]:
    found: dict[str, str] = {}
    for heading in headings:
        if number := _READING_NO.fullmatch(heading_words(heading)):
            found.setdefault(str(int(number[1])), heading)
    ordered = list(found) == sorted(found, key=int)
    return found if len(found) >= 2 and ordered else {}


def _repeated(cells: Sequence[str], headings: Sequence[str], places: Iterable[int]) -> str:
    """How a row repeats the headings: the same, or with another unit; empty if it does not."""
    pairs = [(cells[k - 1], headings[k - 1]) for k in places if k <= len(cells)]
    if not pairs or any(heading_words(cell) != heading_words(heading) for cell, heading in pairs):
        return ""
    same = all(cell.casefold() == heading.casefold() for cell, heading in pairs)
    return "repeats the headings" + (
        "" if same else " with another unit; give its rows in a file of their own"
    )


def _text_of(path: Path) -> tuple[str, list[str]]:
    """The text of a file and what was decided about its encoding."""
    try:
        size = path.stat().st_size
        if size > MOST_BYTES:
            raise UsageError(f"{path.name} has {size} bytes; at most {MOST_BYTES} are read")
        data = path.read_bytes()
    except OSError as error:
        raise UsageError(f"{path} cannot be read: {error.strerror}") from None
    if data.startswith(b"PK\x03\x04") or data.startswith(b"\xd0\xcf\x11\xe0"):
        kind = "this is an Excel file" if b"xl/" in data or data[:1] != b"P" else "this is a packed file"
        raise UsageError(f"{path.name}: {kind}; save it as CSV")
    for bom, encoding in _BOMS:
        if data.startswith(bom):
            try:
                return data.decode(encoding), []
            except UnicodeDecodeError:
                raise UsageError(
                    f"{path.name} begins as {encoding.removesuffix('-sig').upper()} and is not; save it again"
                ) from None
    if b"\0" in data:
        raise UsageError(f"{path.name} is no text: it holds zero bytes (UTF-16 must begin with its mark)")
    try:
        return data.decode("utf-8"), []
    except UnicodeDecodeError:
        if any(byte in _NEVER_1252 for byte in data):
            raise UsageError(f"{path.name} is neither UTF-8 nor Windows-1252; save it as UTF-8") from None
        return data.decode("cp1252"), ["the file is not UTF-8; it was read as Windows-1252"]


def _cells(line: str, mark: str) -> list[str]:
    """The cells of one line of the file, whatever its quotes."""
    return [cell.strip() for cell in next(csv.reader([line], delimiter=mark), [])]


def _rows(
    name: str, text: str, mark: str, asked: set[int]
) -> tuple[list[tuple[int, list[str]]], list[tuple[int, list[str]]]]:
    """The filled rows with the line on which each begins: those to read, and those that are left out.

    Where quotes break the table, the lines to leave out are taken out of the text first.
    """
    try:
        rows = _lines(name, text, mark)
    except UsageError:
        if not asked:
            raise
        parts = _LINE_END.split(text)
        kept = "\n".join("" if k in asked else part for k, part in enumerate(parts, 1))
        aside = [(k, _cells(parts[k - 1], mark)) for k in sorted(asked) if k <= len(parts)]
        return _lines(name, kept, mark), [(k, cells) for k, cells in aside if any(cells)]
    return [row for row in rows if row[0] not in asked], [row for row in rows if row[0] in asked]


def _lines(name: str, text: str, mark: str) -> list[tuple[int, list[str]]]:
    """The filled rows with the line on which each begins."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    found, begins = [], 1
    try:
        for cells in reader:
            stripped = [cell.strip() for cell in cells]
            if any(stripped):
                found.append((begins, stripped))
            begins = reader.line_num + 1
    except csv.Error as error:
        raise UsageError(
            f"{name} line {reader.line_num}: not a table ({error}); look at its quotes"
        ) from None
    return found


def _find_columns(records: Records, line: int, headings: Sequence[str], columns: Sequence[Column]) -> None:
    missing = []
    for column in columns:
        places = [k for k, heading in enumerate(headings, start=1) if is_heading(heading, column)]
        if len(places) > 1:
            records.mistakes.append(
                Mistake(records.file, line, places[1], headings[places[1] - 1],
                        f"this heading and that of column {places[0]} both mean {column.name}", "rename one")
            )  # fmt: skip
        elif places:
            records.places[column.name] = places[0]
            records.headings[column.name] = headings[places[0] - 1]
        elif column.needed:
            missing.append(column)
    known = set(records.places.values())
    free = [text for place, text in enumerate(headings, start=1) if text and place not in known]
    for column in missing:
        if column.instead is None or column.instead.name not in records.places:
            hint = f"did you mean {quoted(near)}?" if (near := _like(column, free)) else ""
            records.mistakes.append(Mistake(records.file, line, 1, "", _missing(column), hint))
    if missing and records.mistakes and not any(wrong.hint for wrong in records.mistakes):
        told = f"the headings are {', '.join(headings)[:200]}"
        records.mistakes[-1] = replace(records.mistakes[-1], hint=told)


def _missing(column: Column) -> str:
    """That a column is missing, with some of the headings that are understood for it."""
    if column.instead is None:
        return f"there is no column {with_others(column)}"
    return f"there is neither a column {with_others(column)} nor a column {with_others(column.instead)}"


def with_others(column: Column) -> str:
    """The name of a column in quotes, behind it some of the other headings that are understood for it."""
    others = [*column.also[:SHOWN_HEADINGS], *["..."] * (len(column.also) > SHOWN_HEADINGS)]
    return quoted(column.name) + (f" ({', '.join(others)})" if others else "")


def _like(column: Column, headings: Sequence[str]) -> str:
    """The heading that most likely means a column: nearly a known one, else with a word of one; or empty."""
    known = [column.name, *column.also]
    words = {word for heading in known for word in heading.split() if len(word) > 3 and word not in SHARED}
    nearly = (text for text in headings if get_close_matches(heading_words(text), known, 1, LIKE))
    alike = (text for text in headings if words & set(heading_words(text).split()))
    return next(nearly, "") or next(alike, "")


def is_heading(heading: str, column: Column) -> bool:
    """Whether a heading names a column: in any case, blanks or _ between words, a unit, % or point behind."""
    return heading_words(heading) in (column.name.casefold(), *(other.casefold() for other in column.also))


def heading_words(heading: str) -> str:
    """A heading in lower case on one line, without its unit, per cent sign, point or colon at its end."""
    plain = " ".join(heading.casefold().replace("_", " ").replace("-", " ").split())
    plain = plain.split("[")[0].split("(")[0].strip(" %").removesuffix(" in").rstrip(".:? %")
    before, _, last = plain.rpartition(" ")
    return before if before and last in SECONDS else plain


def is_summary(text: str) -> bool:
    """Whether a cell or heading names a mean, a sum or another figure of all lines."""
    return bool(_SUMMARY.fullmatch(" ".join(text.casefold().split())))


def _names(columns: Sequence[Column]) -> str:
    return ", ".join(column.name for column in columns if column.needed)
