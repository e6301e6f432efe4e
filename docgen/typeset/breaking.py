"""Turn a paragraph into the places where a line of it may end.

ICU applies UAX #14 (https://www.unicode.org/reports/tr14/) with its dictionaries for Thai, Lao, Khmer and Burmese, and
strict rules for Japanese. Then this project's own rule takes places away, never adds one: a measure, a range, a number
or a code is not torn apart, because half of it at the end of a line reads as another value. Nothing is hyphenated.
"""

from __future__ import annotations

import re

_UNITS = (
    r"°C|°F|K|%|‰|m?s|min|h|d|[mµμd]?[lL]|[mcµμnk]?m|in|ft|[kmµμ]?g|m?mol|[kKhM]?Pa|m?bar|psi|mmHg|k?W|k?V|A|[kM]?Hz|dB|"
    r"lx|lm|k?J|N|I?U|pp[mb]|cfu|oz|lb|gal|secs?|mins|hrs?"
)
"""Symbols that stay with the number before them: SI Brochure (9th edition) tables 2, 4 and 8, and US customary ones."""

_TOGETHER = re.compile(
    rf"\d[ ]+(?=(?:{_UNITS})(?!\w)|[±×−–-][ ]?\d|\d)"  # 20 mL, 20 – 30, 555 0100
    r"|(?<!\w)[≥≤<>±=×≈~−–+-][ ]+(?=\d)"  # ≥ 20, - 20
)
_DIGIT = re.compile(r"\d")
_JOINERS = "-\u2010\u2012\u2013\u2014\u2212/\\_.,:;+&=@#·×"
_CODE = re.compile(rf"(?:[^\W\d_]|[0-9]|[{re.escape(_JOINERS)}])+")
_UNSPACED = re.compile(r"[\u0e00-\u0eff\u1000-\u109f\u1780-\u17ff\u2e80-\u9fff\uac00-\ud7af\uf900-\ufaff\uff00-\uffef]")
"""Thai, Lao, Burmese, Khmer and East Asian characters, whose words are not told apart by spaces."""

_LETTER = r"[^\W_]"
_TOKEN = rf"[(\"“‘]?{_LETTER}+(?:[-–/.,:'’%°+=&]{_LETTER}+)*%?(?:[.,;:!?]?[)\"”’]?|[)\"”’][.,;:!?])"
_SIGN = "[-–—·•→≥≤×≈±+=&|<>]"
_PLAIN = re.compile(rf"(?:{_SIGN} +)?{_TOKEN}(?: +(?:{_SIGN} +)?{_TOKEN})* *")
_FOREIGN = re.compile(r"[^\x20-\x7e\u00a1-\u024f\u1e00-\u1eff–—‘’“”•→≥≤≈]")
_AFTER_JOINER = re.compile(r" +(?=[^ ])|(?<=[-–/])(?=\w)")


def breaks(text: str, language: str) -> tuple[int, ...]:
    """Offsets, in characters, at which a line of `text` may end, ascending; the end of the text is the last one.

    After a newline the line must end; the caller sees the newline. `language` is a BCP 47 tag.
    """
    if not text:
        return ()
    found = _simple(text) if plain(text) else _unicode(text, language)
    return (*_kept(text, found), len(text))


def _kept(text: str, found: list[int]) -> list[int]:
    """Those places within the text that our own rule leaves."""
    glued = {m.end() for m in _TOGETHER.finditer(text)} if _DIGIT.search(text) else ()
    last = len(text)
    return [i for i in found if i < last and i not in glued and (text[i - 1] == " " or _may_end(text, i))]


def plain(text: str) -> bool:
    """Whether a text is so simple (Latin words, single spaces and joiners) that ICU need not be asked."""
    return not _FOREIGN.search(text) and _PLAIN.fullmatch(text) is not None


def _simple(text: str) -> list[int]:
    """What UAX #14 says of plain text: after spaces, and after hyphens, en dashes and slashes."""
    return [m.end() for m in _AFTER_JOINER.finditer(text)]


def _unicode(text: str, language: str) -> list[int]:
    from icu4py.breakers import LineBreaker

    locale = "ja-u-lb-strict" if language.partition("-")[0] == "ja" else language or "en"
    ends = [end for _, end in LineBreaker(text, locale).segments()]
    if max(text) > "\uffff":  # ICU counts UTF-16 code units
        units = [0]
        for character in text:
            units.append(units[-1] + (2 if character > "\uffff" else 1))
        place = {unit: i for i, unit in enumerate(units)}
        ends = [place[end] for end in ends]
    return ends


def _may_end(text: str, i: int) -> bool:
    """Whether our own rule leaves a place where UAX #14 lets a line end."""
    before, after = text[i - 1], text[i]
    if before.isspace() or before == "\u200b":
        return True
    if before.isdecimal() or after in "-\u2010\u2012\u2013\u2014\u2212/":
        return False
    if before not in _JOINERS:
        return True
    if after.isdecimal():
        return False
    if _UNSPACED.match(after):
        return True
    for token in _CODE.finditer(text, max(0, text.rfind(" ", 0, i))):
        if token.end() > i:
            code = any(c.isdecimal() for c in token[0])
            return not code and text[i - 3 : i - 1].isalpha() and text[i : i + 2].isalpha()
    return True
