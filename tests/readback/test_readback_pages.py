"""Each check of pages can fail: the reader as it is made passes, and each damage is caught by the rule meant for it."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from workbench import edition, paged, templates

from docgen.findings import Severity
from docgen.model.edition import SCREENS
from docgen.readback import examine, examine_page, page_facts
from docgen.readback.screen import RULES
from docgen.readback.styles import judge

Damage = Callable[[str], str]


@cache
def whole() -> tuple[bytes, tuple]:
    return paged(*edition("enhanced-removal", "harbour-north"))


def known() -> tuple[str, ...]:
    from docgen.build.screens import page

    composed, _ = page("reader", (edition("enhanced-removal", "harbour-north"),), templates(), {})
    assert composed
    return composed.known("en")


@cache
def _known() -> tuple[str, ...]:
    return known()


def rules(page: str | bytes, **more) -> set[str]:
    data = page.encode() if isinstance(page, str) else page
    given = {"known_words": _known(), "script": templates()["reader/page.js"], **more}
    of = given.pop("of", edition("enhanced-removal", "harbour-north")[0])
    said = examine_page(data, of, given.pop("artifact", "reader"), "x.html", **given)
    return {f.rule for f in said if f.severity is Severity.ERROR}


# --- ways to damage it --------------------------------------------------------------------------------------------


def swap(old: str, new: str, count: int = 1) -> Damage:
    def damage(page: str) -> str:
        assert old in page, old
        return page.replace(old, new, count)

    return damage


def styled(more: str) -> Damage:
    return swap("</style>", f"{more}</style>")


def views(page: str) -> list[str]:
    return re.findall(r'<section class="view step".*?</section>', page, re.DOTALL)


def view(page: str, step: str) -> str:
    return next(v for v in views(page) if f'data-step="{step}"' in v)


CAUTION = re.compile(r'<div class="caution.*?</div>\n', re.DOTALL)


def without_caution(page: str) -> str:
    return CAUTION.sub("", page, count=1)


def caution_after(page: str) -> str:
    old = view(page, "enter-removal-area")
    caution = CAUTION.search(old)
    assert caution
    return page.replace(old, old.replace(caution[0], "").replace("</section>", caution[0] + "</section>"))


def swapped_steps(page: str) -> str:
    one, other = views(page)[1:3]
    return page.replace(one, "\0").replace(other, one).replace("\0", other)


def without_step(page: str) -> str:
    return page.replace(views(page)[2], "")


def twice(page: str) -> str:
    again = views(page)[2].replace('id="', 'id="again.')
    return page.replace(views(page)[2], views(page)[2] + again)


def hold_as_words(page: str) -> str:
    return page.replace('<div class="hold">', "<div>", 1)


def confirm_gone(page: str) -> str:
    return re.sub(r'<button type="button" class="confirm.*?</button>\n', "", page, count=1, flags=re.DOTALL)


def way_gone(page: str) -> str:
    return re.sub(r'<ul class="ways">\n.*?</ul>\n', "", page.split("</dialog>")[-1], flags=re.DOTALL)


def no_way(page: str) -> str:
    head, _, tail = page.rpartition("</dialog>")
    return head + "</dialog>" + re.sub(r'(<a class="way"[^>]*) data-branch="[^"]*"', r"\1", tail, count=1)


def deep(page: str) -> str:
    return page.replace("<main>", "<main>" + "<div>" * 200)


def without_alternative(page: str) -> str:
    return re.sub(r'(class="figure"[^>]*) aria-label="[^"]*"', r'\1 aria-label=""', page, count=1)


NUMBER = "Rub for 20 to 30 seconds"
DAMAGES: list[tuple[str, Damage, str]] = [
    ("a caution is dropped", without_caution, "readback/caution-missing"),
    ("a caution stands after its step", caution_after, "readback/caution-after-step"),
    ("a hazard is reworded", swap("The apron is contaminated.", "The apron is fine."), "readback/text-altered"),
    ("a signal word is weaker", swap("</svg> WARNING", "</svg> CAUTION"), "readback/signal-word"),
    ("two steps change places", swapped_steps, "readback/step-order"),
    ("a step is dropped", without_step, "readback/step-missing"),
    ("a step stands twice", twice, "readback/step-twice"),
    (
        "a step has another number",
        swap('<span class="number"><bdi>3<', '<span class="number"><bdi>4<', 2),
        "readback/number-wrong",
    ),
    ("a number in a text is changed", swap(f"{NUMBER}.”", f"{NUMBER.replace('20', '2')}.”"), "readback/number-altered"),
    ("a negation is lost", swap("Do not touch its front.", "Do touch its front."), "readback/negation-altered"),
    ("a say is dropped", lambda p: re.sub(r'<p class="say">.*?</p>', "", p, count=1), "readback/text-missing"),
    ("words are added", swap('<p class="say">', '<p>Then drink a coffee.</p><p class="say">'), "readback/foreign-text"),
    (
        "words are added to what the program shows",
        swap("All steps were gone through.", "You may go home."),
        "readback/foreign-text",
    ),
    ("the title is another", swap("<h1>Removing", "<h1>Putting on"), "readback/title-missing"),
    ("yesterday's version", swap("<bdi>v<bdi>2.1</bdi></bdi>", "<bdi>v<bdi>2.0</bdi></bdi>"), "readback/stamp-foreign"),
    ("no fingerprint", lambda p: re.sub(r"[0-9A-Z]{5}-[0-9A-Z]{5}</bdi>", "</bdi>", p), "readback/stamp-missing"),
    (
        "no stamp",
        lambda p: re.sub(r'<footer class="stamp">.*?</footer>', "", p, flags=re.DOTALL),
        "readback/stamp-missing",
    ),
    (
        "the review date the program goes by is later",
        swap('data-review="2027', 'data-review="2097'),
        "readback/stamp-wrong",
    ),
    (
        "a draft's band on no draft",
        swap('<div class="bands">', '<div class="bands"><p>DRAFT</p>'),
        "readback/draft-band",
    ),
    (
        "a branch's question is gone",
        lambda p: re.sub(r'<span class="question">.*?</span>', "", p, count=1),
        "readback/reader-path",
    ),
    (
        "nothing says where a branch goes on",
        lambda p: re.sub(r'<p class="where">Go on at.*?</p>', "", p),
        "readback/rejoin-missing",
    ),
    (
        "a branch goes on elsewhere",
        lambda p: re.sub(r'data-goes="[a-z-]+"', 'data-goes="same"', p, count=1),
        "readback/reader-path",
    ),
    ("a branch ends", lambda p: re.sub(r'data-goes="same"', 'data-goes=""', p, count=1), "readback/reader-path"),
    ("a stop is only words", hold_as_words, "readback/reader-path"),
    ("a stop can't be confirmed", confirm_gone, "readback/reader-path"),
    ("a timer runs too short", swap('data-seconds="20"', 'data-seconds="2"'), "readback/reader-path"),
    ("a way leads elsewhere", no_way, "readback/reader-path"),
    (
        "no way at any step",
        lambda p: re.sub(r'<dialog class="alarms".*?</dialog>', "", p, flags=re.DOTALL),
        "readback/reader-path",
    ),
    ("the program skips a step", swap('data-step="wipe-soil"', 'data-step="inspect-ppe"'), "readback/reader-path"),
    ("an inline style", swap('<p class="say">', '<p class="say" style="font-size:1px">'), "readback/hidden"),
    ("the attribute hidden", swap('<p class="say">', '<p class="say" hidden>'), "readback/hidden"),
    ("hidden from screen readers", swap('<p class="say">', '<p class="say" aria-hidden="true">'), "readback/hidden"),
    ("inert", swap('<p class="say">', '<p class="say" inert>'), "readback/hidden"),
    (
        "in a drawer",
        lambda p: swap('<p class="say">', "<details><p>")(p).replace("</p>", "</p></details>", 1),
        "readback/text-missing",
    ),
    ("in a comment", lambda p: re.sub(r'(<p class="say">.*?</p>)', r"<!--\1-->", p, count=1), "readback/markup"),
    (
        "a program of somebody else",
        swap("</head>", '<script src="https://example.org/x.js"></script></head>'),
        "readback/active-content",
    ),
    (
        "a picture from outside",
        swap("<h1>", '<img src="https://example.org/x.png" alt="x"><h1>'),
        "readback/active-content",
    ),
    ("a frame", swap("<h1>", '<iframe src="x.html"></iframe><h1>'), "readback/active-content"),
    ("a handler", swap("<h1>", '<h1 onclick="x()">'), "readback/active-content"),
    ("a form", swap("<h1>", '<form action="https://example.org"></form><h1>'), "readback/active-content"),
    ("a refresh", swap("<title>", '<meta http-equiv="refresh" content="0"><title>'), "readback/active-content"),
    ("a base", swap("<title>", '<base href="https://example.org/"><title>'), "readback/active-content"),
    ("a laxer policy", swap("default-src 'none'", "default-src *"), "readback/active-content"),
    ("a policy for more", swap("base-uri 'none'", "base-uri 'none'; connect-src *"), "readback/active-content"),
    (
        "no policy",
        lambda p: re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>\n', "", p),
        "readback/active-content",
    ),
    ("another program", swap('"use strict";', '"use strict"; /* and more */'), "readback/foreign-script"),
    ("a link to nowhere", swap('class="way" href="#en.', 'class="way" href="#no.'), "readback/link-broken"),
    ("a figure without words", without_alternative, "readback/figure-unsaid"),
    ("a tag that does not close", swap("</h1>", ""), "readback/markup"),
    ("a tag that closes nothing", swap("</h1>", "</h1></h1>"), "readback/markup"),
    ("two things of one name", swap('<p class="say">', '<p id="en.wipe-soil" class="say">'), "readback/markup"),
    (
        "another language",
        swap('<article class="edition" id="en" lang="en"', '<article class="edition" id="en" lang="fr"'),
        "readback/language-missing",
    ),
    ("too deep", deep, "readback/too-complex"),
]

STYLES: list[tuple[str, str]] = [
    (".caution { display: none }", "readback/hidden"),
    ("@media screen { .caution { display: none } }", "readback/hidden"),
    ("@media print { .caution { display: none } }", "readback/hidden"),
    ("html:not(.on) .live, .caution { display: none }", "readback/hidden"),
    (".say { visibility: hidden }", "readback/hidden"),
    (".say { opacity: 0.01 }", "readback/hidden"),
    (".say { position: absolute }", "readback/hidden"),
    (".say { transform: scale(0) }", "readback/hidden"),
    (".say { clip-path: inset(50%) }", "readback/hidden"),
    (".say { filter: opacity(0) }", "readback/hidden"),
    (".say { mask: linear-gradient(transparent, transparent) }", "readback/hidden"),
    (".say { text-indent: -9999px }", "readback/hidden"),
    (".say { margin: -500px }", "readback/hidden"),
    (".say { max-height: 0 }", "readback/hidden"),
    (".say { width: 0 }", "readback/hidden"),
    (".say { height: 0.1px; overflow-y: hidden }", "readback/hidden"),
    (".say { content-visibility: hidden }", "readback/hidden"),
    (".say { -webkit-text-fill-color: transparent }", "readback/hidden"),
    (".say { letter-spacing: -1em }", "readback/hidden"),
    (".say { line-height: 0 }", "readback/hidden"),
    (".say { animation: away 1s forwards }", "readback/hidden"),
    (".say::after { content: 'or not' }", "readback/hidden"),
    (".say:first-letter { font-weight: 700 }", "readback/hidden"),
    (".say { background: url(data:image/png;base64,AAAA) }", "readback/hidden"),
    (".say { font-size: 0 }", "readback/too-small"),
    (".say { font-size: calc(var(--base) * 0.2) }", "readback/too-small"),
    (".say { font-size: 4px }", "readback/too-small"),
    (":root { --base: 0.3rem }", "readback/too-small"),
    (":root { --small: clamp(0.2rem, 1vmin, 2rem) }", "readback/too-small"),
    (":root { --zoom: 0.1 }", "readback/too-small"),
    (".say { color: #ffffff }", "readback/faint"),
    (".say { color: #ffffff; background: #ffffff }", "readback/faint"),
    (".say { color: var(--paper); background: var(--paper) }", "readback/faint"),
    (".say { color: var(--tint); background: var(--paper) }", "readback/faint"),
    (":root { --ink: #f0f0f0 }", "readback/faint"),
    ("@media (prefers-color-scheme: dark) { :root { --ink: #101418 } }", "readback/faint"),
    (".say { color: var(--nowhere); background: var(--paper) }", "readback/faint"),
    ("@import url(x.css);.x { margin: 0 }", "readback/style"),
    ("@supports (display: grid) { .say { display: none } }", "readback/style"),
    ("@layer x { .say { margin: 0 } }", "readback/style"),
    (".say { margin: 0", "readback/style"),
    ("} .say { margin: 0 }", "readback/style"),
    (".say { margin }", "readback/style"),
]


def test_the_reader_as_it_is_made_has_no_findings():
    """The control: nothing is said of what the shipped templates make."""
    assert [f"{f.rule}: {f.message}" for f in whole()[1]] == []


@pytest.mark.parametrize(("name", "damage", "rule"), DAMAGES, ids=[n for n, _, _ in DAMAGES])
def test_a_damaged_page_is_caught(name, damage, rule):
    """The rule meant for a damage is among the errors."""
    page = whole()[0].decode()
    damaged = damage(page)

    assert damaged != page
    assert rule in rules(damaged)


@pytest.mark.parametrize(("style", "rule"), STYLES, ids=[s for s, _ in STYLES])
def test_a_style_that_may_hide_words_is_caught(style, rule):
    """Whatever is not known to leave words as they are is a finding, though no browser looks at it."""
    assert rule in rules(styled(style)(whole()[0].decode()))


@pytest.mark.parametrize("style", [".say { margin: 0 }", ".say { font-size: calc(var(--base) * 2) }",
                                   ".x { color: var(--paper); background: var(--ink) }"])  # fmt: skip
def test_a_harmless_style_passes(style):
    """Units may restyle what they like within what is known."""
    css = "\n".join(templates()[name] for name in ("house/screen.css", "reader/page.css"))
    colours = ":root{--ink:#101418;--paper:#FFFFFF;--tint:#E9EEF1;--dark-ink:#EEF2F4;--dark-paper:#101418;" + "".join(
        f"--{word}-ground:#000000;--{word}-word:#FFFFFF;" for word in ("danger", "warning", "caution", "notice")
    )

    assert list(judge(f"{colours}--dark-tint:#252D34;--focus:#0067B9}}{css}{style}")) == []


TEMPLATES: list[tuple[str, str, str, str, str]] = [
    ("a caution after its step", "reader/step.html.j2", "{% for caution in step.cautions %}",
     "{% for caution in step.cautions[1:] %}", "readback/caution-missing"),
    ("a step fewer", "reader/page.html.j2", "{% for step in phase.steps %}", "{% for step in phase.steps[1:] %}",
     "readback/step-missing"),
    ("steps turned round", "reader/page.html.j2", "{% for step in phase.steps %}",
     "{% for step in phase.steps | reverse %}", "readback/step-order"),
    ("yesterday's stamp", "reader/page.html.j2", "v{{ edition.version }}", "v0.9", "readback/stamp-foreign"),
    ("hidden by style", "reader/page.css", ".say {", ".harm { display: none } .say {", "readback/hidden"),
    ("white on white", "reader/page.css", ".say {", ".harm { color: #ffffff; background: #ffffff } .say {",
     "readback/faint"),
    ("a text in a tag", "reader/step.html.j2", '<p class="say">', '<p class="say" title="{{ step.say }}">',
     "compose/text-in-tag"),
    ("a text cut", "reader/step.html.j2", '{{ _("“{words}”", words=step.say) }}', "{{ (step.say|string)[3:] }}",
     "compose/text-cut"),
    ("nonsense", "reader/step.html.j2", "{% if step.say %}", "{% if step.said %}", "compose/template"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "file", "old", "new", "rule"), TEMPLATES, ids=[t[0] for t in TEMPLATES])
def test_a_damaged_template_is_caught(name, file, old, new, rule):
    """A unit edits a template and damages it without noticing."""
    words = templates()[file]
    assert old in words
    _, findings = paged(*edition("enhanced-removal", "harbour-north"),
                        {file: words.replace(old, new)})  # fmt: skip

    assert rule in {f.rule for f in findings}, [f"{f.rule}: {f.message}" for f in findings]


def test_a_draft_without_its_band_is_caught():
    """A draft's reader says so wherever it is."""
    of, analysis = edition("hand-rub", "harbour-north")
    data, findings = paged(replace(of, draft=True), analysis)

    assert findings == ()
    page = data.decode().replace('<p class="band">DRAFT – not for use</p>', "")
    assert "readback/draft-band" in rules(page, of=replace(of, draft=True), draft=True)


def test_every_rule_of_pages_is_shown_by_a_damage():
    """No rule that nothing can break, but for walks, which need a browser."""
    shown = {rule for _, _, rule in DAMAGES} | {rule for _, rule in STYLES} | {t[4] for t in TEMPLATES}

    assert {name for name, _ in RULES} - shown == {"readback/walk-ended"}


BROKEN = {
    "nothing": b"",
    "a sheet": b"%PDF-1.7",
    "not UTF-8": b"<!DOCTYPE html>\xff",
    "no page": b"<html>",
    "a beginning": b"<!DOCTYPE html><html",
    "tags in tags": b"<!DOCTYPE html><html><p <p <p <p",
    "an endless entity": b"<!DOCTYPE html><html><body><p>&" + b"a" * 100_000,
    "endless attributes": b"<!DOCTYPE html><html><p " + b"a=b " * 100_000 + b">",
    "too large": b"<!DOCTYPE html>" + b" " * (17 << 20),
    "a style that opens": b"<!DOCTYPE html><style>" + b"{" * 10_000,
}


@pytest.mark.parametrize("data", BROKEN.values(), ids=BROKEN)
@pytest.mark.parametrize("artifact", SCREENS)
def test_what_is_no_page_is_said_and_nothing_raised(data, artifact):
    """Hostile or simply wrong bytes give findings."""
    said = examine_page(data, edition("hand-rub", "harbour-north")[0], artifact, "x.html")

    assert said
    assert page_facts(data) == ()


@given(st.data())
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
def test_a_page_with_a_hole_never_raises(data):
    """Any stretch of a finished page replaced by anything."""
    page = whole()[0]
    start = data.draw(st.integers(0, len(page)))
    end = data.draw(st.integers(start, min(len(page), start + 5000)))
    examine_page(page[:start] + data.draw(st.binary(max_size=60)) + page[end:],
                 edition("enhanced-removal", "harbour-north")[0], "reader", "x.html", known_words=_known())  # fmt: skip


def test_pages_and_sheets_have_doors_of_their_own():
    """Nobody examines one as the other by mistake."""
    of = edition("hand-rub", "harbour-north")[0]
    with pytest.raises(ValueError, match="reader"):
        examine(b"", of, "reader", "x")
    with pytest.raises(ValueError, match="poster"):
        examine_page(b"", of, "poster", "x")
