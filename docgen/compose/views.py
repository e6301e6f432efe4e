"""What a template sees: the edition as handles.

Everything printable is a handle (`docgen.compose.handles`); lists are tuples; anything absent is false. Nothing here
can be called to reach the program: the sandbox sees plain attributes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from docgen.compose.changes import ChangeView
from docgen.compose.handles import NOTHING, Handle, Ledger
from docgen.compose.sayings import Sayings, Translate
from docgen.model.block import BESIDE, Origin, Piece
from docgen.model.edition import Branch, Caution, Edition, Phase, Role, Step
from docgen.model.moment import Analysis
from docgen.model.text import Run

SOURCE = "en"
"""The language sources are written in."""
LATE = ("sheet", "sheets", "distance", "section", "card", "cards")
"""Slots that only placing can fill."""


@dataclass(frozen=True, slots=True)
class RoleView:
    """A role: `name`, and `mark`, the shape beside its steps."""

    id: str
    name: Handle
    mark: Handle


@dataclass(frozen=True, slots=True)
class CautionView:
    """A caution before its step."""

    id: str
    level: str
    """`danger`, `warning`, `caution` or `notice`."""
    symbol: Handle
    signal: Handle
    hazard: Handle
    consequence: Handle
    avoid: Handle


@dataclass(frozen=True, slots=True)
class StepView:
    """One step. `branches` are offered here; `told` are those printed in full after this step."""

    id: str
    number: Handle
    headline: Handle
    say: Handle
    answer: Handle
    do: tuple[Handle, ...]
    watch: tuple[Handle, ...]
    done_when: Handle
    actor: RoleView
    place: Handle
    hold: Handle
    hold_by: Handle
    cautions: tuple[CautionView, ...]
    branches: tuple[BranchView, ...]
    told: tuple[BranchView, ...]
    figure: Handle
    changes: bool
    """Whether something is put on or taken off: the steps whose figure small sheets show."""
    seconds: Handle
    clock: Handle
    timer: int
    """Least seconds of the longest thing that the step times; 0 if it times nothing."""
    timer_clock: Handle


@dataclass(frozen=True, slots=True)
class BranchView:
    """What to do when something is found. One of `rejoin`, `same` and `leave` is true."""

    id: str
    first: str
    """Id of its first step; nothing if it has none."""
    goes: str
    """Id of the step where it goes on, `same`, or nothing."""
    letter: Handle
    question: Handle
    steps: tuple[StepView, ...]
    rejoin: Handle
    rejoin_headline: Handle
    same: bool
    leave: Handle
    tell: Handle
    anywhere: bool


@dataclass(frozen=True, slots=True)
class PhaseView:
    """A stretch of the main path."""

    id: str
    number: Handle
    title: Handle
    steps: tuple[StepView, ...]


@dataclass(frozen=True, slots=True)
class EditionView:
    """The whole edition."""

    code: Handle
    title: Handle
    version: Handle
    effective: Handle
    review: Handle
    effective_long: Handle
    review_long: Handle
    fingerprint: Handle
    language: Handle
    site_id: str
    site: Handle
    unit: Handle
    owner: Handle
    audience: Handle
    purpose: Handle
    reason: Handle
    changes: tuple[Handle, ...]
    approved_by: Handle
    approved_on: Handle
    basis: tuple[Handle, ...]
    roles: tuple[RoleView, ...]
    abbreviations: tuple[tuple[Handle, Handle], ...]
    phases: tuple[PhaseView, ...]
    steps: tuple[StepView, ...]
    branches: tuple[BranchView, ...]
    waivers: tuple[tuple[Handle, Handle, Handle], ...]
    count: Handle
    minutes: Handle
    has_ensemble: bool
    invented: bool
    draft: bool
    translated: bool
    code_square: Handle
    sheet: Handle
    sheets: Handle
    distance: Handle
    section: Handle
    card: Handle
    cards: Handle
    change: ChangeView | None = None
    """What differs from the version before."""


class Views:
    """Gives out handles for one edition into one ledger."""

    def __init__(
        self,
        edition: Edition,
        analysis: Analysis,
        ledger: Ledger,
        translate: Translate,
        long_date,
        other: Translate | None = None,
    ) -> None:
        self._edition = edition
        self._ledger = ledger
        self._translate = translate
        self._long_date = long_date
        self._other = other if edition.beside else None
        self._beside = {t.key: t for t in edition.beside_texts} if self._other else {}
        self._roles = {r.id: r for r in edition.roles}
        self._places = {p.id: p for p in edition.places}
        self._labels = {s.id: s for s in edition.all_steps()}
        self._verbs = {m.step: m.verb for m in analysis.moments}
        self._seconds = {t.step: t.total for t in analysis.timings}
        self._told: set[str] = set()
        sayings = Sayings(ledger, translate)
        self.word, self.phrases = sayings.word, sayings.phrases

    # --- template functions ---------------------------------------------------------------------------------

    def beside(self, said: Handle | str, **values: Handle) -> Handle:
        """A text, or a template's words, in the language that stands beside the edition's own; nothing without one."""
        if self._other is None:
            return NOTHING
        language = self._edition.beside
        if isinstance(said, Handle):
            return self._ledger.give(*(p for piece in self._ledger.behind(said) for p in self._turned(piece)))
        pieces: list[Piece] = []
        for run in self._other(said).runs:
            filling = self._ledger.behind(values[run.slot]) if run.slot in values else None
            pieces += filling or [Piece((run,), Origin("word", field=said), f"template.{said}", language)]
        return self._ledger.give(*pieces)

    def _turned(self, piece: Piece) -> Iterator[Piece]:
        """A piece in the other language: an authored text, or a signal word."""
        assert self._other is not None
        text = self._beside.get(piece.key)
        signal = piece.key.partition(".")[2] if piece.key.startswith("signal.") else ""
        runs = self._other(signal.upper()).runs if signal else text.runs if text else ()
        if runs:
            field = f"{piece.origin.field}{BESIDE}"
            yield Piece(runs, replace(piece.origin, field=field), piece.key, self._edition.beside)

    def source(self, msgid: str) -> Handle:
        """The same words in the source language, on translated sheets only: what every reader of a draft must see."""
        return self._ledger.plain(msgid if self._edition.translation else "", Origin("word", field=msgid), isolate=True)

    def box(self, kind: str, name: str, label: Handle | str, step: StepView | None = None, value: str = "") -> Handle:
        """A box to fill in: `tick`, `choice`, `line` or `area`. `label` becomes its accessible name."""
        return box(self._ledger, kind, name, label, step.id if step else "", value)

    # --- the edition ----------------------------------------------------------------------------------------

    def edition(self) -> EditionView:
        """The view a template gets as `edition`."""
        e = self._edition
        phases = tuple(self._phase(p) for p in e.phases)
        branches = tuple(self._branch(b) for b in e.branches)
        about = lambda field: Origin("edition", e.protocol, field)
        made = lambda words, field: self._ledger.plain(words, about(field), isolate=True)
        stamp = self._ledger.stamp
        written_in = SOURCE if e.language != SOURCE else ""  # what a site decided stands in the words it was decided in
        fingerprint = f"{e.fingerprint[:5]}-{e.fingerprint[5:]}"
        late: dict[str, Any] = {
            name: self._ledger.runs((Run(slot=name, isolate=True),), Origin("stamp", field=name)) for name in LATE
        }
        return EditionView(
            code=stamp(e.code, "code"),
            title=self._ledger.text(e.title, about("title")),
            version=stamp(e.version, "version"),
            effective=stamp(e.effective.isoformat(), "effective"),
            review=stamp(e.review.isoformat(), "review"),
            effective_long=made(self._long_date(e.effective), "effective-long"),
            review_long=made(self._long_date(e.review), "review-long"),
            fingerprint=stamp(fingerprint, "fingerprint"),
            language=stamp(e.languages, "language"),
            site_id=e.site,
            site=self._ledger.text(e.site_name, about("site")),
            unit=self._ledger.text(e.unit, about("unit")),
            owner=self._ledger.text(e.owner, about("owner")),
            audience=self._ledger.text(e.audience, about("audience")),
            purpose=self._ledger.text(e.purpose, about("purpose")),
            reason=self._ledger.text(e.reason, about("reason")),
            changes=tuple(self._ledger.text(t, about("change")) for t in e.changes),
            approved_by=made(f"{e.approval.by}, {e.approval.role}" if e.approval else "", "approved-by"),
            approved_on=made(e.approval.on.isoformat() if e.approval else "", "approved-on"),
            basis=tuple(made(f"{b.source}{', ' if b.part else ''}{b.part}", "basis") for b in e.basis),
            roles=tuple(self._role(r) for r in e.roles),
            abbreviations=tuple(
                (made(short, "abbreviation"), self._ledger.text(long, about("abbreviation-long")))
                for short, long in e.abbreviations
            ),
            phases=phases,
            steps=tuple(step for phase in phases for step in phase.steps),
            branches=branches,
            waivers=tuple(
                (
                    made(w.rule, "waiver-rule"),
                    self._ledger.give(
                        Piece((Run(w.reason, isolate=True),), about("waiver-reason"), language=written_in)
                    ),
                    made(f"{w.by}, {w.on.isoformat()}", "waiver-by"),
                )
                for w in e.waivers
            ),
            count=made(str(len(e.steps)), "count"),
            minutes=made(str(round(sum(self._seconds.get(s.id, 0) for s in e.steps) / 60) or 1), "minutes"),
            has_ensemble=bool(e.items),
            invented=e.invented,
            draft=e.draft,
            translated=e.unreviewed,
            code_square=self._ledger.thing(Origin("code")),
            **late,
        )

    def _role(self, role: Role) -> RoleView:
        return RoleView(
            role.id,
            self._ledger.text(role.name, Origin("role", role.id, "name")),
            self._ledger.thing(Origin("mark", role.id, role.mark)),
        )

    def _phase(self, phase: Phase) -> PhaseView:
        steps = {s.id: s for s in self._edition.steps}
        clock = 0.0
        views = []
        for s in self._edition.steps:
            clock += self._seconds.get(s.id, 0)
            if s.id in phase.steps:
                views.append(self._step(steps[s.id], "", clock))
        return PhaseView(
            phase.id,
            self._ledger.plain(str(phase.number), Origin("phase", phase.id, "number")),
            self._ledger.text(phase.title, Origin("phase", phase.id, "title")),
            tuple(views),
        )

    def _step(self, step: Step, branch: str, clock: float) -> StepView:
        at = lambda field: Origin("step", step.id, field, step.id, branch)
        text = lambda value, field: self._ledger.text(value, at(field))
        seconds = self._seconds.get(step.id, 0)
        offered = [b for b in step.branches if not branch and b in {x.id for x in self._edition.branches}]
        new = [b for b in offered if b not in self._told and not self._edition.branch(b).anywhere]
        self._told.update(new)
        shows = step.id in self._verbs and step.picture != "none"
        return StepView(
            id=step.id,
            number=self._ledger.plain(step.label, at("number"), isolate=True),
            headline=text(step.headline, "headline"),
            say=text(step.say, "say"),
            answer=text(step.answer, "answer"),
            do=tuple(text(t, "do") for t in step.do),
            watch=tuple(text(t, "watch") for t in step.watch),
            done_when=text(step.done_when, "done-when"),
            actor=RoleView(
                step.actor,
                self._ledger.text(self._roles[step.actor].name, at("actor")),
                self._ledger.thing(Origin("mark", step.actor, self._roles[step.actor].mark, step.id, branch)),
            ),
            place=text(self._places[step.place].name, "place") if step.place in self._places else NOTHING,
            hold=text(step.hold.until, "hold") if step.hold else NOTHING,
            hold_by=text(self._roles[step.hold.by].name, "hold-by") if step.hold else NOTHING,
            cautions=tuple(self._caution(c, step.id, branch) for c in step.cautions),
            branches=tuple(self._branch(self._edition.branch(b), step.id, short=True) for b in offered),
            told=tuple(self._branch(self._edition.branch(b)) for b in new),
            figure=self._ledger.thing(Origin("figure", step.id, "", step.id, branch)) if shows else NOTHING,
            changes=self._verbs.get(step.id) in ("remove", "put-on"),
            seconds=self._ledger.plain(_clock(seconds), at("seconds"), isolate=True) if seconds else NOTHING,
            clock=self._ledger.plain(_clock(clock), at("clock"), isolate=True) if seconds and clock else NOTHING,
            timer=(timer := timed(step)),
            timer_clock=self._ledger.plain(_clock(timer), at("timer"), isolate=True) if timer else NOTHING,
        )

    def _caution(self, caution: Caution, step: str, branch: str) -> CautionView:
        at = lambda field: Origin("caution", caution.id, field, step, branch)
        word = self._translate(caution.signal.upper())
        return CautionView(
            caution.id,
            caution.signal,
            self._ledger.thing(Origin("symbol", caution.id, caution.signal, step, branch)),
            self._ledger.runs(word.runs, at(f"signal-{caution.signal}"), f"signal.{caution.signal}"),
            self._ledger.text(caution.hazard, at("hazard")),
            self._ledger.text(caution.consequence, at("consequence")),
            self._ledger.text(caution.avoid, at("avoid")),
        )

    def _branch(self, branch: Branch, offered_at: str = "", short: bool = False) -> BranchView:
        at = lambda field: Origin("branch", branch.id, field, offered_at, "" if short else branch.id)
        target = self._labels.get(branch.rejoin)
        return BranchView(
            id=branch.id,
            first=branch.steps[0].id if branch.steps else "",
            goes=branch.rejoin,
            letter=self._ledger.plain(branch.letter, at("letter")),
            question=self._ledger.text(branch.question, at("question")),
            steps=() if short else tuple(self._step(s, branch.id, 0) for s in branch.steps),
            rejoin=self._ledger.plain(target.label, at("rejoin"), isolate=True) if target else NOTHING,
            rejoin_headline=self._ledger.text(target.headline, at("rejoin-headline")) if target else NOTHING,
            same=branch.rejoin == "same",
            leave=self._ledger.text(branch.leave, at("leave")),
            tell=self._ledger.text(branch.tell, at("tell")),
            anywhere=branch.anywhere,
        )


def timed(step: Step) -> int:
    """Seconds that a step must take at least, by its own words or those of an act; 0 if it gives none."""
    return max((t.least for t in (step.time, *(a.time for a in step.acts)) if t), default=0)


def _clock(seconds: float) -> str:
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02d}"


def box(ledger: Ledger, kind: str, name: str, label: Handle | str, step: str = "", value: str = "") -> Handle:
    """A handle for a box to fill in. `step`: the id of what it stands beside."""
    if kind not in ("tick", "choice", "line", "area"):
        raise ValueError(f"a box is `tick`, `choice`, `line` or `area`, not `{kind}`")
    runs = tuple(r for piece in ledger.behind(label) for r in piece.runs)
    field = f"{kind}:{value}" if value else kind
    return ledger.thing(Origin("box", name, field, step=step), runs or (Run(name),))
