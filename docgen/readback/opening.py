"""Open a PDF that may be hostile, and walk over what is painted on its pages.

Limits, so that a bad file costs a bounded amount of work: size of the file, number of pages, size of a page, objects
and characters on a page, depth of nested forms. What lies beyond them is refused, with a finding. Parsing is pdfium's,
and cannot be interrupted: forms that draw each other many times over can keep it busy before anything is counted, so
files of strangers belong in a process with a time limit.
"""

from __future__ import annotations

import ctypes
from collections.abc import Iterator
from dataclasses import dataclass

import pypdfium2 as pdfium
import pypdfium2.raw as raw

from docgen.readback.copy import Box, Unreadable

MM = 72 / 25.4
"""Points in a millimetre."""

MAX_BYTES = 64 * 2**20
MAX_PAGES = 300
MAX_SIDE = 2000.0
"""Millimetres; ISO 216 A0 is 1189 high."""
MIN_SIDE = 30.0
"""Millimetres; ISO/IEC 7810 ID-1 is 54 high."""
MAX_OBJECTS = 40_000
"""On one page, nested forms included."""
MAX_CHARACTERS = 100_000
"""On one page."""
MAX_DEPTH = 6
"""Of forms within forms."""

Matrix = tuple[float, float, float, float, float, float]


def open_copy(data: bytes) -> pdfium.PdfDocument:
    """The document, or `Unreadable`: not a PDF, cut short, encrypted, too large, too many pages."""
    if len(data) > MAX_BYTES:
        raise Unreadable(
            "readback/too-large",
            f"the file has {len(data) / 2**20:.0f} MB; more than {MAX_BYTES // 2**20} MB are not read",
            "render it again from its source",
        )
    if not data.startswith(b"%PDF-"):
        raise Unreadable("readback/unreadable", "the file is not a PDF", "render it again from its source")
    if b"%%EOF" not in data[-1024:]:
        raise Unreadable(
            "readback/unreadable", "the file is cut short: its end mark is missing", "render it again from its source"
        )
    try:
        document = pdfium.PdfDocument(data)
    except pdfium.PdfiumError as problem:
        if raw.FPDF_GetLastError() == raw.FPDF_ERR_PASSWORD:
            raise Unreadable(
                "readback/encrypted", "the file is locked with a password", "render it again without a password"
            ) from problem
        raise Unreadable(
            "readback/unreadable", "the file cannot be read as a PDF", "render it again from its source"
        ) from problem
    if raw.FPDF_GetSecurityHandlerRevision(document) != -1:
        document.close()
        raise Unreadable("readback/encrypted", "the file is encrypted", "render it again without encryption")
    count = len(document)
    if not 0 < count <= MAX_PAGES:
        document.close()
        raise Unreadable(
            "readback/page-count",
            f"the file has {count} pages; between 1 and {MAX_PAGES} are read",
            "render it again from its source",
        )
    return document


@dataclass(slots=True)
class Painted:
    """Something painted on a page: its handle, what it is, where, and in which order."""

    handle: object
    kind: int
    """`FPDF_PAGEOBJ_…`."""
    matrix: Matrix | None
    """Of the forms around it; None if there are none."""
    depth: int


class OpenPage:
    """A page being read, with the way from its own points to millimetres of the trimmed sheet."""

    def __init__(self, document: pdfium.PdfDocument, index: int) -> None:
        try:
            self.page = document[index]
        except pdfium.PdfiumError as problem:
            raise Unreadable(
                "readback/unreadable",
                f"page {index + 1} cannot be read",
                "render the file again from its source",
                index + 1,
            ) from problem
        self.number = index + 1
        self.forms = document.formenv.raw if document.formenv else None
        self.raw = self.page.raw
        self.turned = self.page.get_rotation()
        self.shown: Box = self.page.get_bbox()
        """Left, bottom, right, top of what viewers show, points."""
        self.trim: Box = self.page.get_trimbox()
        left, bottom, right, top = self.trim
        self.width, self.height = (right - left) / MM, (top - bottom) / MM
        for side in (self.width, self.height):
            if not MIN_SIDE <= side <= MAX_SIDE:
                raise Unreadable(
                    "readback/sheet-size",
                    f"page {self.number} measures {self.width:.0f} × {self.height:.0f} mm; "
                    f"sides of {MIN_SIDE:.0f} to {MAX_SIDE:.0f} mm are read",
                    "choose a sheet of a standard size",
                    self.number,
                )

    def millimetres(self, left: float, bottom: float, right: float, top: float) -> Box:
        """A box of the page's own points as millimetres of the sheet."""
        x, y = self.trim[0], self.trim[3]
        return ((left - x) / MM, (y - top) / MM, (right - x) / MM, (y - bottom) / MM)

    def painted(self) -> Iterator[Painted]:
        """Everything painted on the page, in order, forms opened up."""
        counter = [0]
        yield from self._inside(None, None, 0, counter)

    def _inside(self, form: object, matrix: Matrix | None, level: int, counter: list[int]) -> Iterator[Painted]:
        if form is None:
            count = raw.FPDFPage_CountObjects(self.raw)
            get = raw.FPDFPage_GetObject
            holder: object = self.raw
        else:
            count = raw.FPDFFormObj_CountObjects(form)
            get = raw.FPDFFormObj_GetObject
            holder = form
        kind_of = raw.FPDFPageObj_GetType
        for n in range(count):
            handle = get(holder, n)
            kind = kind_of(handle)
            if kind == raw.FPDF_PAGEOBJ_FORM:
                if level >= MAX_DEPTH:
                    raise self._beyond(f"forms nested deeper than {MAX_DEPTH}")
                inner = matrix_of(handle)
                yield from self._inside(handle, times(inner, matrix) if matrix else inner, level + 1, counter)
                continue
            counter[0] += 1
            if counter[0] > MAX_OBJECTS:
                raise self._beyond(f"more than {MAX_OBJECTS} objects")
            yield Painted(handle, kind, matrix, counter[0])

    def _beyond(self, what: str) -> Unreadable:
        return Unreadable(
            "readback/too-complex",
            f"page {self.number} has {what}",
            "render the file again from its source",
            self.number,
        )


def matrix_of(handle: object) -> Matrix:
    """An object's own matrix."""
    m = raw.FS_MATRIX()
    raw.FPDFPageObj_GetMatrix(handle, m)
    return (m.a, m.b, m.c, m.d, m.e, m.f)


def times(a: Matrix, b: Matrix) -> Matrix:
    """First `a`, then `b`."""
    return (
        a[0] * b[0] + a[1] * b[2], a[0] * b[1] + a[1] * b[3],
        a[2] * b[0] + a[3] * b[2], a[2] * b[1] + a[3] * b[3],
        a[4] * b[0] + a[5] * b[2] + b[4], a[4] * b[1] + a[5] * b[3] + b[5],
    )  # fmt: skip


def moved(box: Box, m: Matrix) -> Box:
    """The box around a box after a matrix; any two opposite corners in, left, bottom, right, top out."""
    xs = [m[0] * x + m[2] * y + m[4] for x in (box[0], box[2]) for y in (box[1], box[3])]
    ys = [m[1] * x + m[3] * y + m[5] for x in (box[0], box[2]) for y in (box[1], box[3])]
    return (min(xs), min(ys), max(xs), max(ys))


class Bounds:
    """Asks for an object's bounds without making new C variables each time."""

    def __init__(self) -> None:
        self._four = [ctypes.c_float() for _ in range(4)]

    def __call__(self, thing: Painted) -> Box:
        """Left, bottom, right, top in the page's own points."""
        a, b, c, d = self._four
        raw.FPDFPageObj_GetBounds(thing.handle, a, b, c, d)
        box = (a.value, b.value, c.value, d.value)
        return moved(box, thing.matrix) if thing.matrix else box
