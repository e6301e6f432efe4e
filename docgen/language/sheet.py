"""Turn catalogues into a spreadsheet for a translator who has no PO editor.

One worksheet for each catalogue, one row for each text. Only the translator's columns can be typed in. A hidden column
remembers what was sent out, so that reading it back (`docgen.language.sheet_back`) can tell what changed on either
side. Signs whose blanks count (between two names of a list) are left to PO editors: cells lose blanks.
"""

from __future__ import annotations

import hashlib
import io
import re
import zipfile
from collections.abc import Sequence

from openpyxl import Workbook
from openpyxl.styles import Alignment, Font, PatternFill, Protection
from openpyxl.worksheet.worksheet import Worksheet

from docgen.language.local import script_of
from docgen.language.texts import room
from docgen.model.catalogue import Catalogue, Entry

COLUMNS = (
    ("Key", 28), ("Where it stands", 44), ("Source", 52), ("State", 12), ("Source before", 40), ("Translation", 60),
    ("Still right (x)", 12), ("Comment", 36), ("Room", 8), ("Check", 10),
)  # fmt: skip
"""Heading and width of each column."""
KEY, PLACE, SOURCE, STATE, BEFORE, TRANSLATION, CONFIRMED, COMMENT, ROOM, CHECK = range(1, len(COLUMNS) + 1)
OPEN = (TRANSLATION, CONFIRMED, COMMENT)
"""Columns to type in."""
ABOUT = "about"
"""Name of the first worksheet."""
FIELDS = ("Language", "Translator", "Day (year-month-day)")
GUIDE = (
    "Fill in your name and the day above. On the other sheets, type under Translation, Still right and Comment.",
    "Keep {slots}, *emphasis* and numbers as they stand in the source.",
    "State `outdated`: the source has changed. Correct the translation, or put an x under Still right if it holds.",
    "Room: more characters than this are not likely to fit.",
    "Do not move, sort across columns or delete rows. Send the file back as .xlsx.",
)
_RTL = ("Arab", "Hebr", "Syrc", "Thaa", "Nkoo")
_MODIFIED = re.compile(rb"(<dcterms:(created|modified)[^>]*>)[^<]*")
_SOME_DAY = b"2000-01-01T00:00:00Z"


def sheet_bytes(catalogues: Sequence[Catalogue]) -> bytes:
    """The .xlsx of catalogues of one language: the same catalogues, the same bytes."""
    book = Workbook()
    about = book.active
    assert isinstance(about, Worksheet)
    _about(about, catalogues[0])
    for catalogue in catalogues:
        _catalogue(book.create_sheet(title_of(catalogue.name)), catalogue)
    out = io.BytesIO()
    book.save(out)
    return _timeless(out.getvalue())


def title_of(name: str) -> str:
    """A worksheet's title: at most 31 characters."""
    return name if len(name) <= 31 else f"{name[:24]}~{_digest(name)}"


def check_of(catalogue: str, key: str, source: str) -> str:
    """What shows that a row's key and source are as they were sent out."""
    return _digest(catalogue, key, source)


def sent(translation: str) -> str:
    """What remembers the translation that was sent out."""
    return _digest(translation)


def _digest(*parts: str) -> str:
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()[:6]


def _about(sheet: Worksheet, catalogue: Catalogue) -> None:
    sheet.title = ABOUT
    values = (catalogue.language, catalogue.translator.by, str(catalogue.translator.on or ""))
    for n, (name, value) in enumerate(zip(FIELDS, values, strict=True), 1):
        sheet.cell(n, 1, name).font = Font(bold=True)
        _text(sheet, n, 2, value, locked=n == 1)
    for n, line in enumerate(GUIDE, len(FIELDS) + 2):
        sheet.cell(n, 1, line)
    sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = 24, 40
    sheet.protection.enable()


def _catalogue(sheet: Worksheet, catalogue: Catalogue) -> None:
    for column, (heading, wide) in enumerate(COLUMNS, 1):
        cell = sheet.cell(1, column, heading)
        cell.font = Font(bold=True)
        sheet.column_dimensions[cell.column_letter].width = wide
    entries = [e for e in catalogue.entries if e.source == e.source.strip()]
    for row, entry in enumerate(entries, 2):
        _row(sheet, row, entry, catalogue)
    sheet.column_dimensions["J"].hidden = True
    sheet.freeze_panes = "D2"
    sheet.protection.enable()
    sheet.protection.formatColumns = sheet.protection.formatRows = sheet.protection.autoFilter = False
    sheet.auto_filter.ref = f"A1:J{len(entries) + 1}"


def _row(sheet: Worksheet, row: int, entry: Entry, catalogue: Catalogue) -> None:
    notes = [n for n in entry.notes if not n.startswith("Room:")]
    values = {
        KEY: entry.key,
        PLACE: "\n".join(notes),
        SOURCE: entry.source,
        STATE: "outdated" if entry.outdated else "translated" if entry.translation else "missing",
        BEFORE: entry.previous,
        TRANSLATION: entry.translation,
        CONFIRMED: "",
        COMMENT: "\n".join(entry.comments),
        ROOM: str(room(entry.source)),
        CHECK: f"{check_of(catalogue.name, entry.key, entry.source)}{sent(entry.translation)}",
    }
    for column, value in values.items():
        _text(sheet, row, column, value, locked=column not in OPEN)
    if script_of(catalogue.language) in _RTL:
        sheet.cell(row, TRANSLATION).alignment = Alignment(wrap_text=True, vertical="top", readingOrder=2)


def _text(sheet: Worksheet, row: int, column: int, value: str, locked: bool) -> None:
    """A cell of text: what begins with `=` is no formula."""
    cell = sheet.cell(row, column)
    cell.value = value or None
    if value:
        cell.data_type = "s"
    cell.number_format = "@"
    cell.alignment = Alignment(wrap_text=True, vertical="top")
    cell.protection = Protection(locked=locked)
    if not locked:
        cell.fill = PatternFill("solid", fgColor="FFF8E1")


def _timeless(data: bytes) -> bytes:
    """The same file without the time at which it was written."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for info in old.infolist():
            part = old.read(info)
            if info.filename == "docProps/core.xml":
                part = _MODIFIED.sub(rb"\g<1>" + _SOME_DAY, part)
            new.writestr(zipfile.ZipInfo(info.filename, (1980, 1, 1, 0, 0, 0)), part, zipfile.ZIP_DEFLATED)
    return out.getvalue()
