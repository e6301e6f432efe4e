"""Find square codes among what is painted, render them closely, and decode them from the pixels alone."""

from __future__ import annotations

import ctypes
from collections.abc import Iterable, Sequence

import numpy as np
import pypdfium2.raw as raw
import zxingcpp

from docgen.readback.copy import Box, Square
from docgen.readback.opening import MM, Bounds, OpenPage, Painted
from docgen.readback.pixels import render

QUIET = 4
"""Modules of blank space around a code (ISO/IEC 18004)."""
LEAST_SIDE, MOST_SIDE = 6.0, 150.0
"""Millimetres; nothing smaller or larger is looked at."""
SEGMENTS = 120
"""A code drawn as one path has at least so many; version 1 has 21 × 21 modules."""
WINDOW = 420
"""Pixels of the picture in which a code is decoded: eight or more to a module up to version 6."""
BLANK = 235
"""Grey value, of 255, from which a pixel counts as blank paper."""
FORMATS = zxingcpp.BarcodeFormats([zxingcpp.BarcodeFormat.QRCode])
_PROBE = 40


def likely_codes(others: Iterable[Painted]) -> list[Box]:
    """Boxes, in points, of what may be a square code: near-square images, and paths of many level and plumb lines."""
    bounds = Bounds()
    out = []
    for thing in others:
        if thing.kind not in (raw.FPDF_PAGEOBJ_PATH, raw.FPDF_PAGEOBJ_IMAGE):
            continue
        if thing.kind == raw.FPDF_PAGEOBJ_PATH and raw.FPDFPath_CountSegments(thing.handle) < SEGMENTS:
            continue
        left, bottom, right, top = box = bounds(thing)
        wide, tall = (right - left) / MM, (top - bottom) / MM
        if not (LEAST_SIDE <= wide <= MOST_SIDE and 0.8 < wide / max(tall, 0.01) < 1.25):
            continue
        if thing.kind == raw.FPDF_PAGEOBJ_IMAGE or _level(thing):
            out.append(box)
    return out


def _level(thing: Painted) -> bool:
    """Whether the path begins with level and plumb lines only."""
    x, y = ctypes.c_float(), ctypes.c_float()
    before: tuple[float, float] | None = None
    for n in range(_PROBE):
        segment = raw.FPDFPath_GetPathSegment(thing.handle, n)
        kind = raw.FPDFPathSegment_GetType(segment)
        if kind == raw.FPDF_SEGMENT_BEZIERTO:
            return False
        raw.FPDFPathSegment_GetPoint(segment, x, y)
        here = (x.value, y.value)
        if (
            kind == raw.FPDF_SEGMENT_LINETO
            and before
            and min(abs(here[0] - before[0]), abs(here[1] - before[1])) > 1e-3 * MM
        ):
            return False
        before = here
    return True


def squares(page: OpenPage, boxes: Sequence[Box] | None) -> tuple[Square, ...]:
    """The codes in these boxes (points); None searches the whole page, slowly."""
    if boxes is None:
        found = _decode(page, page.shown, fine=False)
    else:
        found = [square for box in boxes for square in _decode(page, box)]
    unique = {(s.text, round(s.box[0]), round(s.box[1])): s for s in found}
    return tuple(unique.values())


def _decode(page: OpenPage, box: Box, *, fine: bool = True) -> list[Square]:
    left, bottom, right, top = page.shown
    side = max(box[2] - box[0], box[3] - box[1])
    around = 0.25 * side if fine else 0.0
    window = (box[0] - around, box[1] - around, box[2] + around, box[3] + around)
    scale = WINDOW / side if fine else 1600 / side
    whole = max(1, round((right - left) * scale)), max(1, round((top - bottom) * scale))
    across, down = whole[0] / (right - left), whole[1] / (top - bottom)
    corner = (round((window[0] - left) * across), round((top - window[3]) * down))
    wide, tall = round((window[2] - window[0]) * across), round((window[3] - window[1]) * down)
    grey = np.full((tall, wide), 255, np.uint8)
    render(page, grey, whole, corner)
    out = []
    for code in zxingcpp.read_barcodes(grey, formats=FORMATS, try_rotate=False, try_invert=False):
        at = code.position
        xs = [p.x for p in (at.top_left, at.top_right, at.bottom_left, at.bottom_right)]
        ys = [p.y for p in (at.top_left, at.top_right, at.bottom_left, at.bottom_right)]
        x0, y0, x1, y1 = min(xs), min(ys), max(xs), max(ys)
        modules = 17 + 4 * int(code.extra.get("Version") or 3) if isinstance(code.extra, dict) else 29
        points = (
            left + (corner[0] + x0) / across, top - (corner[1] + y1) / down,
            left + (corner[0] + x1) / across, top - (corner[1] + y0) / down,
        )  # fmt: skip
        module = (x1 - x0) / modules
        out.append(
            Square(code.text, page.millimetres(*points), module / across / MM, _quiet(grey, (x0, y0, x1, y1), module))
        )
    return out


def _quiet(grey: np.ndarray, at: tuple[float, float, float, float], module: float) -> bool:
    """Whether the ring of `QUIET` modules around the code is blank; what lies beyond the picture is not."""
    slack = max(1.5, 0.35 * module)
    x0, y0 = at[0] - QUIET * module + slack, at[1] - QUIET * module + slack
    x1, y1 = at[2] + QUIET * module - slack, at[3] + QUIET * module - slack
    if x0 < 0 or y0 < 0 or x1 > grey.shape[1] or y1 > grey.shape[0]:
        return False
    ring = grey[int(y0) : int(y1) + 1, int(x0) : int(x1) + 1].copy()
    inner_x, inner_y = int(at[0] - slack - int(x0)), int(at[1] - slack - int(y0))
    wide, tall = int(at[2] - at[0] + 2 * slack) + 2, int(at[3] - at[1] + 2 * slack) + 2
    ring[max(0, inner_y) : inner_y + tall, max(0, inner_x) : inner_x + wide] = 255
    return bool((ring >= BLANK).all())
