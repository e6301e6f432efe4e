"""Find what is painted on a page after some words, and over them."""

from __future__ import annotations

import ctypes
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np
import pypdfium2.raw as raw

from docgen.readback.copy import Box
from docgen.readback.opening import Bounds, Painted, matrix_of, times

if TYPE_CHECKING:
    from docgen.readback.reading import Drawn

PAIRS = 1_000_000
"""Of runs and other things that are compared at once: a page of strangers may have many of both."""
MOST_POINTS = 400
"""Of a path whose own points are looked at; a longer one is taken by pdfium's bounds."""


class Covering:
    """Everything painted on a page that is not words, by place and order."""

    def __init__(self, others: Sequence[Painted], overlays: Sequence[Box]) -> None:
        bounds = Bounds()
        self._others = others
        self._boxes = np.array([bounds(o) for o in others] + list(overlays), np.float64).reshape(-1, 4)
        self._depths = np.array([o.depth for o in others] + [2**31] * len(overlays), np.int64)
        self._exact: dict[int, Box] = {}

    def over(self, drawn: Sequence[Drawn]) -> list[bool]:
        """For each run, whether anything painted later reaches into its box."""
        at_once = max(1, PAIRS // max(1, len(self._depths)))
        return [later for n in range(0, len(drawn), at_once) for later in self._over(drawn[n : n + at_once])]

    def _over(self, drawn: Sequence[Drawn]) -> Iterator[bool]:
        b, mine = self._boxes, np.array([d.box for d in drawn], np.float64).reshape(-1, 4, 1)
        depths = np.array([d.thing.depth for d in drawn], np.int64).reshape(-1, 1)
        left, bottom, right, top = (mine[:, n] for n in range(4))
        hits = (self._depths > depths) & (b[:, 0] < right) & (b[:, 2] > left) & (b[:, 1] < top) & (b[:, 3] > bottom)
        for d, hit in zip(drawn, hits, strict=True):
            yield any(self._reaches(n, d.box) for n in hit.nonzero()[0].tolist())

    def _reaches(self, n: int, box: Box) -> bool:
        if n >= len(self._others) or self._others[n].kind != raw.FPDF_PAGEOBJ_PATH:
            return True
        if n not in self._exact:
            self._exact[n] = _points(self._others[n]) or tuple(self._boxes[n])
        e = self._exact[n]
        return e[0] < box[2] and e[2] > box[0] and e[1] < box[3] and e[3] > box[1]


def _points(thing: Painted) -> Box | None:
    """Around a path's points and half its line; pdfium's own bounds leave room for mitres that are never drawn."""
    count = raw.FPDFPath_CountSegments(thing.handle)
    if not 0 < count <= MOST_POINTS:
        return None
    m = matrix_of(thing.handle)
    if thing.matrix:
        m = times(m, thing.matrix)
    x, y, width = ctypes.c_float(), ctypes.c_float(), ctypes.c_float()
    xs, ys = [], []
    for n in range(count):
        raw.FPDFPathSegment_GetPoint(raw.FPDFPath_GetPathSegment(thing.handle, n), x, y)
        xs.append(m[0] * x.value + m[2] * y.value + m[4])
        ys.append(m[1] * x.value + m[3] * y.value + m[5])
    raw.FPDFPageObj_GetStrokeWidth(thing.handle, width)
    pad = width.value * max(abs(m[0]) + abs(m[2]), abs(m[1]) + abs(m[3]))
    return (min(xs) - pad, min(ys) - pad, max(xs) + pad, max(ys) + pad)
