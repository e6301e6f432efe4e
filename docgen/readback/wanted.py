"""Say what an artifact must carry of an edition: the table of carried parts, and the texts it comes to.

On screens the reader carries what the script does, and its program the same path; the page of a folder its title and
stamp.

| | poster | cards | script | checklist | notice |
|---|---|---|---|---|---|
| every step: number, order, headline | yes | yes | yes | yes | |
| every caution, before its step, verbatim | yes | yes | yes | yes | |
| branches: question, steps, where they end | yes | yes | yes | yes | |
| whom to tell in a branch | | | yes | yes | |
| holds | yes | yes | yes | yes | |
| say, answer, do | | | yes | | |
| watch, done-when | | | yes | yes | |
| reason and changes | | | | | yes |
| title | first sheet | every side | first sheet | first sheet | first sheet |
| stamp | every sheet | every side | every sheet | every sheet | every sheet |
| square code | every sheet | one side of the set | first sheet | first sheet | first sheet |
| form fields for each step, and the record's | | | | yes | |
"""

from __future__ import annotations

from dataclasses import dataclass

from docgen.model.edition import Branch, Caution, Edition, Step
from docgen.model.text import Text

STEPS = frozenset({"steps", "cautions", "branches", "holds"})

CARRIES: dict[str, frozenset[str]] = {
    "poster": STEPS,
    "cards": STEPS,
    "script": STEPS | {"say", "answer", "do", "watch", "done-when", "tell"},
    "checklist": STEPS | {"watch", "done-when", "tell", "fields"},
    "reader": STEPS | {"say", "answer", "do", "watch", "done-when", "tell"},
    "index": frozenset(),
    "notice": frozenset({"reason", "changes"}),
}

BESIDE: dict[str, frozenset[str]] = {
    "poster": frozenset({"headline", "hold", "cautions"}),
    "cards": frozenset({"headline", "hold", "cautions"}),
    "script": frozenset({"say", "answer", "cautions"}),
}
"""What stands in both languages of an edition with a second language beside its own."""

TITLE_ON = dict.fromkeys(CARRIES, "first") | {"cards": "every"}
"""Which sheets must carry the title."""

CODE_ON = {"poster": "every", "cards": "any", "script": "first", "checklist": "first", "notice": "first"}
"""Which sheets must carry a square code. Codes on others are welcome, and must be right as well."""

SIGNALS = {"danger": "DANGER", "warning": "WARNING", "caution": "CAUTION", "notice": "NOTICE"}
"""Signal words of ANSI Z535.4 in English; for another language the caller says how they are worded there."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """A text that must be there."""

    what: str
    """In words: `done-when`, `hazard of a caution`."""
    text: Text


@dataclass(frozen=True, slots=True)
class Warned:
    """A caution that must stand before a step."""

    caution: Caution
    texts: tuple[Wanted, ...]


@dataclass(frozen=True, slots=True)
class WantedStep:
    """A step with everything that must stand with it."""

    step: Step
    branch: Branch | None
    first: bool
    """First of its branch, so that the branch's question stands before it."""
    cautions: tuple[Warned, ...]
    texts: tuple[Wanted, ...]
    rejoin: str = ""
    """Label of the step at which the branch rejoins, on the last step of a branch."""


def wanted_steps(edition: Edition, artifact: str) -> tuple[WantedStep, ...]:
    """Every step of the main path and of each branch, in order, with its texts for this artifact."""
    parts = CARRIES[artifact]
    if "steps" not in parts:
        return ()
    other = _Other(edition, BESIDE.get(artifact, frozenset()))
    out = [_wanted(step, None, edition, parts, other) for step in edition.steps]
    for branch in edition.branches:
        out += [_wanted(step, branch, edition, parts, other) for step in branch.steps]
    return tuple(out)


class _Other:
    """The texts that must stand in the second language too."""

    def __init__(self, edition: Edition, parts: frozenset[str]) -> None:
        self.language = edition.beside
        self.parts = parts if edition.beside else frozenset()
        self.texts = {text.key: text for text in edition.beside_texts}

    def of(self, part: str, *wanted: Wanted) -> tuple[Wanted, ...]:
        """These texts in the second language, if this part of an edition stands there in both."""
        if part not in self.parts:
            return ()
        there = ((w, self.texts.get(w.text.key)) for w in wanted)
        return tuple(Wanted(f"{w.what} in `{self.language}`", text) for w, text in there if text)


def wanted_loose(edition: Edition, artifact: str) -> tuple[Wanted, ...]:
    """Texts that belong to no step, in the order in which they must stand."""
    parts = CARRIES[artifact]
    out: list[Wanted] = []
    if "reason" in parts and edition.reason:
        out.append(Wanted("reason", edition.reason))
    if "changes" in parts:
        out += [Wanted("change", change) for change in edition.changes]
    if "branches" in parts:
        out += [Wanted("question of the branch", b.question) for b in edition.branches if not b.steps]
        out += [Wanted("end of the branch", b.leave) for b in edition.branches if not b.steps and b.leave]
    return tuple(out)


def _wanted(step: Step, branch: Branch | None, edition: Edition, parts: frozenset[str], other: _Other) -> WantedStep:
    texts: list[Wanted] = [*other.of("headline", Wanted("headline", step.headline))]
    for part, values in (
        ("say", (step.say,)),
        ("answer", (step.answer,)),
        ("do", step.do),
        ("watch", step.watch),
        ("done-when", (step.done_when,)),
    ):
        if part in parts:
            wanted = [Wanted(part, text) for text in values if text]
            texts += (*wanted, *other.of(part, *wanted))
    if step.hold:
        hold = Wanted("hold", step.hold.until)
        texts += (hold, *other.of("hold", hold))
    last = branch is not None and bool(branch.steps) and step.id == branch.steps[-1].id
    rejoin = ""
    if branch is not None and last:
        if branch.leave and not branch.rejoin:
            texts.append(Wanted("end of the branch", branch.leave))
        if branch.tell and "tell" in parts:
            texts.append(Wanted("whom to tell", branch.tell))
        rejoin = next((s.label for s in edition.steps if s.id == branch.rejoin), "")
    return WantedStep(
        step,
        branch,
        branch is not None and step.id == branch.steps[0].id,
        tuple(_warned(caution, other) for caution in step.cautions),
        tuple(texts),
        rejoin,
    )


def _warned(caution: Caution, other: _Other) -> Warned:
    texts: tuple[Wanted, ...] = (
        Wanted("hazard of a caution", caution.hazard),
        Wanted("consequence of a caution", caution.consequence),
        Wanted("last sentence of a caution", caution.avoid),
    )
    texts += other.of("cautions", *texts)
    return Warned(caution, tuple(w for w in texts if w.text))


def known_texts(edition: Edition) -> tuple[str, ...]:
    """All other sentences of the edition that may stand on a sheet."""
    texts: list[Text] = [
        edition.title,
        edition.owner,
        edition.audience,
        edition.purpose,
        edition.reason,
        edition.site_name,
    ]
    texts += [edition.unit, *edition.changes, *(text for _, text in edition.abbreviations)]
    texts += [r.removes_by for r in edition.roles] + [p.title for p in edition.phases]
    for branch in edition.branches:
        texts += [branch.question, branch.leave, branch.tell]
    for step in edition.all_steps():
        texts += [step.headline, step.say, step.answer, *step.do, *step.watch, step.done_when]
        texts += [step.hold.until] if step.hold else []
        texts += [step.time.until] if step.time else []
        texts += [t for c in step.cautions for t in c.texts]
    words = [t.plain for t in texts if t]
    words += [v for b in edition.basis for v in (b.source, b.part, b.note) if v]
    words += [v for w in edition.waivers for v in (w.rule, w.reason, w.by) if v]
    if edition.approval:
        words += [edition.approval.by, edition.approval.role]
    return tuple(dict.fromkeys(words))


def known_roles(edition: Edition) -> tuple[str, ...]:
    """Who acts, and letters of branches: set apart from sentences, as `Observer:` and `→ A`."""
    names = [role.name.plain for role in edition.roles if role.name] + [branch.letter for branch in edition.branches]
    return tuple(dict.fromkeys(names))


def known_names(edition: Edition) -> tuple[str, ...]:
    """Names of the edition that may stand on a sheet by themselves, but at the end of a sentence would change it."""
    texts = [p.name for p in edition.places] + [i.name for i in edition.items] + list(edition.option_texts)
    texts += [t for s in edition.supplies for t in (s.name, s.product)]
    names = [t.plain for t in texts if t] + [abbreviation for abbreviation, _ in edition.abbreviations]
    return tuple(dict.fromkeys(names))
