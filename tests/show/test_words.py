"""Numbers and sentences that pictures and screen share."""

from __future__ import annotations

import pytest

from cellsim.show import (
    answer,
    cause_words,
    chance_words,
    chief_assumptions,
    duration,
    extent,
    limit_words,
    lock_words,
    number,
    origin,
    percent,
    plain,
    share_between,
    target_words,
)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, "-"),
        (0, "0"),
        (0.5, "0.5"),
        (3.14159, "3.14"),
        (9.996, "10"),
        (104.44, "104.4"),
        (1234.5, "1234"),
    ],
)
def test_numbers_are_as_short_as_they_are_useful(value, text):
    """Two decimals below 10, one below 1000, none beyond; no zeros at the end."""
    assert number(value) == text


@pytest.mark.parametrize(
    ("share", "digits", "text"),
    [
        (0.556, 0, "56 %"),
        (0.0, 0, "0 %"),
        (1.0, 0, "100 %"),
        (0.001, 0, "<1 %"),
        (0.9999, 1, ">99.9 %"),
        (None, 0, "-"),
    ],
)
def test_a_share_never_rounds_to_certain(share, digits, text):
    """Only 0 and 1 are shown as 0 % and 100 %."""
    assert percent(share, digits) == text


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (None, "-"),
        (0.04, "0.04 s"),
        (28.66, "28.7 s"),
        (59.96, "1 min"),
        (141.04, "2 min 21 s"),
        (3599.0, "59 min 59 s"),
        (4500.0, "1 h 15 min"),
        (90000.0, "1 d 1 h"),
    ],
)
def test_durations_have_two_units_at_most(seconds, text):
    """A duration is told in its largest unit and the next."""
    assert duration(seconds) == text


def test_the_interval_of_a_share_stays_where_shares_lie():
    """An end beyond 0 or 100 % is not shown."""
    assert share_between({"interval": [-0.02, 0.0312]}, 1) == "0.0 to 3.1 %"
    assert share_between({"interval": [0.88, 1.02]}) == "88 to 100 %"
    assert share_between({"interval": [None, None]}) == ""


def test_certainty_is_not_claimed_from_a_finite_study():
    """When every case met the target the number of cases is said, not 100 %."""
    every, no = ({"mean": mean, "interval": [mean, mean]} for mean in (1.0, 0.0))
    assert chance_words(every, "shifts", 10) == "all of the 10 shifts studied"
    assert chance_words(no, "hours", 160) == "none of the 160 hours studied"
    assert (
        chance_words({"mean": 0.64, "interval": [0.59, 0.69]}, "hours", 5) == "64 % of the hours (59 to 69 %)"
    )


def test_the_answer_has_rate_and_band(result):
    """The answer names units per working hour and the band of nine hours in ten."""
    assert answer(result) == "104.4 good units per working hour, in 9 of 10 hours 81 to 123"
    result["output_per_hour"]["mean"] = 0
    assert answer(result) == "no good unit leaves the cell"


def test_target_words(result):
    """Both chances stand with their intervals; without a target there is no sentence."""
    assert target_words(result) == (
        "The target of 100 per hour is reached in 64 % of the hours (59 to 69 %), that of 275 per shift in"
        " 70 % of the shifts (55 to 85 %)."
    )
    result["output_per_hour"]["target"] = None
    assert target_words(result) == ""


def test_extent_counts_shifts_or_runs(result):
    """With shifts the study is counted in shifts, without in runs; the seed is named where it is known."""
    assert extent(result) == "40 shifts of 2.75 working hours, seed 7"
    result["study"]["shifts"] = 5
    assert extent(result) == "200 shifts of 2.75 working hours (40 runs of 5 shifts), seed 7"
    for k, row in enumerate(result["output_per_hour"]["by_clock_hour"]):
        row["hour"] = f"hour {k + 1}"
    del result["provenance"]
    assert extent(result) == "40 runs of 2.75 working hours"


@pytest.mark.parametrize(
    ("who", "what", "text"),
    [
        ("press", "work", "press works"),
        ("press", "handling", "press is loaded or unloaded"),
        ("A", "walking", "A walks"),
        ("R1", "travelling", "R1 travels"),
        ("press", "stop: jam", "press stands still: jam"),
        ("press", "waiting for repair: jam", "press waits for repair: jam"),
        ("calendar", "breaks and off hours", "breaks and off hours"),
        ("release", "waiting for raw units", "waiting for raw units"),
        ("oven", "batch {forming}", "oven: batch {forming}"),
    ],
)
def test_causes_in_words(who, what, text):
    """A cause is a short clause; one without a phrase of its own keeps its name."""
    assert cause_words(who, what) == text


def test_the_first_cause_is_told_with_what_it_gives(result):
    """A share of 56 % means: 1 % faster gives at most about 0.56 % more."""
    causes = result["losses"]["causes"]
    assert list(limit_words({"causes": causes})) == [
        "press works (56 % of the critical path): 1 % faster there gives at most about 0.56 % more."
    ]


def test_causes_whose_intervals_overlap_are_not_ranked(result):
    """Where the intervals of the first two overlap, or there are none, the order cannot be told."""
    first, second = result["losses"]["causes"][:2]
    second["interval"] = [0.4, 0.54]
    expected = (
        "Whether this or the next (press stands still: jam) weighs more cannot be told from these runs."
    )
    assert list(limit_words({"causes": [first, second]}))[1] == expected
    second["interval"] = [0.4, 0.52]
    assert len(list(limit_words({"causes": [first, second]}))) == 1
    first["interval"] = second["interval"] = [None, None]
    assert list(limit_words({"causes": [first, second]}))[1] == expected


def test_a_locked_run_in_words(locked):
    """Time of day, time in the shift and the circle: 4500 s after 06:00 is 07:15."""
    text = lock_words(locked, locked["locked"][0])
    assert text == (
        "run 3, at 07:15, 1 h 15 min after the start of the first shift: press holds a unit for tray, glue"
        " holds a unit for bench, and so round in a circle"
    )
    locked["study"]["counted_from_s"] = 9000.0
    assert lock_words(locked, locked["locked"][0]).startswith(
        "run 3, 1 h 15 min before counting begins: press"
    )


def test_assumptions_about_stations_come_first(result):
    """The short list prefers what concerns stations to what concerns the study."""
    assert [row["path"] for row in chief_assumptions(result, 2)] == ["stations.s0.by", "stations.s1.by"]
    assert chief_assumptions(result, 99)[-1]["path"] == "study.seed"


def test_origin_names_version_and_description(result):
    """Version and the first digits of the fingerprint; nothing without provenance."""
    assert origin(result) == "cellsim 0.1.0, description 0123456789ab"
    del result["provenance"]
    assert origin(result) == ""


def test_names_cannot_steer_a_terminal():
    """Control characters of a name are shown as question marks."""
    assert plain("pr\x1b[31mess\n") == "pr?[31mess?"
