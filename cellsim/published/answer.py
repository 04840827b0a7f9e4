"""The checks of the table as plain data: what `cellsim verify` prints and writes."""

from __future__ import annotations

import platform
from collections.abc import Sequence
from typing import Any

import cellsim
from cellsim.published.suite import Check
from cellsim.published.verdicts import FALSE_ALARM, FULL, QUICK


def plain_check(check: Check) -> dict[str, Any]:
    """One check.

    `ours` is what the simulator finds, or what the formula gives where the entry has no cell; `on_paper` is
    always what the formula gives.  `half_width` is relative, `interval` in the unit of the value.
    """
    entry, simulated = check.entry, check.simulated
    return {
        "id": entry.id,
        "topic": entry.topic,
        "statement": entry.statement,
        "unit": entry.unit,
        "published": entry.value,
        "ours": simulated.value if simulated else check.paper,
        "by": "simulation" if simulated else "formula",
        "interval": list(simulated.interval) if simulated and simulated.interval else None,
        "half_width": simulated.half_width if simulated else None,
        "replications": simulated.replications if simulated else 0,
        "on_paper": check.paper,
        "agrees": check.agrees,
        "sharp": simulated.sharp if simulated else True,
        "tolerance": entry.tolerance,
        "exactness": entry.exactness,
        "source": entry.source,
    }


def answer(checks: Sequence[Check], level: float, full: bool) -> dict[str, Any]:
    """All checks with how they were made.

    Keys: `provenance`, `set`, `level` of each interval, `false_alarm` of the whole table, the relative
    `half_width` that was asked for, `agree` of `of`, `checks`.
    """
    return {
        "provenance": {
            "version": cellsim.__version__,
            "python": platform.python_version(),
            "machine": platform.machine(),
        },
        "set": "full" if full else "quick",
        "level": level,
        "false_alarm": FALSE_ALARM,
        "half_width": FULL if full else QUICK,
        "agree": sum(check.agrees for check in checks),
        "of": len(checks),
        "checks": [plain_check(check) for check in checks],
    }
