"""A translator's spreadsheet comes back with nothing lost, and with a word about everything that was not taken."""

from __future__ import annotations

import io
import zipfile
from dataclasses import replace

import pytest
from catalogues import catalogue, spanish, templates
from openpyxl import Workbook, load_workbook

from docgen.findings import Severity
from docgen.language import merge
from docgen.language.sheet import COMMENT, CONFIRMED, KEY, SOURCE, TRANSLATION, sheet_bytes
from docgen.language.sheet_back import language_of, read_back
from docgen.model.catalogue import Entry, Message, Signed
from docgen.source import inline

HALF = catalogue(
    "airing",
    {
        "step.a.headline": ("Open it", ""),
        "step.a.say": ("Use {gel} now.", "Use {gel} ahora."),
        "step.a.do.1": ("Wait 20 seconds.", ""),
        "step.a.hold": ("it is open", "está abierta"),
    },
)


def typed(data: bytes, cells: dict, about: dict | None = None) -> bytes:
    """The sheet after somebody has typed: (row, column) → value, in the first catalogue's worksheet."""
    book = load_workbook(io.BytesIO(data))
    for sheet, values in ((book["airing"], cells), (book["about"], about or {})):
        for (row, column), value in values.items():
            sheet.cell(row, column).value = value
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def back(data: bytes, *now):
    """Read a sheet into the catalogues as they are now."""
    return read_back(data, "es.xlsx", {c.name: c for c in now or (HALF,)}, inline)


def by_key(result):
    """Entries of the catalogue that changed."""
    return {e.key: e for c in result.catalogues for e in c.entries}


def test_an_untouched_sheet_changes_nothing():
    """Out and back: no row is taken, nothing is said."""
    for one in (HALF, spanish(), templates(), catalogue("airing", {"a": ("=1+1", "=2")})):
        result = back(sheet_bytes([one]), one)
        assert (result.catalogues, result.taken, result.findings) == ((), 0, ())


def test_the_same_catalogues_give_the_same_bytes():
    """No clock in the file."""
    assert sheet_bytes([HALF]) == sheet_bytes([HALF])


def test_what_was_typed_is_taken():
    """Translations, comments, and who translated when."""
    cells = {(2, TRANSLATION): " Ábrala ", (4, TRANSLATION): "Espere 20 segundos."}
    cells[4, COMMENT] = "sure\n accepted: number, x "
    result = back(typed(sheet_bytes([HALF]), cells, {(2, 2): "Ana Pérez", (3, 2): "2030-01-02"}))
    assert (result.language, result.taken, result.findings) == ("es", 2, ())
    found = by_key(result)
    assert found["step.a.headline"].translation == "Ábrala"
    assert found["step.a.do.1"].comments == ("sure", "accepted: number, x")
    assert found["step.a.say"] == HALF.entries[1]
    assert result.catalogues[0].translator.by == "Ana Pérez"
    assert str(result.catalogues[0].translator.on) == "2030-01-02"


def test_a_source_that_changed_in_between_marks_what_comes_back():
    """Nothing is lost and everything changed is marked: the sheet was made from older words."""
    sheet = sheet_bytes([HALF])
    now = merge(
        HALF,
        [
            Message("step.a.headline", "Open it now"),
            Message("step.a.say", "Use {gel} now."),
            Message("step.a.do.1", "Wait 20 seconds."),
            Message("step.a.hold", "the window is open"),
        ],
    ).catalogue
    cells = {(2, TRANSLATION): "Ábrala", (4, TRANSLATION): "Espere 20 segundos.", (5, TRANSLATION): "abierta del todo"}
    result = back(typed(sheet, cells), now)
    found = by_key(result)
    assert [f.rule for f in result.findings] == ["language/sheet-outdated"] * 2
    headline = found["step.a.headline"]
    assert (headline.translation, headline.outdated, headline.previous) == ("Ábrala", True, "Open it")
    hold = found["step.a.hold"]
    assert (hold.translation, hold.outdated, hold.previous) == ("abierta del todo", True, "it is open")
    assert found["step.a.do.1"].valid
    assert found["step.a.say"].valid


def test_an_outdated_translation_is_corrected_or_confirmed():
    """New words, or an x under Still right, take the mark away."""
    entries = (replace(e, outdated=bool(e.translation), previous="Older.") for e in HALF.entries)
    old = replace(HALF, entries=tuple(entries))
    cells = {(3, TRANSLATION): "Use {gel} ya.", (5, CONFIRMED): "x"}
    found = by_key(back(typed(sheet_bytes([old]), cells), old))
    assert (found["step.a.say"].translation, found["step.a.say"].valid) == ("Use {gel} ya.", True)
    assert found["step.a.hold"].valid and not found["step.a.hold"].previous


@pytest.mark.parametrize(
    ("cells", "says"),
    [
        ({(3, TRANSLATION): "Use gel ahora."}, "other slots"),
        ({(3, TRANSLATION): "Use {gel ahora."}, "not closed"),
        ({(2, TRANSLATION): "Abra\nesto"}, "a line end"),
        ({(2, TRANSLATION): "=A1"}, "a formula"),
        ({(2, TRANSLATION): True}, "a formula or a date"),
        ({(3, TRANSLATION): None}, "was emptied"),
        ({(2, SOURCE): "Open that", (2, TRANSLATION): "Abra eso"}, "its key or its source was changed"),
        ({(2, KEY): "step.a.hold", (2, TRANSLATION): "Abra eso"}, "its key or its source was changed"),
    ],
)
def test_what_is_not_taken_is_said_with_its_row(cells, says):
    """Each refused row has its finding; the others are taken all the same, and the catalogue keeps what it had."""
    result = back(typed(sheet_bytes([HALF]), {**cells, (4, TRANSLATION): "Espere 20 segundos."}))
    row = next(iter(cells))[0]
    assert [(f.severity, f"row {row} of `airing`" in f.message, says in f.message) for f in result.findings] == [
        (Severity.ERROR, True, True)
    ]
    assert result.taken == 1
    kept = by_key(result)
    assert all(kept[e.key] == e for e in HALF.entries if e.key != "step.a.do.1")


def test_two_people_at_once_are_told():
    """A text that somebody else has changed meanwhile is not overwritten; both are shown."""
    now = replace(HALF, entries=(replace(HALF.entries[0], translation="Abrir"), *HALF.entries[1:]))
    result = back(typed(sheet_bytes([HALF]), {(2, TRANSLATION): "Ábrala"}), now)
    assert result.catalogues == ()
    assert "somebody else" in result.findings[0].message
    assert [n.text for n in result.findings[0].notes] == ["in the sheet: `Ábrala`", "in the catalogue: `Abrir`"]


def test_a_text_that_is_gone_is_said():
    """A step was taken out while the sheet was away."""
    now = replace(HALF, entries=HALF.entries[1:])
    result = back(typed(sheet_bytes([HALF]), {(2, TRANSLATION): "Ábrala"}), now)
    assert ["nothing has this key" in f.message for f in result.findings] == [True]


def test_key_cells_are_protected_and_the_translators_are_not():
    """What identifies a row can't be typed over; translation, mark and comment can."""
    sheet = load_workbook(io.BytesIO(sheet_bytes([HALF])))["airing"]
    assert sheet.protection.sheet
    free = {c for c in range(1, 11) if not sheet.cell(2, c).protection.locked}
    assert free == {TRANSLATION, CONFIRMED, COMMENT}


def test_right_to_left_cells_read_from_the_right():
    """The translation's cell has the direction of its language."""
    arabic = replace(HALF, language="ar")
    sheet = load_workbook(io.BytesIO(sheet_bytes([arabic])))["airing"]
    assert sheet.cell(2, TRANSLATION).alignment.readingOrder == 2


def test_a_source_is_never_a_formula():
    """A text that begins with `=` stays a text in the spreadsheet program."""
    one = catalogue("airing", {"a": ("=HYPERLINK(1)", "")})
    assert load_workbook(io.BytesIO(sheet_bytes([one])))["airing"].cell(2, SOURCE).data_type == "s"


def bomb() -> bytes:
    """A small file that unpacks to 100 MiB."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/workbook.xml", b"0" * (100 * 1024 * 1024))
    return out.getvalue()


def foreign() -> bytes:
    """A spreadsheet of somebody else's."""
    out = io.BytesIO()
    Workbook().save(out)
    return out.getvalue()


@pytest.mark.parametrize("data", [b"", b"not a zip", b"PK\x03\x04broken", bomb(), foreign()])
def test_a_file_that_is_none_of_ours_is_refused(data):
    """Nothing is unpacked without looking, and nothing raises."""
    language, findings = language_of(data, "x.xlsx")
    assert language == ""
    assert [f.rule for f in findings] == ["language/no-sheet"]


def test_a_wrong_day_is_said():
    """The translator's day must be one."""
    result = back(typed(sheet_bytes([HALF]), {(2, TRANSLATION): "Ábrala"}, {(2, 2): "Ana", (3, 2): "soon"}))
    assert "`soon`" in result.findings[0].message
    assert result.catalogues[0].translator == Signed("Ana")


def test_blanks_that_count_are_left_to_po_editors():
    """A separator of names has blanks that a cell would lose."""
    one = replace(HALF, entries=(Entry("figure.separator", ", ", ", "), *HALF.entries))
    sheet = load_workbook(io.BytesIO(sheet_bytes([one])))["airing"]
    assert sheet.cell(2, KEY).value == "step.a.headline"
    assert back(sheet_bytes([one]), one).catalogues == ()
