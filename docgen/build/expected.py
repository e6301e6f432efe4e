"""Turn what was asked for into what the read-back expects besides the edition: size, distance, a template's words."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from docgen.model.block import Block, Composition, Items, Panel, Para, Piece, Table
from docgen.model.catalogue import Catalogue
from docgen.model.edition import Edition
from docgen.model.layout import SIZES, Layout

BAND = "/band.md.j2"
"""The template whose words mark a draft."""
_DATES = ("effective-long", "review-long")
ON = " on "
"""Between the card and the press sheet in a sheet's name: `A6 on A4`."""


def expected(
    edition: Edition,
    artifact: str,
    layout: Layout,
    sheet: str,
    composition: Composition,
    words: Catalogue | None = None,
) -> dict[str, Any]:
    """The keyword arguments of the read-back.

    `sheet`: its name, empty when it is not known. `words`: those of templates in the edition's language, for a
    translation.
    """
    own = {_phrase(p) for p in _pieces(composition) if p.origin.kind == "word" or p.origin.field in _DATES}
    if edition.beside:
        own |= {edition.languages, *(_phrase(p) for p in _pieces(composition) if p.language)}
    return {
        "sheet": _size(layout, sheet),
        "distance": edition.sheet(artifact).distance or layout.distance,
        "draft": edition.draft,
        "known_words": tuple(sorted(own)),
        "terms": terms(words) if words else None,
    }


def terms(words: Catalogue) -> dict[str, str]:
    """How signal words and the band of drafts are worded in a language."""
    from docgen.language import words_of
    from docgen.source import inline

    word = words_of(words, inline)
    terms = {e.key.removeprefix("signal."): word(e.source).plain for e in words.entries if e.key.startswith("signal.")}
    bands = [e.source for e in words.entries if any(file.endswith(BAND) for file in e.files)]
    return {**terms, "draft": word(bands[0]).plain} if bands else terms


def sheet_name(layout: Layout, written: str) -> str:
    """The sheet that the end of a file's name means: `a6-on-a4` → `A6 on A4`; empty if it is none of the layout's."""
    names = [*layout.sheets, *(f"{card}{ON}{press}" for card in layout.sheets for press in layout.press)]
    return next((n for n in names if n.lower().replace(" ", "-") == written.lower()), "")


def _size(layout: Layout, sheet: str) -> tuple[float, float] | None:
    card, _, press = sheet.partition(ON)
    spec = layout.sheets.get(card)
    size = SIZES.get(press) if press else SIZES.get((spec.size if spec else None) or card)
    if size is None:
        return None
    return (size[1], size[0]) if spec and spec.landscape and not press else size


def _phrase(piece: Piece) -> str:
    return "".join(run.text or f"{{{run.slot}}}" for run in piece.runs)


def _pieces(composition: Composition) -> Iterator[Piece]:
    for _name, blocks in composition.parts:
        for block in blocks:
            yield from _of(block)


def _of(block: Block) -> Iterator[Piece]:
    match block:
        case Para(pieces=pieces):
            yield from pieces
        case Panel(blocks=blocks):
            for inner in blocks:
                yield from _of(inner)
        case Items(items=items):
            for item in items:
                for inner in item:
                    yield from _of(inner)
        case Table(header=header, rows=rows):
            for cell in (*header, *(c for row in rows for c in row)):
                yield from _of(cell)
