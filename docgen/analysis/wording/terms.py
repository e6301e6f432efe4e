"""Turn the terms of an edition into findings: one name for a thing, one verb for an act, no unexplained letters."""

from __future__ import annotations

import re
from collections.abc import Iterator

from docgen.analysis.wording.matching import action, clauses, phrases
from docgen.analysis.wording.passages import Passage, Reading, found, names, quote
from docgen.findings import Finding, Note
from docgen.model.moment import Rule
from docgen.model.wordlist import WordList

_PLURAL = "(?:e?s)?"
_SHOUTING = re.compile(r"[^\W\d_a-zß-öø-ÿ][^\W_]*[^\W\d_a-zß-öø-ÿ]")
"""A quick look: two letters of one word that may be capitals."""
_CAPITALS = re.compile(r"(?<![\w{])[^\W\d_](?:[^\W_]*[^\W_])(?![\w}])")

ABBREVIATION = Rule(
    "wording/unexplained-abbreviation",
    "An abbreviation is listed under `abbreviations` with what it stands for.",
    "Staff on loan from another unit, and translators, guess at letters.",
    "UK HSE HSG48, style audit: avoid acronyms; Australian Government Style Manual: expand them at first use",
    "Codes of a product class (`N95`), those of the language's list (`OK`), and what a site fills in (product names).",
    (("every profile", "warning"),),
    example="`PAPR` → add `{short: PAPR, long: powered air-purifying respirator}` to `abbreviations`, or write it out",
)
TWO_NAMES = Rule(
    "wording/two-names",
    "A thing has one name: the one given to it under `items`, `supplies`, `places` or `roles`.",
    "A reader who meets `bin` and `waste container` looks for two.",
    "DOE-STD-1029-92 (from memory): same word, same meaning; ASD-STE100 (from memory): one name for one thing",
    "If the protocol declares both names, they are two things.",
    (("every profile", "warning"),),
    example="`visor` → `face shield`, as under `items`",
)
TWO_VERBS = Rule(
    "wording/two-verbs",
    "Headlines use one verb for one act.",
    "A change of verb makes the reader look for a change of act.",
    "DOE-STD-1029-92 (from memory) and UK HSE HSG48: same verb, same meaning",
    "Verbs that say how (`peel off`, `roll down`) are not compared.",
    (("every profile", "advice"),),
    example="`Take off the apron` beside `Remove the gown` → `Remove` in both",
)


def unexplained_abbreviation(reading: Reading) -> Iterator[Finding]:
    """Letters in capitals that are not declared, once each, and short forms such as `e.g.`."""
    words = reading.words
    edition = reading.edition
    known = {short for short, _ in edition.abbreviations} | words.abbreviations
    known.update(short for _, value in edition.values for short in _CAPITALS.findall(value.plain))
    first: dict[str, Passage] = {}
    for passage in reading.passages:
        yield from _shortenings(passage, words)
        for short in _CAPITALS.findall(passage.plain) if _SHOUTING.search(passage.plain) else ():
            short = short.removesuffix("s")  # `PAPRs`
            if short.isupper() and sum(map(str.isupper, short)) > 1 and short not in known:
                first.setdefault(short, passage)
    ordinary = _ordinary(reading) if first else set()
    for short, passage in first.items():
        if short.lower() not in ordinary:
            yield found(
                ABBREVIATION, passage, f"`{short}` is not explained: {quote(passage.plain)}",
                f"add `{short}` and what it stands for under `abbreviations`, or write it out",
            )  # fmt: skip


def _shortenings(passage: Passage, words: WordList) -> Iterator[Finding]:
    low = passage.cut.low
    for short, long in words.shortenings:
        if short in low and phrases((short,)).search(low):
            yield found(ABBREVIATION, passage, f"`{short}` is a short form: {quote(passage.plain)}", f"write `{long}`")


def _ordinary(reading: Reading) -> set[str]:
    """Words that are no abbreviations even in capitals: those the edition also writes small, and those of the list."""
    words = reading.words
    small = {w for p in reading.passages for s in p.sentences for w in s.words if w.islower()}
    listed = words.verbs | words.stops | words.negations | words.openers | words.lead_ins | words.joiners
    return small | listed | words.subordinators | {*words.conditions, *words.signals}


def two_names(reading: Reading) -> Iterator[Finding]:
    """Names other than the declared one; with none declared, names other than the first one met.

    A declared name is looked for as a whole first: the `bin` of a declared `reuse bin` is no other name for anything.
    """
    group_of = {term: i for i, group in enumerate(reading.words.synonyms) for term in group}
    declared, whole = _declared(reading, group_of)
    pattern = phrases(frozenset(group_of) | whole, _PLURAL)
    used: dict[int, dict[str, list[Passage]]] = {}
    for passage in reading.passages:
        if passage.field in {"name", "prose"}:
            continue
        for match in pattern.finditer(passage.cut.low):
            term = match.group(1)
            if term in group_of and term not in whole:
                used.setdefault(group_of[term], {}).setdefault(term, []).append(passage)
    for group, terms in used.items():
        right = declared.get(group) or [next(iter(terms))]
        for term, passages in terms.items():
            if term not in right:
                yield _other_name(term, right[0], passages)


def _declared(reading: Reading, group_of: dict[str, int]) -> tuple[dict[int, list[str]], frozenset[str]]:
    """Group → the terms that the protocol declares as names, or at least as part of one; and all declared names."""
    pattern = phrases(frozenset(group_of), _PLURAL)
    full: dict[int, list[str]] = {}
    part: dict[int, list[str]] = {}
    whole = [name.plain.strip().lower() for name, _ in names(reading.edition)]
    for name in whole:
        exact = pattern.fullmatch(name)
        for match in [exact] if exact else pattern.finditer(name):
            (full if exact else part).setdefault(group_of[match.group(1)], []).append(match.group(1))
    return part | full, frozenset(n for n in whole if n)


def _other_name(term: str, right: str, passages: list[Passage]) -> Finding:
    first = passages[0]
    notes = tuple(Note(f"also in {quote(p.plain)}", p.where) for p in passages[1:])
    message = f"`{term}` and `{right}` name the same thing: {quote(first.plain)}"
    return found(TWO_NAMES, first, message, f"write `{right}` instead of `{term}`", notes=notes)


def two_verbs(reading: Reading) -> Iterator[Finding]:
    """Headlines that begin with different verbs of one group although their acts are the same."""
    words = reading.words
    acts = {s.id: s.acts[0].verb for s in reading.edition.all_steps() if s.acts}
    used: dict[tuple[int, str], dict[str, list[Passage]]] = {}
    for passage in reading.of("headline"):
        if passage.step not in acts or not passage.sentences:
            continue
        clause = next(clauses(passage.sentences[0], words), ())
        order = " ".join(action(clause, words, sure=False))
        for i, group in enumerate(words.same_verbs):
            match = phrases(group).match(order)
            if match:
                used.setdefault((i, acts[passage.step]), {}).setdefault(match.group(), []).append(passage)
    for verbs in used.values():
        common, *others = sorted(verbs, key=lambda v: -len(verbs[v]))
        for verb in others:
            first = verbs[verb][0]
            notes = tuple(Note(f"also in {quote(p.plain)}", p.where) for p in verbs[verb][1:])
            message = f"`{verb}` here, `{common}` in {len(verbs[common])} other headlines, for the same act"
            yield found(TWO_VERBS, first, message, f"begin with `{common.capitalize()}`", notes=notes)
