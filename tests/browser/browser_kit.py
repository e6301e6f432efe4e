"""A reader in a real browser, and the hands of whoever uses it: mouse, finger, keyboard, pedal."""

from __future__ import annotations

import json
import os
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from workbench import ROOT, faces, templates

from docgen.browser import NAMES, Browser, Tab, found
from docgen.build.layouts import layouts
from docgen.build.messages import to_translate
from docgen.build.screens import page, written
from docgen.build.shelf import Asked, bind, front, shelve
from docgen.build.tongues import spoken, tongues_of
from docgen.model.catalogue import TEMPLATES
from docgen.model.edition import Edition
from docgen.project import Project

PHONE, SMALL, TABLET, ON_ITS_SIDE, WALL = (390, 844), (320, 568), (768, 1024), (1024, 768), (1920, 1080)
"""CSS pixels: a phone, the narrowest screen of WCAG 2.2 (1.4.10), a tablet both ways, a wall screen of 55 inches."""
TOUCH = 14 * 96 / 25.4
"""14 mm in CSS pixels."""


def program() -> str:
    """Path of a browser; without one the test is skipped on a user's machine and fails in CI."""
    path = found()
    if not path:
        message = f"none of {', '.join(NAMES)} is installed"
        if os.environ.get("CI"):
            pytest.fail(f"{message}, but continuous integration must have one")
        pytest.skip(message)
    return path


@cache
def told(protocol: str, *languages: str) -> tuple[bytes, tuple[Edition, ...]]:
    """The reader of a shipped protocol at one site in some languages together, and its editions."""
    project = Project(ROOT / "protocols")
    rooms = front()
    shelf = shelve(project, Asked((ROOT / "protocols" / f"{protocol}.yaml",), ("harbour-north",)), rooms)
    bounds = tuple(bind(shelf, rooms, alone=False))
    words = to_translate(shelf, templates(), rooms)
    tongues = tongues_of(project, bounds, languages, words, rooms, compare=False)
    pairs = [(b.edition, b.analysis) for b in spoken(bounds, languages, tongues, words, draft=False) if b.edition]
    own = {tag: tongue.get(TEMPLATES) for tag, tongue in tongues.items()}
    house = layouts(templates())[1]
    composed, findings = page("reader", pairs, templates(), own)
    assert composed and house, findings
    data, _, findings = written(composed, pairs, house, own, faces())
    assert data, findings
    return data, tuple(edition for edition, _ in pairs)


class Hands:
    """Somebody with a reader on a screen."""

    def __init__(self, browser: Browser, file: Path, first: str = "") -> None:
        """`first`: a program that runs before the page's own."""
        self.tab: Tab = browser.tab()
        self.address = file.as_uri()
        if first:
            self.tab.call("Page.addScriptToEvaluateOnNewDocument", source=first)
        self.screen(PHONE)
        self.tab.open(self.address)

    def screen(self, size: tuple[int, int], touch: bool = True) -> None:
        """Take another screen, or turn it."""
        self.tab.resize(*size, 1, touch)

    def ask(self, program: str) -> Any:
        """The value of an expression in the page."""
        return self.tab.evaluate(program)

    @property
    def place(self) -> str:
        """Id of the step that is shown; empty on the cover, `record` at the end."""
        return self.ask("document.querySelector('.edition.shown .view.now').dataset.step")

    def shown(self, selector: str) -> list[str]:
        """Words of the elements that can be seen."""
        return self.ask(
            f"[...document.querySelectorAll({json.dumps(selector)})].filter((el) => el.checkVisibility())"
            ".map((el) => el.innerText.trim())"
        )

    def boxes(self, selector: str) -> list[list[Any]]:
        """Left, top, width, height and words of the elements that can be seen."""
        return self.ask(
            f"[...document.querySelectorAll({json.dumps(selector)})].filter((el) => el.checkVisibility())"
            ".map((el) => [el.getBoundingClientRect(), el]).map(([b, el]) => [b.left, b.top, b.width, b.height,"
            " el.innerText || el.className])"
        )

    def click(self, selector: str) -> None:
        """Press the first element that can be seen, where it stands, as a mouse does."""
        at = self.ask(
            f"(() => {{ const el = [...document.querySelectorAll({json.dumps(selector)})]"
            ".find((el) => el.checkVisibility()); if (!el) return null;"
            " const at = () => { const b = el.getBoundingClientRect();"
            " const at = [b.left + b.width / 2, b.top + b.height / 2]; const hit = document.elementFromPoint(...at);"
            " return hit && el.contains(hit) ? at : null; };"
            " return at() || (el.scrollIntoView({block: 'center', behavior: 'instant'}), at()); })()"
        )
        assert at, f"{selector} can't be pressed at {self.place}"
        where = {"x": at[0], "y": at[1], "button": "left", "clickCount": 1}
        for kind in ("mousePressed", "mouseReleased"):
            self.tab.call("Input.dispatchMouseEvent", type=kind, **where)

    def press(self, key: str, shift: bool = False) -> None:
        """One key of a keyboard, or of a pedal, which is one to the page."""
        if not shift:
            self.tab.press(key)
            return
        event = {"key": key, "code": "Space", "windowsVirtualKeyCode": 32, "modifiers": 8}
        self.tab.call("Input.dispatchKeyEvent", type="rawKeyDown", **event)
        self.tab.call("Input.dispatchKeyEvent", type="keyUp", **event)

    def swipe(self, across: int) -> None:
        """Draw a finger over the middle of the screen by so many CSS pixels; negative is to the left."""
        middle, height = self.ask("[innerWidth / 2, innerHeight / 2]")
        self.tab.call("Input.dispatchTouchEvent", type="touchStart", touchPoints=[{"x": middle, "y": height}])
        for part in (0.5, 1):
            points = [{"x": middle + across * part, "y": height}]
            self.tab.call("Input.dispatchTouchEvent", type="touchMove", touchPoints=points)
        self.tab.call("Input.dispatchTouchEvent", type="touchEnd", touchPoints=[])

    def down(self) -> None:
        """To the end of what is shown, where the way on is."""
        self.ask(
            "(async () => { const s = document.querySelector('.shown .stage');"
            " s.scrollTo({top: 1e6, behavior: 'instant'}); scrollTo({top: 1e6, behavior: 'instant'});"
            " await new Promise(requestAnimationFrame); await new Promise(requestAnimationFrame); })()"
        )

    def confirm(self) -> None:
        """Confirm a stop, if there is one."""
        if self.shown(".view.now .confirm[aria-pressed=false]"):
            self.click(".view.now .confirm")

    def on(self) -> str:
        """Confirm and go on by the button; where that leads."""
        self.confirm()
        self.down()
        self.click(".shown .next")
        return self.place

    def to(self, step: str) -> None:
        """Go on until a step is reached."""
        for _ in range(80):
            if self.place == step:
                return
            self.on()
        raise AssertionError(f"{step} is not on the way; stuck at {self.place}")

    def branch(self, branch: str) -> str:
        """Take a branch that is offered on this step, or else among those for any step; where that leads."""
        way = f".way[data-branch={json.dumps(branch)}]"
        if not self.shown(f".view.now {way}"):
            self.click(".shown .alarm")
        self.click(way)
        return self.place

    def saved(self, how: str, folder: Path, browser: Browser) -> bytes:
        """The file that a button of the record saves."""
        folder.mkdir(exist_ok=True)
        browser.call("Browser.setDownloadBehavior", behavior="allow", downloadPath=str(folder))
        before = set(folder.iterdir())
        self.click(f".save[data-save={how}]")
        for _ in range(200):
            new = {f for f in set(folder.iterdir()) - before if f.suffix == f".{how}" and f.stat().st_size}
            if new:
                return new.pop().read_bytes()
            self.ask("new Promise((done) => setTimeout(done, 50))")
        raise AssertionError(f"no {how} was saved")
