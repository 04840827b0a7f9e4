"""Figures beside their goals, as the benchmarks of the studies print them; nothing here passes or fails."""

from __future__ import annotations

import math
from dataclasses import dataclass

from cellsim.study.statistics import binomial_interval


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure with what it says, and between which values it should lie where it has a goal."""

    key: str
    value: float
    what: str
    low: float = -math.inf
    high: float = math.inf
    note: str = ""

    @property
    def goal_text(self) -> str:
        """The goal as it stands in the table."""
        if math.isinf(self.low) and math.isinf(self.high):
            return ""
        if math.isinf(self.high):
            return f">= {self.low:.4g}"
        return f"<= {self.high:.4g}" if math.isinf(self.low) else f"{self.low:.4g} to {self.high:.4g}"

    @property
    def verdict(self) -> str:
        """`reached`, `missed`, or nothing where there is no goal."""
        if not self.goal_text:
            return ""
        return "reached" if self.low <= self.value <= self.high else "missed"

    def lines(self) -> list[str]:
        """What is printed: the figure and its goal, below it what it says and how sure it is."""
        first = f"{self.key:<34}{self.value:>10.4g}  {self.goal_text:<14}{self.verdict}".rstrip()
        return [first, f"    {self.what}"] + ([f"    {self.note}"] if self.note else [])


def share(
    key: str,
    hits: int,
    trials: int,
    what: str,
    low: float = -math.inf,
    high: float = math.inf,
    note: str = "",
) -> Figure:
    """How many per cent of trials met something, with the exact 95 % interval of that share."""
    found = binomial_interval(hits, trials)
    assert found.low is not None and found.high is not None
    sure = f"{hits} of {trials}; 95 % interval {100 * found.low:.2f} to {100 * found.high:.2f} %"
    return Figure(key, 100 * found.mean, what, low, high, f"{sure}; {note}" if note else sure)


def show(figure: Figure) -> None:
    """Print a figure at once, also into a file."""
    print("\n".join(figure.lines()), flush=True)
