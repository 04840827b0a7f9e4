"""A page with nothing but sections: what the browser tests of sections open."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from markupsafe import Markup

COLOURS = """
:root { --paper: #FBFAF7; --ink: #1B1B1F; --quiet: #5C5C64; --line: #DDDBD4; --accent: #29495D;
  --band: #C9D3E0; --target: #8C508A; --shade: #F0EFEA; color-scheme: light; }
@media (prefers-color-scheme: dark) { :root {
  --paper: #14181C; --ink: #ECEAE4; --quiet: #A9ADB5; --line: #363D45; --accent: #A3C0DC;
  --band: #36495E; --target: #D9A3D6; --shade: #20262D; color-scheme: dark; } }
* { box-sizing: border-box; }
body { margin: 0 auto; padding: 0 24px 40px; max-width: 1120px; background: var(--paper); color: var(--ink);
  font: 16px/1.5 "Source Sans 3", "Noto Sans", "DejaVu Sans", sans-serif; }
button { font: inherit; font-size: 14px; color: inherit; background: none; border: 1px solid var(--quiet);
  border-radius: 4px; padding: 4px 12px; }
:focus-visible { outline: 3px solid var(--target); outline-offset: 2px; }
"""


def asset(name: str) -> str:
    """A file of the package that a page holds."""
    return files("cellsim.show.assets").joinpath(name).read_text(encoding="utf-8")


def page(file: Path, sections: list[Markup], assets: tuple[str, ...]) -> Path:
    """Write a page of these sections with these assets, as one file."""
    styles = COLOURS + "".join(asset(name) for name in assets if name.endswith(".css"))
    scripts = "".join(asset(name) for name in assets if name.endswith(".js"))
    file.write_text(
        "<!doctype html><html lang=en><head><meta charset=utf-8><title>Sections</title>"
        '<link rel="icon" href="data:,"><meta name=viewport content="width=device-width, initial-scale=1">'
        f"<style>{styles}</style></head><body><main>{Markup().join(sections)}</main>"
        f"<script>{scripts}</script></body></html>",
        encoding="utf-8",
    )
    return file
