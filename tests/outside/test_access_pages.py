"""Pages for screens, as those meet them who cannot see, point, or hold a device still: measured in a browser.

The rules of axe-core are Deque's reading of WCAG 2.2; sizes and ways about are measured here, against the standard
named beside each.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from access_browser import chromium, page
from access_kit import front, kept, reader, spoken
from click.testing import CliRunner
from conftest import module
from workbench import ROOT

from docgen import cli

WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa"]
MM = 96 / 25.4
"""CSS pixels in a millimetre (CSS Values and Units 4, 6.2)."""
GLOVED = 14 * MM
"""Least side of what is pressed with gloves on."""
PROTOCOL = "enhanced-removal"
TELLING = ("a stop", "a caution", "overview", "a timer that runs")
"""States that are judged in every language and theme."""
SEEN = "document.querySelector('.shown .view.now').dataset.step"


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with chromium() as running:
        yield running


@pytest.fixture(scope="module")
def axe() -> str:
    """The program of axe-core, as a package brings it."""
    return (Path(module("axe_playwright_python").__file__).parent / "axe.min.js").read_text("utf-8")


def violations(shown: Any, axe: str) -> list[str]:
    """What axe-core finds against WCAG 2.2 A and AA, and headings out of order."""
    if not shown.evaluate("'axe' in window"):
        shown.evaluate(axe)
    found = shown.evaluate(
        "tags => axe.run(document, {runOnly: {type: 'tag', values: tags}, rules: {'heading-order': {enabled: true}},"
        " resultTypes: ['violations']})",
        WCAG,
    )
    assert len(found["passes"]) > 5  # it has looked
    return [f"{v['id']}: {n['target']} {n['failureSummary']}" for v in found["violations"] for n in v["nodes"]]


# --- ways about a reader ----------------------------------------------------------------------------------------


def onward(shown: Any) -> None:
    """One step on by the page's own button, through whatever is below; a stop is confirmed first."""
    shown.evaluate("""() => {
        const before = document.querySelector('.shown .view.now');
        before.querySelector('.confirm[aria-pressed="false"]')?.click();
        const stage = document.querySelector('.shown .stage');
        stage.scrollTo({top: stage.scrollHeight, behavior: 'instant'});
        document.scrollingElement.scrollTo({top: 1e6, behavior: 'instant'});
        dispatchEvent(new Event('resize'));
        document.querySelector('.shown .next').click();
    }""")


def go_to(shown: Any, step: str) -> None:
    """On to a step of the main path, or to the record."""
    for _ in range(200):
        if shown.evaluate(SEEN) == step:
            shown.evaluate("document.querySelector('.shown .stage').scrollTo({top: 0, behavior: 'instant'})")
            return
        onward(shown)
    raise AssertionError(f"{step} was never come to")


def press(shown: Any, selector: str) -> None:
    shown.evaluate("selector => document.querySelector('.shown ' + selector).click()", selector)


def states(shown: Any, language: str) -> Iterator[str]:
    """A reader in each of its states, one after another."""
    of = spoken(PROTOCOL, language).edition
    held = next(s.id for s in of.steps if s.hold)
    timed = shown.evaluate("document.querySelector('.shown .phase > .step:has(.timer)').dataset.step")
    warned = next(s.id for s in of.steps if s.cautions)
    left = next(s.id for s in of.steps if s.branches)
    yield "start"
    onward(shown)
    press(shown, ".steps")
    yield "overview"
    press(shown, "dialog[open] .close")
    press(shown, ".alarm")
    yield "if something happens"
    press(shown, "dialog[open] .close")
    stops = sorted({held: "a stop", timed: "a timer", warned: "a caution"}.items(), key=lambda s: order(of, s[0]))
    for step, name in stops:
        go_to(shown, step)
        yield name
        if step == timed:
            press(shown, ".view.now .timer")
            yield "a timer that runs"
    go_to(shown, left)
    press(shown, ".view.now .way")
    yield "a branch"
    go_to(shown, "record")
    yield "the record"


def order(of: Any, step: str) -> int:
    return [s.id for s in of.steps].index(step)


# --- axe-core ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("language", "theme"), [("en", "light"), ("en", "dark"), ("ar", "light")])
def test_axe_finds_nothing_in_a_reader(browser, axe, language, theme, tmp_path):
    """WCAG 2.2 A and AA by axe-core, in every state: start, stop, timer, caution, branch, overview, record."""
    found, names = {}, []
    with page(browser, kept(reader(PROTOCOL, language), tmp_path, "r.html"), color_scheme=theme) as shown:
        for name in states(shown, language):
            names.append(name)
            if (language, theme) == ("en", "light") or name in TELLING:
                found[name] = violations(shown, axe)

    assert len(names) == 9
    assert {name: said for name, said in found.items() if said} == {}


@pytest.mark.parametrize("language", ["en", "ar"])
def test_axe_finds_nothing_in_the_other_pages(browser, axe, language, tmp_path):
    """The page of a folder, also in dark; a reader that speaks two languages, as printed and without its program."""
    other = "en" if language == "ar" else "ar"
    index = kept(front("hand-rub", language, other), tmp_path, "index.html")
    both = kept(reader("hand-rub", language, other), tmp_path, "reader.html")
    for theme in ("light", "dark"):
        with page(browser, index, 1024, 768, color_scheme=theme) as shown:
            assert violations(shown, axe) == []
    with page(browser, both) as shown:
        press(shown, ".steps")
        assert violations(shown, axe) == []
        press(shown, "dialog[open] .close")
        shown.emulate_media(media="print")
        assert violations(shown, axe) == []
    with page(browser, both, java_script_enabled=False) as shown:
        assert shown.locator(".edition .step").first.is_visible()


def test_axe_can_find_something(browser, axe, tmp_path):
    """A control for the tests above: a reader whose figures have lost their words, in pale ink."""
    text = reader("hand-rub", "en").decode()
    text = text.replace("<title>", "<titel>").replace("</title>", "</titel>").replace('lang="en"', "", 1)
    with page(browser, kept(text.encode(), tmp_path, "r.html"), java_script_enabled=True) as shown:
        shown.evaluate("document.querySelector('.stamp p').style.color = '#999999'")
        said = {v.partition(":")[0] for v in violations(shown, axe)}

    assert {"color-contrast"} <= said


def compared(folder: Path) -> bytes:
    """The page of `docgen compare`."""
    old = ROOT / "protocols" / "hand-rub.yaml"
    changed = old.read_text("utf-8").replace("headline: Rub your palms together", "headline: Rub both palms together")
    new = kept(changed.encode(), folder, "new.yaml")
    said = CliRunner().invoke(cli.docgen, ["compare", str(old), str(new), "--format", "html"])
    assert said.stdout.startswith("<!DOCTYPE html>"), said.output
    return said.stdout.encode()


def tallied(folder: Path, record: Path) -> bytes:
    """The page of `docgen tally`, of one record."""
    report = folder / "tally.html"
    said = CliRunner().invoke(cli.docgen, ["tally", str(record), "--report", str(report)])
    assert report.exists(), said.output
    return report.read_bytes()


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_axe_finds_nothing_in_a_comparison(browser, axe, theme, tmp_path):
    """The page that says what differs between two versions."""
    with page(browser, kept(compared(tmp_path), tmp_path, "c.html"), color_scheme=theme) as shown:
        assert violations(shown, axe) == []


# --- HTML -----------------------------------------------------------------------------------------------------


def test_pages_are_html_as_the_standard_writes_it(tmp_path):
    """html5lib's strict parser stops at the first error of the HTML standard's parsing algorithm; none is met."""
    html5lib = module("html5lib")
    record = json.dumps(None).encode()
    pages = [reader("hand-rub", "en", "ar"), front("hand-rub", "hi", "en"), compared(tmp_path)]
    for data in pages:
        assert html5lib.HTMLParser(strict=True).parse(data, transport_encoding="utf-8") is not None
    with pytest.raises(html5lib.html5parser.ParseError):
        html5lib.HTMLParser(strict=True).parse(pages[0].replace(b"</dialog>", b"", 1) + record)


# --- sizes and places -----------------------------------------------------------------------------------------

ROOM = """(() => {
    const stage = document.querySelector('.shown .stage'), style = getComputedStyle(stage);
    return [stage.clientWidth / parseFloat(style.fontSize), stage.clientHeight / parseFloat(style.fontSize)];
})()"""
"""Width and height of what shows the step, in ems."""
CONTROLS = """[...document.querySelectorAll('button, a, input, textarea')].filter((e) => e.checkVisibility())
    .map((e) => ({what: e.className || e.name, ...e.getBoundingClientRect().toJSON()}))"""
WIDTH = (
    "Math.max(document.scrollingElement.scrollWidth, ...[...document.querySelectorAll('.shown .stage, dialog[open]')]"
    ".map((e) => e.getBoundingClientRect().left + e.scrollWidth))"
)


@pytest.mark.parametrize(
    ("width", "height"), [(320, 256), (320, 640), (1280, 800)], ids=["zoomed to 400 %", "small phone", "tablet"]
)
def test_controls_are_large_enough_for_gloves_and_nothing_runs_out_of_the_window(browser, width, height, tmp_path):
    """Every target is 14 mm by 14 mm; at 320 CSS px, a 1280 px window at 400 %, nothing scrolls sideways (WCAG 1.4.10).

    The room that bars leave for the step shows at least three lines of a dozen ems.
    """
    with page(browser, kept(reader(PROTOCOL, "en"), tmp_path, "r.html"), width, height) as shown:
        for name in states(shown, "en"):
            small = [c for c in shown.evaluate(CONTROLS) if min(c["width"], c["height"]) < GLOVED - 0.5]
            assert (name, small) == (name, [])
            assert (name, shown.evaluate(WIDTH)) == (name, width)
            wide, tall = shown.evaluate(ROOM)
            assert (name, wide > 12, tall > 3 * 1.3) == (name, True, True)
    with page(browser, kept(front("hand-rub", "ar", "en"), tmp_path, "i.html"), width, height) as shown:
        assert [c for c in shown.evaluate(CONTROLS) if min(c["width"], c["height"]) < GLOVED - 0.5] == []
        assert shown.evaluate("document.scrollingElement.scrollWidth") == width


# --- keys -----------------------------------------------------------------------------------------------------

FOCUS = """() => {
    const e = document.activeElement, box = e.getBoundingClientRect(), style = getComputedStyle(e);
    return {what: e.className, open: Boolean(e.closest('dialog')), outline: style.outlineStyle,
        thick: parseFloat(style.outlineWidth), x: (box.left + box.right) / 2, y: (box.top + box.bottom) / 2};
}"""


def tabbed(shown: Any, most: int = 80) -> list[dict[str, Any]]:
    """What the Tab key comes to, one after another, until it leaves the page."""
    found: list[dict[str, Any]] = []
    for _ in range(most):
        shown.keyboard.press("Tab")
        at = shown.evaluate(FOCUS)
        if not at["what"] or (found and at["what"] == found[0]["what"] and at["y"] == found[0]["y"]):
            return found
        found.append(at)
    raise AssertionError("the Tab key never came to an end")


@pytest.mark.parametrize("language", ["en", "ar"])
def test_the_tab_key_goes_the_way_that_is_read(browser, language, tmp_path):
    """From top to bottom, along each line from where the language is read; each place is outlined (WCAG 2.4.3, 2.4.7).

    A dialog keeps the focus until it is closed, then gives it back to the button that opened it (WCAG 2.1.2).
    """
    of = spoken(PROTOCOL, language).edition
    held = next(s.id for s in of.steps if s.hold)
    with page(browser, kept(reader(PROTOCOL, language), tmp_path, "r.html"), 600, 1600) as shown:
        go_to(shown, held)
        shown.focus(".shown .steps")
        found = [shown.evaluate(FOCUS), *tabbed(shown)]
        assert {"steps", "alarm", "confirm", "mark", "back", "next"} <= {f["what"].split()[0] for f in found}
        assert all(f["outline"] == "solid" and f["thick"] >= 3 for f in found[1:])
        lines: list[list[float]] = []
        for f in found:
            if lines and abs(lines[-1][-1] - f["y"]) < 20:
                lines[-1][:1] = [f["x"], *lines[-1][:1]]
            else:
                assert not lines or f["y"] > lines[-1][-1]
                lines.append([f["x"], f["y"]])
        for *across, _ in lines:
            assert across == sorted(across, reverse=language != "ar")

        press(shown, ".steps")
        shown.evaluate("document.querySelector('.shown .steps').focus()")
        inside = [shown.keyboard.press("Tab") or shown.evaluate(FOCUS) for _ in range(5)]
        assert all(f["open"] or not f["what"] for f in inside)
        shown.keyboard.press("Escape")
        assert shown.evaluate("document.querySelector('.shown dialog[open]') === null")


def test_a_whole_session_goes_by_keys_alone(browser, axe, tmp_path):
    """Space and Enter from the start through every stop and once down a branch to the record, and that is saved.

    The record is then counted by `docgen tally`, whose page axe-core judges too.
    """
    of = spoken(PROTOCOL, "en").edition
    went: list[str] = []
    confirmed: set[str] = set()
    left: set[str] = set()
    with page(browser, kept(reader(PROTOCOL, "en"), tmp_path, "r.html"), 1280, 800, reduced_motion="reduce") as shown:
        shown.clock.install()
        for _ in range(600):
            at = shown.evaluate(SEEN)
            if at == "record":
                break
            if at and at not in went[-1:]:
                went.append(at)
            step = next((s for s in of.steps if s.id == at), None)
            if step and step.branches and not left:
                left = {at}
                until(shown, "way")
                shown.keyboard.press("Enter")
                continue
            asked = "confirm" in shown.evaluate(FOCUS)["what"] and at not in confirmed
            confirmed |= {at} if asked else set()
            shown.keyboard.press("Space" if asked else "PageDown")
            shown.clock.fast_forward(700)
        main_path = [s.id for s in of.steps]
        (branch,) = (b for b in of.branches if any(s.id in went for s in b.steps))
        assert [s for s in dict.fromkeys(went) if s in main_path] == main_path
        assert [s for s in went if s in {x.id for x in branch.steps}] == [x.id for x in branch.steps]
        until(shown, "save")
        with shown.expect_download() as saved:
            shown.keyboard.press("Enter")
        saved.value.save_as(record := tmp_path / "record.json")
    said = json.loads(record.read_text("utf-8"))
    stops = {s.id for s in of.all_steps() if s.hold and s.id in went} - left
    assert {s["step"] for s in said["steps"] if s["confirmed"]} == stops
    with page(browser, kept(tallied(tmp_path, record), tmp_path, "t.html"), 1280, 800) as shown:
        assert violations(shown, axe) == []


def until(shown: Any, name: str) -> None:
    """Press Tab until something with that class has the focus."""
    for _ in range(120):
        shown.keyboard.press("Tab")
        if name in shown.evaluate(FOCUS)["what"].split():
            return
    raise AssertionError(f"no `{name}` can be come to with the Tab key")
