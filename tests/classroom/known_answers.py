"""The answers of the exercises as they stand in print or were worked out by hand, with their origin."""

from __future__ import annotations

# Exercise: {figure: (value, its rounding)}.  Values with a formula in the literature are quoted with the
# digits there; the others were worked out with pencil and paper or by a plain script of their own.
BY_HAND: dict[int, dict[str, tuple[float, float]]] = {
    # 450 min / 900; 106.38 s / 30 s = 3.55; 106.38 / 120 and / 150; 30 x 0.98
    1: {
        "takt": (30.0, 0.0),
        "people": (4, 0.0),
        "four": (88.7, 0.05),
        "five": (70.9, 0.05),
        "scrap": (29.4, 1e-9),
    },
    # E = (2 + n (1 + I)) / (2 (1 + 2 I) + n (1 + I)^2), I = 0.2, n = places x 24 / 240; 150 E
    2: {
        "places_0": (107.14, 0.005),
        "places_5": (110.80, 0.005),
        "places_10": (113.21, 0.005),
        "places_20": (116.20, 0.005),
        "places_40": (119.16, 0.005),
        "places_100": (122.09, 0.005),
    },
    # Hunt (1956): (N + 2) / (N + 3) and 22 / 39, of 100 an hour
    3: {
        "none": (200 / 3, 1e-9),
        "places_1": (75, 1e-9),
        "places_2": (80, 1e-9),
        "places_4": (85.71, 0.005),
        "places_8": (90.91, 0.005),
        "three": (2200 / 39, 1e-6),
    },
    # Finite source, sums of binomials worked out by hand; constant times: 6 x 3600 / 75, 7 x 3600 / 77
    4: {
        "machines_4": (173.6, 0.05),
        "machines_5": (209.3, 0.05),
        "six": (240.6, 0.05),
        "machines_7": (266.7, 0.05),
        "machines_8": (287.4, 0.05),
        "busy": (73.5, 0.05),
        "step_6": (288, 1e-9),
        "step_7": (327.3, 0.05),
        "step_8": (327.3, 0.05),
        "own": (280.5, 0.05),
    },
    # Time line of the robot: 12 + 9 + 24; 12 + 12 + 4; 12 + 12 + 10
    5: {"follow": (45, 1e-9), "second_first": (28, 1e-9), "slow": (34, 1e-9)},
    # Bayes: 19.4 / 43.4, 43.4 / 1000, 6 / 956.6
    6: {
        "good": (44.7, 0.05),
        "rejected": (4.34, 1e-9),
        "escapes": (0.627, 0.0005),
        "rejected_twice": (6.72, 0.005),
        "escapes_twice": (0.129, 0.0005),
        "rolled": (90.35, 0.005),
    },
    # Four states of a birth and death process each, by hand
    7: {
        "runs_1": (78.39, 0.005),
        "runs_2": (83.14, 0.005),
        "runs_3": (83.33, 0.005),
        "busy_1": (47.0, 0.05),
        "busy_2": (24.9, 0.05),
        "busy_3": (16.7, 0.05),
    },
    # Unit times added up in a spreadsheet
    8: {"first": (598, 0.0), "rate_85": (441, 0.0), "rate_95": (752, 0.0)},
    # sqrt(2 U^2 D^2 / ((U + D)^3 T)), U = 87, D = 12, T = 480: 6.84 points, x 1.96 = 13.4 for long runs
    9: {
        "points": (13.4, 0.2),
        "availability": (87.88, 0.005),
        "shifts": (45, 0.0),
        "passes": (27, 1.0),
        "least_5": (0.48, 0.005),
        "most_5": (2.54, 0.005),
        "least_20": (0.69, 0.005),
        "most_20": (1.51, 0.005),
    },
    10: {"empty": (56, 0.0), "primed": (60, 0.0), "later": (60, 0.0)},
    # 29.5 x 30 s = 14.75 min, + 50; 120 x 64.75 / 60; 30 / 36; 60 per 50 min
    11: {"lead": (64.75, 1e-9), "inside": (129.5, 1e-9), "loaded": (83.33, 0.005), "one": (72, 1e-9)},
    # exp(-1), exp(-2); 40 ln 100 = 184.2 and 60 ln 100 = 276.3, rounded up
    12: {
        "left_40": (36.79, 0.005),
        "left_80": (13.53, 0.005),
        "needed": (185, 0.0),
        "needed_30": (277, 0.0),
    },
    # Stationary chain of the line solved by a script of its own: working shares and derivatives of the rate
    13: {
        "first": (0.0236493, 1e-6),
        "last": (4.0590325, 1e-6),
        "rate": (77.90848, 1e-5),
        "busy_one": (71.4, 0.05),
        "path_one": (0.5916, 0.00005),
        "path_four": (50.8872, 0.00005),
    },
    # 270 s, then one each 90 s: 1 + (3600 - 270) // 90
    14: {"units": (38, 0.0), "held_d": (0.0, 0.0), "with_5": (38, 0.0)},
    # 3600 / 40, 3600 / 25, 20 / 40, 20 / 25
    15: {
        "packs": (90, 1e-9),
        "loads": (144, 1e-9),
        "longest": (90, 1e-9),
        "busy_packs": (50, 1e-9),
        "busy_loads": (80, 1e-9),
    },
    # (1 + 0.9025) / 0.0025
    16: {"times": (761, 1e-6), "before": (20, 0.0), "after": (19, 1e-9)},
    # 61 min to the first unit, then 2 a minute: 239 in 180 min, 240 in two hours, 4679 in 40 hours
    17: {"counted": (239 / 3, 1e-9), "settled": (120, 1e-9), "week": (4679 / 40, 1e-9)},
    # 120 w / (w + 3); 4 x rho / (1 - rho) with rho = 4 / 7
    18: {
        "cards_1": (30, 1e-9),
        "cards_4": (480 / 7, 1e-9),
        "cards_8": (960 / 11, 1e-9),
        "cards_16": (1920 / 19, 1e-9),
        "pushed": (16 / 3, 1e-9),
    },
}
