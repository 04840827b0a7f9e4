"""Values that a wrong simulator, or a wrong reading of a rule, would give: (id, value, why)."""

from __future__ import annotations

MORE_PLACES = {  # rates of equal lines: by stations, from no places on
    "three": [0.564103, 0.670466, 0.734017, 0.776712, 0.807486, 0.830759],
    "four": [0.514775, 0.631153, 0.700713, 0.747710, 0.781776, 0.807665],
    "five": [0.485798, 0.607583, 0.680489, 0.729948],
    "six": [0.466713, 0.591826, 0.666856, 0.717908],
}
KNOWN = {"three": [0, 1, 2, 3, 4], "four": [0, 1, 2, 4], "five": [0, 1, 2], "six": [0, 1, 2]}
WRONG: list[tuple[str, float, str]] = [
    *[(f"two-stations-{b}-places", (b + 2) / (b + 4), "another formula") for b in range(5)],
    *[(f"two-stations-{b}-places", (b + 3) / (b + 4), "one place more") for b in range(5)],
    *[(f"two-stations-{b}-places", (b + 1) / (b + 2), "one place less") for b in range(5)],
    ("two-stations-4-places-starved", 1 / 6, "one place less"),
    ("two-stations-4-places-blocked", 1 / 8, "one place more"),
    ("two-stations-4-places-filled", 3.0, "with the unit on the second station and the one that waits"),
    *[
        (f"{word}-stations-{b}-places", MORE_PLACES[word][b + 1], "one place more")
        for word, known in KNOWN.items()
        for b in known
    ],
    *[
        (f"{word}-stations-{b}-places", MORE_PLACES[word][b - 1], "one place less")
        for word, known in KNOWN.items()
        for b in known
        if b
    ],
    ("six-stations-0-places", 0.453179, "one station more"),
    ("seven-stations-0-places", 0.466713, "one station less"),
    ("seven-stations-0-places", 0.443070, "one station more"),
    ("three-stations-0-places", 6 / 11, "all units move at once"),
    ("three-stations-0-places-starved", 9 / 39, "the blocked share of the second"),
    ("three-stations-0-places-blocked", 17 / 39, "the blocked share of the first"),
    ("four-stations-1-places-inside", 3.829064, "without the unit on the first station"),
    ("five-stations-2-places-inside", 7.339353, "without the unit on the first station"),
    ("four-stations-rate", 0.698640, "the busy share of S1"),
    *[(f"four-stations-path-of-S{k}", 0.25, "equal shares") for k in range(1, 5)],
    ("four-stations-path-of-S1", 0.698640, "utilisation"),
    ("two-unequal-stations-faster-last", 0.770142, "one place more"),
    ("two-unequal-stations-slower-last", 0.702523, "one place less"),
    ("three-unequal-stations", 0.588709, "the places in the other order"),
    ("three-unequal-stations-reversed", 0.588709, "the places in the other order"),
    ("bowl-three-stations-inverted", 22 / 39, "work shared out evenly"),
    ("bowl-three-stations", 0.5532606301, "a slower middle station"),
    ("four-places-over-three-stores-rate", 0.6311526854, "one place in each store"),
    ("one-place-in-the-middle", 0.5445886008, "the place at an end"),
    ("one-place-at-an-end", 0.5588597618, "the place in the middle"),
    ("erlang-2-two-stations-0-places", 16 / 21, "three phases"),
    ("erlang-3-two-stations-0-places", 8 / 11, "two phases"),
    ("erlang-4-two-stations-0-places", 16 / 21, "three phases"),
    ("erlang-2-three-stations-0-places", 0.6842240387, "three phases"),
    ("erlang-3-three-stations-0-places", 0.6404085005, "two phases"),
    ("erlang-2-four-stations-0-places", 0.5147754893, "exponential times"),
    ("erlang-3-three-stations-2-places", 0.7340166721, "exponential times"),
    ("constant-and-exponential-times", 2 / 3, "both exponential"),
    ("constant-and-triangular-times", 1.0, "no spread"),
    ("constant-and-uniform-times", 12 / 13, "a triangle instead of a rectangle"),
    ("two-uniform-times", 6 / 7, "half the width"),
    ("three-stations-that-move-at-once", 22 / 39, "each unit moves on when it can"),
    ("four-stations-that-move-at-once", 0.5147754893, "each unit moves on when it can"),
    ("constant-times-three-stations", 0.6666, "anything else"),
    ("constant-times-four-stations", 1.999, "anything else"),
    *[(f"one-operator-{n}-machines", n * 3600 / 7.7, "no interference") for n in (4, 6, 8)],
]
