"""The pages of the guide: read strictly, whole on the terminal and as one HTML file, and in the package."""

from __future__ import annotations

import os
import re
import tomllib
from fnmatch import fnmatch
from html.parser import HTMLParser
from pathlib import Path

import click
import pytest
from browser import opened
from click.testing import CliRunner
from rich.console import Console

from cellsim.cli import main
from cellsim.guide.blocks import Fence, Heading, Items, Paragraph, Span, Table, plain_words, read_blocks
from cellsim.guide.pages import PAGES, page_text
from cellsim.guide.terminal import print_blocks
from cellsim.guide.web import guide_html

ROOT = Path(__file__).parents[2]
NAMES = [page.name for page in PAGES]


@pytest.fixture(scope="module")
def blocks():
    """The blocks of every page."""
    return {name: read_blocks(page_text(name, main)) for name in NAMES}


@pytest.fixture(scope="module")
def page_file(blocks, tmp_path_factory):
    """The guide as a file."""
    file = tmp_path_factory.mktemp("html") / "guide.html"
    file.write_text(guide_html([(page, blocks[page.name]) for page in PAGES], "1.2.3"), encoding="utf-8")
    return file


def shown(found, width: int) -> str:
    """A page as the terminal shows it."""
    console = Console(width=width, record=True, file=open(os.devnull, "w"))  # noqa: SIM115
    print_blocks(found, console)
    console.file.close()
    return console.export_text()


def words_of(found) -> list[str]:
    """All words of a page that is read, without fences."""
    lines = []
    for block in found:
        match block:
            case Heading(_, words) | Paragraph(words):
                lines.append(words)
            case Items(_, items):
                lines += items
            case Table(heads, rows):
                lines += [cell for row in (*([heads] if len(heads) < 2 else []), *rows) for cell in row]
    return " ".join(plain_words(line) for line in lines).split()


@pytest.mark.parametrize("width", [80, 100])
@pytest.mark.parametrize("name", NAMES)
def test_a_page_is_whole_on_the_terminal(blocks, name, width):
    """No line of words is wider than the terminal, and no word is lost."""
    text = shown(blocks[name], width)
    fenced = {
        "  " + line for block in blocks[name] if isinstance(block, Fence) for line in block.text.split("\n")
    }
    assert [line for line in text.splitlines() if len(line) > width and line.rstrip() not in fenced] == []
    printed = re.sub(r"\s+|\(cellsim guide \w+\)", "", re.sub(r"\s+", " ", text))
    assert [word for word in words_of(blocks[name]) if word not in printed] == []
    assert "…" not in text


@pytest.mark.parametrize("page", PAGES, ids=NAMES)
def test_a_page_has_its_title_and_leads_only_to_pages(blocks, page):
    """One title, that of the list; links lead to pages that are there."""
    titles = [plain_words(b.words) for b in blocks[page.name] if isinstance(b, Heading) and b.level == 1]
    assert titles == [page.title]
    assert set(re.findall(r"\]\(#([\w-]+)\)", page_text(page.name, main))) <= set(NAMES)


def test_every_command_with_every_option_is_listed():
    """From the commands themselves, in the order of the work."""
    text = page_text("commands", main)
    assert re.findall(r"^## (.+)$", text, re.M) == list(main.commands)
    for command in main.commands.values():
        for option in (p for p in command.params if isinstance(p, click.Option)):
            assert option.opts[0] in text


@pytest.mark.parametrize(
    "text",
    [
        "![picture](x.png)", "<b>bold</b>\n<!-- x -->\n\n***", "- one\n  - below", "[out](https://example.org)",
        "- one\n\n  two", "    indented",
    ],
)  # fmt: skip
def test_what_pages_do_not_have_is_refused(text):
    """Pictures, rules, lists in lists, links out of the guide: the terminal could not show them."""
    with pytest.raises(ValueError, match=r"guide holds? no|no [a-z_]+"):
        read_blocks(text)


def test_blocks_are_what_is_written():
    """A page with one of each."""
    found = read_blocks(
        "# T\n\none *two* `x` [to](#keys)\nmore\n\n> mind\n\n1. a\n2. b\n\n|h|i|\n|-|-|\n|`a`|b\\|c|\n"
    )
    assert found == [
        Heading(1, (Span("T"),)),
        Paragraph(
            (Span("one "), Span("two", "stress"), Span(" "), Span("x", "code"), Span(" "))
            + (Span("to", "text", "keys"), Span(" "), Span("more"))
        ),
        Paragraph((Span("mind"),), caution=True),
        Items(True, ((Span("a"),), (Span("b"),))),
        Table(((Span("h"),), (Span("i"),)), (((Span("a", "code"),), (Span("b|c"),)),)),
    ]


class Seen(HTMLParser):
    """Places, links, outside addresses and the words of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.places: list[str] = []
        self.links: list[str] = []
        self.tags: set[str] = set()
        self.words: list[str] = []

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        found = dict(attrs)
        if "id" in found:
            self.places.append(found["id"])
        if "href" in found:
            self.links.append(found["href"])
        assert "src" not in found

    def handle_data(self, data):
        self.words.append(data)


def test_the_html_file_is_complete_in_itself(page_file, blocks):
    """No script, nothing from outside; every link has its place, no place is there twice, no word is lost."""
    seen = Seen()
    seen.feed(page_file.read_text(encoding="utf-8"))
    assert not seen.tags & {"script", "link", "img", "iframe"}
    assert all(link.startswith("#") and link[1:] in seen.places for link in seen.links)
    assert len(seen.places) == len(set(seen.places))
    text = re.sub(r"\s+", "", "".join(seen.words))
    for name in NAMES:
        assert [word for word in words_of(blocks[name]) if word not in text] == []


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("width", [1280, 390])
def test_the_html_file_fits_the_screen(page_file, width, dark):
    """Nothing is cut or pushes the page wider, no error, no request; dark is dark."""
    with opened(page_file, width=width, dark=dark) as seen:
        assert seen.page.evaluate("document.documentElement.scrollWidth") <= width
        wide = seen.page.evaluate(
            "[...document.querySelectorAll('td, th, p, li, h1, h2, h3')]"
            ".filter(e => e.getBoundingClientRect().right > innerWidth + 1).map(e => e.textContent)"
        )
        assert wide == []
        paper = seen.page.evaluate("getComputedStyle(document.body).backgroundColor")
        assert (sum(map(int, re.findall(r"\d+", paper))) < 200) is dark
        assert (seen.errors, seen.requests) == ([], [])


def test_the_command_lists_prints_and_writes(tmp_path, monkeypatch):
    """The list alone; a page; a file that is there is not overwritten; a page that is not there is told."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    run = CliRunner().invoke
    listed = run(main, ["guide"]).output
    assert all(f"\n{page.name}: {page.title}\n  {page.says}\n" in listed for page in PAGES)
    assert "Safety, honesty, typical mistakes" in run(main, ["guide", "cautions"]).output
    done = run(main, ["guide", "--html", "g.html", "--files", "bell"])
    assert done.exit_code == 0 and "written: g.html" in done.output
    assert (tmp_path / "bell" / "cells" / "bell.yaml").is_file()
    again = run(main, ["guide", "--html", "g.html", "--files", "other"])
    assert again.exit_code == 2 and "not overwritten" in again.output
    assert not (tmp_path / "other").exists()
    wrong = run(main, ["guide", "tutoral"])
    assert wrong.exit_code == 2
    assert "no page 'tutoral'; its pages are tutorial, words, keys" in wrong.output


def test_all_files_of_the_guide_go_into_the_package():
    """Every page and file is named by a pattern of the package data."""
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    patterns = settings["tool"]["setuptools"]["package-data"]["cellsim.guide"]
    folder = ROOT / "cellsim" / "guide"
    data = [file.relative_to(folder) for file in folder.rglob("*") if file.suffix in (".md", ".csv", ".yaml")]
    assert len(data) > 20
    assert [
        file
        for file in data
        if not any(
            fnmatch(str(file), pattern) and pattern.count("/") == str(file).count("/") for pattern in patterns
        )
    ] == []
