"""Turn runs of words into shaped text that can be measured and broken into lines at any size.

Text is shaped once, in thousandths of an em. Widths are linear in the size, so fitting a sheet only breaks lines anew;
lines themselves are made once for each pair of break places, whatever the size. Words are never hyphenated, cut or
squeezed: a word wider than its column is told by `widest_word`.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator
from functools import cached_property, lru_cache
from itertools import accumulate, chain
from typing import NamedTuple

from docgen.model.sheet import GlyphRun, Line, Word
from docgen.model.text import Runs
from docgen.typeset import bidi, itemising
from docgen.typeset.breaking import breaks
from docgen.typeset.faces import Face, Faces, MissingGlyph
from docgen.typeset.scripts import written_rightward

_TOLERANCE = 0.01
"""Em thousandths by which a line may be wider than its column: less than a rounding error on paper."""
_WHOLE = 24
"""An isolate with a digit is never broken up to this length in characters; longer ones are texts, not measures."""
_NEWLINE = re.compile("[ \r]*[\n\u2028\u2029]")
"""Becomes a space at the end of its line, so that words stay apart where a text is set on one line."""
_JOINING = frozenset({"Arab", "Syrc", "Nkoo", "Adlm", "Rohg", "Mong"})


class Unit(NamedTuple):
    """What stands between two places where a line may end."""

    pieces: tuple[tuple[Word, int], ...]
    """Words and spaces with their embedding levels, in logical order."""
    visible: int
    """How many of them stand before the white space at its end."""
    width: float
    """Em thousandths, without that white space."""
    gap: float
    """Width of that white space."""
    forced: bool
    """The line must end here."""
    script: str
    """Of its last letter, or of the letter before it."""
    missing: tuple[MissingGlyph, ...]


class Shaped:
    """Shaped text. Measures in points are for the size given; `ascent` and `descent` are em thousandths."""

    def __init__(self, units: list[Unit], base: int, mixed: bool, faces: Faces) -> None:
        self.rtl = bool(base)
        """Direction of the paragraph: the side its lines start from."""
        self.missing = tuple(dict.fromkeys(m for u in units if u.missing for m in u.missing))
        """Characters that no face can draw; a sheet with any must not be made."""
        self._units = units
        self._base = base
        self._mixed = mixed
        self._lines: dict[tuple[int, int], Line] = {}
        self._wraps: dict[tuple[float, float], tuple[tuple[int, int], ...]] = {}
        self._starts = [0.0, *accumulate(u.width + u.gap for u in units)]
        self._ends = [start + u.width for start, u in zip(self._starts, units, strict=False)]
        self._forced = [i + 1 for i, u in enumerate(units) if u.forced]
        self._faces = faces

    @property
    def text(self) -> str:
        """What it says, in logical order, without characters that only steer the layout."""
        return self._text(0, len(self._units))

    @cached_property
    def _used(self) -> list[Face]:
        return [self._faces.face(name) for name in {word.face for u in self._units for word, _ in u.pieces}]

    @property
    def mixed(self) -> bool:
        """Whether some of it reads from right to left."""
        return self._mixed

    @property
    def ascent(self) -> float:
        """Height above the baseline of the tallest face used."""
        return max((f.ascent for f in self._used), default=0.0)

    @property
    def descent(self) -> float:
        """Depth below the baseline of the deepest face used, positive."""
        return max((f.descent for f in self._used), default=0.0)

    @cached_property
    def ink(self) -> tuple[float, float]:
        """How far its highest letter rises above its baseline, and its deepest falls below, em thousandths."""
        rise = fall = 0.0
        for word in {id(w): w for u in self._units for w, _ in u.pieces}.values():
            top, below = self._faces.face(word.face).ink(word)
            rise, fall = max(rise, top), max(fall, below)
        return rise, fall

    @cached_property
    def _widest(self) -> Unit | None:
        return max(self._units, key=lambda u: u.width, default=None)

    def width(self, size: float) -> float:
        """Points its longest line takes when nothing is broken."""
        return (
            max((self._ends[end - 1] - self._starts[start] for start, end in self._paragraphs()), default=0.0)
            * size
            / 1000
        )

    def widest_word(self, size: float) -> float:
        """Points that its widest unbreakable stretch takes: no narrower column can hold it."""
        return (self._widest.width if self._widest else 0.0) * size / 1000

    @property
    def longest_word(self) -> str:
        """The unbreakable stretch that `widest_word` measures."""
        return "".join(w.text for w, _ in self._widest.pieces[: self._widest.visible]) if self._widest else ""

    def count(self, width_pt: float, size_pt: float, *, indent_pt: float = 0.0) -> int:
        """How many lines `wrap` would give; cheaper, for fitting."""
        return len(self._ranges(width_pt, size_pt, indent_pt))

    def wrap(self, width_pt: float, size_pt: float, *, indent_pt: float = 0.0) -> tuple[Line, ...]:
        """Lines no wider than `width_pt` at `size_pt` points, as full as they can be, and at least one unit long.

        The first line is `indent_pt` narrower. A unit wider than the column stands alone on a line that is too wide.
        """
        return tuple(self._line(start, end) for start, end in self._ranges(width_pt, size_pt, indent_pt))

    def line(self) -> Line:
        """All of it on one line, forced breaks left aside."""
        return self._line(0, len(self._units))

    def _ranges(self, width_pt: float, size_pt: float, indent_pt: float) -> tuple[tuple[int, int], ...]:
        room = width_pt * 1000 / size_pt + _TOLERANCE
        indent = indent_pt * 1000 / size_pt
        found = self._wraps.get((room, indent))
        if found is None:
            if len(self._wraps) > 64:
                self._wraps.clear()
            found = self._wraps[room, indent] = tuple(self._greedy(room, indent))
        return found

    def _paragraphs(self) -> Iterator[tuple[int, int]]:
        """Ranges of units between forced breaks."""
        start = 0
        for end in (*self._forced, len(self._units)):
            if end > start:
                yield start, end
            start = end

    def _greedy(self, room: float, indent: float) -> Iterator[tuple[int, int]]:
        left = room - indent
        for start, last in self._paragraphs():
            while start < last:
                end = bisect_right(self._ends, self._starts[start] + left, start, last)
                yield start, (end := max(end, start + 1))
                start, left = end, room

    def _text(self, start: int, end: int) -> str:
        if start == end:
            return ""
        parts = [word.text for unit in self._units[start : end - 1] for word, _ in unit.pieces]
        last = self._units[end - 1]
        return "".join([*parts, *(word.text for word, _ in last.pieces[: last.visible])])

    def _line(self, start: int, end: int) -> Line:
        line = self._lines.get((start, end))
        if line is None:
            pieces = [piece for unit in self._units[start:end] for piece in unit.pieces]
            last = self._units[end - 1] if end > start else Unit((), 0, 0, 0, False, "", ())
            visible = len(pieces) - len(last.pieces) + last.visible
            if end == len(self._units):
                del pieces[visible:]
            make = _mixed if self._mixed else _plain
            runs, width = make(pieces, visible, self._base)
            line = self._lines[start, end] = Line(runs, width, self._text(start, end))
        return line


def _plain(pieces: list[tuple[Word, int]], visible: int, base: int) -> tuple[tuple[GlyphRun, ...], float]:
    """Runs of a line that reads from left to right throughout, and the width of its visible pieces."""
    runs: list[GlyphRun] = []
    words: list[Word] = []
    x = at = width = 0.0
    face = pieces[0][0].face if pieces else ""
    for i, (word, _) in enumerate(pieces):
        if word.face != face:
            runs.append(GlyphRun(face, False, round(at, 2), tuple(words)))
            face, at, words = word.face, x, []
        words.append(word)
        x += word.advance
        if i < visible:
            width = x
    if words:
        runs.append(GlyphRun(face, False, round(at, 2), tuple(words)))
    return tuple(runs), round(width, 2)


def _mixed(pieces: list[tuple[Word, int]], visible: int, base: int) -> tuple[tuple[GlyphRun, ...], float]:
    """Runs of a line in which some words read from right to left, and the width of its visible pieces."""
    end = visible
    while end and not pieces[end - 1][0].text.strip(" "):
        end -= 1
    groups: list[tuple[str, int, list[Word]]] = []
    for i, (word, level) in enumerate(pieces):
        level = level if i < end else base  # L1
        if not groups or groups[-1][:2] != (word.face, level):
            groups.append((word.face, level, []))
        groups[-1][2].append(word)
    widths = [sum([word.advance for word in words]) for _, _, words in groups]
    spaces = sum([word.advance for word, _ in pieces[visible:]])
    x = -spaces if base else 0.0
    lefts = [0.0] * len(groups)
    for i in bidi.order([level for _, level, _ in groups]):
        lefts[i] = round(x, 2)
        x += widths[i]
    runs = [
        GlyphRun(face, bool(level & 1), left, tuple(words[::-1] if level & 1 else words))
        for (face, level, words), left in zip(groups, lefts, strict=True)
    ]
    return tuple(runs), round(sum(widths) - spaces, 2)


def shape(
    runs: Runs,
    faces: Faces,
    *,
    language: str,
    bold: bool = False,
    rtl: bool | None = None,
    features: tuple[str, ...] = (),
) -> Shaped:
    """Shape filled runs in a language (BCP 47).

    Strong and emphasised runs, or all of them with `bold`, are set bold. `rtl` forces the paragraph's direction; None
    takes that of the language if there are letters of it, else that of the first letter. Isolated runs keep their own
    direction, and break only when they are long or hold no digit. `features` are OpenType features to switch on, such
    as `faces.TABULAR`. Remembered for the process; the result is shared and must not be changed.
    """
    return _shape(runs, faces, language, bold, rtl, features)


@lru_cache(maxsize=8192)
def _shape(runs: Runs, faces: Faces, language: str, bold: bool, rtl: bool | None, features: tuple[str, ...]) -> Shaped:
    text, heavy, isolates = _flat(runs, bold)
    ends = breaks(text, language)
    if isolates:
        whole = [(start, end) for start, end in isolates if _measure(text[start:end])]
        ends = tuple(e for e in ends if not any(start < e < end for start, end in whole))
    if rtl is None and written_rightward(language):
        rtl = bidi.rightward(text)
    mixed = rtl or bidi.needed(text)
    base, levels = _levels(text, isolates, rtl) if mixed else (0, bytes(len(text)))
    script = itemising.first_script(text, language)
    units: list[Unit] = []
    start = 0
    for end in ends:
        unit = _unit(text[start:end], heavy[start:end], levels[start:end], script, language, features, faces)
        units.append(unit)
        script, start = unit.script, end
    return Shaped(units, base, bool(mixed), faces)


def _measure(text: str) -> bool:
    return len(text) <= _WHOLE and any(c.isdecimal() for c in text)


def _flat(runs: Runs, bold: bool) -> tuple[str, bytes, list[tuple[int, int]]]:
    """The text of some runs, a byte for each character that tells whether it is bold, and the isolated stretches."""
    parts: list[str] = []
    heavy: list[bytes] = []
    isolates: list[tuple[int, int]] = []
    at = 0
    for run in runs:
        text = _NEWLINE.sub(" \n", run.text.replace("\u00ad", "").replace("\t", " "))
        parts.append(text)
        heavy.append((b"\1" if bold or run.strong or run.emphasis else b"\0") * len(text))
        if run.isolate and text:
            isolates.append((at, at + len(text)))
        at += len(text)
    text, weights = "".join(parts), b"".join(heavy)
    if 0 < sum(weights) < len(weights) and not text.isascii():
        # a mark has the weight of its letter, wherever the emphasis was typed
        weights = b"".join(weights[start : start + 1] * (end - start) for start, end in itemising.graphemes(text))
    return text, weights, isolates


def _levels(text: str, isolates: list[tuple[int, int]], rtl: bool | None) -> tuple[int, bytes]:
    """Embedding levels of the text as if each isolate stood between FSI and PDI (UAX #9, 2.4)."""
    parts: list[str] = []
    places: list[range] = []
    at = 0
    for shift, (start, end) in enumerate(isolates):
        parts += [text[at:start], "\u2068", text[start:end], "\u2069"]
        places += [range(at + 2 * shift, start + 2 * shift), range(start + 2 * shift + 1, end + 2 * shift + 1)]
        at = end
    parts.append(text[at:])
    places.append(range(at + 2 * len(isolates), len(text) + 2 * len(isolates)))
    base, result = bidi.levels("".join(parts), rtl)
    return base, bytes(result[i] for i in chain.from_iterable(places))


@lru_cache(maxsize=32768)
def _unit(
    text: str, heavy: bytes, levels: bytes, script: str, language: str, features: tuple[str, ...], faces: Faces
) -> Unit:
    """Shape what stands between two places where a line may end; `script` is that of the letter before it."""
    scripts = itemising.scripts(text, script)
    end = len(text.rstrip(" \n"))
    missing: list[MissingGlyph] = []
    pieces: list[tuple[Word, int]] = []
    visible = 0
    start = 0
    while start < len(text):
        key = heavy[start], levels[start], scripts[start], text[start] == " ", start < end
        stop = start + 1
        while stop < len(text) and key == (
            heavy[stop], levels[stop], scripts[stop], text[stop] == " ", stop < end
        ):  # fmt: skip
            stop += 1
        chosen, lacking = itemising.faces_of(text[start:stop], scripts[start], language, bool(heavy[start]), faces)
        missing += lacking
        at = start
        while at < stop:
            to = next((i for i in range(at, stop) if chosen[i - start] is not chosen[at - start]), stop)
            part = itemising.visible(text[at:to])
            if part:
                joins = scripts[at] in _JOINING
                word = chosen[at - start].word(
                    part,
                    rtl=bool(levels[at] & 1),
                    script=scripts[at],
                    language=language,
                    features=features,
                    before=text[at - 1] if joins and at and text[at - 1].isalpha() else "",
                    after=text[to] if joins and to < len(text) and text[to].isalpha() else "",
                )
                pieces.append((word, levels[at]))
            at = to
        start = stop
        if start <= end:
            visible = len(pieces)
    width = sum(word.advance for word, _ in pieces[:visible])
    gap = sum(word.advance for word, _ in pieces[visible:])
    forced = text[-1] == "\n"
    return Unit(tuple(pieces), visible, round(width, 2), round(gap, 2), forced, scripts[-1], tuple(missing))
