"""Structure: read in its own order, held against what is seen, and believed for right-to-left words only if drawn."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files

import faithful
from faithful import Ink, Leaf, lay, make_edition, paint, tag, words
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from docgen.model.edition import Edition
from docgen.readback import examine, read

TERMS = {"danger": "خطر", "warning": "تحذير", "caution": "احتراس", "notice": "إشعار"}


def inks(leaf: Leaf) -> list[Ink]:
    return [m for m in leaf.marks if isinstance(m, Ink)]


def plain_tags(leaves: list[Leaf]) -> list[list[tuple[list[int], str]]]:
    """One element for each mark, in drawing order."""
    return [[([n], "") for n in range(len(inks(leaf)))] for leaf in leaves]


def rules(data: bytes, edition: Edition, artifact: str = "script", **more) -> set[str]:
    return {f.rule for f in examine(data, edition, artifact, "x.pdf", **more)}


def test_structure_in_the_order_that_is_seen_passes() -> None:
    """A tagged script whose structure follows the page has no findings."""
    leaves = lay(make_edition(), "script")
    assert rules(tag(paint(leaves, marked=True), plain_tags(leaves)), make_edition()) == set()


def test_elements_are_read_in_structure_order() -> None:
    """Marked content and exact texts come back as they were written."""
    leaves = lay(make_edition(), "notice")
    data = tag(paint(leaves, marked=True), [[([2, 1], "exact"), ([0], "")]])
    (page,) = read(data, pixels=False).pages
    (whole, one, two) = page.elements
    assert whole.mcids == (2, 1, 0)
    assert (one.own, one.actual, two.own) == ((2, 1), "exact", (0,))
    assert [r.mcid for r in page.runs] == list(range(len(page.runs)))


def test_steps_tagged_in_another_order_are_caught() -> None:
    """The visible order is right, but a screen reader would read step 6 before step 5."""
    leaves = lay(make_edition(), "script")
    tags = plain_tags(leaves)
    for leaf, page in zip(leaves, tags, strict=True):
        page.reverse()
        del leaf
    assert "readback/tag-order" in rules(tag(paint(leaves, marked=True), tags), make_edition())


def test_a_caution_tagged_after_its_step_is_caught() -> None:
    """Seen before its step, but read aloud after it."""
    leaves = lay(make_edition(), "script")
    tags = plain_tags(leaves)
    for leaf, page in zip(leaves, tags, strict=True):
        late = [n for n, m in enumerate(inks(leaf)) if m.step == "clean-1" and m.caution]
        moved = [page[n] for n in late]
        page[:] = [e for n, e in enumerate(page) if n not in late] + moved
    assert "readback/tag-order" in rules(tag(paint(leaves, marked=True), tags), make_edition())


def test_a_headline_outside_the_structure_is_caught() -> None:
    """Decoration is left out by screen readers; a headline is none."""
    leaves = lay(make_edition(), "script")
    tags = plain_tags(leaves)
    for leaf, page in zip(leaves, tags, strict=True):
        page[:] = [
            e for n, e in enumerate(page) if not (inks(leaf)[n].what == "headline" and inks(leaf)[n].step == "shield")
        ]
    assert "readback/tag-missing" in rules(tag(paint(leaves, marked=True), tags), make_edition())


def test_exact_text_that_is_not_drawn_is_caught() -> None:
    """A claim of the structure proves nothing by itself."""
    leaves = lay(make_edition(), "script")
    tags = plain_tags(leaves)
    at = next(n for n, m in enumerate(inks(leaves[0])) if m.what == "headline")
    tags[0][at] = ([at], "Look at your other suit")
    assert "readback/tag-words" in rules(tag(paint(leaves, marked=True), tags), make_edition())


# --- right-to-left -------------------------------------------------------------------------------------------------

ARABIC = tuple("انزع القفاز الخارجي برفق ثم ضعه في الحاوية ولا تلمس الجلد أبدا حتى تجف اليدان تماما بعد الفرك".split())  # noqa: SIM905


def arabic(edition: Edition) -> Edition:
    """The edition with every text in Arabic words (three to six of them, different for different texts)."""
    seen: dict[str, str] = {}

    def said(text: str) -> str:
        if text not in seen:
            n = len(seen)
            seen[text] = " ".join(ARABIC[(n * 5 + k * (1 + n % 3)) % len(ARABIC)] for k in range(3 + n % 4))
        return seen[text]

    def step(s):
        return replace(
            s, headline=words(said(s.headline.plain)), say=words(said(s.say.plain)), answer=words(said(s.answer.plain)),
            do=tuple(words(said(t.plain)) for t in s.do), watch=tuple(words(said(t.plain)) for t in s.watch),
            done_when=words(said(s.done_when.plain)),
            hold=replace(s.hold, until=words(said(s.hold.until.plain))) if s.hold else None,
            cautions=tuple(
                replace(c, hazard=words(said(c.hazard.plain)), consequence=words(said(c.consequence.plain)),
                        avoid=words(said(c.avoid.plain))) for c in s.cautions),
        )  # fmt: skip

    return replace(
        edition, language="ar", title=words(said(edition.title.plain)), steps=tuple(map(step, edition.steps)),
        phases=tuple(replace(p, title=words(said(p.title.plain))) for p in edition.phases),
        branches=tuple(
            replace(b, question=words(said(b.question.plain)), tell=words(said(b.tell.plain)),
                    steps=tuple(map(step, b.steps))) for b in edition.branches),
    )  # fmt: skip


def drawn_in_arabic(damage=None) -> bytes:
    """A tagged Arabic script: each line drawn from left to right as it is seen, its exact words in the structure."""
    root = files("fontpkg_ibm_plex_sans_arabic") / "files"
    name = next(f.name for f in root.iterdir() if f.name.endswith("Regular.ttf"))
    pdfmetrics.registerFont(TTFont("ArabicForTests", str(root / name)))
    edition = arabic(make_edition())
    before, faithful.face = faithful.face, lambda: "ArabicForTests"
    signals, faithful.SIGNALS = faithful.SIGNALS, TERMS
    try:
        leaves = lay(edition, "script")
        for leaf in leaves:
            for m in inks(leaf):
                m.text = m.text.replace("\u2009", "-")  # this face has no thin space
        exact = [[([n], m.text) for n, m in enumerate(inks(leaf))] for leaf in leaves]
        for leaf in leaves:
            for m in inks(leaf):
                if any("\u0600" <= c <= "\u06ff" for c in m.text):
                    m.text = " ".join(w if w.isascii() else w[::-1] for w in reversed(m.text.split()))
        if damage:
            damage(leaves, exact)
        return tag(paint(leaves, marked=True), _by_paragraph(leaves, exact))
    finally:
        faithful.face, faithful.SIGNALS = before, signals


def _by_paragraph(leaves: list[Leaf], exact) -> list[list[tuple[list[int], str]]]:
    """Lines of one text become one element, as a tagged file has them."""
    out = []
    for leaf, page in zip(leaves, exact, strict=True):
        marks, joined = inks(leaf), []
        for n, (mcids, text) in enumerate(page):
            same = n and (marks[n].what, marks[n].step, marks[n].caution) == (
                marks[n - 1].what, marks[n - 1].step, marks[n - 1].caution)  # fmt: skip
            if same and marks[n].what not in ("do", "watch", "stamp", "after"):
                joined[-1] = (joined[-1][0] + mcids, f"{joined[-1][1]} {text}")
            else:
                joined.append((mcids, text))
        out.append(joined)
    return out


def test_a_right_to_left_script_passes() -> None:
    """Words are drawn in visual order; the structure's exact text is compared, and found to be what is drawn."""
    findings = examine(drawn_in_arabic(), arabic(make_edition()), "script", "x.pdf", terms=TERMS)
    assert [f"{f.rule}: {f.message}" for f in findings] == []


def test_codes_and_dates_are_read_as_they_stand_on_a_right_to_left_page() -> None:
    """pdfium turns whole lines where a page has right-to-left letters; the stamp must come back as printed."""
    text = " ".join(r.text for r in read(drawn_in_arabic(), pixels=False).pages[0].runs)
    assert "IP-GLV-01 · v2.1 · in force from 2026-03-01" in text


def test_a_right_to_left_word_that_is_not_drawn_is_caught() -> None:
    """The structure keeps the exact headline, but another word is on the sheet."""

    def damage(leaves: list[Leaf], exact) -> None:
        for m in inks(leaves[0]):
            if m.what == "headline" and m.step == "look":
                m.text = m.text.replace(m.text.split()[0], "اليدان"[::-1])

    data = drawn_in_arabic(damage)
    assert "readback/tag-words" in rules(data, arabic(make_edition()), terms=TERMS)


def test_a_right_to_left_caution_that_is_nowhere_is_caught() -> None:
    """Left out of the sheet and of the structure."""

    def damage(leaves: list[Leaf], exact) -> None:
        for leaf, page in zip(leaves, exact, strict=True):
            keep = [not (m.step == "clean-1" and m.caution) for m in inks(leaf)]
            page[:] = [([n], text) for n, text in enumerate(t for (_, t), k in zip(page, keep, strict=True) if k)]
            gone = [m for m, k in zip(inks(leaf), keep, strict=True) if not k]
            leaf.marks = [m for m in leaf.marks if not any(m is g for g in gone)]

    assert "readback/caution-missing" in rules(drawn_in_arabic(damage), arabic(make_edition()), terms=TERMS)


def test_right_to_left_without_structure_is_refused() -> None:
    """Exact order cannot be proven from glyphs alone."""
    edition = replace(make_edition(), language="ar")
    found = examine(paint(lay(make_edition(), "script")), edition, "script", "x.pdf")
    assert {"readback/untagged", "readback/language-terms"} <= {f.rule for f in found}
