"""The paper work before any run in sentences: takt, the busiest, balance, tending, what to look at."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from cellsim.show import Result, count_of, duration, number, percent, plain
from cellsim.show.paper import estimate_on_paper, limit_on_paper

RATES = {
    "given": "as asked",
    "target": "the target",
    "limit": "the most that paper allows; there is no target",
}


def rate_words(answer: Result) -> str:
    """The rate at which the loads hold, and where it comes from."""
    losses = "" if answer["with_losses"] else ", every unit counted as good"
    rate = number(answer["rate_per_hour"])
    return f"{rate} good units per working hour ({RATES[answer['rate_from']]}){losses}"


def headline(answer: Result) -> str:
    """Whether the rate can be made on paper, who is busiest, and the limit."""
    busiest, found = answer["busiest"], answer["paper"]["limit"]
    if busiest is None or found is None:
        return "Nothing settles how many units pass the stations, so that there are no loads."
    who, are = ", ".join(map(plain, busiest["names"])), "is" if len(busiest["names"]) == 1 else "are"
    loaded = f"{who} {are} the busiest, {percent(busiest['load'], 1)} loaded"
    if busiest["load_with_stops"] > busiest["load"]:
        loaded += f" and {percent(busiest['load_with_stops'], 1)} with stops"
    if answer["rate_from"] == "limit":
        return f"{loaded}."
    if found["value"] < answer["rate_per_hour"]:
        return f"The rate cannot be made: {loaded}. On paper {limit_on_paper(answer['paper'])}."
    if any(row["kind"] == "over" for row in answer["warnings"]):
        return f"The rate is hardly made: {loaded}, more than there is time for in working hours."
    return f"The rate can be made on paper: {loaded}. Waiting comes on top; only runs show what it costs."


def limit_words(answer: Result) -> str:
    """The bound of the output with what sets it, and the estimate."""
    paper = answer["paper"]
    return f"On paper {limit_on_paper(paper)}; {estimate_on_paper(paper)}."


def takt_words(answer: Result) -> Iterator[str]:
    """Net available time by demand, in sentences."""
    takt = answer["takt"]
    for names, shift in _alike(takt["shifts"]):
        breaks = [number(length) for length in shift["breaks_min"]]
        off = [
            f"{'breaks of' if len(breaks) > 1 else 'a break of'} {' and '.join(breaks)}" if breaks else "",
            f"start up {number(shift['start_up_min'])}" if shift["start_up_min"] else "",
            f"clean up {number(shift['clean_up_min'])}" if shift["clean_up_min"] else "",
        ]
        less = ", ".join(text for text in off if text)
        text = f"{'Shifts' if len(names) > 1 else 'Shift'} {', '.join(map(plain, names))}: "
        text += f"{number(shift['length_min'])} min"
        if less:
            text += f" less {less}: {number(shift['net_min'])} min net"
        text += f" for {number(shift['demand'])} good units"
        if shift["hand_over_min"]:
            text += f"; people begin {number(shift['hand_over_min'])} min later, after the hand-over"
        yield f"{text}."
    if not takt["shifts"]:
        yield "There are no shifts: the cell works round the clock, without breaks."
    net = {(shift["net_min"], shift["demand"]) for shift in takt["shifts"]}
    how = ""
    if len(net) == 1:
        ((minutes, units),) = net
        how = f"{number(minutes)} min / {number(units)} = "
    yield f"Takt {how}{number(takt['takt_s'], 2)} s for a good unit."
    if takt["started_per_good"] is not None and takt["started_per_good"] > 1 + 1e-6:
        yield (
            f"Some are lost: {number(takt['started_per_good'], 3)} must be started for each good one,"
            f" {number(takt['started_per_hour'])} an hour,"
            f" one every {number(takt['takt_of_started_s'], 2)} s."
        )
    if takt["planned_cycle_s"] is not None:
        yield (
            f"Planned cycle {number(takt['planned_cycle_s'], 2)} s,"
            f" {percent(takt['planned_efficiency'])} of the takt."
        )


def _alike(shifts: list[dict[str, Any]]) -> list[tuple[list[str], dict[str, Any]]]:
    """Shifts that differ in their name only, together."""
    found: list[tuple[list[str], dict[str, Any]]] = []
    for shift in shifts:
        same = [names for names, other in found if {**other, "name": ""} == {**shift, "name": ""}]
        if same:
            same[0].append(shift["name"])
        else:
            found.append(([shift["name"]], shift))
    return found


def people_words(answer: Result) -> Iterator[str]:
    """Hand work, least number of people, balance."""
    people, takt = answer["people"], answer["takt"]["takt_s"]
    if people is None:
        yield "No people: nobody does a work element." if answer["posts"] else "No people are in this cell."
        return
    work, least = people["hand_work_with_stops_s"], people["least_people_with_stops"]
    yield (
        f"{number(work)} s of hand work for a good unit, stops to clear included, at a takt of"
        f" {number(takt, 2)} s: {number(people['people_of_work_with_stops'], 2)} people of work, so at least"
        f" {count_of(least, 'person', 'people')}, if skills and places allow it (balance"
        f" {percent(people['balance_of_least_with_stops'], 1)})."
    )
    if people["least_people_planned"] is not None and people["least_people_planned"] != least:
        yield f"Within the planned cycle at least {people['least_people_planned']}."
    yield (
        f"{number(people['posted'], 1)} are posted: balance {percent(people['balance_with_stops'], 1)}"
        f" ({percent(people['balance'], 1)} without stops)."
    )
    if people["others"]:
        yield f"Not counted, since they do no work element: {', '.join(map(plain, people['others']))}."


def tending_words(answer: Result, row: Mapping[str, Any]) -> Iterator[str]:
    """How long calls wait at this rate, what a round can make, and what chance takes."""
    who = " and ".join(map(plain, row["who"]))
    waits = [chart["longest_wait_s"] for chart in answer["charts"] if chart["who"] == row["who"]]
    longest = (
        f"a call waits {duration(waits[0])} at most" if waits and waits[0] > 0 else "no call has to wait"
    )
    yield f"{who}: at this rate, with mean times and without stops, {longest}."
    turn = row["in_a_round"]
    if turn is not None:
        sets = "the visits" if turn["visits_s"] > turn["slowest_cycle_s"] * (1 + 1e-9) else "the machines"
        yield (
            f"One round visits each machine once: {duration(turn['visits_s'])} of visits, the slowest machine"
            f" has a cycle of {duration(turn['slowest_cycle_s'])}; {sets} allow"
            f" {number(turn['rate_per_hour'])} an hour."
        )
    else:
        yield f"No figure for a fixed round: {plain(row['why_no_round'])}."
    chance = row["at_random"]
    if chance is not None:
        yield (
            f"If calls came wholly at random, it would be {number(chance['rate_per_hour'])},"
            f" {percent(chance['lost'], 1)} less than with somebody at each machine"
            f" ({number(chance['with_one_each_per_hour'])})."
        )


def repair_words(row: Mapping[str, Any]) -> str:
    """How long stops wait for one another."""
    first = f", on top of a response of {duration(row['response_s'])}" if row["response_s"] else ""
    return (
        f"{plain(row['who'])} clears stops of {row['machines']} machines"
        f" ({', '.join(map(plain, row['stations']))}): {percent(row['busy'], 1)} busy with that; a stop waits"
        f" {duration(row['wait_s'])} on average for another one{first}."
    )


def warning_words(row: Mapping[str, Any]) -> str:
    """One thing to look at."""
    about = row["about"]
    name = plain(about) if isinstance(about, str) else ", ".join(map(plain, about))
    load = percent(row.get("load"), 1)
    needed, there = row.get("needed"), row.get("there")
    kind = row["kind"]
    if kind == "over":
        more = " in these hours; it also works in breaks or at night" if row["more_time"] else ""
        return f"{name}: {load} with stops, more than there is time for{more}."
    if kind == "batch starts early":
        return (
            f"{name}: a batch of {row['size']} takes {duration(row['first_waits_s'])} to gather, but starts"
            f" after {duration(row['longest_wait_s'])} with about {row['starts_with']}; so small, batches"
            f" need {number(row['machines_needed_then'], 2)} machines, and there are {row['machines']}."
        )
    texts = {
        "no reserve": f"{name}: {load} with stops, no reserve; some shifts will fall short.",
        "high pace": f"{name}: {load} loaded, a high pace; have an ergonomist assess repetitive work"
        " (ISO 11228-3).",
        "over plan": f"{name}: {load} with stops, above the planned efficiency.",
        "falls behind": f"{name}: if all calls come in the rhythm of this rate, they are answered later from"
        " round to round; look at it in a run.",
        "stop not covered": f"The mean stop of a neighbour lasts longer than these stores cover: {name}.",
        "undetermined": f"Nothing settles how many units pass: {name}; they have no load.",
        "stay": f"{name}: {number(needed)} places are taken by units that must stay, there are"
        f" {number(there)}.",
    }
    if kind in texts:
        return texts[kind]
    station = plain(row["station"])
    return {
        "window batch before": f"{name}: the first unit of a batch at {station} waits {duration(needed)}, but"
        f" may only {duration(there)}.",
        "window batch behind": f"{name}: the last unit of a batch from {station} is taken after"
        f" {duration(needed)}, but may wait only {duration(there)}.",
        "window full": f"{name}: when it is full a unit waits {duration(needed)}, but may only"
        f" {duration(there)}.",
        "window pause": f"{name}: the longest time without a shift is {duration(needed)}; what lies there is"
        f" late after {duration(there)}.",
    }[kind]
