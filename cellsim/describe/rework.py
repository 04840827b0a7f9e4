"""Rework: what a station rejects, where that goes, and where it comes back."""

from __future__ import annotations

from cellsim.describe.cell import RELEASE, Element, Outlet, Rejects
from cellsim.describe.crew import Crew
from cellsim.describe.fields import Record
from cellsim.describe.flow import MAIN, Flow, store_for
from cellsim.describe.making import natural
from cellsim.describe.quality import extra_element
from cellsim.describe.spec_stations import REJECTS
from cellsim.describe.tree import join
from cellsim.units import quoted

SCRAP, HERE = "scrap", "here"


def to_returns(flow: Flow) -> None:
    """Note for each rework line the outlet that `returns_to` gives its last station."""
    for name in sorted(flow.stations, key=natural):
        rejects = flow.record(name).get("rejects")
        if rejects is None or "returns_to" not in rejects:
            continue
        item = rejects.get("returns_to")
        target = rejects.single("to", SCRAP)
        lines = flow.lines.items()
        line = flow.line_of.get(target, next((n for n, names in lines if names[:1] == [target]), MAIN))
        wrong = flow.making.wrong
        if item.value not in flow.stations:
            flow.making.unknown(item, "station", flow.stations)
        elif target == SCRAP:
            wrong(
                item,
                item.path,
                "rejected units are scrapped here, so none returns",
                'name a station: "to: bench"',
            )
        elif target == HERE:
            wrong(item, item.path, "rejected units are repaired here, so none returns", "take returns_to out")
        elif line == MAIN:
            wrong(
                item,
                item.path,
                f"units sent to {quoted(target)} go on along the route; nothing is left to say",
                "take returns_to out",
            )
        else:
            in_front = flow.making.take(REJECTS, rejects, "enters") == "in front"
            outlet = Outlet(flow.before[item.value], 1.0, in_front)
            last = flow.lines[line][-1]
            if last not in flow.stations:
                wrong(
                    item,
                    item.path,
                    f"the line of {quoted(target)} ends in store {quoted(last)}, not in a station",
                )
            elif "goes_to" in flow.record(last):
                wrong(
                    item, item.path, f"station {quoted(last)} says goes_to itself", "take one of the two out"
                )
            elif flow.returns.setdefault(last, outlet) != outlet:
                wrong(
                    item,
                    item.path,
                    f"{quoted(last)} returns its units to store {quoted(flow.returns[last].store)} already",
                )


def to_rejects(
    crew: Crew, flow: Flow, name: str, work: tuple[Element, ...], inspects: bool
) -> Rejects | None:
    """What a station rejects and what becomes of it; `inspects` if hidden faults decide."""
    making, station = flow.making, flow.record(name)
    if "scrap" in station.places and inspects:
        message = "the inspection decides what is rejected, so scrap cannot say a share"
        making.wrong_key(station, "scrap", message, "take scrap out")
        return None
    if "scrap" in station.places:
        if "rejects" in station.places:
            making.wrong_key(station, "scrap", "scrap is short for rejects; only one of them can be given")
        share = station.single("scrap", 0.0)
        return Rejects(share=share, after_rework=share)
    given: Record | None = station.get("rejects")
    if given is None:
        if not inspects:
            return None
        making.assume(f"stations.{name}.rejects.to", SCRAP, REJECTS.key["to"].why)
        return Rejects()
    path = given.path
    to_item = given.get("to")
    target = making.take(REJECTS, given, "to")
    scrapped, here = target == SCRAP, target == HERE
    store = "" if scrapped or here else store_for(flow, to_item, set()) or ""
    if inspects:
        for key in ("share", "after_rework", "verdicts"):
            if key in given.places:
                making.wrong_key(given, key, f"the inspection decides what is rejected, so {key} cannot")
    verdicts = tuple(item.value == "good" for item in given.get("verdicts") or [])
    share, again = (given.get(key).value if key in given else 0.0 for key in ("share", "after_rework"))
    if not inspects and ("share" in given.places) == ("verdicts" in given.places):
        twice = "share" in given.places
        making.wrong(
            given,
            path,
            "only one of share and verdicts can be given" if twice else "share is missing",
            "" if twice else "write share: 4 %",
        )
    if "after_rework" in given.places and verdicts:
        making.wrong_key(
            given, "after_rework", "verdicts are given in order; after_rework does not go with them"
        )
    if "after_rework" not in given.places and not verdicts and not inspects:
        again = share
        if store or here:
            making.assume(
                join(path, "after_rework"),
                given.get("share").text if "share" in given else "0 %",
                "reworked units are rejected as often as new ones",
            )
    if scrapped:
        for key in ("attempts", "enters", "waits", "then_enters"):
            if key in given.places:
                message = "rejected units are scrapped here, so none comes back"
                making.wrong_key(given, key, message, 'name a station: "to: bench"')
        if "then" in given and given.get("then").value != SCRAP:
            message = "rejected units are scrapped here at once, so nothing follows"
            making.wrong_key(given, "then", message, 'name a station: "to: bench"')
    repair = _repair(crew, given, here, work)
    if scrapped:
        return Rejects(share=share, after_rework=again, verdicts=verdicts)
    attempts = making.take(REJECTS, given, "attempts")
    then, then_in_front = _then(flow, given, attempts)
    if attempts == 1 and not then:
        message = "with attempts: 1 no unit is ever reworked, since the first rejection is the last attempt"
        making.wrong_key(given, "attempts", message, "write attempts: 2 for one rework, or to: scrap")
    never_good = not any(verdicts) if verdicts else again >= 1
    if never_good and not attempts:
        making.wrong(
            given,
            path,
            "a rejected unit is rejected again every time and never gets out",
            "give attempts: 3, or after_rework: 2 %",
        )
    if here:
        for key in ("enters", "waits"):
            if key in given.places:
                making.wrong_key(given, key, "a rejected unit stays on the station, so it joins no other")
        return Rejects(share, again, verdicts, "", attempts, repair=repair, then=then,
                       then_in_front=then_in_front)  # fmt: skip
    in_front = False
    if "returns_to" not in given.places and (
        "enters" in given.places or store == RELEASE or store in flow.lines[MAIN]
    ):
        in_front = making.take(REJECTS, given, "enters") == "in front"
    holds = False
    if store == RELEASE:
        holds = making.take(REJECTS, given, "waits") == "on the station"
    elif "waits" in given.places:
        message = (
            f"rejected units go into store {quoted(store)} here, and wait there; waits is only for units that"
            " go back to the first station of the route, which has no store before it"
        )
        making.wrong_key(
            given, "waits", message, f"take waits out, and give the store its places: stores: {{{store}: 10}}"
        )
    return Rejects(share, again, verdicts, store, attempts, in_front, holds, None, then, then_in_front)


def _repair(crew: Crew, given: Record, here: bool, work: tuple[Element, ...]) -> Element | None:
    """The element with which a rejected unit is repaired on the station."""
    if here and "repair" not in given.places:
        crew.making.wrong(given, given.path, "the time of the repair is missing", "write repair: 45 s")
    for key in ("repair", "by"):
        if key in given.places and not here:
            message = "this goes only with units that are repaired on the station"
            crew.making.wrong_key(given, key, message, 'write "to: here", or give the bench its own cycle')
    return extra_element(crew, given, "repair", "repair", work) if here else None


def _then(flow: Flow, given: Record, attempts: int) -> tuple[str, bool]:
    """The store that units go to after the last attempt, empty for scrap, and whether they join in front."""
    making = flow.making
    target = making.take(REJECTS, given, "then")
    if target == SCRAP:
        if "then_enters" in given.places:
            making.wrong_key(given, "then_enters", "what follows the last attempt is scrap, which joins none")
        return "", False
    if not attempts:
        message = "attempts have no limit, so nothing ever follows the last one"
        making.wrong_key(given, "then", message, "write attempts: 3")
    in_front = making.take(REJECTS, given, "then_enters") == "in front"
    return store_for(flow, given.get("then"), set()) or "", in_front
