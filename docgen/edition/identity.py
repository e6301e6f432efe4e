"""Turn an edition into the bytes that are its identity, and those into ten characters that people can compare.

What is left out is what may differ between two sheets that tell people to do the same: the language, the sheet, who
has approved it so far, where in a file it was written. Everything else counts, so that a changed word, act, caution,
choice, product, version or date gives another fingerprint.
"""

from __future__ import annotations

import datetime
import json
from dataclasses import fields
from typing import Any

from docgen.findings import Where
from docgen.model.edition import Edition
from docgen.model.stamp import fingerprint_of
from docgen.model.text import Text

LEFT_OUT = {
    "language": "the same edition in another language is the same edition",
    "translation": "the same edition in another language is the same edition",
    "status": "approving and releasing change no word of what people do",
    "approval": "approving and releasing change no word of what people do",
    "beside": "the same edition with its words in another language beside them",
    "beside_texts": "the same edition with its words in another language beside them",
    "unreviewed": "a sentence of the stamp, not its content",
    "draft": "a band across the sheet, not its content",
    "sheets": "the same words on another paper size",
    "address": "where a reader may look a sheet up",
    "speech_rate": "an estimate's parameter",
    "retraining": "how a site brings a version in, not what it says",
    "silenced": "for authors only",
    "pairs_with": "for the sequence check only",
    "fingerprint": "itself",
}
"""Fields of `Edition` that are no part of its identity, and why."""


def canonical(edition: Edition) -> bytes:
    """The identity of an edition as JSON in the source language: UTF-8, keys sorted, no blanks (like RFC 8785)."""
    content = {f.name: _plain(getattr(edition, f.name)) for f in fields(edition) if f.name not in LEFT_OUT}
    content["canonical"] = 1
    return json.dumps(content, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode()


def fingerprint(edition: Edition) -> str:
    """Ten characters of Crockford's base 32: the first 50 bits of SHA-256 over `canonical(edition)`."""
    return fingerprint_of(canonical(edition))


def _plain(value: Any) -> Any:
    if isinstance(value, Text):
        return value.source  # its runs are in the language of the day; its key repeats what is around it
    if isinstance(value, datetime.date):
        return value.isoformat()
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    if hasattr(value, "__dataclass_fields__"):
        return {f.name: _plain(v) for f in fields(value) if not isinstance(v := getattr(value, f.name), Where)}
    return value
