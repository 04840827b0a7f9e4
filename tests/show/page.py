"""A page read back: its marked numbers and sentences, and the text that carries no mark."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

from cellsim.show.report import report_page
from cellsim.show.report_numbers import SHOWN
from cellsim.show.report_words import WORDS

VOID = {"meta", "link", "br", "hr", "img", "input"}
UNREAD = {"script", "style"}


@dataclass
class Element:
    """One element with its attributes, its children and texts in order."""

    name: str
    attributes: dict[str, str]
    inside: list[Element | str] = field(default_factory=list)

    def text(self) -> str:
        """All text inside."""
        return "".join(part if isinstance(part, str) else part.text() for part in self.inside)

    def all(self) -> Iterator[Element]:
        """This element and all inside it."""
        yield self
        for part in self.inside:
            if isinstance(part, Element):
                yield from part.all()

    def having(self, attribute: str) -> list[Element]:
        """All elements with an attribute."""
        return [element for element in self.all() if attribute in element.attributes]

    def named(self, name: str) -> list[Element]:
        """All elements of a name."""
        return [element for element in self.all() if element.name == name]

    def loose_texts(self) -> Iterator[str]:
        """Texts that are neither marked, nor on an axis, nor read by nobody."""
        marked = {"data-key", "data-words"} & self.attributes.keys()
        if marked or self.name in UNREAD or "tick" in self.attributes.get("class", "").split():
            return
        for part in self.inside:
            if isinstance(part, str):
                yield part
            else:
                yield from part.loose_texts()


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.root = Element("page", {})
        self.open = [self.root]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, {key: value or "" for key, value in attrs})
        self.open[-1].inside.append(element)
        if tag not in VOID:
            self.open.append(element)

    def handle_endtag(self, tag: str) -> None:
        assert self.open[-1].name == tag, f"</{tag}> closes <{self.open[-1].name}>"
        self.open.pop()

    def handle_data(self, data: str) -> None:
        self.open[-1].inside.append(data)


def read_page(text: str) -> Element:
    """The elements of a page; every element must be closed in order."""
    reader = _Reader()
    reader.feed(text)
    reader.close()
    assert [element.name for element in reader.open] == ["page"], reader.open[-1].name
    return reader.root


def value_at(answer: Any, key: str) -> Any:
    """What a `data-key` names: keys and positions between dots, `~1` for a dot and `~0` for ~."""
    for part in key.split("."):
        name = part.replace("~1", ".").replace("~0", "~")
        answer = answer[int(name)] if isinstance(answer, list) else answer[name]
    return answer


def page_of(answers: list[tuple[str, Any]], **options: Any) -> Element:
    """The page of some answers, read back."""
    names = [answer["cell"]["name"] for kind, answer in answers if kind == "result"]
    return read_page(report_page(answers, names, **options))


def wrong_numbers(page: Element, answers: list[Any]) -> Iterator[str]:
    """Numbers and sentences of a page that are not what the answers say."""
    for element in page.having("data-key"):
        answer = answers[int(element.attributes.get("data-of", 0))]
        show, _, digits = element.attributes["data-as"].partition(":")
        value = value_at(answer, element.attributes["data-key"])
        said = SHOWN[show](value, int(digits) if digits else None)
        if element.text() != said:
            yield f"{element.attributes['data-key']}: {element.text()}, not {said}"
    for element in page.having("data-words"):
        answer = answers[int(element.attributes.get("data-of", 0))]
        path = element.attributes.get("data-at")
        said = WORDS[element.attributes["data-words"]](answer, value_at(answer, path) if path else answer)
        if element.text().split() != said.split():
            yield f"{element.attributes['data-words']}: {element.text()}, not {said}"


HOSTILE = (
    "<script>alert(1)</script>",
    '"quoted" & \'so\' on="x"',
    "</style></script><b>",
    "very " * 60 + "long",
    "\u202eright to left \u05d0\u05d1",
    "{{ 7 * 7 }}",
)  # fmt: skip


def renamed(part: Any, names: dict[str, str]) -> Any:
    """An answer in which keys and texts are replaced."""
    if isinstance(part, dict):
        return {names.get(key, key): renamed(value, names) for key, value in part.items()}
    if isinstance(part, list):
        return [renamed(value, names) for value in part]
    return names.get(part, part) if isinstance(part, str) else part
