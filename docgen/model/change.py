"""What differs between two editions of one protocol, as data: for people, for programs, for the notice of change."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

from docgen.model.edition import Branch, Caution, Edition, Item, Place, Role, Step, Supply
from docgen.model.text import NO_TEXT, Text


class Degree(IntEnum):
    """How far a change goes. From `DOING` on it changes what people do."""

    NONE = 0
    WORDING = 1
    """Other words for the same."""
    DOING = 2
    """Somebody does, uses, waits for or beware of something else; the sequence of steps is the same."""
    SEQUENCE = 3
    """Steps, holds, acts or ways out of the main path come, go, move or differ."""

    @property
    def words(self) -> str:
        """The class, in words."""
        return "changes what people do" if self >= Degree.DOING else "wording only" if self else "nothing changed"


@dataclass(frozen=True, slots=True)
class Stretch:
    """Some words of a difference. `side`: `both`, `old` (gone) or `new`."""

    side: str
    words: str


@dataclass(frozen=True, slots=True)
class Reworded:
    """One text that differs; a text that comes or goes has `NO_TEXT` on its other side."""

    field: str
    """`headline`, `do`, `hold`, `hazard`, `question`, `name`, `product`, …"""
    old: Text = NO_TEXT
    new: Text = NO_TEXT
    stretches: tuple[Stretch, ...] = ()
    """The words of both, in order: those of `both` and `old` are the old text, of `both` and `new` the new one."""
    why: str = ""
    """Why it counts as doing something else; empty for other words of the same."""

    @property
    def degree(self) -> Degree:
        """How far it goes."""
        return Degree.DOING if self.why else Degree.WORDING


@dataclass(frozen=True, slots=True)
class Fact:
    """Something other than words that differs, in the form of the source: `acts`, `actor`, `time`, `uses`, …"""

    what: str
    old: str
    new: str
    degree: Degree = Degree.DOING


@dataclass(frozen=True, slots=True)
class Altered:
    """One part of a protocol that differs. `old` is None for what is new, `new` for what is gone."""

    kind: str
    """`step`, `caution`, `branch`, `supply`, `item`, `role`, `place`, `phase` or `document`."""
    id: str
    old: Step | Caution | Branch | Supply | Item | Role | Place | None = None
    new: Step | Caution | Branch | Supply | Item | Role | Place | None = None
    moved: bool = False
    """A step that stands elsewhere among those that stayed."""
    old_at: tuple[str, ...] = ()
    """Where it was: its number, or the numbers of the steps a caution stood before."""
    new_at: tuple[str, ...] = ()
    old_id: str = ""
    """Its id before, if that was another."""
    texts: tuple[Reworded, ...] = ()
    facts: tuple[Fact, ...] = ()

    @property
    def how(self) -> str:
        """`added`, `removed`, `moved` or `changed`."""
        if self.kind in ("document", "phase"):
            return "changed"
        if self.old is None or self.new is None:
            return "added" if self.old is None else "removed"
        return "moved" if self.moved else "changed"

    @property
    def degree(self) -> Degree:
        """How far it goes: what comes, goes or moves changes what people do, and steps and branches the sequence."""
        degrees = [Degree.NONE, *(t.degree for t in self.texts), *(f.degree for f in self.facts)]
        if self.how != "changed":
            degrees.append(Degree.SEQUENCE if self.kind in ("step", "branch") else Degree.DOING)
        return max(degrees)


@dataclass(frozen=True, slots=True)
class Change:
    """Everything that differs between two editions of one protocol, in the order of the new one."""

    before: Edition
    after: Edition
    parts: tuple[Altered, ...]
    degree: Degree

    @property
    def retraining(self) -> bool:
        """Whether staff should practise before they use it, by the rule of the site."""
        return self.degree >= {"always": Degree.WORDING, "doing": Degree.DOING, "sequence": Degree.SEQUENCE}.get(
            self.after.retraining or "doing", Degree.SEQUENCE + 1
        )

    def of(self, kind: str) -> tuple[Altered, ...]:
        """The parts of a kind."""
        return tuple(p for p in self.parts if p.kind == kind)
