"""Turn words with `*` for endings into patterns, as whole words where a language parts its words by blanks."""

from __future__ import annotations

import re
from functools import lru_cache

from docgen.language.local import spaced

_MARK = r"[\u064b-\u0652\u0670\u0640]*"
"""Arabic vowel marks and lengthening, which may stand or not."""
_WORD = r"[\w\u0300-\u036f\u0900-\u0903\u093a-\u094f\u200c\u200d]"
"""A letter or a mark that belongs to its word."""


@lru_cache(maxsize=4096)
def pattern(words: str, language: str) -> re.Pattern[str]:
    """Finds these words, whatever their case."""
    parts = words.split()
    if not spaced(language):
        return re.compile(r"\s*".join(_letters(part.strip("*")) for part in parts), re.IGNORECASE)
    return re.compile(r"\s+".join(_word(part) for part in parts), re.IGNORECASE)


def _word(part: str) -> str:
    core = part.strip("*")
    left = rf"{_WORD}*" if part.startswith("*") else rf"(?<!{_WORD})"
    right = rf"{_WORD}*" if part.endswith("*") else "" if core.endswith(("'", "’")) else rf"(?!{_WORD})"
    return left + _letters(core) + right


def _letters(part: str) -> str:
    return "".join("['’]" if c in "'’" else re.escape(c) + (_MARK if "\u0600" <= c <= "\u06ff" else "") for c in part)


def holds(text: str, words: str, language: str) -> bool:
    """Whether a text has these words."""
    return pattern(words, language).search(text) is not None
