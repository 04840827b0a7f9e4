"""The answer of a search for places: what was found, output against places, what one more gives."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from cellsim.study.buffers import CellLab, Profit, Sized
from cellsim.study.paired import paired
from cellsim.study.places import FIRST_LOOK, Bounds, Places, Reach, more
from cellsim.study.statistics import LEVEL, t_interval

ONE_MORE = 160  # replications at most by which what one more place gives is told


def _rate(values: Sequence[float]) -> dict[str, Any]:
    interval = t_interval(values)
    return {
        "mean": interval.mean,
        "interval": interval.as_list(),
        "replications": len(values),
        "unit": "good units per working hour",
    }


def _reach(found: Reach | None) -> dict[str, bool] | None:
    return None if found is None else {"yes": found.yes, "sure": found.sure}


def curve(lab: CellLab) -> list[dict[str, Any]]:
    """For every total that was tried the best allocation by its mean, with an interval."""
    best: dict[int, Places] = {}
    for places, values in lab.tried.items():
        total = sum(places)
        if total not in best or t_interval(values).mean > t_interval(lab.tried[best[total]]).mean:
            best[total] = places
    return [
        {
            "total": total,
            "places": dict(zip(lab.stores, best[total], strict=True)),
            **_rate(lab.tried[best[total]]),
        }
        for total in sorted(best)
    ]


def one_more(lab: CellLab, places: Places, bounds: Bounds) -> list[dict[str, Any]]:
    """What one more place in each store gives, by paired replications."""
    count = min(ONE_MORE, max(FIRST_LOOK, len(lab.tried.get(places, ()))))
    above = more(places, bounds)
    lab.run([places, *above], count)
    rows = []
    for each in above:
        found = paired(lab.rates(places, count), lab.rates(each, count))
        store = lab.stores[next(k for k, n in enumerate(each) if n > places[k])]
        rows.append({"store": store, "mean": found.mean, "interval": list(found.interval())})
    return sorted(rows, key=lambda row: -row["mean"])


def answer(
    lab: CellLab,
    found: Sized,
    bounds: Bounds,
    start: Places,
    *,
    target: float | None = None,
    profit: Profit | None = None,
    difference: float,
) -> dict[str, Any]:
    """The answer of a search in keys; places by store."""

    def by_store(places: Places) -> dict[str, int]:
        return dict(zip(lab.stores, places, strict=True))

    lab.run([found.places], FIRST_LOOK)
    lab.run([start], len(lab.tried[found.places]))  # both are told beside each other, so both as surely
    gains = one_more(lab, found.places, bounds)
    out: dict[str, Any] = {
        "stores": list(lab.stores),
        "places": by_store(found.places),
        "total": sum(found.places),
        "rate": _rate(lab.tried[found.places]),
        "target": target,
        "enough": _reach(found.enough),
        "why": found.why,
        "difference": difference,
        "level": LEVEL,
        "now": {"places": by_store(start), "total": sum(start), **_rate(lab.tried[start])},
        "one_less": None,
        "one_more": gains,
        "open": [by_store(places) for places in found.open],
        "moves": [by_store(places) for places in found.moves],
        "curve": curve(lab),
        "allocations": len(lab.tried),
        "replications": lab.replications,
    }
    if found.one_less is not None:
        out["one_less"] = {
            "places": by_store(found.one_less),
            "enough": _reach(found.one_less_enough),
            **_rate(lab.tried[found.one_less]),
        }
    if profit is not None:
        rate = out["rate"]["mean"]
        out["profit_per_hour"] = profit.unit * rate - profit.cost(found.places)
    return out
