"""Ranges of values of a cell file: read, aimed at one value, told where they are wrong."""

from __future__ import annotations

import pytest

from cellsim.describe import reader
from cellsim.describe.ranges import aimed, read_range_file, read_ranges
from cellsim.errors import DescriptionError

TEXT = """
cell: bench
route: [press, tray, fit]
stations:
  press: {cycle: {mean: 24 s, spread: 15 %}, stops: {jam: {every: 20 min of running, lasts: 4 min}}}
  fit:
    work: [{do: load, time: 4 s}, {do: fit, time: {min: 8 s, likely: 9 s, max: 12 s}}]
    rejects: 3 per 1000
stores: {tray: 8}
study: {run: 8 h}
"""
TREE = reader.read_text(TEXT, "bench.yaml")


def ends(line: str) -> list[str]:
    """What stands in the file at the low end, in the middle and at the high end."""
    (found,) = read_ranges([line])
    return [str(found.change_at(share)) for share in (0.0, 0.5, 1.0)]


@pytest.mark.parametrize(
    ("line", "values"),
    [
        ("a.b: 20 s to 26 s", ["20 s", "23 s", "26 s"]),
        ("a.b: 20 to 26 s", ["20 s", "23 s", "26 s"]),
        ("a.b: 50 s to 1.5 min", ["50 s", "70 s", "90 s"]),
        ("a.b: 1 h 30 min to 2 h", ["90 min", "105 min", "2 h"]),
        ("a.b: 15 min of running to 25 min of running", [f"{n} min of running" for n in (15, 20, 25)]),
        ("a.b: 15 to 25 min of running", [f"{n} min of running" for n in (15, 20, 25)]),
        ("a.b: 100 to 200 cycles", ["100 cycles", "150 cycles", "200 cycles"]),
        ("a.b: 2 % to 6 %", ["2 %", "4 %", "6 %"]),
        ("a.b: 2 to 6 per 1000", ["2 per 1000", "4 per 1000", "6 per 1000"]),
        ("a.b: 0.02 to 0.03", ["0.02", "0.025", "0.03"]),
        ("a.b: 4 to 8", ["4", "6", "8"]),
        ("a.b: 1.1 s to 1.2 s", ["1.1 s", "1.15 s", "1.2 s"]),
    ],
)
def test_the_values_of_a_range(line, values):
    """They stand as they can stand in a cell file."""
    assert ends(line) == [f"a.b: {value}" for value in values]


def test_whole_values_are_all_alike_likely():
    """1 to 4: a quarter of the shares each, the ends too."""
    (found,) = read_ranges(["stores.tray: 1 to 4"])
    assert [found.value_at(share) for share in (0, 0.24, 0.26, 0.49, 0.51, 0.74, 0.76, 1)] == [
        1, 1, 2, 2, 3, 3, 4, 4,
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("a.b: 20 s", "wanted are the two ends of a range, for example 20 s to 26 s"),
        ("a.b: [20 s, 26 s]", "wanted are the two ends of a range, for example 20 s to 26 s"),
        ("a.b: 1 to 2 to 3", "wanted are the two ends of a range, for example 20 s to 26 s"),
        ("a.b: 26 s to 20 s", 'the low end "26 s" is not below the high end "20 s"'),
        ("a.b: 20 s to 20 s", 'the low end "20 s" is not below the high end "20 s"'),
        ("a.b: low to high", '"low" is not an amount; write 20 s to 26 s'),
        ("a.b: 20 s to 26", '"26" has no unit, "20 s" has one; write 20 s to 26 s'),
        ("a.b: 20 % to 26 kg", 'the two ends are not in the same unit: "20 %" and "26 kg"'),
        ("a.b: 20 m to 26 s", '"20 m" has no unit of time that is known; did you mean "min"?'),
        (
            "a.b: 2 min of running to 3 min of on time",
            'the two ends are not alike: one is "2 min of running", the other "3 min of on time"',
        ),
    ],
)
def test_what_is_no_range(line, said):
    """Told with line and column."""
    with pytest.raises(DescriptionError) as caught:
        read_ranges([line])
    (mistake,) = caught.value.mistakes
    assert (mistake.line, mistake.column, mistake.path) == (1, 6, "a.b")
    if line.startswith("a.b: 20 m"):
        assert '"m"' in mistake.message and "min" in mistake.message  # in the words of all times
    else:
        assert mistake.message == said


def test_all_mistakes_of_a_file_are_told_with_their_places():
    """Two of three lines."""
    with pytest.raises(DescriptionError) as caught:
        read_range_file("a: 1 to 2\nb: 3\nc: 5 to 4\n", "ranges.yaml")
    assert [str(m).split(": ")[0] for m in caught.value.mistakes] == ["ranges.yaml:2:4", "ranges.yaml:3:4"]


def test_a_range_is_aimed_at_one_value():
    """A time by mean and spread keeps its spread; what stands there now is found."""
    lines = [
        "stations.press.cycle: 20 s to 26 s",
        "stations.press.cycle.spread: 10 % to 20 %",
        "stations.fit.work[2].time.likely: 8.5 s to 10 s",
        "stations.press.stops.jam.every: 10 to 30 min of running",
        "stations.fit.rejects: 2 to 4 per 1000",
        "stores.tray: 4 to 12",
        "stations.fit.machines: 1 to 2",
    ]
    found = aimed(read_ranges(lines), TREE)
    assert [one.path for one, _ in found] == ["stations.press.cycle.mean"] + [
        line.split(":")[0] for line in lines[1:]
    ]
    assert [text for _, text in found] == [
        "24 s", "15 %", "9 s", "20 min of running", "3 per 1000", "8", "",
    ]  # fmt: skip
    now = [one.amount_in(text) for one, text in found]
    assert now == [24_000_000, 15, 9_000_000, 1_200_000_000, 3, 8, None]


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (
            ["stations.fit.work[2].time: 8 s to 9 s"],
            "several values stand there; name one of them: stations.fit.work[2].time.min, "
            "stations.fit.work[2].time.likely, stations.fit.work[2].time.max",
        ),
        (["route: 1 to 2"], "a list stands there; name one of its values: route[1]"),
        (
            ["stations.press.cycle: 20 s to 26 s", "stations.press.cycle.mean: 21 s to 22 s"],
            "there are two ranges for this value; give one",
        ),
    ],
)
def test_a_range_that_is_about_no_single_value(lines, said):
    """Told at the place of the range."""
    with pytest.raises(DescriptionError) as caught:
        aimed(read_ranges(lines), TREE)
    (mistake,) = caught.value.mistakes
    assert mistake.message == said
    assert mistake.line == 1 and mistake.file == f'range "{lines[-1]}"'
