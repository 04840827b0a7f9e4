"""Whether a proposal pays, as text for the terminal."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from cellsim.show import Result, count_of, number, percent, plain, share_between
from cellsim.show.screen_page import Page

if TYPE_CHECKING:
    from rich.console import Console

MOST_LETTERS = 24  # of a name in a table
SMALLEST = 1e-4  # of what is needed: what is less than that is told so
MOST_ROWS = 10  # of the table of what changes the result
COMPONENTS = {
    "labour": "labour",
    "material": "material",
    "energy": "energy",
    "scrap": "scrap",
    "running": "maintenance and other running costs",
    "capital": "capital",
}
GAINS = {"people": "people freed", "units": "more units sold", "scrap": "less scrap", "energy": "less energy"}
MORE_PEOPLE = "more people"
# First part of the path of a number -> its name in words, and how it is made surer.
WORDS = {
    "gain": ("gain in good units per hour, by the runs", ""),
    "freed": ("people really freed per shift", "settle who is freed for which other work"),
    "wage": ("wage with on-costs", "have finance confirm the wage"),
    "wages": ("wage of {}", "have finance confirm the wages"),
    "shifts_per_year": ("shifts per year", "settle the shift plan"),
    "margin": ("margin of a unit", "have finance confirm the margin"),
    "can_sell": ("units that can be sold", "ask sales what can surely be sold"),
    "material": ("material of a unit", "have finance confirm the price of material"),
    "scrap": ("value of scrap at {}", "have finance confirm the value by stage"),
    "energy": ("energy tariff", "look at the energy contract"),
    "running": ("running costs: {}", "get an offer for {}"),
    "running_today": ("running costs today: {}", "look up {}"),
    "delivery": ("delivery", "write the day of delivery into the order"),
    "lost_output": ("output lost while it is put in", "plan the installation with its days"),
    "ramp_up": ("ramp-up, {}", "write the rate of the first months into the order"),
    "rate": ("discount rate", "agree the rate with finance"),
    "inflation": ("inflation", "agree inflation with finance"),
    "investment": ("{}", "negotiate a fixed price: {}"),
}


def money(value: float | None, digits: int = 0) -> str:
    """An amount with a space at the thousands."""
    if value is None:
        return "-"
    text = f"{value:,.{digits}f}".replace(",", " ")
    return text.removeprefix("-") if float(text.replace(" ", "")) == 0 else text


def rounded(value: float | None) -> str:
    """An amount with three digits that count."""
    if value is None or value == 0:
        return "-" if value is None else "0"
    size = 10 ** max(0, math.floor(math.log10(abs(value))) - 2)
    return money(round(value / size) * size)


def name_of(path: str) -> str:
    """What a number of the case is, in words."""
    head, _, rest = path.partition(".")
    return WORDS.get(head, ("{}", ""))[0].format(plain(rest.replace(".", ", ")))


def step_for(path: str, answer: Result) -> str:
    """How a number is made surer."""
    if path == "gain":
        share = answer["gain"]["share_of_inputs"]
        if share is not None and share > 0.5:
            return "measure the times and stops of the cells better"
        return "run more replications"
    head, _, rest = path.partition(".")
    return WORDS.get(head, ("", "{}"))[1].format(plain(rest.replace(".", ", ")))


def fine(value: float, digits: int) -> str:
    """A number with so many decimals, or as many more as show its first digit that counts."""
    if 0 < value < SMALLEST:
        return f"less than {SMALLEST:g}"
    if SMALLEST <= abs(value) < 10**-digits:
        digits = -math.floor(math.log10(abs(value)))
    return number(value, digits)


def range_words(row: Mapping[str, Any]) -> str:
    """The range of a number as the case writes it; of the gain the 90 % of the runs."""
    return plain(row["text"]) or f"{signed(row['low'])} to {signed(row['high'])}"


def back_words(years: float | None, horizon: int) -> str:
    """A payback time."""
    return f"not in {horizon}" if years is None else f"{years:.2f}"


def years_words(value: float) -> str:
    """`1 year`, `2.5 years`."""
    return f"{value:g} year{'' if value == 1 else 's'}"


def short_names(answer: Result) -> tuple[str, str]:
    """The names of base and proposal, where they are short enough for a table."""
    base, proposal = (plain(answer[key]["name"]) for key in ("base", "proposal"))
    long = len(base) > MOST_LETTERS or len(proposal) > MOST_LETTERS
    return ("the base", "the proposal") if long else (base, proposal)


def verdict_words(answer: Result) -> str:
    """The verdict in one sentence."""
    verdict, limit = answer["verdict"], years_words(answer["payback_limit"])
    low, high = verdict["interval"]
    chance = f"{percent(verdict['chance'])} ({share_between(verdict)})"
    if high < 0.01 or low > 0.99:
        chance = "below 1 %" if high < 0.01 else "above 99 %"
    if verdict["says"] == "pays":
        return f"it pays: with a chance of {chance} the money is back within {limit}."
    if verdict["says"] == "does not pay":
        return f"it does not pay: the chance that the money is back within {limit} is {chance}."
    if verdict.get("turned_by_rare_stops"):
        return (
            f"cannot tell: by these runs the chance that the money is back within {limit} is {chance}, but"
            " long stops that come too seldom for so few runs may turn that; run more (--replications)."
        )
    return (
        f"cannot tell: the chance that the money is back within {limit} is {chance}, which is neither"
        f" {percent(answer['sure'])}, to say that it pays, nor {percent(1 - answer['sure'])}, that it does"
        " not."
    )


def first_words(answer: Result) -> str:
    """What to measure, settle or negotiate first, and what would turn the answer."""
    paths: Sequence[str] = answer["verdict"]["first"]
    turning = answer["verdict"]["turning"]
    if not paths:
        return "Nothing that is left open changes the result."
    if not turning and answer["verdict"]["says"] != "cannot tell":
        return "No number alone, at either end of its range, changes that."
    said = []
    for path in paths:
        step = step_for(path, answer)
        said.append(step + ("" if name_of(path) in step else f" ({name_of(path)})"))
    text = "First " + "; then ".join(said)
    if not turning:
        return text + ".  None of them alone moves the payback across the limit."
    alone = ", ".join(name_of(path) for path in turning[:3])
    return text + f".  Alone across the limit, others at their middle: {alone}."


def signed(value: float) -> str:
    """A number with its sign; nothing is +0.0."""
    return f"{round(value, 1) + 0.0:+.1f}"


def shown_needs(answer: Result) -> list[str]:
    """Which of people freed and more units are shown as what it takes: people only where some are freed."""
    keys = ["people"] if answer["break_even"].get("people") and answer["freed"][1] > 0 else []
    return [*keys, *(key for key in answer["break_even"] if key != "people")]


def needed_words(answer: Result) -> str:
    """What is needed to have the money back at the limit, all else at its middle; empty if unknown."""
    said = []
    for key in shown_needs(answer):
        found = answer["break_even"][key]
        need = found["at_limit"]
        if need is None:
            continue
        if key == "people":
            low, high = answer["freed"]
            given = number(low, 2) if low == high else f"{number(low, 2)} to {number(high, 2)}"
            words = f"{fine(max(0.0, need), 2)} people freed per shift (the case says {given})"
        else:
            words = f"{fine(max(0.0, need), 1)} more units sold per hour (now {fine(found['now'], 1)}"
            if found["most"] is not None and need > found["most"]:
                words += f"; no more than {fine(max(0.0, found['most']), 1)} can be"
            words += ")"
        said.append(words)
    if not said:
        return ""
    return (
        f"Back in {years_words(answer['payback_limit'])}, all else at its middle, takes {', or '.join(said)}."
    )


def rate_words(rate: float) -> str:
    """A rate in percent."""
    return f"{100 * rate:.3g} %"


def print_payback(answer: Result, console: Console) -> None:
    """The verdict and what to do first; then the money, what it rests on, and what it does not know."""
    page = Page(console)
    page.line()
    page.line(f"{plain(answer['case'])}: {verdict_words(answer)}", style="bold")
    page.line(first_words(answer), style="bold")
    if answer["cell_inputs"] is None:
        page.line(
            "This takes the times and stops of the cells as they stand; --inputs 20 also counts how well they"
            " are known."
        )
    page.line()
    for text in (needed_words(answer), *result_lines(answer), gain_words(answer)):
        if text:
            page.line(text)
    page.head("Chance that the money is back")
    page.table(
        ["within", "chance", "95 % interval"],
        [
            [years_words(row["years"]) + (" (limit)" if row["years"] == answer["payback_limit"] else ""),
             percent(row["mean"]), share_between(row, 1)]
            for row in answer["drawn"]["chances"]
        ],
    )  # fmt: skip
    _flows(page, answer)
    _tornado(page, answer)
    _unit_cost(page, answer)
    _stated(page, answer)
    page.head("What to bear in mind")
    for text in answer["cautions"]:
        page.line(f"- {plain(text)}", indent=1)


def result_lines(answer: Result) -> list[str]:
    """Payback, net present value and internal rate of the draws, a sentence or two each."""
    drawn, currency = answer["drawn"], answer["currency"]
    back, value, rate = drawn["payback"], drawn["npv"], drawn["internal_rate"]
    horizon = answer["horizon"]
    years = f"not within {horizon} years" if back["median"] is None else f"after {back['median']:.1f} years"
    late = f"later than {horizon}" if back["p90"] is None else f"{back['p90']:.1f}"
    early = "" if back["p10"] is None else f" ({back['p10']:.1f} to {late} in 8 of 10 draws)"
    lines = [f"The money is back {years} in the median{early}."]
    lines.append(
        f"Net present value over {horizon} years at {rate_words(answer['point']['rate'])}: median"
        f" {rounded(value['median'])} {currency} ({rounded(value['p10'])} to {rounded(value['p90'])} in 8 of"
        f" 10); above 0 in {percent(value['chance_above_0']['mean'])} of the draws."
    )
    if rate["none_or_several"] == 1:
        lines.append("No internal rate of return.")
    else:
        low, middle, high = (_rate(rate[key], rate["above"]) for key in ("p10", "median", "p90"))
        lines.append(f"Internal rate of return: median {middle} ({low} to {high}).")
    if 0 < rate["none_or_several"] < 1:
        lines.append(f"In {percent(rate['none_or_several'])} of the draws there is no single internal rate.")
    return lines


def _rate(rate: float | None, above: float | None) -> str:
    """An internal rate; None is one above all that are looked at."""
    if rate is None:
        return "-" if above is None else f"above {percent(above)}"
    return "below 0" if rate < 0 else percent(rate)


def gain_words(answer: Result) -> str:
    """How much more the proposal makes, how sure that is, and how much of it can be sold."""
    gain = answer["gain"]
    low, high = gain["interval"]
    base, proposal = short_names(answer)
    text = (
        f"{proposal} makes {number(gain['proposal'], 1)} good units per hour, {base}"
        f" {number(gain['base'], 1)}: {signed(gain['mean'])} ({signed(low)} to {signed(high)}),"
        f" {count_of(answer['replications'], 'run')} of each with the same luck"
    )
    if answer["can_sell"] and gain["sold"][1] < gain["proposal"]:
        more = gain["sold"][1] - gain["sold"][0]
        text += f"; {number(max(0.0, more), 1)} more can be sold ({plain(answer['can_sell'])})"
    year = number(gain["deviation_of_a_year"], 2)
    text += f".  From year to year the gain varies by {year} by chance (standard deviation)"
    if answer["cell_inputs"] is not None and gain["share_of_inputs"] is not None:
        share, ends = percent(gain["share_of_inputs"]), answer["cell_inputs"]["share_interval"]
        inside = f" ({share_between({'interval': ends})})" if ends else ""
        text += f".  {share}{inside} of what is not known of it is not knowing the cells' inputs"
    if gain["correlation"] is not None and gain["correlation"] < 0.2:
        text += ".  The same luck hardly helps here: the two stop at other moments"
    return f"{text}.".replace("the proposal", "The proposal", 1)


def _flows(page: Page, answer: Result) -> None:
    point, currency = answer["point"], answer["currency"]
    page.head(f"Money with every number at its middle, {currency}")
    rows = [
        [MORE_PEOPLE if name == "people" and value < 0 else GAINS[name], money(value)]
        for name, value in point["gains"].items()
        if value
    ]
    rows.append(["running costs", money(-point["running"])])
    rows.append(["a full year", money(point["net_per_year"])])
    page.table(["", "per year"], rows)
    page.line()
    page.table(["year", "flow"], [[str(k), money(flow)] for k, flow in enumerate(point["flows"])])
    back = back_words(point["payback"], answer["horizon"])
    later = back_words(point["discounted_payback"], answer["horizon"])
    rates = point["internal_rates"]
    rate = "no single internal rate: " + ", ".join(percent(r, 1) for r in rates)
    if len(rates) == 1:
        rate = f"internal rate {percent(rates[0], 1)}"
    elif not rates:
        above = point["internal_rate_above"]
        rate = "no internal rate" if above is None else f"internal rate {_rate(None, above)}"
    page.line(
        f"Payback {back} years, discounted {later}; net present value {money(point['npv'])}; {rate}."
        "  Year 0 is the order: what is bought, and output lost while it is put in; other years count at"
        " their ends."
    )


def _tornado(page: Page, answer: Result) -> None:
    rows = answer["tornado"]
    if not rows:
        return
    page.head(
        f"What changes the result: each number alone at its ends (value in {answer['currency']}, payback in"
        " years)"
    )
    horizon = answer["horizon"]
    page.table(
        ["", "from", "value\nat low", "value\nat high", "payback\nat low", "payback\nat high"],
        [
            [name_of(row["what"]), range_words(row),
             rounded(row["at_low"]["npv"]), rounded(row["at_high"]["npv"]),
             back_words(row["at_low"]["payback"], horizon), back_words(row["at_high"]["payback"], horizon)]
            for row in rows[:MOST_ROWS]
        ],
        texts=(0, 1),
    )  # fmt: skip
    still = [row for row in rows if row["what"] == "gain" and row["swing"] < 1e-6]
    if still:
        page.line("How much more it makes changes nothing here: it is more than can be sold, at either end.")


def _unit_cost(page: Page, answer: Result) -> None:
    found = answer["unit_cost"]
    page.head("Cost of a good unit, once all gain is there")
    if found["base"] is None:
        page.line(f"Not told: {found['reason']}.")
        return
    rows = [
        [words, money(found["base"]["parts"][part], 3), money(found["proposal"]["parts"][part], 3)]
        for part, words in COMPONENTS.items()
        if found["base"]["parts"][part] or found["proposal"]["parts"][part]
    ]
    rows.append(["all together", money(found["base"]["total"], 3), money(found["proposal"]["total"], 3)])
    for kind, title in (("energy_by_state", "energy while"), ("scrap_by_station", "scrap at")):
        for name, value in found["base"][kind].items():
            rows.append(
                [f"  {title} {plain(name)}", money(value, 3), money(found["proposal"][kind][name], 3)]
            )
    page.table([answer["currency"], *short_names(answer)], rows)


def _stated(page: Page, answer: Result) -> None:
    page.head("What the case says")
    page.table(
        ["", "value", "origin"],
        [
            [name_of(row["what"]), plain(row["text"]), plain(row["origin"]) or "none given"]
            for row in answer["stated"]
        ],
        texts=(0, 1, 2),
    )
    for row in answer["assumed"]:
        page.line(f"assumed: {assumed_words(row)}", indent=1)
    if crew_words(answer):
        page.line(crew_words(answer))
    page.line(draws_words(answer))


def assumed_words(row: Mapping[str, Any]) -> str:
    """One thing that the case leaves out, with what was taken for it and why."""
    value = f"{plain(row['value'])}, " if row["value"] else ""
    return f"{plain(row['what'])}: {value}{plain(row['why'])}"


def crew_words(answer: Result) -> str:
    """Who is more or less by the cell files, and how many the money counts; empty where nothing changes."""
    low, high = answer["freed"]
    if not (low or high or answer["crew"]):
        return ""
    changes = ", ".join(f"{change:+d} {plain(name)}" for name, change in answer["crew"].items())
    given = f"{low:g}" if low == high else f"{low:g} to {high:g}"
    return f"The crew by the cell files: {changes or 'as today'}; the money counts {given} freed per shift."


def draws_words(answer: Result) -> str:
    """What the chances rest on."""
    return f"{answer['draws']} draws; ranges even between their ends, the gain by the error of its mean."
