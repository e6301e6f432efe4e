"""Measure a face by the outlines in the file: how high its lower-case letters are, and which glyphs are missing."""

from __future__ import annotations

import ctypes
import unicodedata
from collections.abc import Iterable

import pypdfium2.raw as raw

FLAT = "xzvwn" + "ruemaso" + "хинпктвмсао" + "νκχπσο"
"""Letters without ascender, flat ones first; round ones reach a little higher (about 1 to 2 % of the type size)."""

SQUARE_SCRIPTS = 0.52
"""Share of the type size taken for the x-height where a face has no such letters (numerals alone, Arabic, Devanagari,
Thai, Chinese): that of common sans faces. Common practice, no source."""

LETTERS = ("Lu", "Ll", "Lt", "Lo", "Nd", "Nl", "No", "Pd", "Po", "Sm", "Sc")
"""Unicode categories whose characters always leave ink."""


class Faces:
    """The faces of one file, by handle. Characters must be noted before they are asked about."""

    def __init__(self) -> None:
        self._handles: dict[int, object] = {}
        self._characters: dict[int, set[str]] = {}
        self._x_heights: dict[int, float] = {}
        self._doubts: dict[tuple[int, str], tuple[float, float] | None] = {}

    def note(self, handle: object, text: str) -> int:
        """Remember that a face draws these characters; its number."""
        number = ctypes.addressof(handle.contents) if handle else 0  # type: ignore[attr-defined]
        if number not in self._handles:
            self._handles[number] = handle
            self._characters[number] = set()
        self._characters[number].update(text)
        return number

    def x_height(self, number: int) -> float:
        """In type sizes, from an outline of a letter that this file really draws."""
        if number not in self._x_heights:
            heights = (_outline(self._handles[number], c) for c in FLAT if c in self._characters[number])
            self._x_heights[number] = next((max(y for c in o for _, _, y in c) for o in heights if o), SQUARE_SCRIPTS)
        return self._x_heights[number]

    def doubtful(self, number: int) -> dict[str, tuple[float, float]]:
        """Characters whose outline is empty, or looks like the sign for a missing glyph: a frame around everything.

        Value: width and height of that outline in type sizes. The caller must look at each occurrence: a character
        drawn as part of a cluster has no outline of its own.
        """
        out = {}
        for character in sorted(self._characters[number]):
            key = (number, character)
            if key not in self._doubts:
                self._doubts[key] = _doubt(self._handles[number], character)
            if (doubt := self._doubts[key]) is not None:
                out[character] = doubt
        return out


PLAIN_SCRIPTS = (
    "LATIN",
    "GREEK",
    "CYRILLIC",
    "ARMENIAN",
    "GEORGIAN",
    "CJK",
    "HANGUL",
    "KATAKANA",
    "HIRAGANA",
    "BOPOMOFO",
)
"""First words of the Unicode names of letters that always have a glyph each."""
SAME = 0.008
"""Type sizes by which pdfium's box of a glyph may differ from its outline; it counts in thousandths."""
MOST_SEGMENTS = 32
"""Of a sign for a missing glyph: two frames, or a frame with a cross or a question mark in it."""

Outline = list[list[tuple[bool, float, float]]]
"""Contours of points: whether a curve leads there, x, y; in type sizes."""


def _doubt(handle: object, character: str) -> tuple[float, float] | None:
    if unicodedata.category(character) not in LETTERS:
        return None
    path = raw.FPDFFont_GetGlyphPath(handle, ord(character), 1.0) if handle else None
    count = raw.FPDFGlyphPath_CountGlyphSegments(path) if path else 0
    if count <= 0:
        return None if _clustered(character) else (0.0, 0.0)
    if count > MOST_SEGMENTS or _han(character):
        return None
    outline = _outline(handle, character)
    if not _framed(outline):
        return None
    xs, ys = [x for c in outline for _, x, _ in c], [y for c in outline for _, _, y in c]
    return (max(xs) - min(xs), max(ys) - min(ys))


def _clustered(character: str) -> bool:
    """Whether its script joins letters into clusters, of which one glyph has all the ink and the others none."""
    return not unicodedata.name(character, "").startswith(PLAIN_SCRIPTS) and unicodedata.category(character)[0] == "L"


def _han(character: str) -> bool:
    """Whether it is of a script that has letters shaped like a frame (口, ロ, ㅁ)."""
    name = unicodedata.name(character, "")
    return name.startswith(("CJK", "HANGUL", "KATAKANA", "HIRAGANA"))


def _outline(handle: object, character: str) -> Outline:
    path = raw.FPDFFont_GetGlyphPath(handle, ord(character), 1.0) if handle else None
    x, y = ctypes.c_float(), ctypes.c_float()
    out: Outline = []
    for n in range(raw.FPDFGlyphPath_CountGlyphSegments(path) if path else 0):
        segment = raw.FPDFGlyphPath_GetGlyphPathSegment(path, n)
        kind = raw.FPDFPathSegment_GetType(segment)
        raw.FPDFPathSegment_GetPoint(segment, x, y)
        if kind == raw.FPDF_SEGMENT_MOVETO or not out:
            out.append([])
        out[-1].append((kind == raw.FPDF_SEGMENT_BEZIERTO, round(x.value, 3), round(y.value, 3)))
    return out


def _framed(outline: Outline) -> bool:
    """Whether one contour is an upright rectangle around all the others, and there are others."""
    xs, ys = [x for c in outline for _, x, _ in c], [y for c in outline for _, _, y in c]
    corners = {(x, y) for x in (min(xs), max(xs)) for y in (min(ys), max(ys))}
    return len(outline) > 1 and any(
        not any(bent for bent, _, _ in c) and {(x, y) for _, x, y in c} == corners for c in outline
    )


def blank_or_sign(text: Iterable[tuple[str, float, float]], doubtful: dict[str, tuple[float, float]]) -> str:
    """Which of these characters (with the width and height of their glyph in type sizes) are really missing."""
    out = []
    for character, width, height in text:
        if character in doubtful:
            wide, high = doubtful[character]
            if abs(width - wide) < SAME and abs(height - high) < SAME:
                out.append(character)
    return "".join(dict.fromkeys(out))
