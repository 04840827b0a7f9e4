"""What the words of a cause say: a wait, planned work, or the same cause with a slip of the pen."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import combinations
from typing import Literal

PlannedKind = Literal["service", "changeover", "break"]

# Causes that are no stops of the station itself: it could work, but had nothing to work on, nowhere to put
# it, or nobody to attend it.  The simulation finds these waits itself.
NOT_ITS_OWN = {
    "blocked": ("blocked", "blocking", "blockage downstream", "output full", "outlet full", "store full",
                "buffer full", "waiting downstream", "no pallet", "no empty tray"),
    "starved": ("starved", "starving", "starvation", "no part", "no parts", "waiting for parts",
                "waiting upstream", "buffer empty", "store empty"),
    "no material": ("no material", "material missing", "missing material", "waiting for material",
                    "lack of material", "material shortage", "out of material"),
    "no operator": ("no operator", "operator missing", "waiting for operator", "lack of operator", "no staff",
                    "no personnel", "nobody there", "operator absent"),
}  # fmt: skip
PLANNED: dict[PlannedKind, tuple[str, ...]] = {
    "service": ("maintenance", "service", "servicing", "cleaning", "lubrication", "greasing", "oiling",
                "refill", "refilling", "roll change"),
    "changeover": ("changeover", "change over", "setup", "set up", "setting up", "tool change",
                   "tool changing", "die change", "mould change", "mold change"),
    "break": ("lunch", "coffee break", "tea break", "break time", "meeting", "team meeting"),
}  # fmt: skip
AS_NEEDED = {
    "refill",
    "refilling",
    "roll change",
}  # work that may come by plan or whenever something is empty
BREAKS = ("break", "breaks", "pause")  # planned only where nothing else is said: a wire break is a stop
BESIDE = {"planned", "scheduled", "preventive", "regular", "routine", "daily", "weekly", "monthly", "yearly",
          "annual", "shift", "and", "of", "the", "machine", "time"}  # fmt: skip
SAYS_PLANNED, SAYS_NOT = {"planned", "scheduled"}, {"not", "un", "non", "never", "wasn", "t", "isn"}
UNPLANNED = {"unplanned", "unscheduled", "corrective", "emergency"}
LEAST_LETTERS = 3  # of a word that may hold a slip of the pen; shorter ones are codes


def words_of(cause: str) -> str:
    """The words of a cause in lower case, one blank between them."""
    return " ".join(re.split(r"[\W_]+", cause.casefold())).strip()


def waits_for(cause: str) -> str:
    """Which wait a cause names (blocked, starved, no material, no operator); empty if none."""
    plain = f" {words_of(cause)} "
    for kind, phrases in NOT_ITS_OWN.items():
        if any(f" {phrase} " in plain for phrase in phrases):
            return kind
    return ""


def planned_work(cause: str) -> tuple[PlannedKind | None, bool]:
    """Which planned work a cause names, and whether it can be nothing else.

    `sensor cleaning` may be planned or not; `weekly cleaning` and a meeting are planned.
    """
    words = words_of(cause)
    if words in BREAKS:
        return "break", True
    if UNPLANNED & set(words.split()):
        return None, False
    held = {
        phrase: kind
        for kind, phrases in PLANNED.items()
        for phrase in phrases
        if f" {phrase} " in f" {words} "
    }
    if not held:
        return None, False
    kind = next(iter(held.values()))
    rest = set(words.split()) - {word for phrase in held for word in phrase.split()}
    return kind, kind == "break" or (rest <= BESIDE and not AS_NEEDED & set(held))


def says_planned(remark: str) -> bool:
    """Whether a remark says that a stop was planned or scheduled, and not that it was not."""
    words = words_of(remark).split()
    return any(
        word in SAYS_PLANNED and before not in SAYS_NOT
        for before, word in zip(["", *words], words, strict=False)
    )


def slips(causes: Sequence[str]) -> list[tuple[str, str]]:
    """Pairs of causes that are one slip of the pen apart: `rivet jam` and `rivet jamm`.

    Digits and single letters tell things apart, so a slip is a letter of a longer word, or a blank.
    """
    return [(one, other) for one, other in combinations(causes, 2) if _one_slip(one, other)]


def _one_slip(one: str, other: str) -> bool:
    """Whether one blank or one letter of one word tells two causes apart."""
    ours, theirs = words_of(one).split(), words_of(other).split()
    if len(ours) != len(theirs):
        return abs(len(ours) - len(theirs)) == 1 and "".join(ours) == "".join(theirs)
    differ = [(a, b) for a, b in zip(ours, theirs, strict=True) if a != b]
    if len(differ) != 1:
        return False
    (a, b) = differ[0]
    if min(len(a), len(b)) < LEAST_LETTERS or not (a + b).isalpha() or abs(len(a) - len(b)) > 1:
        return False
    head = next((k for k, (x, y) in enumerate(zip(a, b, strict=False)) if x != y), min(len(a), len(b)))
    a, b = a[head:], b[head:]
    swapped = a[:2] == b[:2][::-1] and a[2:] == b[2:]
    return swapped or a[1:] == b[1:] or a[1:] == b or a == b[1:]
