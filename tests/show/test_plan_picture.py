"""The picture of a plan: every station, store and person is on it, and the command writes one file."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from cellsim.cli import main
from cellsim.describe.resolve import load
from cellsim.show.floor_plan import floor_plan
from cellsim.show.plan_picture import attends, draw_plan

ROOT = Path(__file__).parents[2]
PADLOCK = str(ROOT / "scenarios" / "padlock.yaml")


@pytest.mark.parametrize("name", sorted(file.stem for file in (ROOT / "scenarios").glob("*.yaml")))
def test_everything_is_on_the_picture_and_no_label_leaves_its_box(name):
    """Boxes stand where the plan says, with all machines; each label of a station lies within its box."""
    cell = load(ROOT / "scenarios" / f"{name}.yaml")
    plan = floor_plan(cell)
    figure = draw_plan(cell, plan)
    axes = figure.axes[0]
    gids = {patch.get_gid() for patch in axes.patches} - {None}
    assert {f"station/{s.name}" for s in cell.stations} | {f"crew/{n}" for n in plan.actors} <= gids
    assert {f"store/{n}" for n, box in plan.stores.items() if box.w} <= gids
    figure.draw_without_rendering()
    to_plan = axes.transData.inverted()
    texts = {text.get_text(): text for text in axes.texts}
    for names, room in ((plan.stations, 2.0), (plan.stores, 2.0), (plan.actors, 0.0)):
        for label, box in ((box.label, box) for box in names.values() if box.w):
            drawn = to_plan.transform(texts["\n".join(label)].get_window_extent())
            assert drawn[1][0] - drawn[0][0] <= box.w - room, label


def test_who_attends_what():
    """People by what they do, robots after them; nobody stands at what runs alone."""
    found = attends(load(PADLOCK))
    assert found["drill"] == ["R1"] and found["pin"] == ["pinning"] and found["saw"] == []
    assert found["close"] == ["P5", "handler"]


@pytest.mark.parametrize(("ending", "start"), [("png", b"\x89PNG"), ("svg", b"<?xml"), ("pdf", b"%PDF")])
def test_the_command_writes_each_kind(tmp_path, ending, start):
    """`draw` writes the kind that the ending asks for; nothing in it says when it was made."""
    for name in ("one", "two"):
        out = tmp_path / f"{name}.{ending}"
        done = CliRunner().invoke(main, ["draw", PADLOCK, "--out", str(out)])
        assert done.exit_code == 0 and done.output == f"Picture: {out}\n"
        assert out.read_bytes().startswith(start)
    assert (tmp_path / f"one.{ending}").read_bytes() == (tmp_path / f"two.{ending}").read_bytes()


def test_nothing_is_overwritten(tmp_path, monkeypatch):
    """A second picture gets a number; a file that is named and there is refused, like an ending not known."""
    monkeypatch.chdir(tmp_path)
    top = str(ROOT / "scenarios" / "spinning_top.yaml")
    for name in ("spinning_top_plan.png", "spinning_top_plan_2.png"):
        assert CliRunner().invoke(main, ["draw", top]).output == f"Picture: {name}\n"
    done = CliRunner().invoke(main, ["draw", top, "--out", "spinning_top_plan.png"])
    assert done.exit_code == 2 and "exists and is not overwritten" in done.stderr
    done = CliRunner().invoke(main, ["draw", top, "--out", "plan.gif"])
    assert done.exit_code == 2 and "must end in .png or .svg or .pdf" in done.stderr
    assert sorted(p.name for p in tmp_path.iterdir()) == ["spinning_top_plan.png", "spinning_top_plan_2.png"]
