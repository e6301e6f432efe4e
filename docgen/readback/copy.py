"""What a stranger finds in a finished file: sheets, words with their places, ink, square codes, fields, structure.

Lengths are millimetres from the top left corner of the trimmed sheet, y downwards; type sizes are points.
"""

from __future__ import annotations

from dataclasses import dataclass

Box = tuple[float, float, float, float]
"""Left, top, right, bottom."""

Colour = tuple[int, int, int]
"""Red, green, blue, 0 to 255."""


@dataclass(frozen=True, slots=True)
class Ink:
    """What the rendered pixels show of a run: where the paper really changed, and how far from what is behind it."""

    box: Box | None
    """The pixels that the run changed; None if it changed none."""
    contrast: float
    """WCAG 2.2 ratio between its ink and the worst of the background behind it; 1 if there is no ink."""
    grey: float
    """The same after conversion to grey."""
    hidden: float
    """Share of its own pixels, 0 to 1, that something painted later covers."""
    cut: tuple[str, ...] = ()
    """Sides on which the ink stops short of the glyphs' outlines."""


@dataclass(frozen=True, slots=True)
class Run:
    """Words drawn in one go, in one size and face."""

    text: str
    box: Box
    """Around its glyphs' outlines."""
    baseline: float
    size: float
    """Type size as it appears, points."""
    x_height: float
    """Height of its lower-case letters (or what stands for it in scripts without), from the face's own outlines."""
    face: int
    """Same number, same face in this file."""
    colour: Colour
    opacity: float
    mode: int
    """PDF text render mode; 3 draws nothing."""
    upright: bool
    mcid: int
    """Marked content this run belongs to; -1 if none."""
    depth: int
    """Painting order on its page."""
    ink: Ink | None = None
    """None when pixels were not asked for."""
    broken: str = ""
    """Characters whose glyph is missing or is the face's sign for a missing one."""


@dataclass(frozen=True, slots=True)
class Square:
    """A square code read from pixels."""

    text: str
    box: Box
    module: float
    """Side of one module."""
    quiet: bool
    """Whether four modules around it are blank."""


@dataclass(frozen=True, slots=True)
class Field:
    """A form field's widget."""

    kind: str
    """`text`, `tick`, `choice` or what else the file says."""
    name: str
    label: str
    """Accessible name."""
    box: Box
    printed: bool
    framed: bool
    """Whether ink shows where it is, so that it can be used on paper. True when pixels were not asked for."""


@dataclass(frozen=True, slots=True)
class Element:
    """An element of a page's logical structure, in structure order."""

    role: str
    actual: str
    language: str
    alt: str
    mcids: tuple[int, ...]
    """Marked content of this element and everything below it."""
    own: tuple[int, ...]
    """Marked content of this element alone."""
    place: tuple[int, ...] = ()
    """Which child of which child of the structure it is, over all pages: a screen reader's order."""


@dataclass(frozen=True, slots=True)
class Page:
    """One page (or, of an imposed press sheet, one card side), at its trimmed size."""

    number: int
    """Page of the file, from 1."""
    width: float
    height: float
    runs: tuple[Run, ...]
    """In painting order."""
    squares: tuple[Square, ...] = ()
    fields: tuple[Field, ...] = ()
    elements: tuple[Element, ...] = ()
    oddities: tuple[str, ...] = ()
    """Things no artifact has: notes, rotation, unreadable glyphs, …, in words."""


@dataclass(frozen=True, slots=True)
class Copy:
    """A finished file, as found."""

    pages: tuple[Page, ...]
    title: str = ""
    language: str = ""
    tagged: bool = False


class Unreadable(Exception):
    """The bytes cannot or must not be read further; `rule`, `message` and `hint` are those of the finding to make."""

    def __init__(self, rule: str, message: str, hint: str, page: int = 0) -> None:
        super().__init__(message)
        self.rule = rule
        self.message = message
        self.hint = hint
        self.page = page
