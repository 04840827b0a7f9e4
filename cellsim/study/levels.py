"""Work in progress and levels of stores by the hour of the clock: means over time, with intervals."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from cellsim.study.plan import Plan
from cellsim.study.statistics import entry, t_interval

MOST_HOURS = (
    200  # a run without shifts that is longer than so many hours has no day whose hours one would read
)


def by_hour(plan: Plan, records: Sequence[Sequence[int]]) -> list[dict[str, Any]]:
    """Mean number of units in each hour of the clock, breaks included, as rows like those of output.

    Args:
        records: for each replication the integrals over all intervals of the run (`Plan.ends`), in unit-us.

    Returns:
        A row for each clock hour that is counted: `hour`, the mean over time and over all such hours of a
        replication with its interval over the replications, `unit`, `length_min`.  Nothing where there are
        more than MOST_HOURS different ones.
    """
    groups: dict[str, list[int]] = {}
    for k, hour in enumerate(plan.hours):
        groups.setdefault(hour.label, []).append(k)
    if len(groups) > MOST_HOURS:
        return []
    areas = np.array([list(row) for row in records], dtype=np.int64)[:, plan.counted]
    rows = []
    for label, chosen in groups.items():
        length = plan.hours[chosen[0]].end - plan.hours[chosen[0]].start
        means = areas[:, chosen].sum(axis=1) / (len(chosen) * length)
        row = {"hour": label, **entry(t_interval(means.tolist()), "units")}
        rows.append(row | {"length_min": length / 60e6})
    return rows
