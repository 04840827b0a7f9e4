"""Verdicts by hand, the full set, and the command that shows the table."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from functools import partial

import pytest
from click.testing import CliRunner
from test_table import BY_ID

from cellsim import cli
from cellsim.errors import UsageError
from cellsim.published import suite, table
from cellsim.published.entry import Published
from cellsim.published.suite import run_table
from cellsim.published.table import choose
from cellsim.published.verdicts import judge, level_of, same

FIVE = Published(
    id="five", topic="Five", statement="1 to 5", value=3.0, unit="", source="by hand", whole=3.0, cell="-"
)


@pytest.mark.parametrize(
    ("value", "tolerance", "agrees"),
    [
        (1.04, 0, True),
        (1.03, 0, False),
        (4.96, 0, True),
        (4.97, 0, False),
        (1.03, 0.01, True),
        (5.0, 0.01, True),
    ],
)
def test_a_verdict_by_hand(value, tolerance, agrees):
    """1..5: mean 3, standard error sqrt(1/2); Student's t with 4 degrees of freedom is 2.776445 at 95 %."""
    found = judge(replace(FIVE, tolerance=tolerance), [1, 2, 3, 4, 5], 0.95, value)
    assert found.agrees == agrees
    assert (found.mean, found.low, found.high) == pytest.approx((3, 1.036757, 4.963243), abs=1e-6)
    assert found.half_width == pytest.approx(2.776445 * math.sqrt(0.5) / 3, rel=1e-6)


def test_one_measurement_is_no_verdict():
    """An interval needs two."""
    with pytest.raises(ValueError, match="at least two measurements"):
        judge(FIVE, [3.0], 0.95)


@pytest.mark.parametrize(
    ("ours", "value", "equal"),
    [
        (1.0, 1.0 + 1e-10, True),
        (1.0, 1.0 + 1e-8, False),
        ((1.0, 2.0), (1.0, 2.0), True),
        ((1.0, 2.0), (1.0, 2.1), False),
        ((1.0, 2.0), (1.0,), False),
        ((1.0,), 1.0, False),
        (1.0, (1.0,), False),
        (0.0, 0.0, True),
    ],
)
def test_what_is_the_same(ours, value, equal):
    """To the last of nine digits; lists number by number, and as long as each other."""
    assert same(ours, value, 1e-9) is equal


def test_the_false_alarms_are_shared_out():
    """Each of n intervals may fail with 1 % / n."""
    assert [1 - level_of(n) for n in (0, 1, 100)] == pytest.approx([0.01, 0.01, 0.0001])


def test_what_is_chosen():
    """By id or topic, whatever the case; what is too long only for the full set; nothing is told."""
    slow = replace(FIVE, id="slow", full_only=True)
    assert choose([FIVE, slow], [], full=False) == [FIVE]
    assert choose([FIVE, slow], [], full=True) == [FIVE, slow]
    assert choose([FIVE, slow], ["SLO"], full=True) == [slow]
    assert choose([FIVE, slow], ["five"], full=True) == [FIVE, slow]
    with pytest.raises(UsageError, match="no entry contains six; the topics are: Five"):
        choose([FIVE], ["six"], full=False)


ALONE = BY_ID["one-station-that-stops"]
SHORT = replace(
    ALONE, id="short", cell=ALONE.cell.replace("run: 24 h", "run: 1 h"), formula=lambda: 100 / 110
)
WRONG = replace(SHORT, id="too-high", value=0.99, formula=None)
ON_PAPER = replace(ALONE, id="on-paper", cell="", quantity="", formula=partial(max, 100 / 110, 0.0))


def test_the_full_set_goes_on_until_it_is_sharp():
    """Replications are added as the interval so far forecasts; the mean stays where it was within it."""
    (quick,) = run_table([SHORT], [SHORT])
    (full,) = run_table([SHORT], [SHORT], full=True)
    assert quick.simulated is not None
    assert full.simulated is not None
    assert quick.simulated.half_width > 0.003 >= full.simulated.half_width
    assert full.simulated.replications > quick.simulated.replications == 24
    assert full.simulated.sharp
    assert not quick.simulated.sharp


@pytest.mark.parametrize("workers", [1, 2])
def test_a_value_that_differs_is_told(workers):
    """Entries of one cell share its runs; the order is that of the request; a formula is judged too."""
    shown = []
    rows = [WRONG, ON_PAPER, SHORT, replace(ON_PAPER, id="off", formula=partial(max, 0.9, 0.0))]
    checks = run_table(rows, rows, workers=workers, show=shown.append)
    assert [check.entry.id for check in checks] == ["too-high", "on-paper", "short", "off"]
    assert [check.agrees for check in checks] == [False, True, True, False]
    assert checks[0].simulated.interval[0] < checks[2].simulated.value < checks[0].simulated.interval[1]
    assert sorted(check.entry.id for check in shown) == sorted(check.entry.id for check in checks)


@pytest.fixture
def small_table(monkeypatch):
    """Three entries instead of all."""
    for place in (table, suite):
        if hasattr(place, "TABLE"):
            monkeypatch.setattr(place, "TABLE", (SHORT, ON_PAPER, BY_ID["two-stations-0-places"]))


def test_the_command_prints_and_writes_every_check(small_table, tmp_path):
    """Statement, published value, ours with interval, verdict and source; the same in the file."""
    file = tmp_path / "checks.json"
    result = CliRunner().invoke(cli.main, ["verify", "-w", "1", "--json", str(file)])
    assert result.exit_code == 0, result.output
    written = json.loads(file.read_text())
    assert (written["agree"], written["of"], written["set"]) == (3, 3, "quick")
    for check in written["checks"]:
        assert check["agrees"]
        assert " ".join(check["statement"].split()[:4]) in " ".join(result.output.split())
        assert {"id", "statement", "published", "ours", "interval", "agrees", "source"} <= set(check)
    first, paper, line = written["checks"]
    assert first["interval"][0] < 100 / 110 < first["interval"][1]
    assert first["on_paper"] == paper["ours"] == 100 / 110
    assert paper["interval"] is None
    assert line["ours"] == pytest.approx(2 / 3, rel=0.01)
    said = " ".join(result.output.split())
    widest = 100 * first["half_width"]
    assert (
        f"3 of 3 comparisons agree (2 simulated, each known to {widest:.1f} % or better, 1 on paper)" in said
    )
    assert "[1] alternating renewal process" in result.output


def test_a_difference_ends_with_its_own_code(monkeypatch, tmp_path):
    """Code 70, the entry named, and the file is written all the same."""
    monkeypatch.setattr(table, "TABLE", (SHORT, WRONG))
    file = tmp_path / "checks.json"
    result = CliRunner().invoke(cli.main, ["verify", "-w", "1", "--json", str(file)])
    assert result.exit_code == 70
    assert "DIFFERS: too-high" in result.output
    assert [check["agrees"] for check in json.loads(file.read_text())["checks"]] == [True, False]


def test_json_to_stdout_is_nothing_but_json(small_table):
    """`--json -` prints the checks and nothing else."""
    result = CliRunner().invoke(cli.main, ["verify", "--only", "on-paper", "--json", "-"])
    assert [check["id"] for check in json.loads(result.stdout)["checks"]] == ["on-paper"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--only", "four machines"], "no entry contains four machines; the topics are: "),
        (["--json", "nowhere/checks.json"], "nowhere/checks.json: the folder nowhere does not exist"),
        (["--workers", "0"], "0 is too small; at least 1 is wanted"),
    ],
)
def test_a_wrong_request_is_told(arguments, said, monkeypatch, tmp_path):
    """Exit code 2 and what is allowed, before anything runs."""
    monkeypatch.chdir(tmp_path)
    result = CliRunner().invoke(cli.main, ["verify", *arguments])
    assert result.exit_code == 2
    assert said in result.output
