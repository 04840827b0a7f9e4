"""Values of scrap and inspection that a wrong simulator, or a wrong reading, would give: (id, value, why)."""

from __future__ import annotations

from math import exp

from cellsim.theory.quality import inspection, scrap_line

WRONG: list[tuple[str, float, str]] = [
    ("starts-for-a-good-unit-three-stations", 1 / (0.98 * 0.95), "without the last station"),
    ("starts-for-a-good-unit-three-stations", 1 / 0.95, "the worst station alone"),
    ("starts-for-a-good-unit-four-stations", 1 / 0.85, "the worst station alone"),
    ("most-good-units-three-stations", 60 * 0.98 * 0.95 * 0.99 / 1.05, "the slowest station limits"),
    (
        "most-good-units-five-stations",
        60 * 0.99 * 0.97 * 0.995 * 0.96 * 0.985 / 0.46,
        "the slowest station limits",
    ),
    ("most-good-units-five-stations", 60 * 0.985 / 0.46, "the last station limits"),
    ("scrap-in-the-middle", scrap_line([1, 1, 1], [1, 1], [0, 0, 0]), "nothing is scrapped"),
    (
        "scrap-in-the-middle",
        0.9 * scrap_line([1, 1, 1], [1, 1], [0, 0, 0]),
        "scrap keeps its place to the end",
    ),
    ("scrap-in-the-middle", scrap_line([1, 1, 1], [1, 1], [0, 0, 0.1]), "scrapped at the end"),
    ("scrap-at-two-stations", scrap_line([0.9, 1, 1.1], [2, 2], [0, 0, 0]), "nothing is scrapped"),
    (
        "scrap-at-two-stations",
        scrap_line([0.9, 1, 1.1], [2, 2], [0, 0.05, 0.05]),
        "scrapped one station later",
    ),
    ("scrap-of-a-quicker-station", scrap_line([0.8, 1], [2], [0, 0]), "nothing is scrapped"),
    ("scrap-of-a-quicker-station", scrap_line([0.8, 1], [2], [0, 0.2]), "scrapped at the end"),
    ("repeats-of-10-percent-1-places", scrap_line([1, 0.9], [1], [0, 0]), "nothing is done again"),
    ("repeats-of-20-percent-3-places", scrap_line([1, 1.2], [3], [0, 0]), "done again once at most"),
    ("five-steps-of-98-percent", 0.98, "one step alone"),
    ("five-steps-of-98-percent", 0.98**6, "one step more"),
    ("four-steps-with-rework", 1 - 0.01 - 0.05 - 0.03 - 0.1, "shares added up"),
    ("four-steps-with-rework", 0.9, "the worst step alone"),
    ("ten-steps-of-3-sigma", 1 - 10 * 0.06681, "shares added up"),
    ("ten-steps-of-3-sigma", (1 - 0.06681) ** 9, "one step less"),
    ("ten-steps-of-4-sigma", (1 - 0.00621) ** 9, "one step less"),
    ("units-without-defect-5-per-100", exp(-0.025), "half of the defects are seen"),
    ("units-without-defect-30-per-100", 1 - 0.3, "never two defects in a unit"),
    ("units-without-defect-30-per-100", 1 / 1.3, "defects in clusters (geometric law)"),
    ("three-units-spoiled-after-each-stop", exp(-2 / 30), "two units"),
    ("three-units-spoiled-after-each-stop", exp(-4 / 30), "four units"),
    (
        "inspection-of-2-percent-escapes",
        inspection(0.02, 0.05, 0.01).outgoing_defective,
        "the errors exchanged",
    ),
    ("inspection-of-2-percent-escapes", 0.02, "not inspected"),
    (
        "inspection-of-2-percent-false-alarms",
        inspection(0.02, 0.05, 0.01).rejected_good,
        "the errors exchanged",
    ),
    ("inspection-of-2-percent-false-alarms", 1 - 0.3402777778, "faulty share of the rejected"),
    ("inspection-of-10-percent-false-alarms", 1 - 0.2410714286, "faulty share of the rejected"),
    ("inspection-of-10-percent-false-alarms", 0.03, "rejected share of the good units"),
    ("inspection-twice-escapes", inspection(0.05, 0.02, 0.1).outgoing_defective, "inspected once"),
    ("inspection-three-times-escapes", inspection(0.1, 0.05, 0.2, 2).outgoing_defective, "inspected twice"),
    (
        "inspection-three-times-escapes",
        inspection(0.1, 0.05, 0.2, 4).outgoing_defective,
        "inspected four times",
    ),
    ("inspection-with-rework-5-percent-passes", 1 / 0.95, "without errors of the inspection"),
    ("inspection-with-rework-5-percent-escapes", 0.05, "not inspected"),
    ("inspection-with-rework-20-percent-escapes", 0.2, "not inspected"),
    ("inspection-with-rework-1-percent-passes", 1 / 0.99, "without errors of the inspection"),
]
