"""Turn runs of words into shaped text that can be measured and broken into lines at any size.

Text is shaped once, in thousandths of an em. Widths are linear in the size, so fitting a sheet only breaks lines anew;
lines themselves are made once for each pair of break places, whatever the size. Words are never hyphenated, cut or
squeezed: a word wider than its column is told by `widest_word`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

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
_SPACES = " \n\u2028\u2029"


@dataclass(frozen=True, slots=True)
class Unit:
    """What stands between two places where a line may end."""

    start: int
    """Index of its first piece."""
    space: int
    """Index of the first piece of the white space at its end."""
    end: int
    width: float
    """Em thousandths, without that white space."""
    gap: float
    """Width of that white space."""
    forced: bool
    """The line must end here."""


class Shaped:
    """Shaped text. Measures in points are for the size given; `ascent` and `descent` are em thousandths."""

    def __init__(
        self,
        pieces: list[tuple[Word, int]],
        units: list[Unit],
        base: int,
        missing: tuple[MissingGlyph, ...],
        faces: Faces,
    ) -> None:
        self.rtl = bool(base)
        """Direction of the paragraph: the side its lines start from."""
        self.missing = missing
        """Characters that no face can draw; a sheet with any must not be made."""
        self._pieces = pieces
        self._units = units
        self._base = base
        self._mixed = any(level != base for _, level in pieces) or base > 0
        self._lines: dict[tuple[int, int], Line] = {}
        self._wraps: dict[tuple[float, float], tuple[tuple[int, int], ...]] = {}
        used = [faces.face(name) for name in dict.fromkeys(word.face for word, _ in pieces)]
        self.ascent: float = max((f.ascent for f in used), default=0.0)
        self.descent: float = max((f.descent for f in used), default=0.0)
        self._widest = max(units, key=lambda u: u.width, default=None)
        self._whole = self._natural()

    @property
    def text(self) -> str:
        """What it says, in logical order, without characters that only steer the layout."""
        return "".join(word.text for word, _ in self._pieces).rstrip(" ")

    def width(self, size: float) -> float:
        """Points its longest line takes when nothing is broken."""
        return self._whole * size / 1000

    def widest_word(self, size: float) -> float:
        """Points that its widest unbreakable stretch takes: no narrower column can hold it."""
        return (self._widest.width if self._widest else 0.0) * size / 1000

    @property
    def longest_word(self) -> str:
        """The unbreakable stretch that `widest_word` measures."""
        return self._text(self._widest.start, self._widest.space) if self._widest else ""

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

    def _greedy(self, room: float, indent: float) -> Iterator[tuple[int, int]]:
        start, filled, left = 0, 0.0, room - indent
        for i, unit in enumerate(self._units):
            if i > start and filled + unit.width > left:
                yield start, i
                start, filled, left = i, 0.0, room
            filled += unit.width + unit.gap
            if unit.forced:
                yield start, i + 1
                start, filled, left = i + 1, 0.0, room
        if start < len(self._units):
            yield start, len(self._units)

    def _natural(self) -> float:
        widest = filled = 0.0
        for unit in self._units:
            widest = max(widest, filled + unit.width)
            filled = 0.0 if unit.forced else filled + unit.width + unit.gap
        return widest

    def _text(self, start: int, end: int) -> str:
        return "".join(word.text for word, _ in self._pieces[start:end])

    def _line(self, start: int, end: int) -> Line:
        line = self._lines.get((start, end))
        if line is None:
            first, visible = self._units[start].start, self._units[end - 1].space
            last = self._units[end - 1].end if end < len(self._units) else visible
            make = _mixed if self._mixed else _plain
            runs, width = make(self._pieces[first:last], visible - first, self._base)
            line = self._lines[start, end] = Line(runs, width, self._text(first, visible))
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
    while end and not pieces[end - 1][0].text.strip(_SPACES):
        end -= 1
    levels = [level if i < end else base for i, (_, level) in enumerate(pieces)]  # L1
    width = sum(word.advance for word, _ in pieces[:visible])
    x = 0.0 if not base else width - sum(word.advance for word, _ in pieces)
    lefts = [0.0] * len(pieces)
    for i in bidi.order(levels):
        lefts[i] = x
        x += pieces[i][0].advance
    runs: list[GlyphRun] = []
    i = 0
    while i < len(pieces):
        k = i + 1
        while k < len(pieces) and levels[k] == levels[i] and pieces[k][0].face == pieces[i][0].face:
            k += 1
        rtl = bool(levels[i] & 1)
        words = [word for word, _ in pieces[i:k]]
        runs.append(GlyphRun(pieces[i][0].face, rtl, round(min(lefts[i:k]), 2), tuple(words[::-1] if rtl else words)))
        i = k
    return tuple(runs), round(width, 2)


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


@lru_cache(maxsize=32768)
def _shape(runs: Runs, faces: Faces, language: str, bold: bool, rtl: bool | None, features: tuple[str, ...]) -> Shaped:
    text, heavy, isolates = _flat(runs, bold)
    ends = breaks(text, language)
    if isolates:
        whole = [(start, end) for start, end in isolates if _measure(text[start:end])]
        ends = tuple(e for e in ends if not any(start < e < end for start, end in whole))
    find = _latin if itemising.simple(text) else _any
    keys, missing = find(text, heavy, isolates, language, faces)
    if rtl is None and written_rightward(language):
        rtl = bidi.rightward(text)
    base, levels = _levels(text, isolates, rtl) if rtl or bidi.needed(text) else (0, None)
    pieces, units = _cut(text, ends, keys, levels, language, features)
    return Shaped(pieces, units, base, missing, faces)


def _measure(text: str) -> bool:
    return len(text) <= _WHOLE and any(c.isdecimal() for c in text)


def _flat(runs: Runs, bold: bool) -> tuple[str, list[bool], list[tuple[int, int]]]:
    """The text of some runs, which characters are bold, and which stretches are isolated."""
    parts: list[str] = []
    heavy: list[bool] = []
    isolates: list[tuple[int, int]] = []
    for run in runs:
        text = run.text.replace("\u00ad", "").replace("\t", " ").replace("\r\n", "\n")
        if run.isolate and text:
            isolates.append((len(heavy), len(heavy) + len(text)))
        parts.append(text)
        heavy += [bold or run.strong or run.emphasis] * len(text)
    return "".join(parts), heavy, isolates


def _levels(text: str, isolates: list[tuple[int, int]], rtl: bool | None) -> tuple[int, list[int]]:
    """Embedding levels of the text as if each isolate stood between FSI and PDI (UAX #9, 2.4)."""
    if not isolates:
        return bidi.levels(text, rtl)
    parts: list[str] = []
    places: list[int] = []
    at = 0
    shift = 0
    for start, end in isolates:
        parts += [text[at:start], "\u2068", text[start:end], "\u2069"]
        places += [i + shift for i in range(at, start)]
        places += [i + shift + 1 for i in range(start, end)]
        at, shift = end, shift + 2
    parts.append(text[at:])
    places += [i + shift for i in range(at, len(text))]
    base, result = bidi.levels("".join(parts), rtl)
    return base, [result[i] for i in places]


Key = tuple[Face, str]
"""What a character is drawn with: a face, and the script it is shaped in."""


def _latin(
    text: str, heavy: list[bool], isolates: list[tuple[int, int]], language: str, faces: Faces
) -> tuple[list[Key], tuple[MissingGlyph, ...]]:
    """Keys of Latin text, when its face has all of it; otherwise as for any text."""
    regular, strong = (faces.primary("Latn", language, bold) for bold in (False, True))
    if not regular.covers(text.replace("\n", " ")):
        return _any(text, heavy, isolates, language, faces)
    return [(strong, "Latn") if h else (regular, "Latn") for h in heavy], ()


def _any(
    text: str, heavy: list[bool], isolates: list[tuple[int, int]], language: str, faces: Faces
) -> tuple[list[Key], tuple[MissingGlyph, ...]]:
    """Keys of any text; an isolate that holds letters looks to no letter outside it."""
    text = text.replace("\n", " ")
    scripts = itemising.scripts(text, language)
    for start, end in isolates:
        if any(c.isalpha() for c in text[start:end]):
            scripts[start:end] = itemising.scripts(text[start:end], language)
    chosen, missing = itemising.faces_of(text, scripts, language, heavy, faces)
    return list(zip(chosen, scripts, strict=True)), missing


def _cut(
    text: str,
    ends: tuple[int, ...],
    keys: list[Key],
    levels: list[int] | None,
    language: str,
    features: tuple[str, ...],
) -> tuple[list[tuple[Word, int]], list[Unit]]:
    """Shape every stretch of one key and level, and gather them into units."""
    pieces: list[tuple[Word, int]] = []
    units: list[Unit] = []
    start = 0
    for end in ends:
        visible = end
        while visible > start and text[visible - 1] in _SPACES:
            visible -= 1
        forced = text[end - 1] in "\n\u2028\u2029"
        first = len(pieces)
        width = _pieces(pieces, text, start, visible, keys, levels, language, features)
        space = len(pieces)
        gap = _pieces(pieces, text, visible, end - forced, keys, levels, language, features)
        units.append(Unit(first, space, len(pieces), width, gap, forced))
        start = end
    return pieces, units


def _pieces(
    pieces: list[tuple[Word, int]],
    text: str,
    start: int,
    end: int,
    keys: list[Key],
    levels: list[int] | None,
    language: str,
    features: tuple[str, ...],
) -> float:
    """Append the shaped pieces of a stretch; returns their width."""
    width = 0.0
    while start < end:
        key = keys[start]
        level = levels[start] if levels else 0
        blank = text[start] == " "
        stop = start + 1
        while (
            stop < end
            and keys[stop] == key
            and (levels is None or levels[stop] == level)
            and (text[stop] == " ") == blank
        ):
            stop += 1
        face, script = key
        part = itemising.visible(text[start:stop])
        if part:
            joins = script in ("Arab", "Syrc", "Nkoo", "Adlm", "Rohg", "Mong")
            word = face.word(
                part,
                rtl=bool(level & 1),
                script=script,
                language=language,
                features=features,
                before=text[start - 1] if joins and start and text[start - 1].isalpha() else "",
                after=text[stop] if joins and stop < len(text) and text[stop].isalpha() else "",
            )
            pieces.append((word, level))
            width += word.advance
        start = stop
    return round(width, 2)
