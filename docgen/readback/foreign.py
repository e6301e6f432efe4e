"""Judge whether words stand on a sheet that are neither the edition's nor its template's."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator

from docgen.findings import Finding, error
from docgen.model.edition import Edition
from docgen.readback.flow import Flow
from docgen.readback.stamp import DATE, FINGERPRINT, VERSION
from docgen.readback.stream import FOLD, Squashed, squash
from docgen.readback.wanted import known_texts

SLOT = re.compile(r"\{[^{}]*\}|%\([^()]*\)s")
LONGEST_SLOT = 80
"""Characters that what fills a template's slot may have."""
BLANK = "\0"


def foreign_words(flow: Flow, edition: Edition, known_words: Iterable[str], rtl: bool) -> Iterator[Finding]:
    """Findings about words that are in no text found, no other text of the edition, and no phrase of the template.

    Where right-to-left words are not repeated in the structure (running heads), their order cannot be read back; `rtl`
    takes such a line for known if each of its words is.
    """
    known_words = tuple(known_words)
    left = _left(flow)
    phrases = sorted({squash(p).text for p in known_words if squash(p).text}, key=len, reverse=True)
    for phrase in phrases:
        if SLOT.search(phrase):
            parts = [re.escape(part) for part in SLOT.split(phrase)]
            left = re.sub(f"[^{BLANK}]{{0,{LONGEST_SLOT}}}?".join(parts), _blanked, left) if any(parts) else left
    for pattern in (VERSION, DATE, FINGERPRINT):
        left = pattern.sub(_blanked, left)
    own = (*known_texts(edition), edition.code, edition.site)
    fragments = {part for phrase in phrases for part in SLOT.split(phrase)} | {squash(t).text for t in own}
    left = _without(flow, left, fragments)
    vocabulary = _vocabulary(known_words, own) if rtl else set()
    for start, end in flow.stream.page_ends.values():
        for m in re.finditer(rf"[^{BLANK}]+", left[start:end]):
            if sum(ch.isalpha() for ch in m[0]) < 2 or m[0].casefold() == edition.language.casefold():
                continue
            at = start + m.start()
            if rtl and _words(flow.stream.words(at, start + m.end())) <= vocabulary:
                continue
            yield error(
                "readback/foreign-text",
                f"`{flow.stream.words(at, start + m.end())[:80]}` is neither in the edition nor in the template",
                flow.where(at, start + m.end()),
                hint="leave it out, or add it to the source",
            )


def _vocabulary(known_words: Iterable[str], own: Iterable[str]) -> set[str]:
    return {word for phrase in (*known_words, *own) for word in _words(SLOT.sub(" ", phrase))}


def _words(text: str) -> set[str]:
    return {w for w in re.findall(r"\w+", unicodedata.normalize("NFKC", text.translate(FOLD))) if not w.isdigit()}


def _left(flow: Flow) -> str:
    """The stream with every text that was found blanked out."""
    out = list(flow.stream.text)
    for found in flow.found:
        out[found.start : found.end] = BLANK * (found.end - found.start)
    return "".join(out)


def _without(flow: Flow, left: str, parts: Iterable[str]) -> str:
    """What is left without these words, where they stand as whole words; the longest first."""
    out = list(left)
    for part in sorted((p for p in parts if p), key=len, reverse=True):
        for at in flow.stream.find(Squashed(part, "")):
            out[at : at + len(part)] = BLANK * len(part)
    return "".join(out)


def _blanked(m: re.Match[str]) -> str:
    return BLANK * len(m[0])
