"""Turn two texts into the places where one denies and the other does not."""

from __future__ import annotations

import re

from docgen.language.matching import pattern
from docgen.model.wordlist import WordList

_SENTENCE = re.compile(r"(?<=[.!?…؟।。！？;；])[\"”»')\]]*\s*")


def denials(text: str, words: WordList) -> tuple[str, ...]:
    """The cues that stand in a text, in order."""
    for innocent in words.not_cues:
        text = pattern(innocent, words.language).sub(" ", text)
    found: dict[int, str] = {}
    for cue in sorted(words.negation_cues, key=len):
        for m in pattern(cue, words.language).finditer(text):
            found[m.start()] = m[0]
    return tuple(found[at] for at in sorted(found))


def lost_and_gained(source: str, source_words: WordList, translation: str, words: WordList) -> tuple[bool, bool]:
    """Whether a denial of the source has no counterpart, and whether one stands where the source has none.

    Sentence by sentence where both have the same number of them, else as a whole. Within a sentence languages differ in
    how many words deny (`ne … pas`, `no … nada`), so there more are no gain, but fewer are a loss.
    """
    ours, theirs = _sentences(source), _sentences(translation)
    if len(ours) != len(theirs):
        ours, theirs = [source], [translation]
    lost = gained = False
    for one, other in zip(ours, theirs, strict=True):
        there, here = len(denials(one, source_words)), len(denials(other, words))
        lost |= here < there
        gained |= here > 0 and there == 0
    return lost, gained


def _sentences(text: str) -> list[str]:
    return [s for s in _SENTENCE.split(text) if s.strip()]
