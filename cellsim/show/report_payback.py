"""An investment on the page: the verdict first, then the money, what it rests on and what to bear in mind."""

from __future__ import annotations

from markupsafe import Markup

from cellsim.show.paid_back import COMPONENTS, GAINS, MORE_PEOPLE, crew_words
from cellsim.show.report_hero import strip
from cellsim.show.report_numbers import Part, Source
from cellsim.show.report_payback_charts import (
    flows_chart,
    histogram_chart,
    needed_charts,
    tornado_chart,
)
from cellsim.show.svg import Row, section, table, tag

YEARS = "Year 0 is the order: what is bought, and output lost while it is put in; others count at their ends."


def payback_section(source: Source) -> Markup:
    """What `cellsim payback --json` holds: whether it pays, what it takes, what to settle first."""
    ident = f"payback-{source.index}"
    parts = [
        source.words("pays", of="p", class_="verdict"),
        source.words("settle first", of="p", class_="answer"),
        _cards(source),
        tag("p", *_sentences(source), class_="target-line"),
        tag("div", histogram_chart(source, ident), flows_chart(source, ident), class_="pair"),
        tag("div", tag("div", _chances(source), _unit_cost(source)), _year(source), class_="pair"),
    ]
    curves = needed_charts(source, ident)
    if curves:
        takes = tag("p", source.words("takes"))
        drawn = tag("div", *curves, class_="pair")
        parts.append(tag("div", tag("h3", "What it takes"), takes, drawn, class_="together"))
    parts += [tornado_chart(source, ident), _rests_on(source)]
    lead = Markup("{}: proposal {} against base {}").format(
        source.words("stated", "case"),
        source.words("stated", "proposal", "name"),
        source.words("stated", "base", "name"),
    )
    return section(ident, "Does it pay?", lead, *parts)


def _sentences(source: Source) -> list[str | Markup]:
    found: list[str | Markup] = [source.words("pays by runs"), " ", source.words("pays draws")]
    if source.at("cell_inputs") is None:
        found.append(" The times and stops of the cells are taken as they stand.")
    return found


def years(source: Source, *path: Part) -> Markup:
    """A payback time in years, marked, or that it is later than the horizon."""
    if source.at(*path) is None:
        return Markup("later than {}").format(source.num("horizon", show="text"))
    return source.num(*path, show="fixed", digits=1)


def _internal(source: Source, key: str) -> Markup:
    """An internal rate of the draws, or that it is above all that are looked at."""
    path = ("drawn", "internal_rate", key)
    if source.at(*path) is not None:
        return source.num(*path, show="internal_rate")
    if source.at("drawn", "internal_rate", "above") is None:
        return Markup("–")
    return Markup("above {}").format(source.num("drawn", "internal_rate", "above", show="percent"))


def _cards(source: Source) -> Markup:
    """Chance, payback, net present value and internal rate in large figures, each with its band."""
    chance = source.at("verdict", "chance")
    ends = source.ends("verdict", "interval", show="percent")
    within = Markup("chance that the money is back within {}").format(
        source.num("payback_limit", show="years")
    )
    never = source.at("drawn", "internal_rate", "none_or_several") == 1
    currency = str(source.at("currency"))
    found = [
        _card(
            source.num("verdict", "chance", show="percent"),
            within,
            strip(chance, source.at("verdict", "interval")),
            Markup("95 % interval: {}.").format(ends),
        ),
        _card(
            years(source, "drawn", "payback", "median"),
            Markup("years, payback in the median"),
            Markup("In 8 of 10 draws {} to {}.").format(
                years(source, "drawn", "payback", "p10"), years(source, "drawn", "payback", "p90")
            ),
        ),
        _card(
            source.num("drawn", "npv", "median", show="rounded"),
            Markup("{} net present value over {} years at {}, median").format(
                currency, source.num("horizon", show="text"), source.num("point", "rate", show="rate")
            ),
            Markup("In 8 of 10 draws {} to {}; above 0 in {} of all.").format(
                source.num("drawn", "npv", "p10", show="rounded"),
                source.num("drawn", "npv", "p90", show="rounded"),
                source.num("drawn", "npv", "chance_above_0", "mean", show="percent"),
            ),
        ),
        _card(
            Markup("none") if never else _internal(source, "median"),
            Markup("internal rate of return, median"),
            Markup("")
            if never
            else Markup("In 8 of 10 draws {} to {}.").format(
                _internal(source, "p10"), _internal(source, "p90")
            ),
        ),
    ]
    return tag("div", *found, class_="cards four")


def _card(big: Markup, unit: Markup, *small: Markup) -> Markup:
    """A large figure, what it is, and below it a drawing or sentences."""
    rest = [part if part.startswith("<svg") else tag("p", part, class_="small") for part in small if part]
    return tag("div", tag("p", big, class_="big"), tag("p", unit, class_="unit"), *rest, class_="card")


def _chances(source: Source) -> Markup:
    """How likely the money is back within each time."""
    limit = source.at("payback_limit")
    rows: list[Row] = []
    for k, row in enumerate(source.at("drawn", "chances")):
        path = ("drawn", "chances", k)
        name = source.num(*path, "years", show="years")
        rows.append(
            (
                "",
                (
                    Markup("{} (limit)").format(name) if row["years"] == limit else name,
                    source.num(*path, "mean", show="percent"),
                    source.ends(*path, "interval", show="percent", digits=1),
                ),
            )
        )
    shown = table(("The money is back within", "Chance", "95 % interval"), rows)
    return tag("div", tag("h3", "Chance that the money is back"), tag("div", shown, class_="scroll"))


def _year(source: Source) -> Markup:
    """The money of a full year and what follows from it, every number at its middle."""
    point, currency = source.at("point"), str(source.at("currency"))
    rows: list[Row] = [
        (
            "",
            (
                MORE_PEOPLE if name == "people" and value < 0 else GAINS[name],
                source.num("point", "gains", name, show="money"),
            ),
        )
        for name, value in point["gains"].items()
        if value
    ]
    rows.append(("", ("running costs", source.num("point", "running", show="less"))))
    rows.append(("", (tag("b", "a full year"), tag("b", source.num("point", "net_per_year", show="money")))))
    rates = point["internal_rates"]
    one = source.num("point", "internal_rates", 0, show="percent", digits=1) if len(rates) == 1 else "none"
    more: list[Row] = [
        ("", ("payback, years", years(source, "point", "payback"))),
        ("", ("payback of discounted money, years", years(source, "point", "discounted_payback"))),
        ("", ("net present value", source.num("point", "npv", show="money"))),
        ("", ("internal rate of return" if len(rates) < 2 else "single internal rate of return", one)),
    ]
    shown = table((f"Every number at its middle, {currency}", "Per year"), rows, "sums")
    return tag(
        "div",
        tag("h3", "Money of a year"),
        tag("div", shown, class_="scroll"),
        tag("div", table(("What follows from it", ""), more, "sums"), class_="scroll"),
        tag("p", YEARS, class_="note"),
    )


def _unit_cost(source: Source) -> Markup:
    """What a good unit costs by parts, before and after; why not where that is not told."""
    head = tag("h3", f"Cost of a good unit, once all gain is there, {source.at('currency')}")
    if source.at("unit_cost", "base") is None:
        return tag("div", head, tag("p", "Not told: ", source.words("stated", "unit_cost", "reason"), "."))
    rows: list[Row] = []
    for part, words in COMPONENTS.items():
        paths = [("unit_cost", side, "parts", part) for side in ("base", "proposal")]
        if any(source.at(*path) for path in paths):
            rows.append(("", (words, *(source.num(*path, show="money", digits=3) for path in paths))))
    totals = [
        tag("b", source.num("unit_cost", side, "total", show="money", digits=3))
        for side in ("base", "proposal")
    ]
    rows.append(("", (tag("b", "all together"), *totals)))
    return tag("div", head, tag("div", table(("", "Base", "Proposal"), rows, "sums"), class_="scroll"))


def _rests_on(source: Source) -> Markup:
    """What the case says with where it is from, what was assumed, and what to bear in mind."""
    rows: list[Row] = []
    for k in range(len(source.at("stated"))):
        path = ("stated", k)
        rows.append(
            (
                "",
                (
                    source.words("case number", *path, "what"),
                    source.words("stated", *path, "text"),
                    source.words("stated", *path, "origin") if source.at(*path, "origin") else "none given",
                ),
            )
        )
    shown = table(("What the case says", "Value", "Origin"), rows)
    said = [tag("h3", "What it rests on"), tag("div", shown, class_="scroll")]
    assumed = [source.words("assumed", "assumed", k, of="li") for k in range(len(source.at("assumed")))]
    cautions = [source.words("stated", "cautions", k, of="li") for k in range(len(source.at("cautions")))]
    beside = [tag("h3", "What to bear in mind"), tag("ul", *cautions)]
    if assumed:
        beside += [tag("h3", "Assumed, since the case does not say it"), tag("ul", *assumed)]
    if crew_words(source.answer):
        beside += [tag("h3", "Who is in it"), source.words("pays crew", of="p", class_="note")]
    return tag("div", tag("div", *said), tag("div", *beside), class_="pair uneven")
