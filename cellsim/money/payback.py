"""Does a proposal pay: two cells run with the same luck, and the money of a case."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from cellsim.describe.cell import Cell
from cellsim.describe.investment import Investment, check_names, load_investment
from cellsim.describe.resolve import resolved_sha256
from cellsim.describe.spec_investment import Stated
from cellsim.engine.clocks import AUTO
from cellsim.errors import UsageError
from cellsim.money.case import DRAWS, case_answer, stated_rows
from cellsim.money.measured import Facts, facts_of, people_per_shift, shifts_of
from cellsim.money.unknown_inputs import variance_by_inputs
from cellsim.money.year import hours_of
from cellsim.study.compare import Alternative, Compared, run_pairs
from cellsim.study.means import means
from cellsim.study.not_knowing import Split
from cellsim.study.provenance import versions
from cellsim.study.replicate import study_of
from cellsim.study.runner import Progress, Runner
from cellsim.study.trust import rounded_up


def payback_study(
    base: Alternative,
    proposal: Alternative,
    case: Investment,
    seed: int,
    replications: int,
    runner: Runner,
    *,
    inputs: int = 0,
    draws: int = DRAWS,
    progress: Progress | None = None,
    file: str = "",
) -> dict[str, Any]:
    """The answer in the keys of `cellsim payback --json`.

    Args:
        inputs: draws of what is not known about the cells themselves, 0 to leave that out.
        draws: draws of the numbers of the case.
        file: the file of the case, for messages.

    Raises:
        DescriptionError: the case names a post or station that neither cell has.
        UsageError: the hours of a shift are not known, or only one cell has shifts.
        ValueError: there are fewer than two replications.
        AuditFailure: a run broke one of its own laws.
        KeyboardInterrupt: it was stopped before two replications of both were done.
    """
    if replications < 2:
        raise ValueError(f"{replications} replications; paired differences take at least two")
    cells = [base.cell, proposal.cell]
    posts = {post.name for cell in cells for post in cell.posts}
    stations = {station.name for cell in cells for station in cell.stations}
    check_names(case, posts, stations, file or case.name)
    hours_of(case, shifts_of(cells))
    case = with_more_people(case, people_per_shift(proposal.cell) - people_per_shift(base.cell))
    found = run_pairs([base, proposal], seed, replications, runner, progress)
    found.stop_if_broken(seed)
    if len(found.records[0]) < 2:
        raise KeyboardInterrupt
    more = None
    if inputs and not found.interrupted:
        more = variance_by_inputs(base.cell, proposal.cell, seed, inputs, runner, progress)
    facts = facts_of(cells, found.records, more.inputs if more else 0.0)
    answer = case_answer(case, facts, draws=draws, seed=seed)
    answer |= _about(found, case, facts, file)
    answer["cell_inputs"] = None if more is None else _inputs(more, len(found.records[0]))
    answer["cautions"] = cautions(case, facts, answer)
    answer["provenance"] = versions() | {"seed": seed, "clock": runner.clock}
    if found.interrupted:
        answer["interrupted"] = True
    return answer


def payback(
    base: Cell,
    proposal: Cell,
    case: Investment | str | os.PathLike[str],
    *,
    replications: int | None = None,
    seed: int | None = None,
    inputs: int = 0,
    draws: int = DRAWS,
    workers: int | None = 1,
    scheduler: str | None = None,
    clock: str = AUTO,
    kept_in: str | os.PathLike[str] | None = None,
    progress: Progress | None = None,
    announce: Callable[[str], None] | None = None,
) -> dict[str, Any]:
    """Whether a proposal pays, with the chance of it; both cells are run with the same luck.

    Args:
        case: the investment, or the file that describes it.
        replications: of each cell; without it those of the base's study.
        inputs: draws of what is not known about the cells themselves, at least 20; 0 leaves that out.
        draws: draws of the numbers of the case.

    The other arguments are those of `run`.

    Returns:
        The answer in the keys of `cellsim payback --json`: `verdict`, `point`, `drawn`, `tornado`,
        `break_even`, `unit_cost`, `gain`.

    Raises:
        DescriptionError: the file of the case is wrong.
        UsageError, ValueError, AuditFailure, WorkersLost: as for `payback_study` and `run`.
    """
    count, number = study_of(base, replications, seed)
    found = case if isinstance(case, Investment) else load_investment(case)
    file = "" if isinstance(case, Investment) else os.path.basename(case)
    with means(
        clock=clock, workers=workers, scheduler=scheduler, kept_in=kept_in, announce=announce
    ) as runner:
        return payback_study(
            Alternative(base.name, base),
            Alternative(proposal.name, proposal),
            found,
            number,
            count,
            runner,
            inputs=inputs,
            draws=draws,
            progress=progress,
            file=file,
        )


def _inputs(found: Split, replications: int) -> dict[str, Any]:
    """What not knowing the cells does to the gain, with the interval of its share."""
    ends = found.share_interval(replications)
    return {
        "draws": found.draws,
        "runs_each": found.each,
        "variance": found.inputs,
        "share_interval": None if ends is None else list(ends),
    }


def with_more_people(case: Investment, more: float) -> Investment:
    """The case, in which people that the proposal needs more cost their wage, unless it says who is freed.

    People that it needs less are not counted as freed: that is said by somebody, not by a cell file.

    Raises:
        UsageError: there are more, and no wage.
    """
    if case.freed.path or more <= 0:
        return case
    if case.wage is None:
        raise UsageError(
            f"the proposal has {more:g} people more in a shift; say what they cost, with wage in the case"
        )
    why = "the crew of the proposal has so many more people in a shift"
    return replace(
        case,
        freed=Stated(-more, -more, "", f"{-more:g}"),
        assumed=(*case.assumed, ("freed", f"{-more:g}", why)),
    )


def _about(found: Compared, case: Investment, facts: Facts, file: str) -> dict[str, Any]:
    base, proposal = found.alternatives
    return {
        "file": file,
        "base": {"name": base.name, "sha256": resolved_sha256(base.cell)},
        "proposal": {"name": proposal.name, "sha256": resolved_sha256(proposal.cell)},
        "crew": _crew_changes(base.cell, proposal.cell),
        "stated": stated_rows(case),
        "assumed": [{"what": path, "value": value, "why": why} for path, value, why in case.assumed],
        "power_in_one": _power_in_one(base.cell, proposal.cell) if case.energy is not None else [],
        "can_sell": None if case.can_sell is None else case.can_sell.text,
    }


def _crew_changes(base: Cell, proposal: Cell) -> dict[str, int]:
    """People more or fewer in each post of the proposal by the cell files."""
    before, after = ({post.name: post.people for post in cell.posts} for cell in (base, proposal))
    changes = {name: after.get(name, 0) - before.get(name, 0) for name in {**before, **after}}
    return {name: change for name, change in changes.items() if change}


def _power_in_one(base: Cell, proposal: Cell) -> list[str]:
    """Stations and robots of both cells that say what they draw in one of them only."""
    before, after = (
        {station.name: station.power is not None for station in cell.stations}
        | {robot.name: robot.power is not None for robot in cell.robots}
        for cell in (base, proposal)
    )
    return [name for name, told in before.items() if after.get(name, told) != told]


def cautions(case: Investment, facts: Facts, answer: dict[str, Any]) -> list[str]:
    """What these figures do not know, in words."""
    said = [
        "Not investment advice; agree the method with finance. Taxes and depreciation are left to the"
        " accountant.",
    ]
    if case.inflation is None:
        said.append(
            "All money is in today's prices, so the discount rate must be a real one, without inflation; for"
            " a nominal one also give inflation."
        )
    if case.freed.high > 0:
        said.append(
            "Whether and where freed people work is decided by people, with those concerned and the works"
            " council; a fraction of a person is worth money only where other work fills it."
        )
    if weak_ones := [row["what"] for row in answer["stated"] if not row["origin"]]:
        many = f" and {len(weak_ones) - 4} more" if len(weak_ones) > 4 else ""
        said.append(
            f"No origin is given for {', '.join(weak_ones[:4])}{many}: take them as typical, unverified."
        )
    if facts.trusted_from:
        said.append(
            "A few runs unlike the rest weigh heavily in the gain, such as those with a rare long stop: how"
            f" sure it is can be trusted from about {rounded_up(facts.trusted_from)} runs on."
        )
    if case.energy is not None and not facts.energy:
        said.append("Neither cell says what it draws (power), so energy is not counted from the runs.")
    if case.energy is not None and facts.energy:
        said.append("Energy is that of the hours counted; what is drawn outside shifts is not in it.")
    if one_sided := answer["power_in_one"]:
        said.append(
            f"What {', '.join(one_sided)} draws is said in one of the two cells only, so the difference of"
            " energy is wrong."
        )
    sold, gain = answer["gain"]["sold"], answer["gain"]["mean"]
    if case.margin is not None and sold[1] - sold[0] < gain - 1e-9:
        said.append(
            "Output beyond what can be sold is worth nothing here; overtime that it saves belongs under"
            " running, below zero."
        )
    if case.margin is None:
        said.append(
            "More units are worth nothing here: the case says no margin and no number that can be sold."
        )
    if case.lost_output.high > 0 and case.margin is None:
        said.append("Output that is lost while it is put in is not valued, as there is no margin.")
    if not case.lost_output.path:
        said.append("No output is lost while it is put in, as the case says none.")
    if not case.ramp_up:
        said.append("All gain is there from the first day: the case says no ramp_up.")
    said.append("Planning study: it does not show that a cell is safe or lawful.")
    return said
