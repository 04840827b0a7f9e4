"""The report page in a real browser: no error, no request, every control, every width, both looks, paper."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from browser import opened
from click.testing import CliRunner
from planning import balanced, crewed, loads, paid_back

from cellsim.cli import main
from cellsim.describe.resolve import load
from cellsim.show.palette import contrast
from cellsim.show.report import report_page
from cellsim.study.study import compare, run, size_buffers

SCENARIOS = Path(__file__).parents[2] / "scenarios"
NAMES = ["padlock", "tape_measure", "spinning_top"]


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Pages of the largest cell, of two smaller ones, of alternatives and other studies, with a replay."""
    folder = tmp_path_factory.mktemp("pages")
    found = {}
    results: dict[str, Any] = {}
    for name in NAMES:
        results[name] = run(load(SCENARIOS / f"{name}.yaml"), replications=2)
        found[name] = folder / f"{name}.html"
        found[name].write_text(report_page([("result", results[name])], [name]), encoding="utf-8")
    top = load(SCENARIOS / "spinning_top.yaml")
    more = load(SCENARIOS / "spinning_top.yaml", ["stores.tray.places: 16"])
    pairs = compare(top, {"16 places": more}, replications=2)
    answers = [
        ("result", results["spinning_top"]),
        ("result", run(more, replications=2)),
        ("comparison", pairs),
    ]
    answers.append(("buffers", size_buffers(top, total=2, matters="20 per h", most=4)))
    many = json.loads(json.dumps(answers))
    found["many"] = folder / "many.html"
    found["many"].write_text(report_page(many, ["as it is", "16 places"], pairs=pairs), encoding="utf-8")
    planning = [
        ("payback", paid_back()),
        ("load", loads()),
        ("crew", crewed(folder)),
        ("balance", balanced()),
    ]
    for name, shown in (("money", planning[:1]), ("planning", planning)):
        found[name] = folder / f"{name}.html"
        found[name].write_text(report_page(shown, []), encoding="utf-8")
    found["beside"] = folder / "beside.html"
    beside = report_page([("result", results["tape_measure"]), *planning[:2]], ["tape measure"])
    found["beside"].write_text(beside, encoding="utf-8")
    found["whole"] = folder / "whole.html"
    study = str(folder / "top")
    for words in (
        ["run", str(SCENARIOS / "spinning_top.yaml"), "-n", "3", "--out", study, "-q", "-w", "1"],
        ["report", study, "--out", str(found["whole"])],
    ):
        done = CliRunner().invoke(main, words)
        assert done.exit_code == 0, done.output
    return found


@pytest.mark.parametrize("name", [*NAMES, "many", "whole", "money", "planning", "beside"])
def test_a_page_opens_in_silence(pages: dict[str, Path], name: str) -> None:
    """No error, nothing asked for, nothing wider than the window of a desk or a phone, tables open or not."""
    for width in (1280, 390):
        with opened(pages[name], width) as seen:
            for _ in range(2):
                wide = seen.page.evaluate("document.documentElement.scrollWidth")
                assert wide <= width
                seen.page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
            size = "({x: 0, y: 0, ...document.querySelector('h1').getBoundingClientRect().toJSON()})"
            assert seen.page.evaluate(size)["height"] > 10
        assert seen.errors == [] and seen.requests == []


def test_hostile_names_do_nothing(pages: dict[str, Path], tmp_path: Path) -> None:
    """A name that is a script, or endless, stays text, on the page and in the box of what is pointed at."""
    bad, endless = "<img src=x onerror=alert(1)>", "\u05d0" * 400
    result = json.dumps(run(load(SCENARIOS / "spinning_top.yaml"), replications=2))
    names = {'"press"': json.dumps(bad), '"fit"': json.dumps(endless), '"tray"': json.dumps("W" * 400)}
    for old, new in names.items():
        result = result.replace(old, new)
    found = json.loads(result)
    found["cell"]["name"] = "cell" * 200
    file = tmp_path / "bad.html"
    file.write_text(report_page([("result", found)], ["x"]), encoding="utf-8")
    with opened(file) as seen:
        seen.page.hover("#states .wide [data-row=stations-0] >> nth=0")
        assert bad in seen.page.inner_text("#tip")
        assert seen.page.evaluate("document.images.length") == 0
        for width in (1280, 390):
            seen.page.set_viewport_size({"width": width, "height": 800})
            assert seen.page.evaluate("document.documentElement.scrollWidth") <= width
    assert seen.errors == [] and seen.requests == []


def test_the_look_changes_and_comes_back(pages: dict[str, Path]) -> None:
    """The button says what it changes to, the colours change, and once more they are as before."""
    with opened(pages["tape_measure"], dark=True) as seen:
        page = seen.page
        colour = "getComputedStyle(document.body).backgroundColor"
        dark = page.evaluate(colour)
        assert page.inner_text("#look") == "Light"
        page.click("#look")
        assert page.inner_text("#look") == "Dark" and page.evaluate(colour) != dark
        page.focus("#look")
        page.keyboard.press("Enter")
        assert page.evaluate(colour) == dark


def test_the_print_button_prints(pages: dict[str, Path]) -> None:
    """It calls the print of the browser once."""
    with opened(pages["tape_measure"]) as seen:
        seen.page.evaluate("() => { window.printed = 0; window.print = () => { window.printed += 1; }; }")
        seen.page.click("#print")
        assert seen.page.evaluate("window.printed") == 1


def test_what_is_pointed_at_says_its_numbers(pages: dict[str, Path]) -> None:
    """Pointing at an hour shows the row of that hour; leaving hides it; arrows and Escape do the same."""
    with opened(pages["tape_measure"]) as seen:
        page = seen.page
        page.hover("#output .wide [data-row=hour-2]")
        row = page.evaluate("document.querySelector('tr[data-row=hour-2]').textContent")
        assert page.is_visible("#tip")
        said = page.eval_on_selector_all("#tip b", "all => all.map(b => b.textContent).join('')")
        assert said == row
        page.hover("h1")
        assert not page.is_visible("#tip")
        drawing = page.locator("#output .drawing", has=page.locator(".wide [data-row=hour-0]"))
        drawing.focus()
        page.keyboard.press("ArrowRight")
        first = page.inner_text("#tip b >> nth=0")
        page.keyboard.press("ArrowRight")
        assert (first, page.inner_text("#tip b >> nth=0")) == ("14:00-15:00", "15:00-16:00")
        page.keyboard.press("ArrowLeft")
        assert page.inner_text("#tip b >> nth=0") == first
        page.keyboard.press("Escape")
        assert not page.is_visible("#tip")
        assert page.evaluate("document.querySelectorAll('.pointed').length") == 0


def test_every_link_leads_to_a_part_and_every_table_opens(pages: dict[str, Path]) -> None:
    """The list of parts names each section; a table opens by its heading."""
    with opened(pages["many"]) as seen:
        page = seen.page
        sections = page.eval_on_selector_all(".sheet > section", "all => all.map(s => s.id)")
        links = page.eval_on_selector_all("#parts a", "all => all.map(a => a.getAttribute('href').slice(1))")
        assert links == sections and len(links) == 8
        for k in range(len(links)):
            page.click(f"#parts a >> nth={k}")
            assert page.url.endswith(f"#{links[k]}")
        table = page.locator("#output details").first
        assert not table.locator("table").is_visible()
        table.locator("summary").click()
        assert table.locator("table").is_visible()


COLOURS = """() => {
  const found = [];
  const clear = c => c === 'transparent' || c === 'rgba(0, 0, 0, 0)';
  for (const e of document.querySelectorAll('body *')) {
    const own = Array.from(e.childNodes).some(n => n.nodeType === 3 && n.textContent.trim());
    if (!own || !e.getClientRects().length || e.closest('script, style, title, .letter')) continue;
    const style = getComputedStyle(e);
    let back = e;
    while (back && clear(getComputedStyle(back).backgroundColor)) back = back.parentElement;
    const ink = e.closest('svg') ? style.fill : style.color;
    const ground = getComputedStyle(back || document.documentElement).backgroundColor;
    found.push([ink, ground, e.textContent.trim().slice(0, 40)]);
  }
  return found;
}"""


def as_hex(colour: str) -> str:
    """`rgb(1, 2, 3)` as `#010203`."""
    numbers = [int(float(n)) for n in re.findall(r"[\d.]+", colour)[:3]]
    return "#" + "".join(f"{n:02X}" for n in numbers)


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("name", ["many", "whole", "planning"])
def test_every_text_can_be_read(pages: dict[str, Path], name: str, dark: bool) -> None:
    """Contrast of each text with what is behind it, and on the shaded parts of drawings: 4.5 or more."""
    with opened(pages[name], dark=dark) as seen:
        page = seen.page
        page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
        texts = page.evaluate(COLOURS)
        variable = "n => getComputedStyle(document.documentElement).getPropertyValue(n).trim()"
        shade, band, quiet, accent, ink = (
            page.evaluate(variable, f"--{name}") for name in ("shade", "band", "quiet", "accent", "ink")
        )
        assert len(texts) > 200
        weak = {(ink, back, text) for ink, back, text in texts if contrast(as_hex(ink), as_hex(back)) < 4.5}
        assert weak == set()
        assert min(contrast(colour, shade) for colour in (quiet, accent, ink)) >= 4.5
        assert min(contrast(colour, band) for colour in (accent, ink)) >= 4.5


def pages_of(pdf: bytes) -> int:
    """How many pages a PDF has."""
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))


@pytest.mark.parametrize("name", [*NAMES, "many", "whole"])
def test_paper_has_two_pages_and_cuts_nothing(pages: dict[str, Path], name: str) -> None:
    """Two A4 pages, nothing on them is cut off, controls and tables to open are left out."""
    with opened(pages[name]) as seen:
        page = seen.page
        pdf = page.pdf(prefer_css_page_size=True, print_background=True)
        assert pages_of(pdf) == 2
        sizes = re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)", pdf)
        assert {(round(float(w)), round(float(h))) for w, h in sizes} == {(595, 842)}
        page.set_viewport_size({"width": 695, "height": 1000})  # 184 mm, what A4 leaves between its margins
        page.emulate_media(media="print")
        cut = page.evaluate(
            "Array.from(document.querySelectorAll('.sheet, .part, .group'))"
            ".filter(e => e.scrollHeight > e.clientHeight + 2)"
            ".map(e => e.className + ': ' + e.textContent.slice(0, 60))"
        )
        assert cut == []
        assert not page.is_visible("#look") and not page.is_visible("summary >> nth=0")
        assert page.is_visible("#output svg.narrow >> nth=0") and page.is_visible("#limits svg.wide")
        box = page.evaluate("document.querySelector('#limits svg.wide').getBoundingClientRect().height")
        assert box > 100  # px: the waterfall is not squeezed away


def test_money_and_paper_work_have_sheets_of_their_own(pages: dict[str, Path]) -> None:
    """The case of an investment alone takes two sheets; all that is drawn is on paper, nothing is cut off.

    Beside a result they stand between its two sheets.
    """
    with opened(pages["money"]) as seen:
        assert pages_of(seen.page.pdf(prefer_css_page_size=True, print_background=True)) == 2
    with opened(pages["planning"]) as seen:
        page = seen.page
        page.set_viewport_size({"width": 695, "height": 1000})
        page.emulate_media(media="print")
        ids = page.eval_on_selector_all("section", "all => all.map(s => s.id)")
        assert ids == ["payback-0", "load-1", "crew-2", "balance-3"]
        for name in ids:
            assert page.is_visible(f"#{name} .verdict") and page.is_visible(f"#{name} svg >> nth=0")
        wide = page.evaluate(
            "Array.from(document.querySelectorAll('table, svg.wide, svg.half'))"
            ".filter(e => e.getBoundingClientRect().right > 697).map(e => e.textContent.slice(0, 60))"
        )
        assert wide == []
    with opened(pages["beside"]) as seen:
        assert pages_of(seen.page.pdf(prefer_css_page_size=True, print_background=True)) >= 2 + 2 + 1
        seen.page.emulate_media(media="print")
        assert seen.page.is_visible("#payback-1 .verdict") and seen.page.is_visible("#evidence")


def test_a_load_is_pointed_at(pages: dict[str, Path]) -> None:
    """Pointing at a bar of the load chart shows the seconds of who does that work."""
    with opened(pages["planning"]) as seen:
        page = seen.page
        page.hover("#load-1 .wide [data-row=load-1-posts-0] >> nth=0")
        said = page.inner_text("#tip")
        assert "P1" in said and "With stops" in said and "89.1 %" in said


def test_one_heading_of_the_first_order_and_a_language(pages: dict[str, Path]) -> None:
    """What readers for the blind go by, as the browser sees it."""
    with opened(pages["padlock"]) as seen:
        page = seen.page
        assert page.get_attribute("html", "lang") == "en"
        levels = page.eval_on_selector_all("h1, h2, h3, h4", "all => all.map(h => +h.tagName[1])")
        assert levels.count(1) == 1 and levels[0] == 1
        unnamed = "all => all.filter(b => !(b.textContent.trim() || b.getAttribute('aria-label'))).length"
        assert page.eval_on_selector_all("button, a, summary, input", unnamed) == 0


def test_the_shift_on_the_page_is_played_back(pages: dict[str, Path]) -> None:
    """The replay and the lanes stand before the evidence and work there: worst hour, play, closer."""
    with opened(pages["whole"]) as seen:
        page = seen.page
        order = page.evaluate("Array.from(document.querySelectorAll('section[id]')).map(s => s.id)")
        assert order.index("replay") < order.index("timelines") < order.index("evidence")
        before = page.inner_text("#replay")
        for section, name in (("replay", "Worst hour"), ("replay", "Play"), ("timelines", "Closer")):
            page.locator(f"#{section}").get_by_role("button", name=name, exact=True).click()
            page.wait_for_timeout(200)
        assert page.inner_text("#replay") != before
        assert seen.errors == [] and seen.requests == []
    assert pages["whole"].stat().st_size < 5_000_000
