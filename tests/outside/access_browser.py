"""Debian's Chromium, driven by Playwright: another program than the one docgen's own walk speaks to."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from conftest import module, tool

from docgen.browser import NAMES

PROGRAM = next((name for name in NAMES if shutil.which(name)), NAMES[0])


@contextmanager
def chromium() -> Iterator[Any]:
    """A running browser, without a network."""
    playwright = module("playwright.sync_api")
    program = tool(PROGRAM)
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=program, args=["--no-sandbox", "--disable-gpu"])
        yield browser
        browser.close()


@contextmanager
def page(browser: Any, file: Path, width: int = 390, height: int = 844, **more: Any) -> Iterator[Any]:
    """A window of its own showing a file; nothing may be asked for or go wrong while it is open."""
    context = browser.new_context(viewport={"width": width, "height": height}, offline=True, **more)
    shown = context.new_page()
    wrong: list[str] = []
    shown.on("pageerror", lambda problem: wrong.append(str(problem)))
    shown.on("console", lambda said: wrong.append(said.text) if said.type == "error" else None)
    shown.goto(file.as_uri())
    yield shown
    context.close()
    assert wrong == []
