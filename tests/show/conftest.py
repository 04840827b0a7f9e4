"""A result of a study as `result.json` holds it, small enough to check every number by hand."""

from __future__ import annotations

from typing import Any

import pytest


def entry(mean: float, half: float = 0.0, unit: str = "") -> dict[str, Any]:
    """A mean with its interval."""
    return {"mean": mean, "interval": [mean - half, mean + half], "unit": unit}


def hour(label: str, mean: float, p05: int, p50: int, p95: int, worked: float = 60.0) -> dict[str, Any]:
    """One row of the board with a target of 100 per working hour."""
    return {
        "hour": label,
        **entry(mean, 2.0),
        "p05": p05,
        "p50": p50,
        "p95": p95,
        "working_min": worked,
        "length_min": 60.0,
        "target": 100 * worked / 60,
        "chance_of_target": 0.75,
    }


def shares(**means: float) -> dict[str, Any]:
    """State shares; `_` in a name stands for a blank."""
    return {name.replace("_", " "): entry(mean, 0.01) for name, mean in means.items()}


def station(machines: int = 1, **means: float) -> dict[str, Any]:
    """The figures of one station."""
    return {"machines": machines, "shares": shares(**means), "cycles": entry(300.0), "scrapped": entry(0.0)}


def cause(who: str, what: str, share: float, half: float) -> dict[str, Any]:
    """One row of the loss account."""
    row = {"who": who, "what": what, "share": share, "interval": [share - half, share + half]}
    return row | {"elasticity": None if what == "breaks and off hours" else share}


@pytest.fixture
def result() -> dict[str, Any]:
    """Forty shifts of three hours, one with a break, in a cell of three stations, two posts and a robot."""
    made: dict[str, Any] = {
        "version": 1,
        "cell": {"name": "Tin whistle", "question": "How many tray places?"},
        "study": {
            "replications": 40,
            "counted_from_s": 0.0,
            "horizon_s": 10800.0,
            "working_h": 2.75,
            "shifts": 1,
        },
        "paper": {
            "unit": "good units per working hour",
            "limit": {"value": 120.0, "who": ["bend"], "above_limit": False},
            "estimate": None,
            "how": "no formula for robots",
        },
        "output_per_hour": {
            **entry(104.4, 1.6, "good units per working hour"),
            "level": 0.95,
            "p05": 81.0,
            "p50": 105.0,
            "p95": 123.0,
            "hours_counted": 120,
            "target": 100.0,
            "by_clock_hour": [
                hour("06:00-07:00", 103.0, 80, 104, 121),
                hour("07:00-08:00", 78.5, 61, 79, 93, worked=45.0),
                hour("08:00-09:00", 105.6, 84, 106, 124),
            ],
            "per_shift": {
                **entry(287.1, 4.0),
                "p05": 250,
                "p50": 288,
                "p95": 317,
                "working_h": 2.75,
                "target": 275.0,
                "chance_of_target": entry(0.7, 0.15),
            },
            "chance_of_target_in_an_hour": entry(0.64, 0.05),
        },
        "units_per_labour_hour": entry(43.2, 0.5),
        "stations": {
            "press": station(working=0.5, attended=0.25, blocked=0.1, down=0.1, waiting_for_repair=0.05),
            "glue": station(2, handled=0.3, starved=0.3, waiting_for_robot=0.25, off=0.15),
            "test": station(working=0.2, starved=0.715, waiting_for_operator=0.085),
        },
        "stores": {
            "tray": {**entry(3.25), "p95": 8, "max": 8, "capacity": 8, "stay_s": entry(112.0)},
            "rack": {**entry(1.0), "p95": 3, "max": 5, "capacity": None, "stay_s": entry(34.0)},
            "chute": {**entry(0.0), "p95": 0, "max": 0, "capacity": 0, "stay_s": entry(0.0)},
        },
        "people": {
            "fitter": {
                "count": 2,
                "shares": shares(working=0.85, travelling=0.06, free=0.09),
                "load": entry(0.91),
            },
            "setter": {"count": 1, "shares": shares(repairing=0.15, free=0.85), "load": entry(0.15)},
        },
        "robots": {"R1": {"count": 1, "shares": shares(working=0.4, free=0.6), "load": entry(0.4)}},
        "stops": [
            {
                "who": "press",
                "cause": "jam",
                "planned": False,
                "stops": entry(6.5),
                "repair_min": entry(18.0),
                "waiting_min": entry(9.25),
            },
        ],
        "wip": {**entry(9.5, 0.5), "max": 21, "inside_at_end": entry(8.0)},
        "lead_time": {
            "mean_s": 330.0,
            "interval_s": [320.0, 340.0],
            "p50_s": 290.0,
            "p90_s": 500.0,
            "p95_s": 600.0,
        },
        "quality": {
            "scrapped": entry(2.5),
            "first_pass_yield": {"test": entry(0.96, 0.01)},
            "rolled_yield": 0.96,
            "good_share": entry(0.991),
        },
        "losses": {
            "causes": [
                cause("press", "work", 0.56, 0.03),
                cause("press", "stop: jam", 0.2, 0.02),
                cause("press", "waiting for repair: jam", 0.1, 0.02),
                cause("calendar", "breaks and off hours", 0.08, 0.001),
                cause("setter", "walking", 0.06, 0.01),
            ],
            "elapsed_s": 10700.0,
            "shortened": 0,
        },
        "audit": {
            "passed": True,
            "laws": ["material is conserved", "states fill the clock"],
            "violations": [],
        },
        "locked": [],
        "assumptions": [
            {"path": "study.seed", "value": "1", "why": "any number will do"},
            *({"path": f"stations.s{k}.by", "value": "nobody", "why": "works alone"} for k in range(6)),
        ],
        "cautions": ["Clearing by hand is taken to be safe."],
        "provenance": {
            "version": "0.1.0",
            "seed": 7,
            "replications": 40,
            "clock": "simpy",
            "horizon_s": 10800.0,
            "sha256": "0123456789abcdef" * 4,
        },
    }
    made["stations"]["test"]["rejected_share"] = entry(0.04, 0.002)
    return made


@pytest.fixture
def single(result: dict[str, Any]) -> dict[str, Any]:
    """The same from one run: no interval has ends."""
    blank(result)
    result["study"]["replications"] = 1
    return result


def blank(part: Any) -> None:
    """Take the ends from every interval in a nested result."""
    if isinstance(part, dict):
        for key, value in part.items():
            if key in ("interval", "interval_s"):
                part[key] = [None, None]
            else:
                blank(value)
    elif isinstance(part, list):
        for value in part:
            blank(value)


@pytest.fixture
def locked(result: dict[str, Any]) -> dict[str, Any]:
    """The same, but two of the runs came to a standstill."""
    circle = ["press holds a unit for tray", "glue holds a unit for bench"]
    result["locked"] = [{"replication": k, "at_s": 4500.0, "circle": circle} for k in (3, 9)]
    return result
