"""Turn a pair of texts into findings: what a translation must have in common with its source.

Each rule stands with the function that looks for it in the visible tuple `CHECKS`. ISO 17100 asks that a second person
compare a translation with its source; these are the comparisons that a program can make before and after that person.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

from docgen.findings import Finding, Severity
from docgen.language.denial import denials, lost_and_gained
from docgen.language.matching import holds
from docgen.language.numbers import differing, quantities
from docgen.language.pairs import Ground, Pair
from docgen.language.scripts import foreign_words, letters_of, mixed_word, width
from docgen.language.texts import room
from docgen.model.glossary import Term
from docgen.model.moment import Rule
from docgen.model.text import Runs

ALWAYS_ERROR = (("every profile", "error"),)
ALWAYS_WARNING = (("every profile", "warning"),)
PRACTICE = "common practice, no source"
_SLOT = re.compile(r"\{[^{}]*\}")
"""A placeholder: its name is no word of the text."""
_CODE_OF_TRANSLATION = "ISO 17100:2015, translation and revision: content equal to the source"

PLACEHOLDER = Rule(
    "language/placeholder", "A translation has the placeholders of its source.",
    "A lost placeholder is a lost product, place or number; a new one is filled by nothing.", PRACTICE,
    severity=ALWAYS_ERROR, waivable=False, example="`Use {hand-rub}` → `Use {el-gel}` is refused",
)  # fmt: skip
NUMBER = Rule(
    "language/number", "A translation has the numbers of its source, in digits.",
    "20 seconds that become 2 are read by somebody who has nothing to compare them with.", _CODE_OF_TRANSLATION,
    "Digits of another script, and the decimal mark of the language.", ALWAYS_ERROR, waivable=False,
    example="`Rub for 20 seconds` → `Frote 2 segundos` is refused",
)  # fmt: skip
NUMBER_ORDER = Rule(
    "language/number-order", "Numbers stand in the order of the source.",
    "`40 to 60` turned round, or two numbers that have changed places, have another meaning.", PRACTICE,
    "Languages that name the whole before the part (`5 中的 3`): the translator accepts it.", ALWAYS_WARNING,
    example="`3 to 4` → `4 a 3`",
)  # fmt: skip
UNIT = Rule(
    "language/unit", "A number has the unit it has in the source.",
    "Seconds and minutes, or mL and L, differ by a factor that harms.", _CODE_OF_TRANSLATION,
    "Names of units are those of CLDR, and of `unit-names` in the language's words.yaml.", ALWAYS_ERROR,
    waivable=False, example="`20 seconds` → `20 minutos` is refused",
)  # fmt: skip
EMPHASIS = Rule(
    "language/emphasis", "A translation has as many emphasised parts as its source.",
    "What the author made stand out must stand out for everybody.", PRACTICE, severity=ALWAYS_ERROR, waivable=False,
    example="`Do **not** open` → `No abra` has lost its emphasis",
)  # fmt: skip
LINES = Rule(
    "language/lines", "A translation has the lines and the blanks at its ends that its source has.",
    "A text is one line; a line end in the middle changes how the sheet is read.", PRACTICE, severity=ALWAYS_ERROR,
    waivable=False, example="`msgstr` with `\\n` in it is refused",
)  # fmt: skip
NEGATION = Rule(
    "language/negation", "A translation denies where its source denies, and only there.",
    "`Not proven to be safe` became `proven not to be safe` in a published translation: a lost or moved negation turns "
    "an instruction into its opposite.",
    "Ozolins on back-translation, and a validation article on lost negation, as collected for translated forms",
    "An error in cautions and holds, a warning elsewhere. A translator who says the same without a negation "
    "(`Keep off` for `Do not touch`) records it in a comment: `# accepted: negation, why`.",
    (("every profile", "warning; error in cautions and holds"),),
    example="`Do not touch the front` → `Toque el frente`",
)  # fmt: skip
NO_CUES = Rule(
    "language/no-cues", "The negations of a language are known.",
    "Without them a lost `not` is not found.", PRACTICE, severity=ALWAYS_WARNING, waivable=False,
    example="add `negation-cues: [...]` to the language's words.yaml",
)  # fmt: skip
TERM = Rule(
    "language/term", "A term of the glossary is translated as the glossary says.",
    "Two names for one thing on one wall are two things to a reader.", "ISO 17100:2015, terminology",
    "A sentence that needs no name for the thing: the translator accepts it.", ALWAYS_WARNING,
    example="`outer gloves` → `guantes` instead of `guantes externos`",
)  # fmt: skip
FORBIDDEN_TERM = Rule(
    "language/forbidden-term", "No word stands that the glossary rules out for a term.",
    "It names something else: soap is no hand rub.", "ISO 17100:2015, terminology", severity=ALWAYS_ERROR,
    example="`hand rub` → `jabón`",
)  # fmt: skip
KEPT_TERM = Rule(
    "language/kept-term", "What must not be translated stands as it is.",
    "Codes and product classes are recognised by their letters.", "ISO 17100:2015, terminology", severity=ALWAYS_ERROR,
    waivable=False, example="`N95` is `N95` in every language",
)  # fmt: skip
TOO_LONG = Rule(
    "language/too-long", "A translation is not much longer than translations usually are.",
    "It may not fit its place, and long texts on a wall are not read.",
    "IBM globalization guideline A3, as in W3C, Text size in translation", severity=ALWAYS_WARNING,
    example="a headline of 20 letters may take 40",
)  # fmt: skip
SAME = Rule(
    "language/same-as-source", "A translation differs from its source.",
    "It is nearly always a text that was passed over.", PRACTICE,
    "Codes, signs, names, and words of the glossary that stay as they are.", ALWAYS_WARNING,
    example="`Zone` in French",
)  # fmt: skip
SCRIPT = Rule(
    "language/script", "A translation is written in the script of its language.",
    "A Cyrillic `а` among Latin letters is found by no search and read wrongly by screen readers; English words left "
    "in an Arabic sentence are read by nobody.",
    "Unicode Technical Standard 39, mixed-script detection", "Codes, and words that the glossary keeps.",
    (("every profile", "error; warning for words left in the source's script"),), example="`Обережно, hand rub`",
)  # fmt: skip


def placeholders(pair: Pair, ground: Ground) -> Iterator[Finding]:
    """Slots lost and gained."""
    ours, theirs = list(pair.source.slots), list(pair.translation.slots)
    for slot in dict.fromkeys([*ours, *theirs]):
        if (a := ours.count(slot)) != (b := theirs.count(slot)):
            message = f"`{{{slot}}}` stands {_times(b)} in the translation and {_times(a)} in the source"
            hint = f"put `{{{slot}}}` back" if a > b else f"take `{{{slot}}}` out"
            yield pair.found(PLACEHOLDER, message, hint)


def _times(n: int) -> str:
    return ("nowhere", "once", "twice")[n] if n < 3 else f"{n} times"


def numbers(pair: Pair, ground: Ground) -> Iterator[Finding]:
    """Numbers and units."""
    ours = quantities(pair.entry.source, ground.source_language, ground.source_units)
    theirs = quantities(pair.entry.translation, ground.language, ground.units)
    if not ours and not theirs:
        return
    lost, gained, changed = differing(ours, theirs)
    if lost:
        more = f"; it has `{', '.join(gained)}` instead" if gained else ""
        hint = "write the same number, in digits"
        yield pair.found(NUMBER, f"the translation has lost the number `{', '.join(lost)}`{more}", hint)
    elif gained:
        hint = "take it out; a number in words in the source stays in words"
        yield pair.found(NUMBER, f"the translation has a number that the source has not: `{', '.join(gained)}`", hint)
    for quantity, found in changed:
        name = quantity.unit.rpartition("-")[2]
        if not found.unit:
            hint = f"write the unit after the number, or add its word to `unit-names` as `{name}` in words.yaml"
            yield pair.found(UNIT, f"`{quantity}` has lost its unit", hint)
        elif not quantity.unit:
            yield pair.found(UNIT, f"`{quantity.number}` has become `{found}`", "take the unit out")
        else:
            yield pair.found(UNIT, f"`{quantity}` has become `{found}`", f"write the word for `{name}`")
    if not (lost or gained or changed) and [q.number for q in ours] != [q.number for q in theirs]:
        message = f"the numbers stand in another order: `{', '.join(q.number for q in theirs)}`"
        yield pair.found(NUMBER_ORDER, message, "put them in the order of the source, if they mean the same")


def emphasis(pair: Pair, ground: Ground) -> Iterator[Finding]:
    """Parts that stand out."""
    for what, mark in (("strong", "**"), ("emphasis", "*")):
        ours, theirs = _stretches(pair.source.runs, what), _stretches(pair.translation.runs, what)
        if ours != theirs:
            message = f"{ours} parts of the source stand in `{mark}`, and {theirs} of the translation"
            yield pair.found(EMPHASIS, message, f"mark the same words with `{mark}`")


def _stretches(runs: Runs, what: str) -> int:
    marked = [getattr(run, what) for run in runs]
    return sum(now and not before for before, now in zip([False, *marked], marked, strict=False))


def lines(pair: Pair, ground: Ground) -> Iterator[Finding]:
    """Line ends, and blanks at the ends."""
    source, translation = pair.entry.source, pair.entry.translation
    if source.count("\n") != translation.count("\n"):
        yield pair.found(LINES, "the translation has other line ends than the source", "write it as one line")
    elif source == source.strip() and translation != translation.strip():
        yield pair.found(LINES, "the translation begins or ends with a blank", "take the blank out")


def negation(pair: Pair, ground: Ground) -> Iterator[Finding]:
    """Denials lost and gained."""
    words, source_words = ground.words, ground.source_words
    if not (words and source_words and words.negation_cues and source_words.negation_cues):
        return
    source, translation = pair.entry.source, pair.entry.translation
    lost, gained = lost_and_gained(source, source_words, translation, words)
    severity = Severity.ERROR if pair.cautioning else Severity.WARNING
    hint = "say it with the negation of the source, or record why not: `# accepted: negation, …`"
    if lost:
        cues = ", ".join(denials(source, source_words))
        yield pair.found(NEGATION, f"the translation may have lost a negation: `{cues}`", hint, severity)
    if gained:
        cues = ", ".join(denials(translation, words))
        yield pair.found(NEGATION, f"the translation denies where the source does not: `{cues}`", hint, severity)


def terms(pair: Pair, ground: Ground) -> Iterator[Finding]:
    """Words of the glossary."""
    translation = pair.entry.translation
    for term in _terms_in(_SLOT.sub(" ", pair.entry.source), ground):
        usage = term.usage(ground.language)
        if term.keep:
            if term.term not in translation:
                yield pair.found(KEPT_TERM, f"`{term.term}` must stay as it is", f"write `{term.term}`")
            continue
        for word in usage.never:
            if holds(translation, word, ground.language):
                better = f"write `{usage.use[0]}`" if usage.use else "use another word"
                yield pair.found(FORBIDDEN_TERM, f"`{word}` must not be used for `{term.term}`", better)
        if usage.use and not any(holds(translation, word, ground.language) for word in usage.use):
            listed = " or ".join(f"`{word}`" for word in usage.use)
            yield pair.found(TERM, f"`{term.term}` is not translated as the glossary says", f"write {listed}")


def _terms_in(text: str, ground: Ground) -> tuple[Term, ...]:
    """The terms that stand in a source text, each once; of two that overlap, the longer (`face shield`, `shield`)."""
    finder, by_form = ground.finder
    found = (by_form[" ".join(m[0].split()).casefold()] for m in finder.finditer(text))
    return tuple({term.term: term for term in found}.values())


def too_long(pair: Pair, ground: Ground) -> Iterator[Finding]:
    """More characters than there is likely room for; a wide character counts as two."""
    most, has = room(pair.entry.source), width(pair.entry.translation)
    if has > most:
        message = f"the translation has {has} characters, and its place is likely to hold {most}"
        yield pair.found(TOO_LONG, message, "shorten it, or look at a draft of the sheet and accept it")


def same(pair: Pair, ground: Ground) -> Iterator[Finding]:
    """Passed over."""
    entry = pair.entry
    if entry.source != entry.translation or entry.key.startswith("signal."):
        return
    kept = entry.source
    for term in ground.glossary.terms:
        if term.keep:
            kept = kept.replace(term.term, " ")
    if any(c.islower() for c in _without_slots(kept)):
        yield pair.found(SAME, "the translation is the source text", "translate it, or accept it with a comment")


def script(pair: Pair, ground: Ground) -> Iterator[Finding]:
    """Letters of another script."""
    text = _without_slots(pair.translation.plain)
    if mixed := mixed_word(text):
        message = f"`{mixed}` mixes letters of two scripts that look alike"
        yield pair.found(SCRIPT, message, "type the word again on the keyboard of the language")
        return
    strange = [w for w in foreign_words(text, ground.language) if not _kept(w, ground)]
    left = [w for w in strange if holds(pair.entry.source, w, ground.source_language) and w.lower() == w]
    others = [w for w in strange if not w.isascii()]
    if left:
        message = f"`{left[0]}` is left in the script of the source"
        yield pair.found(SCRIPT, message, "translate it, or accept it", Severity.WARNING)
    elif others:
        message = f"`{others[0]}` is not in a script of `{ground.language}`"
        yield pair.found(SCRIPT, message, "write it in the script of the language")
    elif strange and not letters_of(text, ground.language) and any(map(str.islower, pair.source.plain)):
        message = f"nothing is in the script of `{ground.language}`"
        yield pair.found(SCRIPT, message, "write it in the script of the language")


def _kept(word: str, ground: Ground) -> bool:
    return any(term.keep and word in term.term for term in ground.glossary.terms)


def _without_slots(text: str) -> str:
    return "".join(part.rpartition("}")[2] if n else part for n, part in enumerate(text.split("{")))


CHECKS: tuple[tuple[tuple[Rule, ...], Callable[[Pair, Ground], Iterator[Finding]]], ...] = (
    ((PLACEHOLDER,), placeholders),
    ((NUMBER, UNIT, NUMBER_ORDER), numbers),
    ((EMPHASIS,), emphasis),
    ((LINES,), lines),
    ((NEGATION,), negation),
    ((KEPT_TERM, FORBIDDEN_TERM, TERM), terms),
    ((TOO_LONG,), too_long),
    ((SAME,), same),
    ((SCRIPT,), script),
)
