"""The pages of the guide: their names, what each is for, and their text."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib import resources
from typing import TYPE_CHECKING

from cellsim.describe.reference import reference
from cellsim.guide.command_list import commands_text
from cellsim.guide.figures import figures_text

if TYPE_CHECKING:
    import click


@dataclass(frozen=True, slots=True)
class Page:
    """A page: its name on the command line, its title, and a sentence that says what is on it."""

    name: str
    title: str
    says: str


PAGES = (
    Page("tutorial", "From the stopwatch to the decision", "An hour and a half with one cell, step by step."),
    Page("words", "The words of the program", "What the screens print, in the words of the shop floor."),
    Page("keys", "Keys of a cell file", "Every key with an example, and the other forms of files."),
    Page(
        "figures", "The figures and what they mean", "Each figure in words, with formula, unit and standard."
    ),
    Page("statistics", "How sure a number is", "What is computed how and after whom, to defend a number."),
    Page(
        "cautions",
        "Safety, honesty, typical mistakes",
        "What the tool does not say, and what misleads people.",
    ),
    Page("running", "Running studies", "Stop and resume, what a run leaves, other machines, every night."),
    Page("commands", "All commands", "Each command with its options."),
)


def page_text(name: str, group: click.Group) -> str:
    """The text of a page, in the Markdown of the guide; `group` holds the commands of the program.

    Raises:
        ValueError: there is no such page.
    """
    makers: dict[str, Callable[[], str]] = {
        "tutorial": tutorial_text,
        "keys": lambda: reference() + "\n" + _written("forms"),
        "figures": figures_text,
        "commands": lambda: commands_text(group),
    }
    if name not in {page.name for page in PAGES}:
        raise ValueError(f"the guide has no page {name!r}; it has {', '.join(page.name for page in PAGES)}")
    return makers.get(name, lambda: _written(name))()


def tutorial_text() -> str:
    """The files of `pages/tutorial/` in the order of their names; each after the first is a step."""
    files = (resources.files("cellsim.guide") / "pages" / "tutorial").iterdir()
    begin, *steps = [file.read_text(encoding="utf-8") for file in sorted(files, key=lambda file: file.name)]
    return "\n".join([begin, *(step.replace("## ", f"## {k}. ", 1) for k, step in enumerate(steps, 1))])


def _written(name: str) -> str:
    return (resources.files("cellsim.guide") / "pages" / f"{name}.md").read_text(encoding="utf-8")
