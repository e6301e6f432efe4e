"""The words of one language, as the wording rules need them: data that a translator can extend without reading code.

Every entry is lower case. An entry may hold several words (`take off`); it is matched as whole words.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Vague:
    """Words that leave a question open."""

    words: tuple[str, ...]
    mend: str
    """What to do about it, as an imperative sentence without a full stop."""
    unless: tuple[str, ...] = ()
    """Words later in the same sentence that answer the question."""
    instructions: bool = False
    """Only looked for where somebody is told what to do, not in hazards or end states."""
    before_number: bool = False
    """Only looked for before a number: `about 20 seconds`."""


@dataclass(frozen=True, slots=True)
class WordList:
    """What a language's instructions are made of. Empty fields switch the rules off that need them."""

    language: str
    verbs: frozenset[str] = frozenset()
    """First words of an instruction: `remove`, `take`, `rub`."""
    also_nouns: frozenset[str] = frozenset()
    """Verbs that are nouns or adjectives too (`clean`, `hand`): taken for verbs only before a word of `openers`."""
    openers: frozenset[str] = frozenset()
    """Words that follow a verb rather than a noun: `the`, `your`, `off`, `it`."""
    modals: frozenset[str] = frozenset()
    """Words that make a statement of what looked like an order: `pull on the hose can tear it`."""
    not_verbs: tuple[str, ...] = ()
    """Phrases that look like an instruction and are none: `hand hygiene`."""
    lead_ins: frozenset[str] = frozenset()
    """Words that may stand before the verb: `then`, `now`, `slowly`."""
    joiners: frozenset[str] = frozenset()
    """Words that join two actions: `and`, `then`."""
    prohibitions: tuple[str, ...] = ()
    """How an instruction not to do something begins: `do not`, `never`."""
    deeds: frozenset[str] = frozenset()
    """Verbs that change what is worn, clean or where, so that they are steps: `remove`, `sanitize`."""
    cleaning: tuple[str, ...] = ()
    """How words for cleaning hands, gloves or surfaces begin: `sanitiz`, `rub`, `wash`."""
    putting_away: frozenset[str] = frozenset()
    """Verbs that with a pronoun only finish the action before: `drop it`, `discard them`."""
    preparing: frozenset[str] = frozenset()
    """Verbs of posture, which only prepare the action after them: `stop and show …`."""
    asking: frozenset[str] = frozenset()
    """Words after which `if` asks and sets no condition: `check if`, `tell … when`, `even if`."""
    conditions: tuple[str, ...] = ()
    """`if`, `when`, `unless`."""
    subordinators: frozenset[str] = frozenset()
    """Words after which a passive describes a state: `until`, `that`, `where`."""
    negations: frozenset[str] = frozenset()
    """`not`, `never`, `no`."""
    reversals: tuple[str, ...] = ()
    """What turns a negation round a second time: `without`, `unless`, `fail to`."""
    negation_cues: tuple[str, ...] = ()
    """What denies, for comparing a translation with its source: `not`, `without`. A cue that ends in an apostrophe
    stands before its word (`n'`); `*` at an end stands for more letters (`un*`). Where words are not parted by blanks,
    a cue is found anywhere."""
    not_cues: tuple[str, ...] = ()
    """Words with a cue in them that deny nothing."""
    unit_names: tuple[tuple[str, tuple[str, ...]], ...] = ()
    """Unit → its names beyond those of CLDR: `second: [segonn]`."""
    signal_words: tuple[tuple[str, tuple[str, ...]], ...] = ()
    """Signal word of ANSI Z535.4 → how it may be worded, as printed: `warning: [ADVERTENCIA]`."""
    vague: tuple[Vague, ...] = ()
    units: frozenset[str] = frozenset()
    """Case matters here: `ml`, `s`, `seconds`, `°C`."""
    number_words: frozenset[str] = frozenset()
    """From two upwards."""
    labels: frozenset[str] = frozenset()
    """Words after which a bare number is a name or a count: `step`, `room`, `dial`."""
    stops: frozenset[str] = frozenset()
    """Words that cannot be what a number counts: `and`, `then`, `with`."""
    range_words: frozenset[str] = frozenset()
    """`to`, `and`, `or` between two numbers."""
    abbreviations: frozenset[str] = frozenset()
    """Capitals that need no explanation; case matters: `OK`."""
    shortenings: tuple[tuple[str, str], ...] = ()
    """Short form → what to write instead: `e.g.` → `for example`."""
    and_or: tuple[str, ...] = ()
    """`and/or`."""
    synonyms: tuple[tuple[str, ...], ...] = ()
    """Names for the same thing."""
    same_verbs: tuple[tuple[str, ...], ...] = ()
    """Verbs for the same act."""
    signals: tuple[str, ...] = ()
    """Signal words as authors type them into texts: `warning`, `note`, `important`."""
    be: frozenset[str] = frozenset()
    """Forms of the verb that makes a passive."""
    participles: frozenset[str] = frozenset()
    """Irregular ones."""
    participle_endings: tuple[str, ...] = ()
    """`ed`."""
    persons: frozenset[str] = frozenset()
    """Pronouns that hide who is meant: `he`, `they`."""
    pronouns: frozenset[str] = frozenset()
    """Pronouns for one thing: `it`."""
    plural_pronouns: frozenset[str] = frozenset()
    """Pronouns for several: `them`."""
    empty_answers: frozenset[str] = frozenset()
    """Answers that say nothing about what was seen: `ok`, `done`, `checked`."""
    weak_consequences: tuple[str, ...] = ()
    """Consequences that name none: `is dangerous`, `be careful`."""
