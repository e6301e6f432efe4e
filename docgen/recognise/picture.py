"""Turn the bytes of a PNG, JPEG or TIFF file, which may be hostile, into grey pictures of bounded size."""

from __future__ import annotations

import io
import struct
import warnings

import numpy as np
from PIL import Image, ImageOps

FORMATS = ("PNG", "JPEG", "TIFF")
"""What is opened; the first picture of the several in one file that some telephones make of a JPEG."""
MOST_PIXELS = 120_000_000
"""Of one picture: more than a telephone takes, or an A3 scan at 600 dpi."""
KEPT_PIXELS = 50_000_000
"""What a larger picture is reduced to."""
MOST_FRAMES = 40
"""Pages of a scan in one TIFF file."""
LEAST_SIDE = 40
"""Pixels; a square code of version 1 has 29 modules with its quiet zone."""

DAMAGED = (OSError, SyntaxError, ValueError, TypeError, LookupError, ArithmeticError, struct.error)
"""What Pillow raises for damaged files."""

Grey = np.ndarray
"""Rows and columns of brightness, 0 to 255."""


class Unusable(Exception):
    """Why nothing can be seen in a file, and what would help."""

    def __init__(self, rule: str, message: str, hint: str) -> None:
        super().__init__(message)
        self.rule, self.message, self.hint = rule, message, hint


def pictures(data: bytes) -> tuple[tuple[Grey, ...], tuple[str, ...]]:
    """Every picture in the file, upright, and what was left out. Raises `Unusable`."""
    Image.MAX_IMAGE_PIXELS = None  # the limits here are our own, and refuse instead of warning
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return _pictures(data)
    except DAMAGED as problem:
        message = f"the picture can't be read ({type(problem).__name__})"
        raise Unusable("recognise/unreadable", message, "take or send the picture again") from problem


def _pictures(data: bytes) -> tuple[tuple[Grey, ...], tuple[str, ...]]:
    with Image.open(io.BytesIO(data), formats=FORMATS) as image:
        count = getattr(image, "n_frames", 1) if image.format == "TIFF" else 1
        found: list[Grey] = []
        for n in range(min(count, MOST_FRAMES)):
            image.seek(n)
            _bounded(image)
            found.append(_grey(image))
    left = (f"only the first {MOST_FRAMES} of {count} pages were looked at",) if count > MOST_FRAMES else ()
    return tuple(found), left


def _bounded(image: Image.Image) -> None:
    wide, tall = image.size
    if wide * tall > MOST_PIXELS:
        message = f"the picture has {wide} × {tall} pixels; more than {MOST_PIXELS // 10**6} million are not read"
        raise Unusable("recognise/too-large", message, "send a smaller picture")
    if min(wide, tall) < LEAST_SIDE:
        message = f"the picture has {wide} × {tall} pixels, too few to read anything"
        raise Unusable("recognise/too-small", message, "send the picture as it was taken, not a preview")


def _grey(image: Image.Image) -> Grey:
    wide, tall = image.size
    if wide * tall > KEPT_PIXELS:
        share = (KEPT_PIXELS / (wide * tall)) ** 0.5
        image.draft("L", (round(wide * share), round(tall * share)))  # JPEG is reduced while it is read
    turned = ImageOps.exif_transpose(image)
    if turned.mode.startswith(("I", "F")):
        deep = np.asarray(turned, np.float32)
        deepest = 65535.0 if deep.max() > 255 else 255.0
        grey = np.clip(deep * (255 / deepest), 0, 255).astype(np.uint8)
    else:
        if "A" in turned.getbands() or "transparency" in turned.info:
            seen = turned.convert("RGBA")
            paper = Image.new("RGBA", seen.size, "white")
            turned = Image.alpha_composite(paper, seen)
        grey = np.array(turned.convert("L"))
    if grey.size > KEPT_PIXELS:
        share = (KEPT_PIXELS / grey.size) ** 0.5
        grey = resized(grey, share)
    return grey


def resized(grey: Grey, scale: float) -> Grey:
    """The same picture, larger or smaller."""
    size = max(1, round(grey.shape[1] * scale)), max(1, round(grey.shape[0] * scale))
    way = Image.Resampling.BICUBIC if scale > 1 else Image.Resampling.BOX
    return np.asarray(Image.fromarray(grey).resize(size, way))
