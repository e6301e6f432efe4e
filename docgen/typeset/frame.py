"""What surrounds the matter of every sheet: head, stamp, square code, draft band. Same place on every artifact."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

from docgen.model.block import Composition, Items, Para
from docgen.model.edition import Edition
from docgen.model.layout import SIZES, SheetSpec
from docgen.model.sheet import DECORATION, MM, RUNNING_FOOT, RUNNING_HEAD, Sheet
from docgen.model.stamp import code_of
from docgen.typeset import signs
from docgen.typeset.boxes import Box, Drawing, Framed, Misfit, Painter, Pt, Stack
from docgen.typeset.look import Look
from docgen.typeset.parts import STYLE_OF

DIGITS = "88"
"""Stands for sheet numbers while heights are measured; tabular figures make the real ones as wide."""


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet's measures in points."""

    name: str
    width: float
    height: float
    spec: SheetSpec

    @property
    def margin(self) -> float:
        """Margin on all sides."""
        return self.spec.margin * MM

    @property
    def inner(self) -> float:
        """Width between the margins."""
        return self.width - 2 * self.margin


def paper(name: str, spec: SheetSpec) -> Paper:
    """The sheet of that name, turned as the layout says."""
    short, long = sorted(SIZES[spec.size or name])
    wide, tall = (long, short) if spec.landscape else (short, long)
    return Paper(name, wide * MM, tall * MM, spec)


@dataclass(frozen=True, slots=True)
class Frame:
    """Head and foot of an artifact's sheets; `sheets` may be unknown (0) while heights are measured."""

    composition: Composition
    edition: Edition | None
    """None for a sheet that is not of an edition: it has no square code of its own."""
    look: Look
    paper: Paper
    below: Box | None = None
    """What stands under every head: a checklist's column titles."""
    _made: dict[tuple[str, int, int, str], Box] = field(default_factory=dict, init=False, compare=False, repr=False)
    """Heads and stamps, made once however often a size is tried."""

    def _late(self, sheet: int, sheets: int, section: str) -> Look:
        return self.look.with_late(
            sheet=str(sheet) if sheet else DIGITS, sheets=str(sheets) if sheets else DIGITS, section=section or " "
        )

    def head(self, sheet: int = 1, sheets: int = 0, section: str = "") -> Box:
        """The head of a sheet: draft band, title, where it belongs."""
        key = ("head", sheet, sheets, section)
        if key not in self._made:
            self._made[key] = self._head(sheet, sheets, section)
        return self._made[key]

    def _head(self, sheet: int, sheets: int, section: str) -> Box:
        look = self._late(sheet, sheets, section)
        first = sheet == 1
        rows: list[Box] = []
        band = [b for b in self.composition.part("band") if isinstance(b, Para)]
        if band:
            paint = look.colour("paper")
            text = look.wording(band[0].pieces, "band", ink=paint, align="center", decoration=not first)
            rows.append(Framed(text, (0.16, 0.25), fill=look.colour("ink")))
        for block in self.composition.part("head"):
            if not isinstance(block, Para):
                continue
            name = STYLE_OF.get(block.role, "running")
            if block.level == 1:
                name = "title"
            rows.append(look.wording(block.pieces, name, role="H1" if block.level == 1 else "P", decoration=not first))
        if self.below is not None:
            rows.append(self.below)
        return Stack(tuple(rows), 0.25)

    def foot(self, sheet: int = 1, sheets: int = 0, section: str = "") -> Box:
        """Stamp lines and, at the far bottom corner, the square code."""
        text = self.foot_text(sheet, sheets, section)
        side = (self.paper.spec.code or 0) * MM
        if not side:
            return text
        return _Foot(text, self, sheet, sheets, side)

    def foot_text(self, sheet: int = 1, sheets: int = 0, section: str = "") -> Box:
        """The stamp lines alone."""
        key = ("stamp", sheet, sheets, section)
        if key not in self._made:
            self._made[key] = self._stamp(sheet, sheets, section)
        return self._made[key]

    def _stamp(self, sheet: int, sheets: int, section: str) -> Box:
        look = self._late(sheet, sheets, section)
        lines: list[Box] = []
        for block in self.composition.part("stamp"):
            blocks = [b for item in block.items for b in item] if isinstance(block, Items) else [block]
            for b in blocks:
                if isinstance(b, Para) and look.runs(b.pieces):
                    name = "stamp" if any(p.origin.kind == "stamp" for p in b.pieces) else "stamp-note"
                    lines.append(look.wording(b.pieces, name, role="P", decoration=sheet != 1))
        return Stack(tuple(lines), Pt(2.5))

    def code(self, sheet: int, sheets: int, side: float) -> Drawing:
        """The square code of one sheet; made only when it is painted, since choosing its mask is slow."""
        assert self.edition
        words = str(code_of(self.edition, self.composition.artifact, sheet, sheets))
        if self.edition.address:
            words = f"{self.edition.address}#{words}"
        # on a wall a code is scratched and glared upon; on a page, larger modules serve better than more correction
        level = "q" if side >= 25 * MM else "m"
        shapes = signs.square_code(words, self.look.colour("ink"), self.look.colour("paper"), level)
        alt = f"{self.edition.title.plain}: {words}" if sheet == 1 else ""
        return Drawing(shapes, signs.SIDE, signs.SIDE, Pt(side), alt=alt, align="end", mirror=False)


@dataclass(frozen=True, slots=True)
class _Foot:
    """Text standing on the bottom edge, the code at its far end."""

    text: Box
    frame: Frame
    sheet: int
    sheets: int
    side: float

    def height(self, width: float, s: float) -> float:
        return max(self.side, self.text.height(width - self.side - 8, s))

    def paint(self, on: Painter, x: float, y: float, width: float, s: float) -> None:
        tall = self.height(width, s)
        text_width = width - self.side - 8
        self.text.paint(on, x, y + tall - self.text.height(text_width, s), text_width, s)
        code = self.frame.code(self.sheet, self.sheets, self.side)
        code.paint(on, x + width - self.side, y + tall - self.side, self.side, s)

    def misfits(self, width: float, s: float) -> Iterator[Misfit]:
        return self.text.misfits(width - self.side - 8, s)


@dataclass(frozen=True, slots=True)
class Area:
    """The room left for the matter of a sheet."""

    top: float
    height: float


def area(frame: Frame, s: float, *, gap: float, sheet: int = 1) -> Area:
    """What head and foot leave at base size `s`; `gap` points apart from them. Negative heights mean no room at all."""
    p = frame.paper
    top = p.margin + frame.head(sheet).height(p.inner, s) + gap
    if p.spec.hole:
        top = max(top, (p.spec.hole.top) * MM + frame.head(sheet).height(p.inner, s) + gap)
    bottom = p.height - p.margin - frame.foot(sheet).height(p.inner, s) - gap
    return Area(top, bottom - top if math.isfinite(top) and math.isfinite(bottom) else -1.0)


def paint_frame(frame: Frame, on: Painter, s: float, sheet: int, sheets: int, section: str = "") -> None:
    """The head of one sheet, painted before its matter."""
    p = frame.paper
    y = max(p.margin, p.spec.hole.top * MM if p.spec.hole else 0.0)
    on.running = RUNNING_HEAD
    frame.head(sheet, sheets, section).paint(on, p.margin, y, p.inner, s)
    on.running = DECORATION


def paint_foot(frame: Frame, on: Painter, s: float, sheet: int, sheets: int, section: str = "") -> None:
    """The foot of one sheet, painted when the matter of all of them stands: the stamp is heard once, at the end."""
    p = frame.paper
    foot = frame.foot(sheet, sheets, section)
    on.at, on.running = sheet - 1, RUNNING_FOOT
    foot.paint(on, p.margin, p.height - p.margin - foot.height(p.inner, s), p.inner, s)
    on.running = DECORATION


def sheet_of(on: Painter, index: int, p: Paper) -> Sheet:
    """A finished sheet from the painter's marks."""
    return Sheet(p.width, p.height, tuple(on.sheets[index]))
