"""Sentences of the report page that only it says, and the list of all functions that make its sentences."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from cellsim.show import (
    Result,
    answer,
    assumption_words,
    balanced,
    cause_words,
    chief_assumptions,
    count_of,
    crewed,
    extent,
    has_shifts,
    limit_words,
    loaded_words,
    lock_words,
    number,
    paid_back,
    percent,
    plain,
    remedy_words,
    target_words,
)
from cellsim.show.compared import verdict
from cellsim.show.paper import paper_words
from cellsim.show.sensed import first_words, interval_words, range_words
from cellsim.show.sized import spelled, sure
from cellsim.show.supply import goods_words, plan_words


def decision_words(result: Result) -> str:
    """What the figures allow to say of the target, which may be that they cannot tell."""
    out = result["output_per_hour"]
    if not result["audit"]["passed"]:
        return "Do not decide by these figures: the program broke its own laws in these runs."
    if result["locked"]:
        runs = count_of(result["study"]["replications"], "run")
        return f"Not as described: the cell or a part of it locks up in {len(result['locked'])} of {runs}."
    if out["mean"] == 0:
        return "Not as described: no good unit leaves the cell."
    if out["target"] is None:
        return "The file states no target, so there is nothing to decide by."
    target, (low, high) = number(out["target"]), out["interval"]
    if low is None or high is None:
        return f"Cannot tell: one run says nothing about how sure it is that {target} per hour are made."
    if low >= out["target"]:
        every = out["chance_of_target_in_an_hour"]["mean"] == 1
        when = ", and in every hour studied" if every else "; not in every hour"
        return f"The cell makes its target of {target} per hour on average{when}."
    if high < out["target"]:
        return f"The cell does not make its target of {target} per hour on average."
    runs = count_of(result["study"]["replications"], "run")
    ends = f"{number(low, 1)} to {number(high, 1)}"
    return (
        f"Cannot tell from {runs} whether the cell makes {target} per hour on average: the mean lies anywhere"
        f" from {ends}. More runs would tell."
    )


def promise_words(result: Result) -> str:
    """What can be promised for an hour; empty where no hour was counted."""
    out = result["output_per_hour"]
    if out["p05"] is None or out["mean"] == 0:
        return ""
    if out["p05"] == 0:
        return "No number can be promised for a single hour: in 1 of 20 hours, or more, no good unit leaves."
    low, high = out.get("p05_interval") or (None, None)
    sure_of = "" if low is None or high is None else f" (known to {number(low)} to {number(high)})"
    return f"19 of 20 hours make {number(out['p05'])} or more{sure_of}."


def limits_in_words(result: Result) -> str:
    """What limits output, in one or two sentences that begin with a capital."""
    causes = result["losses"]["causes"]
    if not causes:
        return plain(result["losses"].get("remark", "nothing was recorded")) + "."
    return _sentence(" ".join(limit_words(result["losses"])))


def steps_words(result: Result) -> str:
    """The waterfall in a sentence."""
    found = result["waterfall"]
    if not found["steps"]:
        return "Work, loading and unloading are all of the time on the critical path; nothing else takes any."
    first = found["steps"][0]
    most = cause_words(first["who"], first["what"]) if first["who"] or first["causes"] == 1 else first["what"]
    each, lost = number(found["real_s"]), number(found["lost_s"])
    return (
        f"{each} s of working time pass per good unit; for {lost} s of them the critical path neither works"
        f" nor loads. The largest part of that: {most}."
    )


def left_out(result: Result) -> list[str]:
    """What the file of this cell leaves out, so that the runs do not have it."""
    found = []
    stopped = {row["who"] for row in result["stops"]}
    never = [plain(name) for name in (*result["stations"], *result["robots"]) if name not in stopped]
    if never:
        found.append(f"Stops of {_listed(never)}: the file describes none.")
    if not result["quality"]["first_pass_yield"]:
        found.append("Rejects and rework: no station tests what it makes.")
    if not result.get("parts"):
        found.append("Purchased parts that run short: they are always there.")
    if result.get("finished_goods") is None:
        found.append("Full places behind the cell: what is finished is taken away at once.")
    if result.get("energy") is None:
        found.append("Energy: the file states no power.")
    if any(str(row["path"]).endswith(".absent") for row in result["assumptions"]):
        found.append("Absence: everybody comes to every shift.")
    return found


def _listed(names: list[str], most: int = 6) -> str:
    more = f" and {len(names) - most} more" if len(names) > most else ""
    return ", ".join(names[:most]) + more


PLAIN_VALUES = ("yes", "no", "nobody")  # which the reason says better
CHIEF = 4  # groups of assumptions named on the first screen and on paper

# What no run of this program holds, whatever the file says.
NEVER_MODELLED = (
    "Safety of people near machines and robots: risk assessment, distances, forces, lockout.",
    "Strain, tiredness and health of people; law, agreements and working-time rules.",
    "Fire, leaks, fumes, dust, noise, and failures of power, air or networks.",
    "Decisions out of the ordinary: overtime, help from other cells, orders pulled forward, repairs put off.",
    "Changes of the product, its parts or its tools while the study runs; wear beyond the stops described.",
    "How good the numbers of the file are: a wrong time in gives a wrong rate out.",
)


def origin_words(result: Result) -> str:
    """How many values the tool assumed."""
    count = len(result["assumptions"])
    if count == 0:
        return "Every value is stated in the file."
    return (
        f"{count_of(count, 'value')} assumed by the program, not measured; all others are stated in the file."
    )


def chief_groups(result: Result, most: int) -> list[str]:
    """The assumptions that matter first, those alike but for whose value it is taken together."""
    groups: dict[tuple[str, str, str], list[str]] = {}
    for row in chief_assumptions(result, len(result["assumptions"])):
        path, value, why = (plain(row[key]) for key in ("path", "value", "why"))
        kind, _, rest = path.partition(".")
        name = rest.partition(".")[0] or path
        groups.setdefault((kind, value, why), []).append(f"all {kind}" if name == "*" else name)
    found = []
    for (_, value, why), names in list(groups.items())[:most]:
        taken = "" if value in PLAIN_VALUES else f" ({value})"
        found.append(f"{why[:1].upper()}{why[1:]}{taken}: {_listed(list(dict.fromkeys(names)), 4)}.")
    return found


def laws_words(result: Result) -> str:
    """Whether the runs kept the laws that every run must keep."""
    laws = len(result["audit"]["laws"])
    runs = count_of(result["study"]["replications"], "run")
    if result["audit"]["passed"]:
        return f"{laws} laws checked in {runs}: all hold."
    return f"{laws} laws checked in {runs}: {count_of(len(result['audit']['violations']), 'violation')}."


def paper_in_words(result: Result) -> str:
    """The paper check in sentences."""
    empty = not result["study"]["counted_from_s"]
    return " ".join(paper_words(result["paper"], starts_empty=empty))


def shift_name(result: Result) -> str:
    """What a replication is made of, for people: shift or run."""
    return "shift" if has_shifts(result) else "run"


def together_words(answer: Result) -> str:
    """What a comparison rests on."""
    runs, level = count_of(answer["replications"], "run"), percent(answer["level"])
    sure_of = f"{level} for all together (Holm)" if len(answer["proposals"]) > 1 else level
    return f"Compared over {runs} of each with the same luck; intervals {sure_of}."


def _sentence(words: str) -> str:
    """Words that begin with a capital."""
    return words[:1].upper() + words[1:]


def _cause(_: Result, row: Mapping[str, Any]) -> str:
    if row.get("causes", 1) > 1 and not row["who"]:
        return f"{row['causes']} smaller causes"
    return cause_words(row["who"], row["what"])


# Name in data-words -> function of the answer and of what stands at data-at (the answer itself without it).
WORDS: Mapping[str, Callable[[Any, Any], str]] = {
    "answer": lambda result, _: answer(result) + ".",
    "target": lambda result, _: target_words(result),
    "decision": lambda result, _: decision_words(result),
    "promise": lambda result, _: promise_words(result),
    "limits": lambda result, _: limits_in_words(result),
    "steps": lambda result, _: steps_words(result),
    "extent": lambda result, _: f"Studied: {extent(result)}.",
    "plan": lambda result, _: plan_words(result),
    "shifts": lambda result, _: count_of(result["study"]["shifts"], "shift"),
    "goods": lambda result, _: goods_words(result),
    "paper": lambda result, _: paper_in_words(result),
    "origin": lambda result, _: origin_words(result),
    "laws": lambda result, _: laws_words(result),
    "cause": _cause,
    "chief": lambda result, _: "".join(chief_groups(result, CHIEF)),
    "stated": lambda _, text: plain(text),
    "remedy": lambda result, _: remedy_words(result),
    "lock": lambda result, row: lock_words(result, row),
    "together": lambda answer, _: together_words(answer),
    "verdict": lambda answer, row: verdict(row, answer["replications"]),
    "sure": lambda answer, _: sure(answer),
    "places": lambda _, row: spelled(row),
    "range": lambda _, row: range_words(row),
    "measure": lambda answer, _: first_words(answer),
    "not known": lambda answer, _: interval_words(answer),
    "pays": lambda answer, _: _sentence(paid_back.verdict_words(answer)),
    "settle first": lambda answer, _: paid_back.first_words(answer),
    "takes": lambda answer, _: paid_back.needed_words(answer),
    "pays by runs": lambda answer, _: paid_back.gain_words(answer),
    "pays draws": lambda answer, _: paid_back.draws_words(answer),
    "pays crew": lambda answer, _: paid_back.crew_words(answer),
    "case number": lambda _, path: paid_back.name_of(path),
    "case range": lambda _, row: paid_back.range_words(row),
    "assumed": lambda _, row: paid_back.assumed_words(row),
    "load": lambda answer, _: loaded_words.headline(answer),
    "load rate": lambda answer, _: loaded_words.rate_words(answer),
    "load takt": lambda answer, _: " ".join(loaded_words.takt_words(answer)),
    "load people": lambda answer, _: " ".join(loaded_words.people_words(answer)),
    "load tending": lambda answer, row: " ".join(loaded_words.tending_words(answer, row)),
    "load repair": lambda _, row: loaded_words.repair_words(row),
    "load warning": lambda _, row: loaded_words.warning_words(row),
    "load limit": lambda answer, _: loaded_words.limit_words(answer),
    "assumption": lambda _, row: f"{assumption_words(row)}.",
    "balance": lambda answer, _: _sentence(balanced.decision(answer)),
    "balance rate": lambda answer, _: balanced.rate_words(answer),
    "balance losses": lambda answer, _: " ".join(balanced.loss_words(answer)),
    "balance bounds": lambda answer, _: " ".join(balanced.bound_lines(answer)),
    "balance figures": lambda answer, _: " ".join(balanced.figure_lines(answer)),
    "crew": lambda answer, _: " ".join(crewed.decision_lines(answer)),
    "crew choice": lambda _, chosen: crewed.spelled(chosen),
    "crew open": lambda answer, pair: crewed.open_words(answer, pair),
    "crew left out": lambda answer, _: " ".join(crewed.left_out_lines(answer)),
}
