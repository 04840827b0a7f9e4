"""Every behaviour in the reference has an example that runs and keeps all laws."""

from __future__ import annotations

import pytest

from cellsim.describe.behaviours import TOPICS, behaviours
from cellsim.describe.resolve import load_text, resolved_text
from cellsim.engine.clock_simpy import SimpyRun
from cellsim.engine.model import compile_cell
from cellsim.study.audit import audit
from cellsim.units import HOUR

ALL = {f"{one.topic}-{one.name}": one for one in behaviours()}


@pytest.mark.parametrize("name", ALL)
def test_example_runs_eight_hours(name):
    """The example is a legal cell, is short, makes good units, never stands still and breaks no law."""
    cell = load_text(ALL[name].example)
    assert ALL[name].example.count("\n") <= 14
    run = SimpyRun(compile_cell(cell), 1, 0)
    run.advance(8 * HOUR)
    assert audit(run) == []
    assert run.stalled_at == -1
    assert run.state.good > 0


@pytest.mark.parametrize("name", ALL)
def test_example_survives_resolving(name):
    """The resolved form of the example resolves to itself."""
    resolved = resolved_text(load_text(ALL[name].example))
    assert resolved_text(load_text(resolved)) == resolved


def test_every_topic_has_an_example():
    """Titles and texts are there; a topic is one of the known ones."""
    assert all(one.topic in TOPICS and one.title and one.text for one in ALL.values())
