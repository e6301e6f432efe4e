"""Turn one breach into a short story: the one path that is told, and what on it made the breach come about.

The path is the first that leads there: with the fewest branches, and under the fewest choices that all show the breach.
It is replayed act by act, so that the story can say at which step what became dirty, came off, or was missed.
"""

from __future__ import annotations

from dataclasses import dataclass

from docgen.analysis.sequence.acts import enter
from docgen.analysis.sequence.explore import Found, Node, Spot, Walk, play, variants
from docgen.analysis.sequence.options import Choices
from docgen.analysis.sequence.rules.base import comes, goes, is_
from docgen.analysis.sequence.setting import Setting
from docgen.analysis.sequence.state import BARE, CLEAN, DIRTY, State, lacking
from docgen.findings import Note
from docgen.model.edition import Act, Branch, Step


@dataclass(frozen=True, slots=True)
class Event:
    """One act as it happened on the path."""

    step: Step
    at: int
    act: Act
    before: State
    after: State


@dataclass(frozen=True, slots=True)
class Story:
    """A breach with the path to it."""

    found: Found
    choices: Choices
    """The fewest choices that all show it; empty when every combination does."""
    whole: bool
    """Whether those choices are all the combinations that show it."""
    taken: tuple[tuple[str, str], ...]
    """Branches on the path: (branch, step at which it was taken)."""
    events: tuple[Event, ...]
    cause: Event | None
    """The act that brought the breach about, if it was not the breach itself."""


def tell(walk: Walk, found: Found) -> Story:
    """The story of a breach. `events` end with the act before which it was found."""
    options = walk.setting.options
    choices, row = options.fewest(found.mask)
    cube = options.mask(tuple((name, (choice,)) for name, choice in choices))
    bit = 1 << row
    node = next(node for mask, node in found.nodes if mask & bit)
    if node is None:
        return Story(found, choices, cube == found.mask, (), (), None)
    path = _path(walk, node, bit)
    events, taken = _replay(walk.setting, path, found, bit)
    return Story(found, choices, cube == found.mask, taken, events, _cause(found, events))


def _path(walk: Walk, node: Node, bit: int) -> list[tuple[Node, str]]:
    """Nodes from the start to this one, each with the branch entered to get there."""
    path: list[tuple[Node, str]] = []
    here: Node | None = node
    while here is not None:
        arrival = next(a for a in walk.arrivals[here] if a.mask & bit)
        path.append((here, arrival.taken))
        here = arrival.parent
    return path[::-1]


def _replay(
    setting: Setting, path: list[tuple[Node, str]], found: Found, bit: int
) -> tuple[tuple[Event, ...], tuple[tuple[str, str], ...]]:
    events: list[Event] = []
    taken: list[tuple[str, str]] = []
    for number, ((spot, state), branch) in enumerate(path):
        steps = setting.branches[spot.branch].steps if spot.branch else setting.edition.steps
        if branch:
            before = path[number - 1][0][0]
            row = setting.branches[before.branch].steps if before.branch else setting.edition.steps
            taken.append((branch, row[min(before.at, len(row) - 1)].id))
        last = number == len(path) - 1
        if spot.at >= len(steps) or (not last and _interrupted(path[number + 1], spot, setting)):
            continue
        step = steps[spot.at]
        if not setting.options.mask(step.when) & bit:
            continue
        variant = next(v for v in variants(setting, step) if v.mask & bit)
        state = enter(setting, lacking(state, variant.absent), step)
        for at, act, was, became in play(setting, step, variant, state):
            if last and found.step == step.id and at > found.at >= -1:
                break
            events.append(Event(step, at, act, was, became))
            if last and found.step == step.id and at == found.at:
                break
    return tuple(events), tuple(taken)


def _interrupted(following: tuple[Node, str], spot: Spot, setting: Setting) -> bool:
    """Whether the next node is a branch taken before this step rather than after it."""
    branch = following[1]
    if not branch:
        return False
    step = (setting.branches[spot.branch].steps if spot.branch else setting.edition.steps)[spot.at]
    return branch not in step.branches


def _cause(found: Found, events: tuple[Event, ...]) -> Event | None:
    """The last act before the breach that brought about what the breach is about."""
    because = found.breach.because
    earlier = events if found.at < 0 else events[:-1]
    if not because:
        return None
    for event in reversed(earlier):
        if _brought_about(because, event):
            return event
    return None


def _brought_about(because: tuple[str, ...], event: Event) -> bool:
    what, before, after = because[0], event.before, event.after
    if what == "hands":
        old, new = before.person(because[1]), after.person(because[1])
        return new.level > (old.level if old.hand == new.hand else CLEAN)
    if what == "handled":
        return before.person(because[1]).handled != because[2] and after.person(because[1]).handled == because[2]
    if what == "last-gloves":
        return before.wearer.hand != BARE and after.wearer.hand == BARE
    if what == "off":
        return because[1] in before.worn and because[1] not in after.worn
    if what == "on":
        return because[1] not in before.worn and because[1] in after.worn
    if what == "bared":
        return before.wearer.hand != because[1] and after.wearer.hand == because[1]
    if what == "open":
        return (because[1], because[2]) not in before.opened and (because[1], because[2]) in after.opened
    return False


def notes(setting: Setting, story: Story) -> tuple[Note, ...]:
    """The story in sentences, in the order in which it happens."""
    found, out = story.found, []
    if story.choices:
        words = " and ".join(f"`{option}: {choice}`" for option, choice in story.choices)
        others = "" if story.whole else ", among others"
        out.append(Note(f"with {words}{others}"))
    for name, taken_at in story.taken:
        branch = setting.branches[name]
        taken = f"branch {branch.letter} `{name}` is taken at {setting.label(taken_at)}"
        out.append(Note(taken + _back(setting, branch), branch.where))
    if story.cause:
        event = story.cause
        out.append(Note(f"{setting.label(event.step.id)}: {_happened(found, event)}", event.act.where))
    later = found.breach.because[1:] if found.breach.because[:1] == ("later",) else ()
    if found.at >= -1 and found.step:
        step = setting.steps[found.step]
        where = step.acts[found.at].where if 0 <= found.at < len(step.acts) else step.where
        out.append(Note(f"{setting.label(found.step)}: {_here(found.breach.message)}", where))
    for item in later:
        out += _comes_off_later(setting, found, item)
    return tuple(out)


def _back(setting: Setting, branch: Branch) -> str:
    if branch.rejoin == "same":
        return " and goes on where it was left"
    if branch.rejoin and branch.rejoin not in setting.index:
        return f" and goes on after it, for want of `{branch.rejoin}`"
    if branch.rejoin:
        return f" and goes on at {setting.label(branch.rejoin)}"
    return ", which leaves the main path"


def _here(message: str) -> str:
    return message.replace(" here", "", 1)


def _happened(found: Found, event: Event) -> str:
    """What an act did, as far as the breach is about it."""
    because, act = found.breach.because, event.act
    things = " and ".join(f"`{t}`" for t in act.targets)
    if because[0] in ("hands", "handled"):
        person = event.after.person(because[1])
        hand = "the bare hands" if person.hand == BARE else f"`{person.hand}`"
        if event.before.person(because[1]).hand != person.hand:
            return f"{_off(act)}, and {hand} below are not clean"
        become = "become dirty" if person.level == DIRTY else "are no longer clean"
        if act.verb == "open":
            return f"{hand} open the {act.fastening or 'fastening'} of {things} and {become}"
        side = {"rear-strap": "rear strap", "fastening": act.fastening or "fastening"}.get(act.touching, act.touching)
        meet = f"meet the {side} of {things}" if side else f"handle {things}"
        return f"{hand} {meet} and {become}"
    if because[0] == "last-gloves":
        return f"{_off(act)}, and the hands are bare"
    if because[0] == "bared":
        return f"{_off(act)}, and {is_(because[1])} outermost"
    if because[0] == "off":
        return f"{comes(because[1])} off"
    if because[0] == "on":
        return f"{goes(because[1])} on"
    return f"the {because[2]} of `{because[1]}` is opened"


def _off(act: Act) -> str:
    if len(act.targets) == 1:
        return f"{comes(act.targets[0])} off"
    return " and ".join(f"`{t}`" for t in act.targets) + " come off"


def _comes_off_later(setting: Setting, found: Found, item: str) -> list[Note]:
    steps = setting.find("remove", item)
    here = setting.index.get(found.step, -1)
    later = [s for s in steps if setting.index[s] > here]
    if later:
        step = setting.steps[later[0]]
        return [Note(f"{setting.label(step.id)}: {comes(item)} off only here", step.where)]
    return [Note(f"no later step takes `{item}` off", setting.items[item].where)]
