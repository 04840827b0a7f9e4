"""What limits output: the critical path of every run by cause.

Walking back from the last good unit through what released each start, the durations add up to the elapsed
time exactly.  Breaks and off hours stand where the calendar puts them; of the rest, the share of a cause is,
to first order, the relative loss of output per relative growth of its times: the infinitesimal perturbation
estimate (Ho and Cao 1991, Perturbation Analysis of Discrete Event Dynamic Systems, Kluwer; from memory).  It
says what a small change buys as long as the order of events stays.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cellsim.engine.record import Record
from cellsim.engine.tables import FlatCell
from cellsim.study.statistics import t_interval


def loss_account(flat: FlatCell, records: Sequence[Record]) -> dict[str, Any]:
    """The path by cause, largest first, with intervals over replications.

    `share` is of the whole elapsed time; the shares add up to 1.  `elasticity` is of the time outside breaks
    and off hours: output gains so many per cent when the times of this cause shrink by 1 %; None for the
    calendar itself.
    """
    calendar = flat.state.cause_calendar
    used = [r for r in records if r.path_elapsed > r.path[calendar]]
    if not used:
        return {"causes": [], "elapsed_s": 0.0, "remark": "no good unit left the cell, so there is no path"}
    rows = []
    for k, (who, what) in enumerate(flat.names.causes):
        shares = [r.path[k] / r.path_elapsed for r in used]
        if not any(shares):
            continue
        interval = t_interval(shares)
        row: dict[str, Any] = {"who": who, "what": what}
        row |= {"share": interval.mean, "interval": interval.as_list(), "elasticity": None}
        if k != calendar:
            elasticity = t_interval([r.path[k] / (r.path_elapsed - r.path[calendar]) for r in used])
            row |= {"elasticity": elasticity.mean, "elasticity_interval": elasticity.as_list()}
        if what == "work":
            plan = t_interval([r.path_plans[k] / r.path_elapsed for r in used])
            row |= {"ideal_share": plan.mean, "excess_share": interval.mean - plan.mean}
        rows.append(row)
    rows.sort(key=lambda row: (-row["share"], row["who"], row["what"]))
    return {
        "causes": rows,
        "elapsed_s": sum(r.path_elapsed for r in used) / len(used) / 1_000_000,
        "shortened": sum(r.path_forced > 0 for r in used),
        "unit": "share of the counted time until the last good unit",
    }
