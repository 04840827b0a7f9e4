"""What limits output: the arrow rule by hand, single changes, and cells whose limit is known."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from rich.console import Console

from cellsim import cli
from cellsim.commands.limits import _what_next
from cellsim.describe.cell import Cell, Law
from cellsim.describe.resolve import load, load_text, resolved_text
from cellsim.engine.model import compile_cell
from cellsim.show.limited import print_limits
from cellsim.study.hints import arrows
from cellsim.study.improvements import improvements, scaled
from cellsim.study.limits import chosen, limits
from cellsim.study.losses import loss_account
from cellsim.study.replicate import run_replications
from cellsim.study.runner import Runner

SCENARIOS = sorted((Path(__file__).parents[2] / "scenarios").glob("*.yaml"))


def test_arrows_by_hand():
    """Four stations: station 2 is the bottleneck, severities 0.09, 0.13, 0.12, 0.08."""
    found, severity = arrows([0.12, 0.05, 0.02, 0.0], [0.0, 0.03, 0.09, 0.10])
    assert found == [1]
    assert severity == pytest.approx([0.09, 0.13, 0.12, 0.08])


def test_arrows_that_meet_nowhere():
    """Equal shares draw no arrow, so both stations are bottlenecks; one station is its own."""
    assert arrows([0.1, 0.0], [0.0, 0.1]) == ([0, 1], [0.0, 0.0])
    assert arrows([0.0], [0.0]) == ([0], [0.0])


@pytest.mark.parametrize(
    ("law", "half"),
    [
        (Law("fixed", (10.0,)), Law("fixed", (5.0,))),
        (Law("exponential", (10.0,)), Law("exponential", (5.0,))),
        (Law("gamma", (10.0, 0.3)), Law("gamma", (5.0, 0.3))),
        (Law("triangular", (2.0, 4.0, 6.0)), Law("triangular", (1.0, 2.0, 3.0))),
        (Law("erlang", (10.0, 3.0)), Law("erlang", (5.0, 3.0))),
    ],
)
def test_a_law_with_half_its_times(law, half):
    """Times are halved, spreads and numbers of phases stay."""
    assert scaled(law, 0.5) == half


def test_measured_times_are_scaled_too():
    """Each of them."""
    assert scaled(Law("measured", (), (10, 20)), 0.5).measured == (5, 10)


@pytest.mark.parametrize("file", SCENARIOS, ids=lambda file: file.stem)
def test_every_change_of_a_demo_cell_is_a_cell(file):
    """Each can be spelled out and read again, and differs from the cell as it is; no two are the same."""
    cell = load(file)
    found = improvements(cell, 0.1)
    texts = [resolved_text(each.cell) for each in found]
    assert len({resolved_text(cell), *texts}) == len(texts) + 1
    assert len({each.name for each in found}) == len(found)
    for text in texts[:: max(1, len(texts) // 6)]:
        load_text(text)


def line(*means: float, places: tuple[int, ...] = (8, 8)) -> Cell:
    """Three exponential stations, means in seconds."""
    stations = "".join(
        f"\n  S{k + 1}: {{cycle: {{law: exponential, mean: {mean} s}}}}" for k, mean in enumerate(means)
    )
    stores = ", ".join(f"T{k + 1}: {count}" for k, count in enumerate(places))
    route = ", ".join(f"S{k + 1}, T{k + 1}" for k in range(len(means) - 1)) + f", S{len(means)}"
    return load_text(
        f"cell: line\nroute: [{route}]\nstations: {stations}\nstores: {{{stores}}}\n"
        "study: {settle: 30 min, run: 2 h, seed: 6}\n"
    )


def test_the_slow_station_of_a_line_is_found():
    """S2 is twice as slow: the path, the arrows and the measured differences all say so."""
    with Runner(clock="compiled") as runner:
        answer = limits(line(1, 2, 1), 6, 12, runner)
    chief = answer["losses"]["causes"][0]
    assert (chief["who"], chief["what"]) == ("S2", "work")
    assert chief["share"] > 0.95
    assert answer["arrows"]["station"] == "S2"
    best = answer["changes"][0]
    assert best["change"] == "S2: one machine more"
    times = [row for row in answer["changes"] if row["cause"]]
    assert times[0]["change"] == "S2: work 10% shorter"
    low, high = times[0]["difference"]["interval"]
    assert low < 3600 / 2 / 0.9 - 3600 / 2 < high
    assert times[0]["promised"] == pytest.approx(3600 / 2 / 0.9 - 3600 / 2, rel=0.05)


def test_utilisation_picks_the_wrong_station_and_the_path_the_right_one():
    """Means 1.05, 1, 1, 1 and 8, 8, 0 places: S1 is busiest, S3 and S4 limit, and shorter times there pay."""
    cell = line(1.05, 1, 1, 1, places=(8, 8, 0))
    with Runner(clock="compiled") as runner:
        answer = limits(cell, 6, 20, runner)
    chief = {row["who"] for row in answer["losses"]["causes"][:2]}
    assert chief == {"S3", "S4"}
    gain = {row["change"]: row["difference"]["mean"] for row in answer["changes"]}
    assert min(gain["S3: work 10% shorter"], gain["S4: work 10% shorter"]) > 10 * gain.get(
        "S2: work 10% shorter", 0
    )
    assert "S1: work 10% shorter" not in gain or gain["S1: work 10% shorter"] < 10
    added = [row["change"] for row in answer["changes"] if row["change"].endswith("more")]
    assert added.index("T3: one place more") < added.index("T1: one place more")
    hints = answer["hints"]
    assert (hints["at_work"], hints["active_periods"]) == ("S1", "S1")
    assert {hints["path"], hints["blocking_and_starving"]} <= {"S3", "S4"}
    page = io.StringIO()
    print_limits(answer, Console(file=page, width=100))
    said = " ".join(page.getvalue().split())
    first = answer["losses"]["causes"][0]
    assert f"{first['who']} works: {100 * first['share']:.0f} % of the critical path." in said
    assert (
        f"They point to different stations: the critical path to {hints['path']}, blocking and starving to"
        f" {hints['blocking_and_starving']}, active periods to S1, time at work to S1. Where hints disagree"
        " with the path the measured differences above decide."
    ) in said
    assert "It says nothing of places, people and machines that are added." in said


def test_the_post_that_works_most_comes_first():
    """Two posts whose names begin alike: the one that is always at work is the first to be added to."""
    cell = load_text(
        "cell: two posts\nroute: [A, t, B]\ncrew: {bench one: [A], bench two: [B]}\n"
        "stations: {A: {cycle: 20 s, by: bench one}, B: {cycle: 5 s, by: bench two}}\nstores: {t: 2}\n"
        "study: {run: 2 h}\n"
    )
    flat, records = compile_cell(cell), run_replications(cell, 1, [0]).records
    found = [each.name for each, _ in chosen(cell, flat, records, loss_account(flat, records))]
    assert found.index("bench one: one person more") < found.index("bench two: one person more")


def test_a_person_and_a_bench_that_help_only_together_are_found(tmp_path, monkeypatch):
    """B has one bench and needs all of the time: more of one buys nothing, of both half the line again.

    A, who stands idle most of the time, is no such pair.
    """
    monkeypatch.chdir(tmp_path)
    (tmp_path / "pair.yaml").write_text(
        "cell: pair\nroute: [load, tray, fit]\ncrew: {A: [load], B: [fit]}\n"
        "stations: {load: {cycle: 8 s}, fit: {cycle: 20 s}}\nstores: {tray: 2}\n"
        "study: {settle: 30 min, run: 2 h}\n"
    )
    call = ["limits", "pair.yaml", "-n", "2", "-w", "1", "--json", "a.json"]
    assert CliRunner().invoke(cli.main, call).exit_code == 0
    rows = {row["change"]: row for row in json.loads((tmp_path / "a.json").read_text())["changes"]}
    gain = {name: row["difference"]["mean"] for name, row in rows.items()}
    assert gain["B: one person more"] == gain["fit: one machine more"] == 0
    assert gain["fit and B: one more of each"] == 180
    assert rows["fit and B: one more of each"]["adds"] == ["stations.fit.machines: 2", "crew.B.people: 2"]
    assert "load and A: one more of each" not in gain


@pytest.mark.parametrize(
    ("adds", "following"),
    [
        (["stores.tray.places: 3"], ("buffers", "pair.yaml")),
        (["crew.B.people: 2"], ("compare", "pair.yaml", "--change", "crew.B.people: 2")),
        (
            ["stations.fit.machines: 2", "crew.B.people: 2"],
            ("compare", "pair.yaml", "--change", "{stations.fit.machines: 2, crew.B.people: 2}"),
        ),
        ([], ("sensitivity", "pair.yaml")),
    ],
)
def test_what_comes_next_is_what_buys_most(adds, following):
    """Places are sized, people and machines compared, times that are too long measured better."""
    cell = load_text("cell: c\ntarget: 9 per h\nroute: [fit]\nstations: {fit: {cycle: 20 s}}\n")
    rows = [{"adds": adds, "difference": {"interval": [1.0, 2.0]}}]
    assert _what_next(Path("pair.yaml"), cell, rows) == tuple(
        Path(word) if word == "pair.yaml" else word for word in following
    )


def test_the_command_shows_and_writes_it(tmp_path, monkeypatch):
    """The chief cause, the table of changes and all hints; the same in JSON."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "line.yaml").write_text(resolved_text(line(1, 2, 1)))
    result = CliRunner().invoke(cli.main, ["limits", "line.yaml", "-n", "4", "-w", "1", "--json", "a.json"])
    assert result.exit_code == 0, result.output
    answer = json.loads((tmp_path / "a.json").read_text())
    said = " ".join(result.output.split())
    assert "S2 works: 9" in said
    for row in answer["changes"]:
        assert row["change"] in said
    hints = answer["hints"]
    assert [hints[key] for key in ("path", "blocking_and_starving", "active_periods", "at_work")] == [
        "S2"
    ] * 4
    assert "All point at S2." in said
    assert "disagree" not in said


def test_a_limit_that_gives_way_at_once_is_told():
    """Two nearly equal stations far apart, and short runs: faster work at one alone buys little."""
    cell = line(1, 1.005, places=(500,))
    with Runner(clock="compiled") as runner:
        answer = limits(cell, 6, 6, runner)
    page = io.StringIO()
    print_limits(answer, Console(file=page, width=100))
    said = " ".join(page.getvalue().split())
    first = answer["losses"]["causes"][0]
    change = next(row for row in answer["changes"] if row["cause"] == [first["who"], first["what"]])
    low, high = change["difference"]["interval"]
    told = f"gives only {change['difference']['mean']:+.2f} an hour ({low:+.2f} to {high:+.2f})"
    assert high < change["promised"] / 2
    assert f"Yet 10 % less of that {told}: something else limits at once." in said


def test_one_replication_is_told(tmp_path, monkeypatch):
    """Exit code 2."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "line.yaml").write_text(resolved_text(line(1, 2, 1)))
    result = CliRunner().invoke(cli.main, ["limits", "line.yaml", "-n", "1"])
    assert result.exit_code == 2
    assert "differences take at least two replications" in result.output
