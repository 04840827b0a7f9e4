"""The causes of a stop log: which column says them, which spellings are one, which are renamed as asked."""

from __future__ import annotations

from collections.abc import Mapping

from cellsim.errors import UsageError
from cellsim.evidence.records import Records, with_others
from cellsim.evidence.stop_records import CAUSE, Change
from cellsim.units import nearest, quoted

NO_CAUSE = "stop"
SEVERAL = 3  # different texts of a column that may be the cause
SHORT = 40  # letters of such texts, in the mean at most


def find_cause_column(records: Records) -> None:
    """Where no column says the cause and another one may: a mistake that proposes it.

    Without a cause all stops of a station would be one.

    Raises:
        DescriptionError: there is such a column.
    """
    if records.has("cause"):
        return
    columns = {column.place: (column.heading, list(column.cells)) for column in records.unused}
    if records.has("remark"):
        remarks = [row["remark"] for row in records.rows if row["remark"]]
        columns[records.places["remark"]] = (records.headings["remark"], remarks)
    different = {
        place: len({folded(text) for text in texts})
        for place, (_, texts) in columns.items()
        if _may_be_causes(texts, len(records.rows))
    }
    if not different:
        return
    place = max(different, key=lambda place: different[place])
    name = " ".join(filter(None, (f"column {place}", columns[place][0] and quoted(columns[place][0]))))
    records.wrong(
        None,
        "cause",
        f"there is no column {with_others(CAUSE)}; is {name} the cause? Head it reason",
        "if it is none, add a column reason and leave it empty",
    )
    records.stop_if_wrong()


def _may_be_causes(texts: list[str], rows: int) -> bool:
    """Whether these are short texts, several different ones, in at least half of the rows."""
    worded = [text for text in texts if any(letter.isalpha() for letter in text)]
    return (
        len({folded(text) for text in worded}) >= SEVERAL
        and 2 * len(worded) >= rows
        and len(worded) == len(texts)
        and sum(map(len, worded)) <= SHORT * len(worded)
    )


def causes_of(records: Records, renamed: Mapping[str, str], changes: list[Change]) -> list[str]:
    """The cause of each row, as it is called in the log, or as asked in `renamed`.

    Names that differ in case or blanks only are one, which is listed: the spelling that is asked for, else
    the one that is there most often, of several the first.

    Raises:
        UsageError: the log has no such cause, or it would be renamed to nothing.
    """
    written = [row["cause"] or NO_CAUSE for row in records.rows]
    asked = _asked(renamed, written)
    spellings: dict[str, dict[str, list[int]]] = {}
    for k, row in enumerate(records.rows):
        if not row["cause"] and records.has("cause"):
            text = f"no reason is written; it is counted as {quoted(NO_CAUSE)}"
            changes.append(Change("no reason", row.line, text))
        if (new := asked.get(folded(written[k]))) is not None:
            changes.append(
                Change("renamed as asked", row.line, f"{quoted(written[k])} is counted as {quoted(new)}")
            )
            written[k] = new
        else:
            spellings.setdefault(folded(written[k]), {}).setdefault(written[k], []).append(row.line)
    names = {folded(new): new for new in asked.values()}
    for cause, found in spellings.items():
        most = max(found, key=lambda spelling: len(found[spelling]))
        name = names.setdefault(cause, " ".join(most.split()))
        for spelling, lines in found.items():
            if spelling != name:
                more = f" and in {len(lines) - 1} more" if len(lines) > 1 else ""
                text = f'"{spelling}" here{more} is counted as {quoted(name)}'
                changes.append(Change("same name", lines[0], text))
    return [names[folded(cause)] for cause in written]


def _asked(renamed: Mapping[str, str], written: list[str]) -> dict[str, str]:
    """New names by the old ones in lower case."""
    causes = {folded(cause): cause for cause in written}
    wrong = []
    for old, new in renamed.items():
        if folded(old) not in causes:
            near = nearest(old, causes.values())
            wrong.append(
                f"the log has no cause {quoted(old)}" + (f"; did you mean {quoted(near)}?" if near else "")
            )
        elif not new:
            wrong.append(f"{quoted(old)} needs a new name; --exclude leaves a cause out")
    if wrong:
        raise UsageError("\n".join(f"--cause: {text}" for text in wrong))
    return {folded(old): " ".join(new.split()) for old, new in renamed.items()}


def folded(cause: str) -> str:
    """A cause in lower case, one blank between its words."""
    return " ".join(cause.casefold().split())
