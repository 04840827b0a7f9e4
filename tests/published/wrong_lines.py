"""Values that a wrong simulator, or a wrong reading of a rule, would give: (id, value, why)."""

from __future__ import annotations

WRONG: list[tuple[str, float, str]] = [
    *[(f"two-stations-{b}-places", (b + 2) / (b + 4), "another formula") for b in range(5)],
    *[(f"two-stations-{b}-places", (b + 3) / (b + 4), "one place more") for b in range(5)],
    *[(f"two-stations-{b}-places", (b + 1) / (b + 2), "one place less") for b in range(5)],
    ("three-stations-0-places", 6 / 11, "all units move at once"),
    ("four-stations-rate", 0.698640, "the busy share of S1"),
    *[(f"four-stations-path-of-S{k}", 0.25, "equal shares") for k in range(1, 5)],
    ("four-stations-path-of-S1", 0.698640, "utilisation"),
    *[(f"one-operator-{n}-machines", n * 3600 / 7.7, "no interference") for n in (4, 6, 8)],
    ("three-machines-1-technicians", 100 / 120, "a technician for each"),
    ("one-station-that-stops", 90 / 100, "time between stops counted from stop to stop"),
    ("spinning-top-0-places", 150 / 1.2**2, "stations stop also while they stand"),
    *[
        (f"spinning-top-{places}-places", value, "as with more places")
        for places, value in [(0, 113.21), (5, 116.20), (10, 119.16), (20, 122.09)]
    ],
    ("spinning-top-40-places", 125.0, "unlimited places"),
]
