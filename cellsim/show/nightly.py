"""A night of cells for the terminal, as JUnit XML for a CI system, and as one page."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING
from xml.etree import ElementTree

from cellsim.show import count_of, number, plain
from cellsim.show.screen_page import Page

if TYPE_CHECKING:
    from rich.console import Console

    from cellsim.evidence.equivalence import Comparison
    from cellsim.evidence.nightly import Night

WORDS = {
    "equal": "equal",
    "passed": "passed",
    "moved": "MOVED",
    "broken": "BROKEN",
    "new": "new",
    "wrong": "WRONG FILE",
}


def figure_words(key: str, found: Comparison) -> str:
    """How far a figure moved, as `output per hour -1.2 (-1.3 to -1.1; margin 0.5): moved`."""
    name = key.replace("_", " ")
    return (
        f"{name} {found.mean:+.3g} ({found.low:+.3g} to {found.high:+.3g}; margin {number(found.margin)}):"
        f" {found.verdict}"
    )


def summary(nights: Sequence[Night]) -> str:
    """One line for the whole night."""
    failed = [night.name for night in nights if night.failed]
    told = count_of(len(nights), "cell")
    if failed:
        return f"{told}: {count_of(len(failed), 'fails', 'fail')}: {', '.join(failed)}"
    new = sum(night.verdict == "new" for night in nights)
    return f"{told}: none fails" + (f", {new} without a baseline" if new else "")


def print_nights(nights: Sequence[Night], console: Console) -> None:
    """A line for each cell, and the figures of those that are not equal."""
    page = Page(console)
    page.line()
    page.line(plain(summary(nights)), style="bold")
    for night in nights:
        page.line(f"{WORDS[night.verdict]:10} {plain(night.name)}: {plain(night.why)}")
        for key, found in night.figures.items():
            page.line(figure_words(key, found), indent=6)


def junit(nights: Sequence[Night], name: str) -> str:
    """The night in the format that CI systems read: a test case for each cell."""
    failures = sum(night.failed for night in nights)
    suite = ElementTree.Element("testsuite", name=name, tests=str(len(nights)), failures=str(failures))
    for night in nights:
        case = ElementTree.SubElement(suite, "testcase", classname=name, name=night.name)
        text = "\n".join([night.why, *(figure_words(k, f) for k, f in night.figures.items())])
        if night.failed:
            failure = ElementTree.SubElement(case, "failure", message=night.why)
            failure.text = text
        else:
            ElementTree.SubElement(case, "system-out").text = text
    ElementTree.indent(suite)
    return '<?xml version="1.0" encoding="utf-8"?>\n' + ElementTree.tostring(suite, encoding="unicode") + "\n"


PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>{{ title }}</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<style>
:root { color-scheme: light dark; --paper: #ffffff; --ink: #1b1b1f; --quiet: #5c5c66; --line: #c9d3e0; }
@media (prefers-color-scheme: dark) {
  :root { --paper: #17181c; --ink: #ececf0; --quiet: #a9abb6; --line: #3a4350; } }
body { background: var(--paper); color: var(--ink); font: 16px/1.5 system-ui, sans-serif; margin: 2rem auto;
  max-width: 60rem; padding: 0 1rem; }
table { border-collapse: collapse; width: 100%; } th, td { text-align: left; vertical-align: top;
  padding: .4rem .8rem .4rem 0; border-bottom: 1px solid var(--line); overflow-wrap: anywhere; }
.verdict { font-weight: 700; white-space: nowrap; } .quiet { color: var(--quiet); }
</style></head><body>
<h1>{{ title }}</h1><p><strong>{{ summary }}</strong></p>
<table><thead><tr><th>Verdict</th><th>Cell</th><th>What was found</th></tr></thead><tbody>
{% for row in rows %}<tr><td class="verdict">{{ row.verdict }}</td><td>{{ row.name }}</td><td>{{ row.why }}
{% for text in row.figures %}<br><span class="quiet">{{ text }}</span>{% endfor %}</td></tr>
{% endfor %}</tbody></table>
<p class="quiet">{{ foot }}</p></body></html>
"""


def night_page(nights: Sequence[Night], title: str, foot: str) -> str:
    """The night as one HTML page that asks for nothing outside itself."""
    from jinja2 import Environment

    rows = [
        {
            "verdict": WORDS[night.verdict],
            "name": plain(night.name),
            "why": plain(night.why),
            "figures": [figure_words(key, found) for key, found in night.figures.items()],
        }
        for night in nights
    ]
    template = Environment(autoescape=True).from_string(PAGE)
    return template.render(title=title, summary=plain(summary(nights)), rows=rows, foot=foot)
