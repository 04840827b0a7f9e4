"""Values that other rules or numbers would give for queues: (id, value, why)."""

from __future__ import annotations

from cellsim.theory.stations import erlang_b, erlang_c, mg1, mmck

WRONG: list[tuple[str, float, str]] = [
    ("mm1-half-busy-number-waiting", 1.0, "the one in service counted"),
    ("mm1-half-busy-number-waiting", 0.25, "constant service"),
    ("md1-half-busy-wait", 1.0, "exponential service"),
    ("md1-half-busy-wait", 1.5, "service counted"),
    ("mm2-chance-of-waiting", erlang_b(2, 1.5), "nobody waits"),
    ("mm2-chance-of-waiting", 0.75**2, "servers busy independently of each other"),
    ("mm5-chance-of-waiting", erlang_b(5, 4), "nobody waits"),
    ("mm5-chance-of-waiting", 0.8, "utilisation"),
    *[("mm1k-three-places-loss", mmck(0.8, 1, 1, places).loss, f"{places} places") for places in (2, 4)],
    *[("mm1k-three-places-number", mmck(0.8, 1, 1, places).number, f"{places} places") for places in (2, 4)],
    *[("mm1k-five-places-number", places / 2, f"{places} places") for places in (4, 6)],
    ("e2e2-wait", 2.0, "by two moments"),
    ("e2e2-wait", mg1(0.8, 1, 0.5).wait, "Poisson arrivals"),
    *[("five-lines-lose-ten-percent", erlang_b(lines, 2.881), f"{lines} lines") for lines in (4, 6)],
    ("five-lines-lose-ten-percent", erlang_c(5, 2.881), "who finds no line waits"),
    ("two-lines-constant-times", mmck(1, 1, 2, 3).loss, "one place to wait"),
    ("two-lines-constant-times", erlang_c(2, 1), "who finds no line waits"),
    *[("parking-places", mmck(6, 0.5, 5, places).number, f"{places} places") for places in (7, 9)],
    *[("car-inspection", mmck(1, 6, 3, places).number, f"{places} places") for places in (6, 8)],
    ("barber-lost", 0.8, "no seat to wait"),
    ("barber-number", 8.67, "the one in the chair not counted"),
    ("two-tellers-chance-of-waiting", 0.64, "tellers busy independently of each other"),
    ("two-mechanics-number", 2 / 3, "those in work only"),
    ("ten-or-more-inside", 0.416960, "eleven or more"),
    ("ten-or-more-inside", 0.667180, "nine or more"),
    ("rack-of-wine", 168.0, "a bottle stays 21 months"),
]
