"""Cases and facts that are made by hand, so that every amount can be added up."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import pytest

from cellsim.describe.investment import Investment, read_investment
from cellsim.money.measured import Facts

PLAIN = """
case: by hand
investment: {robot: 58 000 EUR}
rate: 8 %
payback_limit: 2 years
shifts_per_year: 425
paid_per_shift: 8 h
margin: 6 EUR per unit
can_sell: 1000 per h
running: {upkeep: 6 500 EUR per year}
"""


def read(text: str = PLAIN, **other: str) -> Investment:
    """A case with some keys of its own; an empty one is taken out.

    The plain one: 3400 hours a year, 6 per unit, 6500 a year, 58 000 invested.
    """
    lines = {line.split(":")[0]: line for line in text.strip().splitlines()}
    lines |= {key: f"{key}: {value}" for key, value in other.items()}
    return read_investment(
        "\n".join(line for key, line in lines.items() if other.get(key) != ""), "case.yaml"
    )


def made(difference: Sequence[float], base: float = 50.0, more: float = 0.0, **other: object) -> Facts:
    """Runs of two cells without shifts that differ by these good units per hour."""
    values = np.asarray(difference, dtype=float)
    good = np.vstack([np.full(len(values), base), base + values])
    given: dict[str, object] = {
        "shifts": (None, None), "paid": ({}, {}), "away": frozenset(), "good": good, "scrap": {},
        "energy": {}, "counted": 8.0, "more": more,
    }  # fmt: skip
    return Facts(**(given | other))  # type: ignore[arg-type]


@pytest.fixture
def case() -> Callable[..., Investment]:
    return read


@pytest.fixture
def facts() -> Callable[..., Facts]:
    return made
