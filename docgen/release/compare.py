"""Turn two editions of one protocol into everything that differs between them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from difflib import SequenceMatcher
from typing import Any

from docgen.model.change import Altered, Change, Degree, Fact, Reworded
from docgen.model.edition import Act, Branch, Caution, Edition, Item, Place, Role, Step, Supply, Time
from docgen.model.text import NO_TEXT, Text
from docgen.model.wordlist import WordList
from docgen.release.meaning import why
from docgen.release.pairs import moved, pairs
from docgen.release.words import difference, tokens

KINDS = {"supply": "supplies", "item": "items", "role": "roles", "place": "places"}
"""Kind of a named part → field of the edition."""
STEP_TEXTS = ("headline", "say", "answer", "do", "watch", "done-when", "hold")
"""Texts of a step in the order in which they are reported."""


def compare(old: Edition, new: Edition, words: WordList | None = None) -> Change:
    """Everything that differs. Both editions are in one language; `words` is its word list.

    Without a word list every reworded text counts as changing what people do. Texts are compared as people read them,
    so that another product in the same sentence is a difference too.
    """
    work = _Comparison(old, new, words)
    parts = tuple(p for p in work.parts() if p.degree)
    return Change(old, new, parts, max((p.degree for p in parts), default=Degree.NONE))


class _Comparison:
    def __init__(self, old: Edition, new: Edition, words: WordList | None) -> None:
        self.old, self.new, self.words = old, new, words
        self.now = _renames(old, new)
        """Old id → new id of what was renamed."""

    def parts(self) -> Iterator[Altered]:
        yield from self._cautions()
        yield from self._steps(self.old.steps, self.new.steps)
        yield from self._branches()
        for kind, field in KINDS.items():
            yield from self._named(kind, getattr(self.old, field), getattr(self.new, field))
        yield from self._phases()
        yield self._document()

    # --- texts and facts ------------------------------------------------------------------------------------

    def _text(self, field: str, old: Text, new: Text) -> Iterator[Reworded]:
        if old.plain != new.plain:
            stretches = difference(tokens(old.runs), tokens(new.runs))
            yield Reworded(field, old, new, stretches, why(old.plain, new.plain, self.words))

    def _lines(self, field: str, old: tuple[Text, ...], new: tuple[Text, ...]) -> Iterator[Reworded]:
        matcher = SequenceMatcher(None, [t.plain for t in old], [t.plain for t in new], autojunk=False)
        for kind, a, b, c, d in matcher.get_opcodes():
            if kind == "equal":
                continue
            was, now = list(old[a:b]), list(new[c:d])
            longest = max(len(was), len(now))
            was += [NO_TEXT] * (longest - len(was))
            now += [NO_TEXT] * (longest - len(now))
            for x, y in zip(was, now, strict=True):
                yield from self._text(field, x, y)

    def _now(self, id: str) -> str:
        return self.now.get(id, id)

    # --- the parts ------------------------------------------------------------------------------------------

    def _steps(self, old: tuple[Step, ...], new: tuple[Step, ...]) -> Iterator[Altered]:
        matched = pairs(old, new, _step_words)
        place = {s.id: n for n, s in enumerate(old)}
        both = [(a, b) for a, b in matched if a and b]
        elsewhere = {both[n][1].id for n in moved([place[a.id] for a, _ in both])}
        for a, b in matched:
            yield self._step(a, b, b is not None and b.id in elsewhere)

    def _step(self, a: Step | None, b: Step | None, elsewhere: bool) -> Altered:
        x, y = _step_texts(a), _step_texts(b)
        texts = tuple(r for field in STEP_TEXTS for r in self._lines(field, x[field], y[field]))
        facts = tuple(_facts(self._step_facts(a, self.old), self._step_facts(b, self.new))) if a and b else ()
        return _altered("step", a, b, texts, facts, elsewhere, at=lambda s: (s.label,))

    def _step_facts(self, s: Step, e: Edition) -> list[tuple[str, str, Degree]]:
        now = self._now if e is self.old else _same
        here = {self._now(c.id) for c in _cautions_of(self.old)} & {c.id for c in _cautions_of(self.new)}
        sequence, doing = Degree.SEQUENCE, Degree.DOING
        return [
            ("acts", "; ".join(act_words(act, now) for act in s.acts), sequence),
            ("actor", now(s.actor), sequence),
            ("hold by", now(s.hold.by) if s.hold else "", sequence),
            ("place", now(s.place), doing),
            ("time", time_words(s.time), doing),
            ("uses", ", ".join(map(now, s.uses)), doing),
            # a caution that comes or goes altogether is reported by itself
            ("cautions", ", ".join(sorted(c for c in (now(c.id) for c in s.cautions) if c in here)), doing),
            ("branches", ", ".join(map(now, s.branches)), doing),
        ]

    def _cautions(self) -> Iterator[Altered]:
        for a, b in pairs(_cautions_of(self.old), _cautions_of(self.new), _caution_words):
            texts = tuple(
                r for field in ("hazard", "consequence", "avoid")
                for r in self._text(field, getattr(a, field, NO_TEXT), getattr(b, field, NO_TEXT))
            )  # fmt: skip
            facts = _facts([("signal word", a.signal, Degree.DOING)], [("signal word", b.signal, Degree.DOING)]) if (
                a and b
            ) else ()  # fmt: skip
            where_a, where_b = _warned(self.old, a), _warned(self.new, b)
            altered = _altered("caution", a, b, texts, tuple(facts), False, lambda _: ())
            yield Altered(
                "caution", altered.id, a, b, False, where_a, where_b, altered.old_id, altered.texts, altered.facts
            )

    def _branches(self) -> Iterator[Altered]:
        def ends(b: Branch, e: Edition) -> list[tuple[str, str, Degree]]:
            target = self._now(b.rejoin) if e is self.old else b.rejoin
            return [("goes on at", target, Degree.SEQUENCE), ("at any step", _plain(b.anywhere), Degree.DOING)]

        for a, b in pairs(self.old.branches, self.new.branches, _question):
            texts = tuple(
                r for field in ("question", "leave", "tell")
                for r in self._text(field, getattr(a, field, NO_TEXT), getattr(b, field, NO_TEXT))
            )  # fmt: skip
            facts = tuple(_facts(ends(a, self.old), ends(b, self.new))) if a and b else ()
            yield _altered("branch", a, b, texts, facts, False, lambda x: (x.letter,))
            if a and b:
                yield from self._steps(a.steps, b.steps)

    def _named(self, kind: str, old: tuple, new: tuple) -> Iterator[Altered]:
        for a, b in pairs(old, new, _name):
            texts = tuple(
                r for field in ("name", "product", "removes-by")
                for r in self._text(field, _field(a, field), _field(b, field))
            )  # fmt: skip
            known = tuple(_facts(_facts_of(a), _facts_of(b))) if a and b else ()
            yield _altered(kind, a, b, texts, known, False, lambda _: ())

    def _phases(self) -> Iterator[Altered]:
        before = {p.id: p.title for p in self.old.phases}
        for phase in self.new.phases:
            texts = tuple(self._text("title", before.get(phase.id, NO_TEXT), phase.title))
            # a phase is a heading over steps, which are compared themselves
            yield Altered("phase", phase.id, texts=tuple(_only_words(texts)), new_at=(str(phase.number),))

    def _document(self) -> Altered:
        a, b = self.old, self.new
        texts = [
            r for field in ("title", "owner", "audience", "purpose", "site-name", "unit")
            for r in self._text(field, _field(a, field), _field(b, field))
        ]  # fmt: skip
        facts = tuple(_facts(_about(a), _about(b)))
        return Altered("document", b.protocol, texts=tuple(_only_words(texts)), facts=facts)


def _same(id: str) -> str:
    return id


def act_words(act: Act, name: Callable[[str], str] = _same) -> str:
    """An act in one line, as in the source: `remove outer-gloves into waste-container by wearer`."""
    parts = [act.verb, " ".join(map(name, act.targets)) or act.words.plain]
    for word, value in (
        ("using", " ".join(map(name, act.using))), ("touching", act.touching), ("by its", act.fastening),
        ("into", name(act.into)), ("to", name(act.to)), ("on", name(act.on)), ("for", time_words(act.time)),
        ("by", name(act.by)),
    ):  # fmt: skip
        parts += [word, value] if value else []
    return " ".join(p for p in [*parts, "as one movement" if act.combined else ""] if p)


def time_words(time: Time | None) -> str:
    """A time in one line: `20–30 s`, `60 s, contact time of wipes`, `until the gloves are dry`."""
    if time is None:
        return ""
    span = f"{time.least}–{time.most} s" if time.most > time.least else f"{time.least} s" if time.least else ""
    contact = f"contact time of {time.contact}" if time.contact else ""
    return ", ".join(p for p in (span, contact, f"until {time.until.plain}" if time.until else "") if p)


def _renames(old: Edition, new: Edition) -> dict[str, str]:
    """Old id → new id, over all kinds of parts. An id that is still there in its kind is not renamed."""
    matched: list[tuple[Any, Any]] = [
        *pairs(_cautions_of(old), _cautions_of(new), _caution_words),
        *pairs(old.steps, new.steps, _step_words),
        *pairs(old.branches, new.branches, _question),
        *(pair for field in KINDS.values() for pair in pairs(getattr(old, field), getattr(new, field), _name)),
    ]
    return {a.id: b.id for a, b in matched if a and b and a.id != b.id}


def _caution_words(c: Caution) -> str:
    return " ".join(t.plain for t in c.texts)


def _question(b: Branch) -> str:
    return b.question.plain


def _name(part) -> str:
    return f"{part.id} {part.name.plain}"


def _altered(kind: str, a, b, texts: tuple, facts: tuple, elsewhere: bool, at: Callable) -> Altered:
    old_id = a.id if a and b and a.id != b.id else ""
    return Altered(
        kind, (b or a).id, a, b, elsewhere, at(a) if a else (), at(b) if b else (), old_id, texts, facts,
    )  # fmt: skip


def _facts(old: Iterable[tuple[str, str, Degree]], new: Iterable[tuple[str, str, Degree]]) -> Iterator[Fact]:
    for (what, was, degree), (_, now, _d) in zip(old, new, strict=True):
        if was != now:
            yield Fact(what, was, now, degree)


def _only_words(texts: Iterable[Reworded]) -> Iterator[Reworded]:
    """Texts that nobody acts on: whatever they say, it is wording."""
    for t in texts:
        yield Reworded(t.field, t.old, t.new, t.stretches)


def _field(part, field: str) -> Text:
    return getattr(part, field.replace("-", "_"), NO_TEXT) or NO_TEXT


def _step_texts(s: Step | None) -> dict[str, tuple[Text, ...]]:
    if s is None:
        return dict.fromkeys(STEP_TEXTS, ())
    one = lambda text: (text,) if text else ()
    return {
        "headline": one(s.headline), "say": one(s.say), "answer": one(s.answer), "do": s.do, "watch": s.watch,
        "done-when": one(s.done_when), "hold": one(s.hold.until) if s.hold else (),
    }  # fmt: skip


def _step_words(s: Step) -> str:
    return " ".join(t.plain for texts in _step_texts(s).values() for t in texts)


def _cautions_of(e: Edition) -> list[Caution]:
    """Every caution once, in the order in which they are first printed."""
    return list({c.id: c for s in e.all_steps() for c in s.cautions}.values())


def _warned(e: Edition, caution: Caution | None) -> tuple[str, ...]:
    return tuple(s.label for s in e.all_steps() if caution and caution.id in {c.id for c in s.cautions})


FACTS = {
    Supply: ("kind", "at", "clean", "contact"),
    Item: ("kind", "covers", "layer", "kept", "worn", "clean", "integrated_shield"),
    Role: ("contacts", "wears"),
    Place: ("order",),
}
"""Type of a named part → what of it is neither a word nor its id."""


def _facts_of(part: Supply | Item | Role | Place) -> list[tuple[str, str, Degree]]:
    return [(name.replace("_", " "), _plain(getattr(part, name)), Degree.DOING) for name in FACTS[type(part)]]


def _plain(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return ", ".join(map(str, value)) if isinstance(value, tuple) else str(value)


def _about(e: Edition) -> list[tuple[str, str, Degree]]:
    doing, wording = Degree.DOING, Degree.WORDING
    return [
        ("options", _options(e), doing), ("kind", f"{e.kind} {e.profile}".strip(), doing), ("code", e.code, wording),
        ("effective", str(e.effective), wording), ("review", str(e.review), wording), ("basis", _basis(e), wording),
    ]  # fmt: skip


def _options(e: Edition) -> str:
    return ", ".join(f"{name}: {choice}" for name, choice in e.options)


def _basis(e: Edition) -> str:
    return "; ".join(", ".join(p for p in (b.source, b.part, b.note) if p) for b in e.basis)
