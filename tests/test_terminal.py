"""What a person meets in a terminal: help whose examples run, 80 columns, progress, silence, completion."""

from __future__ import annotations

import os
import pty
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner
from rich.console import Console

import cellsim
from cellsim.cli import main
from cellsim.commands.completion import LINES
from cellsim.show.progress import progress
from cellsim.show.screen import print_result
from cellsim.show.screen_page import Page

ROOT = Path(__file__).parents[1]
COMMANDS = list(main.commands)

# How the example of a command is made quick here, and leaves what a later one takes: options that are added.
QUICK = {
    "balance": "-n 2 --seconds 2",
    "run": "-n 2",
    "limits": "-n 2",
    "compare": "-n 2",
    "buffers": '--matters "50 per h"',
    "crew": '--matters "50 per h"',
    "payback": "-n 2 --json payback.json",
    "sensitivity": "-n 2 --each 2 --ways 4 --draws 20",
    "warmup": "-n 2",
    "observe": "-n 2",
    "verify": "--only completion-time-long-stops",
}

# What these print goes into files, whose lines stay whole.
WHOLE = ("resolve", "schema", "completion", "timestudy", "stops")

SMALL = """\
cell: Small
target: 100 per h
shifts: {day: {from: 06:00, to: 08:00}}
route: [press, tray, fit]
stations:
  press: {cycle: {law: exponential, mean: 24 s}}
  fit: {cycle: {law: exponential, mean: 24 s}}
stores: {tray: 2}
study: {shifts: 1, replications: 4}
"""

INVESTMENT = """\
case: Tray
investment: {tray: 900 EUR}
rate: 8 %
payback_limit: 1 year
shifts_per_year: 215
margin: 1 EUR per unit
can_sell: 150 per h
"""


def examples_of(command: str) -> list[str]:
    """The calls that the help of a command shows, as one would type them."""
    text = CliRunner().invoke(main, [command, "--help"], terminal_width=80).output
    block = re.search(r"^  Examples?:\n((?:    .*\n)+)", text, re.M)
    assert block, f"{command} --help shows no example"
    lines = block[1].replace("\\\n", " ").splitlines()
    return [" ".join(line.split()) for line in lines]


def width(text: str) -> int:
    """The length of the longest line."""
    return max(map(len, text.splitlines()), default=0)


@pytest.fixture(scope="module")
def workshop(tmp_path_factory):
    """A folder with the demo cells beside it, in which the examples run one after the other."""
    folder = tmp_path_factory.mktemp("workshop")
    (folder / "scenarios").symlink_to(ROOT / "scenarios")
    return folder


@pytest.mark.parametrize("command", COMMANDS)
def test_every_example_runs_as_printed(workshop, monkeypatch, command):
    """One or two examples; each ends with 0, in 80 columns, without codes of a terminal."""
    monkeypatch.chdir(workshop)
    monkeypatch.setenv("COLUMNS", "80")
    examples = examples_of(command)
    assert 1 <= len(examples) <= 2
    for example in examples:
        words = shlex.split(example)
        assert words[:2] == ["cellsim", command]
        into = words.index(">") if ">" in words else len(words)
        done = CliRunner().invoke(main, [*words[1:into], *shlex.split(QUICK.get(command, ""))])
        assert done.exit_code == 0, (example, done.output)
        for file in words[into + 1 :]:
            Path(file).write_text(done.stdout)
        if command not in WHOLE:
            shown = done.output.replace(str(workshop), "")
            assert width(shown) <= 80, (example, max(shown.splitlines(), key=len))
        assert "\x1b" not in done.output
        assert "next: " not in done.output  # for people only


@pytest.mark.parametrize("command", ["", *COMMANDS])
def test_help_fits_80_columns(command):
    """Every help, its options and its examples."""
    words = [command, "--help"] if command else ["--help"]
    assert width(CliRunner().invoke(main, words, terminal_width=80).output) <= 80


def test_help_lists_commands_in_the_order_of_the_work():
    """From a file to an answer, a line each that is not cut."""
    text = CliRunner().invoke(main, ["--help"], terminal_width=80).output
    listed = [line.split()[0] for line in text.partition("Commands:\n")[2].splitlines()]
    assert listed == COMMANDS
    work = ["check", "run", "limits", "compare", "buffers", "crew", "payback", "sensitivity", "warmup"]
    assert [name for name in listed if name in work] == work
    assert "..." not in text.partition("Commands:\n")[2]


@pytest.mark.parametrize("folder", ["scenarios", "cellsim/describe/behaviours"])
def test_every_answer_of_run_fits_80_columns(folder):
    """Each demo cell and each behaviour, one run of it: no line is longer, and no column is lost."""
    for file in sorted((ROOT / folder).glob("*.yaml")):
        result = cellsim.run(cellsim.load(file), replications=1, clock="simpy")
        console = Console(width=80, record=True, file=open(os.devnull, "w"))  # noqa: SIM115
        print_result(result, console)
        console.file.close()
        text = console.export_text()
        assert width(text) <= 80, (file.name, max(text.splitlines(), key=len))
        assert "…" not in text, file.name


def test_a_table_that_is_too_wide_goes_on_below():
    """All heads and all numbers are there, the first column again in each block."""
    console = Console(width=40, record=True, file=open(os.devnull, "w"))  # noqa: SIM115
    heads = ["Station", *(f"state {k}" for k in range(8))]
    Page(console).table(heads, [["press", *(f"{k}.125" for k in range(8))]])
    console.file.close()
    text = console.export_text()
    assert width(text) <= 40
    assert all(f"state {k}" in text and f"{k}.125" in text for k in range(8))
    assert text.count("press") == text.count("Station") > 1


def in_a_terminal(folder: Path, *words: str, **environment: str) -> str:
    """What a command writes to a terminal of 80 columns."""
    above, below = pty.openpty()
    env = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "FORCE_COLOR", "CI")}
    env |= {"COLUMNS": "80", "TERM": "xterm", "PYTHONPATH": str(ROOT), **environment}
    call = [sys.executable, "-m", "cellsim", *words]
    with subprocess.Popen(call, cwd=folder, env=env, stdin=below, stdout=below, stderr=below) as process:
        os.close(below)
        found = b""
        while True:
            try:
                found += (part := os.read(above, 65536))
            except OSError:  # how Linux says that the other end is closed
                break
            if not part:
                break
    os.close(above)
    assert process.returncode == 0, found.decode()
    return found.decode()


@pytest.fixture
def bench(tmp_path):
    """A folder with a small cell."""
    (tmp_path / "small.yaml").write_text(SMALL)
    return tmp_path


@pytest.mark.parametrize(
    ("words", "shown", "follows"),
    [
        (["run", "small.yaml"], r"runs .*4/4 .*good units per hour", "limits small.yaml"),
        (
            ["limits", "small.yaml", "-w", "1"],
            r"runs watched .* \d+/4",
            "(buffers|sensitivity|compare) small.yaml",
        ),
        (
            ["compare", "small.yaml", "--change", "stores.tray.places: 9"],
            r"runs .*8/8",
            "sensitivity small.yaml",
        ),
        (
            ["buffers", "small.yaml", "--matters", "50 per h"],
            r"step .*\d+/\d+ .*ways? .*tried",
            "compare small.yaml --change 'stores.tray.places: ",
        ),
        (["check", "small.yaml"], "", "run small.yaml"),
    ],
)
def test_a_terminal_shows_progress_and_what_comes_next(bench, words, shown, follows):
    """A bar while work is done, what is known so far, and at the end one line with the next command."""
    words += ["--clock", "simpy", "-w", "1"] if shown else []
    text = re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]", "", in_a_terminal(bench, *words))
    assert re.search(shown, text), text
    lines = [line for line in text.replace("\r", "\n").splitlines() if line.startswith("next: ")]
    assert len(lines) == 1
    assert re.search(f"next: cellsim {follows}", lines[0])


def test_no_colour_where_none_is_wanted(bench):
    """NO_COLOR (no-color.org): no code that sets a colour; bold may stay."""
    text = in_a_terminal(bench, "run", "small.yaml", "-w", "1", NO_COLOR="1")
    assert re.search(r"\x1b\[1m", text)
    assert not re.search(r"\x1b\[(?:\d+;)*(?:3[0-8]|4[0-8]|9[0-7]|10[0-7])(?:;\d+)*m", text)


@pytest.mark.parametrize(
    "command", [c for c in COMMANDS if any("--quiet" in p.opts for p in main.commands[c].params)]
)
def test_quiet_says_nothing(bench, command):
    """Nothing on stdout and nothing on stderr, also in a terminal."""
    more = {
        "compare": ["--change", "stores.tray.places: 9"],
        "buffers": ["--matters", "50 per h"],
        "crew": ["--wage", "30"],
        "payback": ["--case", "tray.case", "--change", "stores.tray.places: 9"],
        "sensitivity": ["--each", "2", "--ways", "4", "--draws", "20"],
        "warmup": ["-n", "2"],
        "balance": ["-n", "2"],
        "verify": shlex.split(QUICK["verify"]),
    }
    (bench / "other.yaml").write_text(SMALL.replace("tray: 2", "tray: 3"))
    plan = "plan: P\ntakt: 9 min\nelements: {a: {time: 5 min}, b: {time: 6 min, after: a}}\n"
    (bench / "plan.yml").write_text(plan)
    (bench / "sheet.csv").write_text("element,time [s]\nfit,3.1\nfit,3.4\n")
    (bench / "stops.csv").write_text("start,end,station,cause\n2026-03-02 06:10,2026-03-02 06:12,fit,jam\n")
    (bench / "tray.case").write_text(INVESTMENT)
    hours = [f"2026-03-{day:02d} {hour}:00,{100 + day}" for day in (2, 3) for hour in (6, 7)]
    (bench / "counts.csv").write_text("time,good\n" + "\n".join(hours) + "\n")
    calls = {
        "balance": ["plan.yml"],
        "crew": ["small.yaml", "other.yaml"],
        "verify": [],
        "acceptance": ["--stops", "5", "--down", "1 h"],
        "timestudy": ["sheet.csv"],
        "stops": ["stops.csv", "--cell", "small.yaml"],
        "observe": ["small.yaml", "counts.csv"],
        "nightly": [".", "--accept", "first"],
        "exercise": ["10", "--solution"],
    }
    words = [command, *calls.get(command, ["small.yaml"]), *more.get(command, []), "--quiet"]
    options = {option for parameter in main.commands[command].params for option in parameter.opts}
    if "--clock" in options:
        words += ["--clock", "simpy"]
    if "--workers" in options:
        words += ["-w", "1"]
    assert in_a_terminal(bench, *words) == ""


def test_a_new_stage_has_its_own_time():
    """Less done than before, or a new name: the bar begins again instead of staying at its end."""
    console = Console(width=80, force_terminal=True, file=open(os.devnull, "w"))  # noqa: SIM115
    with progress(console, 4) as shown:
        bar = shown._bar
        for done in range(1, 5):
            shown(done, 4)
        assert bar.tasks[0].finished
        shown(1, 4)
        assert (bar.tasks[0].completed, bar.tasks[0].finished) == (1, False)
        shown.begin("checks", 9)
        assert (bar.tasks[0].description, bar.tasks[0].total, bar.tasks[0].completed) == ("checks", 9, 0)
    console.file.close()


@pytest.mark.parametrize("shell", LINES)
def test_completion_prints_a_script_that_the_shell_takes(shell):
    """The script, and last the line to add with the file to add it to."""
    done = CliRunner().invoke(main, ["completion", shell])
    assert done.exit_code == 0
    line, file = LINES[shell]
    told = done.stdout.splitlines()[-2:]
    assert file in told[0] and told[1] == f"#   {line}"
    if shutil.which(shell) is None:
        pytest.skip(f"there is no {shell} on this machine")
    read = subprocess.run([shell, "-n"], input=done.stdout, text=True, capture_output=True)
    assert (read.returncode, read.stderr) == (0, "")


@pytest.mark.skipif(shutil.which("bash") is None, reason="there is no bash on this machine")
@pytest.mark.parametrize(
    ("typed", "offered"),
    [
        (["sens"], "sensitivity"),
        (["run", "small.yaml", "--repl"], "--replications"),
        (["run", "small.yaml", "--clock", "comp"], "compiled"),
        (["run", "sm"], "small.yaml"),
    ],
)
def test_bash_completes(bench, typed, offered):
    """Commands, options, values of options and files, in a real bash that read the script."""
    (bench / "bin").mkdir()
    program = bench / "bin" / "cellsim"
    program.write_text(f'#!/bin/sh\nPYTHONPATH={ROOT} exec {sys.executable} -m cellsim "$@"\n')
    program.chmod(0o755)
    words = ["cellsim", *typed]
    script = (
        f'eval "$(cellsim completion bash)"\nCOMP_WORDS=({shlex.join(words)}); COMP_CWORD={len(words) - 1}\n'
        'compopt() { compgen -f -- "${COMP_WORDS[COMP_CWORD]}"; }\n'  # what bash itself does for files
        f"_cellsim_completion cellsim {shlex.quote(words[-1])} cellsim\n"
        'printf "%s\\n" "${COMPREPLY[@]}"\n'
    )
    done = subprocess.run(
        ["bash", "--norc", "-c", script],
        cwd=bench,
        capture_output=True,
        text=True,
        env={**os.environ, "PATH": f"{bench / 'bin'}:{os.environ['PATH']}"},
    )
    assert offered in done.stdout.split(), (done.stdout, done.stderr)
