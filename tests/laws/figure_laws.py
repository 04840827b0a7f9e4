"""Laws that the figures of any study keep among themselves, read from the result as it is written.

Each law is given the result and says in words what breaks it; what it needs beside is what was seen of the
runs.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from cellsim.engine.record import Record

Result = dict[str, Any]


@dataclass(frozen=True)
class Seen:
    """What was seen of one replication.

    Its record, and the ages in microseconds of the units inside when counting began and when it ended.
    """

    record: Record
    before: Sequence[int]
    after: Sequence[int]


def near(a: float, b: float) -> bool:
    """Equal but for the rounding of sums."""
    return math.isclose(a, b, rel_tol=1e-9, abs_tol=1e-9)


def shares_add_up(result: Result, seen: Sequence[Seen]) -> Iterator[str]:
    """The shares of each station, post and robot lie in 0..1 and add up to 1; so do those of the losses."""
    groups = {
        f"{kind} {name}": [entry["mean"] for entry in row["shares"].values()]
        for kind in ("stations", "people", "robots")
        for name, row in result[kind].items()
    }
    if result["losses"]["causes"]:
        groups["losses"] = [row["share"] for row in result["losses"]["causes"]]
    for name, shares in groups.items():
        if not near(sum(shares), 1) or not all(-1e-12 <= share <= 1 + 1e-12 for share in shares):
            yield f"the shares of {name} add up to {sum(shares)}"
    for row in result["losses"]["causes"]:
        if "ideal_share" in row and not near(row["ideal_share"] + row["excess_share"], row["share"]):
            yield f"the work of {row['who']} is not its plan and the rest"


AWAY = ("off", "break", "handing over", "absent")
BUSY = ("working", "travelling", "repairing", "held", "helping out", "bringing")


def loads_are_those_of_the_shares(result: Result, seen: Sequence[Seen]) -> Iterator[str]:
    """The load of people and robots is their busy share of their share on duty, in a single replication."""
    if len(seen) > 1:
        return  # the load is then a ratio of sums with its bias taken off
    for kind in ("people", "robots"):
        for name, row in result[kind].items():
            shares = {state: entry["mean"] for state, entry in row["shares"].items()}
            duty = 1 - sum(shares.get(state, 0) for state in AWAY)
            busy = sum(shares.get(state, 0) for state in BUSY)
            load = row["load"]["mean"]
            if (load is None) != near(duty, 0) or (load is not None and not near(load * duty, busy)):
                yield f"{name} is loaded {load}, and busy for {busy} of {duty}"


def units_are_conserved(result: Result, seen: Sequence[Seen]) -> Iterator[str]:
    """Units inside before and those that came are good, elsewhere, scrapped, built in, or still inside."""
    came = sum(len(one.before) + one.record.cell["created"] for one in seen) / len(seen)
    out = sum(entry["mean"] for entry in result["outlets"].values()) + result["quality"]["scrapped"]["mean"]
    built_in = sum(one.record.cell["consumed"] for one in seen) / len(seen)
    inside = result["wip"]["inside_at_end"]["mean"]
    if not near(came, out + built_in + inside):
        yield f"{came} units came or were there; {out} left, {built_in} were built in, {inside} are inside"


def work_in_progress_is_rate_times_lead_time(result: Result, seen: Sequence[Seen]) -> Iterator[str]:
    """Little's law over the counted time, its edges taken off exactly.

    Units inside x time = times in the cell of all units that left - ages of those inside before + ages of
    those inside at the end.  Lead times are known of the good units only, so it is an equation where all
    units that leave are good, and else what the good ones say is too little (Little 1961, A proof for the
    queuing formula L = lambda W, Operations Research 9, 383-387).
    """
    clock = result["study"]["horizon_s"] - result["study"]["counted_from_s"]
    inside = result["wip"]["mean"] * clock * len(seen)
    stays = sum(sum(one.record.lead_times) for one in seen) / 1e6
    if len(seen) == 1 and seen[0].record.lead_times:
        stays = result["lead_time"]["mean_s"] * result["outlets"]["finished"]["mean"]
    ages = sum(sum(one.after) - sum(one.before) for one in seen) / 1e6
    others = sum(one.record.cell[key] for one in seen for key in ("scrapped", "consumed", "left_elsewhere"))
    if inside < stays + ages - 1e-6 or (not others and not math.isclose(inside, stays + ages, abs_tol=1e-4)):
        yield f"{inside} unit s inside, {stays} unit s of those that left, {ages} unit s more of those inside"


def output_is_told_alike(result: Result, seen: Sequence[Seen]) -> Iterator[str]:
    """Output by the hour, by the shift and at the outlet are the same units; so are those scrapped."""
    good = result["outlets"]["finished"]["mean"]
    hours, shifts = result["study"]["working_h"], result["study"]["shifts"]
    counted = result["output_per_hour"]["mean"] * hours
    if not near(counted, sum(sum(one.record.hourly) for one in seen) / len(seen)) or counted > good + 1e-6:
        yield f"{counted} units are counted in hours, {good} left"
    per_shift = result["output_per_hour"]["per_shift"]["mean"]
    if not near(per_shift * shifts, counted):
        yield f"{per_shift} units a shift are not {counted} in {shifts}"
    scrapped = result["quality"]["scrapped"]["mean"]
    at_stations = sum(entry["mean"] for entry in result["quality"]["scrapped_at"].values())
    listed = sum(row["scrapped"]["mean"] for row in result["stations"].values())
    if at_stations > scrapped + 1e-9 or not near(at_stations, listed):
        yield f"{scrapped} units were scrapped, {at_stations} and {listed} at stations"


def levels_fit_each_other(result: Result, seen: Sequence[Seen]) -> Iterator[str]:
    """No mean is above its highest value or its capacity; units in stores are inside the cell."""
    rows = [*result["stores"].items(), ("wip", {"p95": None, "capacity": None, **result["wip"]})]
    for name, row in rows:
        capacity = math.inf if row["capacity"] is None else row["capacity"]
        if row["mean"] > row["max"] + 1e-9 or (row["p95"] or 0) > row["max"] or row["max"] > capacity:
            yield f"{name}: mean {row['mean']}, 95 % below {row['p95']}, at most {row['max']} of {capacity}"
    stored = sum(row["mean"] for row in result["stores"].values())
    if stored > result["wip"]["mean"] + 1e-9:
        yield f"{stored} units are in stores, {result['wip']['mean']} inside"
    for name, row in result["carriers"].items():
        free = row["count"] - row["in_use"]["mean"] - row["coming_back"]["mean"]
        most = row["count"] * (1 - row["none_free"]["mean"])
        if not -1e-9 <= free <= most + 1e-9:
            yield f"{name}: {free} free in the mean, none free for {row['none_free']['mean']}"
    shares = {
        **{name: row["somebody_inside"]["mean"] for name, row in result["zones"].items()},
        **{name: row["in_use"]["mean"] for name, row in result["shared"].items()},
        **{name: row["short_share"]["mean"] for name, row in result["parts"].items()},
    }
    yield from (f"{name} has a share of {share}" for name, share in shares.items() if not 0 <= share <= 1)


def percentiles_rise(result: Result, seen: Sequence[Seen]) -> Iterator[str]:
    """Percentiles are in order, wherever there are several."""
    output = result["output_per_hour"]
    rows = [output, output["per_shift"], *output["by_clock_hour"], result["lead_time"]]
    for row in rows:
        found = [
            row[key] for key in ("p05", "p50", "p95", "p50_s", "p90_s", "p95_s") if row.get(key) is not None
        ]
        if found != sorted(found):
            yield f"percentiles fall: {found}"


def energy_adds_up(result: Result, seen: Sequence[Seen]) -> Iterator[str]:
    """The energy of all is that of each, and that of each is what its states have drawn."""
    energy = result["energy"]
    if energy is None:
        return
    members = [*energy["stations"].values(), *energy["robots"].values()]
    if not near(sum(row["kwh"]["mean"] for row in members), energy["kwh"]["mean"]):
        yield "the energy of all is not that of each"
    if not all(near(sum(row["kwh_by_state"].values()), row["kwh"]["mean"]) for row in members):
        yield "the energy of one is not that of its states"


def entries(value: Any, where: tuple[Any, ...] = ()) -> Iterator[tuple[tuple[Any, ...], dict[str, Any]]]:
    """Every estimate in a result, with where it stands."""
    if isinstance(value, dict):
        if "mean" in value and "interval" in value:
            yield where, value
        for key, one in value.items():
            yield from entries(one, (*where, key))
    elif isinstance(value, list):
        for k, one in enumerate(value):
            yield from entries(one, (*where, k))


SHARES = ("share of", "rejects per test", "good at the first test", "good units per unit that left")


def intervals_hold_their_estimates(result: Result, seen: Sequence[Seen]) -> Iterator[str]:
    """Every interval has its ends in order and holds its estimate, and each estimate states its unit."""
    for where, entry in entries(result):
        low, high = entry["interval"]
        if low is not None and high is not None and not low - 1e-9 <= entry["mean"] <= high + 1e-9:
            yield f"{where}: {entry['mean']} lies outside {low} to {high}"
        if not entry.get("unit"):
            yield f"{where} has no unit"
        ends = [end for end in (low, entry["mean"], high) if end is not None]
        if ends and min(ends) < 0:
            yield f"{where}: {ends} holds what is below 0"
        if ends and entry.get("unit", "").startswith(SHARES) and max(ends[:-1] or ends) > 1 + 1e-9:
            yield f"{where}: the share {entry['mean']} is above 1"


LAWS: tuple[Callable[[Result, Sequence[Seen]], Iterator[str]], ...] = (
    shares_add_up,
    loads_are_those_of_the_shares,
    units_are_conserved,
    work_in_progress_is_rate_times_lead_time,
    output_is_told_alike,
    levels_fit_each_other,
    percentiles_rise,
    energy_adds_up,
    intervals_hold_their_estimates,
)


def broken(result: Result, seen: Sequence[Seen]) -> list[str]:
    """What the figures of a study break of these laws, in words; empty when all hold."""
    return [f"{law.__name__}: {finding}" for law in LAWS for finding in law(result, seen)]
