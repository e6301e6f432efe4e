"""What goes where: finished sheets, in points from the top left corner of the trimmed sheet, y downwards.

Everything is decided here; the writers of `docgen.artifacts` only draw.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from docgen.model.text import Runs  # noqa: F401  (re-exported for type hints of writers)

MM = 72 / 25.4
"""Points in a millimetre."""

Colour = tuple[float, float, float]
"""sRGB, 0 to 1."""

BLACK: Colour = (0.0, 0.0, 0.0)
WHITE: Colour = (1.0, 1.0, 1.0)

DECORATION, RUNNING_HEAD, RUNNING_FOOT = -1, -2, -3
"""Tags of marks that assistive technology skips: drawn decoration, and what a sheet repeats above and below."""

Path = tuple[tuple[str, tuple[float, ...]], ...]
"""`("M", (x, y))`, `("L", (x, y))`, `("C", (x1, y1, x2, y2, x, y))`, `("Z", ())`."""


class Cluster(NamedTuple):
    """One shaping cluster: its glyphs, the text it stands for, and its advance; all in font units (1/1000 em)."""

    glyphs: tuple[tuple[int, float, float], ...]
    """(glyph id, x offset, y offset)."""
    text: str
    advance: float


@dataclass(frozen=True, slots=True, eq=False)
class Word:
    """One shaped word, or one space; kept once a process and compared by identity, so that writers can cache by it."""

    face: str
    """Name of a face with its weight: `NotoSans-Bold`."""
    text: str
    """Its characters, in logical order."""
    advance: float
    """Em thousandths."""
    clusters: tuple[Cluster, ...]
    """In visual order, left to right."""
    rtl: bool = False


@dataclass(frozen=True, slots=True)
class GlyphRun:
    """Words of one face in one direction, in visual order, starting `x` em thousandths from the line's left end."""

    face: str
    rtl: bool
    x: float
    words: tuple[Word, ...]


@dataclass(frozen=True, slots=True)
class Line:
    """One line of shaped text, independent of size.

    The spaces at which the line was broken are drawn after its last word, beyond `width`, so that a reader of the file
    finds them between the words; they leave no ink.
    """

    runs: tuple[GlyphRun, ...]
    """In logical order."""
    width: float
    """Em thousandths, without the spaces at its end."""
    text: str
    """What it says, in logical order, without the spaces at its end."""


@dataclass(frozen=True, slots=True)
class Ink:
    """A line of text at its place: `x` is the left end, `y` the baseline, `size` in points."""

    line: Line
    x: float
    y: float
    size: float
    colour: Colour = BLACK
    tag: int = DECORATION
    """Index into `Document.tags`; negative: skipped by assistive technology."""


@dataclass(frozen=True, slots=True)
class Shape:
    """A drawn path."""

    path: Path
    fill: Colour | None = None
    stroke: Colour | None = None
    width: float = 1.0
    dash: tuple[float, ...] = ()
    even_odd: bool = False
    tag: int = DECORATION


@dataclass(frozen=True, slots=True)
class Drawing:
    """Shapes of one drawing, placed as a whole: its origin at (`x`, `y`), `scale` points to one unit of its own.

    A writer stores the shapes of equal drawings once, wherever and however large they are placed. Their own tags are
    not looked at. A drawing measures some 50 units or more, since its coordinates are written in hundredths.
    """

    shapes: tuple[Shape, ...]
    x: float
    y: float
    scale: float = 1.0
    tag: int = DECORATION
    mirror: bool = False
    """Turned over about its origin: it reaches to the left of `x`."""


@dataclass(frozen=True, slots=True)
class Field:
    """A form field. `tick`: a box that is on or off; `choice`: one of a group of the same `name`; `text`: words."""

    kind: str
    name: str
    label: str
    """Accessible name, in the sheet's language."""
    x: float
    y: float
    width: float
    height: float
    value: str = ""
    """For `choice`: what this button of the group stands for."""
    multiline: bool = False
    tag: int = DECORATION


Mark = Ink | Shape | Drawing | Field
"""Anything that stands on a sheet."""


@dataclass(frozen=True, slots=True)
class Tag:
    """An element of the document's structure (PDF structure types: H1, P, L, LI, Table, TR, TH, TD, Figure, …)."""

    role: str
    parent: int = -1
    language: str = ""
    alt: str = ""
    actual: str = ""
    """Exact text, where extraction cannot give it (right-to-left)."""
    scope: str = ""
    """`Row` or `Column` for a TH."""
    ref: str = ""
    """Step, caution or branch id, for the read-back's messages only."""


@dataclass(frozen=True, slots=True)
class Bookmark:
    """An outline entry."""

    title: str
    sheet: int
    """Index, from 0."""
    y: float = 0.0
    level: int = 0


@dataclass(frozen=True, slots=True)
class Sheet:
    """One side of one sheet, at trimmed size in points."""

    width: float
    height: float
    marks: tuple[Mark, ...]
    bleed: float = 0.0
    """Points around the trimmed sheet (crop marks live there)."""


@dataclass(frozen=True, slots=True)
class Document:
    """A finished artifact, ready to be written."""

    title: str
    language: str
    rtl: bool
    sheets: tuple[Sheet, ...]
    tags: tuple[Tag, ...] = ()
    bookmarks: tuple[Bookmark, ...] = ()
    subject: str = ""
    keywords: str = ""
    author: str = ""
    details: tuple[tuple[str, str], ...] = field(default=())
