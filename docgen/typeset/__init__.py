"""Turn blocks into placed sheets: all is measured and decided here, or refused; nothing is cut or shrunk away."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from docgen.findings import Finding, error
from docgen.model.block import Composition
from docgen.model.edition import Edition
from docgen.model.layout import House, Layout
from docgen.model.sheet import Document
from docgen.typeset import cards, pages, poster
from docgen.typeset.faces import Faces, lacking
from docgen.typeset.frame import Paper, paper
from docgen.typeset.look import Look, Picture

RTL = frozenset({"ar", "fa", "he", "ps", "ur", "yi", "dv", "ckb", "sd", "ug"})
"""Languages written from right to left (CLDR `characterOrder`)."""


def is_rtl(language: str) -> bool:
    """Whether a language tag's script runs from right to left."""
    return language.split("-")[0].lower() in RTL


def place(
    composition: Composition,
    edition: Edition,
    layout: Layout,
    house: House,
    faces: Faces,
    pictures: Callable[[str], Picture | None],
    *,
    sheet: str | None = None,
    distance: float | None = None,
) -> tuple[Document | None, tuple[Finding, ...]]:
    """Place one artifact on the named sheet (or the layout's own). Returns the document, or findings that say what is
    missing and which sheets would do."""
    name = sheet or layout.sheet
    if name not in layout.sheets:
        return None, (
            error(
                "typeset/unknown-sheet",
                f"the {layout.artifact} has no layout for the sheet `{name}`",
                artifact=layout.artifact,
                hint="choose one of " + ", ".join(f"`{n}`" for n in layout.sheets),
            ),
        )
    look = Look(layout, house, faces, edition.language, is_rtl(edition.language), pictures, beside=edition.beside)
    far = distance or layout.distance
    document, findings = _on(composition, edition, look, paper(name, layout.sheets[name]), far)
    if look.missing:
        return None, lacking(look.missing, artifact=layout.artifact, language=edition.language)
    if document is None:
        would = [
            other
            for other in layout.sheets
            if other != name and _on(composition, edition, look, paper(other, layout.sheets[other]), far)[0] is not None
        ]
        hint = (
            f"; or print it on {' or '.join(would)}, where it fits"
            if would
            else "; no larger sheet in its layout would do"
        )
        findings = tuple(replace(f, hint=f.hint + hint) for f in findings)
        return None, findings
    return replace(
        document, subject=edition.purpose.plain, author=edition.owner.plain, keywords=_keywords(edition)
    ), findings


def place_record(
    composition: Composition,
    title: str,
    layout: Layout,
    house: House,
    faces: Faces,
    pictures: Callable[[str], Picture | None],
    sheet: str,
) -> tuple[Document | None, tuple[Finding, ...]]:
    """Place what is not of an edition (a round sheet, a print order), in the source language: if it can be, on one
    page."""
    look = Look(layout, house, faces, "en", False, pictures)
    name = sheet if sheet in layout.sheets else layout.sheet
    document, findings = pages.place(
        composition, None, look, paper(name, layout.sheets[name]), single=True, title=title
    )
    if look.missing:
        return None, lacking(look.missing, artifact=layout.artifact)
    return document, findings


def _keywords(edition: Edition) -> str:
    return " ".join((edition.code, f"v{edition.version}", edition.fingerprint, edition.language, edition.site))


def _on(
    composition: Composition, edition: Edition, look: Look, on: Paper, distance: float
) -> tuple[Document | None, tuple[Finding, ...]]:
    match composition.artifact:
        case "poster":
            return poster.place(composition, edition, look, on, distance)
        case "cards":
            return cards.place(composition, edition, look.with_late(distance=f"{distance:g}", card="8", cards="8"), on)
        case artifact:
            return pages.place(
                composition, edition, look.with_late(distance=f"{distance:g}"), on, single=artifact == "notice"
            )
