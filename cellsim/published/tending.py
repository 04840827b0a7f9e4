"""Known results of one person who tends several machines."""

from __future__ import annotations

from cellsim.published.entry import Published

TOPIC = "Machines tended by one person"
PALM = (
    "Palm, C. (1947; in English 1958), The assignment of workers in servicing automatic machines, Journal of "
    "Industrial Engineering 9, 28-42 (from memory)"
)


def tended_machines(machines: int, run: str) -> str:
    """Equal machines that run alone and are served in between by one operator."""
    return f"""
cell: machines tended by one operator
crew: {{operator: {{}}}}
route: [M]
stations:
  M:
    machines: {machines}
    work:
      - {{do: serve, time: {{law: exponential, mean: 1.1 s}}, by: operator, phase: load}}
      - {{do: run, time: {{law: exponential, mean: 6.6 s}}}}
study: {{settle: 10 min, run: {run}, replications: 24, seed: {400 + machines}}}
"""


TENDED = [
    Published(
        id=f"one-operator-{machines}-machines",
        topic=TOPIC,
        statement=f"{machines} machines run 6.6 s, then wait for one operator and are served 1.1 s, both "
        "exponential: the operator is busy 1 - B(N, 6.6/1.1), B the loss formula of Erlang",
        cell=tended_machines(machines, run),
        quantity="units per hour",
        value=value,
        unit="units per hour",
        exactness="one decimal",
        rounding=0.5e-1 / value,
        source=PALM,
    )
    for machines, value, run in [(4, 1736.0, "8 h"), (6, 2405.7, "5 h"), (8, 2873.9, "3 h")]
]
ENTRIES = [*TENDED]
