"""Turn a reworded text into the reason why it changes what people do, or none if it is other words for the same.

A program can't tell what a sentence means, so it errs on the safe side. A text is only reworded if all its words are
still there, in the same order, but for the small ones that carry no instruction (`the`, `your`, `please`). Words that
the word list holds for the same (`remove`, `take off`) are the same. Everything else may change what is done.
"""

from __future__ import annotations

import re
from collections import Counter
from functools import lru_cache

from docgen.model.wordlist import WordList

SMALL = frozenset(
    ("the", "a", "an", "your", "its", "their", "this", "that", "these", "those", "it", "them", "is", "are", "be",
     "been", "was", "were", "has", "have", "please", "just", "very", "there")
)  # fmt: skip
"""Words of the source language without which an instruction says the same."""
_WORD = re.compile(r"\d+(?:[.,:/]\d+)*|[^\W\d_]+(?:['-][^\W\d_]+)*|[%°<>≤≥±×]")


def why(old: str, new: str, words: WordList | None) -> str:
    """Why these words of the source language count as doing something else; empty if they say the same otherwise."""
    if words is None:
        return "no word list tells whether it means the same"
    if not old or not new:
        return "it is new" if new else "it is gone"
    was, now = _core(old, words), _core(new, words)
    if was == now:
        return ""
    gone, come = (list((Counter(x) - Counter(y)).elements()) for x, y in ((was, now), (now, was)))
    if gone and come:
        return f"`{' '.join(gone)}` became `{' '.join(come)}`"
    if gone or come:
        return f"`{' '.join(gone or come)}` is {'gone' if gone else 'new'}"
    return "the words stand in another order"


def _core(text: str, words: WordList) -> list[str]:
    pattern, first = _table(words.same_verbs + words.synonyms)
    alike = pattern.sub(lambda m: first[m[0]], text.lower().replace("’", "'"))
    return [w for w in _WORD.findall(alike) if w not in SMALL]


@lru_cache(maxsize=16)
def _table(groups: tuple[tuple[str, ...], ...]) -> tuple[re.Pattern[str], dict[str, str]]:
    """A pattern for every word that has synonyms, and the first of its group for each."""
    first = {word: group[0] for group in groups for word in group}
    inner = "|".join(re.escape(w) for w in sorted(first, key=lambda w: (-len(w), w)))
    return re.compile(rf"(?<![\w-])(?:{inner})(?![\w-])" if inner else r"(?!)"), first
