"""Turn days and times as people write them by hand into days and seconds, and never guess."""

from __future__ import annotations

import datetime
import re
import unicodedata

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})")
_DOTTED = re.compile(r"(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})")
"""Day first, wherever days are written with dots (DIN 5008, and common practice)."""
_SLASHED = re.compile(r"(\d{1,2})[/-](\d{1,2})[/-](\d{4})")
_DAY_NAMED = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[\s-]+([a-z]{3,9})\.?,?[\s-]+(\d{4})")
_MONTH_NAMED = re.compile(r"([a-z]{3,9})\.?\s+(\d{1,2})(?:st|nd|rd|th)?,?\s+(\d{4})")
_CLOCK = re.compile(r"(?<!\d)([01]?\d|2[0-3])[:.h]([0-5]\d)(?:[:.]([0-5]\d))?(?!\d)")
_COLONS = re.compile(r"(?<!\d)\d{1,2}:\d{2}(:\d{2})?(?!\d)")
_FULL = ("january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november",
         "december")  # fmt: skip
FIRST_YEAR, LAST_YEAR = 2000, 2199
"""Beyond these a year is a slip of the pen."""


def day_of(written: str) -> datetime.date | None:
    """The day that some words name, alone or with a time after it; None if they name none, or could mean two."""
    words = _digits(written).strip().lower()
    words = _COLONS.sub("", words.replace("t", " ", 1) if _ISO.match(words) else words).strip(" ,;")
    if found := _ISO.fullmatch(words):
        return _day(*found.groups())
    if found := _DOTTED.fullmatch(words):
        return _day(found[3], found[2], found[1])
    if found := _SLASHED.fullmatch(words):
        one, other, year = found.groups()
        if one != other and int(one) <= 12 and int(other) <= 12:
            return None  # 3/5 is in March for some and in May for others
        return _day(year, other, one) if int(one) > 12 else _day(year, one, other)
    if found := _DAY_NAMED.fullmatch(words):
        return _day(found[3], _month(found[2]), found[1])
    if found := _MONTH_NAMED.fullmatch(words):
        return _day(found[3], _month(found[1]), found[2])
    return None


def seconds_between(written: str) -> float | None:
    """Seconds from the first to the second time of day in some words, `10:02 – 10:31`; None unless there are two."""
    times = [int(h) * 3600 + int(m) * 60 + int(s or 0) for h, m, s in _CLOCK.findall(_digits(written))]
    if len(times) != 2 or re.search(r"[ap]\.?\s?m", written, re.IGNORECASE):
        return None
    return float((times[1] - times[0]) % 86400)


def _digits(words: str) -> str:
    """Digits of any script as 0 to 9."""
    return "".join(str(unicodedata.digit(c)) if c.isdecimal() else c for c in words[:200])


def _month(name: str) -> str:
    known = name in _FULL or name in MONTHS or name == "sept"
    return str(MONTHS.index(name[:3]) + 1) if known else "0"


def _day(year: str, month: str, day: str) -> datetime.date | None:
    try:
        found = datetime.date(int(year), int(month), int(day))
    except ValueError:
        return None
    return found if FIRST_YEAR <= found.year <= LAST_YEAR else None
