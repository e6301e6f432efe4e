"""Turn a catalogue into the text of its PO file: the same catalogue, the same bytes.

Babel wraps and quotes the strings. No date, line number or program version is written, so that a file differs only
where its words do.
"""

from __future__ import annotations

from collections.abc import Iterator

from babel.messages.pofile import normalize

from docgen.model.catalogue import TEMPLATE, Catalogue, Entry, Signed

WIDTH = 100
NO_DAY = "YEAR-MO-DA HO:MI+ZONE"
"""What gettext writes while nobody has translated anything."""
_ABOUT = (
    "Translate each msgid into its msgstr. Keep {slots}, *emphasis* and numbers as they are.",
    "An entry marked fuzzy was made from other words (see #|): correct it, then take `fuzzy` away.",
    "A decision a check should accept is recorded as a comment: # accepted: negation, and why",
)


def po_text(catalogue: Catalogue) -> str:
    """The file, ending in a newline."""
    lines = [*_header(catalogue)]
    for entry in catalogue.entries:
        lines += ["", *_entry(entry)]
    for entry in catalogue.obsolete:
        lines += ["", *_entry(entry, "#~ ")]
    return "\n".join(lines) + "\n"


def _header(c: Catalogue) -> Iterator[str]:
    yield from (f"# {line}".rstrip() for line in c.comments or _ABOUT)
    fields = {
        "Project-Id-Version": c.name,
        "Language": c.language.replace("-", "_"),
        "Language-Team": "",
        "Last-Translator": c.translator.by,
        "PO-Revision-Date": f"{_day(c.translator)} 00:00+0000" if c.translator.on else NO_DAY,
        "MIME-Version": "1.0",
        "Content-Type": "text/plain; charset=UTF-8",
        "Content-Transfer-Encoding": "8bit",
        "X-State": c.state,
        "X-Reviser": c.reviser.by,
        "X-Revised-On": _day(c.reviser),
        "X-Revised-Content": c.revised,
        **dict(c.headers),
    }
    yield 'msgid ""'
    yield 'msgstr ""'
    yield from (normalize(f"{name}: {value}\n", width=0) for name, value in fields.items())


def _day(signed: Signed) -> str:
    return signed.on.isoformat() if signed.on else ""


def _entry(e: Entry, gone: str = "") -> Iterator[str]:
    yield from (f"# {c}" for c in e.comments)
    yield from (f"#. {n}" for n in e.notes)
    if e.files:
        yield f"#: {' '.join(e.files)}"
    if e.outdated:
        yield "#, fuzzy"
    if e.previous:
        yield from _string("msgid", e.previous, "#~| " if gone else "#| ")
    yield from _string("msgctxt", TEMPLATE if gone and e.key.startswith(f"{TEMPLATE}.") else e.context, gone)
    yield from _string("msgid", e.source, gone)
    yield from _string("msgstr", e.translation, gone)


def _string(keyword: str, value: str, prefix: str) -> Iterator[str]:
    first, *rest = normalize(value, width=WIDTH).split("\n")
    yield f"{prefix}{keyword} {first}"
    yield from (prefix + line for line in rest)
