"""Turn the first page of a finished file into a small picture of it, as PNG (ISO/IEC 15948)."""

from __future__ import annotations

import struct
import zlib
from typing import Any

import numpy as np
import pypdfium2 as pdfium

from docgen.model.page import Image

WIDE = 220
"""Pixels."""
TALLEST = 320
_STEPS = 17
"""Sixteen shades of each colour are enough for a thumbnail, and take half the room."""


def thumbnail(data: bytes) -> Image | None:
    """A small picture of the first page; None if the bytes are no PDF that can be opened."""
    try:
        document = pdfium.PdfDocument(data)
        try:
            page = document[0]
            scale = min(WIDE / page.get_width(), TALLEST / page.get_height())
            pixels = page.render(scale=scale, draw_annots=True, rev_byteorder=True).to_numpy()[:, :, :3]
        finally:
            document.close()
    except (pdfium.PdfiumError, IndexError, ZeroDivisionError):
        return None
    pixels = (pixels.astype(np.uint16) + _STEPS // 2) // _STEPS * _STEPS
    return Image("image/png", png(pixels.astype(np.uint8)), pixels.shape[1], pixels.shape[0])


def png(pixels: Any) -> bytes:
    """Rows of red, green and blue as a file. Each row is written as its difference from the one above."""
    height, width, _ = pixels.shape
    above = np.vstack((np.zeros((1, width, 3), np.uint8), pixels[:-1]))
    rows = np.hstack((np.full((height, 1), 2, np.uint8), (pixels - above).reshape(height, width * 3)))
    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = zlib.compress(rows.tobytes(), 9)
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        _chunk(name, content) for name, content in ((b"IHDR", header), (b"IDAT", body), (b"IEND", b""))
    )


def _chunk(name: bytes, content: bytes) -> bytes:
    return struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))
