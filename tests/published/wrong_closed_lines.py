"""Values that other rules or numbers would give for closed lines: (id, value, why)."""

from __future__ import annotations

from cellsim.theory.closed import closed_network, pallet_loop

MEANS, MACHINES = [2, 5, 10, 3], [1, 2, 6, 2]

WRONG: list[tuple[str, float, str]] = [
    ("three-stations-five-cards-rate", closed_network([1, 1.5, 0.8], 6).throughput, "a card more"),
    ("three-stations-five-cards-number", closed_network([1, 1.5, 0.8], 5).numbers[1] - 0.908, "waiting only"),
    ("four-stations-six-cards-number", closed_network([2, 3, 2.5, 4], 5).numbers[3], "a card less"),
    ("five-stations-ten-cards-rate", 1 / 1.2, "the bottleneck never starves"),
    ("five-stations-ten-cards-rate", closed_network([1, 1, 1.2, 0.9, 1.1], 9).throughput, "a card less"),
    ("parallel-machines-8-cards-rate", 0.4, "no variability"),
    ("parallel-machines-8-cards-rate", closed_network(MEANS, 9, MACHINES).throughput, "a card more"),
    ("parallel-machines-15-cards-rate", 0.4, "no variability"),
    ("parallel-machines-15-cards-rate", closed_network(MEANS, 13, MACHINES).throughput, "two cards less"),
    ("four-alike-four-cards-rate", 0.5, "no variability"),
    ("four-alike-four-cards-rate", 0.5 * 5 / 8, "a card more"),
    ("four-alike-ten-cards-rate", 0.5 * 11 / 14, "a card more"),
    ("six-alike-six-cards-rate", 7 / 12, "a card more"),
    ("best-case-three-cards", 3 / 9, "as a balanced line of 6 stations"),
    ("best-case-parallel-machines-five-cards", 0.4, "the bottleneck never starves"),
    ("best-case-parallel-machines-twelve-cards", 0.6, "no bottleneck"),
    ("worst-case-ten-cards", 20.0, "units move one by one"),
    ("worst-case-six-cards", 12.0, "units move one by one"),
    ("three-stations-five-pallets", pallet_loop([1, 1, 1], [1, 1, 1], 3), "two pallets less"),
    ("three-stations-five-pallets", pallet_loop([1, 1, 1], [2, 1, 1], 5), "a place more"),
    ("three-stations-five-pallets", 5 / 7, "room for all"),
    ("four-stations-six-pallets", closed_network([1, 1.3, 0.9, 0.7], 6).throughput, "room for all"),
    ("two-stations-three-cards", 0.8, "a card more"),
    ("three-users-rate", 3 / 19.055, "users do not wait"),
    ("three-users-at-the-slowest", 0.235, "the other station"),
    ("twenty-users-rate", 20 / 56, "response of 52 s"),
]
