"""The balance of a work plan as text for the terminal, and the sentences that its picture shares."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from cellsim.show import Result, assumption_words, between, count_of, number, percent, plain
from cellsim.show.screen_page import Page, fixed

if TYPE_CHECKING:
    from rich.console import Console

SAME = 0.002  # of the rate on paper: what is less than that is no loss to speak of


def seconds(value: float) -> str:
    """Seconds as `24.5 s`."""
    return f"{number(value, 2)} s"


def decision(answer: Result) -> str:
    """How many people and what for, in one sentence, with how sure it is."""
    people, cycle = answer["people"], answer["cycle_s"]
    if answer["seeks"] == "fewest people":
        one, sure = people == 1, answer["sure"]["people"]
        text = f"{people_words(people)} {'keeps' if one else 'keep'} {planned_words(answer)}"
        if sure["proved"]:
            return f"{text}; it is proven that fewer cannot."
        return f"{text}; whether {people_words(sure['bound'])} could is not settled."
    text = f"With {people_words(people)} the cycle is {seconds(cycle)}"
    proof = proof_words(answer["sure"]["cycle"])
    if answer["planned_cycle_s"] is None:
        return f"{text}, {proof}."
    fits = cycle <= answer["planned_cycle_s"] + 1e-9
    return f"{text}, {proof}: {'within' if fits else 'longer than'} {planned_words(answer)}."


def planned_words(answer: Result) -> str:
    """The planned cycle and what it comes from."""
    text = f"the planned cycle of {seconds(answer['planned_cycle_s'])}"
    takt, efficiency = answer["takt_of_starts_s"], answer["planned_efficiency"]
    of = "" if efficiency == 1 else f"{percent(efficiency)} of "
    lost = f", of started units since {percent(answer['scrap'], 1)} are lost" if answer["scrap"] else ""
    return text + (f" ({of}the takt of {seconds(takt)}{lost})" if of or lost else ", which is the takt")


def proof_words(sure: Mapping[str, Any]) -> str:
    """How sure it is that a cycle is the shortest."""
    if sure["proved"]:
        return "proven to be the shortest"
    return f"at most {percent(sure['gap'], 1)} from the shortest"


def binding_words(answer: Result) -> str:
    """The stations and machines that take the whole cycle."""
    found = [
        f"station {row['station']} ({plain(row['person'])})"
        if row["person"]
        else f"machine {plain(row['machine'])} at station {row['station']}"
        for row in answer["binds"]
    ]
    return f"{' and '.join(found)}, busy for the whole cycle"


def people_words(count: int) -> str:
    """`1 person`, `4 people`."""
    return count_of(count, "person", "people")


def rate_words(answer: Result) -> str:
    """What the line makes when it runs, against what the longest station promises and what is wanted."""
    paper, target, found = answer["balanced_per_hour"], answer["target_per_hour"], answer["simulated"]
    wanted = "" if target is None else f"; {number(target)} are wanted"
    if found is None:
        longest = seconds(answer["cycle_s"])
        return f"On paper the longest station, {longest}, makes {number(paper)} an hour{wanted}."
    mean = found["as_planned"]["mean"]
    ends = between(found["as_planned"])
    less = 1 - mean / paper
    how = f"{percent(less, 1)} less than" if less > SAME else "as many as"
    return (
        f"As a cell it makes {number(mean)} good units per working hour{f' ({ends})' if ends else ''}, {how}"
        f" the {number(paper)} that the longest station promises{wanted}."
    )


def loss_words(answer: Result) -> Iterator[str]:
    """Why the line makes less than its longest station promises."""
    found, paper = answer["simulated"], answer["balanced_per_hour"]
    if not found["varies"]:
        yield "No element has a spread, so this line never waits for chance; real hands vary: state a spread."
        return
    losses, places = found["losses"], answer["places"]
    sure = {
        name: number(row["mean"])
        for name, row in losses.items()
        if row["interval"][0] is not None and row["interval"][0] > 0 and row["mean"] > SAME * paper
    }
    if "times" in sure:
        yield f"That times vary costs {sure['times']} an hour even with room for all that waits."
    if "places" in sure:
        few = "there is no place" if places == 0 else f"there are only {places} places"
        few = "there is only one place" if places == 1 else few
        yield (
            f"That {few} between two people costs {sure['places']} an hour: whoever is slow just now makes"
            " the next one wait, or the one before."
        )
    if "rest" in sure:
        yield (
            f"{sure['rest']} an hour are lost even where no time varies: at breaks and ends of shifts, and"
            " where a person waits for his own machine."
        )
    if not sure:
        runs = count_of(found["replications"], "run")
        yield f"Times vary, but what that costs is too little to be told from chance by {runs}."


def print_balanced(answer: Result, console: Console) -> None:
    """The decision, who does what, what the figures of a balance are, why it makes less, what was assumed."""
    page = Page(console)
    page.line()
    page.line(f"{plain(answer['plan'])}: {decision(answer)}", style="bold")
    page.line(rate_words(answer))
    page.head("Who does what, in seconds per unit")
    _stations(page, answer["stations"], answer["cycle_s"])
    page.line()
    for text in (*figure_lines(answer), *bound_lines(answer)):
        page.line(text)
    if answer["simulated"] is not None:
        _rates(page, answer)
    for row in answer["assumptions"]:
        if not row["path"].startswith("shifts."):
            page.line(f"Assumed: {assumption_words(row)}.")


def _stations(page: Page, stations: Sequence[Mapping[str, Any]], cycle: float) -> None:
    rows = []
    for row in stations:
        names = ", ".join(
            plain(e["name"]) + (" (runs alone)" if e["runs_alone"] else "") for e in row["elements"]
        )
        rows.append([
            f"{row['station']} {plain(row['person'])}", fixed(row["load_s"]), fixed(row["idle_s"]),
            percent(row["load_s"] / cycle), names,
        ])  # fmt: skip
    page.table(["Station", "by hand", "idle", "busy", "elements"], rows, texts=(0, 4))


def figure_lines(answer: Result) -> Iterator[str]:
    """Efficiency, delay and smoothness of the balance, its longest station, and what binds."""
    at = f"at {seconds(answer['efficiency_cycle_s'])}"
    yield (
        f"All work by hand {seconds(answer['work_content_s'])}; balance efficiency"
        f" {percent(answer['balance_efficiency'], 1)} {at}, balance delay"
        f" {percent(answer['balance_delay'], 1)}; smoothness index {seconds(answer['smoothness_index_s'])}."
    )
    sure = answer["sure"]["cycle"]
    if answer["seeks"] == "fewest people":
        how = f"{proof_words(sure)} for {people_words(answer['people'])}"
        yield f"The longest station takes {seconds(answer['cycle_s'])}, {how}."
    yield f"What binds: {binding_words(answer)}."


def bound_lines(answer: Result) -> Iterator[str]:
    """The least number on paper or the fewest people, what one less would do, and the rules of textbooks."""
    found, people = answer["bounds"], answer["people"]
    if found is not None and answer["seeks"] == "fewest people":
        parts = [f"the work fills {number(found['exact_work_content'], 2)} planned cycles"]
        if found["order"] > found["work_content"]:
            parts.append(f"their order alone takes {count_of(found['order'], 'station')}")
        if found["long_elements"] > found["work_content"]:
            parts.append(f"elements over half a cycle take {count_of(found['long_elements'], 'station')}")
        least = max(found["work_content"], found["order"], found["long_elements"])
        yield f"Least number on paper: {least}, since {' and '.join(parts)}."
    elif answer["fewest_people"] is not None and answer["fewest_people"]["people"] != people:
        fewest = answer["fewest_people"]
        how = "" if fewest["proved"] else " (or fewer)"
        yield f"The fewest for {planned_words(answer)}: {people_words(fewest['people'])}{how}."
    less = answer["one_less"]
    if less is not None and less["cycle_s"] is not None:
        yield (
            f"With {people_words(less['people'])} the cycle would be {seconds(less['cycle_s'])}"
            + ("." if less["proved"] else f", or between that and {seconds(less['bound_s'])}.")
        )
    if answer["rules"] and answer["seeks"] == "fewest people":
        told = [f"{name} {n}" for name, n in answer["rules"].items() if n is not None]
        stuck = "none comes to a balance that keeps all conditions"
        yield f"By the rules of the textbooks: {', '.join(told) or stuck}."


def _rates(page: Page, answer: Result) -> None:
    found = answer["simulated"]
    page.head("Why it makes less than on paper" if _loses(answer) else "What it makes")
    rows = [["the longest station, all the time", fixed(answer["balanced_per_hour"]), ""]]
    names = {
        "constant_times": "times that never vary",
        "unlimited_places": "times that vary, endless places",
        "as_planned": _planned(answer),
    }
    for key, name in names.items():
        if key in found:
            rows.append(
                [name, fixed(found[key]["mean"]), between(found[key], lambda value: number(value, 1))]
            )
    page.table(["", "good units\nper hour", "95 % interval"], rows)
    for text in loss_words(answer):
        page.line(text)
    runs = count_of(found["replications"], "run")
    page.line(f"{runs} each, seed {answer['provenance']['seed']}, the same luck for all.")


def _loses(answer: Result) -> bool:
    return bool(1 - answer["simulated"]["as_planned"]["mean"] / answer["balanced_per_hour"] > SAME)


def _planned(answer: Result) -> str:
    places = answer["places"]
    room = "endless places" if places is None else count_of(places, "place") if places else "no place"
    return f"as planned: {room} between people"
