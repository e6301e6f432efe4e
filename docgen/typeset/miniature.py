"""Turn a placed sheet into a small drawing of it, words as bars: enough to tell one sheet from another on a list."""

from __future__ import annotations

from collections.abc import Iterator

from docgen.model.sheet import Colour, Document, Drawing, Field, Ink, Path, Shape
from docgen.typeset.boxes import rectangle
from docgen.typeset.look import Picture

X_HEIGHT = 0.5
"""Height of a bar in type sizes: that of lower-case letters, about."""
TALL = 400.0
"""Height of the drawing's own space."""
EDGE: Colour = (0.4, 0.4, 0.4)


def miniature(document: Document, alt: str) -> Picture:
    """The first sheet of a document. `alt` says what it is."""
    sheet = document.sheets[0]
    scale = TALL / sheet.height
    shapes = [Shape(rectangle(0, 0, sheet.width * scale, TALL), (1.0, 1.0, 1.0), EDGE, 1.5)]
    for mark in sheet.marks:
        shapes += _small(mark, scale)
    return Picture(tuple(shapes), sheet.width * scale, TALL, alt)


def _small(mark: Ink | Shape | Drawing | Field, scale: float) -> Iterator[Shape]:
    match mark:
        case Ink():
            tall = mark.size * X_HEIGHT
            wide = mark.line.width * mark.size / 1000
            yield Shape(_scaled(rectangle(mark.x, mark.y - tall, wide, tall), scale), _paler(mark.colour))
        case Shape():
            yield Shape(_scaled(mark.path, scale), mark.fill, mark.stroke, mark.width * scale, even_odd=mark.even_odd)
        case Drawing():
            for inner in mark.shapes:
                path = _scaled(_placed(inner.path, mark), scale)
                width = inner.width * mark.scale * scale
                yield Shape(path, inner.fill, inner.stroke, width, even_odd=inner.even_odd)
        case Field():
            box = rectangle(mark.x, mark.y, mark.width, mark.height)
            yield Shape(_scaled(box, scale), None, EDGE, 0.5)


def _paler(colour: Colour) -> Colour:
    """Words seen from afar are grey: half way between their colour and that of paper half covered by them."""
    r, g, b = ((part + 0.6) / 2 for part in colour)
    return (r, g, b)


def _scaled(path: Path, scale: float) -> Path:
    return tuple((op, tuple(v * scale for v in args)) for op, args in path)


def _placed(path: Path, at: Drawing) -> Path:
    way = -1 if at.mirror else 1
    return tuple(
        (op, tuple((at.x + way * v * at.scale) if n % 2 == 0 else (at.y + v * at.scale) for n, v in enumerate(args)))
        for op, args in path
    )
