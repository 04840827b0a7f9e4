"""The files that a call is to write: all are looked at before any work, and nothing is half done."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from cellsim.cli import main
from cellsim.errors import UsageError
from cellsim.show.picture_files import save_picture
from cellsim.show.plots_sheet import new_figure

SCENARIOS = Path(__file__).parents[1] / "scenarios"
BELL, CHOICES = str(SCENARIOS / "bicycle_bell.yaml"), SCENARIOS / "choices"
LIGHT, RECORDS = str(SCENARIOS / "bicycle_light.yaml"), SCENARIOS / "records"
STOPS = ("stops", str(RECORDS / "bell_stops.csv"), "--cell", BELL)
TIMES = ("timestudy", str(RECORDS / "bell_times.csv"), "--station", "rivet")
OBSERVE = ("observe", LIGHT, str(RECORDS / "light_counts.csv"))
BALANCE = ("balance", str(SCENARIOS / "plans" / "bell_plan.yaml"), "--on-paper")
PAYBACK = ("payback", str(CHOICES / "tape_measure_hands.yaml"), str(SCENARIOS / "tape_measure.yaml"),
           "--case", str(CHOICES / "tape_measure_robot.yaml"))  # fmt: skip


@pytest.fixture
def inside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder, which any file written would be in."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def call(*words: str) -> Result:
    """A command and how it ended; an error that is no text for a user is raised."""
    return CliRunner().invoke(main, list(words), catch_exceptions=False)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([*STOPS, "--out", "f", "--ranges", "f"], "--out and --ranges name the same file, f"),
        ([*STOPS, "--out", "f", "--ranges", "./f"], "--out and --ranges name the same file"),
        ([*STOPS, "--out", "f", "--json", "f"], "--out and --json name the same file"),
        ([*STOPS, "--out", "f", "--ranges", "no/f"], "--ranges no/f: the folder no does not exist"),
        ([*STOPS, "--out", "f", "--json", "no/f"], "--json no/f: the folder no does not exist"),
        ([*TIMES, "--out", "f", "--ranges", "f"], "--out and --ranges name the same file"),
        ([*TIMES, "--out", "f.png", "--picture", "f.png"], "--out and --picture name the same file"),
        ([*OBSERVE, "--sheets", "f.png", "--picture", "f.png"], "--sheets and --picture name the same file"),
        ([*OBSERVE, "--sheets", "f", "--json", "f.key"], "the key of --sheets and --json name the same file"),
        ([*OBSERVE, "--sheets", "."], "--sheets .: this is a folder; name a file"),
        ([*OBSERVE, "--sheets", ""], "this is a folder; name a file"),
        ([*OBSERVE, "--sheets", "/"], "--sheets /: this is a folder; name a file"),
        ([*BALANCE, "--cell", "f.png", "--picture", "f.png"], "--cell and --picture name the same file"),
        ([*PAYBACK, "--picture", "f.png", "--json", "f.png"], "--picture and --json name the same file"),
        (["load", BELL, "--picture", "f.png", "--json", "f.png"], "--picture and --json name the same file"),
        (["sensitivity", BELL, "--picture", "f.png", "--json", "."], "--json .: this is a folder"),
        (
            ["run", BELL, "--report", "f.xlsx", "--workbook", "f.xlsx"],
            "--report and --workbook name the same",
        ),
        (["run", BELL, "--out", "f", "--report", "f"], "--report and --out name the same file"),
        (["warmup", BELL, "--out", "f.png", "--json", "f.png"], "--out and --json name the same file"),
    ],
)
def test_files_are_looked_at_before_anything_is_written(inside: Path, words: list[str], said: str) -> None:
    """In words, exit code 2, and the folder stays empty."""
    done = call(*words)
    assert (done.exit_code, list(inside.iterdir())) == (2, []), done.output
    assert said in done.stderr


@pytest.mark.parametrize(
    "words",
    [
        [*STOPS, "--picture"],
        [*TIMES, "--picture"],
        [*OBSERVE, "--picture"],
        [*BALANCE, "--picture"],
        [*PAYBACK, "--picture"],
        ["load", BELL, "--picture"],
        ["sensitivity", BELL, "--picture"],
        ["warmup", BELL, "--out"],
        ["draw", BELL, "--out"],
    ],
    ids=lambda words: words[0],
)
def test_a_folder_that_cannot_be_written(inside: Path, words: list[str]) -> None:
    """Told before any work, even to those who may write everywhere."""
    done = call(*words, "/proc/x.png")
    assert done.exit_code == 2
    assert "/proc/x.png: the folder /proc cannot be written: " in done.stderr
    assert list(inside.iterdir()) == []


def test_a_picture_that_cannot_be_written() -> None:
    """Whatever changed since the look ahead is told in words too."""
    with pytest.raises(UsageError, match=r"^/proc/x\.svg cannot be written: "):
        save_picture(lambda _: new_figure(2.0), {}, Path("/proc/x.svg"))
