"""Turn counts into bars: how a step went, as one drawing, told apart by filling and not by colour."""

from __future__ import annotations

from docgen.model.sheet import BLACK, WHITE, Colour, Path, Shape
from docgen.tally.count import StepCount

LENGTH, HEIGHT = 200.0, 14.0
LEAST = 4.0
"""Length of the smallest part: one in a thousand is seen as well."""
GREY: Colour = (0.45, 0.45, 0.45)
PARTS = ("done", "prompted", "missed", "open")
STROKE = 1.0


def bar(s: StepCount, rtl: bool = False) -> tuple[Shape, ...]:
    """The bar of a step, `LENGTH` × `HEIGHT`: parts as long as their counts, from done at the reading edge to open."""
    counts = (s.done, s.prompted, s.missed, s.open)
    whole, shapes, x = sum(counts), [], 0.0
    lengths = [max(LEAST, LENGTH * count / whole) if count else 0.0 for count in counts] if whole else [0.0] * 4
    scale = LENGTH / sum(lengths) if whole else 0.0
    parts = tuple(zip(PARTS, lengths, strict=True))
    for part, length in reversed(parts) if rtl else parts:
        if length:
            shapes += piece(part, x, length * scale)
            x += length * scale
    return tuple(shapes)


def key(part: str) -> tuple[Shape, ...]:
    """A square of a part's filling, `HEIGHT` on each side."""
    return tuple(piece(part, 0.0, HEIGHT))


def piece(part: str, x: float, length: float) -> list[Shape]:
    """One part of a bar: done is empty, prompted striped, missed solid, open a line in the middle."""
    half = STROKE / 2
    box = _box(x + half, half, length - STROKE, HEIGHT - STROKE)
    if part == "missed":
        return [Shape(box, fill=BLACK, stroke=BLACK, width=STROKE)]
    if part == "open":
        return [
            Shape((("M", (x + half, HEIGHT / 2)), ("L", (x + length - half, HEIGHT / 2))), stroke=GREY, width=STROKE)
        ]
    shapes = [Shape(box, fill=WHITE, stroke=BLACK, width=STROKE)]
    if part == "prompted":
        stripes = []
        at = x + 3.0
        while at < x + length - 1.0:
            stripes += [("M", (at, half)), ("L", (at, HEIGHT - half))]
            at += 4.0
        if stripes:
            shapes.append(Shape(tuple(stripes), stroke=BLACK, width=1.6))
    return shapes


def _box(x: float, y: float, width: float, height: float) -> Path:
    return (
        ("M", (x, y)), ("L", (x + width, y)), ("L", (x + width, y + height)), ("L", (x, y + height)), ("Z", ()),
    )  # fmt: skip
