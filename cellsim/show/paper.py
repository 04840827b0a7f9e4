"""The paper check in words: limit, estimate with its usual error, and how far the runs are from it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from cellsim.show import number, plain


def limit_on_paper(paper: Mapping[str, Any]) -> str:
    """What the time of the busiest allows, as `at most 136 good units per working hour (P1)`."""
    found = paper["limit"]
    if found is None:
        return "no limit can be told: nothing settles how many units pass the stations"
    return f"at most {number(found['value'])} good units per working hour ({plain(', '.join(found['who']))})"


def estimate_on_paper(paper: Mapping[str, Any]) -> str:
    """The estimate with its method, or why there is none."""
    found = paper["estimate"]
    if found is None:
        return f"no estimate ({plain(paper['how'])})"
    return f"about {number(found['value'], 1)} ({plain(paper['how'])})"


def paper_words(paper: Mapping[str, Any], starts_empty: bool) -> list[str]:
    """Sentences for a result: limit, estimate, and what it means where the runs differ.

    `starts_empty`: the hours in which the cell fills are counted, which an estimate for the long run leaves
    out.
    """
    limit, found = paper["limit"], paper["estimate"]
    out = [f"On paper {limit_on_paper(paper)}."]
    if limit is not None and limit["above_limit"]:
        out.append(
            "The runs lie above it: units in the cell at the start, or work that goes on after the bell, are"
            " not in it. If there is neither, do not use these figures."
        )
    if found is None:
        return [*out, f"For this cell paper gives {estimate_on_paper(paper)}."]
    out.append(f"For a cell like this paper gives {estimate_on_paper(paper)}.")
    if found["difference"] is None:
        return out
    apart = 100 * found["difference"]
    out.append(f"The runs give {abs(apart):.1f} % {'more' if apart >= 0 else 'less'}.")
    if found["agrees"] is False:
        if starts_empty and apart < 0:
            out.append("They count the time in which the cell fills; paper speaks of the long run.")
        else:
            out.append("That is more than usual: find out why before you rely on either.")
    return out
