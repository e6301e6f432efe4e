"""Turn a translator's spreadsheet back into catalogues, with a word about every row that was not taken.

The file may come from anywhere: its size unpacked is looked at before it is opened, formulas are not read, and a row
whose locked cells were changed is refused.
"""

from __future__ import annotations

import datetime
import io
import unicodedata
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from docgen.findings import Finding, Note, Where, error, warning
from docgen.language.sheet import (  # fmt: skip
    ABOUT,
    CHECK,
    COMMENT,
    CONFIRMED,
    FIELDS,
    KEY,
    SOURCE,
    TRANSLATION,
    check_of,
    sent,
    title_of,
)
from docgen.language.translate import Inline
from docgen.model.catalogue import Catalogue, Entry, Signed
from docgen.model.text import WordsError

LIMIT = 64 * 1024 * 1024
"""Bytes of a spreadsheet, unpacked."""
MOST_ROWS = 20_000
_CONTROL = ("Cc", "Co", "Cs")


@dataclass(frozen=True, slots=True)
class Back:
    """What came back: the catalogues that changed, and what there is to say."""

    language: str
    catalogues: tuple[Catalogue, ...] = ()
    taken: int = 0
    """Rows whose translation, mark or comment changed something."""
    findings: tuple[Finding, ...] = ()


def language_of(data: bytes, file: str) -> tuple[str, tuple[Finding, ...]]:
    """The language a spreadsheet is in; empty with a finding if it is none of ours."""
    book, findings = _open(data, file)
    if book is None:
        return "", findings
    language = _typed(book[ABOUT].cell(1, 2).value) if ABOUT in book.sheetnames else ""
    if not language:
        return "", (_stranger(file, "it does not say its language"),)
    return language, ()


def read_back(data: bytes, file: str, catalogues: Mapping[str, Catalogue], inline: Inline) -> Back:
    """Take what a translator typed into the catalogues of the sheet's language.

    Not taken, each with a finding: rows whose key or source was changed or is unknown, texts that can't be read or have
    other slots, texts that somebody else has changed in the meantime, and emptied cells. What was translated from an
    older source is taken and marked `fuzzy` with the source it was made from.
    """
    language, findings = language_of(data, file)
    book, _ = _open(data, file)
    if book is None or not language:
        return Back(language, findings=findings)
    signed, said = _signed(book[ABOUT], file)
    work = _Taking(file, inline, list(said))
    changed: list[Catalogue] = []
    titles = {title_of(name): c for name, c in catalogues.items()}
    for sheet in book.worksheets:
        if sheet.title == ABOUT:
            continue
        catalogue = titles.get(sheet.title)
        if catalogue is None:
            hint = "begin it with `docgen words update`"
            work.findings.append(
                error(
                    "language/sheet", f"there is no catalogue for the worksheet `{sheet.title}`", Where(file), hint=hint
                )
            )
            continue
        entries = work.entries(sheet, catalogue)
        if entries != catalogue.entries:
            translator = signed if signed.by else catalogue.translator
            changed.append(replace(catalogue, entries=entries, translator=translator))
    return Back(language, tuple(changed), work.taken, tuple(work.findings))


@dataclass(slots=True)
class _Taking:
    """Goes through rows, taking what can be taken."""

    file: str
    inline: Inline
    findings: list[Finding] = field(default_factory=list)
    taken: int = 0

    def entries(self, sheet: Any, catalogue: Catalogue) -> tuple[Entry, ...]:
        """The entries of a catalogue with what the worksheet says."""
        now = {e.key: e for e in catalogue.entries}
        if sheet.max_row > MOST_ROWS:
            message, hint = f"rows of `{catalogue.name}` after {MOST_ROWS} are not taken", "delete what stands below"
            self.findings.append(error("language/sheet", message, Where(self.file), hint=hint))
        last = min(sheet.max_row, MOST_ROWS)
        for number, row in enumerate(sheet.iter_rows(min_row=2, max_row=last, max_col=CHECK), 2):
            if any(cell.value is not None for cell in row):
                self._row(row, f"row {number} of `{catalogue.name}`", now, catalogue.name)
        return tuple(now[e.key] for e in catalogue.entries)

    def _row(self, row: Any, place: str, now: dict[str, Entry], name: str) -> None:
        key, source = _typed(row[KEY - 1].value), _typed(row[SOURCE - 1].value)
        code = _typed(row[CHECK - 1].value)
        entry = now.get(key)
        if code[:6] != check_of(name, key, source):
            hint = "copy the translation to a fresh sheet: `docgen words sheet`"
            self._refuse(place, "its key or its source was changed in the sheet", hint, key)
            return
        if entry is None:
            self._refuse(place, "nothing has this key any more", "nothing needs to be done", key)
            return
        cell = row[TRANSLATION - 1]
        if cell.data_type == "f" or isinstance(cell.value, datetime.date | bool):
            self._refuse(
                place, "it is a formula or a date and not a text", "type a `'` before it, or format it as text", key
            )
            return
        typed, confirmed = _typed(cell.value), _typed(row[CONFIRMED - 1].value).lower()
        comments = tuple(filter(None, (line.strip() for line in _typed(row[COMMENT - 1].value).split("\n"))))
        new = self._translated(entry, source, typed, confirmed in ("x", "✓", "yes"), code[6:], place)
        if new is None:
            return
        if comments and comments != new.comments:
            new = replace(new, comments=comments)
        if new != entry:
            now[key] = new
            self.taken += 1

    def _translated(self, entry: Entry, source: str, typed: str, confirmed: bool, was: str, place: str) -> Entry | None:
        """The entry with what was typed; the entry itself when nothing new was; None when it is refused."""
        if not typed:
            if entry.translation and was != sent(""):
                self._refuse(place, "its translation was emptied; the old one is kept", "type the new one", entry.key)
                return None
            return entry
        if sent(typed) == was:  # as it was sent out
            fresh = confirmed and entry.outdated and source == entry.source and typed == entry.translation
            return replace(entry, outdated=False, previous="") if fresh else entry
        if typed == entry.translation and not entry.outdated:
            return entry
        if sent(entry.translation) != was and entry.translation != typed:
            notes = (Note(f"in the sheet: `{typed}`"), Note(f"in the catalogue: `{entry.translation}`", entry.where))
            hint = "choose one of the two in the catalogue"
            self._refuse(place, "somebody else has changed it in the catalogue meanwhile", hint, entry.key, notes)
            return None
        if reason := self._unusable(typed, source):
            self._refuse(place, *reason, entry.key, (Note(f"in the sheet: `{typed}`"),))
            return None
        if source != entry.source:
            message = f"{place} is taken and marked outdated: its source has changed since the sheet was made"
            notes = (Note(f"translated from: `{source}`"), Note(f"source now: `{entry.source}`"))
            hint, data = "correct it, then take `fuzzy` away", (("key", entry.key),)
            where = Where(self.file)
            self.findings.append(warning("language/sheet-outdated", message, where, notes=notes, hint=hint, data=data))
            return replace(entry, translation=typed, outdated=True, previous=source)
        return replace(entry, translation=typed, outdated=False, previous="")

    def _unusable(self, typed: str, source: str) -> tuple[str, str] | None:
        if any(unicodedata.category(c) in _CONTROL for c in typed):
            return "it has a line end or a character that can't be seen", "write it as one line"
        try:
            slots, wanted = sorted(self.inline(typed).slots), sorted(self.inline(source).slots)
        except WordsError as problem:
            return problem.flaws[0].message, problem.flaws[0].hint
        if slots != wanted:
            shown = ", ".join(f"`{{{s}}}`" for s in wanted) or "none"
            return f"it has other slots than its source, which has {shown}", "put the slots back"
        return None

    def _refuse(self, place: str, why: str, hint: str, key: str, notes: tuple[Note, ...] = ()) -> None:
        self.findings.append(
            error("language/sheet", f"{place} is not taken: {why}", Where(self.file), hint=hint, notes=notes,
                  data=(("key", key),))
        )  # fmt: skip


def _open(data: bytes, file: str) -> tuple[Any, tuple[Finding, ...]]:
    from openpyxl import load_workbook

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as parts:
            if sum(info.file_size for info in parts.infolist()) > LIMIT or len(parts.infolist()) > 1000:
                return None, (_stranger(file, "it is too large"),)
        return load_workbook(io.BytesIO(data), read_only=False, data_only=False, keep_links=False), ()
    except Exception as problem:  # openpyxl raises nearly anything for a file that is not what it seems
        return None, (_stranger(file, f"it can't be opened ({type(problem).__name__})"),)


def _stranger(file: str, why: str) -> Finding:
    hint = "give an .xlsx that `docgen words sheet` has written"
    return error("language/no-sheet", f"this is no translator's sheet: {why}", Where(file), hint=hint)


def _typed(value: Any) -> str:
    """What stands in a cell, as text: NFC, without blanks around it."""
    return "" if value is None else unicodedata.normalize("NFC", str(value)).replace("_x000D_", "").strip()


def _signed(about: Any, file: str) -> tuple[Signed, Iterator[Finding] | tuple[Finding, ...]]:
    name, day = _typed(about.cell(2, 2).value), about.cell(3, 2).value
    if isinstance(day, datetime.datetime):
        return Signed(name, day.date()), ()
    text = _typed(day)
    if not text:
        return Signed(name), ()
    try:
        return Signed(name, datetime.date.fromisoformat(text)), ()
    except ValueError:
        message = f"`{text}` under `{FIELDS[2]}` is not a day of the calendar"
        return Signed(name), (warning("language/sheet", message, Where(file), hint="write `2026-03-31`"),)
