"""The report: one page, complete in itself, that a plant manager reads and an engineer can defend."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from importlib import resources
from typing import Any

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from cellsim.show import plain
from cellsim.show.report_balance import balance_section
from cellsim.show.report_compared import (
    alternatives_section,
    buffers_section,
    changes_section,
    comparison_section,
    tornado_section,
)
from cellsim.show.report_crew import crew_section
from cellsim.show.report_evidence import chief, evidence_section
from cellsim.show.report_flow import flow_section
from cellsim.show.report_hero import cards
from cellsim.show.report_limits import limits_section
from cellsim.show.report_load import load_section
from cellsim.show.report_numbers import Source
from cellsim.show.report_output import output_section
from cellsim.show.report_payback import payback_section
from cellsim.show.report_states import states_section
from cellsim.show.screen import PLANNING
from cellsim.show.svg_states import patterns

# Kind of an answer -> the section that shows it.
STUDIES = {
    "comparison": comparison_section,
    "buffers": buffers_section,
    "limits": changes_section,
    "sensitivity": tornado_section,
    "payback": payback_section,
    "load": load_section,
    "crew": crew_section,
    "balance": balance_section,
}
OWN_PAPER = ("payback", "load", "crew", "balance")  # printed also beside a result, each from a new page on
NAMED_BY = {"payback": "case", "load": "cell", "balance": "plan"}  # what an answer without result is about
LOCKS = 3  # locked runs that are told on the first screen


@cache
def asset(name: str) -> str:
    """A file of the page technique: style, script or template."""
    return (resources.files("cellsim.show.assets") / name).read_text(encoding="utf-8")


def report_page(
    answers: Sequence[tuple[str, Mapping[str, Any]]],
    names: Sequence[str],
    *,
    pairs: Mapping[str, Any] | None = None,
    why: str = "",
    extra: Sequence[Markup] = (),
    styles: Sequence[str] = (),
    scripts: Sequence[str] = (),
) -> str:
    """A report as the text of an HTML file that asks for nothing outside itself.

    Args:
        answers: kind (`result` or a key of STUDIES) and content of each answer.  The first result is the one
            that the page is about; more results are its alternatives.
        names: a name for each result.
        pairs: the comparison of the results run by run, if there are several and their runs belong together.
        why: what stands against such a comparison.
        extra: further sections, placed before the evidence.
        styles, scripts: files in `assets` that these sections need.

    Raises:
        ValueError: a kind is unknown, or there is not one name for each result.
    """
    unknown = [kind for kind, _ in answers if kind != "result" and kind not in STUDIES]
    if unknown or not answers:
        raise ValueError(f"a report shows results and {', '.join(STUDIES)}, not {unknown or 'nothing'}")
    sources = [(kind, Source(answer, k)) for k, (kind, answer) in enumerate(answers)]
    results = [source for kind, source in sources if kind == "result"]
    if len(results) != len(names):
        raise ValueError(f"{len(results)} results and {len(names)} names; wanted is a name for each")
    first: list[Markup] = []  # sections of the first sheet of paper
    if len(results) > 1:
        compared = Source(pairs, len(answers)) if pairs is not None else None
        first.append(alternatives_section(results, names, compared, why))
    main = results[0] if results else None
    if main is not None:
        first += [output_section(main), limits_section(main)]
    own: list[Markup] = []  # sections that flow over as many sheets as they need
    second: list[Markup] = []
    for kind, source in sources:
        if kind in STUDIES:
            alone = main is None or kind in OWN_PAPER
            (own if alone else second).append(STUDIES[kind](source))
    if main is not None:
        second += [states_section(main), flow_section(main), *extra, evidence_section(main)]
    return _rendered(
        main=main,
        title=plain(main.at("cell", "name")) if main else _title(sources),
        locks=list(range(min(LOCKS, len(main.at("locked"))))) if main else [],
        cards=cards(main) if main else "",
        chief=chief(main) if main else "",
        first=first,
        own=own,
        second=second,
        planning=PLANNING,
        patterns=patterns(),
        styles=Markup("\n".join(asset(name) for name in ("report.css", *styles))),
        scripts=Markup("\n".join(asset(name) for name in ("report.js", *scripts))),
    )


def _title(sources: Sequence[tuple[str, Source]]) -> str:
    """What a page without a result is about: the case, cell or plan of its only answer."""
    kind, source = sources[0]
    if len(sources) == 1 and kind in NAMED_BY:
        return plain(source.at(NAMED_BY[kind]))
    return "Answers of studies"


def _rendered(**parts: Any) -> str:
    made = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    return made.from_string(asset("report.html")).render(**parts)
