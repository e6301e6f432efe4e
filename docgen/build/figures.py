"""Turn moments into the figures of an edition's steps, drawn when a sheet asks for them."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from docgen.model.edition import Edition
from docgen.model.moment import Analysis
from docgen.typeset import Picture, is_rtl


def pictures(edition: Edition, analysis: Analysis) -> Callable[[str], Picture | None]:
    """Step id → its figure with its alternative text; None for a step that has nothing to show."""
    from docgen.figure import describe, draw

    @cache
    def picture(step: str) -> Picture | None:
        moment = analysis.moment(step)
        if moment is None:
            return None
        drawn = draw(moment, edition.items, rtl=is_rtl(edition.language))
        return Picture(drawn.shapes, drawn.width, drawn.height, describe(moment, edition)) if drawn.shapes else None

    return picture
