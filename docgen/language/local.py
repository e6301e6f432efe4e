"""Turn dates into a language's own form, and know its numbers and units, by CLDR through Babel."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from functools import cache

from babel import Locale, UnknownLocaleError
from babel.core import get_global
from babel.dates import format_date

from docgen.language.pseudo import PSEUDO, pseudo


@cache
def locale_of(language: str) -> Locale | None:
    """CLDR's data of a language tag, or of the language alone; None if there are none."""
    tags = [language, language.split("-")[0]]
    for tag in tags:
        try:
            return Locale.parse(tag, sep="-")
        except (UnknownLocaleError, ValueError):
            continue
    return None


def long_date(language: str) -> Callable[[datetime.date], str]:
    """How a date is written out in a language; ISO 8601 where CLDR does not know it."""
    locale = locale_of("en" if language == PSEUDO else language)

    def written(day: datetime.date) -> str:
        if locale is None:
            return day.isoformat()
        words = format_date(day, "long", locale=locale)
        return pseudo(words) if language == PSEUDO else words

    return written


@cache
def decimal_mark(language: str) -> str:
    """`.` or `,`."""
    locale = locale_of(language)
    return locale.number_symbols.get("latn", {}).get("decimal", ".") if locale else "."


@cache
def script_of(language: str) -> str:
    """ISO 15924 code of the script a language is written in, by its tag or CLDR's likely subtags."""
    parts = language.split("-")
    if len(parts) > 1 and len(parts[1]) == 4:
        return parts[1]
    likely: Mapping[str, str] = get_global("likely_subtags")
    found = likely.get(parts[0], "").split("_")
    return found[1] if len(found) > 1 else "Latn"


UNSPACED = frozenset({"Hans", "Hant", "Hani", "Jpan", "Thai", "Laoo", "Khmr", "Mymr"})
"""Scripts that do not part words by blanks."""


def spaced(language: str) -> bool:
    """Whether words are parted by blanks."""
    return script_of(language) not in UNSPACED


def own_name(language: str) -> str:
    """What a language calls itself: `español`; its tag where CLDR does not know it."""
    locale = locale_of(language)
    return (locale.get_display_name(locale) if locale else None) or language
