"""Turn moments into the figures of an edition's steps, drawn when a sheet asks for them."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import TYPE_CHECKING

from docgen.model.catalogue import Catalogue
from docgen.model.edition import Edition
from docgen.model.moment import Analysis

if TYPE_CHECKING:
    from docgen.typeset import Picture


def pictures(edition: Edition, analysis: Analysis, words: Catalogue | None = None) -> Callable[[str], Picture | None]:
    """Step id → its figure with its alternative text; None for a step that has nothing to show.

    `words`: the phrases of the edition's language; English without.
    """
    from docgen.figure import describe, draw
    from docgen.figure.phrases import PHRASES
    from docgen.language import phrases_of
    from docgen.typeset import Picture, is_rtl

    phrases = phrases_of(words, PHRASES) if words else PHRASES

    @cache
    def picture(step: str) -> Picture | None:
        moment = analysis.moment(step)
        if moment is None:
            return None
        drawn = draw(moment, edition.items, rtl=is_rtl(edition.language))
        if not drawn.shapes:
            return None
        return Picture(drawn.shapes, drawn.width, drawn.height, describe(moment, edition, phrases))

    return picture
