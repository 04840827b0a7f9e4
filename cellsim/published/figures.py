"""Entries of cells without chance: one number, or a few, that must come out exactly."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from cellsim.describe.resolve import load_text
from cellsim.published.entry import Published, Value
from cellsim.study.loading import loading
from cellsim.study.loads import Load, Loading


def figure(
    topic: str,
    id: str,
    statement: str,
    value: float | Sequence[float],
    unit: str,
    source: str,
    cell: str = "",
    quantity: str = "",
    of: str = "",
    formula: Callable[[], Value] | None = None,
) -> Published:
    """An entry whose value is a number of a cell without chance, or several."""
    return Published(
        id=id,
        topic=topic,
        statement=statement,
        value=tuple(value) if isinstance(value, Sequence) else (value,),
        unit=unit,
        source=source,
        cell=cell,
        quantity=quantity,
        of=of,
        formula=formula,
    )


def paper(cell: str, read: Callable[[Loading], float], rate: float | None = None) -> Callable[[], float]:
    """What the static check of a cell says on paper at `rate` units per hour, or at its own target."""
    return lambda: read(loading(load_text(cell), rate))


def alone(formula: Callable[[], float]) -> Callable[[], tuple[float]]:
    """A formula as the only number of a trace."""
    return lambda: (formula(),)


def up_share(load: Load) -> float:
    """Share of the time that the stops of a station or robot leave for work that never pauses."""
    return load.work_s / load.required_s(stops=True)
