"""Exercises about people, robots and machines that wait for one another."""

from __future__ import annotations

from functools import partial

from cellsim.classroom.answers_lines import OUTPUT, share_of
from cellsim.classroom.exercise import Exercise, Figure, means
from cellsim.published.measures import REPLICATED
from cellsim.published.tending import PALM
from cellsim.theory.interference import cyclic_tending, finite_source, ideal_machines
from cellsim.theory.learning import unit_time, units_within
from cellsim.theory.robot_rounds import SETHI, follow_the_part, unload_second_first

# 4: how many machines for one person; times in seconds.
WIND, SERVE, WALK = 66.0, 9.0, 2.0
VISIT = SERVE + WALK


def at_random(machines: int) -> float:
    """Units per hour of so many machines with one person, all times exponential."""
    return 3600 * finite_source(machines, WIND, VISIT, 1).services


def in_step(machines: int) -> float:
    """Units per hour of so many machines with one person in a fixed round, constant times."""
    return 3600 * cyclic_tending([WIND] * machines, [SERVE] * machines, [WALK] * machines).output


def own_person(machines: int) -> float:
    """Units per hour where each machine has a person of its own."""
    return 3600 * machines / (WIND + VISIT)


TENDING = Exercise(
    number=4,
    file="04_tending",
    source=PALM + "; constant times: synchronous servicing, Niebel, B. and Freivalds, A., Methods, Standards "
    "and Work Design (from memory)",
    figures=(
        Figure(key="six", words="6 winders", unit="per h", exact=partial(at_random, 6), read=OUTPUT),
        *(
            Figure(
                key=f"machines_{count}",
                words=f"{count} winders",
                unit="per h",
                exact=partial(at_random, count),
                read=OUTPUT,
                changes=(f"stations.winder.machines: {count}",),
            )
            for count in (4, 5, 7, 8)
        ),
        Figure(
            key="busy",
            words="the person, 6 winders",
            unit="%",
            exact=lambda: 100 * finite_source(6, WIND, VISIT, 1).utilisation,
            read=share_of("share of time of a post at work", "operator"),
        ),
        Figure(key="step_6", words="6, constant, in a round", unit="per h", exact=partial(in_step, 6)),
        Figure(key="step_7", words="7, constant, in a round", unit="per h", exact=partial(in_step, 7)),
        Figure(key="step_8", words="8, constant, in a round", unit="per h", exact=partial(in_step, 8)),
        Figure(key="own", words="6, a person at each", unit="per h", exact=partial(own_person, 6)),
    ),
    more={
        "ideal": lambda: ideal_machines(WIND, SERVE, WALK),
        "lost": lambda: 100 * (1 - at_random(6) / own_person(6)),
        "only_run": lambda: 3600 * 6 / WIND,
    },
    within=0.03,
)

# 5: a robot and two machines; times in seconds.
FIRST, SECOND_MACHINE, GRIP, STEP = 14.0, 10.0, 2.0, 1.5
SECONDS = means(REPLICATED["seconds per unit"])
ROBOT = Exercise(
    number=5,
    file="05_robot",
    source=SETHI,
    figures=(
        Figure(
            key="second_first",
            words="second machine emptied first",
            unit="s",
            exact=lambda: unload_second_first(FIRST, SECOND_MACHINE, GRIP, STEP),
            read=SECONDS,
        ),
        Figure(
            key="follow",
            words="robot follows the part",
            unit="s",
            exact=lambda: follow_the_part(FIRST, SECOND_MACHINE, GRIP, STEP),
            read=SECONDS,
            changes=("robots.R.moves: [input > M1, M1 > M2, M2 > output]", "study.settle: 270 s"),
        ),
        Figure(
            key="slow",
            words="the same, machine 2 of 20 s",
            unit="s",
            exact=lambda: unload_second_first(FIRST, 20, GRIP, STEP),
            read=SECONDS,
            changes=("stations.M2.cycle: 20 s", "study.settle: 340 s", "study.run: 1360 s"),
        ),
    ),
    more={
        "machine": lambda: FIRST + 2 * GRIP,
        "robot": lambda: 6 * GRIP + 8 * STEP,
        "rate": lambda: 3600 / unload_second_first(FIRST, SECOND_MACHINE, GRIP, STEP),
        "rate_follow": lambda: 3600 / follow_the_part(FIRST, SECOND_MACHINE, GRIP, STEP),
        "away": lambda: 4 * STEP + 2 * GRIP,
        "forward": lambda: 6 * GRIP + 6 * STEP,
    },
    within=0.01,
)

# 7: technicians; minutes.
UP, REPAIR = 100.0, 20.0


def available(technicians: int) -> float:
    """Share of time in which a machine runs, per cent."""
    return 100 * finite_source(3, UP, REPAIR, technicians).running


def repairing(technicians: int) -> float:
    """Share of time in which a technician repairs, per cent."""
    return 100 * finite_source(3, UP, REPAIR, technicians).utilisation


TECHNICIANS = Exercise(
    number=7,
    file="07_technicians",
    source=PALM,
    figures=(
        *(
            Figure(
                key=f"runs_{count}",
                words=f"{count} technician{'s' * (count > 1)}: machines run",
                unit="%",
                exact=partial(available, count),
                read=share_of("share of time at work", "machine"),
                changes=() if count == 1 else (f"crew.technician.people: {count}",),
            )
            for count in (1, 2, 3)
        ),
        *(
            Figure(
                key=f"busy_{count}",
                words=f"{count} technician{'s' * (count > 1)}: each repairs",
                unit="%",
                exact=partial(repairing, count),
                read=share_of("share of time of a post at work", "technician"),
                changes=() if count == 1 else (f"crew.technician.people: {count}",),
                tolerance=0.01,
            )
            for count in (1, 2, 3)
        ),
    ),
    more={
        "second": lambda: available(2) - available(1),
        "third": lambda: available(3) - available(2),
        "one_queue": lambda: 100 * (1 - 3 * REPAIR / UP),
    },
    within=0.01,
)

# 8: learning; seconds.
STANDARD, AFTER, SHIFT = 30.0, 3000, 27000.0


def made(rate: float, shifts: int = 1) -> float:
    """Units of the first shifts."""
    return float(units_within(shifts * SHIFT, STANDARD, rate, AFTER))


UNITS = means(REPLICATED["good units"])
LEARNING = Exercise(
    number=8,
    file="08_learning",
    source="unit curve: Wright, T. P. (1936), Factors affecting the cost of airplanes, Journal of the "
    "Aeronautical Sciences 3(4), 122-128, read unit by unit as by Crawford (1944; from memory)",
    figures=(
        Figure(key="first", words="first shift, 90 %", unit="units", exact=partial(made, 0.9), read=UNITS),
        *(
            Figure(
                key=f"rate_{round(100 * rate)}",
                words=f"first shift, {100 * rate:.0f} %",
                unit="units",
                exact=partial(made, rate),
                read=UNITS,
                changes=(f"crew.anna.learning.rate: {100 * rate:.0f} %",),
            )
            for rate in (0.85, 0.95)
        ),
        Figure(
            key="five",
            words="five shifts together, 90 %",
            unit="units",
            exact=partial(made, 0.9, 5),
            read=UNITS,
            changes=("study.run: 37.5 h",),
        ),
    ),
    more={
        "plan": lambda: SHIFT / STANDARD,
        "plan_five": lambda: 5 * SHIFT / STANDARD,
        "missing": lambda: 5 * SHIFT / STANDARD - made(0.9, 5),
        "opening": lambda: unit_time(1, STANDARD, 0.9, AFTER),
        "flat": lambda: 0.9 * SHIFT / STANDARD,
        "slowest": lambda: SHIFT / unit_time(1, STANDARD, 0.9, AFTER),
    },
    within=0.05,
)

# 15: whom a person serves first; seconds.
LOAD, TEST, PACK = 5.0, 20.0, 15.0


def loads_first() -> float:
    """Units per hour when packing is done while the tester runs: a round of one machine."""
    return 3600 * cyclic_tending([TEST], [LOAD], [PACK]).output


def packs_first() -> float:
    """Units per hour when the tester stands while she packs: one after the other."""
    return 3600 / (LOAD + TEST + PACK)


WHO_FIRST = Exercise(
    number=15,
    file="15_who_first",
    source="man-machine chart: the longest of load + test and load + pack, or their sum where nothing "
    "overlaps; Niebel, B. and Freivalds, A., Methods, Standards and Work Design (from memory)",
    figures=(
        Figure(key="packs", words="packs first", unit="per h", exact=packs_first, read=OUTPUT),
        Figure(
            key="loads",
            words="loads the tester first",
            unit="per h",
            exact=loads_first,
            read=OUTPUT,
            changes=("crew.P.serves: upstream first",),
        ),
        Figure(
            key="longest",
            words="who has waited longest",
            unit="per h",
            exact=packs_first,
            read=OUTPUT,
            changes=("crew.P.serves: longest waiting",),
        ),
        Figure(
            key="busy_packs",
            words="the person, packs first",
            unit="%",
            exact=lambda: 100 * (LOAD + PACK) / (LOAD + TEST + PACK),
            read=share_of("share of time of a post at work", "P"),
        ),
        Figure(
            key="busy_loads",
            words="the person, loads first",
            unit="%",
            exact=lambda: 100 * (LOAD + PACK) * loads_first() / 3600,
            read=share_of("share of time of a post at work", "P"),
            changes=("crew.P.serves: upstream first",),
        ),
    ),
    more={
        "person": lambda: 3600 / (LOAD + PACK),
        "more": lambda: 100 * (loads_first() / packs_first() - 1),
    },
    within=0.01,
)

EXERCISES = (TENDING, ROBOT, TECHNICIANS, LEARNING, WHO_FIRST)
