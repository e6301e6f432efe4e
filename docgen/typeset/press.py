"""Turn a nest of cards into what is printed around them: crop marks, register marks, a line for whoever cuts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from docgen.model.press import Nest
from docgen.model.sheet import BLACK, MM, Document, Ink, Mark, Shape, Sheet
from docgen.model.text import Run
from docgen.typeset.boxes import circle, rectangle
from docgen.typeset.cards import _crop_marks
from docgen.typeset.faces import Faces
from docgen.typeset.shaping import shape

SLUG = 7.0
"""Size of the line at the foot, points: read by whoever holds the sheet."""
RING = 1.5
"""Radius of a register mark, millimetres."""
OUT = 5.0
"""How far register marks stand off the cards, millimetres."""
DASH = (6.0, 4.0)


def press_marks(nest: Nest, sides: Sequence[tuple[str, Iterable[int], bool]], faces: Faces) -> Document:
    """A sheet of marks for each side: its line, the slots in use, and whether it is a back."""
    sheets = []
    for line, slots, back in sides:
        marks: list[Mark] = []
        wide, tall = nest.card
        for slot in slots:
            left, top = nest.corner(slot, back)
            marks += _crop_marks(left * MM, top * MM, wide * MM, tall * MM)
        marks += [m for x, y in _register(nest) for m in _target(x * MM, y * MM)]
        marks += _words(line, 10.0, nest.height - 4.0, nest.width - 20.0, faces)
        sheets.append(Sheet(nest.width * MM, nest.height * MM, tuple(marks)))
    return Document("Marks", "en", False, tuple(sheets))


def laying_guide(nest: Nest, words: Sequence[str], faces: Faces) -> Document:
    """A sheet to put under an open pouch: outlines to lay cut cards on, and dashed lines along which film is cut."""
    wide, tall = nest.card
    seal = nest.gap / 2
    marks: list[Mark] = []
    for slot in range(nest.slots):
        left, top = nest.corner(slot)
        outline = rectangle(left * MM, top * MM, wide * MM, tall * MM)
        film = rectangle((left - seal) * MM, (top - seal) * MM, (wide + nest.gap) * MM, (tall + nest.gap) * MM)
        marks += [Shape(outline, stroke=BLACK, width=0.6), Shape(film, stroke=BLACK, width=0.4, dash=DASH)]
    left, top = nest.corner(0)
    y = top + 8.0
    for line in words:
        inks = _words(line, left + 5.0, y, wide - 10.0, faces, 9.0)
        marks += inks
        y += 4.4 * len(inks) + 1.2
    return Document("Laying guide", "en", False, (Sheet(nest.width * MM, nest.height * MM, tuple(marks)),))


def _register(nest: Nest) -> Iterable[tuple[float, float]]:
    """Where register marks stand: the same place on both sides of the paper."""
    left, top, right, bottom = nest.block
    return ((left - OUT, nest.height / 2), (right + OUT, nest.height / 2), (nest.width / 2, top - OUT),
            (nest.width / 2, bottom + OUT))  # fmt: skip


def _target(x: float, y: float) -> tuple[Shape, ...]:
    arm = 2 * RING * MM
    lines = ((("M", (x - arm, y)), ("L", (x + arm, y))), (("M", (x, y - arm)), ("L", (x, y + arm))))
    ring = Shape(circle(x, y, RING * MM), stroke=BLACK, width=0.3)
    return (ring, *(Shape(line, stroke=BLACK, width=0.3) for line in lines))


def _words(line: str, x: float, y: float, width: float, faces: Faces, size: float = SLUG) -> list[Ink]:
    """Lines of text from a place downwards; millimetres."""
    shaped = shape((Run(line),), faces, language="en")
    return [
        Ink(each, x * MM, (y + n * 4.4) * MM, size) for n, each in enumerate(shaped.wrap(width * MM, size))
    ]  # fmt: skip
