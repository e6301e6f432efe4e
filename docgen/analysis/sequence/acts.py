"""Turn a state and an act into the next state: what each verb of the closed set does.

| verb | what it does to the state |
|---|---|
| `inspect` | touches nothing; notes what was looked at: `ensemble`, `area`, `supplies`, `skin` or `clothing`, kept items, the gloves under the outer gloves |
| `sanitize` | own gloves: the outermost layer becomes clean. Another worn item: the hands meet its outside, which then is clean. `ensemble`: visible soil is wiped off; hands and surfaces stay suspect |
| `remove` | the hands meet the side that `touching` names; the item is off, in the hand, and to be discarded; a glove layer that comes off bares the next one |
| `put-on` | the item is worn; gloves become the new, clean outermost layer |
| `change-gloves` | old pair off, bare-hand hygiene, new pair on: outermost layer and hands are clean |
| `discard` | the hands meet the held side once more, or a used supply; the thing is gone |
| `touch` | the hands meet that side and nothing else happens; a seat or surface marked not clean dirties them |
| `open` | the hands meet the fastening, which then is open |
| `move` | those roles are in the other place |
| `sit` | nothing (whether the seat suits what is worn is a rule) |
| `confirm`, `wait`, `note`, `hand-over` | nothing; a `confirm` by a watching role counts as its presence |
| `rub-hands`, `wash` of `bare` | bare hands become clean; without effect while gloves are on |
| `wash` of `skin` | bare hands become clean with the rest; of `face` or `eyes`: the hands touch the face |
| `wash` of an item | as `sanitize` |
| `clean` | the hands meet a surface that is not clean |
| `collect` | with a tool: the hands are no longer clean; without: they are dirty |
| `apply` | nothing |

A hand layer that meets a dirty surface is dirty; one that meets another surface is no longer clean; dirty hands make a
clean surface dirty. The side comes from `touching`, because published guidance differs. Without it: gloves are taken
by the inside of the cuff, things on the head by the rear strap, boot and shoe covers by the outside. A gown or coverall
without `touching` is a finding, and is taken by the outside with gloves, by the inside with bare hands.
A supply that this protocol discards somewhere (a wipe, not a bottle) is in the hand from its use until it is discarded.
A hold is not an act: it follows the acts of its step.
"""  # noqa: E501  # a table row is one line

from __future__ import annotations

from collections.abc import Callable

from docgen.analysis.sequence.setting import CLOTHING, GARMENTS, HEAD, Setting
from docgen.analysis.sequence.state import BARE, CLEAN, DIRTY, USED, Person, State
from docgen.model.edition import Act, Step

FRONT_FASTENINGS = frozenset({"zip", "flap", "buckle"})
"""Fastenings on the front, as dirty as the outside; ties and straps are at the back."""


def _unseen(done: frozenset[str]) -> frozenset[str]:
    """A last look is the last only until something else comes off or goes on."""
    return frozenset(d for d in done if "-seen-by:" not in d)


def side_met(setting: Setting, person: Person, act: Act, item: str) -> str:
    """Which surface of an item the hands meet: `outside`, `inside` or `rear`."""
    if act.touching == "rear-strap":
        return "rear"
    if act.touching == "fastening" or (act.verb == "open" and not act.touching):
        return "outside" if act.fastening in FRONT_FASTENINGS else "rear"
    if act.touching:
        return act.touching
    kind = setting.kind_of(item)
    if act.verb == "remove":
        if kind == "gloves":
            return "inside"
        if kind in HEAD or kind == "apron":
            return "rear"
        if kind in GARMENTS and person.hand == BARE:
            return "inside"
    return "outside"


def surface_level(setting: Setting, state: State, item: str, side: str) -> int:
    """How dirty a hand gets that meets this surface of a worn item: USED or DIRTY."""
    if side == "outside":
        for name, level in state.wearer.layers:
            if name == item:
                return max(level, USED)
    return DIRTY if (item, side) in state.soiled else USED


def touched_by(person: Person, act: Act, targets: tuple[str, ...], side: str) -> str:
    """Which of a person's layers meets the side: gloves that come off in the same movement meet the outside."""
    layers = [name for name, _ in person.layers]
    others = any(t not in layers for t in targets)
    if act.verb == "remove" and person.hand in targets and not (side == "outside" and others):
        return next((name for name in layers if name not in targets), BARE)
    return person.hand


def _raise(person: Person, layer: str, level: int) -> Person:
    """The same person, with that layer at least that dirty."""
    layers = tuple((n, max(v, level)) if n == layer else (n, v) for n, v in person.layers)
    return person._replace(layers=layers)


def _cleaned(person: Person) -> Person:
    return person._replace(layers=((person.hand, CLEAN), *person.layers[1:]), handled="")


def _meet(setting: Setting, state: State, act: Act, targets: tuple[str, ...]) -> State:
    """The hands of whoever acts meet the worn items among the targets, and each dirties the other."""
    person = state.person(act.by)
    before = dict(person.layers)
    soiled = state.soiled
    for item in targets:
        if item not in state.worn:
            continue
        side = side_met(setting, person, act, item)
        layer = touched_by(person, act, targets, side)
        if before[layer] == DIRTY and not setting.gloves(item):
            soiled |= {(item, side)}
        person = _raise(person, layer, surface_level(setting, state, item, side))._replace(handled=item)
    return state._replace(soiled=soiled).with_person(person)


def _remove(setting: Setting, state: State, act: Act, targets: tuple[str, ...]) -> State:
    off = tuple(t for t in targets if t in state.worn)
    if not off:
        return state
    doer = state.person(act.by)
    # Gloves that come off inside out, alone or around what comes off with them, leave only insides in the hand.
    turned = any(setting.gloves(t) for t in off)
    loose = {(t, CLEAN if turned else surface_level(setting, state, t, side_met(setting, doer, act, t))) for t in off}
    state = _meet(setting, state, act, off)
    wearer = state.wearer
    bared = wearer.hand in off
    layers = tuple(layer for layer in wearer.layers if layer[0] not in off)
    due = set(state.due)
    layers_off: set[str] = set()
    if bared:
        outermost = wearer.hand
        wearer = wearer._replace(layers=layers, handled=outermost)
        if wearer.hand == BARE:
            wearer = _raise(wearer, BARE, USED)
            inner = setting.items[outermost].layer == "inner" or setting.edition.profile == "enhanced"
            due |= {"hand-hygiene"} | ({"hand-hygiene-now"} if inner else set())
            layers_off = {"inner-gloves-off"} if setting.items[outermost].layer == "inner" else set()
            due -= {"glove-inspection", "glove-inspection-advised"}
        elif setting.items[outermost].layer == "outer":
            due |= {"glove-inspection-advised" if len(off) > 1 else "glove-inspection", "hold-after-outer-gloves"}
    else:
        wearer = wearer._replace(layers=layers)
    gone = set(off)
    return state._replace(
        worn=state.worn - gone,
        soiled=frozenset(s for s in state.soiled if s[0] not in gone),
        opened=frozenset(o for o in state.opened if o[0] not in gone),
        loose=state.loose if act.into else state.loose | loose,
        done=(_unseen(state.done) - {"held"}) | {"removal"} | layers_off,
        due=frozenset(due),
    ).with_person(wearer)


def _put_on(setting: Setting, state: State, act: Act, targets: tuple[str, ...]) -> State:
    new = [t for t in targets if t in setting.items and t not in state.worn]
    doer = state.person(act.by)
    begun = {"put-on"} if any(setting.kind_of(t) not in CLOTHING for t in new) else set()
    state = state._replace(worn=state.worn | set(new), done=_unseen(state.done) | begun)
    wearer = state.wearer
    for item in new:
        if setting.gloves(item):
            level = DIRTY if wearer.level == DIRTY else CLEAN
            wearer = wearer._replace(layers=((item, level), *wearer.layers), handled="")
            due = state.due - {"hand-hygiene", "hand-hygiene-now"}
            state = state._replace(done=state.done | {"fresh-gloves"}, due=due)
        elif doer.level == DIRTY:
            state = state._replace(soiled=state.soiled | {(item, "outside")})
    return state.with_person(wearer)


def _clean_hands(state: State, act: Act) -> State:
    state = state.with_person(_cleaned(state.person(act.by)))
    if act.by == state.wearer.role and state.wearer.hand == BARE:
        state = state._replace(due=state.due - {"hand-hygiene", "hand-hygiene-now"}, done=state.done | {"hands-washed"})
    return state


def _sanitize(setting: Setting, state: State, act: Act, targets: tuple[str, ...]) -> State:
    for target in targets:
        person = state.person(act.by)
        if setting.own_hands(act, target):
            own = act.by != state.wearer.role or target in (person.hand, "hands")
            state = _clean_hands(state, act) if own else state
        elif target == "ensemble":
            state = state._replace(done=state.done | {"soil-wiped"})
        elif target in state.worn:
            state = _meet(setting, state, act, (target,))
            clean = frozenset(s for s in state.soiled if s != (target, "outside"))
            state = state._replace(soiled=clean, done=state.done | {f"checked:{target}"})
    return state


def _wash(setting: Setting, state: State, act: Act, targets: tuple[str, ...]) -> State:
    for target in targets:
        if target in (BARE, "hands", "skin"):
            state = _clean_hands(state, act) if state.person(act.by).hand == BARE else state
        else:
            state = _sanitize(setting, state, act, (target,))
    return state


def _change_gloves(setting: Setting, state: State, act: Act, targets: tuple[str, ...]) -> State:
    person = state.person(act.by)
    if person.hand == BARE or (act.by == state.wearer.role and not {person.hand, "hands"} & set(targets)):
        return state
    layers = ((person.hand, CLEAN), *((n, CLEAN if n == BARE else v) for n, v in person.layers[1:]))
    state = state.with_person(person._replace(layers=layers, handled=""))
    if act.by != state.wearer.role:
        return state
    due = state.due - {"glove-inspection", "glove-inspection-advised"}
    return state._replace(done=state.done | {"fresh-gloves"}, due=due)


def _inspect(setting: Setting, state: State, act: Act, targets: tuple[str, ...]) -> State:
    done, due = set(state.done), set(state.due)
    for target in targets:
        if target in ("area", "supplies"):
            done.add(f"{target}-ready")
        elif target == "ensemble":
            done |= {"ensemble-inspected", f"ensemble-seen-by:{act.by}"}
        elif target in ("skin", "clothing"):
            done.add(f"{target}-seen-by:{act.by}")
            if target == "clothing":
                done |= {f"checked:{i}" for i in state.worn if setting.kind_of(i) == "clothing"}
        elif target in state.worn:
            done.add(f"checked:{target}")
            if setting.gloves(target):
                due -= {"glove-inspection", "glove-inspection-advised"}
    return state._replace(done=frozenset(done), due=frozenset(due))


def _discard(setting: Setting, state: State, act: Act, targets: tuple[str, ...]) -> State:
    for target in targets:
        held = next((pair for pair in state.loose if pair[0] == target), None)
        person = state.person(act.by)
        if held:
            state = state._replace(loose=state.loose - {held})
        if held or target in setting.supplies:
            person = _raise(person, person.hand, max(held[1] if held else USED, USED))
            state = state.with_person(person._replace(handled=target))
    return state


def _touch(setting: Setting, state: State, act: Act, targets: tuple[str, ...]) -> State:
    state = _meet(setting, state, act, targets)
    if any(setting.supplies[t].clean is False for t in targets if t in setting.supplies):
        person = state.person(act.by)
        state = state.with_person(_raise(person, person.hand, DIRTY))
    return state


def _open(setting: Setting, state: State, act: Act, targets: tuple[str, ...]) -> State:
    state = _meet(setting, state, act, targets)
    return state._replace(opened=state.opened | {(t, act.fastening) for t in targets if t in state.worn})


def _move(setting: Setting, state: State, act: Act, targets: tuple[str, ...]) -> State:
    if act.to in setting.orders:
        for role in targets:
            if role in setting.roles:
                state = state.with_person(state.person(role)._replace(place=act.to))
    return state


def _pick_up(setting: Setting, state: State, act: Act, targets: tuple[str, ...]) -> State:
    person = state.person(act.by)
    tool = any(setting.supplies[u].kind == "tool" for u in act.using if u in setting.supplies)
    return state.with_person(_raise(person, person.hand, USED if tool and act.verb == "collect" else DIRTY))


def _stay(setting: Setting, state: State, act: Act, targets: tuple[str, ...]) -> State:
    return state


EFFECTS: dict[str, Callable[[Setting, State, Act, tuple[str, ...]], State]] = {
    "inspect": _inspect,
    "sanitize": _sanitize,
    "remove": _remove,
    "put-on": _put_on,
    "discard": _discard,
    "touch": _touch,
    "open": _open,
    "move": _move,
    "sit": _stay,
    "confirm": _stay,
    "hand-over": _stay,
    "change-gloves": _change_gloves,
    "rub-hands": _wash,
    "wash": _wash,
    "clean": _pick_up,
    "apply": _stay,
    "collect": _pick_up,
    "wait": _stay,
    "note": _stay,
}


def perform(setting: Setting, state: State, act: Act, targets: tuple[str, ...]) -> State:
    """The state after one act. `targets` are those of the act that belong to the ensemble under these options."""
    after = EFFECTS[act.verb](setting, state, act, targets)
    if act.verb in ("sanitize", "wash", "clean", "collect"):
        used = setting.thrown.intersection(act.using if act.verb != "collect" else targets)
        after = after._replace(loose=after.loose | {(u, USED) for u in used}) if used else after
    if setting.watches(act.by) and act.verb != "wait":
        after = after._replace(done=after.done | {"observer-engaged"})
    return after


def enter(setting: Setting, state: State, step: Step) -> State:
    """The state as a step begins: its actor is where the step happens, unless this step itself tells them to move."""
    person = state.person(step.actor)
    if not step.place or step.place == person.place:
        return state
    if person.place and tells_move(step, person.role, step.place):
        return state
    return state.with_person(person._replace(place=step.place))


def tells_move(step: Step, role: str, place: str) -> bool:
    """Whether a step moves a role to a place."""
    return any(act.verb == "move" and role in act.targets and act.to == place for act in step.acts)


def leave(setting: Setting, state: State, step: Step) -> State:
    """The state after a step: its hold, if it has one, has been given."""
    if step.hold is None:
        return state
    done = {"held"} | ({"observer-engaged"} if setting.watches(step.hold.by) else set())
    return state._replace(done=state.done | done, due=state.due - {"hold-after-outer-gloves"})
