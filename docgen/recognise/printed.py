"""Turn words into the printed stamps among them, whoever read them: a PDF's own text, or a reader of pictures."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator

from docgen.model.sighting import Printed

GROUP = r"[0-9A-Z]{5}"
FINGERPRINT = re.compile(rf"(?<![0-9A-Za-z])({GROUP})[\s\u00b7–-]{{1,2}}({GROUP})(?![0-9A-Za-z])")
"""Two groups of five. Letters that base 32 leaves out are let in: a reader of pictures takes 0 for O."""
CODE = re.compile(r"(?<![\w-])([A-Z][A-Z0-9]*(?:-[A-Z0-9]+)+)(?![\w-])")
VERSION = re.compile(r"(?<![\w.])[vV]\s?(\d+\.\d+)(?![\w.])")
DAY = re.compile(r"(?<!\d)(\d{4}-\d{2}-\d{2})(?!\d)")
LANGUAGE = re.compile(r"(?<![\w+-])([a-z]{2,3}(?:-[A-Za-z]{2,8})?(?:\+[a-z]{2,3}(?:-[A-Za-z]{2,8})?)?)(?![\w+-])")
COUNT = re.compile(r"(?<![\d.-])(\d{1,3})[^\d\n]{1,14}?(?<![\d.-])(\d{1,3})(?![\d-])")
NEAR = 160
"""Characters before and after a fingerprint that belong to its stamp."""
MOST = 200
"""Stamps of one page."""


def stamps(words: str) -> Iterator[Printed]:
    """Every stamp with a fingerprint in it; of a line with code and version alone, what it says."""
    words = "".join(_plain(ch) for ch in words)
    marks = [m for m in FINGERPRINT.finditer(words) if _mixed(m[1] + m[2])][:MOST]
    for mark in marks:
        yield _stamp(words, mark.start(), mark.end(), mark[1] + mark[2])
    if not marks:
        for version in list(VERSION.finditer(words))[:MOST]:
            if CODE.search(words[max(0, version.start() - 40) : version.start()]):
                yield _stamp(words, version.start(), version.end(), "")


def _stamp(words: str, start: int, end: int, fingerprint: str) -> Printed:
    before, after = words[max(0, start - NEAR) : start], words[end : end + NEAR]
    codes, versions = CODE.findall(before), VERSION.findall(words[max(0, start - NEAR) : end])
    language = LANGUAGE.search(after[:24])
    count = COUNT.search(after)
    line = f"{before.rpartition(chr(10))[2]}{words[start:end]}{after.partition(chr(10))[0]}"
    return Printed(
        codes[-1] if codes else "", versions[-1] if versions else "", fingerprint, language[1] if language else "",
        int(count[1]) if count else 0, int(count[2]) if count else 0, tuple(DAY.findall(before)), line.strip(),
    )  # fmt: skip


def _mixed(text: str) -> bool:
    """Letters and digits: so that two words of five capitals are not taken for a fingerprint."""
    return any(c.isdigit() for c in text) and any(c.isalpha() for c in text)


def _plain(ch: str) -> str:
    """Digits of any script as ASCII, marks that only turn the order of words left out."""
    if ch.isdecimal():
        return str(unicodedata.decimal(ch))
    return "" if ch in "\u200e\u200f\u2066\u2067\u2068\u2069\u202a\u202b\u202c\ufeff" else ch
