"""The command buffers."""

from __future__ import annotations

import sys
from bisect import bisect_left
from contextlib import AbstractContextManager, nullcontext
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cellsim.commands.common import (
    CELL,
    CLOCK,
    INTERRUPTED,
    JSON,
    KEPT,
    QUIET,
    SEED,
    WORKERS,
    announce,
    open_kept,
    rate_of,
    study_of,
    write_answer,
)
from cellsim.errors import DescriptionError, UsageError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from cellsim.describe.cell import Cell
    from cellsim.study.buffers import CellLab
    from cellsim.study.places import Bounds

USUAL = 3000  # replications that a search usually takes
MATTERS = 0.003  # of output: a difference below it matters to nobody


@click.command()
@CELL
@click.option(
    "--target", metavar="RATE", help="Fewest places that make this rate: '115 per h'.  [default: the file's]"
)
@click.option("--total", type=click.IntRange(1), help="Best use of so many places.")
@click.option(
    "--earns",
    type=click.FloatRange(0, min_open=True),
    help="Best profit, where a good unit earns so much; needs --place-costs.",
)
@click.option(
    "--place-costs",
    multiple=True,
    metavar="COST",
    help="What a place costs per working hour, for all stores ('0.5') or one ('tray: 0.8'); repeat.",
)
@click.option(
    "--least", multiple=True, metavar="COUNT", help="Fewest places of all stores ('1') or one ('tray: 2')."
)
@click.option(
    "--most", multiple=True, metavar="COUNT", help="Most places of all stores ('20') or one ('tray: 8')."
)
@click.option("--area", multiple=True, metavar="M2", help="Floor space of a place, m2, of all stores or one.")
@click.option("--room", type=click.FloatRange(0, min_open=True), help="Floor space that there is in all, m2.")
@click.option(
    "--store", "only", multiple=True, help="Change only this store; repeat.  [default: all with places]"
)
@click.option(
    "--matters",
    metavar="RATE",
    help="Smallest difference of output that matters: '0.5 per h'.  [default: 0.3 % of the output]",
)
@SEED
@WORKERS
@CLOCK
@KEPT
@JSON
@QUIET
def buffers(
    cell: Path,
    target: str | None,
    total: int | None,
    earns: float | None,
    place_costs: tuple[str, ...],
    least: tuple[str, ...],
    most: tuple[str, ...],
    area: tuple[str, ...],
    room: float | None,
    only: tuple[str, ...],
    matters: str | None,
    seed: int | None,
    workers: int | None,
    clock: str,
    kept_in: Path | None,
    json_file: Path | None,
    quiet: bool,
) -> None:
    """Size the stores: fewest places for a rate, best use of a number of places, or best profit.

    \b
    Examples:
      cellsim buffers scenarios/spinning_top.yaml --target "115 per h"
      cellsim buffers scenarios/spinning_top.yaml --earns 0.40 --place-costs 4
    """
    from cellsim.describe.resolve import load
    from cellsim.study.buffers import CellLab, Profit, for_profit, for_target, for_total
    from cellsim.study.places import Bounds, Look
    from cellsim.study.provenance import versions
    from cellsim.study.runner import Runner
    from cellsim.study.sizing import answer

    described = load(cell)
    stores = _stores(described, only)
    goals = [target is not None, total is not None, earns is not None]
    if sum(goals) > 1:
        raise UsageError("give one of --target, --total and --earns")
    wanted = rate_of(target, "--target") if target is not None else described.target_per_hour
    if not any(goals) and wanted is None:
        raise UsageError("the file has no target; give one of --target, --total and --earns")
    if (earns is not None) != bool(place_costs):
        raise UsageError("--earns and --place-costs belong together")
    if (room is not None) != bool(area):
        raise UsageError("--area and --room belong together")
    start = tuple(next(s.places or 0 for s in described.stores if s.name == name) for name in stores)
    limits = Bounds(
        least=_least(cell, stores, start, _by_store(least, stores, int, "--least")),
        most=tuple(None if n is None else int(n) for n in _by_store(most, stores, int, "--most")),
        area=tuple(a or 0.0 for a in _by_store(area, stores, float, "--area")),
        most_area=room,
    )
    _, number = study_of(described, None, seed)
    silent = quiet or str(json_file) == "-"
    with Runner(
        clock=clock, workers=workers, kept=open_kept(kept_in), announce=None if silent else announce
    ) as runner:
        lab = CellLab(described, stores, number, runner)
        runner.settle_means(described, USUAL)
        with _heard(lab, silent):
            lab.run([start], 10)
            rate = sum(lab.rates(start, 10)) / 10
            difference = rate_of(matters, "--matters") if matters else MATTERS * (wanted or rate)
            try:
                if earns is not None:
                    costs = tuple(c or 0.0 for c in _by_store(place_costs, stores, float, "--place-costs"))
                    profit = Profit(earns, costs)
                    found = for_profit(lab, limits.least, limits, profit, Look(earns * difference))
                    said = answer(lab, found, limits, start, profit=profit, difference=difference)
                elif total is not None:
                    found = for_total(lab, _spread(total, limits), limits, Look(difference))
                    said = answer(lab, found, limits, start, difference=difference)
                else:
                    assert wanted is not None
                    found = for_target(lab, limits.least, limits, wanted, Look(difference))
                    said = answer(lab, found, limits, start, target=wanted, difference=difference)
            except KeyboardInterrupt:
                click.echo(f"Stopped after {lab.replications} runs; nothing was written.", err=True)
                sys.exit(INTERRUPTED)
    said["provenance"] = versions() | {"seed": number, "clock": runner.clock}
    write_answer(said, json_file)
    if not silent:
        from rich.console import Console

        from cellsim.show.sized import print_sized

        print_sized(said, Console())


def _heard(lab: CellLab, silent: bool) -> AbstractContextManager[object]:
    """A line that says how far the search is, where somebody looks."""
    if silent or not sys.stderr.isatty():
        return nullcontext()
    from rich.console import Console

    status = Console(stderr=True).status("searching ...")
    lab.heard = lambda allocations, runs: status.update(f"{allocations} allocations tried in {runs} runs")
    return status


def _stores(described: Cell, only: tuple[str, ...]) -> list[str]:
    """The stores that are sized: those with a number of places, or those that are named.

    Raises:
        UsageError: there is none, or one that is named has no number of places.
    """
    there = [store.name for store in described.stores if store.places is not None]
    for name in only:
        if name not in there:
            raise UsageError(
                f"--store: no store with places is called {name}; there is {', '.join(there) or 'none'}"
            )
    if not there:
        raise UsageError("no store of this cell has a number of places")
    return [name for name in there if name in only or not only]


def _by_store(
    texts: tuple[str, ...], stores: Sequence[str], kind: type, option: str
) -> list[int | float | None]:
    """Values given for all stores or for one, by store; None where none is given."""
    values: list[int | float | None] = [None] * len(stores)
    for text in texts:
        name, colon, amount = text.rpartition(":")
        try:
            value = kind(amount.strip())
            if value < 0:
                raise ValueError
        except ValueError:
            what = "whole number" if kind is int else "number"
            raise UsageError(
                f"{option}: {text}: a {what}, 0 or more, is wanted, for all stores or as STORE: NUMBER"
            ) from None
        if colon and name.strip() not in stores:
            raise UsageError(f"{option}: no store is called {name.strip()}; there is {', '.join(stores)}")
        for k, store in enumerate(stores):
            if not colon or store == name.strip():
                values[k] = value
    return values


def _least(
    cell: Path, stores: Sequence[str], start: Sequence[int], given: Sequence[int | float | None]
) -> tuple[int, ...]:
    """The fewest places of each store: what is given, else the fewest that the description allows.

    A store from which a batch is taken needs as many places as that, for example.
    """
    from cellsim.describe.changes import Change
    from cellsim.describe.resolve import load
    from cellsim.describe.tree import Text

    def allowed(name: str, count: int) -> bool:
        try:
            load(cell, [Change(f"stores.{name}.places", Text(str(count), 0, 0))])
        except DescriptionError:
            return False
        return True

    found = []
    for name, now, asked in zip(stores, start, given, strict=True):
        first = int(asked or 0)
        fewest = bisect_left(range(now), 1, lo=min(first, now), key=partial(allowed, name))
        found.append(max(first, fewest))
    return tuple(found)


def _spread(total: int, limits: Bounds) -> tuple[int, ...]:
    """So many places, as even as the bounds allow, spare ones towards the middle.

    Raises:
        UsageError: the bounds do not allow so many or so few.
    """
    from cellsim.study.places import more

    places = limits.least
    middle = (len(places) - 1) / 2
    while sum(places) < total:
        above = more(places, limits)
        if not above:
            raise UsageError(f"--total {total}: the stores may have at most {sum(places)} places")
        places = min(
            above,
            key=lambda each: next((n, abs(k - middle)) for k, n in enumerate(each) if n > places[k]),
        )
    if sum(places) > total:
        raise UsageError(f"--total {total}: the stores need at least {sum(places)} places")
    return places
