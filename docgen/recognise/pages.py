"""Turn a PDF, which may be hostile, into the words and the grey picture of each of its pages."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pypdfium2 as pdfium

from docgen.recognise.picture import Grey, Unusable

MOST_PAGES = 200
MOST_CHARACTERS = 100_000
"""On one page."""
FINE = (200, 3200)
"""Dots per inch, and pixels on the longer side."""
FINER = (300, 5200)
INCH = 72.0


class Leaf:
    """One page."""

    def __init__(self, page: pdfium.PdfPage, number: int) -> None:
        self._page, self.number = page, number

    def words(self) -> str:
        """Its text, as the file has it."""
        text = self._page.get_textpage()
        try:
            return text.get_text_range(0, min(text.count_chars(), MOST_CHARACTERS)) if text.count_chars() > 0 else ""
        finally:
            text.close()

    def picture(self, dots: int, most: int) -> Grey:
        """What is seen of it."""
        longer = max(self._page.get_size())
        scale = min(dots / INCH, most / max(longer, 1.0))
        bitmap = self._page.render(scale=scale, grayscale=True, may_draw_forms=False)
        return np.array(bitmap.to_numpy()).reshape(bitmap.height, bitmap.width)


def pages(data: bytes) -> Iterator[Leaf]:
    """Its pages, the first `MOST_PAGES`. Raises `Unusable`."""
    try:
        document = pdfium.PdfDocument(data)
    except pdfium.PdfiumError as problem:
        locked = "password" in str(problem).lower()
        message = "the file is locked with a password" if locked else "the file can't be read as a PDF"
        hint = "take the password away, or photograph the sheet" if locked else "send it again, or photograph the sheet"
        raise Unusable("recognise/unreadable", message, hint) from problem
    try:
        if not len(document):
            raise Unusable("recognise/unreadable", "the file has no pages", "send it again, or photograph the sheet")
        for number in range(1, min(len(document), MOST_PAGES) + 1):
            try:
                page = document[number - 1]
            except pdfium.PdfiumError as problem:
                message = f"page {number} can't be read"
                raise Unusable("recognise/unreadable", message, "send it again, or photograph the sheet") from problem
            yield Leaf(page, number)
            page.close()
    finally:
        document.close()


def count(data: bytes) -> int:
    """How many pages it has."""
    document = pdfium.PdfDocument(data)
    try:
        return len(document)
    finally:
        document.close()
