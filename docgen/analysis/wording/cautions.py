"""Turn cautions and signal words into findings: hazard, consequence and avoidance, no hidden step, one scheme."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

from docgen.analysis.wording.matching import NEVER, action, clauses, is_order, phrases
from docgen.analysis.wording.passages import Passage, Reading, found, passage, quote
from docgen.findings import Finding, Severity
from docgen.model.edition import Caution
from docgen.model.moment import Rule
from docgen.model.wordlist import WordList

CAUTION_WORDS = (24, 30)
"""Words in hazard, consequence and avoidance together: advice above the first, warning above the second."""
PERSONAL = frozenset({"bare-skin", "splash", "sharp", "fumes", "face-touch", "slip", "balance", "zip-and-skin"})
"""Caution classes that are about injury or exposure of a person."""
SCHEMES = {
    "ansi-z535": ("danger", "warning", "caution", "notice"),
    "procedure-writing": ("warning", "caution", "note"),
}

HIDDEN_ACTION = Rule(
    "wording/hidden-action",
    "A caution holds no action of the procedure.",
    "An action inside a caution has no number, is ticked by nobody, and is skipped by those who know the caution.",
    "DOE-STD-1029-92 sec. 4 and NUREG-0899 (from memory): no action hidden inside a warning or caution",
    "How to avoid the hazard is one sentence of its own (`avoid`), and may be an order.",
    (("every profile", "warning, error in hazard or consequence"),),
    example="`Gloves may be torn. Change them.` → a step `Change the gloves`, and the tear alone in the caution",
)
NO_CONSEQUENCE = Rule(
    "wording/no-consequence",
    "A caution says what the hazard leads to.",
    "A prohibition without a reason is the first to be dropped in a hurry.",
    "DOE-STD-1029-92 sec. 4 (from memory): hazard and consequence; ANSI Z535.4",
    "",
    (("every profile", "warning"),),
    example="`This is dangerous` → `Virus on the glove reaches your skin`",
)
LONG_CAUTION = Rule(
    "wording/long-caution",
    "A caution has at most 24 words in all.",
    "A caution is read standing, just before the hand moves.",
    "common practice, no source",
    "",
    (("every profile", "advice, warning above 30 words"),),
    example="hazard, consequence and avoidance in some eight words each",
)
SIGNAL_SCHEME = Rule(
    "wording/signal-scheme",
    "Signal words come from the declared scheme, are set by `signal`, and are typed into no text.",
    "In ANSI Z535.4 a WARNING is about death or serious injury and a NOTICE never about people; in procedure writing "
    "WARNING is people, CAUTION equipment. Mixed, neither can be trusted.",
    "ANSI Z535.4-2007; DOE-STD-1029-92 (from memory)",
    "",
    (("every profile", "warning, error in a caution"),),
    example="`hazard: WARNING: virus on the glove` → `signal: warning` and `hazard: Virus on the glove`",
)


def _passages(reading: Reading, caution: Caution, step: str) -> dict[str, Passage]:
    fields = zip(("hazard", "consequence", "avoid"), caution.texts, strict=True)
    return {field: passage(field, text, caution.where, step) for field, text in fields if text}


def hidden_action(reading: Reading) -> Iterator[Finding]:
    """Orders in hazard or consequence; a second order, or a deed of the procedure, in `avoid`."""
    words = reading.words
    for caution, step in reading.cautions:
        texts = _passages(reading, caution, step)
        for field in ("hazard", "consequence"):
            for sentence in texts[field].sentences if field in texts else ():
                if is_order(sentence, words):
                    yield found(
                        HIDDEN_ACTION, texts[field],
                        f"the {field} of caution `{caution.id}` holds an action: {quote(sentence.text)}",
                        "move the action to a step, or to `avoid` if it is how the hazard is avoided", Severity.ERROR,
                    )  # fmt: skip
        if "avoid" in texts:
            yield from _in_avoid(reading, caution, texts["avoid"])


def _in_avoid(reading: Reading, caution: Caution, avoid: Passage) -> Iterator[Finding]:
    words = reading.words
    orders = [s for s in avoid.sentences if is_order(s, words)]
    for sentence in avoid.sentences:
        deed = next((a for c in clauses(sentence, words) if (a := action(c, words)) and a[0] in words.deeds), ())
        if deed:
            yield found(
                HIDDEN_ACTION, avoid,
                f"`avoid` of caution `{caution.id}` holds a step of the procedure: {quote(sentence.text)}",
                f"make a step of {quote(' '.join(deed), 60)}, and say here only how the hazard is avoided",
            )  # fmt: skip
            return
    if len(orders) > 1:
        yield found(
            HIDDEN_ACTION, avoid,
            f"`avoid` of caution `{caution.id}` gives {len(orders)} orders: {quote(avoid.plain)}",
            "keep one sentence that says how the hazard is avoided, and move the rest to the step",
        )  # fmt: skip


def no_consequence(reading: Reading) -> Iterator[Finding]:
    """Consequences that are missing, repeat the hazard, or name nothing."""
    weak = phrases(reading.words.weak_consequences)
    for caution, step in reading.cautions:
        texts = _passages(reading, caution, step)
        hint = "say what happens to whom: `Virus on the glove reaches your skin`"
        if "consequence" not in texts:
            holder = next(iter(texts.values()), passage("hazard", caution.hazard, caution.where, step))
            yield found(NO_CONSEQUENCE, holder, f"caution `{caution.id}` has no consequence", hint)
            continue
        said = texts["consequence"]
        same = "hazard" in texts and _bare(said) == _bare(texts["hazard"])
        match = weak.search(said.cut.low)
        if same or match:
            why = "repeats the hazard" if same else f"says only `{match.group()}`" if match else ""
            yield found(NO_CONSEQUENCE, said, f"the consequence of caution `{caution.id}` {why}", hint)


def _bare(text: Passage) -> tuple[str, ...]:
    return tuple(w for s in text.sentences for w in s.low)


def long_caution(reading: Reading) -> Iterator[Finding]:
    """Cautions beyond the limit, all three parts together."""
    advise, warn = CAUTION_WORDS
    for caution, step in reading.cautions:
        texts = _passages(reading, caution, step)
        count = sum(len(s.words) for p in texts.values() for s in p.sentences)
        if count > advise:
            severity = Severity.WARNING if count > warn else Severity.ADVICE
            yield found(
                LONG_CAUTION, next(iter(texts.values())), f"caution `{caution.id}` has {count} words",
                f"cut it to {advise} words: the hazard, what it leads to, how to avoid it", severity,
            )  # fmt: skip


@lru_cache(maxsize=32)
def _typed(words: WordList) -> re.Pattern[str]:
    """A signal word in capitals or at the start of a sentence before a colon, dash or exclamation mark."""
    if not words.signals:
        return NEVER
    small = "|".join(re.escape(s) for s in sorted(words.signals, key=lambda s: (-len(s), s)))
    shouted = "|".join(re.escape(s.upper()) for s in sorted(words.signals, key=lambda s: (-len(s), s)))
    return re.compile(rf"(?:^|(?<=[.!?]\s))\W?(?i:{small})\s*[:!–—]|(?<!\w)(?:{shouted})(?!\w)")


def signal_scheme(reading: Reading) -> Iterator[Finding]:
    """Typed signal words, signals outside the scheme, and a notice about injury to people."""
    edition = reading.edition
    pattern = _typed(reading.words)
    for text in reading.passages:
        match = pattern.search(text.plain)
        if match:
            inside = text.field in {"hazard", "consequence", "avoid"}
            typed = match.group().strip(" :!–—")
            hint = (
                f"delete `{typed}`: the signal word is printed from `signal`"
                if inside
                else f"delete `{typed}`, and write a caution with a `signal` if there is a hazard"
            )
            yield found(
                SIGNAL_SCHEME, text, f"a signal word is typed into the text: {quote(text.plain)}", hint,
                Severity.ERROR if inside else None,
            )  # fmt: skip
    allowed = SCHEMES.get(edition.signal_scheme, SCHEMES["ansi-z535"])
    for caution, step in reading.cautions:
        holder = passage("hazard", caution.hazard, caution.where, step)
        if caution.signal not in allowed and not (caution.signal == "notice" and "note" in allowed):
            yield found(
                SIGNAL_SCHEME, holder, f"signal `{caution.signal}` is not in the scheme `{edition.signal_scheme}`",
                f"use {', '.join(f'`{a}`' for a in allowed)}", Severity.ERROR,
            )  # fmt: skip
        elif caution.signal == "notice" and edition.signal_scheme == "ansi-z535" and PERSONAL & set(caution.about):
            kinds = ", ".join(f"`{k}`" for k in sorted(PERSONAL & set(caution.about)))
            yield found(
                SIGNAL_SCHEME, holder,
                f"caution `{caution.id}` is about {kinds}, but a notice is never about injury to people",
                "use `caution` for a minor injury, `warning` or `danger` for a grave one",
            )  # fmt: skip
