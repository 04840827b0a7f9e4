"""What is not known about a cell: every input by hand, its range, and the cells at both ends."""

from __future__ import annotations

import statistics
from functools import partial
from pathlib import Path

import numpy as np
import pytest

from cellsim.describe import reader
from cellsim.describe.laws import mean, spread
from cellsim.describe.ranges import aimed, read_ranges
from cellsim.describe.resolve import load, load_text, resolved_text
from cellsim.errors import DescriptionError
from cellsim.study.statistics import t_quantile
from cellsim.study.uncertain import inputs_of
from cellsim.study.unknowns import unknowns

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.yaml"))
MANY = [round(20 + 5 * ((k * 0.6180339887498949) % 1), 2) for k in range(40)]  # 40 values from 20 to 25
TEXT = f"""
cell: bench
crew: {{anna: {{works_at: [fit], absent: 5 %}}, smith: {{}}}}
route: [press, tray, fit, pack, box]
stations:
  press:
    cycle: {{mean: 24 s, spread: 15 %}}
    stops:
      jam: {{every: 20 min of running, lasts: 4 min, cleared_by: smith}}
      oil: {{every: 100 cycles, lasts: 1 min, exact: yes}}
      nozzle: {{every: 200 cycles, lasts: 2 min, law: exponential}}
      belt: {{every: {{law: gamma, mean: 2 h, spread: 60 %, of: running}}, lasts: 3 min, law: exponential}}
  fit:
    work: [{{do: load, time: 4 s, by: anna}}, {{do: fit, time: {{min: 8 s, likely: 9 s, max: 12 s}}}}]
    rejects: {{share: 4 %, after_rework: 8 %, to: mend, returns_to: fit}}
  mend: {{cycle: 30 s}}
  pack: {{cycle: {{measured: [{", ".join(f"{v} s" for v in MANY)}]}}}}
  box: {{cycle: {{measured: [9 s, 10 s, 12 s]}}}}
stores: {{tray: 8}}
shifts: {{day: {{from: 06:00, to: 14:00}}}}
"""
CELL = load_text(TEXT)
INPUTS = {each.name: each for each in inputs_of(CELL)}


def test_every_input_is_there_and_plans_are_not():
    """Oil every 100 cycles exactly is a plan, and so has no range; what it takes has one."""
    assert set(INPUTS) == {
        "anna: absence", "press: work", "press: work: spread", "press: jam: time between",
        "press: jam: how long", "press: jam: how long: spread", "press: oil: how long",
        "press: nozzle: time between", "press: nozzle: how long", "press: belt: time between",
        "press: belt: time between: spread", "press: belt: how long", "fit: load", "fit: fit",
        "fit: fit: spread", "fit: rejects", "mend: work", "pack: work", "box: work",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("name", "known", "unit", "now", "low", "high"),
    [
        ("press: work", "stated", "s", 24, 21.6, 26.4),
        ("press: work: spread", "stated", "share", 0.15, 0.135, 0.165),
        ("press: jam: time between", "stated", "s", 1200, 1080, 1320),
        ("press: jam: how long: spread", "assumed", "share", 1, 0.5, 1.5),
        ("press: nozzle: time between", "stated", "", 200, 180, 220),
        ("fit: rejects", "stated", "share", 0.04, 0.036, 0.044),
        ("anna: absence", "stated", "share", 0.05, 0.045, 0.055),
    ],
)
def test_ranges_that_are_assumed(name, known, unit, now, low, high):
    """Ten per cent of what is stated, fifty of what the tool assumed, in seconds or shares."""
    found = INPUTS[name]
    assert (found.known, found.unit) == (known, unit)
    assert (found.now, found.low, found.high) == pytest.approx((now, low, high))
    assert found.value_at(0.25) == pytest.approx(low + (high - low) / 4)
    assert "assum" in found.why


def law_of(cell, station, element=0):
    """The time of one element of a station."""
    return next(s for s in cell.stations if s.name == station).work[element].time


def test_putting_a_value_changes_it_and_nothing_else():
    """A mean keeps its spread, a spread its mean, both shares of rejects move together."""
    slow = INPUTS["press: work"].put(CELL, 1.0)
    assert law_of(slow, "press").values == pytest.approx((26.4e6, 0.15))
    wide = INPUTS["press: work: spread"].put(CELL, 1.0)
    assert law_of(wide, "press").values == pytest.approx((24e6, 0.165))
    broad = law_of(INPUTS["fit: fit: spread"].put(CELL, 0.0), "fit", 1)
    assert mean(broad) == pytest.approx(mean(law_of(CELL, "fit", 1)))
    assert spread(broad) == pytest.approx(0.9 * spread(law_of(CELL, "fit", 1)))
    worse = next(s for s in INPUTS["fit: rejects"].put(CELL, 1.0).stations if s.name == "fit").rejects
    assert (worse.share, worse.after_rework) == pytest.approx((0.044, 0.088))
    rare = next(
        s for s in INPUTS["press: nozzle: time between"].put(CELL, 0.513).stations if s.name == "press"
    )
    assert {stop.name: stop.every.values[0] for stop in rare.stops}["nozzle"] == 201  # 200.52 cycles


def test_many_measured_values_are_drawn_again_from_themselves():
    """The mean of 40 values: 5 and 95 % points by the normal law of means, to a tenth of a deviation.

    Quantiles of 1000 resampled means have a standard error of 0.067 deviations: fixed draws, one check.
    """
    found = INPUTS["pack: work"]
    error = statistics.pstdev(MANY) / np.sqrt(40)
    assert found.known == "measured" and found.now == pytest.approx(statistics.fmean(MANY))
    assert found.low == pytest.approx(found.now - 1.645 * error, abs=0.2 * error)
    assert found.high == pytest.approx(found.now + 1.645 * error, abs=0.2 * error)
    values = [found.value_at((k + 0.5) / 1000) for k in range(1000)]
    assert np.std(values) == pytest.approx(error, rel=0.1)
    assert values == sorted(values)
    for share in (0.0, 0.3, 1.0):
        law = law_of(found.put(CELL, share), "pack")
        assert set(law.measured) <= {round(v * 1e6) for v in MANY} and len(law.measured) == 40
        assert len(set(law.measured)) < 40
        assert mean(law) / 1e6 == pytest.approx(found.value_at(share))
    assert found.share_at(0.0) == 0.05 and found.position(found.share_at(1.0)) == pytest.approx(1)


def test_of_few_measured_values_the_mean_follows_student():
    """9, 10 and 12 s: mean 31/3, error sqrt(7/9) / (31/3) of it, on the scale of logarithms."""
    found = INPUTS["box: work"]
    error = np.sqrt(7 / 9) / (31 / 3)
    assert found.now == pytest.approx(31 / 3)
    assert found.high == pytest.approx(31 / 3 * np.exp(t_quantile(0.95, 2) * error))
    assert found.low == pytest.approx(31 / 3 * np.exp(-t_quantile(0.95, 2) * error))
    law = law_of(found.put(CELL, 0.95), "box")
    assert law.measured == tuple(round(v * found.high / found.now * 1e6) for v in (9, 10, 12))


def test_what_rests_on_the_same_values_is_one_input():
    """Two benches with the same measured times: they are wrong together, and draw the same resample."""
    times = "{measured: [" + ", ".join(f"{v} s" for v in MANY) + "]}"
    others = times.replace("20.0 s", "20.1 s")
    cell = load_text(
        "cell: c\nroute: [p, q, r]\nstudy: {run: 1 h}\nstations:\n"
        f"  p: {{cycle: {times}}}\n  q: {{cycle: {times}}}\n  r: {{cycle: {others}}}\n"
    )
    one, other = inputs_of(cell)
    assert (one.name, other.name) == ("p: work and q: work", "r: work")
    changed = one.put(cell, 0.7)
    assert law_of(changed, "p") == law_of(changed, "q") != law_of(cell, "p")
    assert law_of(changed, "r") == law_of(cell, "r")


def test_variants_that_were_measured_are_known_apart():
    """Each has its own values; those that were only stated move together."""
    cell = load_text(
        "cell: c\nvariants: {a: 1, b: 1}\nroute: [p]\nstations: {p: {cycle: {a: {measured: [1 s, 2 s, 4 s]},"
        " b: {measured: [5 s, 6 s, 9 s]}}}}\nstudy: {run: 1 h}\n"
        .replace("{a: 1, b: 1}", "{a: 50 %, b: 50 %}")
    )  # fmt: skip
    first, second = inputs_of(cell)
    changed = first.put(cell, 0.9).stations[0].work[0]
    assert changed.time == changed.by_variant[0][1] != cell.stations[0].work[0].time
    assert changed.by_variant[1] == cell.stations[0].work[0].by_variant[1]
    changed = second.put(cell, 0.9).stations[0].work[0]
    assert changed.time == cell.stations[0].work[0].time
    assert changed.by_variant[1] != cell.stations[0].work[0].by_variant[1]


@pytest.mark.parametrize("file", SCENARIOS, ids=lambda file: file.stem)
def test_every_input_of_a_demo_cell_can_be_put(file):
    """Each end is a cell that can be spelled out and read again, and no two are the same."""
    cell = load(file)
    found = inputs_of(cell)
    assert len({each.name for each in found}) == len(found) > 5
    texts = [resolved_text(each.put(cell, share)) for each in found for share in (0.0, 1.0)]
    assert len({resolved_text(cell), *texts}) == len(texts) + 1
    for text in texts[:: max(1, len(texts) // 5)]:
        load_text(text)
    for each in found:
        assert each.low < each.now < each.high


def read_again(changes):
    return load_text(TEXT, changes=changes)


def with_ranges(*lines: str, only: bool = False):
    """What is not known about the bench with ranges of somebody's own."""
    return unknowns(read_again, aimed(read_ranges(lines), reader.read_text(TEXT, "bench.yaml")), only)


def test_a_range_takes_the_place_of_what_it_changes():
    """The mean of press is given, its spread is still assumed; the name is the path."""
    found = with_ranges("stations.press.cycle: 20 s to 26 s", "stores.tray: 4 to 8")
    names = [each.name for each in found.inputs]
    assert names[:2] == ["stations.press.cycle.mean", "stores.tray"]
    assert set(names[2:]) == set(INPUTS) - {"press: work"}
    first = found.inputs[0]
    assert (first.now, first.low, first.high, first.known) == (24, 20, 26, "given range")
    cell = found.at([1.0, 0.0, *[None] * (len(names) - 2)])
    assert law_of(cell, "press").values == (26e6, 0.15)
    assert {store.name: store.places for store in cell.stores}["tray"] == 4
    assert found.at([None] * len(names)) is found.cell


def test_a_range_and_a_spread_beside_it_go_together():
    """Both stand in the cell at once."""
    found = with_ranges("stations.press.cycle: 20 s to 26 s")
    shares = [0.0] + [1.0 if each.name == "press: work: spread" else None for each in found.inputs[1:]]
    assert law_of(found.at(shares), "press").values == pytest.approx((20e6, 0.165))


def test_only_what_is_given():
    """Nothing else varies then."""
    found = with_ranges("stations.mend.cycle: 20 s to 40 s", only=True)
    assert [each.name for each in found.inputs] == ["stations.mend.cycle"]


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("stations.pres.cycle: 20 s to 26 s", 'stations has no "pres"; there is press'),
        ("stores.tray: -3 to 5", '"-3" is negative'),
        ("stations.fit.rejects.share: 50 % to 150 %", "more than the whole"),
        ("stations.mend.cycel: 1 s to 2 s", '"cycel" is no key of a station'),
    ],
)
def test_a_cell_that_cannot_be_is_told_once_at_the_range(line, said):
    """One mistake, with the place of the range and not of the cell file."""
    with pytest.raises(DescriptionError) as caught:
        with_ranges(line)
    (mistake,) = caught.value.mistakes
    assert said in mistake.message
    assert (mistake.file, mistake.line) == (f'range "{line}"', 1)


def test_files_are_read_from_the_folder_of_the_cell(tmp_path):
    """Measured times in a CSV file beside it, with a range for something else."""
    (tmp_path / "times.csv").write_text("seconds\n" + "\n".join(map(str, MANY)) + "\n")
    file = tmp_path / "c.yaml"
    file.write_text(
        "cell: c\nroute: [p, q]\nstudy: {run: 1 h}\n"
        "stations: {p: {cycle: {measured: times.csv}}, q: {cycle: 5 s}}\n"
    )
    tree = reader.read_text(file.read_text(), file.name)
    found = unknowns(partial(load, file), aimed(read_ranges(["stations.q.cycle: 4 s to 6 s"]), tree))
    assert [(each.name, each.known) for each in found.inputs] == [
        ("stations.q.cycle", "given range"),
        ("p: work", "measured"),
    ]
    assert law_of(found.at([0.0, 0.5]), "q").values == (4e6,)
