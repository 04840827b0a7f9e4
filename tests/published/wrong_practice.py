"""Values near those of common practice, work study, key figures and statistics that must be refused."""

from __future__ import annotations

WRONG = [
    ("eleven-people-one-hundred-an-hour", (6.0,), "ten people"),
    ("press-feeds-a-cell", (5 / 36,), "one part in a unit"),
    ("polished-for-20-hours", 4200.0, "21 hours"),
    ("beginner-takes-longer", (1 / 1.2,), "1.2 times the standard time"),
    ("minutes-of-a-shift", (460.0,), "starting and cleaning up cost nothing"),
    ("robot-recovery", (60 / 61.5,), "no recovery"),
    ("power-at-half-load", (3.0,), "nothing is drawn while idle"),
    ("jams-and-breakdowns-add-up", 1 / (1 + 1 / 30), "jams alone"),
    ("robot-slowed-by-people", (0.85,), "never stopped"),
    ("first-hour-empty", (60.0,), "primed"),
    ("round-the-u-two", (120.0,), "the longest bench alone is the limit"),
    ("standard-time-on-basic-time", (3.4 / 0.87,), "an allowance that is a share of the working day"),
    (
        "learning-80-sums",
        (100.0, 160.0, 210.631110834, 256.0, 297.818671807),
        "the curve of cumulative averages (Wright 1936): n x n^log2(0.8) x 100",
    ),
    ("seven-elements-efficiency", (325 / 480,), "four stations"),
    ("seven-elements-people", (2.0,), "rounded down"),
    ("takt-without-breaks", (480 * 60 / 350, 480 * 60 / 420, 480 * 60 / 600), "breaks left in"),
    ("availability-60-and-15", 0.75, "60 min from stop to stop, the repair included"),
    ("oee-day-performance", (0.777,), "cut to three digits, as it is printed"),
    ("oee-shift", (0.791,), "cut to three digits, as it is printed"),
    ("availability-of-states", (384 / 450,), "waiting left out of the planned time"),
    ("labour-of-two-and-a-half", (0.15,), "the part timer is paid for the whole shift"),
    ("robot-move-at-250", (5.6, 11.2, 16.8), "2.3 s a way"),
    ("interval-of-five", (13.0, 11.6141, 14.3859), "the quantile of the normal law"),
    ("sleep-data", (1.58, -0.2038698, 3.3638698), "two samples that are not paired"),
    ("least-samples-for-a-percentile", (46, 93, 473), "smallest to largest value instead of one side"),
]
