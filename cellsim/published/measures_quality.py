"""What can be measured of tests, rework, scrap and batches in a replication."""

from __future__ import annotations

import math
from collections.abc import Callable

from cellsim.published.measures_flow import good_share
from cellsim.published.replication import Replication


def mean_batch(r: Replication) -> float:
    """Mean units in a batch of a station."""
    return r.count("batched") / r.count("batches")


def scrapped_share(r: Replication) -> float:
    """Scrapped units over units that left, good or scrapped."""
    return 1 - good_share(r)


def starts_per_good_unit(r: Replication) -> float:
    """Units that left, good or scrapped, over good units: how many must be started for one good unit."""
    return 1 / good_share(r)


def passes_per_good_unit(r: Replication) -> float:
    """Verdicts of a station over good units of the cell."""
    return r.count("judged") / r.good


def passes_per_start(r: Replication) -> float:
    """Verdicts of a station over units that it judged for the first time."""
    return r.count("judged") / r.count("first_tests")


def rolled_yield(r: Replication) -> float:
    """Product of the first-pass yields of all stations that judge."""
    judged = zip(r.record.stations["first_pass"], r.record.stations["first_tests"], strict=True)
    return math.prod(passed / tests for passed, tests in judged if tests)


def faulty_share_of_good(r: Replication) -> float:
    """Units that leave as good with a fault, over good units."""
    return r.record.cell["escapes"] / r.record.cell["good"]


def good_share_of_rejected(r: Replication) -> float:
    """Units without a fault over all units that an inspection rejects."""
    return r.count("false_rejects") / r.count("rejected")


QUALITY: dict[str, Callable[[Replication], float]] = {
    "mean batch": mean_batch,
    "scrapped share of units that left": scrapped_share,
    "starts per good unit": starts_per_good_unit,
    "passes per good unit": passes_per_good_unit,
    "passes per unit started": passes_per_start,
    "rolled yield": rolled_yield,
    "faulty share of good units": faulty_share_of_good,
    "good share of rejected units": good_share_of_rejected,
}
