"""Turn the text of a PO file into a frozen `Catalogue`, with a place for every entry and a finding for every problem.

Babel's reader takes the lines apart. What it would pass over in silence is refused here: an entry that is there twice,
a string whose quotes do not close, plural forms nobody uses, a line it does not understand. The layout of PO files is
that of the GNU gettext manual, section "The Format of PO Files".
"""

from __future__ import annotations

import datetime
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass

from babel.messages.catalog import Catalog
from babel.messages.pofile import PoFileParser, denormalize

from docgen.findings import Finding, Where, error
from docgen.model.catalogue import STATES, TEMPLATE, Catalogue, Entry, Signed
from docgen.model.read import Read

_STRING = re.compile(r'"(?:[^"\\]|\\[\\tnr"])*"')
_CONTROL = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff\ud800-\udfff\ue000-\uf8ff]")
"""What no translation may hold: controls, separators that break lines, halves of characters, private use."""
_REORDERING = re.compile("[\u202a-\u202e\u2066-\u2069]")
"""Explicit bidirectional formatting (UAX #9, 2): text that shows in another order than it has. Marks (U+200E, U+200F,
U+061C) are allowed, since translators of right-to-left languages need them."""
MOST = 200
"""Findings for one file."""

LAST_TRANSLATOR, TRANSLATED = "Last-Translator", "PO-Revision-Date"
REVISER, REVISED, CONTENT, STATE = "X-Reviser", "X-Revised-On", "X-Revised-Content", "X-State"
FIXED = {
    "Project-Id-Version", "Language", "MIME-Version", "Content-Type", "Content-Transfer-Encoding", LAST_TRANSLATOR,
    TRANSLATED, REVISER, REVISED, CONTENT, STATE, "POT-Creation-Date", "Generated-By", "Report-Msgid-Bugs-To",
    "Language-Team",
}  # fmt: skip
"""Header fields that are written anew from what the catalogue knows."""


def read_catalogue(text: str, file: str, language: str, name: str) -> Read[Catalogue]:
    """Read a PO file. `file` is only named in findings. Never raises; `value` is None after an error."""
    reader = _Reader(text, file)
    reader.parse(text.split("\n"))
    header = next((e for e in reader.found if not e.source and not e.context), None)
    fields = _fields(header, reader) if header else {}
    if header is None and not reader.findings:
        hint = "write it anew with `docgen words update`; translations in it are kept"
        reader.say("catalogue-header", "the file has no header entry", 0, hint)
    said = fields.get("Language", "")
    if said and said.replace("_", "-").lower() != language.lower():
        message = f"the header says `Language: {said}`, and the file lies under `{language}`"
        hint = "put the file where it belongs, or correct the header"
        reader.say("catalogue-header", message, header.line if header else 0, hint)
    translator = Signed(fields.get(LAST_TRANSLATOR, ""), _day(fields, TRANSLATED, header, reader))
    reviser = Signed(fields.get(REVISER, ""), _day(fields, REVISED, header, reader))
    state = fields.get(STATE, "draft").strip().lower()
    if state not in STATES:
        hint = "write " + ", ".join(f"`{s}`" for s in STATES[:-1]) + f" or `{STATES[-1]}`"
        reader.say("catalogue-header", f"`{state}` is no state of a catalogue", header.line if header else 0, hint)
    entries = tuple(_entries(reader))
    value = Catalogue(
        language, name, tuple(e for e, gone in entries if not gone), tuple(e for e, gone in entries if gone), state,
        translator, reviser, fields.get(CONTENT, ""), file, tuple(header.comments) if header else (),
        tuple((k, v) for k, v in fields.items() if k not in FIXED),
    )  # fmt: skip
    findings = tuple(sorted(dict.fromkeys(reader.findings), key=lambda f: (f.where.line, f.where.column)))[:MOST]
    return Read(None if findings else value, findings, {}, text, file)


def _entries(reader: _Reader) -> Iterator[tuple[Entry, bool]]:
    """Entries and whether they are obsolete; a context may stand only once among the living ones."""
    seen: dict[str, int] = {}
    for raw in reader.found:
        if not raw.source and not raw.context:
            continue
        if not raw.context:
            hint = "write it anew with `docgen words update`"
            reader.say("catalogue-entry", f"`{raw.source[:60]}` has no msgctxt", raw.line, hint)
            continue
        key = f"{TEMPLATE}.{raw.source}" if raw.context == TEMPLATE else raw.context
        if not raw.obsolete:
            if key in seen:
                message = f"`{key[:80]}` is there twice; the first is on line {seen[key]}"
                reader.say("catalogue-twice", message, raw.line, "keep one of the two")
                continue
            seen[key] = raw.line + 1
        for words in (raw.source, raw.translation):
            for bad in dict.fromkeys(_CONTROL.findall(words.replace("\n", "")) + _REORDERING.findall(words)):
                name = unicodedata.name(bad, "control character").lower()
                message = f"the character `U+{ord(bad):04X}` ({name}) is invisible or changes how text shows"
                reader.say("unsafe-character", message, raw.at, "delete it, or type the word again")
        translation = unicodedata.normalize("NFC", raw.translation)
        yield Entry(
            key, raw.source, translation, "fuzzy" in raw.flags, raw.previous, tuple(raw.comments), tuple(raw.notes),
            tuple(raw.files), reader.where(raw.at),
        ), raw.obsolete  # fmt: skip


def _fields(header: _Raw, reader: _Reader) -> dict[str, str]:
    out: dict[str, str] = {}
    for line in header.translation.split("\n"):
        key, colon, value = line.partition(":")
        if line.strip() and not colon:
            reader.say("catalogue-header", f"`{line[:60]}` is no header field", header.at, "write `Name: value`")
        elif line.strip():
            out[key.strip()] = value.strip()
    charset = re.search(r"charset=([\w-]+)", out.get("Content-Type", "charset=UTF-8"))
    if charset and charset[1].lower() not in ("utf-8", "utf8", "charset"):
        reader.say("catalogue-header", f"the header says `{charset[0]}`", header.at, "save the file as UTF-8")
    return out


def _day(fields: dict[str, str], name: str, header: _Raw | None, reader: _Reader) -> datetime.date | None:
    given = fields.get(name, "")
    if not given or given.startswith("YEAR"):
        return None
    try:
        return datetime.date.fromisoformat(given[:10])
    except ValueError:
        line = header.at if header else 0
        reader.say("catalogue-header", f"`{name}: {given}` does not begin with a day", line, "write year-month-day")
        return None


@dataclass(slots=True)
class _Raw:
    """One entry as it stands in the file."""

    source: str
    translation: str
    context: str
    flags: list[str]
    comments: list[str]
    notes: list[str]
    files: list[str]
    previous: str
    obsolete: bool
    line: int
    """Of its msgid, from 0."""
    at: int
    """Of its msgstr, from 0."""


class _Reader(PoFileParser):
    """Babel's parser, but nothing is printed, merged or dropped: entries and problems are collected."""

    def __init__(self, text: str, file: str) -> None:
        self.file = file
        self.lines = text.split("\n")
        self.findings: list[Finding] = []
        self.found: list[_Raw] = []
        self.msgstr = 0
        """Line of the last msgstr."""
        self.previous: list[str] = []
        """What `#|` says of the entry to come."""
        super().__init__(Catalog(), abort_invalid=True)

    def where(self, line: int) -> Where:
        """A line counted from 0."""
        return Where(self.file, line + 1, 1, self.lines[line].rstrip("\r") if 0 <= line < len(self.lines) else "")

    def say(self, rule: str, message: str, line: int, hint: str) -> None:
        if len(self.findings) < MOST:
            self.findings.append(error(f"source/{rule}", message, self.where(line), hint=hint))

    def _invalid_pofile(self, line: str, lineno: int, msg: str) -> None:
        at = lineno if line else self.offset
        self.say("catalogue-syntax", f"the line is not PO: {msg[:1].lower()}{msg[1:]}".split(" for msgid")[0], at,
                 "correct it with a PO editor; `msgfmt --check` shows the same place")  # fmt: skip

    def _process_message_line(self, lineno: int, line: str, obsolete: bool = False) -> None:
        if obsolete and line.startswith("|"):
            self._previous(line[1:].strip())
            return
        quote = line.find('"')
        if line and (quote < 0 or not _STRING.fullmatch(line[quote:].rstrip())):
            message = 'a string must stand in one pair of quotes, with `\\"` for a quote inside'
            self.say("catalogue-syntax", message, lineno, 'write `msgstr "…"`')
            if line.partition(" ")[0] != "msgstr" or not self.messages or self.translations:
                return
            line = 'msgstr ""'  # so that no second finding follows from the first
        keyword = line.partition(" ")[0]
        if keyword == "msgid_plural" or keyword.startswith("msgstr["):
            self.say("catalogue-plural", "plural forms are not used here", lineno, "write one `msgid` and one `msgstr`")
            return
        if keyword == "msgstr":
            self.msgstr = lineno
        super()._process_message_line(lineno, line, obsolete)

    def _process_comment(self, line: str) -> None:
        if line.startswith("#|"):
            self._previous(line[2:].strip())
        else:
            super()._process_comment(line)

    def _previous(self, line: str) -> None:
        self._finish_current_message()
        keyword, _, rest = line.partition(" ")
        if keyword == "msgid":
            self.previous = [rest]
        elif line.startswith('"') and self.previous:
            self.previous.append(line)

    def _add_message(self) -> None:
        previous = self.previous if all(map(_STRING.fullmatch, self.previous)) else []
        self.found.append(
            _Raw(
                self.messages[0].denormalize(),
                self.translations[0][1].denormalize(),
                self.context.denormalize() if self.context else "",
                list(self.flags),
                [c for c in self.user_comments if c],
                list(self.auto_comments),
                [name for name, _ in self.locations],
                denormalize('""\n' + "\n".join(previous)) if previous else "",
                self.obsolete,
                self.offset,
                self.msgstr or self.offset,
            )
        )
        self.msgstr, self.previous = 0, []
        self._reset_message_state()
