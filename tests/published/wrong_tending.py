"""Values that other rules or numbers would give for tended machines: (id, value, why)."""

from __future__ import annotations

from cellsim.theory.interference import finite_source, patrol, unlike_machines

# id without its last word, machines, run, service, people
CALLED = [
    ("four-machines-one-repairer", 4, 60, 10, 1),
    ("ten-machines-two-operators", 10, 86, 14, 2),
    ("six-machines-one-robot", 6, 5, 0.75, 1),
    ("five-machines-three-repairers", 5, 20, 15, 3),
]

WRONG: list[tuple[str, float, str]] = [
    *[
        (f"{name}-running", run / (run + service), "somebody for each machine")
        for name, _, run, service, _ in CALLED
    ],
    *[
        (f"{name}-running", finite_source(machines + 1, run, service, people).running, "a machine more")
        for name, machines, run, service, people in CALLED
    ],
    *[
        (f"{name}-busy", machines * service / (run + service) / people, "machines do not wait")
        for name, machines, run, service, people in CALLED
    ],
    ("six-machines-constant-service-running", 0.85914183, "exponential service"),
    ("ten-machines-constant-service-running", 0.84756072, "exponential service"),
    ("two-classes-one-fitter-running", unlike_machines([2, 3], [40, 90], 8)[1], "the other class"),
    ("two-classes-one-fitter-running", finite_source(5, 60, 8, 1).running, "all alike"),
    (
        "patrol-of-four-machines-running",
        finite_source(4, 20, 3, 1).running,
        "called, and exponential service",
    ),
    ("patrol-of-four-machines-running", patrol(4, 20, 3, 0.4).running, "a shorter walk"),
    ("patrol-of-eight-machines-running", patrol(8, 60, 4, 0.5).running, "a longer walk"),
    ("round-of-four-machines-output", 4 / 2.6, "the robot sets out when it is called"),
    ("round-of-four-machines-output", 4 / 2.4, "limited by the robot"),
    ("round-of-three-machines-output", 3 / 4.6, "the robot sets out when it is called"),
    ("six-machines-one-repairer-idle", 1 - 6 / 11, "machines do not wait"),
    ("six-machines-one-repairer-waiting", finite_source(7, 10, 1, 1).waiting, "a machine more"),
    ("twenty-machines-three-repairers-idle", 1 - 20 / 33, "machines do not wait"),
    ("five-printers-technician-idle", 1 - 5 / 11, "machines do not wait"),
    ("five-printers-running", 5 / 1.1, "a technician for each"),
    ("five-cars-two-repairers-running", 4.36, "one repairer"),
    ("five-machines-one-operator-busy", 5 / 8, "machines do not wait"),
    ("five-machines-one-operator-not-waiting", 0.994, "two operators"),
    *[
        (f"twenty-two-machines-{k}-repairers-running", finite_source(22, 10, 1, k + 1).running, "one more")
        for k in (1, 2, 3)
    ],
    ("twenty-two-machines-4-repairers-running", 0.8879, "one less"),
]
