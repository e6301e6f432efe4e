"""Render a page twice, with its words and without, and see where they really leave ink and how well it stands out.

Where the two pictures differ there is ink of the words; what the second one shows there is what is really behind them.
So words that are white on white, transparent, clipped away, covered or never painted show no difference at all.
Contrast is that of WCAG 2.2 (relative luminance of sRGB), in colour and again in grey (Rec. 601 luma, what a printer
without colour makes of it).
"""

from __future__ import annotations

import ctypes
import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING
from unicodedata import bidirectional

import numpy as np
import pypdfium2.raw as raw

from docgen.readback.copy import Box, Ink
from docgen.readback.covering import Covering
from docgen.readback.opening import MM, OpenPage, Painted

if TYPE_CHECKING:
    from docgen.readback.reading import Drawn

PIXELS = 1.0e6
"""Of the picture of a page, about: 102 dpi for ISO A4."""
MOST_DPI = 150
CLOSER = 4
"""How much closer a run is looked at again before it is called faint or cut."""
ENOUGH = 4.6
"""Contrast at which the first look is believed. Thin strokes seem fainter from afar, never stronger."""
SLACK_PIXELS = 1.6
SLACK_SHARE = 0.08
"""How far ink may stop short of its glyphs' outlines: smoothing, and overshoot of round letters."""
WHITE = 1.0
"""Type sizes a space and the side of its neighbour take up at most: East Asian signs stand in a square of their own."""
STRAY = 0.02
"""Share of the background behind a run that is left out when the worst of it is taken: smoothed edges of a panel."""

_LINEAR = np.array([c / 255 / 12.92 if c / 255 <= 0.04045 else ((c / 255 + 0.055) / 1.055) ** 2.4 for c in range(256)])
_RIGHTWARD = re.compile("[\u0590-\u08ff\u200f\ufb1d-\ufeff\U00010800-\U00010fff\U0001e800-\U0001efff]")
"""Where all such letters are (Unicode roadmap); most texts have none, and are not asked letter by letter."""
COLOUR = np.uint32(0xFFFFFF)
"""The bits of a pixel that are its colour; pdfium leaves the others as it likes."""
_FILL = 0xFFFF00FF
"""A ground no artifact prints words in, for the picture of the words alone."""


def luminance(red: int, green: int, blue: int) -> float:
    """Relative luminance, 0 to 1, of an sRGB colour (WCAG 2.2)."""
    return float(0.2126 * _LINEAR[red] + 0.7152 * _LINEAR[green] + 0.0722 * _LINEAR[blue])


def grey_luminance(red: int, green: int, blue: int) -> float:
    """Relative luminance after conversion to grey: Rec. 601 luma of the sRGB values."""
    return float(_LINEAR[min(255, round(0.299 * red + 0.587 * green + 0.114 * blue))])


def contrast(one: float, other: float) -> float:
    """WCAG 2.2 contrast ratio of two luminances, 1 to 21."""
    return (max(one, other) + 0.05) / (min(one, other) + 0.05)


class Canvases:
    """Memory for pictures, used again for the next page: fresh memory costs more time than rendering into it."""

    def __init__(self) -> None:
        self._kept: dict[tuple[str, int, int], np.ndarray] = {}

    def get(self, use: str, wide: int, tall: int, fill: int) -> np.ndarray:
        """Pixels of one colour. What was got before for the same use is lost."""
        key = (use, wide, tall)
        if key not in self._kept:
            self._kept = {k: v for k, v in self._kept.items() if k[0] != use}
            self._kept[key] = np.empty((tall, wide), np.uint32)
        self._kept[key].fill(fill)
        return self._kept[key]


class Picture:
    """The pixels of one page, rendered as needed."""

    def __init__(self, page: OpenPage, canvases: Canvases) -> None:
        self.page = page
        self.canvases = canvases
        left, bottom, right, top = page.shown
        self.points = (right - left, top - bottom)
        area = max(1.0, self.points[0] * self.points[1])
        self.scale = min(MOST_DPI / 72, math.sqrt(PIXELS / area))
        self._known: dict[float, tuple[float, float]] = {}
        self.full = self._whole("full")

    def inks(self, drawn: Sequence[Drawn], others: Sequence[Painted], overlays: Sequence[Box]) -> Iterator[Ink]:
        """The ink of each run. `others` is all else that is painted, `overlays` what is painted on top (points)."""
        if not drawn:
            return
        _show(drawn, False)
        behind = self._whole("behind")
        _show(drawn, True)
        alone: np.ndarray | None = None
        for d, later in zip(drawn, Covering(others, overlays).over(drawn), strict=True):
            if later and alone is None:
                for thing in others:
                    raw.FPDFPageObj_SetIsActive(thing.handle, False)
                alone = self._whole("alone", fill=_FILL, notes=False)
                for thing in others:
                    raw.FPDFPageObj_SetIsActive(thing.handle, True)
            ink = self._ink(d, self.scale, self.full, behind, (0, 0), alone if later else None)
            if ink is None:
                ink = self._closer(d, drawn)
            elif ink.hidden == 0 and (ink.cut or min(ink.contrast, ink.grey) < ENOUGH):
                ink = replace(self._closer(d, drawn), hidden=ink.hidden)
            yield ink

    def framed(self, box: Box) -> bool:
        """Whether anything at all shows in or at the edge of a box (points)."""
        edge = 0.6 * MM
        x0, y0, x1, y1 = self._pixels((box[0] - edge, box[1] - edge, box[2] + edge, box[3] + edge), self.scale)
        part = self.full[max(0, y0) : y1, max(0, x0) : x1]
        return part.size > 0 and not _plain(part)

    def _closer(self, d: Drawn, drawn: Sequence[Drawn]) -> Ink:
        """The ink of one run from a closer picture of it alone."""
        scale = self.scale * CLOSER
        x0, y0, x1, y1 = self._pixels(d.box, scale)
        width, height = min(x1 - x0 + 8, 6000), min(y1 - y0 + 8, 3000)
        if width <= 0 or height <= 0 or width * height > 8 * PIXELS:
            return Ink(None, 1.0, 1.0, 0.0)
        corner = (x0 - 4, y0 - 4)
        full = self._part(scale, corner, width, height)
        _show(drawn, False)
        behind = self._part(scale, corner, width, height)
        _show(drawn, True)
        return self._ink(d, scale, full, behind, corner, None) or Ink(None, 1.0, 1.0, 0.0)

    def _ink(
        self,
        d: Drawn,
        scale: float,
        full: np.ndarray,
        behind: np.ndarray,
        corner: tuple[int, int],
        alone: np.ndarray | None,
    ) -> Ink | None:
        """What two pictures say about a run; None where they do not differ."""
        x0, y0, x1, y1 = self._pixels(d.box, scale)
        x0, y0, x1, y1 = x0 - corner[0], y0 - corner[1], x1 - corner[0], y1 - corner[1]
        tall, wide = full.shape
        left, top, right, bottom = max(0, x0 - 1), max(0, y0 - 1), min(wide, x1 + 1), min(tall, y1 + 1)
        if left >= right or top >= bottom:
            return None
        front = np.ascontiguousarray(full[top:bottom, left:right])
        apart = _apart(front, np.ascontiguousarray(behind[top:bottom, left:right]))
        changed = apart != 0
        columns = changed.any(axis=0).nonzero()[0]
        if not columns.size:
            return None
        rows = changed.any(axis=1).nonzero()[0]
        seen = (
            left + corner[0] + int(columns[0]), top + corner[1] + int(rows[0]),
            left + corner[0] + int(columns[-1]) + 1, top + corner[1] + int(rows[-1]) + 1,
        )  # fmt: skip
        # the pixel that differs most from what is behind it is full ink, not a smoothed edge
        ink = int(front.flat[int(apart.argmax())])
        plain, grey = _worst(ink, behind[max(0, y0) : max(y1, y0 + 1), max(0, x0) : max(x1, x0 + 1)])
        hidden = 0.0
        if alone is not None:
            own = _differs(alone[top:bottom, left:right])
            hidden = float((own & ~changed).sum() / max(1, own.sum()))
        shown = self._millimetres(seen, scale)
        cut = missing_sides(self.page.millimetres(*_inked(d)), shown, SLACK_PIXELS / scale / MM)
        if not any(c.isalnum() for c in d.text):
            # pdfium's bounds reach down to the baseline for a space, which a lone `·` does not
            cut = tuple(side for side in cut if side in ("left", "right"))
        return Ink(shown, plain, grey, hidden, cut)

    def _pixels(self, box: Box, scale: float) -> tuple[int, int, int, int]:
        left, _, _, top = self.page.shown
        across, down = self._steps(scale)
        return (
            math.floor((box[0] - left) * across), math.floor((top - box[3]) * down),
            math.ceil((box[2] - left) * across), math.ceil((top - box[1]) * down),
        )  # fmt: skip

    def _millimetres(self, box: tuple[int, int, int, int], scale: float) -> Box:
        left, _, _, top = self.page.shown
        across, down = self._steps(scale)
        return self.page.millimetres(
            left + box[0] / across, top - box[3] / down, left + box[2] / across, top - box[1] / down
        )

    def _size(self, scale: float) -> tuple[int, int]:
        return max(1, round(self.points[0] * scale)), max(1, round(self.points[1] * scale))

    def _steps(self, scale: float) -> tuple[float, float]:
        """Pixels a point, across and down: a page is rendered to whole pixels."""
        if scale not in self._known:
            wide, tall = self._size(scale)
            self._known[scale] = wide / self.points[0], tall / self.points[1]
        return self._known[scale]

    def _whole(self, use: str, fill: int = 0xFFFFFFFF, notes: bool = True) -> np.ndarray:
        wide, tall = self._size(self.scale)
        pixels = self.canvases.get(use, wide, tall, fill)
        render(self.page, pixels, (wide, tall), (0, 0), notes=notes)
        pixels &= COLOUR
        return pixels

    def _part(self, scale: float, corner: tuple[int, int], wide: int, tall: int) -> np.ndarray:
        pixels = np.full((tall, wide), 0xFFFFFFFF, np.uint32)
        render(self.page, pixels, self._size(scale), corner)
        pixels &= COLOUR
        return pixels


def render(
    page: OpenPage, pixels: np.ndarray, whole: tuple[int, int], corner: tuple[int, int], *, notes: bool = True
) -> None:
    """Paint a page, drawn `whole` pixels large, from `corner` onwards over `pixels`: rows of 0x??RRGGBB, or of grey
    values. `notes` also draws form fields."""
    tall, wide = pixels.shape
    shape = raw.FPDFBitmap_Gray if pixels.dtype == np.uint8 else raw.FPDFBitmap_BGRx
    bitmap = raw.FPDFBitmap_CreateEx(wide, tall, shape, pixels.ctypes.data_as(ctypes.c_void_p), pixels.strides[0])
    place = (-corner[0], -corner[1], *whole, 0, raw.FPDF_ANNOT if notes else 0)
    raw.FPDF_RenderPageBitmap(bitmap, page.raw, *place)
    if notes and page.forms:
        raw.FPDF_FFLDraw(page.forms, bitmap, page.raw, *place)
    raw.FPDFBitmap_Destroy(bitmap)


def missing_sides(glyphs: Box, ink: Box, slack: float) -> tuple[str, ...]:
    """Sides on which ink stops short of the glyphs' outlines; boxes and `slack` in millimetres."""
    across = max(slack, SLACK_SHARE * (glyphs[3] - glyphs[1]))
    checks = (
        ("left", ink[0] - glyphs[0]), ("top", ink[1] - glyphs[1]), ("right", glyphs[2] - ink[2]),
        ("bottom", glyphs[3] - ink[3]),
    )  # fmt: skip
    return tuple(side for side, short in checks if short > across)


def rightward(text: str) -> bool:
    """Whether some of its letters are read from right to left."""
    return _RIGHTWARD.search(text) is not None and any(bidirectional(c) in ("R", "AL") for c in text)


def _inked(d: Drawn) -> Box:
    """A run's box without the white space at its ends, taken generously."""
    room = WHITE * d.size
    lead, tail = len(d.text) - len(d.text.lstrip()), len(d.text) - len(d.text.rstrip())
    if (lead or tail) and rightward(d.text):
        lead = tail = lead + tail
    left, bottom, right, top = d.box
    return (min(left + lead * room, right), bottom, max(right - tail * room, left), top)


def _show(drawn: Sequence[Drawn], active: bool) -> None:
    for d in drawn:
        raw.FPDFPageObj_SetIsActive(d.thing.handle, active)


def _parts(colour: int) -> tuple[int, int, int]:
    return (colour >> 16) & 255, (colour >> 8) & 255, colour & 255


def _apart(front: np.ndarray, back: np.ndarray) -> np.ndarray:
    """How far colours are apart, pixel by pixel: the sum over red, green and blue."""
    a, b = front.view(np.uint8), back.view(np.uint8)
    parts = (np.maximum(a, b) - np.minimum(a, b)).view(np.uint32)
    return (parts & 255) + ((parts >> 8) & 255) + (parts >> 16)


def _worst(ink: int, behind: np.ndarray) -> tuple[float, float]:
    """Contrast of ink against the worst background colour, but for a `STRAY` share of it; in colour and in grey."""
    if not behind.size:
        return _ratios(ink, 0xFFFFFF)
    if _plain(behind):
        return _ratios(ink, int(behind[0, 0]))
    found, number = np.unique(behind, return_counts=True)
    ratios = [_ratios(ink, colour) for colour in found.tolist()]
    return _least([r[0] for r in ratios], number.tolist()), _least([r[1] for r in ratios], number.tolist())


def _least(ratios: list[float], counts: list[int]) -> float:
    """The least ratio, when those of `STRAY` of all pixels are left out."""
    left = STRAY * sum(counts)
    for ratio, n in sorted(zip(ratios, counts, strict=True)):
        left -= n
        if left < 0:
            return ratio
    return max(ratios)


@lru_cache(maxsize=4096)
def _ratios(ink: int, ground: int) -> tuple[float, float]:
    """Contrast of two colours, and of what is left of them in grey."""
    one, other = _parts(ink), _parts(ground)
    return contrast(luminance(*one), luminance(*other)), contrast(grey_luminance(*one), grey_luminance(*other))


def _plain(pixels: np.ndarray) -> bool:
    """Whether all pixels have one colour."""
    return not bool((pixels != pixels[0, 0]).any())


def _differs(alone: np.ndarray) -> np.ndarray:
    """Pixels clearly painted on the ground `_FILL`."""
    a = np.ascontiguousarray(alone).view(np.uint8).reshape(*alone.shape, 4)[..., :3].astype(np.int16)
    ground = np.array([_FILL & 255, (_FILL >> 8) & 255, (_FILL >> 16) & 255], np.int16)
    return np.abs(a - ground).max(axis=2) > 60
