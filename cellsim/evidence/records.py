"""Tables that the shop floor keeps: any usual delimiter, encoding and order of columns; repairs are listed.

Nothing is guessed silently: what can be read in two ways is a mistake that says how to settle it.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from cellsim.errors import DescriptionError, Mistake, UsageError
from cellsim.units import nearest, quoted

MOST_BYTES = 20_000_000
MOST_ROWS = 500_000
MOST_MISTAKES = 50
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


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a kind of record: its name, other headings it goes by, whether it must be there."""

    name: str
    also: tuple[str, ...] = ()
    needed: bool = True


@dataclass(frozen=True, slots=True)
class Row:
    """One record: the line of the file on which it begins, and its texts by name."""

    line: int
    texts: dict[str, str]

    def __getitem__(self, name: str) -> str:
        return self.texts.get(name, "")


@dataclass
class Records:
    """A table as it was read.

    `headings` are the headings of the file by column name, `places` their positions from 1; `repairs` say
    what was changed or decided in reading, `mistakes` gather while values are read; of those beyond the most
    that are listed only the number is kept, `unlisted`.  `unused` are headings that nobody asks for.
    """

    file: str
    delimiter: str
    headings: dict[str, str]
    places: dict[str, int]
    rows: list[Row]
    repairs: list[str] = field(default_factory=list)
    mistakes: list[Mistake] = field(default_factory=list)
    unlisted: int = 0
    unused: list[str] = field(default_factory=list)

    def has(self, name: str) -> bool:
        """Whether the file has a column."""
        return name in self.places

    def wrong(self, row: Row | None, name: str, message: str, hint: str = "") -> None:
        """Note a mistake in a row and column."""
        line = row.line if row is not None else 1
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

    def stop_if_wrong(self) -> None:
        """Raise DescriptionError with every mistake that was noted; its columns are those of the table."""
        if self.mistakes:
            raise DescriptionError(self.mistakes, self.unlisted)


def read_records(path: Path, columns: Sequence[Column], delimiter: str = "") -> Records:
    """Read a table whose first filled line holds the headings, in any order, upper or lower case.

    Columns that nobody asks for are `unused`.  Empty lines are skipped; a row with too many cells is a
    mistake.  Encodings: UTF-8, UTF-16 with its mark, else Windows-1252, which is listed as a repair.

    Raises:
        UsageError: the file cannot be read, is too large, or no delimiter fits.
        DescriptionError: headings are missing or there twice, or rows do not fit, with line and column.
    """
    text, repairs = _text_of(path)
    if below := _headings_below(text, columns):
        raise UsageError(
            f"{path.name}: line {below} holds the headings; delete the {below - 1} lines above it"
            if below > 2
            else f"{path.name}: line 2 holds the headings; delete the line above them"
        )
    mark = delimiter or _delimiter(path.name, text, columns)
    lines = list(_lines(path.name, text, mark))
    if not lines:
        raise UsageError(f"{path.name} is empty; its first line holds headings such as {_names(columns)}")
    (heading_line, headings), body = lines[0], lines[1:]
    records = Records(path.name, mark, {}, {}, [], repairs)
    _find_columns(records, heading_line, headings, columns)
    records.stop_if_wrong()
    if len(body) > MOST_ROWS:
        raise UsageError(f"{path.name} has {len(body)} rows; at most {MOST_ROWS} are read")
    for line, cells in body:
        extra = [cell for cell in cells[len(headings) :] if cell]
        if extra:
            records.mistakes.append(
                Mistake(
                    path.name,
                    line,
                    len(headings) + 1,
                    "",
                    f"{quoted(extra[0])} stands beyond the last heading",
                    f"cells are separated by {IN_WORDS[mark]} here; put texts that hold one in quotes",
                )
            )
            continue
        if again := _repeated(cells, headings, records.places.values()):
            records.mistakes.append(Mistake(path.name, line, 1, "", f"line {line} {again}", "delete it"))
            continue
        texts = {name: cells[k - 1] for name, k in records.places.items() if k <= len(cells)}
        records.rows.append(Row(line, texts))
    records.stop_if_wrong()
    return records


def headings_of(path: Path, delimiter: str = "") -> list[str]:
    """The headings of a table as they stand there; the mark that cuts the first line into most cells.

    Raises:
        UsageError: the file cannot be read.
    """
    text, _ = _text_of(path)
    first = next((line for line in text.splitlines() if line.strip()), "")
    cut = [next(csv.reader([first], delimiter=mark), []) for mark in (delimiter or DELIMITERS)]
    return [cell.strip() for cell in max(cut, key=len)]


def _headings_below(text: str, columns: Sequence[Column]) -> int:
    """The line that holds every heading needed where the first filled line has none; 0 if there is none."""
    needed = [column for column in columns if column.needed]
    filled = [(k, line) for k, line in enumerate(text.splitlines()[:MOST_TITLES], 1) if line.strip()]
    for place, (number, line) in enumerate(filled):
        for mark in DELIMITERS:
            cells = [cell.strip() for cell in next(csv.reader([line], delimiter=mark), [])]
            if all(any(is_heading(cell, column) for cell in cells) for column in needed):
                return number if place else 0
    return 0


def _repeated(cells: Sequence[str], headings: Sequence[str], places: Iterable[int]) -> str:
    """How a row repeats the headings: the same, or with another unit; empty if it does not."""
    pairs = [(cells[k - 1], headings[k - 1]) for k in places if k <= len(cells)]
    if not pairs or any(_plain(cell) != _plain(heading) for cell, heading in pairs):
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


def _delimiter(name: str, text: str, columns: Sequence[Column]) -> str:
    """The delimiter by which the headings have most of the columns asked for; the most cells decide a tie."""
    first = next((line for line in text.splitlines() if line.strip()), "")

    def fit(mark: str) -> tuple[int, int]:
        cells = [cell.strip() for cell in next(csv.reader([first], delimiter=mark), [])]
        return sum(any(is_heading(cell, column) for cell in cells) for column in columns), len(cells)

    best = max(DELIMITERS, key=fit)
    if first and fit(best)[0] == 0:
        raise UsageError(
            f"{name}: the first line has none of the headings {_names(columns)}; it is {quoted(first, 40)}"
        )
    return best


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
            near = nearest(column.name, headings)
            hint = (
                f"did you mean {quoted(near)}?" if near else f"the headings are {', '.join(headings)[:200]}"
            )
            records.mistakes.append(
                Mistake(records.file, line, 1, "", f"there is no column {quoted(column.name)}", hint)
            )
    used = set(records.places.values())
    records.unused += [text for k, text in enumerate(headings, start=1) if text and k not in used]


def is_heading(heading: str, column: Column) -> bool:
    """Whether a heading names a column: upper or lower case, blanks or _ between words, a unit behind it."""
    return _plain(heading) in (column.name.casefold(), *(other.casefold() for other in column.also))


def _plain(heading: str) -> str:
    """A heading in lower case without its unit."""
    plain = heading.casefold().replace("_", " ").replace("-", " ")
    plain = plain.split("[")[0].split("(")[0].strip(" ?:")
    before, _, last = plain.rpartition(" ")
    return before if before and last in SECONDS else plain


def _names(columns: Sequence[Column]) -> str:
    return ", ".join(column.name for column in columns if column.needed)
