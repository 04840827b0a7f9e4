"""Figures of quality: hand-made records, every number worked out beside it, and what the screen says."""

from __future__ import annotations

import io
from typing import Any

import pytest
from rich.console import Console
from test_figures import Shop

from cellsim.show.screen import print_result

TEXT = """
cell: quality
route: [make, first, second, pull]
stations:
  make: {cycle: 1 min, faults: 3 %}
  first: {cycle: 1 min, inspects: {finds: 80 %, false_rejects: 2 %}, rejects: {to: bench, returns_to: second}}
  second: {cycle: 1 min, inspects: {finds: 80 %, false_rejects: 2 %}}
  pull: {cycle: 1 min, samples: {every: 50, time: 1 min, destroys: yes}}
  bench: {cycle: 1 min}
study: {run: 100 min}
"""


def filled() -> Shop:
    """Two replications with 1000 and 3000 units tested by the first inspection."""
    shop = Shop(TEXT)
    for record, size in zip(shop.records, (1, 3), strict=True):
        for key, station, count in (
            ("faulted", "make", 30 * size),
            ("judged", "first", 1000 * size),
            ("rejected", "first", 40 * size),
            ("false_rejects", "first", 15 * size),
            ("missed", "first", 6 * size),
            ("mended", "bench", 24 * size),
            ("judged", "second", 500),
            ("sampled", "pull", 19 * size),
            ("sampled_faulty", "pull", size),
            ("scrapped", "pull", 19 * size),
        ):
            record.stations[key][shop.station(station)] = count
        record.cell["good"], record.cell["escapes"] = 900 * size, 2 * size
    return shop


def test_what_units_hide() -> None:
    """Means of the two replications; ratios over both of them together."""
    quality: dict[str, Any] = filled().figures()["quality"]
    assert quality["made_faulty"] == {"make": {**quality["made_faulty"]["make"], "mean": 60.0}}
    assert quality["mended"]["bench"]["mean"] == 48.0
    assert list(quality["inspections"]) == ["first", "second"]
    first = quality["inspections"]["first"]
    assert (first["faulty_rejected"]["mean"], first["good_rejected"]["mean"]) == (
        50.0,
        30.0,
    )  # 25, 75; 15, 45
    assert first["faulty_accepted"]["mean"] == 12.0
    assert first["good_among_rejected"]["mean"] == pytest.approx(60 / 160)
    assert first["faulty_among_accepted"]["mean"] == pytest.approx(24 / 3840)
    second = quality["inspections"]["second"]
    assert second["good_among_rejected"]["mean"] is None
    assert second["faulty_among_accepted"]["mean"] == 0.0
    assert quality["samples"]["pull"]["tested"]["mean"] == 38.0
    assert quality["samples"]["pull"]["faulty"]["mean"] == 2.0
    assert quality["escapes"]["mean"] == 4.0
    assert quality["escapes_per_million"]["mean"] == pytest.approx(8e6 / 3600)
    assert {name: row["mean"] for name, row in quality["scrapped_at"].items()} == {"pull": 38.0}


def test_the_screen_says_what_escapes() -> None:
    """Rejects by kind, misses, samples and escapes stand among the lines on quality."""
    screen = Console(file=io.StringIO(), width=100)
    print_result(filled().figures(), screen)
    assert isinstance(screen.file, io.StringIO)
    said = screen.file.getvalue()
    assert "first rejects 50 faulty and 30 good units, misses 12" in said
    assert "Samples of pull: 38 tested, 2 of them faulty" in said
    assert "Escapes: 2222 of a million good units are faulty" in said


def test_rolled_yield() -> None:
    """First-pass yields of 0.985, 0.97, 0.99, 0.96 and 0.995 multiply to 0.9035."""
    names = "abcde"
    stations = "".join(f"  {name}: {{cycle: 1 min, scrap: 2 %}}\n" for name in names)
    shop = Shop(f"cell: rolled\nroute: [{', '.join(names)}]\nstations:\n{stations}study: {{run: 100 min}}")
    for record in shop.records:
        for name, good in zip(names, (985, 970, 990, 960, 995), strict=True):
            record.stations["first_tests"][shop.station(name)] = 1000
            record.stations["first_pass"][shop.station(name)] = good
    quality = shop.figures()["quality"]
    assert quality["rolled_yield"] == pytest.approx(0.985 * 0.97 * 0.99 * 0.96 * 0.995)
    assert f"{quality['rolled_yield']:.4f}" == "0.9035"


def test_cells_without_hidden_faults_have_no_such_figures() -> None:
    """Nothing is said of faults, inspections, samples and escapes where there are none."""
    quality = Shop().figures()["quality"]
    assert not {"made_faulty", "mended", "inspections", "samples", "escapes"} & set(quality)
