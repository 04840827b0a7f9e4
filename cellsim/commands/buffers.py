"""The command buffers."""

from __future__ import annotations

from pathlib import Path

import click

from cellsim.commands.common import (
    CELL,
    JSON,
    QUIET,
    SEED,
    Means,
    Whole,
    next_step,
    progress_bar,
    stopped_in_words,
    study_of,
    with_means,
    write_answer,
)


@click.command(short_help="how many places the stores need")
@CELL
@click.option(
    "--target", metavar="RATE", help="Fewest places that make this rate: '115 per h'.  [default: the file's]"
)
@click.option("--total", metavar="COUNT", type=Whole(1), help="Best use of so many places.")
@click.option(
    "--earns",
    metavar="MONEY",
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
@click.option(
    "--room",
    metavar="M2",
    type=click.FloatRange(0, min_open=True),
    help="Floor space that there is in all, m2.",
)
@click.option(
    "--store",
    "only",
    multiple=True,
    metavar="STORE",
    help="Change only this store; repeat.  [default: all with places]",
)
@click.option(
    "--matters",
    metavar="RATE",
    help="Smallest difference of output that matters: '0.5 per h'.  [default: 0.3 % of the output]",
)
@SEED
@with_means
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
    means: Means,
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
    from cellsim.study.provenance import versions
    from cellsim.study.size_buffers import size_buffers

    described = load(cell)
    _, number = study_of(described, None, seed)
    silent = quiet or str(json_file) == "-"
    so_far = [0, 0]  # allocations, runs

    def heard(allocations: int, replications: int) -> None:
        so_far[:] = allocations, replications

    with (
        stopped_in_words(lambda: f"Stopped after {so_far[1]} runs"),
        means.open(silent) as runner,
        progress_bar(
            10, silent, lambda: "{} ways to place tried, {} runs".format(*so_far), "step"
        ) as progress,
    ):
        said = size_buffers(
            described,
            runner,
            number,
            target=target,
            total=total,
            earns=earns,
            place_costs=_by_store(place_costs, "--place-costs"),
            least=_by_store(least, "--least", whole=True),
            most=_by_store(most, "--most", whole=True),
            area=_by_store(area, "--area"),
            room=room,
            stores=only,
            matters=matters,
            heard=heard,
            progress=progress,
        )
    said["provenance"] = versions() | {"seed": number, "clock": runner.clock}
    write_answer(said, json_file)
    if not silent:
        from rich.console import Console

        from cellsim.show.sized import print_sized

        print_sized(said, Console())
        if said["places"] != said["now"]["places"]:
            next_step("compare", cell, "--change", _as_change(said["places"]))


def _as_change(places: dict[str, int]) -> str:
    """The places that were found as a change of the cell file."""
    rows = [f"stores.{store}.places: {count}" for store, count in places.items()]
    return rows[0] if len(rows) == 1 else "{" + ", ".join(rows) + "}"


def _by_store(texts: tuple[str, ...], option: str, *, whole: bool = False) -> dict[str, float]:
    """Values given for all stores ('0.5') or for one ('tray: 0.8')."""
    from cellsim.study.size_buffers import ALL, not_a_number

    values: dict[str, float] = {}
    for text in texts:
        name, colon, amount = text.rpartition(":")
        try:
            value = int(amount) if whole else float(amount)
        except ValueError:
            raise not_a_number(option, text, whole) from None
        store = name.strip() if colon else ALL
        values.pop(store, None)  # what is said last counts
        values[store] = value
    return values
