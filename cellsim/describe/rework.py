"""Rework: what a station rejects, where that goes, and where it comes back."""

from __future__ import annotations

from cellsim.describe.cell import RELEASE, Outlet, Rejects
from cellsim.describe.fields import Record
from cellsim.describe.flow import MAIN, Flow, store_for
from cellsim.describe.making import natural
from cellsim.describe.spec import REJECTS
from cellsim.describe.tree import join
from cellsim.units import quoted

SCRAP = "scrap"


def to_returns(flow: Flow) -> None:
    """Note for each rework line the outlet that `returns_to` gives its last station."""
    for name in sorted(flow.stations, key=natural):
        rejects = flow.record(name).get("rejects")
        if rejects is None or "returns_to" not in rejects:
            continue
        item = rejects.get("returns_to")
        target = rejects.get("to").value if "to" in rejects else SCRAP
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


def to_rejects(flow: Flow, name: str) -> Rejects | None:
    """What a station rejects and what becomes of it."""
    making, station = flow.making, flow.record(name)
    if "scrap" in station.places:
        if "rejects" in station.places:
            making.wrong_key(station, "scrap", "scrap is short for rejects; only one of them can be given")
        share = station.get("scrap").value if "scrap" in station else 0.0
        return Rejects(share=share, after_rework=share)
    given: Record | None = station.get("rejects")
    if given is None:
        return None
    path = given.path
    to_item = given.get("to")
    scrapped = making.take(REJECTS, given, "to") == SCRAP
    store = "" if scrapped else store_for(flow, to_item, set()) or ""
    verdicts = tuple(item.value == "good" for item in given.get("verdicts") or [])
    share, again = (given.get(key).value if key in given else 0.0 for key in ("share", "after_rework"))
    if ("share" in given.places) == ("verdicts" in given.places):
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
    if "after_rework" not in given.places and not verdicts:
        again = share
        if store:
            making.assume(
                join(path, "after_rework"),
                given.get("share").text if "share" in given else "0 %",
                "reworked units are rejected as often as new ones",
            )
    if scrapped:
        for key in ("attempts", "enters", "waits"):
            if key in given.places:
                message = "rejected units are scrapped here, so none comes back"
                making.wrong_key(given, key, message, 'name a station: "to: bench"')
        return Rejects(share=share, after_rework=again, verdicts=verdicts)
    attempts = making.take(REJECTS, given, "attempts")
    never_good = not any(verdicts) if verdicts else again >= 1
    if never_good and not attempts:
        making.wrong(
            given,
            path,
            "a rejected unit is rejected again every time and never gets out",
            "give attempts: 3, or after_rework: 2 %",
        )
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
            "only units that go straight back to the first station of the route can be told where to wait"
        )
        making.wrong_key(given, "waits", message, "give the store that they go to its places instead")
    return Rejects(share, again, verdicts, store, attempts, in_front, holds)
