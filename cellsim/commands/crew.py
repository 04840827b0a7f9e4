"""The command crew."""

from __future__ import annotations

import itertools
import math
import re
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cellsim.commands.common import (
    JSON,
    QUIET,
    SEED,
    Means,
    progress_bar,
    stopped_in_words,
    study_of,
    with_means,
    write_answer,
)
from cellsim.errors import DescriptionError, Mistake, UsageError

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from cellsim.describe.choices import Choice, Option
    from cellsim.study.crew import Candidate

USUAL = 2000  # replications that a search usually takes
MOST = 2000  # combinations
MATTERS = 0.003  # of output: a difference below it matters to nobody
CELL_CHOICE = "cell"
_PEOPLE = re.compile(r"(.+?):\s*([0-9]+)\s*(?:to\s*([0-9]+))?")


@click.command(short_help="who and what is worth its money, under a budget")
@click.argument("cells", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option(
    "--people",
    multiple=True,
    metavar="POST",
    help="Try other numbers of people at a post: 'A: 1 to 3'; repeat.",
)
@click.option(
    "--choices",
    "file",
    metavar="FILE",
    type=click.Path(path_type=Path),
    help="A file of choices: a name, below it its options, below each its costs and changes.",
)
@click.option(
    "--wage",
    multiple=True,
    required=True,
    metavar="COST",
    help="What a paid hour of a person costs, of all posts ('38') or one ('A: 44'); repeat.",
)
@click.option(
    "--costs",
    multiple=True,
    metavar="COST",
    help="What a cell file costs per working hour beside wages, by its name: 'with_robot: 18'; repeat.",
)
@click.option(
    "--budget",
    metavar="COST",
    type=click.FloatRange(0, min_open=True),
    help="Most that it may cost per hour.",
)
@click.option(
    "--matters",
    metavar="RATE",
    help="Smallest difference of output that matters: '0.5 per h'.  [default: 0.3 % of the output]",
)
@click.option(
    "--wip-matters",
    metavar="UNITS",
    type=click.FloatRange(0, min_open=True),
    help="Also show what holds fewer units inside by this many, though it makes no more.",
)
@SEED
@with_means
@JSON
@QUIET
def crew(
    cells: tuple[Path, ...],
    people: tuple[str, ...],
    file: Path | None,
    wage: tuple[str, ...],
    costs: tuple[str, ...],
    budget: float | None,
    matters: str | None,
    wip_matters: float | None,
    seed: int | None,
    means: Means,
    json_file: Path | None,
    quiet: bool,
) -> None:
    """Find who and what is worth its money: people, robots, who stands where, places, under a budget.

    All combinations of the people and choices given are run with the same luck.  The answer is a table by
    rising cost in which each row makes more than the one before, or with --wip-matters holds fewer units.
    Several cell files, as with and without a robot, are one more choice.

    \b
    Example:
      cellsim crew scenarios/bicycle_bell.yaml --wage 30 \\
        --choices scenarios/choices/bell_choices.yaml
    """
    from cellsim.describe.resolve import load
    from cellsim.study.crew import CrewLab, crew_answer, search
    from cellsim.study.places import Look
    from cellsim.study.provenance import versions
    from cellsim.study.takt import per_hour

    first = load(cells[0])
    options = _choices(cells, people, file, costs)
    candidates = list(_candidates(cells, options, *_wages(wage)))
    affordable = [c for c in candidates if budget is None or c.cost <= budget]
    if len(affordable) < 2:
        cheapest = min(c.cost for c in candidates)
        raise UsageError(
            f"{len(affordable)} of {len(candidates)} combinations keep to the budget, the cheapest costs"
            f" {cheapest:.6g}; a choice takes two"
        )
    _, number = study_of(first, None, seed)
    silent = quiet or str(json_file) == "-"
    so_far = [len(affordable), 0]  # combinations left, runs

    def heard(alive: int, runs: int) -> None:
        so_far[:] = alive, runs

    with (
        stopped_in_words(lambda: f"Stopped after {so_far[1]} runs"),
        means.open(silent) as runner,
        progress_bar(10, silent, lambda: "{} combinations left, {} runs".format(*so_far), "step") as progress,
    ):
        lab = CrewLab(affordable, number, runner)
        runner.settle_means(first, USUAL)
        lab.progress = progress
        lab.run([0], 10)
        lab.heard = heard
        rate = sum(lab.rates[0]) / 10
        difference = per_hour(matters, "--matters") if matters else MATTERS * rate
        look = Look(difference)
        front = search(lab, look, wip_matters)
    said = crew_answer(
        front,
        lab,
        look,
        target=first.target_per_hour,
        budget=budget,
        over_budget=len(candidates) - len(affordable),
        wip_matters=wip_matters,
    )
    said["provenance"] = versions() | {"seed": number, "clock": runner.clock}
    write_answer(said, json_file)
    if not silent:
        from rich.console import Console

        from cellsim.show.crewed import print_crewed

        print_crewed(said, Console())


def _choices(
    cells: Sequence[Path], people: Sequence[str], file: Path | None, costs: Sequence[str]
) -> list[Choice]:
    """The choices of a call: cell files, people, the file of choices."""
    from cellsim.describe import reader
    from cellsim.describe.choices import Choice, Option, read_choices

    names = [path.stem for path in cells]
    if len(set(names)) < len(names):
        raise UsageError("two of the cell files have the same name; rename one")
    prices = dict(_cost(text, "--costs", names) for text in costs)
    found = [Choice(CELL_CHOICE, tuple(Option(name, prices.get(name, 0.0)) for name in names))]
    found += [_people(text) for text in people]
    if file is not None:
        found += read_choices(reader.read_file(file), file.name)
    doubled = {c.name for c in found if [d.name for d in found].count(c.name) > 1}
    if doubled:
        raise UsageError(f"the choice {min(doubled)} is there twice")
    if math.prod(len(c.options) for c in found) < 2:
        raise UsageError("there is nothing to choose; give --people, --choices or a second cell file")
    return found


def _people(text: str) -> Choice:
    from cellsim.describe.changes import Change
    from cellsim.describe.choices import Choice, Option
    from cellsim.describe.tree import Text

    match = _PEOPLE.fullmatch(text.strip())
    if match is None or int(match[2]) < 1 or int(match[3] or match[2]) < int(match[2]):
        raise UsageError(f"--people {text}: a post and how many people are wanted, for example A: 1 to 3")
    post, low, high = match[1], int(match[2]), int(match[3] or match[2])
    path = f"crew.{post}.people"
    options = [Option(str(n), 0.0, (Change(path, Text(str(n), 0, 0)),)) for n in range(low, high + 1)]
    return Choice(f"people at {post}", tuple(options))


def _cost(text: str, option: str, names: Sequence[str] | None) -> tuple[str, float]:
    """A cost of one thing by name (`A: 44`), or of all, whose name is then empty."""
    name, _, amount = text.rpartition(":")
    try:
        value = float(amount)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise UsageError(f"{option} {text}: money per hour is wanted, for all as 38 or for one as NAME: 38")
    if names is not None and name.strip() not in names:
        raise UsageError(
            f"{option} {text}: no cell file is called {name.strip()}; there is {', '.join(names)}"
        )
    return name.strip(), value


def _wages(texts: Sequence[str]) -> tuple[float, dict[str, float]]:
    """The wage of all posts and those of single ones."""
    found = dict(_cost(text, "--wage", None) for text in texts)
    return found.pop("", 0.0), found


def _candidates(
    cells: Sequence[Path], choices: Sequence[Choice], wage: float, wages: dict[str, float]
) -> Iterator[Candidate]:
    """All combinations; all mistakes of all of them at once.

    Raises:
        UsageError: there are too many, or a wage is for nobody.
        DescriptionError: a combination is no cell.
    """
    from cellsim.describe.resolve import load
    from cellsim.study.crew import Candidate, wages_per_hour

    count = math.prod(len(choice.options) for choice in choices)
    if count > MOST:
        raise UsageError(f"{count} combinations are too many; up to {MOST} are tried")
    files = {path.stem: path for path in cells}
    mistakes: dict[Mistake, None] = {}
    posts: set[str] = set()
    found = []
    for options in itertools.product(*(choice.options for choice in choices)):
        try:
            cell = load(files[options[0].name], [change for o in options for change in o.changes])
        except DescriptionError as error:
            mistakes |= dict.fromkeys(error.mistakes)
            continue
        posts |= {post.name for post in cell.posts}
        cost = wages_per_hour(cell, wage, wages) + sum(option.costs for option in options)
        found.append(Candidate(_chosen(choices, options), cell, cost))
    if mistakes:
        raise DescriptionError(mistakes)
    for name in wages:
        if name not in posts:
            raise UsageError(
                f"--wage: nobody is called {name}; there is {', '.join(sorted(posts)) or 'nobody'}"
            )
    return iter(found)


def _chosen(choices: Sequence[Choice], options: Sequence[Option]) -> tuple[tuple[str, str], ...]:
    """What was chosen, where there was a choice."""
    return tuple((c.name, o.name) for c, o in zip(choices, options, strict=True) if len(c.options) > 1)
