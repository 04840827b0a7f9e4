"""Every scenario that the project ships: it loads, runs, keeps all laws, however it is told."""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import pytest
import yaml

from cellsim.describe.resolve import load, load_text, resolved_text
from cellsim.study.worker import Worker

SCENARIOS = sorted((Path(__file__).parents[1] / "scenarios").glob("*.yaml"))


def shuffled(value: Any, chance: random.Random) -> Any:
    """The same data with the keys of every mapping in another order."""
    if isinstance(value, dict):
        keys = list(value)
        chance.shuffle(keys)
        return {key: shuffled(value[key], chance) for key in keys}
    return [shuffled(one, chance) for one in value] if isinstance(value, list) else value


def test_the_demo_cells_are_there():
    """Six cells, from two benches to 25 stations."""
    assert {file.stem for file in SCENARIOS} >= {
        "spinning_top", "bicycle_bell", "tape_measure", "kitchen_timer", "bicycle_light", "padlock",
    }  # fmt: skip


@pytest.mark.parametrize("file", SCENARIOS, ids=lambda file: file.stem)
def test_every_run_keeps_all_laws(file):
    """Two replications: nothing violated, and everybody's states fill the counted time."""
    worker = Worker(load(file))
    counted = worker.plan.horizon - worker.plan.counted_from
    for replication in range(2):
        record = worker.replicate(7, replication)
        assert record.violations == []
        assert record.reason == "horizon"
        assert sum(record.hourly) > 0
        assert {sum(states) for states in record.machines + record.actors} == {counted}
        assert sum(record.path) == record.path_elapsed


@pytest.mark.parametrize("file", SCENARIOS, ids=lambda file: file.stem)
def test_the_order_of_all_keys_changes_nothing(file):
    """A file with the keys of every mapping shuffled gives the same record, to the last bit."""
    cell = load(file)
    plain = yaml.load(resolved_text(cell), Loader=yaml.BaseLoader)
    other = load_text(yaml.safe_dump(shuffled(plain, random.Random(3)), sort_keys=False, default_style='"'))
    assert other == cell
    assert Worker(other).replicate(7, 1) == Worker(cell).replicate(7, 1)


@pytest.mark.parametrize("file", SCENARIOS, ids=lambda file: file.stem)
def test_the_header_tells_the_story_and_the_decision(file):
    """A scenario begins with a comment of several lines, has a question and invents its figures openly."""
    lines = file.read_text(encoding="utf-8").splitlines()
    header = lines[: next(k for k, line in enumerate(lines) if not line.startswith("#"))]
    assert len(header) >= 4
    assert "invented" in " ".join(header)
    assert load(file).question.endswith("?")
