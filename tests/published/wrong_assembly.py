"""Values of assembly that a wrong simulator, or a wrong reading of a rule, would give: (id, value, why)."""

from __future__ import annotations

from cellsim.theory.assembly import assembly_rate, matching

WRONG: list[tuple[str, float, str]] = [
    ("assembly-0-places", 26 / 45, "parts go into the assembly one by one"),
    ("assembly-0-places", 22 / 39, "the rate of three stations in a row"),
    ("assembly-0-places-unequal", 1 / 1.25, "the slowest alone"),
    ("assembly-2-places", assembly_rate([1, 1], 1, [3, 3]), "one place more"),
    ("assembly-2-places", assembly_rate([1, 1], 1, [1, 1]), "one place less"),
    ("assembly-5-places", assembly_rate([1, 1], 1, [6, 6]), "one place more"),
    ("assembly-5-places", assembly_rate([1, 1], 1, [4, 4]), "one place less"),
    ("assembly-2-of-A-2-and-1-places", assembly_rate([1, 1], 1, [2, 1]), "one of A where two are taken"),
    (
        "assembly-2-of-A-2-and-1-places",
        assembly_rate([0.5, 1], 1, [2, 1], [2, 1], preloading=True),
        "parts go into the assembly one by one",
    ),
    (
        "assembly-2-of-A-4-and-2-places",
        assembly_rate([0.5, 1], 1, [4, 4], [2, 1]),
        "as many places for B as for A",
    ),
    ("assembly-of-three-parts", 6 / 11, "the third feeder is left out"),
    ("assembly-with-nests-0-places", 6 / 11, "whole kits only"),
    ("assembly-with-nests-2-places", assembly_rate([1, 1], 1, [3, 3]), "a nest is one place more"),
    ("assembly-turned-round-0-places", 22 / 39, "a line without places, blocking after service"),
    ("assembly-turned-round-0-places", 6 / 11, "whole kits only"),
    ("assembly-turned-round-2-places", assembly_rate([1, 1], 1, [1, 1], preloading=True), "one place less"),
    ("pairs-equal-3-places", 4 / 5, "one place less"),
    ("pairs-equal-3-places", 8 / 9, "one place more"),
    ("pairs-equal-10-places", 2.0, "nothing is turned away"),
    ("pairs-unequal", matching(1, 1.25, 3, 2).rate, "one place less"),
    ("pairs-unequal", 1.0, "nothing is turned away"),
    *[
        (f"fork-and-join-{load}-percent", 1 / (1 - load / 100), "the time at one station alone")
        for load in (25, 40)
    ],
    *[
        (
            f"fork-and-join-{load}-percent",
            1.5 / (1 - load / 100),
            "two stations that know nothing of each other",
        )
        for load in (25, 40)
    ],
]
