"""Model and reality, as text for the terminal and as a picture."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from cellsim.show import Result, cause_words, count_of, number, percent, plain
from cellsim.show.screen_page import Page

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from rich.console import Console


def verdict_words(answer: Result) -> list[str]:
    """What the comparison says, in sentences."""
    low, high = answer["difference"]["interval"]
    margin, shifts = percent(answer["margin"]), count_of(answer["shifts"], "shift")
    apart = answer["difference"]["mean"]
    out = [
        f"Observed {number(answer['observed_per_shift'], 1)} good units per shift in {shifts}, model"
        f" {number(answer['model_per_shift'], 1)}: {100 * apart:+.1f} % ({100 * low:+.1f} to"
        f" {100 * high:+.1f} %)."
    ]
    if answer["verdict"] == "same":
        out.append(f"The model makes the same to within {margin}; it may be used for output.")
    elif answer["verdict"] == "differs":
        out.append(
            f"The model does not hold: it is more than {margin} away. Do not use it before you know why."
        )
    else:
        needed = answer["shifts_needed"]
        out.append(f"Cannot tell whether the model holds to within {margin}.")
        if "model" in answer["in_the_way"]:
            out.append("The model's own runs leave most of it open: use more replications (-n).")
        if "margin" in answer["in_the_way"]:
            out.append(
                "The difference seen lies so near the margin that more shifts will hardly settle it: look for"
                " what makes it."
            )
        if not answer["in_the_way"]:
            out.append(
                f"That takes about {count_of(needed, 'shift')} like these, if the difference stays."
                if needed > answer["shifts"]
                else "A few more shifts may settle it."
            )
    return out


def print_observed(answer: Result, console: Console) -> None:
    """The verdict first, then hour by hour, then what would explain a difference."""
    page = Page(console)
    page.line()
    for k, text in enumerate(verdict_words(answer)):
        page.line(text, style="bold" if k < 2 else "")
    for text in answer["repairs"]:
        page.line(plain(text), indent=2)
    page.head("Good units by the hour")
    page.table(
        ["Hour", "observed", "least", "most", "model", "P5 to P95", "inside"],
        [
            [
                plain(row["hour"]),
                number(row["observed"], 1),
                number(row["least"]),
                number(row["most"]),
                number(row["model"], 1),
                f"{number(row['p05'])} to {number(row['p95'])}",
                percent(row["inside"]),
            ]
            for row in answer["by_hour"]
        ],
    )
    page.line("Inside: share of the observed hours within P5 to P95 of the model; about 90 % is right.")
    hourly = answer["hourly"]
    if hourly["chance"] < 0.05:
        page.line(
            "The hours are spread otherwise than in the model (chance of that"
            f" {percent(hourly['chance'], 1)} if shifts were alike): output may agree for the wrong reasons."
        )
    if answer["verdict"] != "same" and answer["would_explain"]:
        page.head("Each of these alone would explain the difference")
        for row in answer["would_explain"]:
            longer = "longer" if row["change"] > 0 else "shorter"
            page.line(f"{cause_words(row['who'], row['what'])}: {abs(row['change']):.0%} {longer}", indent=1)
        page.line("By the critical path, for small changes; measure the likeliest first.")
    page.line()
    page.line(
        f"Model: {count_of(answer['replications'], 'run')}. Output alone does not prove a model: compare"
        " stops, waiting and work in progress too."
    )


def save_observed(answer: Result, path: Path) -> None:
    """Write the picture of observed hours, as png, svg or pdf by the ending of the file."""
    from cellsim.show.picture_files import save_picture

    save_picture(draw_observed, answer, path)


def draw_observed(answer: Result) -> Figure:
    """Observed hours over the band of the model."""
    from cellsim.show.palette import BAND, INK_DARK, LINE, TARGET
    from cellsim.show.plots_sheet import add_axes, new_figure, title_lines, write_heading

    rows = answer["by_hour"]
    figure = new_figure(4.6)
    difference, verdict, *others = verdict_words(answer)
    title = title_lines(plain(answer["name"]), verdict.split(";")[0].rstrip("."))
    top = write_heading(figure, title, [difference, *others], "Planning study.")
    axes = add_axes(figure, 0.7, top + 0.2, 0.3, 0.85)
    places = range(len(rows))
    axes.bar(
        places,
        [row["p95"] - row["p05"] for row in rows],
        bottom=[row["p05"] for row in rows],
        width=0.7,
        color=BAND,
        label="model, P5 to P95",
    )
    axes.plot(places, [row["model"] for row in rows], "_", color=LINE, markersize=26, label="model, mean")
    axes.vlines(
        places, [row["least"] for row in rows], [row["most"] for row in rows], color=TARGET, linewidth=1.4
    )
    axes.plot(
        places, [row["observed"] for row in rows], "D", color=INK_DARK, markersize=6, label="observed, mean"
    )
    axes.plot([], [], color=TARGET, linewidth=1.4, label="observed, least to most")
    axes.set_xticks(list(places), [row["hour"].split("-")[0] for row in rows])
    axes.set_ylim(bottom=0)
    axes.set_ylabel("good units in the hour", fontsize=9)
    axes.legend(loc="lower center", ncols=4, frameon=False, fontsize=8.5, bbox_to_anchor=(0.5, -0.3))
    return figure
