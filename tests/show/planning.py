"""Answers about money and of the paper work that pages and pictures are made of: small, and made fast."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
from click.testing import CliRunner

from cellsim.cli import main
from cellsim.describe.investment import read_investment
from cellsim.describe.resolve import load
from cellsim.describe.work_plan import read_plan
from cellsim.money.case import case_answer, stated_rows
from cellsim.money.measured import Facts
from cellsim.study.balance import balance
from cellsim.study.workload import workload

SCENARIOS = Path(__file__).parents[2] / "scenarios"

PLAN = """\
plan: Four
question: How many?
takt: 10 s
efficiency: 95 %
elements:
  load: {time: {mean: 2 s, spread: 20 %}, machine: press}
  press: {time: 4 s, after: load, machine: press, runs_alone: yes}
  unload: {time: 2 s, after: press, machine: press}
  b: {time: 5 s, after: unload}
  c: {time: 6 s, after: b}
  d: {time: 3 s, after: c}
"""
CHOICES = """\
tray:
  small:
  large - 16 places:
    costs: 2
    changes: {stores.tray.places: 16}
"""

CASE = read_investment(
    """
case: second bench
investment: {bench: 20 000 to 40 000 EUR}
rate: 8 %
payback_limit: 2 years
shifts_per_year: 425
paid_per_shift: 8 h
wage: 30 EUR per h
freed: 0 to 0.1
margin: 5 EUR per unit
can_sell: 51 to 52 per h
""",
    "bench.yaml",
)


def paid_back(**other: Any) -> dict[str, Any]:
    """The answer to 2 more units an hour, give or take, and what a study adds to it."""
    base = np.full(20, 50.0)
    good = np.vstack([base, base + 2 + 0.5 * np.tile([1.0, -1.0], 10)])
    facts = Facts((None, None), ({"A": 1.0}, {}), frozenset(), good, {}, {}, 8.0)
    answer = case_answer(CASE, facts)
    return answer | {
        "base": {"name": "one"}, "proposal": {"name": "two"}, "crew": {"B": 1},
        "can_sell": "51 to 52 per h", "cell_inputs": None, "stated": stated_rows(CASE),
        "assumed": [{"what": "sure", "value": "80 %", "why": "agree it"}], "cautions": ["Mind this."],
        **other,
    }  # fmt: skip


def nothing_open() -> dict[str, Any]:
    """A case without any range, and without any gain, so that the money is never back."""
    case = read_investment(
        "case: plain\ninvestment: {x: 1 EUR}\nrate: 8 %\npayback_limit: 2 years\nshifts_per_year: 4\n"
        "paid_per_shift: 8 h\n",
        "x",
    )
    facts = Facts((None, None), ({}, {}), frozenset(), np.ones((2, 3)), {}, {}, 8.0)
    return paid_back() | case_answer(case, facts, draws=100) | {"stated": stated_rows(case), "crew": {}}


def loads(name: str = "padlock", planned: str | None = "90 %") -> dict[str, Any]:
    """The paper work of a shipped cell, as its file holds it."""
    return dict(json.loads(json.dumps(workload(load(SCENARIOS / f"{name}.yaml"), planned=planned))))


def balanced(**options: Any) -> dict[str, Any]:
    """A balance of four elements and a machine, run three times."""
    return dict(json.loads(json.dumps(balance(read_plan(PLAN), replications=3, seconds=2, **options))))


def crewed(folder: Path) -> dict[str, Any]:
    """The search for a tray of two benches, written into a folder."""
    (folder / "choices.yaml").write_text(CHOICES)
    words = ["crew", str(SCENARIOS / "spinning_top.yaml"), "--wage", "30", "--matters", "3 per h", "-q"]
    words += ["-w", "1", "--choices", str(folder / "choices.yaml"), "--json", str(folder / "crew.json")]
    done = CliRunner().invoke(main, words)
    assert done.exit_code == 0, done.output
    return dict(json.loads((folder / "crew.json").read_text(encoding="utf-8")))
