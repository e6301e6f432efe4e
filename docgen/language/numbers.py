"""Turn texts of two languages into their numbers and units, and say where they differ."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from babel.units import format_unit

from docgen.language.local import decimal_mark, locale_of, spaced
from docgen.model.wordlist import WordList

UNITS = {
    # CLDR's name: symbols that are the same in every language (SI Brochure, 9th edition)
    "duration-second": ("s", "sec"),
    "duration-minute": ("min",),
    "duration-hour": ("h", "hr"),
    "duration-day": (),
    "duration-week": (),
    "duration-month": (),
    "duration-year": (),
    "volume-milliliter": ("mL", "ml"),
    "volume-centiliter": ("cL", "cl"),
    "volume-liter": ("L", "l"),
    "length-millimeter": ("mm",),
    "length-centimeter": ("cm",),
    "length-meter": ("m",),
    "length-kilometer": ("km",),
    "length-inch": (),
    "length-foot": (),
    "mass-microgram": ("µg", "μg", "mcg"),
    "mass-milligram": ("mg",),
    "mass-gram": ("g",),
    "mass-kilogram": ("kg",),
    "temperature-celsius": ("°C",),
    "temperature-fahrenheit": ("°F",),
    "concentr-percent": ("%", "٪", "％"),
    "pressure-pascal": ("Pa",),
    "pressure-kilopascal": ("kPa",),
    "ppm": ("ppm",),
    "mL/min": ("mL/min", "ml/min"),
}
_LONG_ONLY = ("duration-day", "duration-week", "duration-month", "duration-year", "length-inch", "length-foot")
"""Units whose abbreviations are words as well: Spanish `20 a 30`, English `3 in`."""
_COUNTS = (0, 1, 2, 3, 5, 11, 20, 100, 1.5)
"""Numbers that between them show every plural form of CLDR."""

_LONGEST = 24
"""Characters of a unit's name."""
_SLOT = re.compile(r"\{[^{}]*\}")
_NUMBER = re.compile(r"\d+(?:[.,٫٬\u202f\u00a0]\d+)*")
_LETTERS = re.compile(r"[^\d.,]+")


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number as it means, `0.5`, and the unit that follows it, or empty."""

    number: str
    unit: str = ""

    def __str__(self) -> str:
        return f"{self.number} {self.unit.rpartition('-')[2]}".strip()


def quantities(text: str, language: str, names: Mapping[str, str]) -> tuple[Quantity, ...]:
    """Every number of a text, in order, with its unit. Slots are left out; what fills them is looked at by itself.

    `names`: those of units, from `unit_names`.
    """
    text = _SLOT.sub(" ", text)
    out = []
    for found in _NUMBER.finditer(text):
        before, after = text[: found.start()], text[found.end() :]
        out.append(Quantity(_plain(found[0], language), _unit(before, after, names, language)))
    return tuple(out)


def differing(
    source: tuple[Quantity, ...], translation: tuple[Quantity, ...]
) -> tuple[list[str], list[str], list[tuple[Quantity, Quantity]]]:
    """Numbers lost, numbers gained, and numbers whose unit is another.

    The first of a range may have its own unit or not (`3 to 4 seconds`, `3 s – 4 s`), so a number without one may also
    have that of the next number.
    """
    old, new = Counter(q.number for q in source), Counter(q.number for q in translation)
    lost, gained = sorted((old - new).elements()), sorted((new - old).elements())
    changed: list[tuple[Quantity, Quantity]] = []
    left = list(translation)
    for n, quantity in enumerate(source):
        same = [q for q in left if q.number == quantity.number]
        if not same:
            continue
        allowed = {quantity.unit}
        if not quantity.unit and n + 1 < len(source):
            allowed.add(source[n + 1].unit)
        best = next((q for q in same if q.unit in allowed), same[0])
        left.remove(best)
        if best.unit not in allowed:
            at = translation.index(best)
            lends = at + 1 < len(translation) and not best.unit and translation[at + 1].unit in allowed
            if not lends:
                changed.append((quantity, best))
    return lost, gained, changed


def _plain(written: str, language: str) -> str:
    """`1.000,5` → `1000.5`: digits of any script, marks as the language uses them."""
    digits = "".join(str(unicodedata.digit(c)) if c.isdigit() else c for c in written)
    digits = digits.replace("٫", decimal_mark(language) if decimal_mark(language) in ".," else ".").replace("٬", " ")
    mark = max(digits.rfind("."), digits.rfind(","))
    if mark < 0:
        return re.sub(r"\s", "", digits)
    whole, sign, part = digits[:mark], digits[mark], digits[mark + 1 :]
    groups = len(part) == 3 and (sign != decimal_mark(language) or sign in whole)
    joined = re.sub(r"[.,\s]", "", whole)
    return f"{joined}{part}" if groups else f"{joined}.{part}"


def _unit(before: str, after: str, names: Mapping[str, str], language: str) -> str:
    rest = after.lstrip(" \u00a0\u202f-‑")
    if after and len(after) - len(rest) <= 1:
        for length in range(min(len(rest), _LONGEST), 0, -1):
            known = names.get(rest[:length]) or names.get(rest[:length].casefold())
            if known and _ends(rest, length, language):
                return known
    return "concentr-percent" if before.rstrip(" \u00a0")[-1:] in ("%", "٪") else ""


def _ends(rest: str, length: int, language: str) -> bool:
    """Whether a word ends there; in a script without blanks it may end anywhere."""
    follows = rest[length : length + 1]
    if rest[length - 1] in "%٪％":
        return True
    if follows in "'’" and follows:
        return False
    if follows == "/" or (follows.isalnum() or unicodedata.category(follows or " ").startswith("M")):
        return not spaced(language) and follows != "/" and not follows.isascii()
    return True


def unit_names(language: str, words: WordList | None) -> Mapping[str, str]:
    """How a unit may be written in a language → CLDR's name of it. Words also in lower case."""
    out: dict[str, str] = {}
    locale = locale_of(language)
    for unit, symbols in UNITS.items():
        forms = set(symbols)
        lengths = ("long",) if unit in _LONG_ONLY else ("long", "short")
        for length in lengths if locale and "-" in unit else ():
            for count in _COUNTS:
                written = format_unit(count, unit, length=length, locale=locale, numbering_system="latn")  # type: ignore[arg-type]  # Babel wants a Literal
                if unit not in written:
                    forms |= {part.strip(" \u00a0\u202f") for part in _LETTERS.findall(written)}
        for form in forms - {""}:
            out.setdefault(form, unit)
            if len(form) > 2:
                out.setdefault(form.casefold(), unit)
    for name, own in words.unit_names if words else ():
        unit = next((u for u in UNITS if u == name or u.partition("-")[2] == name), name)
        for form in own:
            out[form] = unit
            out.setdefault(form.casefold(), unit)
    return out
