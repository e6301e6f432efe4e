"""Turn the words that leave a question open into findings: how much, when, which."""

from __future__ import annotations

from collections.abc import Iterator

from docgen.analysis.wording.matching import phrases
from docgen.analysis.wording.passages import Reading, found, quote
from docgen.findings import Finding
from docgen.model.moment import Rule

VAGUE = Rule(
    "wording/vague-word",
    "A text says how, how much, when or what exactly.",
    "Two people read `as needed` in two ways, and both have followed the protocol.",
    "UK HSE HSG48, style audit: quantitative values and limits, clear pass and fail criteria",
    "A word is let pass where the same sentence answers its question: `immediately after the last glove`.",
    (("every profile", "warning"),),
    example="`Rub for an adequate time` → `Rub for 20 seconds`",
)
AND_OR = Rule(
    "wording/and-or",
    "A text says `and`, or it says `or`.",
    "`And/or` lets the reader choose what the author did not decide.",
    "DOE-STD-1029-92 (from memory): do not mix AND with OR in one step",
    "",
    (("every profile", "warning"),),
    example="`gown and/or apron` → `gown, apron or both`",
)


def vague_word(reading: Reading) -> Iterator[Finding]:
    """Words that leave a question open, unless the sentence answers it."""
    entries = {w: v for v in reading.words.vague for w in v.words}
    pattern = phrases(tuple(entries))
    for passage in reading.passages:
        if passage.field in {"name", "title"}:
            continue
        if not pattern.search(passage.cut.low):
            continue
        for sentence in passage.sentences:
            low = sentence.text.lower()
            for match in pattern.finditer(low):
                entry = entries[match.group()]
                if entry.instructions and not (passage.instructs or passage.field == "avoid"):
                    continue
                rest = low[match.end() :]
                if entry.before_number and not rest.lstrip()[:1].isdigit():
                    continue
                if any((u in rest) if not u[0].isalpha() else phrases((u,)).search(rest) for u in entry.unless):
                    continue
                yield found(VAGUE, passage, f"`{match.group()}` leaves it open: {quote(sentence.text)}", entry.mend)


def and_or(reading: Reading) -> Iterator[Finding]:
    """`and/or`."""
    pattern = phrases(reading.words.and_or)
    for passage in reading.passages:
        for match in pattern.finditer(passage.cut.low):
            yield found(AND_OR, passage, f"`{match.group()}` decides nothing: {quote(passage.plain)}", "say which")
