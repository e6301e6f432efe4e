"""Turn words into the scripts their letters belong to, by the Unicode names of the letters."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

from docgen.language.local import script_of

NAMES = {
    "Latn": ("LATIN",), "Cyrl": ("CYRILLIC",), "Grek": ("GREEK",), "Arab": ("ARABIC",), "Hebr": ("HEBREW",),
    "Deva": ("DEVANAGARI",), "Beng": ("BENGALI",), "Taml": ("TAMIL",), "Mlym": ("MALAYALAM",), "Thai": ("THAI",),
    "Khmr": ("KHMER",), "Ethi": ("ETHIOPIC",), "Hans": ("CJK",), "Hant": ("CJK",), "Hang": ("HANGUL",),
    "Kore": ("HANGUL", "CJK"), "Jpan": ("CJK", "HIRAGANA", "KATAKANA"),
}  # fmt: skip
"""ISO 15924 → the first words of its letters' Unicode names. A script that is not here is not judged."""
LOOK_ALIKE = frozenset({"LATIN", "CYRILLIC", "GREEK"})
"""Scripts with letters of the same shape."""

_WORD = re.compile(r"[^\W\d_]+")


@lru_cache(maxsize=8192)
def script_name(letter: str) -> str:
    """`LATIN`, `CYRILLIC`, `CJK`, …; empty for what is no letter of a script (`µ`, `º`)."""
    if letter in "µªºʼ":
        return ""
    return unicodedata.name(letter, "").partition(" ")[0].partition("-")[0]


def mixed_word(text: str) -> str:
    """A word with letters of two scripts that look alike, or empty."""
    for word in _WORD.findall(text):
        if len({script_name(c) for c in word} & LOOK_ALIKE) > 1:
            return word
    return ""


def letters_of(text: str, language: str) -> int:
    """How many letters are of the language's script."""
    own = NAMES.get(script_of(language), ())
    return sum(script_name(c) in own for c in text if c.isalpha())


def foreign_words(text: str, language: str) -> list[str]:
    """Words in another script than the language's; none when its script is not known here."""
    own = NAMES.get(script_of(language))
    if own is None:
        return []
    return [w for w in _WORD.findall(text) if not any(script_name(c) in (*own, "") for c in w)]


def width(text: str) -> int:
    """Columns: a wide character takes two, a mark none (Unicode Annex 11)."""
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text
    )  # fmt: skip
