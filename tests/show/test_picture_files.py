"""Pictures for papers and slides: vectors with their letters, equal files for equal results."""

from __future__ import annotations

import json
import re
import subprocess
import sys
import xml.etree.ElementTree as ElementTree
import zlib
from pathlib import Path

import pytest
from browser import opened
from click.testing import CliRunner

from cellsim.cli import main
from cellsim.show.plots import save_pictures

CELL = """\
cell: Small
shifts: {day: {from: 06:00, to: 08:00}}
route: [press]
stations: {press: {cycle: {law: exponential, mean: 24 s}}}
study: {shifts: 1, replications: 2}
"""
IN_A_NEW_PROCESS = """
import json, sys
from pathlib import Path
from cellsim.show.plots import save_pictures
save_pictures(json.load(sys.stdin), Path(sys.argv[1]), sys.argv[2])
"""


def streams(pdf: bytes) -> bytes:
    """The contents of a PDF file, unpacked."""
    packed = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", pdf, re.S)
    return b"\n".join(zlib.decompressobj().decompress(part) for part in packed if part[:1] == b"\x78")


@pytest.mark.parametrize("kind", ["png", "svg", "pdf"])
def test_equal_results_give_equal_files(result, tmp_path, kind):
    """The same bytes from processes that order sets otherwise; no year of today anywhere."""
    for seed in ("1", "2"):
        (tmp_path / seed).mkdir()
        subprocess.run(
            [sys.executable, "-c", IN_A_NEW_PROCESS, str(tmp_path / seed), kind],
            input=json.dumps(result),
            text=True,
            check=True,
            env={"PYTHONHASHSEED": seed, "PYTHONPATH": str(Path(__file__).parents[2]), "HOME": str(tmp_path)},
        )
    for name in (f"output_per_hour.{kind}", f"state_shares.{kind}"):
        first = (tmp_path / "1" / name).read_bytes()
        assert first == (tmp_path / "2" / name).read_bytes()
        assert b"CreationDate" not in first and b"dc:date" not in first


def test_a_pdf_takes_its_letters_along(result, tmp_path):
    """Fonts are inside as TrueType, none as Type 3, and nothing is a picture of dots."""
    for path in save_pictures(result, tmp_path, "pdf"):
        pdf = path.read_bytes()
        assert b"/FontFile2" in pdf
        assert b"/Type3" not in pdf
        assert b"/Subtype /Image" not in pdf
        assert b"BT" in streams(pdf)  # text is set as text


def test_an_svg_needs_no_font_and_no_other_file(result, tmp_path):
    """Letters are outlines, nothing is fetched or made of dots, a browser shows it whole."""
    for path in save_pictures(result, tmp_path, "svg"):
        root = ElementTree.parse(path).getroot()
        tags = {part.tag.rpartition("}")[2] for part in root.iter()}
        assert "path" in tags
        assert not tags & {"text", "image", "script"}
        with opened(path) as seen:
            assert seen.errors == [] and seen.requests == []
            box = seen.page.evaluate("document.documentElement.getBoundingClientRect().toJSON()")
            assert box["width"] == pytest.approx(960, abs=1)  # 10 inches


@pytest.mark.parametrize(
    "name", ["<a & 'b'>\"", "</svg><script>alert(1)</script>", "bell\x07", "名", "$x_1$"]
)
def test_hostile_names_leave_an_svg_sound(result, tmp_path, name):
    """Names with marks of XML, with a character that XML forbids, without a letter in the font."""
    result["cell"]["name"] = name
    result["stations"] = {name: result["stations"]["press"]}
    for path in save_pictures(result, tmp_path, "svg"):
        root = ElementTree.parse(path).getroot()
        assert not [part for part in root.iter() if part.tag.endswith("script")]
    assert all(path.stat().st_size for path in save_pictures(result, tmp_path, "pdf"))


@pytest.mark.parametrize("kind", ["svg", "pdf"])
def test_run_makes_them(tmp_path, monkeypatch, kind):
    """`run --format` writes that format and no other, and says so; `--quiet` keeps it from saying so."""
    monkeypatch.chdir(tmp_path)
    Path("small.yaml").write_text(CELL)
    call = ["run", "small.yaml", "--clock", "simpy", "-w", "1", "--format", kind]
    done = CliRunner().invoke(main, [*call, "--out", "a"])
    assert done.exit_code == 0, done.output
    assert f"Pictures: output_per_hour.{kind}, state_shares.{kind}" in done.stdout
    silent = CliRunner().invoke(main, [*call, "--out", "b", "--quiet"])
    assert (silent.exit_code, silent.output) == (0, "")
    for folder in ("a", "b"):
        assert {p.suffix for p in Path(folder).iterdir()} & {".png", ".svg", ".pdf"} == {f".{kind}"}


def test_warmup_makes_them(tmp_path, monkeypatch):
    """By --format, or by the ending of --out; where the two do not agree the call is refused."""
    monkeypatch.chdir(tmp_path)
    Path("small.yaml").write_text(CELL)
    call = ["warmup", "small.yaml", "--clock", "simpy", "-w", "1", "-n", "3"]
    assert CliRunner().invoke(main, [*call, "-q", "--format", "svg"]).exit_code == 0
    assert Path("small_warmup.svg").read_bytes()[:5] == b"<?xml"
    assert CliRunner().invoke(main, [*call, "-q", "--out", "own.pdf"]).exit_code == 0
    assert Path("own.pdf").read_bytes()[:5] == b"%PDF-"
    refused = CliRunner().invoke(main, [*call, "--format", "pdf", "--out", "own.svg"])
    assert refused.exit_code == 2
    assert "must end in .pdf" in refused.stderr
