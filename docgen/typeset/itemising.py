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

_LATIN = re.compile(r"[\x00-\u024f\u1e00-\u1eff\u2000-\u206f\u20a0-\u20bf\u2100-\u214f\u2190-\u22ff\u2460-\u27bf]*")
_SCRIPTS = {
    "ar": "Arab", "fa": "Arab", "ur": "Arab", "ps": "Arab", "sd": "Arab", "ug": "Arab", "ckb": "Arab",
    "he": "Hebr", "yi": "Hebr", "dv": "Thaa", "hi": "Deva", "mr": "Deva", "ne": "Deva", "th": "Thai", "km": "Khmr",
    "lo": "Laoo", "my": "Mymr", "bn": "Beng", "ta": "Taml", "te": "Telu", "gu": "Gujr", "pa": "Guru", "kn": "Knda",
    "ml": "Mlym", "si": "Sinh", "am": "Ethi", "ti": "Ethi", "ru": "Cyrl", "uk": "Cyrl", "bg": "Cyrl", "el": "Grek",
    "hy": "Armn", "ka": "Geor", "zh": "Hani", "ja": "Hani", "ko": "Hang",
}  # fmt: skip
"""The script a language is usually written in (CLDR likely subtags); every other language: Latin."""

_RTL = frozenset({"Arab", "Hebr", "Thaa", "Syrc", "Nkoo", "Adlm", "Rohg"})
_HIDDEN = re.compile("[\u00ad\u061c\u200b\u200e\u200f\u202a-\u202e\u2060-\u2064\u2066-\u206f\ufeff]")
"""Characters that steer layout and leave no ink; joiners stay, since shaping needs them."""


def script_of_language(language: str) -> str:
    """The script (ISO 15924) of a BCP 47 tag: as stated, or the usual one."""
    subtags = language.split("-")
    stated = next((s for s in subtags[1:] if len(s) == 4 and s.isalpha()), "")
    if stated:
        return {"Hans": "Hani", "Hant": "Hani", "Jpan": "Hani", "Kore": "Hang"}.get(stated.title(), stated.title())
    return _SCRIPTS.get(subtags[0].lower(), "Latn")


def written_rightward(language: str) -> bool:
    """Whether a language is written from right to left."""
    return script_of_language(language) in _RTL


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
    """The face of every character, chosen for whole graphemes, and what no face can draw."""
    chosen: list[Face] = []
    missing: dict[MissingGlyph, None] = {}
    for start, end in graphemes(text):
        found = faces.find(visible(text[start:end]), own[start], language, bold[start])
        if isinstance(found, MissingGlyph):
            missing[found] = None
            found = faces.primary(own[start], language, bold[start])
        chosen += [found] * (end - start)
    return chosen, tuple(missing)
