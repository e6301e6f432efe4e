"""Turn PDF bytes into a `Copy`: every run of words with its place, size, colour and ink, and all else that is there."""

from __future__ import annotations

import ctypes
import math
from dataclasses import dataclass, replace

import pypdfium2 as pdfium
import pypdfium2.raw as raw

from docgen.readback.codes import likely_codes, squares
from docgen.readback.copy import Box, Colour, Copy, Ink, Page, Run, Square, Unreadable
from docgen.readback.forms import fields_of
from docgen.readback.glyphs import Faces, blank_or_sign
from docgen.readback.opening import MAX_CHARACTERS, MM, Bounds, Matrix, OpenPage, Painted, open_copy, times
from docgen.readback.pixels import Canvases, Picture, rightward
from docgen.readback.structure import elements_of

HYPHENS = str.maketrans({"\x02": "-", "\ufffe": "-", "\u00ad": "-"})
"""pdfium marks a hyphen at the end of a line; on the sheet it is a hyphen. A drawn soft hyphen is one as well."""


SEARCHED = 2
"""Pages on which a square code is searched for everywhere when none was found where one is likely."""


@dataclass(slots=True)
class Drawn:
    """A run before its ink is known. Boxes in the page's own points."""

    thing: Painted
    text: str
    box: Box
    origin: tuple[float, float]
    size: float
    face: int
    colour: Colour
    opacity: float
    mode: int
    upright: bool
    mcid: int
    broken: str = ""


def read(data: bytes, *, pixels: bool = True) -> Copy:
    """What is really in a PDF. `pixels` also renders it: ink, square codes, frames of fields.

    Raises `Unreadable` when it cannot be read, or lies beyond the limits of `opening`.
    """
    document = open_copy(data)
    try:
        return _read(document, pixels)
    except pdfium.PdfiumError as problem:
        raise Unreadable(
            "readback/unreadable", f"the file cannot be read to its end ({problem})", "render it again from its source"
        ) from problem
    finally:
        document.close()


def _read(document: pdfium.PdfDocument, pixels: bool) -> Copy:
    document.init_forms()
    tagged = bool(raw.FPDFCatalog_IsTagged(document))
    faces = Faces()
    opened: list[tuple[OpenPage, list[Drawn], list[Painted], list[str]]] = []
    for index in range(len(document)):
        page = OpenPage(document, index)
        opened.append((page, *_runs(page, faces, tagged)))
    canvases = Canvases() if pixels else None
    pages = tuple(
        _page(document, page, drawn, others, odd, faces, tagged, canvases) for page, drawn, others, odd in opened
    )
    if pixels and not any(p.squares for p in pages):
        # a code drawn in some unforeseen way: search the first pages as a whole
        searched = zip(pages[:SEARCHED], opened, strict=False)
        pages = (*(replace(p, squares=squares(o[0], None)) for p, o in searched), *pages[SEARCHED:])
    return Copy(pages, _meta(document, b"Title"), _language(document), tagged)


def _page(document, page, drawn, others, odd, faces: Faces, tagged: bool, canvases: Canvases | None) -> Page:
    _mark_missing(page, drawn, faces)
    fields, notes = fields_of(document, page)
    ink: list[Ink | None] = [None] * len(drawn)
    codes: tuple[Square, ...] = ()
    if canvases is not None:
        picture = Picture(page, canvases)
        overlays = [f.points for f in fields]
        ink = list(picture.inks(drawn, others, overlays))
        fields = [f.seen(picture.framed(f.points)) for f in fields]
        codes = squares(page, likely_codes(others))
    runs = tuple(_run(page, d, i, faces) for d, i in zip(drawn, ink, strict=True))
    if page.turned:
        odd = [*odd, f"the page is turned by {page.turned} degrees"]
    elements = elements_of(page) if tagged else ()
    return Page(
        page.number, page.width, page.height, runs, codes, tuple(f.field for f in fields), elements, (*odd, *notes)
    )


def _runs(page: OpenPage, faces: Faces, tagged: bool) -> tuple[list[Drawn], list[Painted], list[str]]:
    """The runs of a page, everything else painted on it, and what is odd about its text."""
    text_page = raw.FPDFText_LoadPage(page.raw)
    if not text_page:
        raise Unreadable(
            "readback/unreadable", f"the text of page {page.number} cannot be read", "render it again from its source",
            page.number,
        )  # fmt: skip
    try:
        return _collect(page, text_page, faces, tagged)
    finally:
        raw.FPDFText_ClosePage(text_page)


def _collect(page: OpenPage, text_page, faces: Faces, tagged: bool) -> tuple[list[Drawn], list[Painted], list[str]]:
    count = max(0, raw.FPDFText_CountChars(text_page))
    if count > MAX_CHARACTERS:
        raise Unreadable(
            "readback/too-complex",
            f"page {page.number} has more than {MAX_CHARACTERS} characters",
            "render the file again from its source",
            page.number,
        )
    buffer = (ctypes.c_ushort * (2 * count + 64))()
    room = len(buffer) * 2
    written = raw.FPDFText_GetText(text_page, 0, count, buffer) if count else 1
    odd = (
        [] if written >= count + 1 else [f"{count + 1 - written} characters have no meaning (their glyphs are missing)"]
    )
    bounds = Bounds()
    size, matrix = ctypes.c_float(), raw.FS_MATRIX()
    red, green, blue, alpha = (ctypes.c_uint() for _ in range(4))
    drawn: list[Drawn] = []
    others: list[Painted] = []
    for thing in page.painted():
        handle = thing.handle
        if thing.kind != raw.FPDF_PAGEOBJ_TEXT:
            others.append(thing)
            continue
        length = raw.FPDFTextObj_GetText(handle, text_page, buffer, room)
        text = ctypes.string_at(buffer, max(0, length - 2)).decode("utf-16-le", "replace").translate(HYPHENS)
        raw.FPDFTextObj_GetFontSize(handle, size)
        raw.FPDFPageObj_GetMatrix(handle, matrix)
        m: Matrix = (matrix.a, matrix.b, matrix.c, matrix.d, matrix.e, matrix.f)
        if thing.matrix:
            m = times(m, thing.matrix)
        raw.FPDFPageObj_GetFillColor(handle, red, green, blue, alpha)
        grown = math.sqrt(abs(m[0] * m[3] - m[1] * m[2]))
        drawn.append(
            Drawn(
                thing,
                text,
                bounds(thing),
                (m[4], m[5]),
                size.value * grown,
                faces.note(raw.FPDFTextObj_GetFont(handle), text),
                (red.value, green.value, blue.value),
                alpha.value / 255,
                raw.FPDFTextObj_GetTextRenderMode(handle),
                m[0] > 0
                and m[3] > 0
                and abs(m[1]) < 0.01 * m[0]
                and abs(m[2]) < 0.01 * m[3]
                and 0.8 < m[0] / m[3] < 1.25,
                raw.FPDFPageObj_GetMarkedContentID(handle) if tagged else -1,
            )
        )
    if any(rightward(d.text) for d in drawn):
        _as_drawn(text_page, drawn)
    return drawn, others, odd


def _as_drawn(text_page, drawn: list[Drawn]) -> None:
    """Put the characters of left-to-right runs in the order in which they stand.

    Where a page has right-to-left letters, pdfium turns whole lines, and codes and dates come back as `1.0v`.
    """
    wanted = {ctypes.addressof(d.thing.handle.contents): d for d in drawn if not rightward(d.text)}  # type: ignore[attr-defined]
    places: dict[int, list[tuple[float, int, str]]] = {}
    x, y = ctypes.c_double(), ctypes.c_double()
    for n in range(raw.FPDFText_CountChars(text_page)):
        handle = raw.FPDFText_GetTextObject(text_page, n)
        address = ctypes.addressof(handle.contents) if handle else 0
        if address in wanted and raw.FPDFText_GetCharOrigin(text_page, n, x, y):
            places.setdefault(address, []).append((x.value, n, chr(raw.FPDFText_GetUnicode(text_page, n))))
    for address, characters in places.items():
        wanted[address].text = "".join(c for _, _, c in sorted(characters)).translate(HYPHENS)


def _mark_missing(page: OpenPage, drawn: list[Drawn], faces: Faces) -> None:
    """Look again, glyph by glyph, at runs with characters whose outline is empty or a frame."""
    doubts = {face: faces.doubtful(face) for face in {d.face for d in drawn}}
    suspects = [d for d in drawn if doubts[d.face] and not doubts[d.face].keys().isdisjoint(d.text)]
    if not suspects:
        return
    text_page = raw.FPDFText_LoadPage(page.raw)
    try:
        boxes = _glyph_boxes(text_page, suspects)
    finally:
        raw.FPDFText_ClosePage(text_page)
    for d in suspects:
        d.broken = blank_or_sign(boxes.get(ctypes.addressof(d.thing.handle.contents), ()), doubts[d.face])  # type: ignore[attr-defined]


def _glyph_boxes(text_page, suspects: list[Drawn]) -> dict[int, list[tuple[str, float, float]]]:
    """Run's address → its characters with width and height of their glyphs in type sizes."""
    wanted = {ctypes.addressof(d.thing.handle.contents): d for d in suspects}  # type: ignore[attr-defined]
    out: dict[int, list[tuple[str, float, float]]] = {}
    left, right, bottom, top = (ctypes.c_double() for _ in range(4))
    for n in range(raw.FPDFText_CountChars(text_page)):
        handle = raw.FPDFText_GetTextObject(text_page, n)
        if not handle:
            continue
        address = ctypes.addressof(handle.contents)
        if address not in wanted:
            continue
        size = wanted[address].size or 1.0
        raw.FPDFText_GetCharBox(text_page, n, left, right, bottom, top)
        character = chr(raw.FPDFText_GetUnicode(text_page, n))
        out.setdefault(address, []).append(
            (character, (right.value - left.value) / size, (top.value - bottom.value) / size)
        )
    return out


def _run(page: OpenPage, d: Drawn, ink: Ink | None, faces: Faces) -> Run:
    box = page.millimetres(*d.box)
    baseline = (page.trim[3] - d.origin[1]) / MM
    x_height = faces.x_height(d.face) * d.size / MM
    return Run(
        d.text, box, baseline, d.size, x_height, d.face, d.colour, d.opacity, d.mode, d.upright, d.mcid, d.thing.depth,
        ink, d.broken,
    )  # fmt: skip


def _meta(document: pdfium.PdfDocument, name: bytes) -> str:
    buffer = ctypes.create_string_buffer(4096)
    length = raw.FPDF_GetMetaText(document, name, buffer, 4096)
    return buffer.raw[: max(0, min(length, 4096) - 2)].decode("utf-16-le", "replace")


def _language(document: pdfium.PdfDocument) -> str:
    buffer = (ctypes.c_ushort * 64)()
    length = raw.FPDFCatalog_GetLanguage(document, buffer, 128)
    return ctypes.string_at(buffer, max(0, min(length, 128) - 2)).decode("utf-16-le", "replace")
