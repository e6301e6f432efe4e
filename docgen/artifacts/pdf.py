"""Turn a finished document into a tagged PDF file.

Everything was decided by the sheet: this module draws at the places given and decides nothing. All fonts are embedded,
all content is marked as part of the structure or as decoration, and the same document gives the same bytes.
"""

from __future__ import annotations

from html import escape
from typing import Any

from docgen.artifacts.fonts import Faces, Fonts
from docgen.artifacts.forms import Form
from docgen.artifacts.objects import Objects, name, number, ref, string
from docgen.artifacts.paint import Box, Brush, Drawings, bounds
from docgen.artifacts.tags import Structure
from docgen.model.sheet import (
    DECORATION,
    RUNNING_FOOT,
    RUNNING_HEAD,
    Bookmark,
    Document,
    Drawing,
    Field,
    Ink,
    Sheet,
)

PRODUCER = "docgen"
_ARTIFACTS = {
    DECORATION: "/Artifact BMC",
    RUNNING_HEAD: "/Artifact<</Type/Pagination/Subtype/Header/Attached[/Top]>>BDC",
    RUNNING_FOOT: "/Artifact<</Type/Pagination/Subtype/Footer/Attached[/Bottom]>>BDC",
}
"""How content outside the structure begins (ISO 32000-1, 14.8.2.2.2; ISO 14289-1, 7.8)."""


def write_pdf(document: Document, faces: Faces) -> bytes:
    """The document as PDF 1.7 bytes.

    `faces` are the fonts its words were shaped with. ValueError when a tag or a form field contradicts another: a fault
    of the sheet, not of the input.
    """
    objects = Objects()
    fonts, drawings = Fonts(faces), Drawings(objects)
    structure = Structure(document.tags, objects) if document.tags else None
    form = Form(objects, faces, document.rtl)
    resources, tree = objects.reserve(), objects.reserve()
    pages = [objects.reserve() for _ in document.sheets]
    for sheet, page in zip(document.sheets, pages, strict=True):
        _Page(sheet, page, objects, fonts, drawings, structure, form).write(resources, tree)
    objects.put(tree, b"<</Type/Pages/Count %d/Kids[%b]>>" % (len(pages), b" ".join(map(ref, pages))))
    objects.put(resources, b"<</Font<<%b>>/XObject<<%b>>>>" % (fonts.write(objects), drawings.write()))
    catalog = [
        b"<</Type/Catalog/Pages %b/Lang%b/ViewerPreferences<</DisplayDocTitle true/Direction/%b>>/Metadata %b"
        % (ref(tree), string(document.language), b"R2L" if document.rtl else b"L2R", ref(_metadata(document, objects)))
    ]
    if structure:
        structure.write()
        catalog.append(b"/MarkInfo<</Marked true>>/StructTreeRoot " + ref(structure.root))
    if form:
        catalog.append(b"/AcroForm " + ref(form.write()))
    if document.bookmarks:
        outline = _outline(document.bookmarks, document.sheets, pages, objects)
        catalog.append(b"/PageMode/UseOutlines/Outlines " + ref(outline))
    return objects.finish(objects.add(b"".join((*catalog, b">>"))), objects.add(_info(document)))


class _Page:
    """One sheet on its way to a page."""

    def __init__(
        self,
        sheet: Sheet,
        page: int,
        objects: Objects,
        fonts: Fonts,
        drawings: Drawings,
        structure: Structure | None,
        form: Form,
    ) -> None:
        self._sheet = sheet
        self._page = page
        self._objects = objects
        self._fonts = fonts
        self._drawings = drawings
        self._structure = structure
        self._form = form
        self._left = sheet.bleed
        self._top = sheet.height + sheet.bleed
        self._brush = Brush(self._left, self._top)

    def write(self, resources: int, tree: int) -> None:
        sheet, objects = self._sheet, self._objects
        out: list[str] = []
        marked: list[int] = []
        annotations: list[int] = []
        tags = self._structure is not None
        roles = self._structure.roles if self._structure else ()
        current: int | None = None
        for mark in sheet.marks:
            if isinstance(mark, Field):
                annotations.append(self._field(mark))
                continue
            if tags and mark.tag != current:
                if current is not None:
                    out.append("EMC")
                current = mark.tag
                if current < 0:
                    out.append(_ARTIFACTS[current])
                else:
                    out.append(f"/{roles[current]}<</MCID {len(marked)}>>BDC")
                    marked.append(current)
            if isinstance(mark, Ink):
                self._ink(mark, out)
            elif isinstance(mark, Drawing):
                self._figure(mark.tag, self._drawings.place(mark, self._left, self._top, out))
            else:
                self._brush.paint(mark, out)
                if mark.tag >= 0:
                    left, top = self._left, self._top
                    a, b, c, d = bounds((mark,))
                    self._figure(mark.tag, (left + a, top - d, left + c, top - b))
        if current is not None:
            out.append("EMC")
        contents = objects.stream(b"", "\n".join(out).encode("latin-1"))
        bleed, width, height = sheet.bleed, sheet.width, sheet.height
        media = " ".join(number(v) for v in (0, 0, width + 2 * bleed, height + 2 * bleed)).encode()
        trim = " ".join(number(v) for v in (bleed, bleed, width + bleed, height + bleed)).encode()
        body = b"<</Type/Page/Parent %b/MediaBox[%b]/TrimBox[%b]/BleedBox[%b]/Resources %b/Contents %b/Tabs/S" % (
            ref(tree), media, trim, media, ref(resources), ref(contents)
        )  # fmt: skip
        if marked and self._structure:
            body += b"/StructParents %d" % self._structure.page(marked, self._page)
        if annotations:
            body += b"/Annots[%b]" % b" ".join(map(ref, annotations))
        objects.put(self._page, body + b">>")

    def _ink(self, ink: Ink, out: list[str]) -> None:
        self._brush.fill(ink.colour, out)
        left, top, size = self._left + ink.x, self._top - ink.y, ink.size
        fonts, scale, points, baseline = self._fonts, size / 1000, number(size), number(top)
        out.append("BT")
        for run in ink.line.runs:
            font = fonts[run.face]
            out.append(
                f"/{font.resource} {points} Tf 1 0 0 1 {number(left + run.x * scale)} {baseline} Tm"
                f"[{font.operand(run.words)}]TJ"
            )
        out.append("ET")

    def _figure(self, tag: int, box: Box) -> None:
        if self._structure and tag >= 0 and self._structure.roles[tag] in ("Figure", "Formula"):
            self._structure.box(tag, box)

    def _field(self, field: Field) -> int:
        widget = self._objects.reserve()
        left, top = self._left + field.x, self._top - field.y
        rect = (left, top - field.height, left + field.width, top)
        tagged = self._structure is not None and field.tag >= 0
        key = self._structure.widget(field.tag, widget, self._page) if self._structure and tagged else -1
        self._form.add(field, widget, rect, self._page, key)
        return widget


def _outline(bookmarks: tuple[Bookmark, ...], sheets: tuple[Sheet, ...], pages: list[int], objects: Objects) -> int:
    """The outline tree: an entry lies within the nearest one before it of a lower level."""
    root = objects.reserve()
    numbers = [objects.reserve() for _ in bookmarks]
    parents: list[int] = []
    open_: list[int] = []
    for i, bookmark in enumerate(bookmarks):
        while open_ and bookmarks[open_[-1]].level >= bookmark.level:
            open_.pop()
        parents.append(open_[-1] if open_ else -1)
        open_.append(i)
    kids: dict[int, list[int]] = {}
    for i, parent in enumerate(parents):
        kids.setdefault(parent, []).append(i)

    def family(parent: int) -> bytes:
        own = kids.get(parent, [])
        return b"/First %b/Last %b" % (ref(numbers[own[0]]), ref(numbers[own[-1]])) if own else b""

    def below(parent: int) -> int:
        return sum(1 + below(kid) for kid in kids.get(parent, ()))

    for parent, siblings in kids.items():
        for before, i, after in zip((-1, *siblings), siblings, (*siblings[1:], -1), strict=False):
            bookmark = bookmarks[i]
            sheet = sheets[bookmark.sheet]
            parts: list[Any] = [
                b"<</Title",
                string(bookmark.title),
                b"/Parent ",
                ref(numbers[parent] if parent >= 0 else root),
            ]
            top = number(sheet.height + sheet.bleed - bookmark.y).encode()
            parts.append(b"/Dest[%b/XYZ null %b null]" % (ref(pages[bookmark.sheet]), top))
            if before >= 0:
                parts.append(b"/Prev " + ref(numbers[before]))
            if after >= 0:
                parts.append(b"/Next " + ref(numbers[after]))
            if i in kids:
                parts.append(family(i) + b"/Count %d" % below(i))
            objects.put(numbers[i], b"".join((*parts, b">>")))
    objects.put(root, b"<</Type/Outlines%b/Count %d>>" % (family(-1), below(-1)))
    return root


def _info(document: Document) -> bytes:
    """The information dictionary; further details go under their own keys (14.3.3)."""
    entries = {
        "Title": document.title,
        "Subject": document.subject,
        "Keywords": document.keywords,
        "Author": document.author,
        "Producer": PRODUCER,
        **dict(document.details),
    }
    return b"<<%b>>" % b"".join(name(key) + string(text) for key, text in entries.items() if text)


def _metadata(document: Document, objects: Objects) -> int:
    """The same as XMP (ISO 16684-1), left uncompressed so that any tool can find it. No date: there is no clock.

    A tagged file names PDF/UA-1 as what it was made to (ISO 14289-1, 5): checkers look for it first. DEVELOPERS.md says
    what that rests on, and what nobody has looked at.
    """
    parts = [f"<dc:title><rdf:Alt><rdf:li xml:lang='x-default'>{escape(document.title)}</rdf:li></rdf:Alt></dc:title>"]
    parts.append(f"<dc:language><rdf:Bag><rdf:li>{escape(document.language)}</rdf:li></rdf:Bag></dc:language>")
    if document.subject:
        about = f"<rdf:Alt><rdf:li xml:lang='x-default'>{escape(document.subject)}</rdf:li></rdf:Alt>"
        parts.append(f"<dc:description>{about}</dc:description>")
    if document.author:
        parts.append(f"<dc:creator><rdf:Seq><rdf:li>{escape(document.author)}</rdf:li></rdf:Seq></dc:creator>")
    if document.keywords:
        parts.append(f"<pdf:Keywords>{escape(document.keywords)}</pdf:Keywords>")
    parts.append(f"<pdf:Producer>{PRODUCER}</pdf:Producer>")
    if document.tags:
        parts.append("<pdfuaid:part>1</pdfuaid:part>")
    packet = (
        "<?xpacket begin='\ufeff' id='W5M0MpCehiHzreSzNTczkc9d'?><x:xmpmeta xmlns:x='adobe:ns:meta/'>"
        "<rdf:RDF xmlns:rdf='http://www.w3.org/1999/02/22-rdf-syntax-ns#'><rdf:Description rdf:about='' "
        "xmlns:dc='http://purl.org/dc/elements/1.1/' xmlns:pdf='http://ns.adobe.com/pdf/1.3/' "
        "xmlns:pdfuaid='http://www.aiim.org/pdfua/ns/id/'>"
        f"{''.join(parts)}</rdf:Description></rdf:RDF></x:xmpmeta><?xpacket end='r'?>"
    )
    return objects.stream(b"/Type/Metadata/Subtype/XML", packet.encode("utf-8"), packed=False)
