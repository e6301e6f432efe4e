"""Turn the fields of a filled checklist PDF into a session. The file may be hostile.

What is read is bounded: bytes, pages, fields, characters of a field. Parsing is pdfium's and can't be interrupted, so
whoever calls this with a stranger's file does it in a process with a limit of time and memory.
"""

from __future__ import annotations

import ctypes
import re
from collections.abc import Iterator
from dataclasses import dataclass

import pypdfium2 as pdfium
import pypdfium2.raw as raw

from docgen.findings import Finding, Where, error, warning
from docgen.tally.hand import day_of, seconds_between
from docgen.tally.session import DONE, MISSED, OPEN, PROMPTED, SHAPES, Mark, Session, Told, clean, is_name, is_stamp

LARGEST = 32 * 2**20
"""Bytes; a filled checklist has about 0.2 MiB."""
MOST_PAGES = 100
MOST_FIELDS = 5000
"""On one page."""
MOST_BYTES = 2**20
"""Of one field: more is taken for empty."""
LONGEST = 2000
"""Characters of one field."""
_PEOPLE = ("wearer", "wearer-role", "assessor", "assistant", "sizes", "fit-test", "breach-action", "next-due",
           "signature-wearer", "signature-assessor", "remarks")  # fmt: skip
_STAMP = re.compile(
    r"(?P<code>\S+) v(?P<version>\S+) (?P<fingerprint>\S+) (?P<language>\S+) (?P<site>\S+)"
)  # as docgen writes it into the keywords of a file
_LABEL = re.compile(r"(?<![0-9A-Za-z])([A-Z]?[0-9]{1,3})(?![0-9A-Za-z])")


@dataclass(frozen=True, slots=True)
class Widget:
    """One box of a form: the field it belongs to, and what it says."""

    name: str
    label: str
    kind: int
    """`FPDF_FORMFIELD_…`."""
    value: str
    """The words in it."""
    stands_for: str
    """The choice that this button is."""
    pressed: bool


def read_checklist(data: bytes, file: str) -> Told:
    """The session of a filled checklist; None with findings if it is none, is damaged, empty or contradicts itself."""
    if len(data) > LARGEST:
        return _refused("foreign", file, f"the file has {len(data) >> 20} MiB; checklists of up to "
                                         f"{LARGEST >> 20} MiB are read")  # fmt: skip
    try:
        document = pdfium.PdfDocument(data)
    except pdfium.PdfiumError:
        locked = raw.FPDF_GetLastError() == raw.FPDF_ERR_PASSWORD
        return _refused("damaged", file, "it is locked with a password" if locked else "it can't be read as a PDF")
    try:
        return _read(document, file)
    except pdfium.PdfiumError as problem:
        return _refused("damaged", file, f"it can't be read to its end ({problem})")
    finally:
        document.close()


def _read(document: pdfium.PdfDocument, file: str) -> Told:
    if not 0 < len(document) <= MOST_PAGES:
        return _refused("foreign", file, f"it has {len(document)} pages; checklists have 1 to {MOST_PAGES}")
    stamp = _STAMP.fullmatch(_meta(document, "Keywords"))
    if stamp is None or not all(is_stamp(part, stamp[part]) for part in SHAPES):
        return _refused("foreign", file, "it does not say of which protocol it is a checklist")
    document.init_forms()
    fields: dict[str, list[Widget]] = {}
    for index in range(len(document)):
        for widget in _widgets(document, index):
            fields.setdefault(widget.name, []).append(widget)
    results = {n.removesuffix(".result"): w for n, w in fields.items() if n.endswith(".result")}
    if not results or not all(map(is_name, results)):
        return _refused("foreign", file, "it has no fields of a checklist")
    choices = {name: _chosen(buttons) for name, buttons in fields.items() if _is_choice(buttons)}
    if torn := [name for name, choice in choices.items() if choice is None]:
        named = ", ".join(f"`{clean(name, 60)}`" for name in torn[:5])
        return _refused("damaged", file, f"two answers are marked for {named}", "mark one, and save it again")
    strange = {c for n, c in choices.items() if n.endswith(".result")} - {DONE, PROMPTED, MISSED, ""}
    if strange:
        return _refused("damaged", file, f"a step has the result `{clean(str(min(strange, key=str)), 40)}`")
    marks = tuple(_marks(results, choices))
    if not any(m.result != OPEN for m in marks):
        return _refused("empty", file, "no step of this checklist is marked", "fill it in, or leave it out")
    words = {name: clean(w[0].value, LONGEST) for name, w in fields.items() if not _is_choice(w)}
    outcome = choices.get("outcome") or ""
    session = Session(
        "checklist",
        code=stamp["code"],
        version=stamp["version"],
        fingerprint=stamp["fingerprint"],
        site=stamp["site"],
        language=stamp["language"],
        marks=marks,
        title=clean(_meta(document, "Title")),
        day=day_of(words.get("date", "")),
        seconds=seconds_between(words.get("times", "")),
        breaches=int(choices.get("breach") == "yes"),
        outcome=outcome if outcome in ("competent", "repeat") else "",
        people=tuple((key, words[key]) for key in _PEOPLE if words.get(key)),
    )
    return Told(session, tuple(_doubts(session, words, file)))


def _marks(results: dict[str, list[Widget]], choices: dict[str, str | None]) -> Iterator[Mark]:
    """A mark for each step of the main path, and for those of branches that somebody marked."""
    for step, buttons in results.items():
        found = _LABEL.search(buttons[0].label)
        mark = Mark(step, choices.get(f"{step}.result") or OPEN, found[1] if found else "")
        if mark.result != OPEN or not mark.aside:
            yield mark


def _doubts(session: Session, words: dict[str, str], file: str) -> Iterator[Finding]:
    if session.day is None:
        said = clean(words.get("date", ""), 40)
        message = f"the date `{said}` names no day, or could name two" if said else "the checklist has no date"
        yield warning("tally/no-date", f"{message}; it is counted without a month", Where(file),
                      hint="write days as 2026-03-31")  # fmt: skip


def _is_choice(buttons: list[Widget]) -> bool:
    return buttons[0].kind in (raw.FPDF_FORMFIELD_RADIOBUTTON, raw.FPDF_FORMFIELD_CHECKBOX)


def _chosen(buttons: list[Widget]) -> str | None:
    """What is chosen among the buttons of a field, empty if nothing; None if it is more than one thing.

    A button counts that looks pressed, which is what whoever filled it in has seen and signed.
    """
    pressed = {b.stands_for for b in buttons if b.pressed}
    return None if len(pressed) > 1 else next(iter(pressed), "")


def _widgets(document: pdfium.PdfDocument, index: int) -> Iterator[Widget]:
    forms = document.formenv.raw if document.formenv else None
    if forms is None:
        return
    page = document[index]
    try:
        for n in range(min(raw.FPDFPage_GetAnnotCount(page.raw), MOST_FIELDS)):
            note = raw.FPDFPage_GetAnnot(page.raw, n)
            if not note:
                continue
            try:
                kind = raw.FPDFAnnot_GetFormFieldType(forms, note)
                if raw.FPDFAnnot_GetSubtype(note) == raw.FPDF_ANNOT_WIDGET and kind > 0:
                    yield Widget(
                        _text(raw.FPDFAnnot_GetFormFieldName, forms, note),
                        _text(raw.FPDFAnnot_GetFormFieldAlternateName, forms, note),
                        kind,
                        _text(raw.FPDFAnnot_GetFormFieldValue, forms, note),
                        _text(raw.FPDFAnnot_GetFormFieldExportValue, forms, note),
                        bool(raw.FPDFAnnot_IsChecked(forms, note)),
                    )
            finally:
                raw.FPDFPage_CloseAnnot(note)
    finally:
        page.close()


def _text(get, *about) -> str:
    size = min(get(*about, None, 0), MOST_BYTES)
    buffer = (ctypes.c_ushort * (size // 2 + 1))()
    length = get(*about, buffer, size)
    return ctypes.string_at(buffer, max(0, min(length, size) - 2)).decode("utf-16-le", "replace")


def _meta(document: pdfium.PdfDocument, key: str) -> str:
    return document.get_metadata_value(key)[:LONGEST]


def _refused(rule: str, file: str, message: str, hint: str = "") -> Told:
    hint = hint or "give filled checklists, as they were made and saved"
    return Told(None, (error(f"tally/{rule}", f"this is not counted: {message}", Where(file), hint=hint),))
