"""Turn a grey picture into the square codes on it, trying harder as long as none can be read.

A decoder that is given a sharp, even picture reads it at once. One that is small, blurred, noisy or unevenly lit is
prepared in a handful of ways, each undoing one of these; what is read must still pass the code's own error correction.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
import zxingcpp
from PIL import Image, ImageFilter

from docgen.recognise.picture import Grey, resized

FORMATS = zxingcpp.BarcodeFormats([zxingcpp.BarcodeFormat.QRCode])
Way = zxingcpp.Binarizer
LOCAL, GLOBAL = zxingcpp.Binarizer.LocalAverage, zxingcpp.Binarizer.GlobalHistogram
MOST = 60
"""Codes in one picture."""
FEW = 6
"""Codes seen and not read that are looked at closer."""
CLOSER = (240, 420, 700)
"""Pixels across, for a closer look at a code and as much around it."""
REDUCED = 2_500_000
"""Pixels of a whole picture that is prepared."""
LARGE = 4_000_000
"""Pixels of a picture that is not enlarged as a whole."""
SAME = 0.5
"""Two readings are of one code if their middles are nearer than this share of its side."""


@dataclass(frozen=True, slots=True)
class Square:
    """A square code in a picture; corners in pixels, from its own top left clockwise."""

    text: str
    """Empty if it is there and could not be read."""
    corners: tuple[tuple[float, float], ...]

    @property
    def middle(self) -> tuple[float, float]:
        """Pixels from the left and from the top."""
        return sum(x for x, _ in self.corners) / 4, sum(y for _, y in self.corners) / 4

    @property
    def side(self) -> float:
        """Mean length of its sides in pixels."""
        ends = zip(self.corners, (*self.corners[1:], self.corners[0]), strict=True)
        return sum(((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5 for a, b in ends) / 4


def squares(grey: Grey, hard: bool = True) -> tuple[Square, ...]:
    """Every square code that can be read, and those that are seen and can't. `hard`: for pictures that were taken."""
    found: list[Square] = []
    for picture, scale, corner, way in _plain_ways(grey):
        _add_all(found, picture, scale, corner, way)
    if not hard:
        return tuple(found[:MOST])
    for square in [s for s in found if not s.text][:FEW]:
        for picture, scale, corner, way in _closer(grey, square):
            if not any(s.text for s in found if _same(s, square)):
                _add_all(found, picture, scale, corner, way)
    for picture, scale, corner, way in _hard_ways(grey):
        if any(s.text for s in found):
            break
        _add_all(found, picture, scale, corner, way)
    return tuple(found[:MOST])


def _add_all(found: list[Square], picture: Grey, scale: float, corner: tuple[float, float], way: Way) -> None:
    for square in _decoded(picture, scale, corner, way):
        _add(found, square)


def _same(one: Square, other: Square) -> bool:
    (x, y), (ox, oy) = one.middle, other.middle
    return ((x - ox) ** 2 + (y - oy) ** 2) ** 0.5 < SAME * max(one.side, other.side)


def _add(found: list[Square], square: Square) -> None:
    for n, other in enumerate(found):
        if _same(square, other):
            if square.text and not other.text:
                found[n] = square
            return
    found.append(square)


def _plain_ways(grey: Grey) -> Iterator[tuple[Grey, float, tuple[float, float], Way]]:
    """Pictures to decode, with scale and corner of each in the first."""
    yield grey, 1.0, (0, 0), LOCAL
    if grey.size <= LARGE:
        yield resized(grey, 2), 2.0, (0, 0), LOCAL
    else:
        for tile, corner in _tiles(grey):
            yield tile, 1.0, corner, LOCAL


def _hard_ways(grey: Grey) -> Iterator[tuple[Grey, float, tuple[float, float], Way]]:
    """The same of the whole picture, prepared."""
    scale = min(1.0, (REDUCED / grey.size) ** 0.5)
    reduced = grey if scale == 1 else resized(grey, scale)
    even = _even(reduced)
    yield reduced, scale, (0, 0), GLOBAL
    for grown in (1.0, 2.0):
        base = even if grown == 1 else resized(even, grown)
        for prepare in PREPARED:
            yield prepare(base), scale * grown, (0, 0), LOCAL
    yield _smooth(resized(even, 2.0), 3.0), scale * 2, (0, 0), LOCAL


def _closer(grey: Grey, square: Square) -> Iterator[tuple[Grey, float, tuple[float, float], Way]]:
    """A code that was seen, looked at by itself: at several sizes, prepared."""
    x, y = square.middle
    reach = max(30.0, square.side)
    left, top = int(max(0, x - reach)), int(max(0, y - reach))
    part = np.ascontiguousarray(grey[top : int(y + reach) + 1, left : int(x + reach) + 1])
    for across in CLOSER:
        scale = across / max(part.shape)
        if scale > 8:
            continue
        sized = _even(resized(part, scale))
        for prepare in PREPARED:
            picture = prepare(sized)
            for way in (LOCAL, GLOBAL):
                yield picture, scale, (left, top), way


def _tiles(grey: Grey) -> Iterator[tuple[Grey, tuple[float, float]]]:
    """Overlapping quarters, in which a small code among much else is found more easily."""
    tall, wide = grey.shape
    for top in (0, tall // 3):
        for left in (0, wide // 3):
            part = grey[top : top + tall * 2 // 3, left : left + wide * 2 // 3]
            yield np.ascontiguousarray(part), (left, top)


def _even(grey: Grey) -> Grey:
    """Brightness relative to the paper around: shadows, glare and low light go."""
    radius = max(8, min(grey.shape) // 40)
    small = Image.fromarray(grey).reduce(4)
    paper = small.filter(ImageFilter.MaxFilter(5)).filter(ImageFilter.GaussianBlur(radius / 4))
    ground = np.asarray(paper.resize((grey.shape[1], grey.shape[0]), Image.Resampling.BILINEAR), np.float32)
    return np.clip(grey * (235.0 / np.maximum(ground, 8)), 0, 255).astype(np.uint8)


def _sharp(grey: Grey) -> Grey:
    return np.asarray(Image.fromarray(grey).filter(ImageFilter.UnsharpMask(3, 250, 0)))


def _sharper(grey: Grey) -> Grey:
    return np.asarray(Image.fromarray(grey).filter(ImageFilter.UnsharpMask(6, 400, 0)))


def _smooth(grey: Grey, radius: float = 1.2) -> Grey:
    return np.asarray(Image.fromarray(grey).filter(ImageFilter.GaussianBlur(radius)))


def _median(grey: Grey, size: int = 3) -> Grey:
    return np.asarray(Image.fromarray(grey).filter(ImageFilter.MedianFilter(size)))


PREPARED: tuple[Callable[[Grey], Grey], ...] = (lambda grey: grey, _smooth, _sharp, _median, _sharper)


def _decoded(picture: Grey, scale: float, corner: tuple[float, float], way: Way) -> Iterator[Square]:
    for code in zxingcpp.read_barcodes(picture, formats=FORMATS, binarizer=way, return_errors=True):
        at = code.position
        points = (at.top_left, at.top_right, at.bottom_right, at.bottom_left)
        corners = tuple((corner[0] + p.x / scale, corner[1] + p.y / scale) for p in points)
        yield Square(code.text if code.valid else "", corners)
