"""Turn an edition into its mutants: each act deleted, swapped with its neighbour, done twice, or aimed elsewhere."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from docgen.analysis.sequence.acts import enter, leave, perform
from docgen.analysis.sequence.explore import explore
from docgen.analysis.sequence.report import BY_NAME, severity_of
from docgen.analysis.sequence.rules import CHECKS
from docgen.analysis.sequence.setting import Setting, setting_of
from docgen.analysis.sequence.state import State, starts
from docgen.model.edition import Act, Edition, Step

Spot = tuple[str, int]
"""Step id and place of the act in it."""


@dataclass(frozen=True)
class Mutant:
    """One change to one act of the main path."""

    kind: str
    """`delete`, `swap`, `twice` or `elsewhere`."""
    spot: Spot
    act: Act
    other: Act | None
    """The neighbour of a swap; the act as aimed elsewhere."""
    edition: Edition

    def __str__(self) -> str:
        with_ = f" ↔ {shown(self.other)}" if self.kind == "swap" and self.other else ""
        to = f" → {shown(self.other)}" if self.kind == "elsewhere" and self.other else ""
        return f"{self.kind} {self.spot[0]}.{self.spot[1]}: {shown(self.act)}{with_}{to}"


def shown(act: Act) -> str:
    into, to = f"into {act.into}" if act.into else "", f"to {act.to}" if act.to else ""
    more = [act.fastening, into, to, f"by {act.by}"]
    return " ".join([act.verb, "+".join(act.targets), *(m for m in more if m)])


def mutants(edition: Edition) -> Iterator[Mutant]:
    """Every mutant of the main path, in order."""
    row: list[tuple[Spot, Act]] = [((s.id, n), a) for s in edition.steps for n, a in enumerate(s.acts)]
    for at, (spot, act) in enumerate(row):
        yield Mutant("delete", spot, act, None, _with(edition, {spot: ()}))
        yield Mutant("twice", spot, act, None, _with(edition, {spot: (act, act)}))
        if at + 1 < len(row) and row[at + 1][1] != act:
            next_spot, neighbour = row[at + 1]
            swapped = _with(edition, {spot: (neighbour,), next_spot: (act,)})
            yield Mutant("swap", spot, act, neighbour, swapped)
        aimed = elsewhere(edition, act)
        if aimed:
            yield Mutant("elsewhere", spot, act, aimed, _with(edition, {spot: (aimed,)}))


def elsewhere(edition: Edition, act: Act) -> Act | None:
    """The act aimed at the next thing of its sort: other gloves, the next item, another place, another seat."""
    if act.verb == "move":
        return replace(act, to=_next([p.id for p in edition.places], act.to))
    if not act.targets:
        return None
    target = act.targets[0]
    items = [i.id for i in edition.items]
    sorts = (
        [i.id for i in edition.items if i.kind == "gloves"],
        items,
        [s.id for s in edition.supplies if s.kind == next((x.kind for x in edition.supplies if x.id == target), "")],
        ["ensemble", "area", "skin"],
        ["skin", "clothing"],
    )
    for names in sorts:
        if target in names and len(names) > 1:
            return replace(act, targets=(_next(names, target), *act.targets[1:]))
    return replace(act, targets=(items[0],)) if items else None


def _next(names: list[str], name: str) -> str:
    return names[(names.index(name) + 1) % len(names)] if name in names else names[0]


def _with(edition: Edition, changes: dict[Spot, tuple[Act, ...]]) -> Edition:
    def step(s: Step) -> Step:
        acts = tuple(a for n, old in enumerate(s.acts) for a in changes.get((s.id, n), (old,)))
        return replace(s, acts=acts)

    return replace(edition, steps=tuple(map(step, edition.steps)))


Said = frozenset[tuple[str, str, str]]


def caught(mutant: Mutant, before: Said) -> bool:
    """Whether something is said about a mutant that is not said about the original."""
    return bool(said(mutant.edition) - before)


def said(edition: Edition) -> Said:
    """(rule, step, message) of every breach that counts in the profile: findings before they are told as stories."""
    setting = setting_of(edition)
    breaches = ((f.breach, f.step) for f in explore(setting, CHECKS).found.values())
    return frozenset(
        (b.rule, step, b.message) for b, step in breaches if severity_of(BY_NAME[b.rule], setting.profile, b.softer)
    )


# --- survivors ----------------------------------------------------------------------------------------------


def harmless(original: Edition, mutant: Mutant) -> str:
    """Why a survivor does no harm, read through by hand; empty when a rule is missing that should have caught it."""
    if mutant.act.verb in ("note", "confirm", "wait") and mutant.kind != "swap":
        return "words only: nothing is worn, touched or cleaned otherwise"
    if states(mutant.edition) == states(original):
        return "every step ends in the very same state"
    return next((why for holds, why in HARMLESS if holds(original, mutant)), "")


def _acts_of(edition: Edition, mutant: Mutant) -> tuple[Act, ...]:
    return next(s.acts for s in edition.steps if s.id == mutant.spot[0])


def _looked_at_again(edition: Edition, m: Mutant) -> bool:
    looks = [a for a in _acts_of(edition, m) if a.verb == "inspect" and a.targets == m.act.targets]
    return m.act.verb == "inspect" and m.kind in ("delete", "elsewhere") and len(looks) > 1


def _hold_waits(edition: Edition, m: Mutant) -> bool:
    step = next(s for s in edition.steps if s.id == m.spot[0])
    return m.act.verb == "inspect" and m.kind == "delete" and step.hold is not None


def _sitting(edition: Edition, m: Mutant) -> bool:
    return "sit" in (m.act.verb, m.other.verb if m.other else "") and m.kind != "elsewhere"


def _closed(edition: Edition, m: Mutant) -> bool:
    may_stay_closed = ("ties", "neck-tie", "waist-tie", "flap", "buckle")
    return m.kind == "delete" and m.act.verb == "open" and m.act.fastening in may_stay_closed


def _watching(edition: Edition, m: Mutant) -> bool:
    """A look of one person and an act of another, with the look still before the first removal."""
    pair = [m.act, *([m.other] if m.other else [])]
    looks = [a for a in pair if a.verb in ("inspect", "confirm")]
    handles = [a for a in pair if a.verb in ("remove", "open")]
    return m.kind == "swap" and m.act.by != pair[-1].by and bool(looks) and not handles


def _own_hands(edition: Edition, m: Mutant) -> bool:
    """One person cleans their own gloves while another handles something."""
    other = m.other
    if m.kind != "swap" or other is None or m.act.by == other.by:
        return False
    return "sanitize" in (m.act.verb, other.verb)


def _last(edition: Edition, m: Mutant) -> bool:
    return m.kind == "delete" and m.act.verb == "move" and m.spot[0] == edition.steps[-1].id


def _standard_look(edition: Edition, m: Mutant) -> bool:
    look = m.act.verb == "inspect" or (m.other is not None and m.other.verb == "inspect")
    return edition.profile == "standard" and look


def _leave_and_rub(edition: Edition, m: Mutant) -> bool:
    verbs = {m.act.verb, m.other.verb if m.other else ""}
    return edition.profile == "standard" and m.kind == "swap" and verbs == {"move", "rub-hands"}


def _touched_then_cleaned(edition: Edition, m: Mutant) -> bool:
    """Dirty gloves touch another dirty outside of what is still worn, and are cleaned next."""
    row = [a for s in edition.steps for a in s.acts if a.by == m.act.by]
    after = row[row.index(m.act) + 1 :][:1]
    return m.kind == "elsewhere" and m.act.verb == "touch" and bool(after) and after[0].verb == "sanitize"


HARMLESS = (
    (_looked_at_again, "another person looks at the same in the same step"),
    (_hold_waits, "the hold of the step waits until it has been seen"),
    (_sitting, "sitting touches nothing; a caution about balance and the `do` lines say when"),
    (_closed, "published techniques pull the item off with it closed, and nothing says that the item has one"),
    (_watching, "one person looks while another acts; the look still comes before the first removal"),
    (_own_hands, "each cleans their own gloves; either may be first"),
    (_last, "the removal is over; nothing happens in another place afterwards"),
    (_standard_look, "general precautions ask for no inspection"),
    (_leave_and_rub, "CDC poster: hygiene after the last item; CDC 2020: hygiene after leaving; both are published"),
    (_touched_then_cleaned, "the gloves are dirty already, and are cleaned next"),
)
"""Survivors that change the state of some step, with the reason why that is no harm."""


def states(edition: Edition) -> list[State]:
    """The state as each step of the main path ends."""
    setting: Setting = setting_of(edition)
    state = next(s for s, _ in starts(setting))
    out = []
    for step in edition.steps:
        state = enter(setting, state, step)
        for act in step.acts:
            state = perform(setting, state, act, act.targets)
        state = leave(setting, state, step)
        out.append(state)
    return out
