"""Turn the sentences that tell somebody what to do into findings: verb, one action, length, order, voice."""

from __future__ import annotations

import re
from collections.abc import Iterator
from collections.abc import Set as AbstractSet

from docgen.analysis.wording.matching import action, clauses, is_order, phrases
from docgen.analysis.wording.passages import Passage, Reading, Sentence, found, quote
from docgen.findings import Finding, Severity
from docgen.model.moment import Rule
from docgen.model.wordlist import WordList

STEP_WORDS = (20, 25)
"""Words in a sentence that instructs: warning above the first, error above the second."""
PROSE_WORDS = 25
"""Words in any other sentence: warning above."""
ACTIONS = 3
"""Actions in one step: more than one is a warning, more than this an error."""
BREATH_WORDS = 18
"""Words read aloud without a pause: ten seconds at the rate of an instruction (110 words a minute)."""

HEADLINE_VERB = Rule(
    "wording/headline-without-verb",
    "A headline starts with the verb of what to do.",
    "People who follow a wall poster look for the next action; a noun makes them guess it.",
    "UK HSE HSG48, style audit: active present tense starting with a verb; DOE-STD-1029-92 (from memory): start with a "
    "defined action verb",
    "A condition may stand first (`If …, change …`), and so may the name of the role that acts (`Assistant: …`).",
    (("every profile", "warning"),),
    example="`Outer gloves` → `Remove the outer gloves`",
)
ONE_ACTION = Rule(
    "wording/several-actions",
    "A step asks for one action.",
    "The second action of a step is the one that is forgotten, and nobody can tick half a step.",
    "DOE-STD-1029-92 (from memory) and UK HSE HSG48, style audit: one action per step, up to three only if linked",
    "Putting the same thing away (`… and discard it`) and posture (`stop and …`, `lean forward and …`) belong to the "
    "action beside them. A text read aloud may hold up to three.",
    (("every profile", "warning, error above 3 in a headline"),),
    example="`Remove the apron and sanitize the gloves` → two steps",
)
LONG_SENTENCE = Rule(
    "wording/long-sentence",
    "A sentence that instructs has at most 20 words, any other at most 25.",
    "A long sentence is not remembered to its end, least of all when it is heard through a hood.",
    "ASD-STE100 (from memory): 20 words in a procedure, 25 in a description; GOV.UK style blog 2014 and Australian "
    "Government Style Manual: at most 25 words",
    "",
    (("every profile", "warning, error above 25 words in an instruction"),),
    example="split it where it says `and`",
)
CONDITION_FIRST = Rule(
    "wording/condition-after-action",
    "A condition stands before the action that depends on it.",
    "Whoever hears the action first has begun it before the condition arrives.",
    "DOE-STD-1029-92 (from memory): IF or WHEN clause first, then the action; Federal Plain Language Guidelines 2011",
    "Questions are no conditions: `Check if the glove is torn`.",
    (("every profile", "warning"),),
    example="`Change the glove if it is torn` → `If the glove is torn, change it`",
)
PASSIVE = Rule(
    "wording/passive-voice",
    "An instruction is in the active voice.",
    "The passive hides who acts.",
    "UK HSE HSG48, style audit: active present tense",
    "States are not actions: `until the gloves are covered`.",
    (("every profile", "advice"),),
    example="`The gown is untied` → `Untie the gown`",
)
PRONOUN = Rule(
    "wording/unclear-pronoun",
    "A pronoun can mean only one person or thing.",
    "With wearer, assistant and observer in the room, `he` is nobody; with two items in the sentence, `it` is either.",
    "Federal Plain Language Guidelines 2011; common practice, no source, for the count of two items",
    "",
    (("every profile", "advice"),),
    example="`Lift the hood off the coverall and roll it` → `… and roll the hood`",
)
LONG_BREATH = Rule(
    "wording/long-breath",
    "What is read aloud has a pause at least every 18 words.",
    "The listener acts in the pauses; without one the reader runs out of breath and the listener out of memory.",
    "common practice, no source",
    "",
    (("every profile", "advice"),),
    example="put a full stop or a comma where the hand has to move",
)
DOUBLE_NEGATIVE = Rule(
    "wording/double-negative",
    "A sentence says no once.",
    "Two negations are read as one, or as none, and translators turn them round.",
    "UK HSE HSG48, style audit; Australian Government Style Manual; Federal Plain Language Guidelines 2011",
    "",
    (("every profile", "warning"),),
    example="`Do not leave without the observer's word` → `Leave only when the observer says so`",
)
EMPTY_ANSWER = Rule(
    "wording/empty-answer",
    "An answer, a watch point or an end state says what is seen.",
    "`Checked` can be said with closed eyes; the state that was seen can not.",
    "Degani and Wiener, Cockpit Checklists, Human Factors 35(2), 1993: responses say the actual value or state, "
    "never `set`, `checked` or `completed`",
    "",
    (("every profile", "warning"),),
    example="`Done` → `Both inner gloves are whole`",
)


def headline_without_verb(reading: Reading) -> Iterator[Finding]:
    """Headlines that begin with anything but a verb, a condition with an action after it, or a role with one."""
    words = reading.words
    if not words.verbs:
        return
    roles = {r.name.plain.lower() for r in reading.edition.roles}
    acts = {s.id: [a.verb.split("-")[0] for a in s.acts] for s in reading.edition.all_steps()}
    conditional = phrases(words.conditions)
    for passage in reading.of("headline"):
        sentence = passage.sentences[0] if passage.sentences else None
        if sentence is None or not sentence.stretches:
            continue
        first, *later = sentence.stretches
        if is_order(_only(first), words, sure=False) and _begins_order(first, words):
            continue
        opened = conditional.match(" ".join(first)) or first[0] in words.subordinators or " ".join(first) in roles
        if opened and any(_begins_order(s, words) for s in later):
            continue
        inside = next((w for w in sentence.low[1:] if w in words.verbs and w not in words.also_nouns), "")
        verb = inside or next((v for v in acts.get(passage.step, ()) if v in words.deeds), "")
        hint = f"start with `{verb.capitalize()}`" if verb else "start with the verb of what to do"
        yield found(HEADLINE_VERB, passage, f"the headline {quote(passage.plain)} does not start with a verb", hint)


def _only(stretch: tuple[str, ...]) -> Sentence:
    return Sentence("", stretch, stretch, (stretch,))


def _begins_order(stretch: tuple[str, ...], words: WordList) -> bool:
    first = next(clauses(_only(stretch), words), ())
    return is_order(_only(first), words, sure=False) if first else False


def several_actions(reading: Reading) -> Iterator[Finding]:
    """Headlines with more than one action, and spoken texts with more than three."""
    for passage in reading.of("headline", "say"):
        actions = [a for s in passage.sentences for a in _actions(s, reading)]
        spoken = passage.field == "say"
        if len(actions) <= (ACTIONS if spoken else 1):
            continue
        what = "what is read aloud" if spoken else "the headline"
        listed = ", ".join(quote(" ".join(a), 40) for a in actions)
        last = quote(" ".join(actions[-1]), 50)
        hint = f"make {last} a step of its own"
        if spoken:
            hint = f"call one action, and move technique to `do`; {hint.replace('make', 'or make')}"
        severity = Severity.ERROR if not spoken and len(actions) > ACTIONS else Severity.WARNING
        yield found(ONE_ACTION, passage, f"{what} asks for {len(actions)} actions: {listed}", hint, severity)


def _actions(sentence: Sentence, reading: Reading) -> Iterator[tuple[str, ...]]:
    words = reading.words
    things = words.pronouns | words.plural_pronouns
    waiting: tuple[str, ...] = ()
    for n, stretch in enumerate(sentence.stretches):
        parts = list(clauses(_only(stretch), words))
        for i, clause in enumerate(parts):
            verb = action(clause, words, sure=bool(n or i))
            putting_away = verb and verb[0] in words.putting_away and (not things or things.intersection(verb[1:2]))
            if not verb or putting_away or (len(clause) == 1 and i + 1 < len(parts)):  # `close and seal the bag`
                continue
            waiting = verb if verb[0] in words.preparing else ()
            if not waiting:
                yield verb
    if waiting:
        yield waiting


def long_sentence(reading: Reading) -> Iterator[Finding]:
    """Sentences beyond the limit of their kind."""
    for passage in reading.passages:
        warn, stop = STEP_WORDS if passage.instructs else (PROSE_WORDS, 10**6)
        for sentence in passage.sentences:
            count = len(sentence.words)
            if count > warn:
                severity = Severity.ERROR if count > stop else Severity.WARNING
                hint = f"split it into sentences of at most {warn} words"
                yield found(
                    LONG_SENTENCE, passage, f"a sentence of {count} words: {quote(sentence.text)}", hint, severity
                )


def condition_after_action(reading: Reading) -> Iterator[Finding]:
    """Orders whose `if` or `when` comes behind."""
    words = reading.words
    pattern = phrases(words.conditions)
    for passage in reading.of("headline", "say", "do", "leave", "avoid"):
        for sentence in passage.sentences:
            low = sentence.text.lower()
            match = pattern.search(low, 1)
            if not match or len(low) != len(sentence.text) or pattern.match(low):
                continue
            before = low[: match.start()]
            if not is_order(_only(tuple(before.replace(",", " ").split())), words, sure=False):
                continue
            if any(w.strip(",;:") in words.asking for w in before.split()):
                continue
            if _leads_on(sentence, match.group(), reading):
                continue
            action_text = sentence.text[: match.start()].strip(" ,;:–—")
            condition = sentence.text[match.start() :].rstrip(" .!")
            mended = f"{condition[:1].upper()}{condition[1:]}, {action_text[:1].lower()}{action_text[1:]}"
            yield found(
                CONDITION_FIRST, passage, f"the condition {quote(condition)} comes after its action",
                f"put the condition first: {quote(mended, 160)}",
            )  # fmt: skip


def _leads_on(sentence: Sentence, condition: str, reading: Reading) -> bool:
    """Whether the condition opens a stretch that an action follows: `Lean forward; if it catches, lift it`."""
    head = tuple(condition.split())
    for i, stretch in enumerate(sentence.stretches):
        if stretch[: len(head)] == head:
            return any(_begins_order(later, reading.words) for later in sentence.stretches[i + 1 :])
    return False


def passive_voice(reading: Reading) -> Iterator[Finding]:
    """A form of `be` with a participle in the main clause of an instruction."""
    words = reading.words
    conditional = {c.split()[0] for c in words.conditions} | words.subordinators
    if not words.be:
        return
    for passage in reading.passages:
        if not passage.instructs:
            continue
        for sentence in passage.sentences:
            for stretch in sentence.stretches:
                verb = _passive(stretch, words, conditional)
                if verb:
                    yield found(
                        PASSIVE, passage, f"`{verb}` does not say who acts: {quote(sentence.text)}",
                        "say it as an order, with the verb first",
                    )  # fmt: skip


def _passive(stretch: tuple[str, ...], words: WordList, stop: AbstractSet[str]) -> str:
    for i, word in enumerate(stretch):
        if word in stop:
            return ""
        if word in words.be:
            for j in (i + 1, i + 2):
                if j < len(stretch) and _participle(stretch[j], words):
                    return " ".join(stretch[i : j + 1])
    return ""


def _participle(word: str, words: WordList) -> bool:
    ends = any(word.endswith(e) and len(word) > len(e) + 2 for e in words.participle_endings)
    return ends or word in words.participles


def unclear_pronoun(reading: Reading) -> Iterator[Finding]:
    """People called by a pronoun, and `it` after two things."""
    words = reading.words
    edition = reading.edition
    things = [i.name for i in edition.items] + [s.name for s in edition.supplies]
    named = phrases(frozenset(t.plain.lower() for t in things if t.plain.strip()))
    for passage in reading.of("headline", "say", "do", "watch", "done-when", "hold"):
        for sentence in passage.sentences:
            person = next((w for w in sentence.low if w in words.persons), "")
            if person:
                yield found(
                    PRONOUN, passage, f"`{person}` does not say who: {quote(sentence.text)}", "name the role instead"
                )
                continue
            yield from _thing(passage, sentence, reading, named)


def _thing(passage: Passage, sentence: Sentence, reading: Reading, named: re.Pattern[str]) -> Iterator[Finding]:
    words, low = reading.words, sentence.text.lower()
    for pronouns, plural in ((words.pronouns, False), (words.plural_pronouns, True)):
        match = phrases(pronouns).search(low)
        if match:
            things = dict.fromkeys(n for n in named.findall(low[: match.start()]) if n.endswith("s") == plural)
            if len(things) > 1:
                listed = " or ".join(f"`{t}`" for t in things)
                yield found(
                    PRONOUN, passage, f"`{match.group()}` may mean {listed}: {quote(sentence.text)}",
                    f"repeat the name instead of `{match.group()}`",
                )  # fmt: skip
                return


def long_breath(reading: Reading) -> Iterator[Finding]:
    """Spoken stretches without a pause."""
    for passage in reading.of("say"):
        for sentence in passage.sentences:
            longest = max(sentence.stretches, key=len, default=())
            if len(longest) > BREATH_WORDS:
                said = quote(" ".join(longest))
                yield found(
                    LONG_BREATH, passage, f"{len(longest)} words to be read without a pause: {said}",
                    "make two sentences of it, or put a comma where the reader may breathe",
                )  # fmt: skip


def double_negative(reading: Reading) -> Iterator[Finding]:
    """A negation turned round by a second one in the same clause."""
    words = reading.words
    pattern = phrases(words.reversals)
    for passage in reading.passages:
        if passage.field == "name":
            continue
        for sentence in passage.sentences:
            for stretch in sentence.stretches:
                pair = _twice(stretch, words, pattern)
                if pair:
                    yield found(
                        DOUBLE_NEGATIVE, passage, f"`{pair[0]}` and `{pair[1]}` in one clause: {quote(sentence.text)}",
                        "say what to do, or when it is allowed: `only when …`",
                    )  # fmt: skip


def _twice(stretch: tuple[str, ...], words: WordList, pattern: re.Pattern[str]) -> tuple[str, str] | None:
    for i, word in enumerate(stretch):
        if word in words.negations:
            rest = stretch[i + 1 :]
            end = next((j for j, w in enumerate(rest) if w in words.joiners), len(rest))
            match = pattern.search(" ".join(rest[:end]))
            if match:
                return word, match.group()
    return None


def empty_answer(reading: Reading) -> Iterator[Finding]:
    """Confirmations that say nothing about what was seen."""
    for passage in reading.of("answer", "watch", "done-when", "hold"):
        if " ".join(w for s in passage.sentences for w in s.low) in reading.words.empty_answers:
            field = {"answer": "the answer", "watch": "the watch point", "hold": "the hold"}.get(
                passage.field, "the end state"
            )
            yield found(
                EMPTY_ANSWER, passage, f"{field} {quote(passage.plain)} does not say what was seen",
                "say the state that can be seen: `Both inner gloves are whole`",
            )  # fmt: skip
