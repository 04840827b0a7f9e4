"""What all cells traced by hand have in common: when units leave, worked out on paper."""

from __future__ import annotations

from collections.abc import Sequence

from cellsim.published.entry import Published

TOPIC = "Cells traced by hand"


def traced(
    id: str,
    statement: str,
    cell: str,
    value: Sequence[float],
    rule: str,
    *,
    run: float = 0,
    settle: float = 0,
    quantity: str = "finished at",
    of: str = "",
    unit: str = "min",
) -> Published:
    """An entry whose numbers must come out exactly.

    `cell` is a text without `study`; it runs until `run`, and where that is 0 up to the last number.  Numbers
    up to `settle` are not counted.  Both are in seconds where the numbers are, else in minutes.  `rule` says
    what the trace shows, in plain words.
    """
    until, clock = run or max(value), "s" if unit == "s" else "min"
    begin = f"settle: {settle:g} {clock}, " if settle else ""
    return Published(
        id=id,
        topic=TOPIC,
        statement=statement,
        value=tuple(value),
        unit=unit,
        source=f"traced by hand: {rule}",
        cell=f"{cell}study: {{{begin}run: {until - settle:g} {clock}}}\n",
        quantity=f"{quantity}, {unit}",
        of=of,
    )
