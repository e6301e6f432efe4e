"""Rules for putting on: clean hands, sound equipment, inside before outside, and a last look from outside."""

from __future__ import annotations

from collections.abc import Iterator

from docgen.analysis.sequence.rules.base import (
    ALWAYS_ERROR,
    CDC_SEQUENCE,
    CDC_VHF,
    ENHANCED,
    MEMORY,
    PUTTING_ON,
    STRICTER,
    Breach,
    Check,
    End,
    Scene,
    goes,
    hygiene,
    is_,
)
from docgen.analysis.sequence.setting import CLOTHING, EYES, GARMENTS, RESPIRATORS, Setting
from docgen.analysis.sequence.state import BARE, CLEAN
from docgen.analysis.sequence.suggest import Change, after, before, like
from docgen.model.edition import Act
from docgen.model.moment import Rule

COMPLETE = Rule(
    "sequence/item-not-put-on",
    "Every item of the ensemble is on at the end.",
    "A gap is not felt by the one who has it.",
    f"{CDC_SEQUENCE}; {CDC_VHF}, N95 and coverall, putting on page 02",
    "An item marked `worn: false` is not put on by this protocol.",
    ALWAYS_ERROR,
    example="`goggles` are not on at the end → add: put on `goggles` between step 7 and step 8",
)
UNDER = Rule(
    "sequence/put-on-over-its-cover",
    "What lies under another item goes on before it.",
    "It cannot be put under what is on already; what should cover it ends up beneath.",
    f"{CDC_SEQUENCE}: gown, then respirator, then eye protection, then gloves over the cuffs",
    "",
    ALWAYS_ERROR,
    example="`gown` goes on here after `outer-gloves`, which cover it → move step 6 `gown-on` to before step 4",
)
RESPIRATOR_FIRST = Rule(
    "sequence/eye-protection-before-respirator",
    "The respirator or mask goes on before goggles or face shield.",
    "Straps and seal cannot be fitted under eye protection.",
    f"{CDC_SEQUENCE}; CDC, Using PPE (2020)",
    "",
    ALWAYS_ERROR,
    example="`respirator` goes on here over `goggles` → move step 5 `respirator-on` to before step 4 `goggles-on`",
)
CUFFS = Rule(
    "sequence/gloves-before-garment",
    "Outer or single gloves go on after the gown or coverall, over its cuffs.",
    "A cuff over a glove lets fluid run in.",
    f"{CDC_SEQUENCE}",
    "Inner gloves of a double pair.",
    ALWAYS_ERROR,
    example="`gown` goes on here after `gloves` → move step 4 `gloves-on` to after step 5 `gown-on`",
)
WASHED = Rule(
    "sequence/put-on-with-unclean-hands",
    "Hands are cleaned before the first item is put on.",
    "What goes on with dirty hands is dirty inside.",
    "CDC, Using PPE (2020): hand hygiene, gown, respirator, eye protection, gloves",
    "",
    STRICTER,
    example="`gown` goes on here before the hands were cleaned → add: rub hands: `bare` before step 2",
)
SOUND = Rule(
    "sequence/equipment-not-inspected",
    "The equipment is inspected before the first item is put on.",
    "A tear or a flat battery found inside the room cannot be mended there.",
    f"{CDC_VHF}, N95 and coverall, putting on page 02",
    "General precautions know no observer.",
    ENHANCED,
    example="`gown` goes on here before anybody inspected the equipment → add: inspect `supplies` before step 2",
)
LAST_LOOK = Rule(
    "sequence/no-last-look",
    "After the last item somebody else sees that no skin or hair is exposed.",
    "Nobody sees their own neck.",
    f"{CDC_VHF}, N95 and coverall, putting on page 02 {MEMORY}",
    "",
    STRICTER,
    example="nobody but the wearer looks for exposed skin at the end → add: inspect `skin` by `observer` after step 14",
)


def item_not_put_on(end: End) -> Iterator[Breach]:
    """Items of the ensemble that are not on."""
    if end.branch:
        return
    setting = end.setting
    for item in setting.edition.items:
        if item.worn and item.id not in end.state.worn:
            act = like(setting, Act("put-on", (item.id,), setting.wearer))
            steps = [s.id for s in setting.edition.steps if any(a.verb == "put-on" for a in s.acts)]
            yield Breach(
                COMPLETE.name,
                f"{is_(item.id)} not on at the end",
                (item.id,),
                after(act, steps[-1] if steps else end.step.id),
                root=(item.id,),
                within=setting.present[item.id],
            )


def put_on_in_order(scene: Scene) -> Iterator[Breach]:
    """Something goes on when what covers it is on already."""
    setting = scene.setting
    for target in scene.targets:
        if target not in setting.items or target in scene.state.worn:
            continue
        for over in sorted(scene.state.worn):
            rule = _rule(setting, over, target)
            if rule:
                earlier = setting.find("put-on", over)
                fix = Change("move", scene.step.id, neighbour=earlier[0]) if _movable(scene, earlier) else None
                yield Breach(
                    rule,
                    f"{goes(target)} on here after `{over}`",
                    (target, over),
                    fix,
                    hint=f"put `{target}` on before `{over}`",
                    because=("on", over),
                    root=(target, over),
                    within=setting.present[over],
                )


def _movable(scene: Scene, earlier: list[str]) -> bool:
    return bool(earlier) and scene.step.id in scene.setting.index and earlier[0] != scene.step.id


def _rule(setting: Setting, over: str, target: str) -> str:
    a, b = setting.items[over], setting.items[target]
    if a.kind in EYES and b.kind in RESPIRATORS:
        return RESPIRATOR_FIRST.name
    if a.kind == "gloves" and b.kind in GARMENTS:
        return CUFFS.name if a.layer != "inner" or b.id in a.covers else ""
    return UNDER.name if target in a.covers else ""


def hands_and_equipment(scene: Scene) -> Iterator[Breach]:
    """The first item, with hands not cleaned or equipment not inspected."""
    if "put-on" in scene.state.done:
        return
    setting, doer = scene.setting, scene.doer
    first = next((t for t in scene.targets if t in setting.items and setting.kind_of(t) not in CLOTHING), "")
    if first and doer.hand == BARE and doer.level != CLEAN and not setting.gloves(first):
        yield Breach(
            WASHED.name,
            f"{goes(first)} on here before the hands were cleaned",
            (first,),
            before(hygiene(scene, doer.role), scene.step.id, scene.at),
            root=("hands",),
        )
    if first and not {"area-ready", "supplies-ready", "ensemble-inspected"} & scene.state.done:
        yield Breach(
            SOUND.name,
            f"{goes(first)} on here before anybody inspected the equipment",
            (first,),
            before(Act("inspect", ("supplies",), setting.wearer), scene.step.id, scene.at),
            root=("equipment",),
        )


def last_look(end: End) -> Iterator[Breach]:
    """Nobody else saw the finished ensemble."""
    setting = end.setting
    seen = {fact for fact in end.state.done if fact.startswith(("skin-seen-by:", "ensemble-seen-by:"))}
    if end.branch or any(not fact.endswith(f":{setting.wearer}") for fact in seen):
        return
    other = next((r.id for r in setting.roles.values() if r.id != setting.wearer), "")
    yield Breach(
        LAST_LOOK.name,
        "nobody but the wearer looks for exposed skin and hair at the end",
        (),
        after(Act("inspect", ("skin",), other), end.step.id) if other else None,
        hint="add a role that watches, and let it inspect `skin` after the last item",
    )


CHECKS = (
    Check((COMPLETE,), end=item_not_put_on, kinds=PUTTING_ON),
    Check((UNDER, RESPIRATOR_FIRST, CUFFS), act=put_on_in_order, verbs=frozenset({"put-on"}), kinds=PUTTING_ON),
    Check((WASHED, SOUND), act=hands_and_equipment, verbs=frozenset({"put-on"}), kinds=PUTTING_ON),
    Check((LAST_LOOK,), end=last_look, kinds=PUTTING_ON),
)
