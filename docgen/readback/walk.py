"""Walk through a page in a browser, from its first step to its last and down every branch, and judge what is seen.

The same comparison as of sheets and files, made of what stands on the screen: each screen is a sheet. The walk presses
keys and buttons as a person does; it takes nothing from the page's program but which step it claims to show.
"""

from __future__ import annotations

import json
from base64 import b64encode
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Protocol

from docgen.findings import Finding, Where, error
from docgen.model.edition import Branch, Edition, Step
from docgen.readback.carriage import carriage
from docgen.readback.copy import Copy, Page, Run
from docgen.readback.eyes import COMPARE, INKED, LINES, LOOK, PALE, ROOM
from docgen.readback.foreign import foreign_words
from docgen.readback.html import ROW
from docgen.readback.stamp import DRAFT, stamp_of_words
from docgen.readback.stream import RIGHT_TO_LEFT
from docgen.readback.styles import LEAST_CONTRAST
from docgen.readback.verdict import shortened
from docgen.readback.wanted import SIGNALS

PHONE = (390, 844)
"""CSS pixels of the window that is looked at: a phone held upright, where most can go wrong."""
TALL = 2600
"""CSS pixels of height at which a whole step fits, for taking its picture."""
SCALE = 2
MOST_PRESSES = 40
"""Keys pressed before a step is taken to be a dead end."""
SLIP = 0.7
"""Seconds after which a second press is no slip: a stop must not be confirmed by the press that came up to it."""


class Tab(Protocol):
    """What the walk needs of a browser's page."""

    def open(self, address: str) -> None:
        """Go there."""

    def call(self, method: str, **parameters: Any) -> dict[str, Any]:
        """Ask for something of the DevTools protocol."""

    def reload(self) -> None:
        """Load the page anew."""

    def evaluate(self, program: str) -> Any:
        """The value of an expression."""

    def resize(self, width: int, height: int, scale: float = 1) -> None:
        """Size of the window."""

    def press(self, key: str) -> None:
        """Press a key."""

    def picture(self) -> bytes:
        """A PNG."""

    def told(self) -> tuple[str, ...]:
        """What has gone wrong."""


@dataclass(frozen=True, slots=True)
class Screen:
    """What stood on the screen at one step."""

    step: str
    rows: tuple[tuple[str, str], ...]


class Walk:
    """One walk in one language of a page."""

    def __init__(self, tab: Tab, bench: Tab, address: str, edition: Edition, file: str) -> None:
        """`bench`: another page, on which pictures are compared."""
        self.tab, self.bench, self.address = tab, bench, address
        self.edition, self.file = edition, file
        self.findings: list[Finding] = []
        self.screens: list[Screen] = []
        self.kept: dict[str, str] = {}
        """Main step → what the page remembered on arriving there."""

    def run(self) -> None:
        """Go everywhere."""
        self.tab.resize(PHONE[0], TALL, SCALE)
        self.tab.open(self.address)
        self.speak()
        self.see("")
        self.tab.press("PageDown")
        if not self.path(self.edition.steps, None):
            return
        self.arrived("record", "after the last step")
        self.see("record", ink=False)
        taken: set[str] = set()
        first, last = self.edition.steps[0], self.edition.steps[-1]
        for step in self.edition.steps:
            offered = [b for b in self.edition.branches if b.id in step.branches]
            if step in (first, last):
                offered += [b for b in self.edition.branches if b.anywhere and b not in offered]
            for branch in offered:
                self.turn_off(step, branch, branch.id not in taken)
                taken.add(branch.id)
        for branch in self.edition.branches:
            if branch.id not in taken:
                self.wrong(f"branch `{branch.id}` is offered nowhere", branch.steps[0].id if branch.steps else "")

    # --- going ------------------------------------------------------------------------------------------------

    def speak(self) -> None:
        """Choose the language, where there are several."""
        value = json.dumps(self.edition.language)
        buttons = "[...document.querySelectorAll('.set[data-set=language]')]"
        self.tab.evaluate(f"{buttons}.find((button) => button.dataset.value === {value})?.click()")

    def path(self, steps: Iterable[Step], branch: Branch | None, look: bool = True) -> bool:
        """Go through steps, stop at stops; whether the last was left."""
        for step in steps:
            if not self.arrived(step.id, f"at step `{step.label}`"):
                return False
            if branch is None:
                self.kept[step.id] = self.tab.evaluate("JSON.stringify({...sessionStorage})")
            if look:
                self.see(step.id)
            if not self.leave(step):
                return False
        return True

    def leave(self, step: Step) -> bool:
        """Go on from a step; at a stop, try first without confirming."""
        if step.hold:
            self.tab.press("PageDown")
            self.tab.press("ArrowLeft" if self.rtl else "ArrowRight")
            if self.place() != step.id:
                self.wrong(f"the stop of step `{step.label}` lets one pass unconfirmed", step.id)
                return True
            self.wait(SLIP)
            self.tab.press("Enter")
        for _ in range(MOST_PRESSES):
            self.tab.press("PageDown")
            if self.place() != step.id:
                return True
        self.wrong(f"there is no way on from step `{step.label}`", step.id)
        return False

    def turn_off(self, step: Step, branch: Branch, look: bool) -> None:
        """Take a branch where it is offered, and see where it leads."""
        if step.id not in self.kept or not branch.steps:
            return
        self.back_to(step)
        name = json.dumps(branch.id)
        way = f"document.querySelector('.view.now .way[data-branch=' + CSS.escape({name}) + ']')"
        if branch.id not in step.branches:
            self.tab.evaluate("document.querySelector('.shown .alarm')?.click()")
            way = f"document.querySelector('.shown .alarms[open] .way[data-branch=' + CSS.escape({name}) + ']')"
        if not self.tab.evaluate(f"{way} && ({way}.click(), true)"):
            self.wrong(f"branch `{branch.id}` can't be taken at step `{step.label}`", step.id)
            return
        if self.path(branch.steps, branch, look):
            after = {"same": step.id, "": "record"}.get(branch.rejoin, branch.rejoin)
            self.arrived(after, f"after branch `{branch.letter}` from step `{step.label}`")

    def back_to(self, step: Step) -> None:
        """The page as it was on arriving at a step, loaded anew."""
        source = f"for (const [k, v] of Object.entries({self.kept[step.id]})) sessionStorage.setItem(k, v)"
        given = self.tab.call("Page.addScriptToEvaluateOnNewDocument", source=source)["identifier"]
        self.tab.reload()
        self.tab.call("Page.removeScriptToEvaluateOnNewDocument", identifier=given)
        self.arrived(step.id, "after loading the page anew")

    def place(self) -> str | None:
        """The step that the page claims to show."""
        return self.tab.evaluate("document.querySelector('.edition.shown .view.now')?.dataset.step ?? null")

    def arrived(self, step: str, when: str) -> bool:
        """Whether this is the step that should be there."""
        there = self.place()
        if there != step:
            self.wrong(f"{when} the page shows `{there}`; it must show `{step}`", step)
        return there == step

    def wait(self, seconds: float) -> None:
        """Let time pass in the page."""
        self.tab.evaluate(f"new Promise((done) => setTimeout(done, {seconds * 1000}))")

    @property
    def rtl(self) -> bool:
        """Whether ahead is to the left."""
        return self.edition.language.split("-")[0].lower() in RIGHT_TO_LEFT

    # --- seeing -----------------------------------------------------------------------------------------------

    def see(self, step: str, ink: bool = True) -> None:
        """Look at the screen, at the size of a phone and as a whole."""
        self.tab.resize(*PHONE, SCALE)
        seen = self.tab.evaluate(LOOK)
        self.tab.resize(PHONE[0], TALL + max(0, self.tab.evaluate(ROOM) - TALL + PHONE[1]), SCALE)
        rows = tuple((" ".join(r["text"].split()), r["kind"]) for r in seen["rows"] if r["text"].strip())
        self.screens.append(Screen(step, rows))
        for rule, words, why in seen["wrong"]:
            self.say(rule, f"`{words}` {why}", step)
        if ink:
            self.inked(step)

    def inked(self, step: str) -> None:
        """Whether each line of words leaves ink that stands out."""
        boxes = self.tab.evaluate(LINES)
        with_ink = b64encode(self.tab.picture()).decode("ascii")
        self.tab.evaluate(PALE)
        without = b64encode(self.tab.picture()).decode("ascii")
        self.tab.evaluate(INKED)
        given = ", ".join((json.dumps(with_ink), json.dumps(without), json.dumps(boxes), str(SCALE)))
        for box, ratio in zip(boxes, self.bench.evaluate(f"{COMPARE}({given})"), strict=True):
            if ratio < 1.2:
                self.say("readback/no-ink", f"`{box[4]}` leaves no ink", step)
            elif ratio < LEAST_CONTRAST:
                self.say("readback/faint", f"`{box[4]}` has a contrast of {ratio:.1f} to 1", step)

    def say(self, rule: str, message: str, step: str) -> None:
        """Add an error."""
        hint = "look at the page in a browser, at this step"
        self.findings.append(error(rule, message, Where(self.file), step="" if step == "record" else step, hint=hint))

    def wrong(self, message: str, step: str = "") -> None:
        """Add an error about the path."""
        self.say("readback/reader-path", message, step)

    def copy(self) -> Copy:
        """All screens, as sheets of one file: cover and main path, then each branch once."""
        pages = []
        for number, screen in enumerate(self.screens, 1):
            runs = []
            for n, (text, kind) in enumerate(screen.rows):
                top = n * 2 * ROW
                beside = kind in ("number", "letter")
                after = n > 0 and screen.rows[n - 1][1] in ("number", "letter")
                top -= 2 * ROW if after and not beside else 0
                left = 40.0 if after and not beside else 0.0
                box = (left, top, left + 2.0 * len(text), top + ROW)
                face = sum(kind.encode()) % 9973
                runs.append(Run(text, box, box[3], 12.0, 2.0, face, (0, 0, 0), 1.0, 0, True, -1, n))
            pages.append(Page(number, 10000.0, 2 * ROW * (len(screen.rows) + 1), tuple(runs)))
        return Copy(tuple(pages), language=self.edition.language)


def walk(
    tab: Tab,
    bench: Tab,
    address: str,
    edition: Edition,
    file: str,
    *,
    draft: bool = False,
    known_words: Iterable[str] | None = None,
    terms: Mapping[str, str] | None = None,
) -> tuple[Finding, ...]:
    """Walk through a reader at `address`, and compare what was on the screen with its edition.

    `tab` and `bench` are two pages of a browser; the others as for `examine_page`. Raises what the browser raises.
    """
    going = Walk(tab, bench, address, edition, file)
    going.run()
    findings = [*going.findings, *_judge(going, draft, known_words, terms)]
    for trouble in dict.fromkeys(tab.told()):
        findings.append(
            error("readback/active-content", f"the browser says: {trouble[:200]}", Where(file),
                  hint="put everything the page needs into it")
        )  # fmt: skip
    return tuple(
        replace(f, artifact="reader", language=edition.language, site=edition.site, protocol=edition.protocol)
        for f in shortened(findings, file)
    )


def _judge(
    going: Walk, draft: bool, known_words: Iterable[str] | None, terms: Mapping[str, str] | None
) -> Iterator[Finding]:
    edition, file = going.edition, going.file
    words = dict(terms or {})
    if edition.language.split("-")[0].lower() == "en":
        words = {**SIGNALS, "draft": DRAFT, **words}
    signals = {k: v for k, v in words.items() if k in SIGNALS}
    copy = going.copy()
    flow = carriage(copy, edition, "reader", file, signals)
    yield from (_at_step(f, going) for f in flow.findings)
    for n, screen in enumerate(going.screens):
        shown = f"{file} at {screen.step or 'the cover'}"
        yield from (replace(f, where=Where(file), message=f"{f.message} ({shown.removeprefix(file).strip()})")
                    for f in stamp_of_words(flow.rest(n), edition, draft, words.get("draft"), Where(file)))  # fmt: skip
    if known_words is not None:
        known = (*known_words, *words.values())
        yield from (_at_step(f, going) for f in foreign_words(flow, edition, known, going.rtl))


def _at_step(f: Finding, going: Walk) -> Finding:
    """A place on a made-up sheet becomes the step whose screen it was."""
    if not f.where.page:
        return f
    step = going.screens[f.where.page - 1].step
    return replace(f, where=Where(going.file), step=f.step or ("" if step == "record" else step))
