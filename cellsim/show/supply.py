"""Words and tables about purchased parts, finished goods and the hourly plan, from `result.json` alone."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from cellsim.show import Result, between, percent, plain

PART_HEADS = ("Part", "lying ready", "used", "boxes", "shortages", "% of time short")


def part_rows(result: Result) -> list[tuple[str, ...]]:
    """One row a purchased part, under PART_HEADS."""
    return [
        (
            plain(name),
            f"{row['mean']:.1f}",
            f"{row['used']['mean']:.1f}",
            f"{row['deliveries']['mean']:.1f}",
            f"{row['shortages']['mean']:.1f}",
            f"{100 * row['short_share']['mean']:.1f}",
        )
        for name, row in (result.get("parts") or {}).items()
    ]


def goods_words(result: Result) -> str:
    """How full the places behind the cell are; empty where they are not limited."""
    goods = result.get("finished_goods")
    if not goods:
        return ""
    return (
        f"{goods['mean']:.1f} units stand there on average, at most {goods['max']} in"
        f" {goods['capacity']} places; {goods['collected']['mean']:.1f} are collected per run."
    )


def plan_words(result: Result) -> str:
    """How much of the hourly plan is made; empty without a plan."""
    attainment = result.get("attainment")
    if not attainment or attainment["mean"] is None:
        return ""
    ends = between(attainment, percent)
    text = f"Of the hourly plan {percent(attainment['mean'])} is made in its hour"
    return text + (f" ({ends})." if ends else ".")


def plan_columns(result: Result) -> Mapping[str, tuple[str, str]]:
    """What each clock hour plans and how much of it is made, by the label of the hour."""
    attainment: Mapping[str, Any] = result.get("attainment") or {"by_clock_hour": []}
    return {
        row["hour"]: (f"{row['planned']:.0f}", percent(row["mean"]) if "mean" in row else "")
        for row in attainment["by_clock_hour"]
    }
