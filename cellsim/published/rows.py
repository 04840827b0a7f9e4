"""An entry written in short, for topics with many entries of the same kind."""

from __future__ import annotations

from collections.abc import Callable

from cellsim.published.entry import EXACT, LAST_DIGIT, Published


def row(
    topic: str,
    id: str,
    statement: str,
    value: float,
    cell: str,
    quantity: str,
    of: str,
    formula: Callable[[], float],
    source: str,
    *,
    unit: str = "",
    exactness: str = EXACT,
    rounding: float = LAST_DIGIT,
    full_only: bool = False,
) -> Published:
    """A value with a formula, and a cell or none; what it is rounded by, `rounding`, holds for both.

    The unit is that of the quantity where it is not given.
    """
    return Published(
        id=id,
        topic=topic,
        statement=statement,
        value=value,
        unit=unit or ("s" if quantity.endswith(", s") else ""),
        source=source,
        exactness=exactness,
        cell=cell,
        quantity=quantity,
        of=of,
        formula=formula,
        rounding=rounding,
        tolerance=rounding if cell and rounding > LAST_DIGIT else 0.0,
        full_only=full_only,
    )


def decimals(value: float, count: int) -> float:
    """How far from a value with so many decimals the exact one may be, relative to it."""
    return 0.50001 * 10.0**-count / value
