"""What an approximation says, and how far it usually is from the truth."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from cellsim.theory.chains import FloatArray


@dataclass(frozen=True, slots=True)
class UsualError:
    """How far estimates of a kind were from exact rates of random lines, in per cent of the exact rate.

    98 of 100 errors lay from `low` to `high`; `mean` is their mean, `worst` the one furthest from 0;
    `lines` says which lines those were.  Other lines may have larger errors.
    """

    low: float
    high: float
    mean: float
    worst: float
    lines: str

    def in_words(self) -> str:
        """One line to stand behind an estimate."""
        return f"usual error {self.low:+.1f} to {self.high:+.1f} %"

    def holds(self, estimate: float, exact: float) -> bool:
        """Whether an estimate is as near to the exact value as usual."""
        return self.low <= 100 * (estimate / exact - 1) <= self.high


EXACT = UsualError(0.0, 0.0, 0.0, 0.0, "one station or two: exact")
MOST_SWEEPS = 2_000
NEARLY = 2e-3  # relative: rates that come no closer are the same, since the methods are not that exact


@dataclass(frozen=True, slots=True, eq=False)
class Estimate:
    """An approximate rate of a line with its usual error; `sweeps` is how often the line was gone through.

    `content` is the mean number of units between neighbours, as the method's two-station lines count it;
    None where the method has none.
    """

    rate: float
    usual_error: UsualError
    sweeps: int
    content: FloatArray | None = None


def until_agreed(sweep: Callable[[], list[float]], agreed: float) -> tuple[list[float], int]:
    """The rates that a sweep gives when they are all the same, and the number of sweeps.

    Args:
        sweep: improves the parts of a line once and gives the rate that each says the line has.
        agreed: relative difference up to which rates are the same; after 2000 sweeps 0.002 will do, since
            stations that limit a line alike agree ever more slowly.

    Raises:
        ArithmeticError: they are not the same after 2000 sweeps.
    """
    for done in range(1, MOST_SWEEPS + 1):
        rates = sweep()
        if max(rates) - min(rates) <= agreed * max(rates):
            return rates, done
    if max(rates) - min(rates) <= NEARLY * max(rates):
        return rates, MOST_SWEEPS
    raise ArithmeticError(
        f"the rates of the parts of the line do not agree after {MOST_SWEEPS} sweeps: "
        f"{min(rates):g} to {max(rates):g}"
    )
