"""Numbers of a page, each marked with where in the answer it stands, so that a page can be checked.

`data-key` holds the path, `data-as` how it is shown, `data-of` which answer of the page it is from.
Whole sentences carry `data-words`, the name of the function that makes them from the answer.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from cellsim.show import duration, number, percent
from cellsim.show.compared import signed, size
from cellsim.show.paid_back import money, rate_words, rounded, years_words
from cellsim.show.report_words import WORDS
from cellsim.show.svg import tag, text

Part = str | int

SHOWN: Mapping[str, Callable[[Any, int | None], str]] = {
    "number": number,
    "percent": lambda value, digits: percent(value, digits or 0),
    "hundredths": lambda value, digits: f"{100 * value:.{digits or 0}f}",
    "fixed": lambda value, digits: f"{value:.{digits}f}",
    "duration": lambda value, _: duration(value),
    "signed": lambda value, digits: f"{value:+.{2 if digits is None else digits}f}",
    "text": lambda value, _: str(value),
    "size": lambda value, _: size(value, ""),
    "size_s": lambda value, _: size(value, "s"),
    "difference": lambda value, _: signed(value, ""),
    "difference_s": lambda value, _: signed(value, "s"),
    "money": lambda value, digits: money(value, digits or 0),
    "less": lambda value, digits: money(-value, digits or 0),
    "rounded": lambda value, _: rounded(value),
    "years": lambda value, _: years_words(value),
    "rate": lambda value, _: rate_words(value),
    "internal_rate": lambda value, _: "below 0" if value < 0 else percent(value),
}


def key_of(path: Sequence[Part]) -> str:
    """A path as one text, parts between dots; a dot in a name is written ~1 and ~ is written ~0."""
    return ".".join(str(part).replace("~", "~0").replace(".", "~1") for part in path)


def value_at(answer: Any, path: Sequence[Part]) -> Any:
    """What stands in an answer under a path of keys and positions."""
    for part in path:
        answer = answer[part]
    return answer


@dataclass(frozen=True, slots=True)
class Source:
    """An answer from which a page copies numbers, and its position among the answers of the page."""

    answer: Mapping[str, Any]
    index: int = 0

    def at(self, *path: Part) -> Any:
        """The value under a path."""
        return value_at(self.answer, path)

    def shown(self, *path: Part, show: str = "number", digits: int | None = None) -> str:
        """The value under a path as text."""
        return SHOWN[show](self.at(*path), digits)

    def marks(self, *path: Part, show: str = "number", digits: int | None = None) -> dict[str, str | None]:
        """The attributes that say where a shown number stands."""
        return {
            "data_key": key_of(path),
            "data_as": show if digits is None else f"{show}:{digits}",
            "data_of": str(self.index) if self.index else None,
        }

    def num(self, *path: Part, show: str = "number", digits: int | None = None) -> Markup:
        """A number of the text, marked."""
        marks = self.marks(*path, show=show, digits=digits)
        return tag("data", self.shown(*path, show=show, digits=digits), value=self.at(*path), **marks)

    def label(
        self,
        x: float,
        y: float,
        *path: Part,
        class_: str,
        show: str = "number",
        digits: int | None = None,
        anchor: str = "middle",
    ) -> Markup:
        """A number of a drawing, marked."""
        marks = self.marks(*path, show=show, digits=digits)
        return text(x, y, self.shown(*path, show=show, digits=digits), class_, anchor, **marks)

    def ends(self, *path: Part, show: str = "number", digits: int | None = None) -> Markup:
        """The two ends of the interval under a path as `3 to 5`; empty where there is none."""
        low, high = self.at(*path)
        if low is None or high is None:
            return Markup("")
        one, two = (self.num(*path, k, show=show, digits=digits) for k in (0, 1))
        return Markup("{} to {}").format(one, two)

    def words(self, name: str, *path: Part, of: str = "span", class_: str | None = None) -> Markup:
        """A sentence that a function of WORDS makes of the answer and what stands under a path."""
        said = WORDS[name](self.answer, self.at(*path))
        key = key_of(path) if path else None
        index = str(self.index) if self.index else None
        return tag(of, said, class_=class_, data_words=name, data_at=key, data_of=index)
