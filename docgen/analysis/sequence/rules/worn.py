"""Rules about what is worn: nothing is forgotten, nothing comes off twice, and nothing is done to what is not there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from docgen.analysis.sequence.rules.base import (
    ALWAYS_ERROR,
    CDC_SEQUENCE,
    CDC_VHF,
    NO_SOURCE,
    REMOVING,
    WHO_COVERALL,
    Breach,
    Check,
    End,
    Scene,
    agree,
    comes,
    is_,
)
from docgen.analysis.sequence.setting import GARMENTS, HANDS, Setting
from docgen.analysis.sequence.state import BARE
from docgen.analysis.sequence.suggest import Change, after, before, like
from docgen.model.edition import Act
from docgen.model.moment import Rule

NOT_WORN = Rule(
    "sequence/removed-but-not-worn",
    "Nothing is taken off that is not worn at that moment, and nothing comes off twice.",
    "A step nobody can do makes people improvise; it also means that two versions of a protocol were mixed.",
    "logic; the published removal sequences take each item off once",
    "A glove change makes a new pair, which must come off in its turn.",
    ALWAYS_ERROR,
    waivable=False,
    example="`gown` comes off here but is not worn → delete: remove `gown` in step 12 `gown-off`",
)
NO_TARGET = Rule(
    "sequence/act-on-item-not-worn",
    "Only what is worn is sanitized, opened, touched or inspected; only what is off is put on or discarded.",
    "A leftover of another version hides that the right item is not treated.",
    "logic",
    "An item that is off but not discarded yet may still be cleaned or inspected.",
    ALWAYS_ERROR,
    example="`outer-gloves` are sanitized here but came off at step 9 → write sanitize `inner-gloves` instead",
)
LEFT_ON = Rule(
    "sequence/item-left-on",
    "Every item that was worn or put on is off at the end, unless it is marked `kept`.",
    "A forgotten item is carried into the clean area, or is taken off there without any guidance.",
    f"{CDC_SEQUENCE}; {WHO_COVERALL}: both end with nothing on",
    "Extended use of a respirator or eye protection, scrubs and washable shoes: mark the item `kept`.",
    ALWAYS_ERROR,
    example="`new-gloves` are still worn at the end → add: remove `new-gloves` between step 24 and step 25",
)
KEPT = Rule(
    "sequence/kept-item-not-checked",
    "Shoes that stay on are cleaned, and clothing that stays on is inspected, before the sequence ends.",
    "What stays on leaves with the person; dirt on it leaves too.",
    f"{CDC_VHF}, last inspection of scrubs; {WHO_COVERALL}, step 13: boots come off or are cleaned",
    "",
    ALWAYS_ERROR,
    example="`scrubs` stay on but nobody inspects them → add: inspect `clothing` after step 26",
)
ZIP = Rule(
    "sequence/fastening-out-of-order",
    "A coverall is unzipped before it comes off; the flap over the zip is opened before the zip.",
    "A closed zip stops the removal half-way, with hands and face over the soiled front.",
    f"{CDC_VHF}, powered respirator and coverall, removal page 12: flap, hygiene, zip",
    "",
    ALWAYS_ERROR,
    example="`coverall` comes off here but its zip was never opened → add: open `coverall` (zip) before step 14",
)
CONTACT = Rule(
    "sequence/contact-side-missing",
    "Taking off a gown or coverall says which side the hands meet.",
    "Published guidance differs here: inside with bare hands, or outside with gloves. A reader must not have to guess.",
    f"{CDC_SEQUENCE}: inside only; {CDC_VHF}, powered respirator and gown, removal page 11: avoid the inside",
    "",
    (("standard", "warning"), ("enhanced", "warning")),
    example="`gown` comes off here without `touching` → add `touching: inside` or `touching: outside` to this act",
)
COMBINED = Rule(
    "sequence/items-not-combined",
    "Several items come off in one step only as one movement, declared `combined: true`.",
    "Two removals in one step hide the hygiene between them.",
    NO_SOURCE,
    f"Gown with gloves ({CDC_SEQUENCE}, example 2), coverall with outer gloves ({WHO_COVERALL}, step 7).",
    ALWAYS_ERROR,
    example="`hood` and `face-shield` come off in one act → set `combined: true`, or give each its own step",
)


def removed_but_not_worn(scene: Scene) -> Iterator[Breach]:
    """`remove` and `change-gloves` of something that is not on."""
    for target in scene.targets:
        if scene.act.verb == "change-gloves":
            absent = scene.by_wearer and target not in HANDS and target not in scene.state.worn
        else:
            absent = target not in scene.state.worn
        if absent:
            yield Breach(
                NOT_WORN.name,
                f"{comes(target)} off here but {agree(target, 'is', 'are')} not worn",
                (target,),
                _without(scene, target),
                because=("off", target),
            )


def act_on_item_not_worn(scene: Scene) -> Iterator[Breach]:
    """Acts whose target cannot be met in this state."""
    state, act, setting = scene.state, scene.act, scene.setting
    loose = {item for item, _ in state.loose}
    for target in scene.targets:
        item = target in setting.items
        if act.verb in ("rub-hands", "wash") and target in HANDS:
            if scene.doer.hand != BARE:
                yield _wrong(scene, target, f"bare hands are cleaned here, but {is_(scene.doer.hand)} worn")
        elif not item:
            continue
        elif act.verb == "put-on":
            if target in scene.absent:
                yield _wrong(scene, target, f"{is_(target)} put on here but not part of this ensemble")
            elif target in state.worn:
                yield _wrong(scene, target, f"{is_(target)} put on here but worn already")
        elif act.verb == "discard":
            if target not in loose and not _removed_in_this_step(scene, target):
                why = "still worn" if target in state.worn else "not in the hand"
                yield _wrong(scene, target, f"{is_(target)} discarded here but {why}")
        elif setting.gloves(target) and act.verb in ("sanitize", "wash"):
            if scene.by_wearer and target not in state.worn:
                yield _wrong(scene, target, f"{is_(target)} sanitized here but not worn")
        elif target in state.worn or _before_putting_on(scene):
            continue
        elif target not in loose or act.verb in ("open", "touch"):
            yield _wrong(scene, target, f"{is_(target)} not worn here, yet the act is `{act.verb}`")


def _removed_in_this_step(scene: Scene, target: str) -> bool:
    """The removal just before was the fault already told."""
    return any(a.verb == "remove" and target in a.targets for a in scene.step.acts[: scene.at])


def _before_putting_on(scene: Scene) -> bool:
    """Equipment is looked at and tried in the hand before it is put on."""
    return scene.setting.kind == "putting-on" and scene.act.verb in ("inspect", "touch", "sanitize")


def _wrong(scene: Scene, target: str, message: str) -> Breach:
    act, hand = scene.act, scene.doer.hand
    fix = _without(scene, target)
    if scene.by_wearer and act.verb in ("sanitize", "rub-hands", "wash") and scene.setting.own_hands(act, target):
        right = Act("rub-hands", (BARE,), act.by) if hand == BARE else Act("sanitize", (hand,), act.by)
        fix = Change("replace", scene.step.id, like(scene.setting, right), scene.at)
    return Breach(NO_TARGET.name, message, (target,), fix, because=("off", target), root=(target,))


def _without(scene: Scene, target: str) -> Change:
    rest = tuple(t for t in scene.act.targets if t != target and t in scene.state.worn)
    if rest:
        return Change("replace", scene.step.id, replace(scene.act, targets=rest), scene.at)
    return Change("remove", scene.step.id, at=scene.at)


def item_left_on(end: End) -> Iterator[Breach]:
    """Items still worn when the main path ends."""
    if end.branch:
        return
    setting = end.setting
    for item in sorted(end.state.worn):
        if not setting.items[item].kept:
            act = like(setting, Act("remove", (item,), setting.wearer))
            yield Breach(
                LEFT_ON.name,
                f"{is_(item)} still worn at the end",
                (item,),
                before(act, _last_hygiene(setting) or end.step.id, 0),
                because=("on", item),
                root=(item,),
                within=setting.present[item],
            )


def _last_hygiene(setting: Setting) -> str:
    """The last step of the main path that cleans bare hands."""
    steps = [*setting.find("rub-hands", BARE), *setting.find("wash", BARE)]
    return max(steps, key=setting.index.__getitem__, default="")


def _stays(name: str) -> str:
    return f"`{name}` {agree(name, 'stays', 'stay')}"


def kept_item_not_checked(end: End) -> Iterator[Breach]:
    """Kept footwear still dirty, kept clothing never looked at."""
    if end.branch:
        return
    setting, state = end.setting, end.state
    for name in sorted(i for i in state.worn if setting.items[i].kept):
        if setting.kind_of(name) == "footwear":
            if (name, "outside") not in state.soiled:
                continue
            act = like(setting, Act("sanitize", (name,), setting.wearer))
            gloves_off = [s.id for s in setting.edition.steps if any(_bares(setting, a) for a in s.acts)]
            fix = before(act, _before_hygiene(setting, gloves_off[-1]) if gloves_off else end.step.id, 0)
            say = f"{_stays(name)} on but {agree(name, 'is', 'are')} never cleaned"
        elif f"checked:{name}" not in state.done:
            target = "clothing" if setting.kind_of(name) == "clothing" else name
            fix = after(Act("inspect", (target,), setting.wearer), end.step.id)
            say = f"{_stays(name)} on, and nobody inspects {agree(name, 'it', 'them')}"
        else:
            continue
        yield Breach(KEPT.name, say, (name,), fix, root=(name,), within=setting.present[name])


def _before_hygiene(setting: Setting, step: str) -> str:
    """The step before this one, when it does nothing but clean hands or gloves; else this one."""
    earlier = setting.edition.steps[: setting.index[step]][-1:]
    clean = [s for s in earlier if s.acts and all(a.verb in ("sanitize", "rub-hands") for a in s.acts)]
    return clean[0].id if clean else step


def _bares(setting: Setting, act: Act) -> bool:
    return act.verb == "remove" and any(setting.gloves(t) for t in act.targets)


def fastening_out_of_order(scene: Scene) -> Iterator[Breach]:
    """A coverall off with its zip closed; a flap after the zip."""
    for target in scene.targets:
        if scene.setting.kind_of(target) != "coverall" or target not in scene.state.worn:
            continue
        is_open = (target, "zip") in scene.state.opened
        if scene.act.verb == "touch" and not scene.by_wearer and not is_open:
            yield Breach(
                ZIP.name,
                f"`{scene.act.by}` pulls at `{target}` here, and its zip is still closed",
                (target,),
                hint="open the zip before",
            )
        if scene.act.verb == "remove" and not is_open:
            act = like(scene.setting, Act("open", (target,), scene.act.by, touching="fastening", fastening="zip"))
            yield Breach(
                ZIP.name,
                f"{comes(target)} off here but its zip was never opened",
                (target,),
                before(act, scene.step.id, scene.at),
            )
        if scene.act.verb == "open" and scene.act.fastening == "flap" and is_open:
            opened = [s for s in scene.setting.edition.steps if any(_opens(a, target, "zip") for a in s.acts)]
            same = not opened or opened[0].id == scene.step.id
            fix = None if same else Change("move", scene.step.id, neighbour=opened[0].id)
            yield Breach(
                ZIP.name,
                f"the flap of `{target}` is opened here, after the zip under it",
                (target, "flap"),
                fix,
                hint="open the flap first, then the zip" if same else "",
                because=("open", target, "zip"),
            )


def _opens(act: Act, target: str, fastening: str) -> bool:
    return act.verb == "open" and target in act.targets and act.fastening == fastening


def contact_side_missing(scene: Scene) -> Iterator[Breach]:
    """A gown or coverall comes off, and nothing says by which side."""
    for target in scene.targets:
        if scene.setting.kind_of(target) in GARMENTS and target in scene.state.worn and not scene.act.touching:
            yield Breach(
                CONTACT.name,
                f"{comes(target)} off here, and nothing says which side the hands meet",
                (target,),
                hint="add `touching: inside` or `touching: outside` to this act",
            )


def items_not_combined(scene: Scene) -> Iterator[Breach]:
    """Several items in one act without `combined`, or several removals in one step."""
    worn = [t for t in scene.targets if t in scene.state.worn]
    names = " and ".join(f"`{t}`" for t in worn)
    if len(worn) > 1 and not scene.act.combined:
        yield Breach(
            COMBINED.name,
            f"{names} come off in one act that is not declared as one movement",
            tuple(worn),
            hint="set `combined: true` if they come off as one movement, otherwise give each its own step",
        )
    earlier = [a for a in scene.step.acts[: scene.at] if a.verb == "remove" and a.targets != scene.act.targets]
    if earlier and worn:
        first = earlier[-1].targets[0]
        yield Breach(
            COMBINED.name,
            f"{names} {agree(names.rstrip('`'), 'comes', 'come')} off here in the same step as `{first}`",
            tuple(worn),
            hint="give each removal its own step, with hand or glove hygiene between them",
        )


CHECKS = (
    Check((NOT_WORN,), act=removed_but_not_worn, verbs=frozenset({"remove", "change-gloves"})),
    Check(
        (NO_TARGET,),
        act=act_on_item_not_worn,
        verbs=frozenset({"sanitize", "wash", "rub-hands", "open", "touch", "inspect", "put-on", "discard"}),
    ),
    Check((LEFT_ON,), end=item_left_on, kinds=REMOVING),
    Check((KEPT,), end=kept_item_not_checked, kinds=REMOVING),
    Check((ZIP,), act=fastening_out_of_order, verbs=frozenset({"remove", "open", "touch"})),
    Check((CONTACT,), act=contact_side_missing, verbs=frozenset({"remove"})),
    Check((COMBINED,), act=items_not_combined, verbs=frozenset({"remove"})),
)
