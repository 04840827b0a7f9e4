"""From the rate of the work alone to the real rate: what each other cause on the critical path takes off."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

WORK = ("work", "handling")  # what a unit needs: being worked on, loaded and unloaded
MOST_STEPS = 6  # causes that are told one by one; the smaller ones are taken together
HOUR_S = 3600


def _rate(value: float) -> dict[str, Any]:
    return {"mean": value, "unit": "good units per working hour"}


def waterfall(losses: Mapping[str, Any], rate: float) -> dict[str, Any] | None:
    """The steps from the ideal to the real rate, in good units per working hour.

    3600 / `rate` seconds of working time pass per good unit.  The critical path says for what: a cause has
    its `elasticity` of them, and those of all causes but the calendar add up to 1.  `ideal` is the rate if
    only work and handling on this path took time; each step then adds the time of one more cause, the
    largest first, until all are there: that is the real rate.  A step in units per hour depends on the
    order, its `time_s` does not.  As the time to the last
    unit is convex in every time (see `losses`), a cell without a cause gains at most its step.  `ideal` is
    what could be reached at the very most, and a limit elsewhere in the cell may come first.

    Returns:
        None where no good unit leaves, or no work is on the path.
    """
    causes = [row for row in losses["causes"] if row["elasticity"] is not None]
    working = sum(row["elasticity"] for row in causes if row["what"] in WORK)
    if rate <= 0 or working <= 0:
        return None
    others = [row for row in causes if row["what"] not in WORK]
    groups = [(row["who"], row["what"], row["elasticity"], 1) for row in others[:MOST_STEPS]]
    if rest := others[MOST_STEPS:]:
        groups.append(("", "all smaller causes", sum(row["elasticity"] for row in rest), len(rest)))
    taken, at = working, rate / working
    steps = []
    for who, what, elasticity, count in groups:
        taken += elasticity
        after = rate / taken
        step: dict[str, Any] = {"who": who, "what": what, "causes": count}
        step |= {"loss": _rate(at - after), "after": _rate(after), "time_s": elasticity * HOUR_S / rate}
        steps.append(step)
        at = after
    return {
        "ideal": _rate(rate / working),
        "ideal_s": working * HOUR_S / rate,
        "steps": steps,
        "real": _rate(rate),
        "real_s": HOUR_S / rate,
        "lost_s": sum(step["time_s"] for step in steps),
    }
