"""A real browser for pages that the program makes: Chromium, driven by Playwright, without a network."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

NAMES = ("chromium", "chromium-browser", "google-chrome")


def chromium() -> str:
    """Where the browser is; without one a test is skipped, unless CELLSIM_BROWSER is `required`."""
    found = next((path for name in NAMES if (path := shutil.which(name))), None)
    if found is None and os.environ.get("CELLSIM_BROWSER") != "required":
        pytest.skip("there is no Chromium on this machine: apt-get install chromium")
    assert found is not None, "CELLSIM_BROWSER is required, and there is no Chromium"
    return found


@dataclass
class Seen:
    """A page with what went wrong on it, and what it asked for beside itself."""

    page: Any
    errors: list[str] = field(default_factory=list)
    requests: list[str] = field(default_factory=list)


@contextmanager
def opened(file: Path, width: int = 1280, height: int = 900, dark: bool = False) -> Iterator[Seen]:
    """A file in the browser; every console error and every request that leaves the page is noted."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium(), args=["--no-sandbox"])
        try:
            page = browser.new_page(
                viewport={"width": width, "height": height}, color_scheme="dark" if dark else "light"
            )
            seen = Seen(page)
            page.on("pageerror", lambda error: seen.errors.append(str(error)))
            page.on("console", lambda m: seen.errors.append(m.text) if m.type == "error" else None)
            page.on("request", lambda r: seen.requests.append(r.url) if r.url != file.as_uri() else None)
            page.goto(file.as_uri())
            yield seen
        finally:
            browser.close()
