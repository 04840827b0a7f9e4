"""Values near those of line balancing that must be refused."""

from __future__ import annotations

WRONG = [
    ("jackson-fewest-stations", (7, 6, 5, 4, 4, 3), "work by cycle, elements being divisible"),
    ("bowman-fewest-stations", (4,), "work by cycle, elements being divisible"),
    (
        "appliance-positional-weights",
        (3.10, 2.27, 2.30, 1.87, 1.00, 0.89, 0.89, 1.27, 0.62, 0.62, 0.12, 0.0),
        "what follows, without the element itself",
    ),
    ("appliance-by-positional-weights", (1.00, 0.81, 0.98, 0.59, 0.62), "by the longest time"),
    ("wing-component-stations", (5.5,), "not rounded up"),
    ("wing-component-efficiency", (0.786,), "seven stations"),
    ("wagon-by-most-followers", (50, 45, 50, 50), "by the longest time"),
    ("wagon-efficiency", (0.967,), "four stations"),
    ("seven-elements-fewest-stations", (4,), "C, F and G of the text do not fit"),
    ("bell-four-or-five", (0.7092, 0.591), "five and six"),
    ("bell-least-people", (4, 4), "work by cycle alone"),
]
