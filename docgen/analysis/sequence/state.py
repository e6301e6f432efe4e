"""The state of a sequence between two acts: what is worn, what is dirty, whose hands are how clean, who is where.

A state is a small tuple of frozen sets, so that equal states merge whatever led to them. Nothing in it remembers a
step: where dirt came from is found afterwards, by replaying the one path that is told (`trace`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from docgen.analysis.sequence.setting import Setting

CLEAN, USED, DIRTY = 0, 1, 2
"""Levels of a hand layer. CLEAN: just sanitized, washed or new. USED: has touched something not known to be dirty (an
inside, a rear strap), or has just come to light under a glove. DIRTY: has touched a contaminated surface."""
LEVELS = ("clean", "no longer clean", "dirty")

BARE = "bare"
LAYERS = {"outer": 0, "single": 1, "": 1, "inner": 2}


class Person(NamedTuple):
    """One person's hands and whereabouts."""

    role: str
    layers: tuple[tuple[str, int], ...]
    """Hand layers, outermost first, each with its level; the last is `bare`."""
    handled: str = ""
    """The last item these hands handled since they were last cleaned."""
    place: str = ""

    @property
    def hand(self) -> str:
        """The outermost layer: a pair of gloves, or `bare`."""
        return self.layers[0][0]

    @property
    def level(self) -> int:
        """How clean the outermost layer is."""
        return self.layers[0][1]


class State(NamedTuple):
    """Everything a later act depends on."""

    worn: frozenset[str]
    """Items on the wearer, in those combinations of options that have them (`Setting.present`). Gloves are exact."""
    soiled: frozenset[tuple[str, str]]
    """Dirty surfaces of worn items: (item, `outside` | `inside` | `rear`). Gloves are in `Person.layers` instead."""
    people: tuple[Person, ...]
    """The wearer first."""
    opened: frozenset[tuple[str, str]] = frozenset()
    """Fastenings that are open: (item, fastening)."""
    loose: frozenset[tuple[str, int]] = frozenset()
    """Items that are off, and supplies that are used, not yet discarded; with the level of the side that is held."""
    done: frozenset[str] = frozenset()
    """What has happened, as far as a later rule asks: `held`, `observer-engaged`, `checked:scrubs`, …"""
    due: frozenset[str] = frozenset()
    """What must happen before anything else does: `hand-hygiene`, `glove-inspection`, …"""

    @property
    def wearer(self) -> Person:
        """The person who wears the ensemble."""
        return self.people[0]

    def person(self, role: str) -> Person:
        """The person in that role; the wearer when the role is unknown."""
        return next((p for p in self.people if p.role == role), self.people[0])

    def with_person(self, person: Person) -> State:
        """The same state with that person's new hands and place."""
        return self._replace(people=tuple(person if p.role == person.role else p for p in self.people))


def starts(setting: Setting) -> Iterator[tuple[State, int]]:
    """The states before the first step, each with the combinations of options that begin so.

    Only gloves tell them apart. Another item that some combinations lack stays in `worn` until an act or a rule asks
    for it: binding it late keeps ten optional items from making a thousand states.
    """
    groups: list[tuple[tuple[str, ...], int]] = [((), setting.options.all)]
    at_start = [i for i in setting.edition.items if i.worn is (setting.kind != "putting-on")]
    for item in at_start:
        if item.kind == "gloves":
            mask = setting.present[item.id]
            groups = [g for ids, m in groups for g in (((*ids, item.id), m & mask), (ids, m & ~mask)) if g[1]]
    others = frozenset(i.id for i in at_start if i.kind != "gloves")
    for gloves, mask in groups:
        yield _start(setting, others.union(gloves)), mask


def settled(setting: Setting, state: State, mask: int, at: int) -> State:
    """The state before step `at`, without items that none of these combinations has and no further step acts on.

    Dropped sooner, an absent item would tell its state from that of combinations that still have it; later, from that
    of combinations in which it has come off.
    """
    absent = [i for i, has, last in setting.optional if last < at and not has & mask and i in state.worn]
    return lacking(state, absent) if absent else state


def lacking(state: State, items: Iterable[str]) -> State:
    """The state in which these items never were."""
    gone = frozenset(items)
    return state._replace(
        worn=state.worn - gone,
        soiled=frozenset(s for s in state.soiled if s[0] not in gone),
        opened=frozenset(o for o in state.opened if o[0] not in gone),
        done=frozenset(d for d in state.done if d.removeprefix("checked:") not in gone),
    )


def _start(setting: Setting, worn: frozenset[str]) -> State:
    fresh = setting.kind == "putting-on"
    soiled, gloves = set(), []
    for item in setting.edition.items:
        if item.id not in worn:
            continue
        if item.kind == "gloves":
            clean = fresh or "outside" in item.clean
            gloves.append((LAYERS.get(item.layer, 1), item.id, CLEAN if clean else DIRTY))
        elif not fresh:
            soiled |= {(item.id, side) for side in ("outside", "inside") if side not in item.clean}
    bare = CLEAN if gloves else USED
    gloves.sort(key=lambda g: g[0])
    # A pair under another pair has not met the room; neither is it known to be clean.
    layers = (*((name, min(level, USED) if n else level) for n, (_, name, level) in enumerate(gloves)), (BARE, bare))
    others = [_helper(setting, role) for role in setting.roles if role != setting.wearer]
    places = (s.place for s in setting.edition.steps if s.actor == setting.wearer and s.place)
    return State(worn, frozenset(soiled), (Person(setting.wearer, layers, place=next(places, "")), *others))


def _helper(setting: Setting, role: str) -> Person:
    """Another person. Whoever has no list of what they wear is taken to wear gloves; a rule asks for the list."""
    wears = setting.roles[role].wears
    gloved = not wears or any(w == "gloves" or setting.gloves(w) for w in wears)
    gloves = ((f"{role}'s gloves", CLEAN),) if gloved else ()
    return Person(role, (*gloves, (BARE, CLEAN)))
