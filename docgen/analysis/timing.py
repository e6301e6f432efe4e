"""Turn an edition into seconds: how long each step of the main path takes to say, answer, clean and do.

Published reading rates are for fluent reading aloud. Somebody who calls steps to a person in a hood speaks slower, so
every rate is scaled by the same factor, and a site may set its own. Cautions are not counted: they are read before the
work.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass

from docgen.findings import Finding, advice, warning
from docgen.model.edition import Act, Edition, Step
from docgen.model.moment import Rule, Timing
from docgen.model.text import Text

IREST = "Trauzettel-Klosinski and Dietz 2012, IOVS 53:5452"


@dataclass(frozen=True, slots=True)
class Rate:
    """How fast a language is read aloud: words and characters a minute (0 = not known)."""

    language: str
    words: int
    deviation: int
    """Standard deviation of `words`; 0 = not known."""
    characters: int
    source: str


_TABLE = f"{IREST}, table"
_MEMORY = f"{IREST}, from memory"

RATES: tuple[Rate, ...] = (
    Rate("ar", 138, 20, 612, _TABLE),
    Rate("de", 179, 17, 920, _TABLE),
    Rate("en", 228, 30, 987, _TABLE),
    Rate("es", 218, 28, 1025, f"{IREST}, table; deviation and characters from memory"),
    Rate("fi", 161, 18, 1078, _TABLE),
    Rate("fr", 195, 26, 998, _TABLE),
    Rate("he", 187, 29, 833, _TABLE),
    Rate("it", 188, 28, 950, _TABLE),
    Rate("ja", 193, 30, 357, f"{IREST}, table; characters from memory, low confidence"),
    Rate("nl", 202, 29, 978, _TABLE),
    Rate("pl", 166, 23, 916, _TABLE),
    Rate("pt", 181, 29, 913, _MEMORY),
    Rate("ru", 184, 32, 986, _MEMORY),
    Rate("sl", 180, 30, 0, _MEMORY),
    Rate("sv", 199, 34, 0, _MEMORY),
    Rate("tr", 166, 25, 1054, _MEMORY),
    Rate("zh", 158, 19, 255, _TABLE),
)
AVERAGE = Rate("", 184, 29, 863, f"{IREST}, mean of the languages")
"""For a language without a row: by characters, since word length differs too much."""
SILENT_NON_FICTION = 238
ALOUD_ENGLISH = 183
"""Words a minute, Brysbaert 2019, J Mem Lang 109:104047: 77 studies, 5,965 people."""
INSTRUCTION = 110
"""English words a minute when instructing. ICAO Annex 10 Vol. II asks for at most 100 (from memory); 100 to 120 is
common practice, no source."""
UNSPACED = frozenset({"zh", "ja", "th", "km", "lo", "my"})
"""Languages written without spaces between words: counted by characters."""

HYGIENE = {"sanitize": 20, "rub-hands": 20, "wash": 40, "clean": 60, "apply": 60, "change-gloves": 20}
"""Seconds of a hygiene act that gives no time of its own: hand rub 20 to 30 and wash 40 to 60 in all (WHO Guidelines on
Hand Hygiene 2009, from memory); gloves as hands; surfaces common practice, no source."""
ALLOWANCE = {
    "inspect": 10, "remove": 15, "put-on": 20, "discard": 4, "touch": 2, "open": 6, "move": 10, "sit": 5, "confirm": 3,
    "hand-over": 5, "change-gloves": 30, "collect": 15, "note": 3, "wait": 0, "sanitize": 3, "rub-hands": 3, "wash": 5,
    "clean": 5, "apply": 5,
}  # fmt: skip
"""Seconds of movement for an act: common practice, no source. For hygiene: reaching for the agent."""
GARMENT = {"coverall": 3.0, "gown": 1.5, "powered-hood": 2.0, "boot-covers": 2.0, "shoe-covers": 1.5}
"""How many times the allowance a large item takes: common practice, no source."""
UNNAMED = 5
"""Seconds for a step that names no act: common practice, no source."""
PUBLISHED_MINUTES = {("putting-on", "enhanced"): (7, 15), ("removing", "enhanced"): (14, 23)}
"""Minutes quoted for enhanced protective equipment: Isr J Health Policy Res 2021, introduction."""
TOLERANCE = 1.1
"""How far an estimate may be above the stated time before it is worth a warning: it is no better than that."""
MOST_COMBINATIONS = 4096
"""Combinations of options tried for the longest one; leaving out those past this can only lower the estimate."""

LONGER = Rule(
    "timing/longer-than-stated",
    "The steps fit into the time that the protocol states.",
    "Whoever plans a shift by the stated time ends it in a hurry, and hurry is when gloves touch faces.",
    f"{IREST}: rates of reading aloud; action allowances are common practice, no source",
    "An estimate, with a tenth of tolerance: least hygiene times, no branches, cautions read beforehand.",
    (("every profile", "warning"),),
    example="raise `minutes`, shorten what is read aloud, or split the protocol",
)
SHORTER = Rule(
    "timing/far-below-stated",
    "The stated time is not more than three times the estimate.",
    "A stated time far above the work hides a forgotten unit or missing steps.",
    "common practice, no source",
    "",
    (("every profile", "advice"),),
    example="`minutes: 20` for four short steps",
)
IMPLAUSIBLE = Rule(
    "timing/outside-published-range",
    "The stated time of an enhanced ensemble is in the range that is published for it.",
    "A time far from everybody else's is a slip, or needs a reason.",
    "Isr J Health Policy Res 2021, introduction: putting on 7 to 15 minutes, removing 14 to 23",
    "",
    (("enhanced", "advice"), ("standard", "off")),
    example="`minutes: 5` for removing a coverall with respirator",
)
UNSTATED = Rule(
    "timing/no-stated-time",
    "A protocol for an ensemble states how long it takes.",
    "Nobody relieves a wearer in time if nobody knows the time.",
    "common practice, no source",
    "",
    (("every profile", "advice"),),
    example="`minutes: 20`",
)
TIMING_RULES: tuple[Rule, ...] = (LONGER, SHORTER, IMPLAUSIBLE, UNSTATED)


def estimate(edition: Edition, rates: tuple[Rate, ...] = RATES) -> tuple[tuple[Timing, ...], tuple[Finding, ...]]:
    """Seconds of each step of the main path, in order, and what there is to say about the whole.

    In a general edition the steps of every choice are listed, and the whole is that of the longest combination.
    """
    timings = tuple(_timing(step, edition, rates) for step in edition.steps)
    return timings, tuple(_findings(edition, timings))


def speech(text: str, language: str, rate: int = 0, rates: tuple[Rate, ...] = RATES) -> float:
    """Seconds to call a text. `rate` is the site's words a minute; 0 takes the language's, slowed for instructing."""
    root = language.split("-")[0].lower()
    known = next((r for r in rates if r.language == root), AVERAGE)
    english = next((r.words for r in rates if r.language == "en"), 228)
    slowing = INSTRUCTION / english
    if rate and root in UNSPACED:
        slowing = rate / known.words
    if known is AVERAGE or root in UNSPACED:
        return 60 * sum(not c.isspace() for c in text) / ((known.characters or AVERAGE.characters) * slowing)
    return 60 * len(text.split()) / (rate or known.words * slowing)


def _timing(step: Step, edition: Edition, rates: tuple[Rate, ...]) -> Timing:
    def said(text: Text) -> float:
        return speech(text.plain, edition.language, edition.speech_rate, rates)

    speak = said(step.say or step.headline)
    hygiene = sum(_hygiene(a, step, edition) for a in step.acts)
    act = sum(_movement(a, edition) for a in step.acts) if step.acts else UNNAMED
    least = step.time.least if step.time else 0
    return Timing(step.id, speak, said(step.answer), hygiene, max(act, least - hygiene))


def _hygiene(act: Act, step: Step, edition: Edition) -> float:
    if act.verb not in HYGIENE:
        return 0
    if act.time and act.time.least:
        return act.time.least
    if step.time and step.time.least and sum(a.verb in HYGIENE for a in step.acts) == 1:
        return step.time.least
    contact = max((s.contact for s in edition.supplies if s.id in act.using), default=0)
    return contact if contact and act.verb in ("clean", "apply") else HYGIENE[act.verb]


def _movement(act: Act, edition: Edition) -> float:
    seconds = float(ALLOWANCE[act.verb])
    if act.verb == "wait" or (act.time and act.verb not in HYGIENE):
        return max(seconds, act.time.least if act.time else 0)
    if act.verb in ("remove", "put-on"):
        kinds = {i.id: i.kind for i in edition.items}
        return sum(seconds * GARMENT.get(kinds.get(t, ""), 1.0) for t in act.targets)
    return seconds


def whole(edition: Edition, timings: tuple[Timing, ...]) -> tuple[float, tuple[tuple[str, str], ...]]:
    """Seconds of the main path and the options that lead to it: the longest combination of a general edition."""
    seconds = {t.step: t.total for t in timings}
    if not edition.open_options:
        return sum(seconds.values()), edition.options
    asked = {option for step in edition.steps for option, _ in step.when}
    open_options = [(name, choices) for name, choices in edition.open_options if name in asked]
    combinations = itertools.product(*([(name, c) for c in choices] for name, choices in open_options))
    best: tuple[float, tuple[tuple[str, str], ...]] = (0.0, ())
    for chosen in itertools.islice(combinations, MOST_COMBINATIONS):
        pick = dict(chosen)
        total = sum(
            seconds[s.id] for s in edition.steps if all(o not in pick or pick[o] in wanted for o, wanted in s.when)
        )
        best = max(best, (total, chosen))
    return best


def _findings(edition: Edition, timings: tuple[Timing, ...]) -> Iterator[Finding]:
    total, options = whole(edition, timings)
    stated = edition.minutes
    if not stated:
        if edition.profile:
            hint = f"add `minutes: {_minutes(total)}`, or what your own trials show"
            yield advice(UNSTATED.name, "no time is stated for the whole", hint=hint)
        return
    if total > stated * 60 * TOLERANCE:
        longest = sorted(timings, key=lambda t: -t.total)[:3]
        slow = ", ".join(f"`{t.step}` {t.total:.0f} s" for t in longest)
        with_options = "".join(f", {o} `{c}`" for o, c in options)
        yield warning(
            LONGER.name,
            f"the steps take about {_minutes(total)} minutes, but {stated} are stated{with_options}",
            hint=f"state `minutes: {_minutes(total)}`, or shorten the longest steps: {slow}",
            data=(("seconds", f"{total:.0f}"), *options),
        )
    elif total * 3 < stated * 60:
        hint = f"state `minutes: {_minutes(total)}`, or add what is missing"
        message = f"the steps take about {_minutes(total)} minutes, but {stated} are stated"
        yield advice(SHORTER.name, message, hint=hint)
    published = PUBLISHED_MINUTES.get((edition.kind, edition.profile))
    if published and not published[0] <= stated <= published[1]:
        low, high = published
        yield advice(
            IMPLAUSIBLE.name, f"{stated} minutes are stated; {low} to {high} are published for this kind of protocol",
            hint="check the number against a timed run, and keep it if it holds",
        )  # fmt: skip


def _minutes(seconds: float) -> int:
    """Whole minutes, rounded up."""
    return max(1, -int(-seconds // 60))
