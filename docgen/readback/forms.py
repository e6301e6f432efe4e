"""Read the form fields of a page, and notice notes that no artifact has."""

from __future__ import annotations

import ctypes
from dataclasses import dataclass, replace

import pypdfium2 as pdfium
import pypdfium2.raw as raw

from docgen.readback.copy import Box, Field
from docgen.readback.opening import OpenPage

KINDS = {
    raw.FPDF_FORMFIELD_TEXTFIELD: "text",
    raw.FPDF_FORMFIELD_CHECKBOX: "tick",
    raw.FPDF_FORMFIELD_RADIOBUTTON: "choice",
    raw.FPDF_FORMFIELD_COMBOBOX: "list",
    raw.FPDF_FORMFIELD_LISTBOX: "list",
    raw.FPDF_FORMFIELD_PUSHBUTTON: "button",
    raw.FPDF_FORMFIELD_SIGNATURE: "signature",
}
MAX_NOTES = 5000
"""Fields, links and notes on one page that are looked at."""


@dataclass(frozen=True, slots=True)
class Widget:
    """A field with its box in the page's own points."""

    field: Field
    points: Box

    def seen(self, framed: bool) -> Widget:
        """The same, knowing whether ink shows where it is."""
        return replace(self, field=replace(self.field, framed=framed))


def fields_of(document: pdfium.PdfDocument, page: OpenPage) -> tuple[list[Widget], tuple[str, ...]]:
    """The widgets of a page, and what else is pinned to it, in words."""
    count = raw.FPDFPage_GetAnnotCount(page.raw)
    if not count:
        return [], ()
    environment = document.formenv.raw if document.formenv else None
    widgets: list[Widget] = []
    odd: list[str] = []
    if count > MAX_NOTES:
        odd.append(f"the page has {count} fields and notes; {MAX_NOTES} were looked at")
    for n in range(min(count, MAX_NOTES)):
        note = raw.FPDFPage_GetAnnot(page.raw, n)
        if not note:
            continue
        kind = raw.FPDFAnnot_GetSubtype(note)
        if kind == raw.FPDF_ANNOT_WIDGET:
            widgets.append(_widget(environment, note, page))
        elif kind != raw.FPDF_ANNOT_LINK:
            odd.append(f"a note (PDF annotation type {kind}) is pinned to the page")
        raw.FPDFPage_CloseAnnot(note)
    return widgets, tuple(odd)


def _widget(environment, note, page: OpenPage) -> Widget:
    rectangle = raw.FS_RECTF()
    raw.FPDFAnnot_GetRect(note, rectangle)
    left, right = sorted((rectangle.left, rectangle.right))
    bottom, top = sorted((rectangle.bottom, rectangle.top))
    box = (left, bottom, right, top)
    flags = raw.FPDFAnnot_GetFlags(note)
    hidden = raw.FPDF_ANNOT_FLAG_HIDDEN | raw.FPDF_ANNOT_FLAG_NOVIEW | raw.FPDF_ANNOT_FLAG_INVISIBLE
    kind = KINDS.get(raw.FPDFAnnot_GetFormFieldType(environment, note), "unknown") if environment else "unknown"
    field = Field(
        kind,
        _text(raw.FPDFAnnot_GetFormFieldName, environment, note),
        _text(raw.FPDFAnnot_GetFormFieldAlternateName, environment, note),
        page.millimetres(*box),
        bool(flags & raw.FPDF_ANNOT_FLAG_PRINT) and not flags & hidden,
        True,
    )
    return Widget(field, box)


def _text(get, environment, note) -> str:
    if not environment:
        return ""
    buffer = (ctypes.c_ushort * 512)()
    length = get(environment, note, buffer, 1024)
    return ctypes.string_at(buffer, max(0, min(length, 1024) - 2)).decode("utf-16-le", "replace")
