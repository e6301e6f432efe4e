"""Turn two texts into the stretches of words in which they differ.

Words are compared as wholes, numbers with their decimals as wholes, and whatever the text keeps in one piece (a number
with its unit, a telephone number) as one. In scripts without spaces each character with its marks is a word.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from difflib import SequenceMatcher

from docgen.model.change import Stretch
from docgen.model.text import Run

_ALONE = "\u0e00-\u0edf\u1000-\u109f\u1780-\u17ff\u2e80-\u312f\u31f0-\u9fff\uf900-\ufaff\U00020000-\U0003ffff"
"""Scripts without spaces between words: Thai, Lao, Myanmar, Khmer, Han and Kana."""
_MARKS = "\u0e31\u0e34-\u0e3a\u0e47-\u0e4e\u0eb1\u0eb4-\u0ebc\u0ec8-\u0ece\u102b-\u103e\u17b4-\u17d3\u3099\u309a"
"""Signs of those scripts that belong to the character before them."""
_POINTS = r".,;:!?…·()\[\]{}“”„‟\"«»‘’¿¡،؛؟।。、，；：！？（）「」"
_TOKEN = re.compile(
    rf"\s+|\d+(?:[.,:/]\d+)*|[{_ALONE}][{_MARKS}]*|[^\s\d{_ALONE}{_POINTS}](?:[^\s{_ALONE}{_POINTS}]|[’'](?=\w))*|.",
    re.DOTALL,
)


def tokens(runs: Iterable[Run]) -> tuple[str, ...]:
    """Words, blanks and marks of a text in order; joined, they are the text."""
    out: list[str] = []
    for run in runs:
        if run.isolate:
            out.append(run.text)
        else:
            out += _TOKEN.findall(run.text)
    return tuple(t for t in out if t)


def difference(old: Sequence[str], new: Sequence[str]) -> tuple[Stretch, ...]:
    """The stretches in which two sequences of tokens agree and differ.

    Joined, those of `both` and `old` are the old text, and those of `both` and `new` the new one. A blank between two
    changed words counts as changed, so that a phrase is marked as a phrase.
    """
    pieces: list[tuple[str, str, str]] = []  # agreed, old, new
    matcher = SequenceMatcher(None, old, new, autojunk=False)
    for kind, a, b, c, d in matcher.get_opcodes():
        was, now = "".join(old[a:b]), "".join(new[c:d])
        if kind == "equal":
            pieces.append((was, "", ""))
        elif len(pieces) > 1 and pieces[-1][0].isspace() and not pieces[-2][0]:
            between = pieces.pop()[0]
            before = pieces.pop()
            pieces.append(("", before[1] + between + was, before[2] + between + now))
        else:
            pieces.append(("", was, now))
    out: list[Stretch] = []
    for both, was, now in pieces:
        out += [Stretch(side, words) for side, words in (("both", both), ("old", was), ("new", now)) if words]
    return tuple(out)


def side(stretches: Iterable[Stretch], which: str) -> str:
    """One of the two texts: `old` or `new`. Applying a difference to the old text gives `side(…, "new")`."""
    return "".join(s.words for s in stretches if s.side in ("both", which))
