"""Turn source words into a language that nobody speaks: accents, about 40 % longer, in brackets.

On a sheet in it, whatever stands without brackets was never given to translators, and whatever does not fit will not
fit in German. Slots, emphasis, escapes, and numbers with their units stay as they are.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from math import ceil

from docgen.model.catalogue import Catalogue, Entry, Message

PSEUDO = "qps-ploc"
"""A language tag for private use (BCP 47: `qps` lies in the range reserved for it)."""
OPEN, CLOSE = "[", "]"
LONGER = 0.4

_ACCENTS = str.maketrans(
    "aceghiknosuyzACEGHIKNOSUYZ",
    "áçéğĥîķñöšûýžÁÇÉĞĤÎĶÑÖŠÛÝŽ",
)
_KEPT = re.compile(
    r"\\.|\{\{|\}\}|\{[^{}]*\}"  # escapes, braces, slots
    r"|[*_]+"  # emphasis
    r"|\d+(?:[.,:/–-]\d+)*(?:[ \u00a0]?(?:%|°[CF]|[mµkc]?[gLlm]|kPa|min|[sh]|seconds?|minutes?|hours?)(?!\w))?"
)
_LETTERS = re.compile(r"[^\W\d_]")


def pseudo(source: str) -> str:
    """The words in the pseudo-language. A text without letters is returned as it is."""
    letters = len(_LETTERS.findall(_KEPT.sub("", source)))
    if not letters:
        return source if not _KEPT.search(source) or not _LETTERS.search(source) else f"{OPEN}{source}{CLOSE}"
    out, at = [], 0
    for kept in _KEPT.finditer(source):
        out += [source[at : kept.start()].translate(_ACCENTS), kept[0]]
        at = kept.end()
    out.append(source[at:].translate(_ACCENTS))
    more = max(0, ceil(len(source) * LONGER) - 3)
    padding = ("ōñē ţŵō ţĥŕēē ƒōūŕ ƒīvē ŝīẋ ŝēvēñ ēīĝĥţ " * (more // 40 + 1))[:more].rstrip()
    return f"{OPEN}{''.join(out)}{f' {padding}' if padding else ''}{CLOSE}"


def pseudo_catalogue(name: str, messages: Iterable[Message]) -> Catalogue:
    """A catalogue of the pseudo-language, made from the sources alone."""
    entries = tuple(Entry(m.key, m.source, pseudo(m.source), notes=m.notes, files=m.files) for m in messages)
    return Catalogue(PSEUDO, name, entries)
