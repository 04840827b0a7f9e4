"""Exercises as text for the terminal: the list, a question, an answer, the teacher's page."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from cellsim.show import number, percent
from cellsim.show.screen_page import Page

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from rich.console import Console

    Answer = Mapping[str, Any]


def with_unit(value: float, unit: str) -> str:
    """A number with its unit, as people write it."""
    return f"{number(value)} {unit}"


def print_listing(rows: Sequence[Answer], console: Console) -> None:
    """One line for each exercise, and how to begin."""
    page = Page(console)
    for row in rows:
        without = "" if row["runs"] else ", no run"
        page.line(f"{row['number']:2}  {row['title']} ({row['minutes']} min{without})", style="bold")
        page.line(row["teaches"], indent=2)
    page.line()
    page.line("cellsim exercise 2 asks the second; --teacher prints aims, answers and usual mistakes.")


def print_question(asked: Answer, console: Console) -> None:
    """The question and the cell file; what is asked stands last."""
    page = Page(console)
    page.line()
    page.line(f"Exercise {asked['number']}: {asked['title']} ({asked['minutes']} min)", style="bold")
    for text in asked["question"]:
        page.line()
        page.line(text)
    if asked["cell"] is not None:
        page.head("The cell file")
        _verbatim(page, asked["cell"])
    if not asked["runs"]:
        page.line()
        page.line("This exercise needs no run: its answer is worked out on paper.")
    page.line()
    page.line(asked["asked"], style="bold")


def how_to_answer(asked: Answer, console: Console) -> None:
    """What to type where nobody can be asked."""
    page = Page(console)
    call = f"cellsim exercise {asked['number']}"
    page.line(f"Answer with your number: {call} --predict {asked['answer_like']}")
    page.line(f"Without a prediction: {call} --solution")


def _verbatim(page: Page, text: str) -> None:
    """Lines that are not wrapped, since they are a file."""
    from rich.text import Text

    for line in text.rstrip().splitlines():
        page.console.print(Text(f"  {line}"), no_wrap=True, overflow="ignore", crop=False)


def print_worked(answer: Answer, console: Console) -> None:
    """Predicted, simulated and exact beside each other, the source, and what it says."""
    page = Page(console)
    page.line()
    first = answer["figures"][0]
    if answer["prediction"] is not None:
        _prediction(page, answer["prediction"], first)
    else:
        page.line(f"The answer: {with_unit(first['exact'], first['unit'])}.", style="bold")
    page.line()
    _figures(page, answer)
    page.line()
    if any(row["replications"] for row in answer["figures"]):
        page.line(_agreement(answer))
    page.line(f"Exact: {answer['source']}.")
    page.head("What it says")
    for k, text in enumerate(answer["discussion"]):
        if k:
            page.line()
        page.line(text)


def _prediction(page: Page, told: Answer, first: Answer) -> None:
    """How near the prediction came, and what a usual mistake reveals."""
    said = with_unit(told["value"], told["unit"])
    exact = with_unit(first["exact"], first["unit"])
    if told["right"]:
        same = "that is it" if said == exact else f"near enough, it is {exact}"
        page.line(f"Your {said}: {same}.", style="bold")
        return
    page.line(f"Your {said}: not so, it is {exact}{_off(told)}.", style="bold")
    if told["reveals"]:
        page.line(f"Many say so. {told['reveals']}")
    if told["margin"] > 0:
        page.line(f"(Within {with_unit(told['margin'], told['unit'])} it would have counted as right.)")


def _off(told: Answer) -> str:
    """By how much a prediction is too high or too low, where that can be said as a share."""
    if told["off"] is None or not 0.005 <= abs(told["off"]) < 10:
        return ""
    return f"; yours is {percent(abs(told['off']))} too {'high' if told['off'] > 0 else 'low'}"


def _figures(page: Page, answer: Answer) -> None:
    """The table of all figures, the one that was asked for first."""
    told = answer["prediction"]
    ran = any(row["replications"] for row in answer["figures"])
    heads = [
        "",
        "unit",
        *(["predicted"] if told else []),
        *(["simulated", "interval"] if ran else []),
        "exact",
    ]
    heads += ["agree"] if ran else []
    rows = []
    for k, row in enumerate(answer["figures"]):
        cells = [row["what"], row["unit"]]
        if told:
            cells.append(number(told["value"]) if k == 0 else "")
        if ran:
            cells += [_simulated(row), _interval(row)]
        cells.append(number(row["exact"]))
        if ran:
            cells.append(_agrees(row))
        rows.append(cells)
    page.table(heads, rows, texts=(0, 1))


def _simulated(row: Answer) -> str:
    return "" if row["simulated"] is None else number(row["simulated"])


def _interval(row: Answer) -> str:
    if row["simulated"] is None:
        return "on paper"
    if row["interval"] is None:
        return "no chance" if row["agrees"] is not None else "one run"
    low, high = row["interval"]
    return f"{number(low)} to {number(high)}"


def _agrees(row: Answer) -> str:
    if row["agrees"] is None:
        return "-" if row["replications"] else ""
    return "yes" if row["agrees"] else "NO"


def _agreement(answer: Answer) -> str:
    """When simulated and exact values count as the same."""
    random = [row for row in answer["figures"] if row["interval"] is not None]
    if any(row["replications"] and row["agrees"] is None for row in answer["figures"]):
        return "One run has no interval, so whether they agree cannot be told."
    if not random:
        return "Nothing here is left to chance: simulated and exact must be the same number."
    most = max(row["tolerance"] for row in random)
    runs = sorted({row["replications"] for row in random})
    text = (
        f"They agree where the exact value lies in the interval made wider by"
        f" {number(100 * most)} % to each side; all intervals together hold with"
        f" {percent(answer['together'])} ({', '.join(map(str, runs))} runs each)."
    )
    if not all(row["agrees"] in (True, None) for row in answer["figures"]):
        text += " One study of a hundred says NO by luck: try another --seed."
    return text


def print_teacher(rows: Sequence[Answer], console: Console) -> None:
    """The teacher's page: aim, time, answer, usual mistakes and what to vary, exercise by exercise."""
    page = Page(console)
    for row in rows:
        page.head(f"{row['number']}. {row['title']} ({row['minutes']} min)")
        page.line(f"Aim: {' '.join(row['aim'])}")
        page.line(f"Asked: {row['asked']}")
        page.line(f"Answer: {with_unit(row['answer'], row['unit'])}{_margin(row)}. {row['source']}.")
        if row["further"]:
            page.line(
                "Further: "
                + "; ".join(
                    f"{each['what']} {with_unit(each['exact'], each['unit'])}" for each in row["further"]
                )
                + "."
            )
        page.line("Usual mistakes:")
        for each in row["wrong"]:
            page.line(f"{with_unit(each['value'], row['unit'])}: {each['reveals']}", indent=1)
        page.line(f"To vary: {' '.join(row['vary'])}")


def _margin(row: Answer) -> str:
    return f" (plus or minus {with_unit(row['margin'], row['unit'])} counts)" if row["margin"] > 0 else ""
