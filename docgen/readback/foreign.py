"""Judge whether words stand on a sheet that are neither the edition's nor its template's."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator

from docgen.findings import Finding, error
from docgen.model.edition import Edition
from docgen.readback.flow import Flow
from docgen.readback.stamp import DATE, FINGERPRINT, VERSION
from docgen.readback.stream import FOLD, LINE, NONE, Squashed, squash
from docgen.readback.wanted import known_names, known_roles, known_texts

SLOT = re.compile(r"\{[^{}]*\}|%\([^()]*\)s")
LONGEST_SLOT = 80
"""Characters that what fills a template's slot may have."""
BLANK = "\0"
SHORT = 2
"""Letters of a template's word (`no`, `m`) that may not touch a text of the edition: it could change it."""
NEXT_LINE = 1.7
"""Type sizes between baselines up to which words in the same style go on with those before them."""


def foreign_words(flow: Flow, edition: Edition, known_words: Iterable[str], rtl: bool) -> Iterator[Finding]:
    """Findings about words that are in no text found, no other text of the edition, and no phrase of the template.

    Where right-to-left words are not repeated in the structure (running heads), their order cannot be read back; `rtl`
    takes such a line for known if each of its words is.
    """
    known_words = tuple(known_words)
    rest = _Rest(flow)
    phrases = sorted({squash(p).text for p in known_words if squash(p).text}, key=len, reverse=True)
    rest.patterns(VERSION, DATE, FINGERPRINT)
    for phrase in phrases:
        if SLOT.search(phrase):
            parts = [re.escape(part) for part in SLOT.split(phrase)]
            if any(parts):
                rest.strike(re.compile(f"[^{BLANK}]{{0,{LONGEST_SLOT}}}?".join(parts)))
    texts, roles, names = known_texts(edition), known_roles(edition), known_names(edition)
    fragments = {part for phrase in phrases for part in SLOT.split(phrase)}
    long = {f for f in fragments if _letters(f) > SHORT}
    rest.words(long | {squash(t).text for t in (*texts, edition.code, edition.site)})
    rest.words((fragments - long) | {squash(t).text for t in roles}, rest.apart)
    rest.words({squash(t).text for t in names}, rest.alone)
    vocabulary = {w for p in (*known_words, *texts, *roles, *names) for w in _words(SLOT.sub(" ", p))} if rtl else set()
    for start, end in rest.stretches():
        words = flow.stream.words(start, end)
        if words.casefold() == edition.language.casefold() or (rtl and _words(words) <= vocabulary):
            continue
        yield error(
            "readback/foreign-text",
            f"`{words[:80]}` is neither in the edition nor in the template",
            flow.where(start, end),
            hint="leave it out, or add it to the source",
        )


def _letters(text: str) -> int:
    """How many letters; one that stands for a word, as in Chinese, counts for several."""
    return sum(SHORT + 1 if unicodedata.east_asian_width(ch) == "W" else 1 for ch in text if ch.isalpha())


def _words(text: str) -> set[str]:
    return {w for w in re.findall(r"\w+", unicodedata.normalize("NFKC", text.translate(FOLD))) if not w.isdigit()}


class _Rest:
    """The stream with everything known blanked out."""

    def __init__(self, flow: Flow) -> None:
        self.stream = flow.stream
        self.left = list(self.stream.text)
        self.found = bytearray(len(self.left))
        """1 where a text of the edition was found."""
        for found in flow.found:
            self._blank(found.start, found.end)
            if found.what != "number":
                self.found[found.start : found.end] = b"\1" * (found.end - found.start)

    def _blank(self, start: int, end: int) -> None:
        self.left[start:end] = BLANK * (end - start)

    def patterns(self, *patterns: re.Pattern[str]) -> None:
        """Blank out what stamps are made of; looked for with the white space that tells their parts from others."""
        spaced = self.stream.words(0, len(self.left))
        places = [n for n, gap in enumerate(self.stream.gaps) for _ in range(2 if n and gap != NONE else 1)]
        for pattern in patterns:
            for m in pattern.finditer(spaced):
                self._blank(places[m.start()], places[m.end() - 1] + 1)

    def strike(self, pattern: re.Pattern[str]) -> None:
        """Blank out what a pattern finds in what is left."""
        self.left = list(pattern.sub(lambda m: BLANK * len(m[0]), "".join(self.left)))

    def words(self, parts: Iterable[str], allowed: Callable[[int, int], bool] = lambda start, end: True) -> None:
        """Blank out these words where nothing else was seen in them and `allowed` says so, the longest first."""
        for part in sorted((p for p in parts if p), key=len, reverse=True):
            for at in self.stream.find(Squashed(part, "")):
                end = at + len(part)
                if BLANK not in self.left[at:end] and allowed(at, end):
                    self._blank(at, end)

    def apart(self, start: int, end: int) -> bool:
        """Whether no word of a text that was found stands right before or after, on the same line."""
        return not (self._goes_on(start) or (end < len(self.left) and self._goes_on(end)))

    def _goes_on(self, at: int) -> bool:
        """Whether a text that was found ends or begins before character `at`, same style and line, no sign between."""
        stream = self.stream
        if at <= 0 or stream.gaps[at] == LINE or self.found[at - 1] == self.found[at]:
            return False
        before, here = stream.pieces[stream.index(at - 1)], stream.pieces[stream.index(at)]
        return before.style == here.style and stream.text[at - 1].isalnum() and stream.text[at].isalnum()

    def alone(self, start: int, end: int) -> bool:
        """Whether this is a line or cell of its own that does not go on with the line before it."""
        first, last = self.stream.index(start), self.stream.index(end - 1)
        whole = self.stream.starts[first] == start and end in (*self.stream.starts[last + 1 : last + 2], len(self.left))
        if not whole or not first:
            return whole
        before, here = self.stream.pieces[first - 1], self.stream.pieces[first]
        below = abs(here.runs[0].baseline - before.runs[-1].baseline)
        near = before.page == here.page and below < NEXT_LINE * here.runs[0].size / 72 * 25.4
        return not (near and before.style == here.style and before.runs[-1].colour == here.runs[0].colour)

    def stretches(self) -> Iterator[tuple[int, int]]:
        """Where letters are left, or numbers that go on with a text that was found; page by page."""
        left = "".join(self.left)
        for start, end in self.stream.page_ends.values():
            for m in re.finditer(rf"[^{BLANK}]+", left[start:end]):
                a, b = start + m.start(), start + m.end()
                if any(ch.isalpha() for ch in m[0]) or (any(ch.isdigit() for ch in m[0]) and self._goes_on(a)):
                    yield a, b
