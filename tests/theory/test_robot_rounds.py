"""A robot and two machines in a row: formulas against time lines drawn by hand and against brute force."""

from __future__ import annotations

import itertools

import pytest

from cellsim.theory.robot_rounds import follow_the_part, unload_second_first

AT = {"in": 0, "M1": 1, "M2": 2, "out": 3}


def brute_force(moves, times, grip, step, rounds=60):
    """The time between the last two units of a robot that goes through its moves again and again."""
    ready = {"in": 0.0, "M1": None, "M2": None}
    now, here, left = 0.0, "in", []
    for start, end in moves * rounds:
        if start != "in" and ready[start] is None:
            continue  # nothing was ever put there: the first round
        now += step * abs(AT[here] - AT[start])
        now = max(now, ready[start]) + grip
        if start != "in":
            ready[start] = None
        now += step * abs(AT[start] - AT[end]) + grip
        here = end
        if end == "out":
            left.append(now)
        else:
            ready[end] = now + times[end]
    return left[-1] - left[-2]


@pytest.mark.parametrize(
    ("first", "second", "grip", "step", "follow", "unload"),
    [(14, 10, 2, 1.5, 45, 28), (10, 12, 1, 2, 40, 24), (4, 5, 1, 2, 27, 22)],
)
def test_time_lines_by_hand(first, second, grip, step, follow, unload):
    """Drawn with a ruler: an exercise, and two of the hand-traced cells."""
    assert follow_the_part(first, second, grip, step) == follow
    assert unload_second_first(first, second, grip, step) == unload


@pytest.mark.parametrize(
    ("first", "second", "grip", "step"),
    list(itertools.product((0.0, 6.0, 30.0), (1.0, 9.0, 40.0), (0.5, 2.0), (0.0, 1.5))),
)
def test_formulas_by_brute_force(first, second, grip, step):
    """Each move with its waiting, sixty rounds long."""
    times = {"M1": first, "M2": second}
    follow = brute_force([("in", "M1"), ("M1", "M2"), ("M2", "out")], times, grip, step)
    unload = brute_force([("in", "M1"), ("M2", "out"), ("M1", "M2")], times, grip, step)
    assert follow_the_part(first, second, grip, step) == pytest.approx(follow)
    assert unload_second_first(first, second, grip, step) == pytest.approx(unload)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [((-1, 1, 1, 1), "first machine"), ((1, 1, -1, 1), "grip"), ((1, 1, 1, -1), "step")],
)
def test_negative_times_are_refused(arguments, words):
    """Each says which time is wrong."""
    for formula in (follow_the_part, unload_second_first):
        with pytest.raises(ValueError, match=words):
            formula(*arguments)
