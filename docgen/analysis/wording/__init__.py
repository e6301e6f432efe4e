"""Turn an edition and the words of its language into findings about how it is written.

The rules stand in the visible tuple `CHECKS`. A protocol may silence one with a reason; a silence that names no rule,
or that silences nothing, is a finding itself.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterator
from dataclasses import replace

from docgen.analysis.wording import cautions, deeds, ease, instructions, numbers, openness, terms
from docgen.analysis.wording.passages import Reading, read
from docgen.findings import Finding, Severity, advice, warning
from docgen.model.edition import Edition
from docgen.model.moment import Rule
from docgen.model.wordlist import WordList

CHECKS: tuple[tuple[Rule, Callable[[Reading], Iterator[Finding]]], ...] = (
    (instructions.HEADLINE_VERB, instructions.headline_without_verb),
    (instructions.ONE_ACTION, instructions.several_actions),
    (deeds.UNSAID, deeds.cleaning_unsaid),
    (instructions.LONG_SENTENCE, instructions.long_sentence),
    (instructions.CONDITION_FIRST, instructions.condition_after_action),
    (openness.VAGUE, openness.vague_word),
    (numbers.UNIT, numbers.number_without_unit),
    (numbers.UNIT_SPACE, numbers.unit_without_space),
    (numbers.DECIMAL_ZERO, numbers.decimal_zero),
    (numbers.DIGITS, numbers.number_in_words),
    (openness.AND_OR, openness.and_or),
    (terms.ABBREVIATION, terms.unexplained_abbreviation),
    (terms.TWO_NAMES, terms.two_names),
    (terms.TWO_VERBS, terms.two_verbs),
    (cautions.HIDDEN_ACTION, cautions.hidden_action),
    (cautions.NO_CONSEQUENCE, cautions.no_consequence),
    (cautions.LONG_CAUTION, cautions.long_caution),
    (cautions.SIGNAL_SCHEME, cautions.signal_scheme),
    (instructions.DOUBLE_NEGATIVE, instructions.double_negative),
    (instructions.EMPTY_ANSWER, instructions.empty_answer),
    (instructions.PASSIVE, instructions.passive_voice),
    (instructions.PRONOUN, instructions.unclear_pronoun),
    (instructions.LONG_BREATH, instructions.long_breath),
    (ease.READABILITY, ease.hard_to_read),
)

UNKNOWN_SILENCE = Rule(
    "wording/unknown-silence",
    "A silenced rule is one of the wording rules.",
    "A silence with a misspelt name silences nothing; a safety rule is set aside only at a site, by a named person.",
    "common practice, no source",
    "",
    (("every profile", "warning"),),
    waivable=False,
    example="`silence: [{rule: wording/passiv, …}]` → `wording/passive-voice`",
)
UNUSED_SILENCE = Rule(
    "wording/unused-silence",
    "A silenced rule would have had something to say.",
    "A silence that is left behind hides the next fault of its kind.",
    "common practice, no source",
    "",
    (("every profile", "advice"),),
    waivable=False,
    example="delete the silence once the text is mended",
)

WORDING_RULES: tuple[Rule, ...] = (*(rule for rule, _ in CHECKS), UNKNOWN_SILENCE, UNUSED_SILENCE)
_NAMES = tuple(rule.name for rule, _ in CHECKS)


def check(edition: Edition, words: WordList) -> tuple[Finding, ...]:
    """All wording findings of an edition in the language of `words`, in the order of the rules.

    A translation is not the author's to mend, so there an error is a warning.
    """
    reading = read(edition, words)
    silenced = dict(edition.silenced)
    spoken: list[Finding] = []
    idle: list[Finding] = []
    for rule, look in CHECKS:
        findings = list(look(reading))
        if rule.name not in silenced:
            spoken += findings
        elif not findings and not edition.translation:
            idle.append(
                advice(
                    UNUSED_SILENCE.name, f"`{rule.name}` is silenced but would find nothing", hint="delete the silence"
                )
            )
    return tuple(_local(f, edition) for f in (*spoken, *_unknown(edition), *idle))


def _unknown(edition: Edition) -> Iterator[Finding]:
    for name, _ in edition.silenced:
        if name in _NAMES or edition.translation:
            continue
        if name.startswith("sequence/"):
            hint = "waive a safety rule in the site file, with reason, name and dates"
        else:
            near = difflib.get_close_matches(name, _NAMES, 1, 0.5)
            hint = f"write `{near[0]}`" if near else "see the page of all rules"
        yield warning(UNKNOWN_SILENCE.name, f"`{name}` is no wording rule, so that nothing is silenced", hint=hint)


def _local(finding: Finding, edition: Edition) -> Finding:
    softer = edition.translation and finding.severity is Severity.ERROR
    return replace(finding, language=edition.language, severity=Severity.WARNING if softer else finding.severity)
