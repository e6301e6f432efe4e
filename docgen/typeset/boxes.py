"""A small algebra of boxes: measured at any base size, painted once.

A box knows its height for a width and a base size, and can paint itself. Lengths are multiples of the base size, or
points when given as `Pt`. `math.inf` as a height means "a word is wider than this box": nothing is ever cut to fit.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Protocol

from docgen.model import sheet as model
from docgen.model.sheet import BLACK, DECORATION, Bookmark, Colour, Field, Ink, Line, Path, Shape, Tag
from docgen.typeset.shaping import Shaped


class Pt(float):
    """A length in points that does not grow with the base size."""


def real(length: float, s: float) -> float:
    """A length in points at base size `s`."""
    return float(length) if isinstance(length, Pt) else length * s


@dataclass(frozen=True, slots=True)
class Misfit:
    """A word that is wider than its box, in points."""

    word: str
    width: float
    room: float


class Box(Protocol):
    """What every box can do."""

    def height(self, width: float, s: float) -> float:
        """Points this box needs at `width` points and base size `s`; `math.inf` if a word is wider than it may be."""

    def paint(self, on: Painter, x: float, y: float, width: float, s: float) -> None:
        """Put its marks down with its top start corner at (x, y)."""

    def misfits(self, width: float, s: float) -> Iterator[Misfit]:
        """Words too wide for their boxes."""


@dataclass(slots=True)
class Painter:
    """Collects the marks of one document; mirrors placement, not content, for right-to-left sheets."""

    rtl: bool = False
    sheets: list[list[model.Mark]] = field(default_factory=list)
    tags: list[Tag] = field(default_factory=list)
    bookmarks: list[Bookmark] = field(default_factory=list)
    width: float = 0.0
    """Of the current sheet, points."""
    dx: float = 0.0
    dy: float = 0.0
    """Shift of the current card on a press sheet."""
    running: int = DECORATION
    """Tag of what is painted as decoration now: a sheet's head and foot say which of them they are."""
    at: int = -1
    """Index of the current sheet."""
    _open: list[int] = field(default_factory=list)

    def sheet(self, width: float) -> None:
        """Start a new sheet."""
        self.width = width
        self.sheets.append([])
        self.at = len(self.sheets) - 1

    def open(self, role: str, **facts: str) -> int:
        """Open a structure element inside the current one."""
        self.tags.append(Tag(role, self._open[-1] if self._open else -1, **facts))
        self._open.append(len(self.tags) - 1)
        return self._open[-1]

    def close(self) -> None:
        """Close the current structure element."""
        self._open.pop()

    @property
    def tag(self) -> int:
        """The current structure element, or -1."""
        return self._open[-1] if self._open else -1

    def put(self, mark: model.Mark) -> None:
        """Put a finished mark on the current sheet."""
        self.sheets[self.at].append(mark)

    def left(self, x: float, width: float) -> float:
        """Left edge of something that starts at `x` from the reading edge and is `width` wide."""
        return (self.width - x - width if self.rtl else x) + self.dx

    def shape(
        self,
        path: Path,
        fill: Colour | None = None,
        stroke: Colour | None = None,
        width: float = 1.0,
        dash: tuple[float, ...] = (),
        even_odd: bool = False,
        mirror: bool = True,
        tagged: bool = False,
    ) -> None:
        """A path in sheet coordinates measured from the reading edge; mirrored with the sheet unless told otherwise."""
        if self.rtl and mirror:
            path = _mirrored(path, self.width)
        if self.dx or self.dy:
            path = _moved(path, self.dx, self.dy)
        self.put(Shape(path, fill, stroke, width, dash, even_odd, self.tag if tagged else DECORATION))


def _mirrored(path: Path, width: float) -> Path:
    return tuple((op, tuple(width - v if n % 2 == 0 else v for n, v in enumerate(args))) for op, args in path)


def _moved(path: Path, dx: float, dy: float) -> Path:
    return tuple((op, tuple(v + (dx if n % 2 == 0 else dy) for n, v in enumerate(args))) for op, args in path)


def rectangle(x: float, y: float, width: float, height: float, radius: float = 0.0) -> Path:
    """A rectangle, its corners rounded by `radius` points."""
    r = min(radius, width / 2, height / 2) if radius else 0.0
    if r <= 0:
        return (
            ("M", (x, y)), ("L", (x + width, y)), ("L", (x + width, y + height)), ("L", (x, y + height)), ("Z", ()),
        )  # fmt: skip
    k = r * 0.44771525
    right, bottom = x + width, y + height
    return (
        ("M", (x + r, y)), ("L", (right - r, y)), ("C", (right - k, y, right, y + k, right, y + r)),
        ("L", (right, bottom - r)), ("C", (right, bottom - k, right - k, bottom, right - r, bottom)),
        ("L", (x + r, bottom)), ("C", (x + k, bottom, x, bottom - k, x, bottom - r)),
        ("L", (x, y + r)), ("C", (x, y + k, x + k, y, x + r, y)), ("Z", ()),
    )  # fmt: skip


def circle(x: float, y: float, radius: float) -> Path:
    """A circle around (x, y)."""
    return rectangle(x - radius, y - radius, 2 * radius, 2 * radius, radius)


# --- boxes --------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Nothing:
    """Empty room of a height."""

    tall: float = 0.0

    def height(self, width: float, s: float) -> float:
        """See `Box`."""
        return real(self.tall, s)

    def paint(self, on: Painter, x: float, y: float, width: float, s: float) -> None:
        """See `Box`."""

    def misfits(self, width: float, s: float) -> Iterator[Misfit]:
        """See `Box`."""
        return iter(())


OVERSHOOT = 0.09
"""Ems by which letters may stand above the capitals' line without room made for them: `b` and `l` always do."""


@dataclass(frozen=True, slots=True)
class Wording:
    """A paragraph of shaped text."""

    text: Shaped
    size: float = 1.0
    colour: Colour = BLACK
    leading: float = 1.22
    align: str = "start"
    """`start`, `end` or `center`."""
    role: str = "P"
    """Structure type; empty to join the enclosing element."""
    ref: str = ""
    language: str = ""
    rtl: bool = False
    single: bool = False
    """Never wraps; too narrow is a misfit."""
    cap: float = 0.714
    """Capital height in ems: the first baseline stands so that capitals touch the box's top."""
    decoration: bool = False
    """Repeated matter (stamp, running head) that assistive technology skips."""
    _rise: float = field(init=False, compare=False, repr=False)
    """Ems from the box's top to the first baseline: marks above capitals and tall scripts stay inside."""
    _fall: float = field(init=False, compare=False, repr=False)
    """Ems from the last baseline to the box's bottom: descenders stay inside."""
    _step: float = field(init=False, compare=False, repr=False)
    """Ems from baseline to baseline: no letter touches one of the next line."""

    def __post_init__(self) -> None:
        above, below = self.text.ink
        for name, ems in (
            ("_rise", max(self.cap, above / 1000 - OVERSHOOT)),
            ("_fall", max(0.24, below / 1000)),
            ("_step", max(self.leading, (above + below) / 1000)),
        ):
            object.__setattr__(self, name, ems)

    @property
    def sink(self) -> float:
        """How much lower it has to stand for capitals to be in the middle of it: there is more room below than above.

        In points for a `Pt` size, else in base sizes.
        """
        lower = max(0.0, self._fall - (self._rise - self.cap)) / 2
        return Pt(self.size * lower) if isinstance(self.size, Pt) else self.size * lower

    def _lines(self, width: float, s: float) -> tuple[Line, ...]:
        size = real(self.size, s)
        return (self.text.line(),) if self.single else self.text.wrap(width, size)

    def height(self, width: float, s: float) -> float:
        """See `Box`."""
        size = real(self.size, s)
        if (self.text.width(size) if self.single else self.text.widest_word(size)) > width + 0.01:
            return math.inf
        lines = 1 if self.single else self.text.count(width, size)
        return (lines - 1) * size * self._step + size * (self._rise + self._fall)

    def paint(self, on: Painter, x: float, y: float, width: float, s: float) -> None:
        """See `Box`."""
        size = real(self.size, s)
        lines = self._lines(width, s)
        if self.decoration:
            tag = on.running
        elif self.role:
            actual = self.text.text if self.rtl or on.rtl or self.text.mixed else ""
            tag = on.open(self.role, ref=self.ref, language=self.language, actual=actual)
        else:
            tag = on.tag
        rise, step = self._rise, self._step
        for n, line in enumerate(lines):
            wide = line.width * size / 1000
            spare = width - wide
            # a line whose own direction differs from the sheet's still starts at the sheet's reading edge
            start = x + (0 if self.align == "start" else spare if self.align == "end" else spare / 2)
            on.put(
                Ink(
                    line,
                    on.left(start, wide),
                    y + on.dy + size * rise + n * size * step,
                    size,
                    self.colour,
                    tag,
                )
            )
        if not self.decoration and self.role:
            on.close()

    def misfits(self, width: float, s: float) -> Iterator[Misfit]:
        """See `Box`."""
        size = real(self.size, s)
        widest = self.text.width(size) if self.single else self.text.widest_word(size)
        if widest > width + 0.01:
            yield Misfit(self.text.text if self.single else self.text.longest_word, widest, width)


@dataclass(frozen=True, slots=True)
class Stack:
    """Boxes below one another, `gap` apart."""

    boxes: tuple[Box, ...]
    gap: float = 0.0

    def height(self, width: float, s: float) -> float:
        """See `Box`."""
        return sum(b.height(width, s) for b in self.boxes) + real(self.gap, s) * max(0, len(self.boxes) - 1)

    def paint(self, on: Painter, x: float, y: float, width: float, s: float) -> None:
        """See `Box`."""
        for box in self.boxes:
            box.paint(on, x, y, width, s)
            y += box.height(width, s) + real(self.gap, s)

    def misfits(self, width: float, s: float) -> Iterator[Misfit]:
        """See `Box`."""
        for box in self.boxes:
            yield from box.misfits(width, s)


@dataclass(frozen=True, slots=True)
class Row:
    """Boxes beside one another. A width of 0 takes what the others leave."""

    boxes: tuple[tuple[Box, float], ...]
    gap: float = 0.0
    middle: bool = False
    """Centre the boxes vertically instead of aligning their tops."""

    def _widths(self, width: float, s: float) -> list[float]:
        widths = [real(w, s) for _, w in self.boxes]
        free = widths.count(0)
        if not free:
            return widths
        share = (width - sum(widths) - real(self.gap, s) * (len(widths) - 1)) / free
        return [w or share for w in widths]

    def height(self, width: float, s: float) -> float:
        """See `Box`."""
        widths = self._widths(width, s)
        if min(widths) <= 0:
            return math.inf
        return max(b.height(w, s) for (b, _), w in zip(self.boxes, widths, strict=True))

    def paint(self, on: Painter, x: float, y: float, width: float, s: float) -> None:
        """See `Box`."""
        tall = self.height(width, s) if self.middle else 0
        for (box, _), wide in zip(self.boxes, self._widths(width, s), strict=True):
            box.paint(on, x, y + ((tall - box.height(wide, s)) / 2 if self.middle else 0), wide, s)
            x += wide + real(self.gap, s)

    def misfits(self, width: float, s: float) -> Iterator[Misfit]:
        """See `Box`."""
        for (box, _), wide in zip(self.boxes, self._widths(width, s), strict=True):
            yield from box.misfits(max(wide, 0.0), s)


@dataclass(frozen=True, slots=True)
class Framed:
    """A box on a ground, with a border and padding."""

    box: Box
    pad: tuple[float, float] = (0.4, 0.5)
    """Above and below; at the sides."""
    fill: Colour | None = None
    stroke: Colour | None = None
    line: float = Pt(1.0)
    radius: float = 0.0

    def height(self, width: float, s: float) -> float:
        """See `Box`."""
        up, side = real(self.pad[0], s), real(self.pad[1], s)
        return self.box.height(width - 2 * side, s) + 2 * up

    def paint(self, on: Painter, x: float, y: float, width: float, s: float) -> None:
        """See `Box`."""
        up, side = real(self.pad[0], s), real(self.pad[1], s)
        line = real(self.line, s) if self.stroke else 0.0
        tall = self.height(width, s)
        path = rectangle(x + line / 2, y + line / 2, width - line, tall - line, real(self.radius, s))
        on.shape(path, self.fill, self.stroke, line)
        self.box.paint(on, x + side, y + up, width - 2 * side, s)

    def misfits(self, width: float, s: float) -> Iterator[Misfit]:
        """See `Box`."""
        return self.box.misfits(width - 2 * real(self.pad[1], s), s)


@dataclass(frozen=True, slots=True)
class Lowered:
    """A box painted somewhat lower than where it takes its room, to stand in the optical middle of a ground."""

    box: Box
    by: float

    def height(self, width: float, s: float) -> float:
        """See `Box`."""
        return self.box.height(width, s)

    def paint(self, on: Painter, x: float, y: float, width: float, s: float) -> None:
        """See `Box`."""
        self.box.paint(on, x, y + real(self.by, s), width, s)

    def misfits(self, width: float, s: float) -> Iterator[Misfit]:
        """See `Box`."""
        return self.box.misfits(width, s)


@dataclass(frozen=True, slots=True)
class Tagged:
    """A box as one structure element."""

    box: Box
    role: str
    ref: str = ""
    alt: str = ""
    scope: str = ""
    language: str = ""

    def height(self, width: float, s: float) -> float:
        """See `Box`."""
        return self.box.height(width, s)

    def paint(self, on: Painter, x: float, y: float, width: float, s: float) -> None:
        """See `Box`."""
        on.open(self.role, ref=self.ref, alt=self.alt, scope=self.scope, language=self.language)
        self.box.paint(on, x, y, width, s)
        on.close()

    def misfits(self, width: float, s: float) -> Iterator[Misfit]:
        """See `Box`."""
        return self.box.misfits(width, s)


@dataclass(frozen=True, slots=True)
class Drawing:
    """A vector drawing `tall` high, its width in proportion, at the box's start edge (or `align`)."""

    shapes: tuple[Shape, ...]
    across: float
    """Width of the drawing's own space."""
    down: float
    tall: float
    alt: str = ""
    align: str = "start"
    mirror: bool = True
    """Mirror the drawing itself on right-to-left sheets."""

    def height(self, width: float, s: float) -> float:
        """See `Box`."""
        tall = real(self.tall, s)
        return math.inf if tall * self.across / self.down > width + 0.5 else tall

    def paint(self, on: Painter, x: float, y: float, width: float, s: float) -> None:
        """See `Box`."""
        scale = real(self.tall, s) / self.down
        wide = self.across * scale
        spare = width - wide
        x += 0 if self.align == "start" else spare if self.align == "end" else spare / 2
        if self.alt:
            on.open("Figure", alt=self.alt)
        flip = on.rtl and self.mirror
        left = on.left(x, wide)
        tag = on.tag if self.alt else on.running
        on.put(model.Drawing(self.shapes, left + wide if flip else left, y + on.dy, scale, tag, flip))
        if self.alt:
            on.close()

    def misfits(self, width: float, s: float) -> Iterator[Misfit]:
        """See `Box`."""
        return iter(())


@dataclass(frozen=True, slots=True)
class Blank:
    """A form field filling its box's width."""

    kind: str
    name: str
    label: str
    tall: float
    wide: float = 0.0
    """0 = the whole width."""
    value: str = ""
    multiline: bool = False
    align: str = "start"

    def height(self, width: float, s: float) -> float:
        """See `Box`."""
        return real(self.tall, s)

    def paint(self, on: Painter, x: float, y: float, width: float, s: float) -> None:
        """See `Box`."""
        wide = real(self.wide, s) or width
        x += 0 if self.align == "start" else (width - wide) / (2 if self.align == "center" else 1)
        on.open("Form", alt=self.label)
        on.put(
            Field(
                self.kind, self.name, self.label, on.left(x, wide), y + on.dy, wide, real(self.tall, s),
                self.value, self.multiline, on.tag,
            )
        )  # fmt: skip
        on.close()

    def misfits(self, width: float, s: float) -> Iterator[Misfit]:
        """See `Box`."""
        return iter(())


@dataclass(frozen=True, slots=True)
class Bar:
    """A filled strip: a rule, a tint, a border line."""

    tall: float
    fill: Colour = BLACK

    def height(self, width: float, s: float) -> float:
        """See `Box`."""
        return real(self.tall, s)

    def paint(self, on: Painter, x: float, y: float, width: float, s: float) -> None:
        """See `Box`."""
        on.shape(rectangle(x, y, width, real(self.tall, s)), self.fill)

    def misfits(self, width: float, s: float) -> Iterator[Misfit]:
        """See `Box`."""
        return iter(())


@dataclass(frozen=True, slots=True)
class Beside:
    """A box with a thick line along its reading edge: it visibly leaves the main path."""

    box: Box
    line: float
    colour: Colour
    gap: float

    def height(self, width: float, s: float) -> float:
        """See `Box`."""
        return self.box.height(width - real(self.line, s) - real(self.gap, s), s)

    def paint(self, on: Painter, x: float, y: float, width: float, s: float) -> None:
        """See `Box`."""
        line, gap = real(self.line, s), real(self.gap, s)
        on.shape(rectangle(x, y, line, self.height(width, s)), self.colour)
        self.box.paint(on, x + line + gap, y, width - line - gap, s)

    def misfits(self, width: float, s: float) -> Iterator[Misfit]:
        """See `Box`."""
        return self.box.misfits(width - real(self.line, s) - real(self.gap, s), s)
