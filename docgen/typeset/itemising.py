"""Turn characters into stretches of one script, one face and one direction: what HarfBuzz can shape at once.

Scripts follow UAX #24 (https://www.unicode.org/reports/tr24/): common characters and marks take the script of the
letter before them, a closing bracket that of its opening one, and what stands before the first letter takes its script.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

from docgen.typeset.bidi import CLOSING
from docgen.typeset.faces import Face, Faces, MissingGlyph
from docgen.typeset.scripts import script_of_language

_LATIN = re.compile(r"[\x00-\u024f\u1e00-\u1eff\u2000-\u206f\u20a0-\u20bf\u2100-\u214f\u2190-\u22ff\u2460-\u27bf]*")
_WORDS = re.compile(r" +|[^ ]+")
_HIDDEN = re.compile("[\u00ad\u061c\u200b\u200e\u200f\u202a-\u202e\u2060-\u2064\u2066-\u206f\ufeff]")
"""Characters that steer layout and leave no ink; joiners stay, since shaping needs them."""


def visible(text: str) -> str:
    """A text without the characters that only steer the layout."""
    return text if text.isascii() else _HIDDEN.sub("", text)


def simple(text: str) -> bool:
    """Whether a text is Latin throughout, with nothing that needs a closer look."""
    return _LATIN.fullmatch(text) is not None and not _HIDDEN.search(text)


def scripts(text: str, language: str) -> list[str]:
    """The script of every character. A text without letters is in the script of its language."""
    own = [_script(c) for c in text]
    last = next((s for s in own if s), script_of_language(language))
    brackets: list[tuple[str, str]] = []
    for i, script in enumerate(own):
        character = text[i]
        if script:
            last = script
        elif character in CLOSING:
            brackets.append((CLOSING[character], last))
        elif brackets and character == brackets[-1][0]:
            last = brackets.pop()[1]
        own[i] = last
    return own


@lru_cache(maxsize=65536)
def _script(character: str) -> str:
    """A letter's script; empty for what is common to several."""
    if character < "\u0250":
        return "Latn" if character.isalpha() else ""
    from fontTools.unicodedata import script

    found = script(character)
    return "" if found in ("Zyyy", "Zinh", "Zzzz") else found


def graphemes(text: str) -> list[tuple[int, int]]:
    """Characters with the marks, joiners and selectors that belong to them, as (start, end)."""
    found: list[tuple[int, int]] = []
    joined = False
    for i, character in enumerate(text):
        if found and (joined or (character > "\u02ff" and _extends(character))):
            found[-1] = (found[-1][0], i + 1)
        else:
            found.append((i, i + 1))
        joined = character == "\u200d"
    return found


def _extends(character: str) -> bool:
    return (
        unicodedata.category(character) in ("Mn", "Mc", "Me")
        or character in "\u200c\u200d"
        or "\U0001f3fb" <= character <= "\U0001f3ff"
    )


def faces_of(
    text: str, own: list[str], language: str, bold: list[bool], faces: Faces
) -> tuple[list[Face], tuple[MissingGlyph, ...]]:
    """The face of every character, and what no face can draw.

    The letters of a word are of one face where one has them all; other characters are looked for one by one.
    """
    chosen: list[Face] = []
    missing: dict[MissingGlyph, None] = {}
    for word in _WORDS.finditer(text):
        start, end = word.span()
        letters = "".join(c for c in word[0] if c.isalpha())
        same = len(set(own[start:end])) == 1 and len(set(bold[start:end])) == 1
        face = faces.find(letters, own[start], language, bold[start]) if same and letters else None
        for at, stop in graphemes(word[0]):
            at, stop = start + at, start + stop
            seen = visible(text[at:stop])
            if isinstance(face, Face) and face.covers(seen):
                found: Face | MissingGlyph = face
            else:
                found = faces.find(seen, own[at], language, bold[at])
            if isinstance(found, MissingGlyph):
                missing[found] = None
                found = faces.primary(own[at], language, bold[at])
            chosen += [found] * (stop - at)
    return chosen, tuple(missing)
