"""Turn the numbers of an edition into findings: every number has a unit or counts something, and is written safely."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from itertools import pairwise

from docgen.analysis.wording.matching import NEVER
from docgen.analysis.wording.passages import Passage, Reading, found, quote
from docgen.findings import Finding
from docgen.model.moment import Rule
from docgen.model.wordlist import WordList

_NUMBER = re.compile(r"(?<![\w.,:/+–-])\d+(?:[.,]\d+)*(?![\w:/]|[.,]\d)")
_BARE_DECIMAL = re.compile(r"(?<![\w.,)])[.,]\d+")
_TRAILING_ZERO = re.compile(r"(?<![\w.,])\d+[.,]0(?![\w]|[.,]\d)")
_NEXT = re.compile(r"\s*([^\s.,;:!?()]+)?")
_LONG_NUMBER = 5
"""Digits from which a bare number is taken for a telephone or document number."""

UNIT = Rule(
    "wording/number-without-unit",
    "A number has a unit or says what it counts.",
    "`Wait 30` is half a minute to one reader and half an hour to another.",
    "UK HSE HSG48, style audit: give quantitative values and limits",
    "Numbers that name something: `step 4`, `room 12`, `dial 5555`.",
    (("every profile", "warning"),),
    example="`Rub for 20` → `Rub for 20 seconds`",
)
UNIT_SPACE = Rule(
    "wording/unit-without-space",
    "A space stands between a number and its unit.",
    "`10ml` is read as `1 Oml` in bad light, and a translator's tools do not see the unit.",
    "SI Brochure, 5.4.3 (from memory)",
    "",
    (("every profile", "warning"),),
    example="`20s` → `20 s`",
)
DECIMAL_ZERO = Rule(
    "wording/decimal-zero",
    "A decimal number has a zero in front of its point and none alone behind it.",
    "A point that is overlooked makes the number ten times as large.",
    "The Joint Commission, official do-not-use list (from memory): no trailing zero, no lack of a leading zero",
    "",
    (("every profile", "warning"),),
    example="`.5 %` → `0.5 %`; `5.0 ml` → `5 ml`",
)
DIGITS = Rule(
    "wording/number-in-words",
    "A quantity with a unit is written in digits.",
    "Digits are found at a glance, and can be compared between languages by a program.",
    "common practice, no source",
    "Counts of things may be words: `two fingers`.",
    (("every profile", "warning"),),
    example="`twenty seconds` → `20 seconds`",
)


def number_without_unit(reading: Reading) -> Iterator[Finding]:
    """Numbers that neither measure nor count."""
    words = reading.words
    if not words.units:
        return
    for passage in reading.passages:
        if passage.field in {"name", "title"} or not passage.cut.digits:
            continue
        text = passage.plain
        for start, last in _quantities(text, words):
            if _is_bare(text, start, last, words):
                context = text[max(0, start - 30) : last.end() + 20].strip()
                yield found(
                    UNIT, passage, f"the number {last.group()} has no unit: {quote(context)}",
                    "write the unit behind it, or what it counts",
                )  # fmt: skip


def _quantities(text: str, words: WordList) -> Iterator[tuple[int, re.Match[str]]]:
    """Where each number or range begins, and its last number. Groups of digits are a telephone number: left out."""
    numbers = list(_NUMBER.finditer(text))
    between = ["", *(text[a.end() : b.start()] for a, b in pairwise(numbers)), ""]
    for i, match in enumerate(numbers):
        before, after = between[i], between[i + 1]
        if " " in (before, after) or _is_range(after, words):
            continue
        yield (numbers[i - 1] if _is_range(before, words) else match).start(), match


def _is_bare(text: str, start: int, match: re.Match[str], words: WordList) -> bool:
    if sum(c.isdigit() for c in match.group()) >= _LONG_NUMBER:
        return False
    before = text[:start].rstrip(" #:(*")
    last = before.rsplit(None, 1)[-1] if before else ""
    if (len(last) > 1 and last.isupper()) or _labelled(words).search(before.lower()):
        return False
    after = _NEXT.match(text, match.end())
    counted = (after.group(1) or "") if after else ""
    return not counted or counted.lower() in words.stops


@lru_cache(maxsize=32)
def _labelled(words: WordList) -> re.Pattern[str]:
    inner = "|".join(re.escape(w) for w in sorted(words.labels, key=lambda w: (-len(w), w)))
    return re.compile(rf"(?<!\w)(?:{inner})$") if inner else NEVER


def _is_range(between: str, words: WordList) -> bool:
    return between.strip() in {"-", "–", "—", "/"} or between.strip().lower() in words.range_words


@lru_cache(maxsize=32)
def _glued(words: WordList) -> re.Pattern[str]:
    inner = "|".join(re.escape(u) for u in sorted(words.units, key=lambda u: (-len(u), u)))
    return re.compile(rf"(?<![\w.,])(\d+(?:[.,]\d+)?)({inner})(?!\w)") if inner else NEVER


@lru_cache(maxsize=32)
def _in_words(words: WordList) -> re.Pattern[str]:
    if not words.number_words:
        return NEVER
    number = "|".join(sorted(words.number_words, key=lambda w: (-len(w), w)))
    unit = "|".join(sorted((u.lower() for u in words.units if len(u) > 3), key=lambda w: (-len(w), w)))
    between = "|".join(sorted(words.range_words)) or "-"
    return re.compile(rf"(?<!\w)(?:{number})(?:(?:\s+(?:{between})\s+|-)(?:{number}))?\s+(?:{unit})(?!\w)")


def unit_without_space(reading: Reading) -> Iterator[Finding]:
    """`20s`."""
    pattern = _glued(reading.words)
    for passage in reading.passages:
        for match in pattern.finditer(passage.plain) if passage.cut.digits else ():
            yield found(
                UNIT_SPACE, passage, f"no space between number and unit in `{match.group()}`",
                f"write `{match.group(1)} {match.group(2)}`",
            )  # fmt: skip


def decimal_zero(reading: Reading) -> Iterator[Finding]:
    """`.5` and `5.0`."""
    for passage in reading.passages:
        if passage.cut.digits:
            yield from _decimals(passage)


def _decimals(passage: Passage) -> Iterator[Finding]:
    for match in _BARE_DECIMAL.finditer(passage.plain):
        yield found(
            DECIMAL_ZERO, passage, f"the decimal point of `{match.group()}` is easily overlooked",
            f"write `0{match.group()}`",
        )  # fmt: skip
    for match in _TRAILING_ZERO.finditer(passage.plain):
        before = passage.plain[: match.start()].rstrip().rsplit(None, 1)
        if before and before[-1].lower() == "version":
            continue
        whole = match.group()[:-2]
        yield found(
            DECIMAL_ZERO, passage, f"`{match.group()}` is read as `{whole}0` when the point is overlooked",
            f"write `{whole}`",
        )  # fmt: skip


def number_in_words(reading: Reading) -> Iterator[Finding]:
    """`twenty seconds`."""
    pattern = _in_words(reading.words)
    for passage in reading.passages:
        for match in pattern.finditer(passage.cut.low):
            yield found(
                DIGITS, passage, f"a quantity in words: `{match.group()}`", "write the number in digits"
            )  # fmt: skip
