"""What every rule is made of: the moment it looks at, and what it says when it is broken."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from docgen.analysis.sequence.setting import Setting
from docgen.analysis.sequence.state import Person, State
from docgen.analysis.sequence.suggest import Change, like
from docgen.model.edition import Act, Branch, Step
from docgen.model.moment import Rule

NO_SOURCE = "common practice, no source"
CDC_SEQUENCE = "CDC, Sequence for Putting On and Removing Personal Protective Equipment (poster)"
CDC_VHF = "CDC, PPE: Confirmed Patients and Clinically Unstable Patients Suspected to have VHF"
WHO_COVERALL = "World Health Organization, Steps to take off PPE including coverall (poster)"
MEMORY = "(from memory; compare before clinical use)"

ALWAYS_ERROR = (("standard", "error"), ("enhanced", "error"))
STRICTER = (("standard", "warning"), ("enhanced", "error"))
"""An error where a trained observer leads the removal, a warning elsewhere."""
ENHANCED = (("standard", "off"), ("enhanced", "error"))
WARN = (("standard", "warning"), ("enhanced", "warning"))

REMOVING = frozenset({"removing"})
PUTTING_ON = frozenset({"putting-on"})
WEARING = frozenset({"removing", "putting-on", "procedure"})
"""Every kind of protocol; a rule for these still needs items to speak of."""


@dataclass(frozen=True, slots=True)
class Breach:
    """A rule broken at one place, in whatever combinations of options and branches."""

    rule: str
    message: str
    """What is wrong, in the grammar of findings; step labels are added by the report."""
    subject: tuple[str, ...] = ()
    """What it is about: with rule and place, what makes two breaches one."""
    fix: Change | None = None
    hint: str = ""
    """Said when no single change mends it."""
    because: tuple[str, ...] = ()
    """What the story looks back for: ("hands", role), ("handled", role, item), ("off", item), ("last-gloves",), …"""
    root: tuple[str, ...] = ()
    """Breaches of one family with one root are told once, at the first place."""
    family: str = ""
    within: int = -1
    """The combinations in which it counts, where it is about an item that not every combination has."""
    softer: bool = False
    """A warning here, because a published sequence does it this way."""


@dataclass(frozen=True, slots=True)
class Scene:
    """An act about to happen."""

    setting: Setting
    state: State
    step: Step
    at: int
    """Place of the act in its step, from 0."""
    act: Act
    targets: tuple[str, ...]
    absent: tuple[str, ...] = ()
    """Targets that are not part of the ensemble under the options at hand."""

    @property
    def doer(self) -> Person:
        """Who acts."""
        return self.state.person(self.act.by)

    @property
    def by_wearer(self) -> bool:
        """Whether the wearer acts."""
        return self.act.by == self.state.wearer.role


@dataclass(frozen=True, slots=True)
class Beginning:
    """A step about to begin."""

    setting: Setting
    state: State
    step: Step


@dataclass(frozen=True, slots=True)
class End:
    """A path that ends: with the last step, or in a branch that leaves."""

    setting: Setting
    state: State
    step: Step
    """The last step of the path."""
    branch: Branch | None = None
    """The branch that leaves, if this is not the end of the main path."""


ActCheck = Callable[[Scene], Iterable[Breach]]
StepCheck = Callable[[Beginning], Iterable[Breach]]
EndCheck = Callable[[End], Iterable[Breach]]
WholeCheck = Callable[[Setting], Iterable[tuple[Breach, str, int, int]]]
"""Looks at the edition without running it: each breach, step id (or empty), act (−1: the step) and combinations."""


@dataclass(frozen=True, slots=True)
class Check:
    """A function that finds breaches of some rules, and when it is asked."""

    rules: tuple[Rule, ...]
    act: ActCheck | None = None
    verbs: frozenset[str] = frozenset()
    """Verbs before which an act check is asked; empty: all."""
    step: StepCheck | None = None
    end: EndCheck | None = None
    whole: WholeCheck | None = None
    kinds: frozenset[str] = WEARING
    """Kinds of protocol it is asked for."""


def agree(name: str, one: str, many: str) -> str:
    """The verb that goes with an item: `gown` comes off, `inner-gloves` come off."""
    return many if name.endswith("s") and not name.endswith("ss") else one


def comes(name: str) -> str:
    """ "`gown` comes", "`gloves` come"."""
    return f"`{name}` {agree(name, 'comes', 'come')}"


def goes(name: str) -> str:
    """ "`gown` goes", "`gloves` go"."""
    return f"`{name}` {agree(name, 'goes', 'go')}"


def is_(name: str) -> str:
    """ "`gown` is", "`gloves` are"."""
    return f"`{name}` {agree(name, 'is', 'are')}"


def hygiene(scene_or_end: Scene | End, role: str) -> Act:
    """The hygiene act that makes this person's outermost hand layer clean, in the fashion of the edition."""
    setting, person = scene_or_end.setting, scene_or_end.state.person(role)
    if person.hand == "bare":
        return like(setting, Act("rub-hands", ("bare",), role))
    if role == setting.wearer:
        return like(setting, Act("sanitize", (person.hand,), role))
    gloves = next((i.id for i in setting.edition.items if i.kind == "gloves"), "hands")
    return like(setting, Act("sanitize", (gloves,), role))
