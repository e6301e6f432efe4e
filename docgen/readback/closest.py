"""Say in what way words on a sheet differ from the words they should be: a number, a unit, a negation, or anything."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from difflib import SequenceMatcher

from docgen.readback.stream import Stream, folded, squash

NUMBER = re.compile(r"[-+−±<>≤≥~≈]?\s?\d+(?:[.,:/]\d+)*")
"""A number with its sign; `1:30`, `2.5` and `1/2` are one."""

UNIT = re.compile(r"\d\s?(%|°\s?[CF]|[^\W\d_]{1,12}(?:/[^\W\d_]{1,6})?|µ[^\W\d_]+)")
"""The word right after a number."""

_ENGLISH = """no not never none nothing nobody neither nor without cannot don't don’t doesn't doesn’t isn't isn’t won't
    won’t"""
_SPANISH = "no nunca jamás ningún ninguna ninguno nadie sin tampoco nada"
_FRENCH = "ne pas jamais sans aucun aucune rien ni"
_GERMAN = "nicht nie niemals kein keine keinen keiner keinem ohne"
_PORTUGUESE = "não nunca sem nem nenhum nenhuma"
_ITALIAN = "non mai senza nessun nessuno nessuna"
NEGATIONS = frozenset(
    w for words in (_ENGLISH, _SPANISH, _FRENCH, _GERMAN, _PORTUGUESE, _ITALIAN) for w in words.split()
)
"""From memory. In other languages every difference is reported just the same, only under a less telling name."""

ENOUGH = 0.72
"""Likeness, 0 to 1, from which other words are taken for a changed copy of these."""
SHARED = 0.4
"""Likeness, 0 to 1, that they must have as rows of words, too."""
TAKEN = "\0"
AROUND = 3
"""Words by which a likely place is widened and narrowed to find its best fit."""


@dataclass(frozen=True, slots=True)
class Likeness:
    """The words on the sheet that come closest, and where in the stream."""

    words: str
    start: int
    end: int


def closest(wanted: str, stream: Stream, start: int, end: int, free: Callable[[int, int], bool]) -> Likeness | None:
    """The words in [start, end) that are most like the wanted ones, if any are like enough and not just those.

    `free` tells whether a stretch of the stream is not known to be some other text.
    """
    words = folded(wanted).split()
    size = len(squash(wanted).text)
    just = [(at, at + size) for at in stream.find(squash(wanted), start, end)]
    tokens = [
        t if free(t[1], t[2]) and not any(a < t[2] and t[1] < b for a, b in just) else (TAKEN, t[1], t[2])
        for t in stream.tokens(start, end)
    ]
    if not words or not tokens:
        return None
    there = [t[0] for t in tokens]
    match = SequenceMatcher(None, words, there, autojunk=False).find_longest_match()
    if not match.size:
        return _same_script(wanted, stream, tokens)
    first, last = match.b - match.a, match.b - match.a + len(words)
    best: tuple[float, int, int] = (0.0, 0, 0)
    target = "".join(words)
    for a in range(max(0, first - AROUND), min(len(tokens), first + AROUND + 1)):
        for b in range(max(a + 1, last - AROUND), min(len(tokens), last + AROUND) + 1):
            if TAKEN in there[a:b]:
                continue
            score = SequenceMatcher(None, target, "".join(there[a:b]), autojunk=False).ratio()
            shared = SequenceMatcher(None, words, there[a:b], autojunk=False).ratio()
            if score > best[0] and shared >= SHARED:
                best = (score, a, b)
    score, a, b = best
    return _likeness(stream, tokens, a, b) if score >= ENOUGH else None


def _same_script(wanted: str, stream: Stream, tokens: list[tuple[str, int, int]]) -> Likeness | None:
    """The single run of characters most like the wanted ones, for scripts without spaces."""
    target = "".join(folded(wanted).split())
    scored = [(SequenceMatcher(None, target, t[0], autojunk=False).ratio(), n) for n, t in enumerate(tokens)]
    score, n = max(scored)
    return _likeness(stream, tokens, n, n + 1) if score >= ENOUGH else None


def _likeness(stream: Stream, tokens: list[tuple[str, int, int]], a: int, b: int) -> Likeness:
    start, end = tokens[a][1], tokens[b - 1][2]
    return Likeness(stream.words(start, end), start, end)


def difference(wanted: str, found: str) -> tuple[str, str]:
    """Rule and words for how `found` differs from `wanted`, the gravest first."""
    wanted, found = folded(wanted), folded(found)
    numbers = _lost([_bare(n) for n in NUMBER.findall(wanted)], [_bare(n) for n in NUMBER.findall(found)])
    if numbers:
        return "readback/number-altered", f"the number {numbers}"
    negations = _lost(_negations(wanted), _negations(found))
    if negations:
        return "readback/negation-altered", f"the negation {negations}"
    units = _lost(UNIT.findall(wanted), UNIT.findall(found))
    if units:
        return "readback/unit-altered", f"the unit {units}"
    return "readback/text-altered", "the wording differs"


def _bare(number: str) -> str:
    return number.replace(" ", "").replace("\u00a0", "")


def _negations(words: str) -> list[str]:
    return [w for w in re.findall(r"[^\W\d_]+(?:['’][^\W\d_]+)?", words.casefold()) if w in NEGATIONS]


def _lost(wanted: list[str], found: list[str]) -> str:
    """`` `a` is missing`` or `` `b` is not in the source``; empty when both lists are the same."""
    if wanted == found:
        return ""
    gone = list(wanted)
    new = []
    for item in found:
        if item in gone:
            gone.remove(item)
        else:
            new.append(item)
    if gone and new:
        return f"`{gone[0]}` became `{new[0]}`"
    if gone:
        return f"`{gone[0]}` is missing"
    if new:
        return f"`{new[0]}` is not in the source"
    return "stands elsewhere in the sentence"
