"""Rules about hands: what bare and gloved hands may touch, and when they are cleaned."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from docgen.analysis.sequence.acts import side_met, surface_level, touched_by
from docgen.analysis.sequence.rules.base import (
    ALWAYS_ERROR,
    CDC_SEQUENCE,
    CDC_VHF,
    MEMORY,
    NO_SOURCE,
    REMOVING,
    STRICTER,
    WHO_COVERALL,
    Breach,
    Check,
    End,
    Scene,
    goes,
    hygiene,
    is_,
)
from docgen.analysis.sequence.setting import BODY, FEET, GARMENTS, HANDS, HEAD
from docgen.analysis.sequence.state import BARE, CLEAN, DIRTY, LEVELS
from docgen.analysis.sequence.suggest import Change, after, before, like
from docgen.model.edition import Act
from docgen.model.moment import Rule

BETWEEN = Rule(
    "sequence/no-hygiene-between-items",
    "Hands or gloves are cleaned after one item was handled and before the next one is taken off, opened or cleaned.",
    "What the hands took up from one item they put on the next.",
    f"{WHO_COVERALL}, steps 2 to 16; {CDC_VHF}, removal pages; {CDC_SEQUENCE}: there, if hands become contaminated",
    "General precautions ask for hygiene between items only if hands become contaminated: a warning in `standard`. "
    "The helper who takes the next item has hands of their own.",
    STRICTER,
    example="`coverall` is handled here, but `inner-gloves` were not cleaned after `hood` → add: sanitize",
)
NEAR_FACE = Rule(
    "sequence/dirty-hands-near-face",
    "Hands that touched a contaminated surface are cleaned before they touch straps, zip, head or face.",
    "Hood, goggles, respirator straps and the top of the zip lie next to eyes, nose and mouth.",
    f"{CDC_VHF}, powered respirator and coverall, removal page 12: disinfect gloves between flap and zip",
    "The helper may do the touching, with clean gloves.",
    STRICTER,
    example="dirty `inner-gloves` open the zip of `coverall` here → add: sanitize `inner-gloves` before step 13",
)
INSIDE = Rule(
    "sequence/dirty-hands-inside",
    "Hands that touched a contaminated surface are cleaned before they reach inside a garment.",
    "The inside lies on clothing and skin; it is the only clean side left.",
    f"{WHO_COVERALL}, steps 6 and 7: hygiene, then the inside only; else {NO_SOURCE}",
    "Outer gloves that come off in the same movement.",
    STRICTER,
    example="dirty `inner-gloves` meet the inside of `coverall` here → add: sanitize `inner-gloves` before step 25",
)
BARE_HAND = Rule(
    "sequence/bare-hand-on-dirty-surface",
    "No bare hand touches a contaminated outside.",
    "This is the moment of infection that everything else is there to prevent.",
    f"{CDC_SEQUENCE}, example 1",
    "Rear straps, ties at the back and the inside of a gown may be met with bare hands.",
    ALWAYS_ERROR,
    example="bare hands meet the outside of `gown` here → write `touching: inside`, or keep gloves on",
)
GLOVES_ON = Rule(
    "sequence/gloves-on-unclean-hands",
    "Gloves go on over bare hands that were just cleaned, or over gloves that are clean.",
    "A clean glove over a dirty hand keeps the dirt warm, and its cuff is soiled while it is pulled on.",
    f"{CDC_VHF}, powered respirator and gown, removal page 09",
    "A second pair over sanitized gloves.",
    ALWAYS_ERROR,
    example="`new-gloves` go on here over bare hands that were not cleaned → add: rub hands: `bare`",
)
AFTER_LAST = Rule(
    "sequence/no-hygiene-after-last-gloves",
    "When the last gloves come off, cleaning the bare hands is the very next act.",
    "Gloves leak and hands are soiled while gloves come off.",
    f"{CDC_SEQUENCE}; {WHO_COVERALL}, steps 15 and 16",
    "Single-glove sequences of general precautions take gloves off first: there, in `standard`, the remaining items "
    "may come off by their clean sides, and hygiene follows at once.",
    ALWAYS_ERROR,
    waivable=False,
    example="`wearer` moves here, but the bare hands were not cleaned after `new-gloves` → add: rub hands: `bare`",
)
LAST = Rule(
    "sequence/ends-without-hand-hygiene",
    "The sequence ends with hygiene of bare hands; nothing is handled after it without cleaning them again.",
    "The next thing these hands touch is a door, a telephone or a face.",
    f"{CDC_SEQUENCE}; {WHO_COVERALL}, step 16",
    "An inspection or a shower may follow.",
    ALWAYS_ERROR,
    waivable=False,
    example="the bare hands are no longer clean at the end → add: rub hands: `bare` after step 26",
)
SHOES = Rule(
    "sequence/old-gloves-on-footwear",
    "Footwear that stays on is cleaned with gloves that were put on for it, not with those worn since the room.",
    "Old gloves bring to the shoes what the shoes leave with.",
    f"{CDC_VHF} {MEMORY}",
    "",
    STRICTER,
    example="`shoes` are cleaned here with the gloves worn since the start → add: change `inner-gloves` before step 22",
)

QUIET = frozenset({"confirm", "note", "wait", "rub-hands"})
"""Acts that touch nothing, or that are the hygiene itself."""
BY_CLEAN_SIDES = frozenset({"remove", "open", "discard", "move", "sit"})


def hygiene_between_items(scene: Scene) -> Iterator[Breach]:
    """A new item is handled with hands that handled another one since they were cleaned."""
    doer, setting = scene.doer, scene.setting
    if not scene.by_wearer or not doer.handled or doer.handled in scene.targets or doer.level == CLEAN:
        return
    for target in scene.targets:
        if target in scene.state.worn and not (scene.act.verb in ("sanitize", "wash") and setting.gloves(target)):
            hand = "the bare hands" if doer.hand == BARE else f"`{doer.hand}`"
            yield Breach(
                BETWEEN.name,
                f"{is_(target)} handled here, but {hand} were not cleaned after `{doer.handled}`",
                (target,),
                before(hygiene(scene, doer.role), scene.step.id, scene.at),
                because=("handled", doer.role, doer.handled),
            )
            return


def dirty_near_face(scene: Scene) -> Iterator[Breach]:
    """Dirty hands at straps, zip, head or face."""
    doer, setting = scene.doer, scene.setting
    if doer.level != DIRTY or doer.hand in scene.targets:
        return
    elsewhere = scene.by_wearer and doer.handled and doer.handled not in scene.targets and scene.act.verb != "touch"
    for target in scene.targets:
        # Hands that came to this very item uncleaned were told of then.
        near = (setting.kind_of(target) in HEAD and doer.handled != target) or scene.act.fastening == "zip"
        if target in BODY and scene.act.verb == "wash" and target != "skin":
            near, elsewhere = True, False
        if near and not elsewhere and (target in scene.state.worn or target in BODY):
            hand = "bare hands" if doer.hand == BARE else f"`{doer.hand}`"
            what = f"the zip of `{target}`" if scene.act.fastening == "zip" else f"`{target}`"
            yield Breach(
                NEAR_FACE.name,
                f"{what} is met here by {hand} that are {LEVELS[DIRTY]}",
                (target,),
                before(hygiene(scene, doer.role), scene.step.id, scene.at),
                because=("hands", doer.role),
            )


def dirty_inside(scene: Scene) -> Iterator[Breach]:
    """Dirty hands on the inside of what is worn over clothing."""
    doer, setting = scene.doer, scene.setting
    if doer.handled and doer.handled not in scene.targets and scene.act.verb == "remove" and scene.by_wearer:
        return  # told as missing hygiene between two items
    for target in scene.targets:
        if setting.kind_of(target) not in GARMENTS | FEET or target not in scene.state.worn:
            continue
        if side_met(setting, doer, scene.act, target) != "inside":
            continue
        layer = touched_by(doer, scene.act, scene.targets, "inside")
        if dict(doer.layers)[layer] == DIRTY:
            hand = "bare hands" if layer == BARE else f"`{layer}`"
            yield Breach(
                INSIDE.name,
                f"the inside of `{target}` is met here by {hand} that are {LEVELS[DIRTY]}",
                (target,),
                before(hygiene(scene, doer.role), scene.step.id, scene.at),
                because=("hands", doer.role),
            )


def bare_hand_touches(scene: Scene) -> Iterator[Breach]:
    """Bare skin on a dirty surface."""
    doer, setting, state = scene.doer, scene.setting, scene.state
    if scene.act.verb == "discard":
        if doer.hand == BARE:
            for item, level in sorted(state.loose):
                if item in scene.targets and level == DIRTY:
                    yield _bare(scene, item, "the soiled side")
        return
    for target in scene.targets:
        if target not in state.worn:
            continue
        side = side_met(setting, doer, scene.act, target)
        own = scene.act.verb in ("sanitize", "wash") and setting.gloves(target)
        skin = touched_by(doer, scene.act, scene.targets, side) == BARE
        if skin and not own and surface_level(setting, state, target, side) == DIRTY:
            yield _bare(scene, target, f"the {side}")


def _bare(scene: Scene, target: str, side: str) -> Breach:
    fix = None
    if scene.act.verb == "remove" and side == "the outside":
        fix = Change("replace", scene.step.id, replace(scene.act, touching="inside"), scene.at)
    who = "" if scene.by_wearer else f" of `{scene.act.by}`"
    return Breach(
        BARE_HAND.name,
        f"the bare hands{who} meet {side} of `{target}` here",
        (target,),
        fix,
        hint="write `touching: inside`, or let this be done while gloves are worn",
        because=("last-gloves",),
    )


def gloves_on(scene: Scene) -> Iterator[Breach]:
    """New gloves over hands that are not clean."""
    wearer = scene.state.wearer
    for target in scene.targets:
        if not scene.setting.gloves(target) or target in scene.state.worn:
            continue
        if wearer.hand == BARE and wearer.level != CLEAN:
            why = "bare hands that were not cleaned"
        elif wearer.level == DIRTY:
            why = f"`{wearer.hand}` that are {LEVELS[DIRTY]}"
        else:
            continue
        yield Breach(
            GLOVES_ON.name,
            f"{goes(target)} on here over {why}",
            (target,),
            before(hygiene(scene, wearer.role), scene.step.id, scene.at),
            because=("hands", wearer.role),
            family="hands-after-gloves",
        )


def hygiene_after_last_gloves(scene: Scene) -> Iterator[Breach]:
    """Anything else between the last gloves and the cleaning of bare hands."""
    state, act = scene.state, scene.act
    if "hand-hygiene" not in state.due or not scene.by_wearer or act.verb in QUIET:
        return
    if act.verb == "wash" and set(scene.targets) & (HANDS | {"skin"}):
        return
    if act.verb == "discard" and all(scene.setting.gloves(t) or t not in scene.setting.items for t in scene.targets):
        return
    if act.verb == "put-on" and any(scene.setting.gloves(t) for t in scene.targets):
        return  # another rule says so
    within = -1
    if "hand-hygiene-now" not in state.due and act.verb in BY_CLEAN_SIDES:
        if act.verb == "discard" and state.loose:
            return
        remaining = [i for i in state.worn if not scene.setting.items[i].kept]
        within = ~scene.setting.any_of(remaining)
    off = state.wearer.handled or "the gloves"
    yield Breach(
        AFTER_LAST.name,
        f"`{act.by}` goes on here with `{act.verb}`, but the bare hands were not cleaned after `{off}`",
        (),
        before(hygiene(scene, state.wearer.role), scene.step.id, scene.at),
        because=("last-gloves",),
        family="hands-after-gloves",
        within=within,
    )


def ends_with_hand_hygiene(end: End) -> Iterator[Breach]:
    """Bare hands at the end that are not clean."""
    wearer = end.state.wearer
    if end.branch or wearer.hand != BARE or wearer.level == CLEAN:
        return
    yield Breach(
        LAST.name,
        "the bare hands are not clean at the end",
        (),
        after(hygiene(end, wearer.role), end.setting.last_handling(wearer.role) or end.step.id),
        because=("hands", wearer.role),
        family="hands-after-gloves",
    )


def old_gloves_on_footwear(scene: Scene) -> Iterator[Breach]:
    """Kept footwear cleaned with the gloves worn since the start."""
    wearer = scene.state.wearer
    if not scene.by_wearer or "fresh-gloves" in scene.state.done or wearer.hand == BARE:
        return
    for target in scene.targets:
        if scene.setting.kind_of(target) == "footwear" and target in scene.state.worn:
            change = like(scene.setting, Act("change-gloves", (wearer.hand,), scene.act.by))
            yield Breach(
                SHOES.name,
                f"{is_(target)} cleaned here with `{wearer.hand}` worn since the start",
                (target,),
                before(change, scene.step.id, scene.at),
            )


_HANDLING = frozenset({"remove", "open", "sanitize", "wash"})

CHECKS = (
    Check((BETWEEN,), act=hygiene_between_items, verbs=_HANDLING, kinds=REMOVING),
    Check((NEAR_FACE,), act=dirty_near_face, verbs=frozenset({"remove", "open", "touch", "wash"})),
    Check((INSIDE,), act=dirty_inside, verbs=frozenset({"remove", "touch"})),
    Check((BARE_HAND,), act=bare_hand_touches, verbs=_HANDLING | {"touch", "discard"}),
    Check((GLOVES_ON,), act=gloves_on, verbs=frozenset({"put-on"})),
    Check((AFTER_LAST,), act=hygiene_after_last_gloves, kinds=REMOVING | {"procedure"}),
    Check((LAST,), end=ends_with_hand_hygiene, kinds=REMOVING),
    Check((SHOES,), act=old_gloves_on_footwear, verbs=frozenset({"sanitize", "wash"}), kinds=REMOVING),
)
