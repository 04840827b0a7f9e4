"""Values of batches and lots that a wrong simulator, or a wrong reading, would give: (id, value, why)."""

from __future__ import annotations

from cellsim.theory.stations import erlang_b, erlang_c, mg1, mginf_exceedance, mm1

WRONG: list[tuple[str, float, str]] = [
    ("oven-of-4", 5.30088348 - 1.5, "without the time in which a batch forms"),
    ("oven-of-4", 9.442917432, "exponential time of a batch"),
    ("oven-of-12", 33.39418087 - 11, "without the time in which a batch forms"),
    ("oven-of-12", 11 + 20, "batches never wait for the oven"),
    ("forming-a-batch-of-4", 3.0, "all wait as long as the first"),
    ("forming-a-batch-of-4", 2.0, "each waits for one more"),
    ("forming-a-batch-of-12", 22.0, "all wait as long as the first"),
    ("forming-a-batch-of-12", 12.0, "each waits for one more"),
    ("batches-that-wait-4-s", 4.0, "the first unit is not counted"),
    ("batches-that-wait-4-s-wait", 4.0, "all wait as long as the first"),
    ("batches-that-wait-4-s-wait", 2.0, "all come at random within the limit"),
    ("batches-that-wait-4-s-6-at-most", 5.0, "no largest batch"),
    ("more-than-28-in-a-rack", mginf_exceedance(0.5, 40, 27), "28 or more"),
    ("more-than-28-in-a-rack", mginf_exceedance(0.5, 40, 29), "more than 29"),
    *[
        (f"turned-away-from-{c}-positions", value, why)
        for c, load in [(2, 1), (3, 2), (6, 3)]
        for value, why in [
            (erlang_b(c - 1, load), "one position less"),
            (erlang_b(c + 1, load), "one position more"),
            (erlang_c(c, load), "share that waits where there is a queue"),
        ]
    ],
    ("lots-of-4-worked-one-by-one", mm1(0.3, 1).time_in_system, "units come alone"),
    ("lots-of-4-worked-one-by-one", 4 * mm1(0.3, 1).time_in_system, "a lot goes on as a whole"),
    ("wait-of-lots-with-a-setup", mg1(1 / 16, 4, 0).wait, "without setups"),
    ("wait-of-lots-with-a-setup", mg1(1 / 16, 4 + 2 * 3, 0).wait, "two setups"),
    ("wait-of-lots-with-a-setup", mm1(1 / 16, 7).wait, "exponential time of a lot"),
]
