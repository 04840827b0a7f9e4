"""One call for each study: the answer of the command, tables that hold its figures, how it shows itself."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

import cellsim
from cellsim.cli import main
from cellsim.engine.record import Record
from cellsim.errors import UsageError
from cellsim.study.worker import Worker

ROOT = Path(__file__).parents[2]
TEXT = """
cell: benches
target: 60 per h
shifts: {day: {from: 06:00, to: 08:00, breaks: [{at: 07:00, for: 15 min}]}}
crew: {Ann: [S2]}
route: [S1, tray, S2, rack, S3]
stations:
  S1: {cycle: {law: exponential, mean: 30 s}, stops: {jam: {every: 20 min of running, lasts: 2 min}}}
  S2: {cycle: {mean: 30 s, spread: 30 %}}
  S3: {cycle: {law: exponential, mean: 30 s}}
stores: {tray: 3, rack: 1}
"""


@pytest.fixture(scope="module")
def cell() -> Any:
    """Three benches with two places to size."""
    return cellsim.load_text(TEXT)


@pytest.fixture(scope="module")
def result(cell: Any) -> Any:
    """Twelve shifts of it."""
    return cellsim.run(cell, replications=12, clock="simpy")


@pytest.fixture
def inside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the file of the benches."""
    (tmp_path / "benches.yaml").write_text(TEXT)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def told(command: str, *options: str, clock: str = "simpy") -> Any:
    """What a command writes as JSON."""
    done = CliRunner().invoke(
        main, [command, "benches.yaml", *options, "--clock", clock, "-w", "1", "--json", "-"]
    )
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


def plain_data(answer: Any) -> Any:
    """An answer as it is once written and read."""
    return json.loads(json.dumps(answer))


def test_run_is_the_command(inside: Path, result: Any) -> None:
    """The same keys and figures."""
    assert plain_data(result) == told("run", "-n", "12")


def test_run_to_a_precision_is_the_command(inside: Path, cell: Any) -> None:
    """Until 5 %, given as a text or as a number, with at most 60 runs."""
    wanted = told("run", "--precision", "5 %", "-n", "60")
    assert plain_data(cellsim.run(cell, precision="5 %", replications=60, clock="simpy")) == wanted
    found = cellsim.run(cell, precision=0.05, replications=60, clock="simpy")
    assert found["study"]["precision"] == {"wanted": 0.05, "reached": True}
    assert found["output_per_hour"] == wanted["output_per_hour"]


def test_compare_is_the_command(inside: Path, cell: Any) -> None:
    """A proposal by its change."""
    change = "stores.tray.places: 6"
    answer = cellsim.compare(
        cell, {change: cellsim.load_text(TEXT, changes=[change])}, replications=6, clock="simpy"
    )
    assert plain_data(answer) == told("compare", "--change", change, "-n", "6")


def test_limits_is_the_command(inside: Path, cell: Any) -> None:
    """With four replications."""
    assert plain_data(cellsim.limits(cell, replications=4, clock="simpy")) == told("limits", "-n", "4")


@pytest.mark.parametrize(
    ("arguments", "options"),
    [
        ({"total": 5, "matters": "4 per h"}, ["--total", "5", "--matters", "4 per h"]),
        (
            {"target": 60, "most": 6, "matters": 6.0},
            ["--target", "60 per h", "--most", "6", "--matters", "6 per h"],
        ),
        (
            {"earns": 1.0, "place_costs": {"tray": 9, "rack": 2}, "area": 1.5, "room": 9.0, "matters": 5,
             "stores": ["rack", "tray"]},
            ["--earns", "1", "--place-costs", "2", "--place-costs", "tray: 9", "--area", "1.5", "--room", "9",
             "--matters", "5 per h"],
        ),
    ],
    ids=["total", "target", "profit"],
)  # fmt: skip
def test_size_buffers_is_the_command(inside: Path, cell: Any, arguments: Any, options: list[str]) -> None:
    """Each of the three goals, with values by store as numbers and mappings."""
    answer = cellsim.size_buffers(cell, **arguments, clock="compiled")
    assert plain_data(answer) == told("buffers", *options, clock="compiled")


def test_a_wrong_call_names_arguments(cell: Any) -> None:
    """Not the options of the command line."""
    with pytest.raises(UsageError, match=r"^earns and place_costs belong together$"):
        cellsim.size_buffers(cell, earns=1.0)
    with pytest.raises(UsageError, match=r"^most: tray: 2.5: a whole number"):
        cellsim.size_buffers(cell, total=3, most={"tray": 2.5})
    with pytest.raises(UsageError, match=r"^target -3: a rate above 0 is wanted"):
        cellsim.size_buffers(cell, target=-3)
    with pytest.raises(UsageError, match=r"^precision 0.9: a share above 0"):
        cellsim.run(cell, precision=0.9)
    with pytest.raises(UsageError, match=r"^workers counts processes"):
        cellsim.run(cell, workers=2, scheduler="tcp://127.0.0.1:9")
    with pytest.raises(UsageError, match=r"^differences take at least two"):
        cellsim.limits(cell, replications=1)
    with pytest.raises(ValueError, match="two replications"):
        cellsim.compare(cell, {}, replications=5)


def test_a_stopped_run_says_what_is_in_its_figures(cell: Any) -> None:
    """Ctrl-C after the third of twelve; before the first it goes on to whoever called."""

    def stop(done: int, of: int) -> None:
        if done == 3:
            raise KeyboardInterrupt

    result = cellsim.run(cell, replications=12, progress=stop)
    assert result["interrupted"] == "3 of 12 replications"
    assert result["study"]["replications"] == 3
    assert "Stopped early: 3 of 12 replications" in repr(result)


def test_finished_replications_are_kept(cell: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second study runs only what is missing, and its figures are those of a study without the file."""
    file = tmp_path / "kept.sqlite"
    cellsim.run(cell, replications=4, kept_in=file, clock="simpy")
    run: list[int] = []
    replicate = Worker.replicate

    def counting(self: Worker, seed: int, number: int) -> Record:
        run.append(number)
        return replicate(self, seed, number)

    monkeypatch.setattr(Worker, "replicate", counting)
    found = cellsim.run(cell, replications=6, kept_in=file, clock="simpy")
    assert run == [4, 5]
    assert plain_data(found) == plain_data(cellsim.run(cell, replications=6, clock="simpy"))


def test_the_tables_of_a_run_hold_its_figures(result: Any) -> None:
    """Row by row against the dictionary."""
    hours = result["output_per_hour"]["by_clock_hour"]
    assert result.hourly["hour"] == ["06:00-07:00", "07:00-08:00"]
    assert result.hourly["working [min]"] == [60, 45]
    assert result.hourly["mean"] == [hour["mean"] for hour in hours]
    assert result.hourly["low"] == [hour["interval"][0] for hour in hours]
    assert result.hourly["P95"] == [hour["p95"] for hour in hours]
    assert result.hourly["target"] == [60, 45]
    stations = result.stations
    assert stations["station"] == ["S1", "S2", "S3"]
    assert stations["cycles mean"] == [result["stations"][s]["cycles"]["mean"] for s in ("S1", "S2", "S3")]
    assert stations["attended"] == [0.0, result["stations"]["S2"]["shares"]["attended"]["mean"], 0.0]
    shares = [column.name for column in stations.columns if column.unit == "share"]
    for row in range(3):
        assert sum(stations[state][row] for state in shares) == pytest.approx(1)  # all of the time
    assert result.people["post"] == ["Ann"]
    assert result.people["load high [share]"] == [result["people"]["Ann"]["load"]["interval"][1]]
    assert len(result.robots) == 0
    assert result.stores["places [units]"] == [1, 3]
    assert result.stores["stay mean [s]"] == [result["stores"][s]["stay_s"]["mean"] for s in ("rack", "tray")]
    assert result.stops["cause"] == ["jam"]
    assert result.stops["repair mean [min]"] == [result["stops"][0]["repair_min"]["mean"]]
    assert result.losses["mean"] == [row["share"] for row in result["losses"]["causes"]]
    assert sum(result.losses["mean"]) == pytest.approx(1)
    assert result.assumptions["why"] == [row["why"] for row in result["assumptions"]]


def test_the_tables_of_a_run_become_data_frames(result: Any) -> None:
    """All figures numeric, units in the labels."""
    tables = [result.hourly, result.stations, result.people, result.stores, result.stops, result.losses]
    for table in tables:
        frame = table.to_frame()
        assert frame.shape == (len(table), len(table.columns))
        for column in table.columns:
            assert frame.attrs["units"][column.label] == column.unit
            if column.unit:
                assert frame[column.label].dtype.kind in "if", column


def test_workload_before_any_run(cell: Any) -> None:
    """By hand at 60 per hour: 30 s of work a minute is half of the time; at 90 three quarters."""
    answer = cellsim.workload(cell)
    loads = answer.loads
    assert loads["who"] == ["S1", "S2", "S3", "Ann"]
    assert loads["kind"] == ["station", "station", "station", "post"]
    assert loads["required"] == pytest.approx([30, 30, 30, 30])
    assert loads["available"] == pytest.approx([60, 60, 60, 60])
    assert loads["load"] == pytest.approx([0.5, 0.5, 0.5, 0.5])
    # 2 min of stop for 20 of running: 3 s for each 30 s of work
    assert loads["by stops"] == pytest.approx([3, 0, 0, 0])
    assert loads["load with stops"] == pytest.approx([0.55, 0.5, 0.5, 0.5])
    assert cellsim.workload(cell, rate=90).loads["load"] == pytest.approx([0.75] * 4)


def test_workload_shows_itself_and_has_tables(cell: Any) -> None:
    """Takt, people and loads; 105 min of 120 less 15 of break for 105 units; Ann at S2 all 30 s."""
    answer = cellsim.workload(cell, planned="90 %")
    said = repr(answer)
    assert "Shift day: 120 min less a break of 15: 105 min net for 105 good units." in said
    assert "Takt 105 min / 105 = 60 s for a good unit." in said
    assert "Planned cycle 54 s, 90 % of the takt." in said
    assert "30 s of hand work for a good unit" in said
    assert repr(answer.loads) in said
    assert answer._repr_html_().count("<table>") == 1
    assert answer.duties.rows == (("Ann", "S2", "work", "work", pytest.approx(30), pytest.approx(1)),)
    assert answer.shifts.rows[0][:4] == ("day", 5, 120, 15)
    assert answer.stores["store"] == ["tray", "rack"]
    assert answer.stores["covers"] == pytest.approx([180, 60])
    for table in (answer.loads, answer.duties, answer.shifts, answer.stores, answer.batches, answer.charts):
        frame = table.to_frame()
        assert frame.shape == (len(table), len(table.columns))
    with pytest.raises(UsageError, match=r"^planned 1\.5: a share above 0 and at most 100 %"):
        cellsim.workload(cell, planned=1.5)


def test_a_run_shows_itself(result: Any) -> None:
    """Headline with interval and band, the target, what limits, what it rests on, and the hours."""
    out = result["output_per_hour"]
    said = repr(result)
    assert said.startswith(f"benches: {out['mean']:.1f} good units per working hour, in 9 of 10 hours ")
    assert "(95 % interval of the mean " in said
    assert "The target of 60 per hour is reached" in said
    assert "What limits output: " in said
    assert "12 shifts of 1.75 working hours, seed 1" in said
    html = result._repr_html_()
    assert html.startswith(f"<div><p><b>benches: {out['mean']:.1f} good units")
    assert html.count("<table>") == 1
    assert "06:00-07:00" in html


def test_the_other_answers_show_themselves(cell: Any) -> None:
    """A verdict on each proposal; places with their rate; the change that buys most."""
    compared = cellsim.compare(cell, {"same <b>": cell}, replications=3)
    assert "same <b>: exactly the same in every run." in repr(compared)
    html = compared._repr_html_()
    assert "same &lt;b&gt;" in html
    assert "same <b>" not in html
    assert compared.differences["mean"] == [0.0] * len(compared.differences)
    assert compared.figures["alternative"].count("benches") == len(compared.differences)
    sized = cellsim.size_buffers(cell, total=4, matters=10, clock="compiled")
    assert repr(sized).startswith("4 places: ")
    assert sum(sized.stores["sized"]) == 4
    assert sized.stores["now"] == [sized["now"]["places"][name] for name in sized["stores"]]
    assert sized.curve["total"] == [row["total"] for row in sized["curve"]]
    assert all(sum(row[4:]) == row[0] for row in sized.curve)
    assert sized._repr_html_().count("<table>") == 2
    limited = cellsim.limits(cell, replications=4)
    best = limited["changes"][0]
    assert f"{best['change']}: {best['difference']['mean']:+.2f} per hour" in repr(limited)
    assert limited.changes["mean"] == [row["difference"]["mean"] for row in limited["changes"]]
    assert limited._repr_html_().count("<table>") == 2


def test_a_locked_cell_and_hostile_names_in_a_run() -> None:
    """It says that the cell locks up; markup in names is shown as it is written."""
    locks = """
cell: "<img src=x>"
route: [feed, gate, work, buffer, test]
stations:
  feed: {cycle: 1 s}
  work: {cycle: 1 min}
  test: {cycle: 90 s, rejects: {share: 100 %, after_rework: 0 %, to: gate, attempts: 5}}
stores: {gate: 0, buffer: 1}
study: {run: 1 h}
"""
    result = cellsim.run(cellsim.load_text(locks), replications=2)
    assert "The cell locks up: run 0" in repr(result)
    html = result._repr_html_()
    assert "<img" not in html
    assert "&lt;img src=x&gt;" in html


def test_the_code_of_the_readme_runs() -> None:
    """Every Python block, in one fresh process, from the folder of the project."""
    blocks = re.findall(r"```python\n(.*?)```", (ROOT / "README.md").read_text(), re.S)
    assert len(blocks) == 1
    command = [sys.executable, "-W", "error", "-c", "\n".join(blocks)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stderr
    assert "Spinning top: " in done.stdout
    assert "16 places: " in done.stdout
    assert "press: one machine more" in done.stdout


def test_importing_the_package_imports_nothing_heavy() -> None:
    """Nor does using `load`; every public name is there."""
    code = (
        "import sys, cellsim; cellsim.load('scenarios/spinning_top.yaml')\n"
        "heavy = {'numpy', 'scipy', 'pandas', 'matplotlib', 'numba', 'dask', 'distributed', 'rich'}\n"
        "assert not heavy & set(sys.modules), heavy & set(sys.modules)\n"
        "assert all(callable(getattr(cellsim, name)) for name in cellsim.__all__)\n"
        "assert not {'pandas', 'matplotlib', 'distributed'} & set(sys.modules)"
    )
    subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True)


def test_sensitivity_is_that_of_the_command(inside: Path) -> None:
    """Ranges of the file, only these; the table says what they do."""
    few = TEXT.replace("to: 08:00, breaks: [{at: 07:00, for: 15 min}]", "to: 06:15")
    (inside / "benches.yaml").write_text(few)
    lines = ["stations.S1.cycle: 25 s to 40 s", "stores.tray: 1 to 6"]
    answer = cellsim.sensitivity("benches.yaml", ranges=lines, only=True, replications=4, clock="compiled")
    options = [part for line in lines for part in ("--range", line)]
    assert told("sensitivity", *options, "--only", "-n", "4", clock="compiled") == json.loads(
        json.dumps(answer)
    )
    assert [row[0] for row in answer.inputs.rows] == [row["input"] for row in answer["inputs"]]
    assert "Measure stations.S1.cycle.mean better first" in repr(answer)
    with pytest.raises(UsageError, match="at least two replications"):
        cellsim.sensitivity("benches.yaml", replications=1)
