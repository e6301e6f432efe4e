"""Turn outlines into shapes: the one pen all figures are drawn with.

Lengths are units of a figure 100 high, y downwards. Lines keep their width when a drawing is enlarged, so that a detail
is drawn with the same hand as the whole. Ends and corners of lines are meant to be round; the writers of a sheet see to
that. At a height of 15 mm a unit is 0.15 mm, so `LINE` prints 0.35 mm wide.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cache

from docgen.figure.hatch import Box, extent, hatching
from docgen.model.sheet import BLACK, WHITE, Colour, Path, Shape

LINE = 2.3
"""Width of every plain outline."""
HEAVY = 3.4
"""Width of the outline of the item in hand."""
FINE = 2.0
"""Width of hatching and of lines inside an enlarged detail."""
INK: Colour = BLACK
PAPER: Colour = WHITE
CLOTH: Colour = (0.76, 0.76, 0.76)
"""Clothing and shoes: what is left when nothing protective is worn."""
OUTER: Colour = (0.87, 0.87, 0.87)
"""Outer gloves."""
BEHIND: Colour = (0.45, 0.45, 0.45)
"""Outline of a second person."""

ROUND = 0.5523
"""Control distance that makes a cubic curve a quarter circle."""


# --- paths ---------------------------------------------------------------------------------------------------


@cache
def path(text: str) -> Path:
    """Read `M 0 1 L 2 3 C 1 2 3 4 5 6 Z` (absolute, these four letters only). Remembered: they stand in this code."""
    out: list[tuple[str, tuple[float, ...]]] = []
    for letter, rest in re.findall(r"([MLCZ])([^MLCZ]*)", text):
        numbers = [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", rest)]
        size = {"M": 2, "L": 2, "C": 6, "Z": 0}[letter]
        if letter == "Z":
            out.append(("Z", ()))
            continue
        for i in range(0, len(numbers), size):
            out.append((letter, tuple(numbers[i : i + size])))
    return tuple(out)


def ellipse(x: float, y: float, rx: float, ry: float | None = None) -> Path:
    """A closed ellipse around (x, y)."""
    ry = rx if ry is None else ry
    kx, ky = rx * ROUND, ry * ROUND
    return (
        ("M", (x + rx, y)),
        ("C", (x + rx, y + ky, x + kx, y + ry, x, y + ry)),
        ("C", (x - kx, y + ry, x - rx, y + ky, x - rx, y)),
        ("C", (x - rx, y - ky, x - kx, y - ry, x, y - ry)),
        ("C", (x + kx, y - ry, x + rx, y - ky, x + rx, y)),
        ("Z", ()),
    )


def rounded(x: float, y: float, width: float, height: float, r: float) -> Path:
    """A closed rectangle with round corners, from its top left corner."""
    k, x2, y2 = r * (1 - ROUND), x + width, y + height
    return (
        ("M", (x + r, y)),
        ("L", (x2 - r, y)),
        ("C", (x2 - k, y, x2, y + k, x2, y + r)),
        ("L", (x2, y2 - r)),
        ("C", (x2, y2 - k, x2 - k, y2, x2 - r, y2)),
        ("L", (x + r, y2)),
        ("C", (x + k, y2, x, y2 - k, x, y2 - r)),
        ("L", (x, y + r)),
        ("C", (x, y + k, x + k, y, x + r, y)),
        ("Z", ()),
    )


def capsule(x1: float, y1: float, x2: float, y2: float, r1: float, r2: float | None = None) -> Path:
    """A closed rod with round ends: fingers, arms, handles."""
    r2 = r1 if r2 is None else r2
    length = math.hypot(x2 - x1, y2 - y1) or 1.0
    ux, uy = (x2 - x1) / length, (y2 - y1) / length
    nx, ny = -uy, ux
    k1, k2 = r1 * 4 / 3, r2 * 4 / 3
    a, b = (x1 + nx * r1, y1 + ny * r1), (x2 + nx * r2, y2 + ny * r2)
    c, d = (x2 - nx * r2, y2 - ny * r2), (x1 - nx * r1, y1 - ny * r1)
    return (
        ("M", a),
        ("L", b),
        ("C", (b[0] + ux * k2, b[1] + uy * k2, c[0] + ux * k2, c[1] + uy * k2, *c)),
        ("L", d),
        ("C", (d[0] - ux * k1, d[1] - uy * k1, a[0] - ux * k1, a[1] - uy * k1, *a)),
        ("Z", ()),
    )


def polyline(*points: tuple[float, float]) -> Path:
    """An open line through points."""
    return (("M", points[0]), *(("L", p) for p in points[1:]))


def symmetric(half: str) -> Path:
    """Close a right half, drawn from the axis x = 0 back to it, with its mirror image."""
    right = path(half)
    points: list[tuple[float, float]] = []
    for _, n in right:
        points += [(n[i], n[i + 1]) for i in range(0, len(n), 2)]
    left: list[tuple[str, tuple[float, ...]]] = []
    i = len(points) - 1
    for letter, n in reversed(right[1:]):
        count = len(n) // 2
        back = points[i - count : i][::-1]
        left.append((letter, tuple(v for x, y in back for v in (-x, y))))
        i -= count
    return (*right, *left, ("Z", ()))


# --- moving --------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Place:
    """Where a drawing goes: mirrored, turned by `turn` degrees, enlarged by `scale`, then moved to (x, y)."""

    x: float = 0.0
    y: float = 0.0
    scale: float = 1.0
    turn: float = 0.0
    flip: bool = False

    def point(self, x: float, y: float) -> tuple[float, float]:
        """Where a point of the drawing comes to lie."""
        if self.flip:
            x = -x
        if self.turn:
            c, s = math.cos(math.radians(self.turn)), math.sin(math.radians(self.turn))
            x, y = x * c - y * s, x * s + y * c
        return (self.x + self.scale * x, self.y + self.scale * y)

    def __call__(self, what: Path) -> Path:
        """The path, put there."""
        if self.turn:
            return tuple(
                (letter, tuple([v for i in range(0, len(n), 2) for v in self.point(n[i], n[i + 1])]))
                for letter, n in what
            )
        x, y, down = self.x, self.y, self.scale
        across = -down if self.flip else down
        return tuple(
            [
                (letter, tuple([y + down * v if i & 1 else x + across * v for i, v in enumerate(n)]))
                for letter, n in what
            ]
        )


HERE = Place()


# --- parts: outlines that know how they are drawn --------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Part:
    """A piece of a drawing before its size is known.

    Several closed `paths` together form one silhouette, outlined around the whole. An open line has no `fill` and one
    path. `detail` parts are drawn only when there is room for them, `body` parts carry the
    hatching, or are heavier lines, when the item is in hand.
    """

    paths: tuple[Path, ...]
    fill: Colour | None = None
    line: float = LINE
    ink: Colour = INK
    detail: bool = False
    body: bool = False


def solid(*paths: Path, fill: Colour = PAPER, body: bool = True, detail: bool = False, line: float = LINE) -> Part:
    """A filled silhouette with an outline."""
    return Part(paths, fill, line, detail=detail, body=body)


def stroke(*paths: Path, line: float = LINE, detail: bool = False, body: bool = False) -> Part:
    """Open lines."""
    return Part(paths, None, line, detail=detail, body=body)


def block(*paths: Path, fill: Colour = INK, detail: bool = False) -> Part:
    """A filled silhouette without an outline."""
    return Part(paths, fill, 0.0, detail=detail)


def placed(parts: Iterable[Part], place: Place) -> tuple[Part, ...]:
    """Parts moved to their place; lines keep their width."""
    return tuple(replace(p, paths=tuple(place(q) for q in p.paths)) for p in parts)


def both(parts: Iterable[Part]) -> tuple[Part, ...]:
    """Parts of one side, and the same on the other side."""
    parts = tuple(parts)
    return parts + placed(parts, Place(flip=True))


def _area(points: list[tuple[float, float]]) -> float:
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, points[1:] + points[:1], strict=True))


def _same_way(what: Path) -> Path:
    """A closed path running clockwise, so that silhouettes of several paths fill without holes."""
    corners = [(n[i], n[i + 1]) for _, n in what for i in range(0, len(n), 2)]
    if _area(corners) >= 0:
        return what
    out: list[tuple[str, tuple[float, ...]]] = [("M", corners[-1])]
    i = len(corners) - 1
    for letter, n in reversed([s for s in what[1:] if s[0] != "Z"]):
        count = len(n) // 2
        out.append((letter, tuple(v for p in corners[i - count : i][::-1] for v in p)))
        i -= count
    return (*out, ("Z", ()))


def shapes(parts: Iterable[Part], *, mark: str = "", detailed: bool = True) -> tuple[Shape, ...]:
    """Draw parts, the first lowest. A mark makes outlines heavy; `off` and `on` add hatching, leaning either way."""
    return tuple(_draw(parts, mark, detailed))


def _draw(parts: Iterable[Part], mark: str, detailed: bool) -> Iterator[Shape]:
    for part in parts:
        if part.detail and (not detailed or mark in ("off", "on")):
            continue  # too small, or lost between the hatching
        if part.fill is None:
            width = HEAVY if mark and part.body else part.line
            yield Shape(sum(part.paths, ()), stroke=part.ink, width=width)
            continue
        whole = sum((_same_way(p) for p in part.paths), ())
        marked = bool(mark) and part.body
        width = HEAVY if marked else part.line
        if width:
            yield Shape(whole, fill=part.ink, stroke=part.ink, width=2 * width)
        yield Shape(whole, fill=PAPER if marked and mark != "about" else part.fill)
        if marked and mark != "about":
            yield Shape(hatching(whole, mark == "on"), stroke=INK, width=FINE)


def moved(what: Iterable[Shape], place: Place) -> tuple[Shape, ...]:
    """Finished shapes moved to their place; lines keep their width."""
    return tuple(replace(s, path=place(s.path)) for s in what)


def thicker(what: Iterable[Shape], factor: float) -> tuple[Shape, ...]:
    """Finished shapes with all lines wider by a factor."""
    return tuple(replace(s, width=s.width * factor) for s in what)


def rounded_off(what: Iterable[Shape]) -> tuple[Shape, ...]:
    """Finished shapes to a thousandth of a unit: the same numbers on every machine, and as many as a printer needs."""
    return tuple(replace(s, path=tuple([(c, tuple([round(v, 3) for v in n])) for c, n in s.path])) for s in what)


def bounds(what: Iterable[Shape]) -> Box:
    """The box of ink: left, top, right, bottom, half a line width around the paths."""
    boxes = [(extent(s.path), s.width / 2 if s.stroke else 0.0) for s in what]
    return (
        min(b[0] - w for b, w in boxes),
        min(b[1] - w for b, w in boxes),
        max(b[2] + w for b, w in boxes),
        max(b[3] + w for b, w in boxes),
    )
