"""The evidence of the page: paper check, cautions, assumptions, what is not modelled, where it comes from."""

from __future__ import annotations

from markupsafe import Markup

from cellsim.show import plain
from cellsim.show.report_numbers import Source
from cellsim.show.report_words import CHIEF, NEVER_MODELLED, chief_groups, left_out
from cellsim.show.screen import PLANNING
from cellsim.show.svg import Row, section, table, tag

PROVENANCE = (
    ("version", "Version of cellsim"),
    ("sha256", "Hash of the resolved description (SHA-256)"),
    ("seed", "Seed"),
    ("replications", "Replications"),
    ("clock", "Clock"),
    ("python", "Python"),
    ("machine", "Machine"),
)


def evidence_section(source: Source) -> Markup:
    """What the figures rest on and what they do not say."""
    parts = [
        _part("Beside it on paper", tag("p", source.words("paper"))),
        _part("Cautions", _cautions(source)),
        _part("Assumed, not measured", _assumptions(source)),
        _part("Not modelled", _not_modelled(source)),
        _part("Where the figures come from", _provenance(source)),
    ]
    return section("evidence", "Evidence", source.words("extent"), *parts)


def _part(title: str, *content: Markup) -> Markup:
    return tag("div", tag("h3", title), *content, class_="part")


def _cautions(source: Source) -> Markup:
    own = [tag("li", source.words("stated", "cautions", k)) for k in range(len(source.at("cautions")))]
    remarks = source.at("study").get("remarks", ())
    own += [tag("li", source.words("stated", "study", "remarks", k)) for k in range(len(remarks))]
    return tag("ul", tag("li", PLANNING), *own)


def chief(source: Source) -> Markup:
    """The assumptions that matter first, as a list."""
    found = [tag("li", words) for words in chief_groups(source.answer, CHIEF)]
    return tag("ul", *found, class_="short", data_words="chief") if found else Markup("")


def _assumptions(source: Source) -> Markup:
    found: list[Row] = [
        (f"assumed-{k}", (plain(row["path"]), plain(row["value"]), plain(row["why"])))
        for k, row in enumerate(source.at("assumptions"))
    ]
    first = tag("p", source.words("origin"))
    if not found:
        return first
    heads = ("Key of the file", "Assumed value", "Why this one")
    all_of_them = tag("div", table(heads, found), class_="scroll")
    return first + tag("details", tag("summary", "Table: all assumed values"), all_of_them)


def _not_modelled(source: Source) -> Markup:
    """What no run holds, and what this file leaves out."""
    never = tag("ul", *(tag("li", words) for words in NEVER_MODELLED))
    out = [tag("li", words) for words in left_out(source.answer)]
    if not out:
        return never
    return never + tag("p", "Left out by this file:") + tag("ul", *out)


def _provenance(source: Source) -> Markup:
    known = source.answer.get("provenance") or {}
    pairs = [
        tag(
            "div",
            tag("dt", words),
            tag("dd", source.num("provenance", key, show="text")),
            class_="long" if key == "sha256" else None,
        )
        for key, words in PROVENANCE
        if key in known
    ]
    pairs.append(tag("div", tag("dt", "Audit"), tag("dd", source.words("laws"), _laws(source))))
    return tag("dl", *pairs, class_="facts")


def _laws(source: Source) -> Markup:
    laws = tag("ul", *(tag("li", words) for words in source.at("audit", "laws")))
    broken = [
        tag("li", source.words("stated", "audit", "violations", k))
        for k in range(len(source.at("audit", "violations")))
    ]
    return tag("details", tag("summary", "The laws"), laws) + (tag("ul", *broken) if broken else Markup(""))
