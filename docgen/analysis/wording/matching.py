"""Turn word lists into matchers: whole-word patterns, and the verb that a clause begins with.

Matchers are kept for the process, since one list serves every edition of its language.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from functools import lru_cache

from docgen.analysis.wording.passages import Sentence
from docgen.model.wordlist import WordList

NEVER = re.compile(r"(?!)")


@lru_cache(maxsize=256)
def phrases(entries: Collection[str], endings: str = "") -> re.Pattern[str]:
    """A pattern for any of these as whole words, longest first, in lower-case text; `endings` may follow an entry."""
    if not entries:
        return NEVER
    inner = "|".join(re.escape(e) for e in sorted(entries, key=lambda e: (-len(e), e)))
    return re.compile(rf"(?<![\w-])({inner}){endings}(?![\w-])")


def clauses(sentence: Sentence, words: WordList) -> Iterator[tuple[str, ...]]:
    """Where an action may begin: after each mark of punctuation and each joining word.

    A stretch that opens with a condition stays whole, so that `when you stop and turn, …` asks for no turn.
    """
    opening = phrases(words.conditions)
    for stretch in sentence.stretches:
        if stretch[0] in words.subordinators or opening.match(" ".join(stretch)):
            yield stretch
            continue
        start = 0
        for i, word in enumerate(stretch):
            if word in words.joiners:
                if start < i:
                    yield stretch[start:i]
                start = i + 1
        if start < len(stretch):
            yield stretch[start:]


def action(clause: tuple[str, ...], words: WordList, sure: bool = True) -> tuple[str, ...]:
    """The clause from its verb on if it tells somebody to do something; empty otherwise.

    With `sure`, a verb that is a noun too counts only before a word such as `the`: `Clean gloves are …` is no order.
    """
    start = next((i for i, w in enumerate(clause) if w not in words.lead_ins), len(clause))
    rest = clause[start:]
    if not rest or is_prohibition(rest, words) or _match(words.not_verbs, rest):
        return ()
    verb = next(
        (part for part in (rest[0], *rest[0].split("-")) if part in words.verbs), ""
    )  # `re-check`, `retirez-le`
    if not verb or (sure and verb in words.also_nouns and not _rather_a_verb(rest, words)):
        return ()
    return rest


def _rather_a_verb(clause: tuple[str, ...], words: WordList) -> bool:
    """Whether a word that may be a noun is followed as a verb is, and no finite verb comes behind it."""
    if len(clause) < 2 or clause[1] not in words.openers:
        return False
    main = next((i for i, w in enumerate(clause) if w in words.subordinators), len(clause))
    return not any(w in words.modals or w in words.be for w in clause[:main])


def is_prohibition(clause: tuple[str, ...], words: WordList) -> bool:
    """Whether the clause begins like `do not …`."""
    return _match(words.prohibitions, clause)


def _match(entries: tuple[str, ...], clause: tuple[str, ...]) -> bool:
    return phrases(entries).match(" ".join(clause)) is not None


def is_order(sentence: Sentence, words: WordList, sure: bool = True) -> bool:
    """Whether the sentence tells somebody to do something, or not to."""
    for clause in clauses(sentence, words):
        first = next((i for i, w in enumerate(clause) if w not in words.lead_ins), 0)
        if is_prohibition(clause[first:], words) or action(clause, words, sure):
            return True
    return False
