"""Turn texts into readability scores: advice about a whole artifact, never a verdict on one line.

The formulas were made for running text. A step of six words is too short for them, so they are computed over
everything a reader meets, and only above `ENOUGH_WORDS`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

ENOUGH_WORDS = 100
"""Below this a score says more about chance than about the text (Flesch took samples of 100 words; from memory)."""


@dataclass(frozen=True, slots=True)
class Score:
    """One formula's value and what is aimed at."""

    name: str
    value: float
    target: float
    higher_is_easier: bool
    source: str

    @property
    def aim(self) -> str:
        """The target in words: `at least 60`."""
        return f"at {'least' if self.higher_is_easier else 'most'} {self.target:g}"

    @property
    def easy(self) -> bool:
        """Whether the target is met."""
        return self.value >= self.target if self.higher_is_easier else self.value <= self.target


@dataclass(frozen=True, slots=True)
class Sizes:
    """What the formulas count."""

    words: int
    sentences: int
    syllables: int
    long_words: int
    """Of more than six letters."""


def flesch_reading_ease(sizes: Sizes) -> float:
    """Flesch 1948: 206.835 - 1.015 words/sentence - 84.6 syllables/word. Higher is easier."""
    return 206.835 - 1.015 * sizes.words / sizes.sentences - 84.6 * sizes.syllables / sizes.words


def flesch_kincaid(sizes: Sizes) -> float:
    """Kincaid and others 1975: US school grade, 0.39 words/sentence + 11.8 syllables/word - 15.59."""
    return 0.39 * sizes.words / sizes.sentences + 11.8 * sizes.syllables / sizes.words - 15.59


def szigriszt(sizes: Sizes) -> float:
    """Szigriszt-Pazos 1993: 206.835 - 62.3 syllables/word - words/sentence; read with the INFLESZ bands."""
    return 206.835 - 62.3 * sizes.syllables / sizes.words - sizes.words / sizes.sentences


def lix(sizes: Sizes) -> float:
    """Björnsson 1968: words/sentence + 100 long words/words. Needs no syllables, so it serves every spaced script."""
    return sizes.words / sizes.sentences + 100 * sizes.long_words / sizes.words


def measure(sentences: Iterable[Sequence[str]], language: str) -> tuple[Score, ...]:
    """The scores of sentences given as words. Empty when there are too few words, or none is known for the language."""
    root = language.split("-")[0].lower()
    sizes = count(sentences, root)
    if sizes.words < ENOUGH_WORDS or root in {"zh", "ja", "th", "km", "lo", "my"}:
        return ()
    if root == "en":
        return (
            Score("Flesch Reading Ease", flesch_reading_ease(sizes), 60, True, "Flesch 1948"),
            Score("Flesch-Kincaid grade", flesch_kincaid(sizes), 8, False, "Kincaid and others 1975"),
        )
    if root == "es":
        source = "Szigriszt-Pazos 1993, bands of Barrio-Cantalejo 2008"
        return (Score("INFLESZ", szigriszt(sizes), 65, True, source),)
    return (Score("LIX", lix(sizes), 40, False, "Björnsson 1968 (bands from memory)"),)


def count(sentences: Iterable[Sequence[str]], language: str) -> Sizes:
    """Count words that have letters, their sentences, syllables and long words."""
    counted = [_count(tuple(sentence), language) for sentence in sentences]
    return Sizes(*map(sum, zip(*counted, strict=True))) if counted else Sizes(0, 0, 0, 0)


@lru_cache(maxsize=8192)
def _count(sentence: tuple[str, ...], language: str) -> tuple[int, int, int, int]:
    """Of one sentence: words, sentences, syllables, long words. Kept for the process, as the syllables are."""
    lettered = [w for w in sentence if w.isalpha() or any(map(str.isalpha, w))]
    long_words = sum(len(w) > 6 and sum(map(str.isalnum, w)) > 6 for w in lettered)
    return len(lettered), bool(lettered), sum(syllables(w.lower(), language) for w in lettered), long_words


@lru_cache(maxsize=20_000)
def syllables(word: str, language: str = "en") -> int:
    """Syllables of one word, at least 1. English by rule of thumb, Spanish by its spelling, others by vowel groups.

    Kept for the process: the same few hundred words come in every step.
    """
    parts = [p for p in re.split(r"[^\w]+|_", word.lower()) if p]
    one = {"en": _english, "es": _spanish}.get(language.split("-")[0].lower(), _vowel_groups)
    return max(1, sum(max(1, one(p)) for p in parts))


_GROUPS = re.compile("[aeiouyàâäáæèéêëìíîïòóôöœùúûüýÿåø]+")


def _vowel_groups(word: str) -> int:
    return len(_GROUPS.findall(word))


# Rules of thumb for English spelling: a silent ending takes one syllable off a count of vowel groups, two vowels that
# are spoken apart add one. Measured against a pronouncing dictionary by the tests.
_SILENT = re.compile(
    r"(?:[^aeiouy]|[aeiouy]qu|[aeiouy]gu)e$"  # remove, technique, league
    r"|[^aeiouytd]ed$"  # removed, but not rotated
    r"|(?<![csxzg])(?<!ch)(?<!sh)(?<=[^aeiouy])es$"  # sleeves, but not cases
)
_SPOKEN_LE = re.compile(r"[^aeiouyl]le[sd]?$")
_APART = re.compile(
    r"ia(?!l(?:ly)?$)(?<!cia)(?<!tia)|io(?<!cio)(?<!tio)(?<!sio)(?<!gio)|iu(?!m?s?$)|ium|ius|eo(?!u)(?<!peo)|uou"
    r"|ua(?<!qua)(?<!gua)|ue(?=t|l)(?<!que)(?<!gue)|[aeiouy]ing|ier(?!c)|iest|sms?$|[drt]ea(?=s?$)|[dt]erial"
    r"|creat|react|rea(?=p)|riet|quiet|scien|diet|client|cipien"
)
_INNER_E = re.compile(
    r"(?<=[a-z][^aeiouy])(?<![^aeiouy]l)e(?=(?:less|ful|fully|ly|ty|ment|ments|ness|some|thing|where|times?|one|proof|body|guard|pieces?|wear)$)"
    r"|(?<=^her)e(?=[bo])|(?<=^ther)e(?=[afo])|(?<=^wher)e(?=[bou])|(?<=^lik)e(?=w)|(?<=^ev)e(?=ry)|(?<=^guid)e(?=l)|(?<=^fac)e(?=[^aeiousdmtlr])"
)


def _english(word: str) -> int:
    word = re.sub(r"['’]s?$", "", word)
    if not word.isascii():
        return _vowel_groups(word)
    word = re.sub(r"(?<=[aeou])y(?=[aeiou])", "j", word)
    word = _INNER_E.sub("", re.sub(r"ically$", "icly", word))
    silent = bool(_SILENT.search(word)) and not _SPOKEN_LE.search(word)
    return max(1, len(_GROUPS.findall(word)) - silent) + len(_APART.findall(word))


_WEAK = "iuü"
_SPANISH_VOWEL = re.compile("[aeiouáéíóúü]")


def _spanish(word: str) -> int:
    """A vowel makes a syllable, unless a weak one (i, u without accent) leans on its neighbour."""
    word = re.sub(r"qu(?=[eiéí])|gu(?=[eiéí])", "q", word)
    word = re.sub(r"y$", "i", word).replace("y", "ñ")
    word = re.sub(r"(?<=[aeiouáéíóúü])h(?=[iuü])", "", word)
    total, previous = 0, ""
    for letter in word:
        if _SPANISH_VOWEL.match(letter):
            apart = previous not in _WEAK and letter not in _WEAK
            total += not previous or apart
            previous = letter
        else:
            previous = ""
    return total
