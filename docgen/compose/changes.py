"""What a template sees of a change: the parts that differ, each text in its old and new words, what differs in bold."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from docgen.compose.handles import NOTHING, Handle, Ledger
from docgen.model.block import Origin, Piece
from docgen.model.change import Altered, Change, Degree, Reworded
from docgen.model.edition import Branch, Caution, Edition, Step, Time
from docgen.model.text import Run, Runs, Text, Words

SHOWN = ("step", "caution", "branch", "supply", "role", "place")
"""Kinds of parts that staff meet on sheets; what is only for the program or about the document is not among them."""
NEW = {"step": ("hold",), "caution": ("hazard", "consequence", "avoid"), "branch": ("leave",)}
"""What is said of a part that is new, besides its name."""
GONE = {"step": (), "caution": ("hazard",), "branch": ()}
"""What is said of a part that is gone, besides its name."""


@dataclass(frozen=True, slots=True)
class RowView:
    """One text in its old and its new words; either may be missing. `field`: `headline`, `do`, `hold`, …"""

    field: str
    old: Handle
    new: Handle


@dataclass(frozen=True, slots=True)
class PartView:
    """One part that differs. `how`: `added`, `removed`, `moved` or `changed`."""

    kind: str
    how: str
    number: Handle
    """Of the step, the letter of the branch, or the first step that a caution stands before."""
    numbers: Handle
    """All steps that a caution stands before."""
    old_number: Handle
    """Where a step was, if it moved."""
    signal: Handle
    """Of a caution."""
    name: Handle
    """The headline, the question, or what a supply, a role or a place is called."""
    rows: tuple[RowView, ...]


@dataclass(frozen=True, slots=True)
class ChangeView:
    """What differs from the version before; false in `edition.change` for a first version."""

    version: Handle
    """The version before."""
    fingerprint: Handle
    doing: bool
    """Whether it changes what people do."""
    retraining: bool
    parts: tuple[PartView, ...]


class Changes:
    """Gives out handles for one change into one ledger."""

    def __init__(self, change: Change, ledger: Ledger, translate: Callable[[str], Words]) -> None:
        self._change, self._ledger, self._translate = change, ledger, translate

    def view(self) -> ChangeView:
        """The view a template gets as `edition.change`."""
        c = self._change
        stamp = self._ledger.stamp
        mark = f"{c.before.fingerprint[:5]}-{c.before.fingerprint[5:]}"
        shown = [p for p in c.parts if p.kind in SHOWN and (p.kind in NEW or p.texts)]
        parts = tuple(self._part(p) for p in _in_order(shown, c.after, c.before))
        return ChangeView(
            stamp(c.before.version, "old-version"), stamp(mark, "old-fingerprint"), c.degree >= Degree.DOING,
            c.retraining, parts,
        )  # fmt: skip

    def _part(self, part: Altered) -> PartView:
        at, here = part.new_at or part.old_at, part.new or part.old
        # what speaks for a part is grouped by it, as what speaks for a step is
        own = f"{part.kind}.{part.id}"
        origin = lambda field: Origin("step", part.id, field, own)
        number = origin("number") if part.kind != "branch" else Origin("branch", part.id, "letter", branch=own)
        name = getattr(here, {"step": "headline", "caution": "hazard", "branch": "question"}.get(part.kind, "name"))
        was = part.old_at[0] if part.how == "moved" else ""
        return PartView(
            kind=part.kind,
            how=part.how,
            number=self._ledger.plain(at[0] if at else "·", number, isolate=True),
            numbers=self._ledger.plain(", ".join(at), origin("numbers"), isolate=True),
            old_number=self._ledger.plain(was, origin("old-number"), isolate=True),
            signal=self._signal(here, origin) if isinstance(here, Caution) else NOTHING,
            name=self._ledger.text(name, origin("name")),
            rows=tuple(self._rows(part, own)),
        )

    def _signal(self, caution: Caution, origin: Callable[[str], Origin]) -> Handle:
        return self._ledger.runs(self._translate(caution.signal.upper()).runs, origin("signal"))

    def _rows(self, part: Altered, own: str) -> Iterator[RowView]:
        texts = part.texts
        if part.kind in NEW and part.how in ("added", "removed"):
            fields = (NEW if part.how == "added" else GONE)[part.kind]
            texts = tuple(t for t in texts if t.field in fields)
        for text in texts:
            yield RowView(text.field, self._side(text, "old", part, own), self._side(text, "new", part, own))
        for field, old, new in _facts(part, self._change, self._translate):
            sides = (self._ledger.runs(runs, Origin("change", part.id, side, own)) for side, runs in
                     (("old", old), ("new", new)))  # fmt: skip
            yield RowView(field, *sides)

    def _side(self, text: Reworded, side: str, part: Altered, own: str) -> Handle:
        whole: Text = getattr(text, side)
        if not whole:
            return NOTHING
        # a text that only comes or only goes differs as a whole, and needs no marks
        runs = marked(text, side) if text.old and text.new else whole.runs
        return self._ledger.give(Piece(runs, Origin("change", part.id, side, own), whole.key))


def marked(text: Reworded, side: str) -> Runs:
    """The runs of one side of a reworded text, bold where it differs and nowhere else."""
    runs: list[Run] = []
    lengths = [(len(s.words), s.side == side) for s in text.stretches if s.side in ("both", side)]
    todo = iter(lengths)
    left, differs = next(todo, (0, False))
    for run in getattr(text, side).runs:
        rest = run.text
        while rest:
            while not left:
                left, differs = next(todo)
            piece, rest = rest[:left], rest[left:]
            left -= len(piece)
            runs.append(Run(piece, strong=differs, isolate=run.isolate))
    return tuple(runs)


def _in_order(parts: list[Altered], after: Edition, before: Edition) -> list[Altered]:
    """Along the main path, each caution before its first step; then branches; then names of things."""
    place = {s.label: float(n) for n, s in enumerate(after.steps)}
    was = {s.label: float(n) for n, s in enumerate(before.steps)}
    last = float(len(place))

    def key(part: Altered) -> tuple[float, int]:
        at = place.get(part.new_at[0], last) if part.new_at else was.get(part.old_at[0], last) if part.old_at else last
        return (at, ("caution", "step", "branch", "supply", "role", "place").index(part.kind))

    main = [p for p in parts if key(p)[0] < last]
    rest = [p for p in parts if key(p)[0] >= last]
    names = [p for p in rest if p.kind in ("supply", "role", "place")]
    return [*sorted(main, key=key), *(p for p in rest if p not in names), *names]


def _facts(part: Altered, change: Change, translate: Callable[[str], Words]) -> Iterator[tuple[str, Runs, Runs]]:
    """Facts that can be said without words of their own: who, where, how long, which signal word."""
    a, b = part.old, part.new
    found: list[tuple[str, Runs, Runs]] = []
    match a, b:
        case Step(), Step():
            old, new = change.before, change.after
            found = [
                ("actor", _name(old.roles, a.actor), _name(new.roles, b.actor)),
                ("place", _name(old.places, a.place), _name(new.places, b.place)),
                ("hold-by", _name(old.roles, _holder(a)), _name(new.roles, _holder(b))),
                ("time", _time(a.time), _time(b.time)),
            ]
        case Caution(), Caution():
            found = [("signal", translate(a.signal.upper()).runs, translate(b.signal.upper()).runs)]
        case Branch(), Branch():
            found = [("rejoin", _label(a.rejoin, change.before), _label(b.rejoin, change.after))]
    yield from ((field, was, now) for field, was, now in found if _said(was) != _said(now))


def _said(runs: Runs) -> str:
    return "".join(r.text for r in runs)


def _name(parts: tuple, id: str) -> Runs:
    return next((p.name.runs for p in parts if p.id == id), ())


def _label(id: str, edition: Edition) -> Runs:
    return next(((Run(s.label, isolate=True),) for s in edition.steps if s.id == id), ())


def _holder(step: Step) -> str:
    return step.hold.by if step.hold else ""


def _time(time: Time | None) -> Runs:
    if time is None or not time.most:
        return ()
    return (Run(f"{time.least}–{time.most} s" if time.most > time.least else f"{time.least} s", isolate=True),)
