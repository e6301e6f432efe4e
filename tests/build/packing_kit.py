"""Released files of the invented unit: real PDF with our writer, each page saying what it is."""

from __future__ import annotations

from pathlib import Path

from postings_kit import PAGES, SITE, Home, home, release
from workbench import faces

from docgen.artifacts import write_pdf
from docgen.model.layout import SIZES
from docgen.model.sheet import MM, Document, Ink, Shape, Sheet
from docgen.model.text import Run
from docgen.typeset.boxes import rectangle
from docgen.typeset.shaping import shape

ORANGE = (1.0, 0.51, 0.0)


def page(words: str, sheet: str) -> Sheet:
    """A page with its words near its top left corner, on a strip of a signal colour along its top edge."""
    width, height = (v * MM for v in SIZES[sheet])
    line = shape((Run(words),), faces(), language="en").wrap(width - 40, 9)[0]
    strip = Shape(rectangle(0, 0, width, 20), fill=ORANGE)
    return Sheet(width, height, (strip, Ink(line, 20, 40, 9)))


def pdf(name: str, sheet: str, pages: int) -> bytes:
    """A file whose pages say their name and number."""
    sheets = tuple(page(f"{name}:{n + 1}", sheet) for n in range(pages))
    return write_pdf(Document(name, "en", False, sheets), faces())


def shelf(root: Path, *, protocol: str = "lens-care", version: str = "1.0", text: str = SITE) -> Home:
    """A project with one release whose files lie under `out`."""
    bare = release(protocol, version)
    made: dict[str, bytes] = {}
    for spoken in bare.editions[0].languages:
        for file in spoken.files:
            if file.artifact in PAGES and " on " not in file.sheet:
                made[file.file] = pdf(file.file.removesuffix(".pdf"), file.sheet, file.pages)
    released = release(protocol, version, files=made)
    place = home(root, released, text=text)
    for spoken in released.editions[0].languages:
        folder = root / "out" / protocol / version / "quay" / spoken.language
        folder.mkdir(parents=True)
        for file in spoken.files:
            if file.file in made:
                (folder / file.file).write_bytes(made[file.file])
    return place
