"""Turn editions into finished pages for screens: compose → cover with fonts → draw → write."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from html import unescape
from typing import TYPE_CHECKING, Any

from docgen.build.figures import pictures
from docgen.findings import Finding
from docgen.model.block import Origin
from docgen.model.catalogue import Catalogue
from docgen.model.edition import Edition
from docgen.model.layout import House
from docgen.model.moment import Analysis
from docgen.model.page import Image, Page, Said
from docgen.model.sheet import BLACK, WHITE
from docgen.typeset import Picture, is_rtl, signs
from docgen.typeset.coverage import coverage
from docgen.typeset.faces import Faces, MissingGlyph

if TYPE_CHECKING:
    from docgen.artifacts import Worn

Spoken = tuple[Edition, Analysis]
"""An edition in one language."""
ALWAYS = "0123456789:/·–- ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
"""What a page's program may write by itself, and most names that are typed into it."""


def page(
    artifact: str,
    spoken: Sequence[Spoken],
    templates: Mapping[str, str],
    words: Mapping[str, Catalogue],
    more: Mapping[str, Any] | None = None,
) -> tuple[Page | None, tuple[Finding, ...]]:
    """What a page says, in the language of each edition given. `words`: language → those of templates in it."""
    from docgen.compose import Voice, compose_page
    from docgen.language import long_date, own_name, words_of
    from docgen.source import inline

    voices = []
    for edition, analysis in spoken:
        own = words.get(edition.language)
        word = words_of(own, inline) if own else inline
        language = edition.language
        voices.append(Voice(edition, analysis, word, long_date(language), is_rtl(language), own_name(language)))
    return compose_page(artifact, voices, templates, more)


def written(
    page: Page,
    spoken: Sequence[Spoken],
    house: House,
    words: Mapping[str, Catalogue],
    faces: Faces,
    images: Mapping[str, Image] | None = None,
) -> tuple[bytes | None, tuple[str, ...], tuple[Finding, ...]]:
    """The file of a composed page and the faces in it, or which characters no font at hand can draw."""
    from docgen.artifacts import write_html

    worn: list[Worn] = []
    findings: list[Finding] = []
    for edition, _ in spoken:
        language = edition.language
        dressed, missing = worn_by(page, language, faces)
        worn += dressed
        findings += [m.finding(artifact=page.artifact, language=language) for m in missing]
    if findings:
        return None, (), tuple(findings)
    figures = {e.language: pictures(e, a, words.get(e.language)) for e, a in spoken}

    def draw(origin: Origin, language: str) -> Picture | Image | None:
        match origin.kind:
            case "figure":
                return figures[language](origin.ref)
            case "mark":
                return _sign(signs.mark(origin.field, BLACK))
            case "symbol":
                return _sign(signs.symbol(origin.field, BLACK, WHITE))
            case "sign":
                return _sign(signs.sign(origin.ref, BLACK, is_rtl(language)))
            case "image" if images:
                return images.get(origin.ref)
        return None

    return write_html(page, draw, worn, house.colours), tuple(sorted({w.face.name for w in worn})), ()


def worn_by(page: Page, language: str, faces: Faces) -> tuple[list[Worn], tuple[MissingGlyph, ...]]:
    """The fonts that a page needs in a language, and what no font at hand can draw."""
    from docgen.artifacts import Worn

    covered, missing = coverage((*_shown(page, language), ALWAYS), language, faces)
    return [Worn(language, bold, face, drawn) for (bold, _), (face, drawn) in covered.items()], missing


def _sign(shapes: tuple) -> Picture:
    return Picture(shapes, signs.SIDE, signs.SIDE, "")


def _shown(page: Page, language: str) -> Iterator[str]:
    """Everything a page shows in a language: its article without the tags, and its words in the other articles."""
    for article in page.articles:
        for part in article.parts:
            if isinstance(part, Said) and part.language == language:
                yield "".join(run.text for run in part.piece.runs)
            elif isinstance(part, str) and article.language == language:
                yield unescape(re.sub(r"<[^>]*>", " ", part))
                yield from map(unescape, re.findall(r'data-[a-z]+="([^"]*)"', part))
