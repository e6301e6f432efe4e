"""Turn the catalogues of a language into findings: everything that stands in the way of trusting them.

`RULES` has every rule. The rules that look at one text stand in `docgen.language.compare`; those about a whole language
and about people stand here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from docgen.findings import Finding, Note, Severity, Where, error, warning
from docgen.language.compare import ALWAYS_ERROR, ALWAYS_WARNING, CHECKS, NO_CUES, PRACTICE
from docgen.language.critical import critical
from docgen.language.lack import Lack, lacking_of, said_of
from docgen.language.pairs import Ground, Pair
from docgen.language.revision import content, same_person
from docgen.language.swapped import SWAPPED, swapped
from docgen.language.translate import Inline
from docgen.model.catalogue import Catalogue, Entry, Message
from docgen.model.moment import Rule
from docgen.model.text import Words, WordsError

MISSING = Rule(
    "language/missing", "Every text has a translation.",
    "Nothing falls back to another language in silence: a reader would not know that a caution is missing.",
    "45 CFR 92.201 and OSHA 1910.1030(g)(2)(vi) ask for a language that staff understand",
    "With `--draft` the source text is printed in brackets.",
    (("every profile", "error when sheets are made; in `words check` an error for cautions, holds and numbers"),),
    waivable=False, example="an empty `msgstr`",
)  # fmt: skip
OUTDATED = Rule(
    "language/outdated", "A translation was made from the present words of its source.",
    "A translation is valid only while its source is unchanged.", "ISO 17100:2015",
    "With `--draft` the source text is printed in brackets.", MISSING.severity, waivable=False,
    example="an entry marked `fuzzy`",
)  # fmt: skip
UNUSABLE = Rule(
    "language/unusable", "A translation can be read as words: emphasis closes, slots are slots.",
    "What cannot be read cannot be printed.", PRACTICE, severity=ALWAYS_ERROR, waivable=False,
    example="`Use {hand-rub` has no closing brace",
)  # fmt: skip
UNKNOWN = Rule(
    "language/unknown-source", "Every translation belongs to something the sources say.",
    "The catalogue is older than the sources.", PRACTICE, severity=ALWAYS_WARNING, waivable=False,
    example="run `docgen words update`",
)  # fmt: skip
SIGNAL = Rule(
    "language/signal-word", "Signal words are those of the language's table, one for each grade.",
    "A warning printed as a caution is taken for a smaller danger; two grades with one word can't be told apart.",
    "ANSI Z535.4, signal words and their translations (tables in words.yaml are from memory)", severity=ALWAYS_ERROR,
    waivable=False, example="`WARNING` → `PRECAUCIÓN` is refused in Spanish: it is `ADVERTENCIA`",
)  # fmt: skip
TWO_WAYS = Rule(
    "language/two-translations", "The same source text is translated one way.",
    "A reader takes two wordings for two instructions.", "ISO 17100:2015, consistency",
    "Languages that need another form in another place: the translator accepts it in one of the entries.",
    ALWAYS_WARNING, example="`Both hands are dry.` translated differently on two steps",
)  # fmt: skip
PEOPLE = Rule(
    "language/two-people", "A named person has translated, and another has revised exactly that, each with a date.",
    "The second pair of eyes is what finds a lost `not`. A machine's draft can be printed, marked, and never released.",
    "ISO 17100:2015, translation and revision by two people; ISO 18587 for machine output",
    "Catalogues in state `draft`: every sheet says that nobody has reviewed it.", ALWAYS_ERROR, waivable=False,
    example="`Last-Translator` and `X-Reviser` name the same person",
)  # fmt: skip

RULES: tuple[Rule, ...] = (
    MISSING, OUTDATED, UNUSABLE, UNKNOWN, *(rule for rules, _ in CHECKS for rule in rules), NO_CUES, SIGNAL, TWO_WAYS,
    SWAPPED, PEOPLE,
)  # fmt: skip


def check(
    catalogues: Sequence[Catalogue], messages: Mapping[str, Sequence[Message]], ground: Ground, inline: Inline
) -> tuple[Finding, ...]:
    """All findings about catalogues of one language. `messages`: catalogue name → what the sources say now.

    Findings about one text carry its `key` and `catalogue` in `data`.
    """
    found = [*_whole(catalogues, ground)]
    pairs: list[Pair] = []
    for catalogue in catalogues:
        if not catalogue.begun:
            continue
        known = messages.get(catalogue.name)
        if known is not None:
            found += said_of(lacking_of(catalogue, known), catalogue.language, _grave)
            found += _unknown(catalogue, known)
        found += people(catalogue)
        for entry in catalogue.entries:
            if not entry.valid:
                continue
            pair = _pair(entry, catalogue, inline)
            if isinstance(pair, Finding):
                found.append(pair)
            else:
                pairs.append(pair)
                found += _compared(pair, ground)
    found += _two_ways(pairs)
    found += swapped(pairs, ground.language, ground.source_language)
    return tuple(replace(f, language=ground.language) for f in found)


def before_release(catalogues: Iterable[Catalogue]) -> tuple[Finding, ...]:
    """What keeps a language from being released: anything but a revised catalogue by two people."""
    out: list[Finding] = []
    for c in catalogues:
        if c.entries and c.state != "revised":
            message = f"`{c.name}` in `{c.language}` is in state `{c.state}` and can't be released"
            hint = "have it translated and revised by two named people"
            out.append(error(PEOPLE.name, message, Where(c.file), hint=hint, language=c.language))
        out += people(c)
    return tuple(out)


def people(c: Catalogue) -> Iterator[Finding]:
    """What the header of a catalogue that claims to be more than a draft lacks."""
    where = Where(c.file)

    def lacks(message: str, hint: str) -> Finding:
        return error(PEOPLE.name, f"`{c.name}` is in state `{c.state}`, but {message}", where, hint=hint,
                     language=c.language, data=(("catalogue", c.name),))  # fmt: skip

    if c.state == "draft":
        return
    if not c.translator or c.translator.on is None:
        yield lacks("no translator with a day is named", "fill in `Last-Translator` and `PO-Revision-Date`")
    if c.state != "revised":
        return
    if not c.reviser or c.reviser.on is None:
        yield lacks("no reviser with a day is named", "fill in `X-Reviser` and `X-Revised-On`")
    elif c.translator and same_person(c.translator.by, c.reviser.by):
        yield lacks(f"`{c.reviser.by}` is translator and reviser", "let another person compare it with its source")
    elif c.translator.on and c.reviser.on < c.translator.on:
        yield lacks(f"it was translated on {c.translator.on} and revised before, on {c.reviser.on}",
                    "revise it again, or correct the days")  # fmt: skip
    code = content([c])
    if c.revised != code:
        yield lacks(
            f"what was revised is `{c.revised or 'not named'}` and what stands there is `{code}`",
            f"revise the changes, then write `X-Revised-Content: {code}`",
        )


def _grave(lack: Lack) -> Severity:
    return Severity.ERROR if critical(lack.key, lack.source) else Severity.WARNING


def _unknown(catalogue: Catalogue, messages: Sequence[Message]) -> Iterator[Finding]:
    known = {m.key for m in messages}
    strange = [e for e in catalogue.entries if e.key not in known and e.translation]
    if strange:
        named = ", ".join(f"`{e.key[:60]}`" for e in strange[:5])
        more = f" and {len(strange) - 5} more" if len(strange) > 5 else ""
        message = f"{len(strange)} translations of `{catalogue.name}` belong to nothing the sources say: {named}{more}"
        yield warning(UNKNOWN.name, message, strange[0].where, hint="run `docgen words update`")


def _pair(entry: Entry, catalogue: Catalogue, inline: Inline) -> Pair | Finding:
    try:
        source = inline(entry.source)
    except WordsError:  # a figure's phrase may be only a sign
        source = Words(entry.source, ())
    try:
        return Pair(entry, source, inline(entry.translation), catalogue.name)
    except WordsError as problem:
        flaw = problem.flaws[0]
        data = (("key", entry.key), ("catalogue", catalogue.name))
        return error(UNUSABLE.name, f"the translation can't be read: {flaw.message}", entry.where, hint=flaw.hint,
                     notes=(Note(f"source: `{entry.source}`"),), data=data)  # fmt: skip


def _compared(pair: Pair, ground: Ground) -> Iterator[Finding]:
    for rules, look in CHECKS:
        names = {rule.name: rule for rule in rules}
        for finding in look(pair, ground):
            rule = names[finding.rule]
            if not (rule.waivable and pair.accepts(rule)):
                yield finding


def _whole(catalogues: Sequence[Catalogue], ground: Ground) -> Iterator[Finding]:
    if not any(c.begun for c in catalogues):
        return
    if not (ground.words and ground.words.negation_cues):
        hint = f"write them as `negation-cues` in locales/{ground.language}/words.yaml"
        message = f"what denies in `{ground.language}` is not known, so lost negations are not found"
        yield warning(NO_CUES.name, message, Where(f"locales/{ground.language}/words.yaml"), hint=hint)
    entries = [e for c in catalogues for e in c.entries if e.key.startswith("signal.") and e.valid]
    table = dict(ground.words.signal_words) if ground.words else {}
    for entry in entries:
        grade = entry.key.removeprefix("signal.")
        allowed = table.get(grade, ())
        said = entry.translation.casefold()
        twin = next((e for e in entries if e is not entry and e.translation.casefold() == said), None)
        if allowed and entry.translation not in allowed:
            other = next((g for g, words in table.items() if entry.translation in words), "")
            message = (
                f"the signal word for `{grade}` is `{entry.translation}`{f', which is `{other}`' if other else ''}"
            )
            hint = f"write {' or '.join(f'`{w}`' for w in allowed)}"
            yield error(SIGNAL.name, message, entry.where, hint=hint, data=(("key", entry.key),))
        elif twin:
            message = f"`{grade}` and `{twin.key.removeprefix('signal.')}` have the same word, `{entry.translation}`"
            hint = "give each grade its own word"
            yield error(SIGNAL.name, message, entry.where, hint=hint, data=(("key", entry.key),))


def _two_ways(pairs: Sequence[Pair]) -> Iterator[Finding]:
    by_source: dict[str, list[Pair]] = defaultdict(list)
    for pair in pairs:
        if pair.entry.source.strip(" .,;:"):
            by_source[pair.entry.source].append(pair)
    for same in by_source.values():
        ways = {p.entry.translation.casefold() for p in same}
        if len(ways) < 2 or any(p.accepts(TWO_WAYS) for p in same):
            continue
        first = same[0]
        other = next(p for p in same if p.entry.translation.casefold() != first.entry.translation.casefold())
        message = f"`{first.entry.source}` is translated in {len(ways)} ways"
        finding = other.found(TWO_WAYS, message, "translate it one way, or accept it in a comment of one entry")
        yield replace(finding, notes=tuple(Note(f"`{p.entry.translation}`", p.entry.where) for p in (first, other)))
