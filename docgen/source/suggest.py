"""Turn a misspelt word and the words there are into a hint."""

from __future__ import annotations

import difflib
from collections.abc import Iterable


def close(word: str, known: Iterable[str]) -> str:
    """The known word most like `word`, or empty."""
    lower = {k.lower(): k for k in known if k}
    if word.lower() in lower:
        return lower[word.lower()]
    found = difflib.get_close_matches(word.lower(), lower, n=1, cutoff=0.6)
    return lower[found[0]] if found else ""


def misspelt(word: str, known: Iterable[str]) -> str:
    """The known word of which `word` is a slip of the pen: at most two characters differ. Empty if there is none.

    Ids are made of the same few words: `sanitize-inner-gloves` is like `sanitize-new-gloves` without meaning it.
    """
    near = close(word, known)
    codes = difflib.SequenceMatcher(None, word.lower(), near.lower(), autojunk=False).get_opcodes()
    edits = sum(max(i2 - i1, j2 - j1) for tag, i1, i2, j1, j2 in codes if tag != "equal")
    return near if near and edits <= 2 else ""


def did_you_mean(word: str, known: Iterable[str], otherwise: str = "") -> str:
    """A hint for a misspelt word: the likely one, else the ones there are, else `otherwise`."""
    known = list(known)
    near = close(word, known)
    if near:
        return f"did you mean `{near}`?"
    if otherwise:
        return otherwise
    if known and len(known) <= 20:
        return f"use {one_of(known)}"
    return ""


def one_of(words: Iterable[str]) -> str:
    """`a`, `b` or `c`."""
    quoted = [f"`{w}`" for w in words]
    return " or ".join([", ".join(quoted[:-1]), quoted[-1]]) if len(quoted) > 1 else "".join(quoted)
