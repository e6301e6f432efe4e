"""Rules about the order in which items come off: what lies over another thing goes first."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from docgen.analysis.sequence.acts import side_met
from docgen.analysis.sequence.rules.base import (
    ALWAYS_ERROR,
    CDC_SEQUENCE,
    CDC_VHF,
    MEMORY,
    REMOVING,
    STRICTER,
    WHO_COVERALL,
    Breach,
    Check,
    Scene,
    comes,
    is_,
)
from docgen.analysis.sequence.setting import EYES, FEET, GARMENTS, HEAD, RESPIRATORS, Setting
from docgen.analysis.sequence.state import BARE
from docgen.analysis.sequence.suggest import Change, before, like
from docgen.model.edition import Act
from docgen.model.moment import Rule

COVERED = Rule(
    "sequence/covered-item-first",
    "An item comes off only when nothing lies over it, or together with what lies over it.",
    "Whatever is pulled out from under another item drags the soiled outside along.",
    f"{CDC_SEQUENCE}; {CDC_VHF}; {WHO_COVERALL}: every published order takes the covering item first",
    "Removals declared as one movement. The order need not be the reverse of putting on.",
    ALWAYS_ERROR,
    example="`boots` come off here under `boot-covers` → move step 9 `boot-covers-off` to before step 7 `boots-off`",
)
APRON = Rule(
    "sequence/garment-before-apron",
    "The apron comes off before the gown or coverall under it.",
    "The apron carries most of the soil; the gown cannot come off clean from under it.",
    f"{CDC_VHF}, N95 and gown {MEMORY}; {WHO_COVERALL}, step 3",
    "Ensembles without an apron.",
    ALWAYS_ERROR,
    example="`gown` comes off here while `apron` is still worn → move step 14 `apron-off` to before step 12 `gown-off`",
)
OUTER_GLOVES = Rule(
    "sequence/outer-gloves-late",
    "Outer gloves come off before the inner gloves, and before or together with the garment whose cuffs they overlap.",
    "The outer pair is the dirtiest item; over a cuff it ties glove and sleeve together.",
    f"{CDC_VHF} {MEMORY}; {WHO_COVERALL}, step 7",
    "Gloves and garment as one movement. Single gloves that overlap no cuff.",
    ALWAYS_ERROR,
    example="`inner-gloves` come off here while `outer-gloves` are still worn → move step 9 to before step 7",
)
INNER_GLOVES = Rule(
    "sequence/inner-gloves-early",
    "Where two pairs of gloves are worn, a pair is still on when the gown or coverall comes off.",
    "The inner pair is there for exactly this: the hands work along the garment with something over the skin.",
    f"{CDC_VHF} {MEMORY}; {WHO_COVERALL}, step 7",
    f"Single-glove sequences ({CDC_SEQUENCE}, example 1): bare hands touch the inside of the gown only.",
    ALWAYS_ERROR,
    example="`coverall` comes off here with bare hands → move step 11 `inner-gloves-off` to after step 15",
)
EYES_FIRST = Rule(
    "sequence/respirator-before-eye-protection",
    "Goggles or face shield come off before the respirator or mask.",
    "The respirator protects while hands and soiled items are near the face, so it goes last.",
    f"{CDC_SEQUENCE}, examples 1 and 2; CDC, Using PPE (2020); {WHO_COVERALL}, steps 9 and 11; {CDC_VHF}",
    "A powered hood with its own visor is one item.",
    ALWAYS_ERROR,
    example="`respirator` comes off here while `goggles` are still worn → move step 12 `goggles-off` to before step 10",
)
LAST_ON_FACE = Rule(
    "sequence/respirator-not-last-on-face",
    "The respirator or mask is the last thing to leave the head.",
    "Pulling a hood off over an uncovered face brings its soiled outside to nose and mouth.",
    f"{CDC_SEQUENCE}; {CDC_VHF}, N95 and gown {MEMORY}",
    "A powered hood is its own respirator.",
    ALWAYS_ERROR,
    example="`respirator` comes off here while `hood` is still worn → move step 12 `hood-off` to before step 10",
)
IN_ROOM = Rule(
    "sequence/respirator-off-in-room",
    "The respirator comes off after leaving the patient room, not in the dirtiest place of the protocol.",
    "The air of the room is what the respirator is worn against.",
    f"{CDC_SEQUENCE} {MEMORY}",
    "A surgical mask without airborne precautions; the dedicated removal area of enhanced isolation.",
    (("standard", "error"), ("enhanced", "off")),
    example="`respirator` comes off in `patient-room` → add: move `wearer` to `anteroom` between step 5 and step 6",
)
AFTER_GARMENT = Rule(
    "sequence/respirator-before-garment",
    "The tight respirator or mask comes off after the gown or coverall.",
    "Pulling a soiled garment off stirs up what is on it; the airways stay covered until it is gone.",
    f"{CDC_SEQUENCE}, examples 1 and 2; {CDC_VHF}, N95 and gown {MEMORY}; {WHO_COVERALL}",
    f"A powered hood comes off before the gown ({CDC_VHF}, powered respirator and gown, removal pages 09 and 11).",
    STRICTER,
    example="`respirator` comes off here while `gown` is still worn → move step 14 `gown-off` to before step 12",
)
STRAPS = Rule(
    "sequence/upper-strap-first",
    "The lower strap or tie of a respirator or mask is opened before the upper one, and both before it comes off.",
    "With the upper strap gone first, the respirator falls forward and its front swings onto neck and chest.",
    f"{CDC_SEQUENCE}; {WHO_COVERALL}, step 11",
    "Ear loops, a single strap, powered hoods.",
    STRICTER,
    example="the upper strap of `respirator` is opened before the lower → add: open `respirator` (lower-strap)",
)
FRONT = Rule(
    "sequence/front-of-face-item-touched",
    "The front of respirator, mask, goggles and face shield is never touched; hands take them from behind.",
    "The front is the most contaminated part of what is worn on the face.",
    f"{CDC_SEQUENCE}; {WHO_COVERALL}, steps 9 and 11",
    "",
    STRICTER,
    example="`respirator` is taken by its front here → write `touching: rear-strap` in this act",
)


def rule_for(setting: Setting, over: str, target: str, declared: bool) -> str:
    """The rule broken when `target` comes off while `over` is still worn; empty when none is."""
    a, b = setting.items[over], setting.items[target]
    if a.kind == "apron" and b.kind in GARMENTS:
        return APRON.name
    if a.kind == "gloves" and (b.kind == "gloves" or b.kind in GARMENTS):
        if declared or (a.layer == "outer" and (b.kind in GARMENTS or b.layer == "inner")):
            return OUTER_GLOVES.name
        return ""
    if b.kind in RESPIRATORS and a.kind in EYES:
        return EYES_FIRST.name
    if b.kind in RESPIRATORS and a.kind in HEAD:
        return LAST_ON_FACE.name
    if declared:
        return COVERED.name
    if b.kind in RESPIRATORS and a.kind in GARMENTS:
        return AFTER_GARMENT.name
    return ""


def off_in_order(scene: Scene) -> Iterator[Breach]:
    """What is still worn that should have come off before, or with, the targets of a removal."""
    setting = scene.setting
    for target in scene.targets:
        if target not in scene.state.worn:
            continue
        for over in sorted(scene.state.worn - set(scene.targets)):
            rule = rule_for(setting, over, target, over in setting.over.get(target, ()))
            if rule:
                yield Breach(
                    rule,
                    f"{comes(target)} off here while {is_(over)} still worn",
                    (target, over),
                    _first(scene, over),
                    because=("later", over),
                    root=(target, over),
                    within=setting.present[over],
                )


def _first(scene: Scene, over: str) -> Change:
    """Take `over` off before this step: by moving its removal here, or by a new one."""
    setting = scene.setting
    later = [s for s in setting.find("remove", over) if setting.index[s] > setting.index.get(scene.step.id, 10**6)]
    if later and scene.step.id in setting.index:
        return Change("move", later[0], neighbour=scene.step.id)
    return before(like(setting, Act("remove", (over,), setting.wearer)), scene.step.id, 0)


def handled_under_cover(scene: Scene) -> Iterator[Breach]:
    """Sanitizing, changing or opening what lies under something else."""
    setting, state = scene.setting, scene.state
    for target in scene.targets:
        if target not in state.worn or (setting.gloves(target) and not scene.by_wearer):
            continue
        if setting.gloves(target):
            above = [scene.doer.hand] if scene.doer.hand != target else []
        else:
            above = [o for o in setting.over.get(target, ()) if o in state.worn and _hides(setting, scene.act, o)]
        for over in above:
            fix = None
            if setting.gloves(target) and scene.act.verb == "sanitize":
                right = like(setting, Act("sanitize", (over,), scene.act.by))
                fix = Change("replace", scene.step.id, right, scene.at)
            yield Breach(
                COVERED.name,
                f"`{target}` cannot be reached here: {is_(over)} worn over it",
                (target, over),
                fix,
                hint=f"take `{over}` off before, or name what is outermost",
                root=(target, over, "reach"),
                within=setting.present[over],
            )


def _hides(setting: Setting, act: Act, over: str) -> bool:
    """Whether `over` is in the way of this act: cuffs and boot covers do not hide the fastenings of a garment."""
    kind = setting.kind_of(over)
    if act.verb == "open":
        return kind not in FEET and kind != "gloves"
    return kind != "gloves"


def off_in_room(scene: Scene) -> Iterator[Breach]:
    """A respirator off in the dirtiest of several places."""
    setting, place = scene.setting, scene.state.wearer.place
    orders = setting.orders
    if len(set(orders.values())) < 2 or orders.get(place) != min(orders.values()):
        return
    for target in scene.targets:
        if setting.kind_of(target) == "respirator" and target in scene.state.worn:
            cleaner = min((p for p in orders if orders[p] > orders[place]), key=orders.__getitem__)
            act = like(setting, Act("move", (setting.wearer,), setting.wearer, to=cleaner))
            yield Breach(
                IN_ROOM.name,
                f"{comes(target)} off here in `{place}`, the dirtiest place of this protocol",
                (target,),
                None if scene.step.place == place else before(act, scene.step.id, scene.at),
                hint=f"let the wearer leave first, and give this step `place: {cleaner}`",
            )


def straps_in_order(scene: Scene) -> Iterator[Breach]:
    """Upper strap before lower, or a strap left closed."""
    setting, act, opened = scene.setting, scene.act, scene.state.opened
    for target in scene.targets:
        if setting.kind_of(target) not in RESPIRATORS or target not in scene.state.worn:
            continue
        lower, upper = (target, "lower-strap") in opened, (target, "upper-strap") in opened
        if act.verb == "open" and act.fastening == "upper-strap" and not lower:
            yield Breach(
                STRAPS.name,
                f"the upper strap of `{target}` is opened here while the lower strap is still closed",
                (target, "upper-strap"),
                before(_strap(scene, target, "lower-strap"), scene.step.id, scene.at),
            )
        if act.verb == "remove" and lower and not upper:
            yield Breach(
                STRAPS.name,
                f"{comes(target)} off here with its upper strap still closed",
                (target, "upper-strap"),
                before(_strap(scene, target, "upper-strap"), scene.step.id, scene.at),
            )


def _strap(scene: Scene, target: str, strap: str) -> Act:
    return Act("open", (target,), scene.act.by, touching="rear-strap", fastening=strap)


def front_touched(scene: Scene) -> Iterator[Breach]:
    """Hands on the front of a face item."""
    for target in scene.targets:
        kind = scene.setting.kind_of(target)
        if kind in EYES | RESPIRATORS and target in scene.state.worn:
            if side_met(scene.setting, scene.doer, scene.act, target) != "outside":
                continue
            right = replace(scene.act, touching="rear-strap")
            yield Breach(
                FRONT.name,
                f"{is_(target)} taken by the front here",
                (target,),
                Change("replace", scene.step.id, right, scene.at),
                hint="write `touching: rear-strap` in this act",
            )


def inner_gloves_early(scene: Scene) -> Iterator[Breach]:
    """A garment off with bare hands although inner gloves were worn."""
    setting, state = scene.setting, scene.state
    inner = [i.id for i in setting.edition.items if i.kind == "gloves" and i.layer == "inner" and i.worn]
    if state.wearer.hand != BARE or not inner or not scene.by_wearer or "inner-gloves-off" not in state.done:
        return
    for target in scene.targets:
        if setting.kind_of(target) in GARMENTS and target in state.worn:
            here = setting.index.get(scene.step.id, -1)
            earlier = [s for s in setting.find("remove", inner[0]) if setting.index[s] < here]
            fix = Change("move", earlier[-1], neighbour=scene.step.id, after=True) if earlier else None
            yield Breach(
                INNER_GLOVES.name,
                f"{comes(target)} off here with bare hands: `{inner[0]}` came off before",
                (target, inner[0]),
                fix,
                hint=f"keep `{inner[0]}` on, or put a new pair on, until `{target}` is off",
                because=("off", inner[0]),
            )


CHECKS = (
    Check(
        (COVERED, APRON, OUTER_GLOVES, EYES_FIRST, LAST_ON_FACE, AFTER_GARMENT),
        act=off_in_order,
        verbs=frozenset({"remove"}),
        kinds=REMOVING | {"procedure"},
    ),
    Check((COVERED,), act=handled_under_cover, verbs=frozenset({"sanitize", "change-gloves", "open", "wash"})),
    Check((IN_ROOM,), act=off_in_room, verbs=frozenset({"remove"}), kinds=REMOVING),
    Check((STRAPS,), act=straps_in_order, verbs=frozenset({"open", "remove"})),
    Check((FRONT,), act=front_touched, verbs=frozenset({"open", "remove", "touch"}), kinds=REMOVING),
    Check((INNER_GLOVES,), act=inner_gloves_early, verbs=frozenset({"remove"}), kinds=REMOVING),
)
