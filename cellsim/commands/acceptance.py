"""The command acceptance."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import click

from cellsim.commands.common import JSON, QUIET, write_answer
from cellsim.errors import UsageError


@click.command(short_help="what the acceptance run of a bought machine can prove")
@click.option("--runs", metavar="TIME", help="Promised mean running time between stops: '87 min'.")
@click.option("--stands", metavar="TIME", help="Promised mean length of a stop: '12 min'.")
@click.option(
    "--length", default="8 h", show_default=True, metavar="TIME", help="Length of the acceptance run."
)
@click.option("--limit", metavar="SHARE", help="Availability that the run must show.")
@click.option("--within", default="2 %", show_default=True, help="How well availability is to be measured.")
@click.option("--bad", nargs=2, metavar="RUNS STANDS", help="A machine that should not pass: 48 min 12 min.")
@click.option("--stops", type=click.IntRange(0), help="Stops that a run has shown, with --down.")
@click.option("--down", metavar="TIME", help="Time that it stood in all.")
@JSON
@QUIET
def acceptance(
    runs: str | None,
    stands: str | None,
    length: str,
    limit: str | None,
    within: str,
    bad: tuple[str, str] | None,
    stops: int | None,
    down: str | None,
    json_file: Path | None,
    quiet: bool,
) -> None:
    """Say how long the acceptance run of a bought machine must be, and what a run proves.

    \b
    Examples:
      cellsim acceptance --runs "87 min" --stands "12 min" --limit "85 %"
      cellsim acceptance --length "8 h" --stops 5 --down "60 min"
    """
    from cellsim.show.accepted import print_acceptance
    from cellsim.study.provenance import versions

    if (runs is None) != (stands is None) or (stops is None) != (down is None):
        raise UsageError("--runs and --stands belong together, and so do --stops and --down")
    if runs is None and stops is None:
        raise UsageError(
            "give the promise with --runs and --stands, or what a run has shown with --stops and --down"
        )
    minutes = _minutes(length, "--length")
    answer: dict[str, Any] = {"length_min": minutes, "promise": None, "seen": None}
    if runs is not None and stands is not None:
        answer["promise"] = _promise(runs, stands, minutes, limit, within, bad)
    if stops is not None and down is not None:
        answer["seen"] = _seen(minutes, stops, _minutes(down, "--down"))
    answer["provenance"] = versions()
    write_answer(answer, json_file)
    if not quiet and str(json_file) != "-":
        from rich.console import Console

        print_acceptance(answer, Console())


def _promise(
    runs: str, stands: str, minutes: float, limit: str | None, within: str, bad: tuple[str, str] | None
) -> dict[str, Any]:
    from cellsim.evidence.acceptance import Promise

    good = Promise(_minutes(runs, "--runs"), _minutes(stands, "--stands"))
    share = _share(within, "--within")
    found: dict[str, Any] = {
        "runs_min": good.run,
        "stands_min": good.repair,
        "availability": good.availability,
        "half_width": good.half_width(minutes),
        "within": share,
        "length_for_within_min": good.length_for(share),
        "limit": None,
    }
    if limit is not None:
        found["limit"] = _share(limit, "--limit")
        found["passes"] = good.chance_to_pass(found["limit"], minutes)
        if bad:
            worse = Promise(_minutes(bad[0], "--bad"), _minutes(bad[1], "--bad"))
            found["bad_availability"] = worse.availability
            found["bad_passes"] = worse.chance_to_pass(found["limit"], minutes)
    elif bad:
        raise UsageError("--bad asks who passes; give the limit with --limit")
    return found


def _seen(minutes: float, stops: int, down: float) -> dict[str, Any]:
    from cellsim.evidence.acceptance import seen_in_run

    try:
        found = seen_in_run(minutes, stops, down)
    except ValueError as error:
        raise UsageError(f"--stops and --down: {error}") from None

    def finite(value: float) -> float | None:
        return value if math.isfinite(value) else None

    return {
        "stops": stops,
        "between_min": finite(found.between.mean),
        "between_interval_min": [found.between.low, finite(found.between.high)],
        "repair_min": found.repair,
        "availability": found.availability.mean,
        "availability_interval": [found.availability.low, found.availability.high],
    }


def _minutes(text: str, option: str) -> float:
    from cellsim.units import UnitError, parse_time

    try:
        microseconds = parse_time(text)
    except UnitError as error:
        raise UsageError(f"{option}: {error}") from None
    if microseconds <= 0 and option != "--down":
        raise UsageError(f"{option} {text}: a time above 0 is wanted")
    return microseconds / 60_000_000


def _share(text: str, option: str) -> float:
    from cellsim.units import UnitError, parse_share

    try:
        share = parse_share(text)
    except UnitError as error:
        raise UsageError(f"{option}: {error}") from None
    if not 0 < share < 1:
        raise UsageError(f"{option} {text}: a share between 0 and 100 % is wanted")
    return share
