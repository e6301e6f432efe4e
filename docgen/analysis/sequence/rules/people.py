"""Rules about people: who watches, who helps, whose hands, and who is told how they finish."""

from __future__ import annotations

from collections.abc import Iterator

from docgen.analysis.sequence.acts import side_met
from docgen.analysis.sequence.rules.base import (
    CDC_VHF,
    MEMORY,
    REMOVING,
    STRICTER,
    WARN,
    WHO_COVERALL,
    Breach,
    Check,
    End,
    Scene,
    comes,
    hygiene,
)
from docgen.analysis.sequence.setting import GARMENTS, HANDLING, Setting
from docgen.analysis.sequence.state import CLEAN
from docgen.analysis.sequence.suggest import after, before
from docgen.model.edition import Act
from docgen.model.moment import Rule

WATCHES = Rule(
    "sequence/observer-touches",
    "Whoever watches never touches the wearer's equipment.",
    "The observer's hands and eyes are for the checklist; whoever touches, stops watching and may be contaminated.",
    f"{CDC_VHF}, roles {MEMORY}",
    "Some published text lets the observer assist: set `contacts: true` for that role.",
    STRICTER,
    example="`observer` does `remove` here, but that role may not touch equipment → give the act `by: assistant`",
)
ASSISTANT = Rule(
    "sequence/no-assistant",
    "Somebody helps the wearer out of a coverall or a powered hood.",
    "Both need hands behind the wearer's back, where the wearer can neither see nor reach.",
    f"{CDC_VHF}, trained observer page 18",
    f"Coverall rolled down from the inside by the wearer ({WHO_COVERALL}): a warning.",
    STRICTER,
    example="`coverall` comes off, but nobody assists → add a role that may touch",
)
HELPER_INSIDE = Rule(
    "sequence/helper-touches-inside",
    "The helper touches the outside of a garment, the wearer its inside.",
    "Two pairs of hands on one surface carry dirt from outside to inside.",
    f"{CDC_VHF}, powered respirator and coverall, removal page 12; {WHO_COVERALL}, step 7",
    "One published page lets the wearer avoid the inside; only the helper's side is checked.",
    WARN,
    example="`assistant` meets the inside of `coverall` here → write `touching: outside` in this act",
)
HELPER_GLOVES = Rule(
    "sequence/helper-gloves-not-cleaned",
    "The helper cleans their gloves after each item, before touching the wearer again and before the end.",
    "The helper's gloves are the shortest way from the outside of one item to the wearer's head.",
    f"{CDC_VHF} {MEMORY}",
    "",
    WARN,
    example="`assistant` opens `gown` here with gloves not cleaned after `hood` → add: sanitize by `assistant`",
)
FINISHES = Rule(
    "sequence/person-never-finishes",
    "Everybody who takes part has a list of what they wear, and is told how they take it off.",
    "Observers and assistants are contaminated too; left alone with it, they make most of the mistakes.",
    f"{CDC_VHF}, trained observer page 10",
    "In `standard`, only for a role with a list of what it wears.",
    WARN,
    example="`assistant` is never told how to finish → add `removes-by:` to this role",
)

NOT_ON_EQUIPMENT = frozenset({"sanitize", "wash", "change-gloves"})


def _on_equipment(setting: Setting, act: Act) -> bool:
    """Whether hands meet the wearer's equipment in this act; cleaning or changing one's own gloves does not."""
    if act.verb not in HANDLING:
        return False
    mine = (t for t in act.targets if t in setting.items)
    return any(not (act.verb in NOT_ON_EQUIPMENT and setting.gloves(t)) for t in mine)


def observer_touches(setting: Setting) -> Iterator[tuple[Breach, str, int, int]]:
    """Acts on equipment given to a role that may not touch."""
    for step, at, act in setting.acts():
        role = setting.roles.get(act.by)
        if role and not role.contacts and act.by != setting.wearer and _on_equipment(setting, act):
            other = next((r.id for r in setting.roles.values() if r.contacts and r.id != act.by), setting.wearer)
            yield (
                Breach(
                    WATCHES.name,
                    f"`{act.by}` does `{act.verb}` here, but that role may not touch equipment",
                    (act.by,),
                    hint=f"give the act `by: {other}`",
                ),
                step.id,
                at,
                setting.options.mask(step.when),
            )


def no_assistant(setting: Setting) -> Iterator[tuple[Breach, str, int, int]]:
    """A coverall or powered hood, and no second pair of hands."""
    helpers = [
        setting.options.mask(step.when)
        for step, _, act in setting.acts()
        if act.by != setting.wearer and not setting.watches(act.by) and _on_equipment(setting, act)
    ]
    helped = 0
    for mask in helpers:
        helped |= mask
    for item in setting.edition.items:
        if item.kind not in ("coverall", "powered-hood") or not item.worn:
            continue
        alone = setting.options.mask(item.when) & ~helped
        if not alone:
            continue
        removals = [
            (step, at, act) for step, at, act in setting.acts() if act.verb == "remove" and item.id in act.targets
        ]
        inside = item.kind == "coverall" and bool(removals) and all(a.touching == "inside" for _, _, a in removals)
        step, at = (removals[0][0].id, removals[0][1]) if removals else ("", -1)
        yield (
            Breach(
                ASSISTANT.name,
                f"{comes(item.id)} off, but nobody helps the wearer",
                (item.id,),
                hint="add a role that may touch equipment, and give it the acts behind the wearer's back",
                softer=inside,
            ),
            step,
            at,
            alone,
        )


def helper_touches_inside(scene: Scene) -> Iterator[Breach]:
    """A helper's hands on the inside of a garment."""
    if scene.by_wearer:
        return
    for target in scene.targets:
        garment = scene.setting.kind_of(target) in GARMENTS and target in scene.state.worn
        if garment and side_met(scene.setting, scene.doer, scene.act, target) == "inside":
            yield Breach(
                HELPER_INSIDE.name,
                f"`{scene.act.by}` meets the inside of `{target}` here",
                (target,),
                hint="write `touching: outside` in this act",
            )


def helper_gloves(scene: Scene) -> Iterator[Breach]:
    """A helper who goes from one item to the next with the same gloves."""
    doer = scene.doer
    if scene.by_wearer or not doer.handled or doer.level == CLEAN or doer.handled in scene.targets:
        return
    for target in scene.targets:
        if target in scene.state.worn and not (scene.act.verb in NOT_ON_EQUIPMENT and scene.setting.gloves(target)):
            yield Breach(
                HELPER_GLOVES.name,
                f"`{doer.role}` handles `{target}` here with gloves that were not cleaned after `{doer.handled}`",
                (doer.role,),
                before(hygiene(scene, doer.role), scene.step.id, scene.at),
                because=("hands", doer.role),
            )
            return


def helper_ends_dirty(end: End) -> Iterator[Breach]:
    """A helper whose gloves were not cleaned after the last item they handled."""
    for person in end.state.people[1:]:
        if person.handled and person.level != CLEAN and not end.branch:
            yield Breach(
                HELPER_GLOVES.name,
                f"the gloves of `{person.role}` are not cleaned after `{person.handled}`",
                (person.role, "end"),
                after(hygiene(end, person.role), end.setting.last_handling(person.role) or end.step.id),
                because=("hands", person.role),
                root=("end", person.role),
            )


def person_never_finishes(setting: Setting) -> Iterator[tuple[Breach, str, int, int]]:
    """Roles that take part and have no list of what they wear, or no way out of it."""
    busy = {act.by for _, _, act in setting.acts()}
    busy |= {step.actor for step in setting.steps.values()}
    busy |= {step.hold.by for step in setting.steps.values() if step.hold}
    for role in setting.edition.roles:
        if role.id == setting.wearer or role.id not in busy:
            continue
        if role.wears and not role.removes_by:
            say, hint = f"`{role.id}` is never told how to finish", "add `removes-by:` to this role"
        elif not role.wears and setting.profile == "enhanced":
            say = f"nothing says what `{role.id}` wears"
            hint = "add `wears:` and `removes-by:` to this role"
        else:
            continue
        yield Breach(FINISHES.name, say, (role.id,), hint=hint), "", -1, setting.options.all


CHECKS = (
    Check((WATCHES,), whole=observer_touches),
    Check((ASSISTANT,), whole=no_assistant, kinds=REMOVING),
    Check((HELPER_INSIDE,), act=helper_touches_inside, verbs=frozenset({"remove", "open", "touch"}), kinds=REMOVING),
    Check(
        (HELPER_GLOVES,), act=helper_gloves, verbs=frozenset({"remove", "open", "touch", "sanitize"}), kinds=REMOVING
    ),
    Check((HELPER_GLOVES,), end=helper_ends_dirty, kinds=REMOVING),
    Check((FINISHES,), whole=person_never_finishes),
)
