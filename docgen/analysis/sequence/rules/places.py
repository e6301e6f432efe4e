"""Rules about places and things: one way, supplies at hand, a container for everything, the right seat."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from docgen.analysis.sequence.acts import tells_move
from docgen.analysis.sequence.rules.base import (
    ALWAYS_ERROR,
    CDC_VHF,
    NO_SOURCE,
    REMOVING,
    STRICTER,
    WARN,
    WHO_COVERALL,
    Beginning,
    Breach,
    Check,
    End,
    Scene,
    agree,
    is_,
)
from docgen.analysis.sequence.setting import FEET, GARMENTS, Setting
from docgen.analysis.sequence.state import State
from docgen.analysis.sequence.suggest import Change, after, before, like
from docgen.model.edition import Act, Step
from docgen.model.moment import Rule

NOT_TOLD = Rule(
    "sequence/move-not-told",
    "When steps go on in another place, a step before or at that point tells the wearer to go there.",
    "A move that is not told is made too early or with dirty hands on the door.",
    NO_SOURCE,
    "",
    STRICTER,
    example="step 20 happens in `clean-area`, but nothing tells `wearer` to go there → add: move",
)
BACKWARDS = Rule(
    "sequence/back-to-dirtier-place",
    "Nobody goes back to a dirtier place.",
    "Whoever returns brings contamination along, or picks it up without protection.",
    f"{CDC_VHF}: one way from the patient room through the removal area to the clean area",
    "",
    ALWAYS_ERROR,
    example="`wearer` goes back from `removal-area` to `patient-room` → delete: move `wearer` in step 11",
)
NOT_LISTED = Rule(
    "sequence/supply-not-listed",
    "Every supply, container and seat that a step uses is in the list of supplies.",
    "The list is what people prepare from; what is not on it is missing when hands are not free to fetch it.",
    f"{CDC_VHF}, trained observer page 18: all supplies present before removal begins",
    "",
    ALWAYS_ERROR,
    example="`bleach` is used here but is not in the list of supplies → add it under `supplies:`",
)
NOT_AT_HAND = Rule(
    "sequence/supply-not-at-hand",
    "Every supply is at hand in the place where it is used.",
    "Nobody can leave the area half undressed to fetch it.",
    f"{CDC_VHF}, trained observer page 18",
    "A supply without `at` is at hand everywhere.",
    ALWAYS_ERROR,
    example="`waste-container` is used here in `anteroom`, but is at hand only in `removal-area` → add it to `at:`",
)
CONTAINER = Rule(
    "sequence/no-container",
    "Everything that comes off goes into a named container before the wearer moves on.",
    "An item without a destination is put down somewhere, and contaminates that place.",
    f"{CDC_VHF}, trained observer page 16; {WHO_COVERALL}, step 1",
    "",
    ALWAYS_ERROR,
    example="nothing says where `gown` goes after step 12 → add: discard `gown` into `waste-container` after step 12",
)
SEAT = Rule(
    "sequence/seat-soiled",
    "Nobody sits on a seat marked clean in soiled outer wear, nor on a dirty seat in bare clothing.",
    "The seat carries soil from one layer, or one person, to the next.",
    f"{CDC_VHF}, powered respirator and coverall, removal page 12: clean chair, marked clearly",
    "Sitting down to take that very item off, in the same step.",
    WARN,
    example="`clean-chair` is marked clean, but `boot-covers` are still worn here → use the other seat",
)


def back_to_dirtier_place(scene: Scene) -> Iterator[Breach]:
    """A move to a place of lower order."""
    orders = scene.setting.orders
    for role in scene.targets:
        place = scene.state.person(role).place if role in scene.setting.roles else ""
        if place in orders and scene.act.to in orders and orders[scene.act.to] < orders[place]:
            yield Breach(
                BACKWARDS.name,
                f"`{role}` goes back from `{place}` to the dirtier `{scene.act.to}`",
                (role,),
                Change("remove", scene.step.id, at=scene.at),
                root=(role, scene.step.id),
            )


def place_of_step(beginning: Beginning) -> Iterator[Breach]:
    """A step in another place than where its actor is, and nothing tells them to move."""
    setting, step = beginning.setting, beginning.step
    person = beginning.state.person(step.actor)
    if not step.place or not person.place or step.place == person.place or step.place not in setting.orders:
        return
    if setting.orders[step.place] < setting.orders.get(person.place, 0):
        yield Breach(
            BACKWARDS.name,
            f"this step happens in `{step.place}`, but `{person.role}` is already in the cleaner `{person.place}`",
            (person.role,),
            hint=f"move the step to where `{person.role}` is still in `{step.place}`, or correct its place",
            root=(person.role, step.place),
        )
    elif person.role == setting.wearer and not tells_move(step, person.role, step.place):
        act = like(setting, Act("move", (person.role,), person.role, to=step.place))
        yield Breach(
            NOT_TOLD.name,
            f"this step happens in `{step.place}`, but nothing tells `{person.role}` to leave `{person.place}`",
            (person.role, step.place),
            Change("insert-act", step.id, act, 0),
            root=(person.role, step.place),
        )


def _used(act: Act) -> tuple[str, ...]:
    """Supplies an act needs. What it picks up or hands over is brought along, and counts when it is a supply."""
    things = [*act.using, act.into, act.on]
    if act.verb in ("sit", "clean", "apply"):
        things += act.targets
    return tuple(dict.fromkeys(t for t in things if t))


def supply_not_listed(setting: Setting) -> Iterator[tuple[Breach, str, int, int]]:
    """Names that stand for no supply and no item."""
    for step in setting.steps.values():
        uses = [(-1, name) for name in step.uses]
        uses += [(at, name) for at, act in enumerate(step.acts) for name in _used(act)]
        for at, name in uses:
            if name not in setting.supplies and name not in setting.items:
                breach = Breach(
                    NOT_LISTED.name,
                    f"`{name}` is used here but is not in the list of supplies",
                    (name,),
                    hint="add it under `supplies:`, or correct the name",
                    root=(name,),
                )
                yield breach, step.id, at, setting.options.mask(step.when)


def no_seat(setting: Setting) -> Iterator[tuple[Breach, str, int, int]]:
    """Sitting on something that is no seat."""
    for step, at, act in setting.acts():
        for name in act.targets if act.verb == "sit" else ():
            supply = setting.supplies.get(name)
            if name in setting.items or (supply and supply.kind != "seat"):
                breach = Breach(
                    NOT_LISTED.name,
                    f"`{name}` is sat on here but is no seat",
                    (name, "seat"),
                    hint="name a supply of `kind: seat`",
                )
                yield breach, step.id, at, setting.options.mask(step.when)


def supply_at_hand(scene: Scene) -> Iterator[Breach]:
    """A supply of an act that is in another place."""
    for name in _used(scene.act):
        yield from _at_hand(scene.setting, scene.state, scene.step, name, scene.doer.place)


def step_supply_at_hand(beginning: Beginning) -> Iterator[Breach]:
    """A supply of a step that is in another place."""
    step = beginning.step
    for name in step.uses:
        place = step.place or beginning.state.person(step.actor).place
        yield from _at_hand(beginning.setting, beginning.state, step, name, place)


def _at_hand(setting: Setting, state: State, step: Step, name: str, place: str) -> Iterator[Breach]:
    supply = setting.supplies.get(name)
    place = place or step.place
    if supply and supply.at and place and place not in supply.at:
        yield Breach(
            NOT_AT_HAND.name,
            f"`{name}` is used here in `{place}`, but is at hand only in {', '.join(f'`{p}`' for p in supply.at)}",
            (name,),
            hint=f"add `{place}` to `at:` of this supply, or use another",
            root=(name, place),
        )


def no_container(end: End) -> Iterator[Breach]:
    """What is still in somebody's hand at the end."""
    yield from _loose(end.setting, end.state, end.step.id, len(end.step.acts))


def carried_along(scene: Scene) -> Iterator[Breach]:
    """What is still in somebody's hand when the wearer moves on."""
    if scene.setting.wearer in scene.targets:
        yield from _loose(scene.setting, scene.state, scene.step.id, scene.at)


def _loose(setting: Setting, state: State, step: str, at: int) -> Iterator[Breach]:
    """Items in the hand before act `at` of a step. They are best discarded right after they came off."""
    row = [s.id for s in setting.row(step)]
    for item in sorted(name for name, _ in state.loose):
        off = [s for s in _came_to_hand(setting, item) if s in row and row.index(s) < row.index(step)]
        act = like(setting, Act("discard", (item,), setting.wearer))
        act = replace(act, into=act.into or _container(setting))
        fix = after(act, off[-1]) if off else before(act, step, at)
        yield Breach(
            CONTAINER.name,
            f"nothing says where `{item}` {agree(item, 'goes', 'go')}",
            (item,),
            fix if act.into else None,
            hint="add a `discard` of it `into:` a container",
            because=("off", item),
            root=(item,),
        )


def _came_to_hand(setting: Setting, thing: str) -> list[str]:
    """Steps that take an item off or use a supply up."""
    return [
        s.id
        for s, _, a in setting.acts()
        if (a.verb in ("remove", "collect") and thing in a.targets) or thing in a.using
    ]


def _container(setting: Setting) -> str:
    return next((s.id for s in setting.supplies.values() if s.kind == "container"), "")


def discard_into(setting: Setting) -> Iterator[tuple[Breach, str, int, int]]:
    """A discard into nothing, or into something that holds nothing."""
    for step, at, act in setting.acts():
        into = setting.supplies.get(act.into)
        if act.verb == "discard" and not act.into:
            say, hint = "something is discarded here, and nothing says into what", "add `into:` with a container"
            container = _container(setting)
            fix = Change("replace", step.id, replace(act, into=container), at) if container else None
        elif act.into and into and into.kind != "container":
            say, hint = f"`{act.into}` is not a container", "name a supply of `kind: container`"
            fix = None
        else:
            continue
        yield Breach(CONTAINER.name, say, act.targets, fix, hint=hint), step.id, at, setting.options.mask(step.when)


def seat_soiled(scene: Scene) -> Iterator[Breach]:
    """Soiled wear on a clean seat; bare clothing on a dirty one."""
    setting, state = scene.setting, scene.state
    if not scene.by_wearer:
        return
    leaving = {t for a in scene.step.acts for t in a.targets if a.verb == "remove"}
    for name in scene.targets:
        seat = setting.supplies.get(name)
        if seat is None or seat.clean is None:
            continue
        outer = [i for i in sorted(state.worn) if setting.kind_of(i) in GARMENTS | FEET | {"apron"}]
        soiled = [i for i in outer if (i, "outside") in state.soiled and i not in leaving]
        for worn in soiled if seat.clean else ():
            yield Breach(
                SEAT.name,
                f"`{name}` is marked clean, but {is_(worn)} still worn here",
                (name, worn),
                hint=f"use a seat for soiled wear, or take `{worn}` off first",
                root=(name, scene.step.id),
                within=setting.present[worn],
            )
        if not seat.clean and "removal" in state.done:
            yield Breach(
                SEAT.name,
                f"`{name}` is used here but is not clean, and no gown or coverall is worn any more",
                (name,),
                hint="use a seat marked clean",
                within=~setting.any_of(i for i in outer if setting.kind_of(i) in GARMENTS),
            )


CHECKS = (
    Check((BACKWARDS,), act=back_to_dirtier_place, verbs=frozenset({"move"})),
    Check((NOT_TOLD, BACKWARDS), step=place_of_step),
    Check((NOT_LISTED,), whole=supply_not_listed),
    Check((NOT_LISTED,), whole=no_seat),
    Check((NOT_AT_HAND,), act=supply_at_hand),
    Check((NOT_AT_HAND,), step=step_supply_at_hand),
    Check((CONTAINER,), act=carried_along, verbs=frozenset({"move"})),
    Check((CONTAINER,), end=no_container),
    Check((CONTAINER,), whole=discard_into),
    Check((SEAT,), act=seat_soiled, verbs=frozenset({"sit"}), kinds=REMOVING),
)
