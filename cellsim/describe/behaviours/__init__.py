"""What a cell file can say, each with a small cell that runs: one file a behaviour, `topic-name.yaml`.

The first comment line of a file is the title, the comment lines below it say what happens; the rest is the
cell.  The reference prints them all, and the tests run them all.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources import files

TOPICS = ("people", "robots", "batches", "stops", "quality", "variants", "material", "flow", "energy")


@dataclass(frozen=True, slots=True)
class Behaviour:
    """One behaviour of a cell: its topic, a title, what happens, and a cell file that shows it."""

    topic: str
    name: str
    title: str
    text: str
    example: str


def behaviours() -> list[Behaviour]:
    """Every behaviour, by topic and then by title."""
    found = []
    for file in files(__package__).iterdir():
        if file.name.endswith(".yaml"):
            topic, name = file.name.removesuffix(".yaml").split("-", 1)
            lines = file.read_text(encoding="utf-8").splitlines(keepends=True)
            count = next(k for k, line in enumerate(lines) if not line.startswith("#"))
            said = [line.lstrip("# ").strip() for line in lines[:count]]
            found.append(Behaviour(topic, name, said[0], " ".join(said[1:]), "".join(lines[count:])))
    return sorted(found, key=lambda one: (TOPICS.index(one.topic), one.title))
