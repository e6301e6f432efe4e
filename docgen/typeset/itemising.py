"""Turn characters into stretches of one script and one face: what HarfBuzz can shape at once.

Scripts follow UAX #24 (https://www.unicode.org/reports/tr24/): common characters and marks take the script of the
letter before them.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

from docgen.typeset.faces import Face, Faces, MissingGlyph
from docgen.typeset.scripts import script_of_language

_HIDDEN = re.compile("[\u00ad\u061c\u200b\u200e\u200f\u202a-\u202e\u2060-\u2064\u2066-\u206f\ufeff\n]")
"""Characters that steer layout and leave no ink; joiners stay, since shaping needs them."""
_VIRAMA = 9
"""Canonical combining class of the signs that stack the next letter under or into the one before."""


def visible(text: str) -> str:
    """A text without the characters that only steer the layout."""
    return text if text.isascii() and text.isprintable() else _HIDDEN.sub("", text)


def first_script(text: str, language: str) -> str:
    """The script of the first letter; of the language where there is none."""
    return next((s for c in text if (s := script(c))), script_of_language(language))


def scripts(text: str, before: str) -> list[str]:
    """The script of every character; `before` is that of the letter before them."""
    own = []
    for character in text:
        before = script(character) or before
        own.append(before)
    return own


@lru_cache(maxsize=65536)
def script(character: str) -> str:
    """A letter's script (ISO 15924); empty for what is common to several, or inherited."""
    if character < "\u0250":
        return "Latn" if character.isalpha() and character != "µ" else ""
    import uharfbuzz as hb

    buffer = hb.Buffer()
    buffer.add_codepoints([ord(character)])
    buffer.guess_segment_properties()
    found = buffer.script
    return "" if found in (None, "Zyyy", "Zinh", "Zzzz") else found


def graphemes(text: str) -> list[tuple[int, int]]:
    """Characters with the marks, joiners, selectors and stacked letters that belong to them, as (start, end)."""
    found: list[tuple[int, int]] = []
    joined = False
    for i, character in enumerate(text):
        if found and (joined or (character > "\u02ff" and _extends(character))):
            found[-1] = (found[-1][0], i + 1)
        else:
            found.append((i, i + 1))
        joined = character == "\u200d" or unicodedata.combining(character) == _VIRAMA
    return found


def _extends(character: str) -> bool:
    return (
        unicodedata.category(character) in ("Mn", "Mc", "Me")
        or character in "\u200c\u200d"
        or "\U0001f3fb" <= character <= "\U0001f3ff"
    )


def faces_of(text: str, script: str, language: str, bold: bool, faces: Faces) -> tuple[list[Face], list[MissingGlyph]]:
    """The face of every character of a stretch of one script and weight, and what no face can draw.

    Letters are all of one face where one has them all; other characters are looked for one by one.
    """
    letters = "".join(c for c in text if c.isalpha())
    face = faces.find(letters, script, language, bold) if letters else faces.primary(script, language, bold)
    if isinstance(face, Face) and face.covers(visible(text)):
        return [face] * len(text), []
    chosen: list[Face] = []
    missing: list[MissingGlyph] = []
    for start, end in graphemes(text):
        seen = visible(text[start:end])
        found = face if isinstance(face, Face) and face.covers(seen) else faces.find(seen, script, language, bold)
        if isinstance(found, MissingGlyph):
            missing.append(found)
            found = faces.primary(script, language, bold)
        chosen += [found] * (end - start)
    return chosen, missing
