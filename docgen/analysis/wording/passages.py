"""Turn an edition into passages: every authored text, cut into sentences, clauses and words once, for all the rules."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from docgen.findings import Finding, Note, Severity, Where
from docgen.model.edition import Caution, Edition, Step
from docgen.model.moment import Rule
from docgen.model.text import Text
from docgen.model.wordlist import WordList

NOWHERE = Where()
INSTRUCTIONS = frozenset({"headline", "say", "do", "leave"})
"""Fields that tell somebody what to do."""

_MARKS = r"""\s.,;:!?()\[\]"“”«»…—–¿¡،؛؟।*"""
_WORD = re.compile(rf"[^{_MARKS}]+(?:[.,:][^{_MARKS}]+)*")
_EDGE = re.compile(r"(?<!\w)['’‘-]|['’‘-](?!\w)")
_SENTENCE_END = re.compile(r"(?<=[.!?…؟।])[\"”»')\]]*\s+(?![a-zà-ÿ])|\n+")
_PAUSE = re.compile(r"[,;:—–…()]\s|[,;:—–…()]$")


def words_of(text: str) -> tuple[str, ...]:
    """The words of a text, without the marks around them. `0.5`, `e.g` and `and/or` are one word each."""
    found = _WORD.findall(text)
    if not _EDGE.search(text):
        return tuple(found)
    return tuple(w.strip("'’-‘") or w for w in found)


def sentences_of(text: str) -> tuple[str, ...]:
    """The sentences of a text. A full stop before a lower-case letter ends none, so `e.g. gloves` stays whole."""
    return tuple(s.strip() for s in _SENTENCE_END.split(text) if s.strip())


@dataclass(frozen=True)
class Sentence:
    """One sentence: its words as written, in lower case, and cut where a speaker pauses or joins."""

    text: str
    words: tuple[str, ...]
    low: tuple[str, ...]
    stretches: tuple[tuple[str, ...], ...]
    """Lower-case words between two marks of punctuation."""


@dataclass(frozen=True)
class Cut:
    """A text, cut up."""

    plain: str
    low: str
    """In lower case."""
    digits: bool
    """Whether there is a number in it."""
    sentences: tuple[Sentence, ...]


@lru_cache(maxsize=8192)
def cut(text: str) -> Cut:
    """Cut a text up. Kept for the process: after an edit, all other texts are the same."""
    return Cut(text, text.lower(), any(map(str.isdigit, text)), tuple(map(_sentence, sentences_of(text))))


def _sentence(text: str) -> Sentence:
    words = words_of(text)
    stretches = tuple(s for part in _PAUSE.split(text.lower()) if (s := words_of(part)))
    return Sentence(text, words, tuple(w.lower() for w in words), stretches)


@dataclass(frozen=True)
class Passage:
    """One authored text and what it is for."""

    field: str
    """`headline`, `say`, `answer`, `do`, `watch`, `done-when`, `hold`, `hazard`, `consequence`, `avoid`, `question`,
    `leave`, `tell`, `act`, `title`, `prose` or `name`."""
    cut: Cut
    key: str
    where: Where = NOWHERE
    step: str = ""

    @property
    def plain(self) -> str:
        """The words; a slot that no site has filled yet is shown as `{name}`, so that the sentence keeps its shape."""
        return self.cut.plain

    @property
    def sentences(self) -> tuple[Sentence, ...]:
        """The text, sentence by sentence."""
        return self.cut.sentences

    @property
    def instructs(self) -> bool:
        """Whether somebody is told what to do."""
        return self.field in INSTRUCTIONS


def passage(field: str, text: Text, where: Where = NOWHERE, step: str = "") -> Passage:
    """The passage of a text of the edition."""
    plain = "".join([r.text or (f"{{{r.slot}}}" if r.slot else "") for r in text.runs])
    return Passage(field, cut(plain), text.key, where, step)


def quote(text: str, limit: int = 90) -> str:
    """A text in backticks, shortened at a word when it is long."""
    text = " ".join(text.replace("`", "'").split())
    if len(text) > limit:
        text = text[:limit].rsplit(" ", 1)[0] + " …"
    return f"`{text}`"


@dataclass(frozen=True)
class Reading:
    """An edition as the rules read it."""

    edition: Edition
    words: WordList
    passages: tuple[Passage, ...]
    cautions: tuple[tuple[Caution, str], ...]
    """Each caution once, with the first step it stands before."""

    def of(self, *fields: str) -> Iterator[Passage]:
        """Passages of these fields, in reading order."""
        return (p for p in self.passages if p.field in fields)


def read(edition: Edition, words: WordList) -> Reading:
    """Collect the passages of an edition, in reading order, each text once."""
    passages: list[Passage] = []
    cautions: dict[str, tuple[Caution, str]] = {}

    def add(field: str, text: Text, where: Where = NOWHERE, step: str = "") -> None:
        if text:
            passages.append(passage(field, text, where, step))

    def add_step(step: Step) -> None:
        for caution in step.cautions:
            if caution.id not in cautions:
                cautions[caution.id] = (caution, step.id)
                for field, text in zip(("hazard", "consequence", "avoid"), caution.texts, strict=True):
                    add(field, text, caution.where, step.id)
        add("headline", step.headline, step.where, step.id)
        add("say", step.say, step.where, step.id)
        add("answer", step.answer, step.where, step.id)
        for field, texts in (("do", step.do), ("watch", step.watch)):
            for text in texts:
                add(field, text, step.where, step.id)
        add("done-when", step.done_when, step.where, step.id)
        if step.hold:
            add("hold", step.hold.until, step.where, step.id)
        for act in step.acts:
            add("act", act.words, act.where, step.id)

    add("title", edition.title)
    for text in (edition.purpose, edition.audience, edition.reason, *edition.changes):
        add("prose", text)
    for name, where in names(edition):
        add("name", name, where)
    for role in edition.roles:
        add("prose", role.removes_by)
    for phase in edition.phases:
        add("title", phase.title)
    for step in edition.steps:
        add_step(step)
    for branch in edition.branches:
        add("question", branch.question, branch.where)
        for step in branch.steps:
            add_step(step)
        add("leave", branch.leave, branch.where)
        add("tell", branch.tell, branch.where)
    return Reading(edition, words, tuple(passages), tuple(cautions.values()))


def names(edition: Edition) -> Iterator[tuple[Text, Where]]:
    """What the protocol calls its items, supplies, places and roles."""
    yield from ((item.name, item.where) for item in edition.items)
    yield from ((supply.name, NOWHERE) for supply in edition.supplies)
    yield from ((place.name, NOWHERE) for place in edition.places)
    yield from ((role.name, NOWHERE) for role in edition.roles)


def found(
    rule: Rule,
    about: Passage,
    message: str,
    hint: str,
    severity: Severity | None = None,
    notes: tuple[Note, ...] = (),
) -> Finding:
    """A finding about a passage; its severity is the rule's first one unless given."""
    level = severity or Severity(rule.severity[0][1].split(",")[0])
    data = (("text", about.key),)
    return Finding(rule.name, level, message, about.where, hint, about.step, notes=notes, data=data)
