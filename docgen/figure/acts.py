"""Turn an act into marks: arrows, drops, an eye, a bin, a door; each around its own origin, some 40 units across."""

from __future__ import annotations

import math

from docgen.figure.hatch import straightened
from docgen.figure.pen import (
    CLOTH,
    FINE,
    INK,
    LINE,
    PAPER,
    Part,
    Place,
    block,
    capsule,
    ellipse,
    path,
    polyline,
    rounded,
    solid,
    stroke,
)  # fmt: skip
from docgen.model.sheet import Path

HALO = 1.5
"""White around a mark, so that it stands off the lines it crosses."""


def arrow(line: str, *, shaft: float = 4.2, head: float = 11.0) -> tuple[Part, ...]:
    """A solid arrow along an open path; its tip is where the path ends."""
    points = straightened(path(line))[0]
    tip = points[-1]
    length = head * 0.82
    # the shaft stops inside the head, whose direction is that of the last stretch as long as the head
    back = next((p for p in reversed(points) if math.dist(p, tip) >= length), points[0])
    ux, uy = (tip[0] - back[0]) / math.dist(tip, back), (tip[1] - back[1]) / math.dist(tip, back)
    base = (tip[0] - ux * length, tip[1] - uy * length)
    spine = [p for p in points if math.dist(p, tip) > length] + [(base[0] + ux, base[1] + uy)]
    half = head / 2
    left, right = (base[0] - uy * half, base[1] + ux * half), (base[0] + uy * half, base[1] - ux * half)
    triangle: Path = (("M", tip), ("L", left), ("L", right), ("Z", ()))
    return (
        Part((polyline(*spine),), None, shaft + 2 * HALO, PAPER),
        Part((triangle,), PAPER, HALO, PAPER),
        Part((polyline(*spine),), None, shaft, INK),
        block(triangle),
    )


DROP = path(
    "M0 -5.6 C1.4 -2.6 3.6 -0.6 3.6 1.8 C3.6 4 2 5.4 0 5.4 C-2 5.4 -3.6 4 -3.6 1.8 C-3.6 -0.6 -1.4 -2.6 0 -5.6 Z"
)
GLINT = path("M0 -6 C0.6 -1.6 1.6 -0.6 6 0 C1.6 0.6 0.6 1.6 0 6 C-0.6 1.6 -1.6 0.6 -6 0 C-1.6 -0.6 -0.6 -1.6 0 -6 Z")
SAID = path(
    "M-19 -19 L5 -19 C7 -19 8 -18 8 -16 L8 -5 C8 -3 7 -2 5 -2 L-9 -2 L-15.4 4 L-14.8 -2 L-19 -2 C-21 -2 -22 -3 -22 -5 "
    "L-22 -16 C-22 -18 -21 -19 -19 -19 Z"
)
ANSWERED = path(
    "M-4 2.4 L18 2.4 C20 2.4 21 3.4 21 5.4 L21 16 C21 18 20 19 18 19 L14 19 L14.6 25 L8 19 L-4 19 C-6 19 -7 18 -7 16 "
    "L-7 5.4 C-7 3.4 -6 2.4 -4 2.4 Z"
)


def drop(x: float = 0.0, y: float = 0.0, size: float = 1.0) -> tuple[Part, ...]:
    """A drop of fluid, its round end at the bottom."""
    return (block(Place(x, y, size)(DROP)),)


def rays(x: float, y: float, inner: float, outer: float, start: float, stop: float, count: int) -> tuple[Part, ...]:
    """Short strokes radiating from a point, from one angle to another: clean. Degrees clockwise from the right."""
    out: list[Path] = []
    for i in range(count):
        a = math.radians(start + i * (stop - start) / (count - 1))
        c, s = math.cos(a), math.sin(a)
        out.append(polyline((x + c * inner, y + s * inner), (x + c * outer, y + s * outer)))
    return (stroke(*out),)


def sparkle(x: float, y: float, size: float = 1.0) -> tuple[Part, ...]:
    """A four-pointed glint: clean."""
    return (block(Place(x, y, size)(GLINT)),)


def eye(x: float = 0.0, y: float = 0.0, size: float = 1.0) -> tuple[Part, ...]:
    """An open eye: look."""
    at = Place(x, y, size)
    return (
        solid(at(path("M-11 0 C-7 -6.4 -3.4 -8 0 -8 C3.4 -8 7 -6.4 11 0 C7 6.4 3.4 8 0 8 C-3.4 8 -7 6.4 -11 0 Z"))),
        block(at(ellipse(0, 0, 4.4))),
        block(at(ellipse(1.5, -1.5, 1.3)), fill=PAPER),
    )


def bin_() -> tuple[Part, ...]:
    """An open waste container with a liner."""
    return (
        solid(path("M-10.5 -6 L10.5 -6 L8.4 16 L-8.4 16 Z")),
        stroke(path("M-3.6 0 L-3 10.4"), path("M3.6 0 L3 10.4")),
        solid(rounded(-12.4, -9.4, 24.8, 3.8, 1.6)),
    )


def door() -> tuple[Part, ...]:
    """An open doorway."""
    return (
        stroke(path("M-12 20 L-12 -20 L12 -20 L12 20")),
        solid(path("M-12 -20 L0 -14 L0 26 L-12 20 Z"), fill=CLOTH),
        block(ellipse(-3.4, 5, 1.4)),
    )


def chair() -> tuple[Part, ...]:
    """A chair from the side."""
    return (
        stroke(path("M9 -22 L9 20"), path("M-9 2 L-9 20")),
        solid(rounded(-10.6, -2, 21, 4, 1.6)),
        stroke(path("M-9 11 L9 11"), line=FINE),
    )


def clock() -> tuple[Part, ...]:
    """A clock face with a waiting hand."""
    ticks = path("M14 0 L15.6 0 M-14 0 L-15.6 0 M0 14 L0 15.6 M0 -14 L0 -15.6")
    return (solid(ellipse(0, 0, 18)), stroke(ticks), stroke(path("M0 -10.5 L0 0 L7.4 4.4"), line=3.0))


def tick(x: float = 0.0, y: float = 0.0, size: float = 1.0) -> tuple[Part, ...]:
    """A check mark."""
    return (stroke(Place(x, y, size)(path("M-5 0.4 L-1.4 4 L5.4 -4.4")), line=3.0),)


def speech() -> tuple[Part, ...]:
    """Two people speaking: a statement, and the answer that it is so."""
    return (solid(SAID), stroke(path("M-16 -13 L2 -13"), path("M-16 -8 L-3 -8"), line=FINE), solid(ANSWERED))


def tap() -> tuple[Part, ...]:
    """A tap with running water."""
    return (
        solid(path("M20 -20 L20 -12 L6 -12 L6 -7 L-2 -7 L-2 -14 C-2 -18 0 -20 4 -20 Z")),
        stroke(path("M11 -20 L11 -25"), path("M6.4 -25 L15.6 -25")),
    )


def bottle() -> tuple[Part, ...]:
    """A spray bottle pointing left, standing on y = 20, with its spray."""
    return (
        solid(path("M-1 -6 L9 -6 L12 1 L12 20 L-5 20 L-5 1 Z")),
        stroke(path("M-2 8 L9 8"), line=FINE),
        solid(path("M-7 -17 L8 -17 C10.6 -17 11.6 -14 11.6 -10.6 L-1 -10.6 L-7 -12 Z")),
        stroke(path("M-1.4 -9 L-4.4 -3.4")),
        stroke(path("M-12 -15.4 L-18 -17.4"), path("M-12.4 -12 L-20 -9.4"), path("M-12 -8.6 L-17 -3")),
    )


def surface(width: float = 21.0, y: float = 18.0) -> tuple[Part, ...]:
    """A table top or floor."""
    return (stroke(path(f"M{-width} {y} L{width} {y}"), line=LINE * 1.3),)


def cloth() -> tuple[Part, ...]:
    """A folded wiping cloth, flat on its lower edge."""
    return (solid(path("M-9 0 L9 0 C10 -3 9 -6 6 -6.6 L-6 -6.6 C-9 -6 -10 -3 -9 0 Z"), fill=CLOTH),)


def pen() -> tuple[Part, ...]:
    """A pen, its tip at the origin, leaning right."""
    return (
        solid(path("M2.4 -6.6 L12 -22 L17 -19 L7.4 -3.4 Z")),
        block(path("M0 0 L2.4 -6.6 L7.4 -3.4 Z")),
    )


def scoop() -> tuple[Part, ...]:
    """A dustpan from the side, pointing left, its lip on y = 16."""
    return (
        solid(path("M-12 15.5 L6 15.5 L8 3 L3.6 3 C2 9 -4 12.6 -12 15.5 Z")),
        solid(capsule(9.6, 5.4, 17, -4, 1.9)),
    )


def buckle() -> tuple[Part, ...]:
    """Two ends of a strap with an open clip."""
    left = (path("M-23 -4 L-12 -4 L-12 4 L-23 4 Z"), rounded(-13, -7, 9, 14, 2))
    right = (path("M23 -4 L13 -4 L13 4 L23 4 Z"), path("M13 -6 L6 -3.4 L4 0 L6 3.4 L13 6 Z"))
    return (solid(*left), block(path("M-10.4 -3 L-6.6 -3 L-6.6 3 L-10.4 3 Z")), solid(*right))
