"""Rules about the stages of a removal: made ready, confirmed, inspected on the way and at the end."""

from __future__ import annotations

from collections.abc import Iterator

from docgen.analysis.sequence.rules.base import (
    CDC_VHF,
    ENHANCED,
    NO_SOURCE,
    REMOVING,
    STRICTER,
    WHO_COVERALL,
    Breach,
    Check,
    End,
    Scene,
    hygiene,
    is_,
)
from docgen.analysis.sequence.setting import Setting
from docgen.analysis.sequence.state import BARE, CLEAN
from docgen.analysis.sequence.suggest import Change, after, before, like
from docgen.model.edition import Act
from docgen.model.moment import Rule

READY = Rule(
    "sequence/start-not-prepared",
    "Before the first removal the observer is there, area and supplies are ready, the ensemble is inspected, visible "
    "soil wiped off, and the outer gloves are sanitized.",
    "What is found or missing later is found with half the protection gone.",
    f"{CDC_VHF}, removal pages 01 and 02, trained observer page 18; {WHO_COVERALL}, steps 1 and 2",
    "General precautions know no observer.",
    ENHANCED,
    example="`apron` is handled here before anybody inspected the ensemble → add: inspect `ensemble` before step 4",
)
HOLD = Rule(
    "sequence/hold-missing",
    "The observer confirms before the first removal, after the outer gloves are off, before the respirator comes off, "
    "and at the last inspection.",
    "These are the points after which a mistake can no longer be undone.",
    f"{CDC_VHF}, removal page 01: wait for the all-clear; for the other points: {NO_SOURCE}",
    "General precautions know no observer.",
    ENHANCED,
    example="`respirator` is handled here, and nobody confirmed since … → add a hold by `observer` to step 21",
)
GLOVES_SEEN = Rule(
    "sequence/inner-gloves-not-inspected",
    "When the outer gloves are off, the inner gloves are inspected before anything else is handled.",
    "A tear that is not seen now lets everything that follows through to the skin.",
    f"{CDC_VHF}, powered respirator and gown, removal page 09",
    f"Single-glove protocols. Outer gloves that come off together with the coverall ({WHO_COVERALL}): a warning.",
    STRICTER,
    example="`hood` is handled here, but nobody inspected `inner-gloves` → add: inspect `inner-gloves` after step 9",
)
BODY_SEEN = Rule(
    "sequence/no-final-inspection",
    "At the end wearer, helper and observer inspect skin and clothing, with a branch for what they find.",
    "Contamination that is found now can be washed off; found later, it is at home.",
    f"{CDC_VHF}, powered respirator and gown, removal page 17",
    "General precautions know no observer.",
    ENHANCED,
    example="nobody but the wearer inspects skin and clothing at the end → add: inspect by `observer`",
)


def _observer(setting: Setting) -> str:
    return next((r.id for r in setting.roles.values() if setting.watches(r.id)), "")


def start_prepared(scene: Scene) -> Iterator[Breach]:
    """What has not happened when the first item comes off."""
    state, setting, step = scene.state, scene.setting, scene.step
    if "removal" in state.done or not set(scene.targets) & state.worn:
        return
    first = scene.targets[0]
    watcher = _observer(setting) or setting.wearer
    asked = (
        ("observer-engaged", "the observer was engaged", Act("confirm", (), watcher) if _observer(setting) else None),
        ("area-ready", "anybody saw that the area is ready", Act("inspect", ("area",), watcher)),
        ("supplies-ready", "anybody saw that the supplies are there", Act("inspect", ("supplies",), watcher)),
        ("ensemble-inspected", "anybody inspected the ensemble", Act("inspect", ("ensemble",), watcher)),
        ("soil-wiped", "visible soil was wiped off", like(setting, Act("sanitize", ("ensemble",), setting.wearer))),
    )
    for fact, words, act in asked:
        if fact not in state.done and not (fact == "soil-wiped" and _soil_has_a_branch(setting)):
            hint = "" if act else "add a role `observer` with `contacts: false`, and let it confirm the start"
            fix = before(act, step.id, scene.at) if act else None
            yield Breach(READY.name, f"{is_(first)} handled here before {words}", (fact,), fix, hint=hint, root=(fact,))


def _soil_has_a_branch(setting: Setting) -> bool:
    """Whether the inspection of the ensemble offers a branch for what is found."""
    return any(
        s.branches and any(a.verb == "inspect" and "ensemble" in a.targets for a in s.acts)
        for s in setting.edition.steps
    )


def start_with_clean_gloves(scene: Scene) -> Iterator[Breach]:
    """The first item opened or taken off by the wearer, with gloves as they come from the room."""
    state, wearer = scene.state, scene.state.wearer
    worn = [t for t in scene.targets if t in state.worn]
    if "removal" in state.done or not worn or not scene.by_wearer or wearer.handled in worn:
        return
    if wearer.hand != BARE and wearer.level != CLEAN:
        yield Breach(
            READY.name,
            f"{is_(worn[0])} handled here before `{wearer.hand}` were sanitized",
            ("gloves",),
            before(hygiene(scene, wearer.role), scene.step.id, scene.at),
            root=("gloves",),
        )


def holds(scene: Scene) -> Iterator[Breach]:
    """Points of no return without a confirmation."""
    state, setting = scene.state, scene.setting
    worn = [t for t in scene.targets if t in state.worn]
    if not worn or _inside_branch_of_gloves(scene):
        return
    if "removal" not in state.done:
        if "held" not in state.done:
            yield _no_hold(scene, worn[0], "first", "before the first removal")
        return
    if "hold-after-outer-gloves" in state.due:
        yield _no_hold(scene, worn[0], "outer-gloves", "since the outer gloves came off")
    elif "held" not in state.done:
        for target in worn:
            if setting.kind_of(target) == "respirator":
                yield _no_hold(scene, target, target, "since the item before came off")


def _inside_branch_of_gloves(scene: Scene) -> bool:
    """Changing a torn pair is done at once, and the hold follows on the main path."""
    return bool(scene.setting.home.get(scene.step.id)) and all(scene.setting.gloves(t) for t in scene.targets)


def _no_hold(scene: Scene, target: str, subject: str, since: str) -> Breach:
    setting, here = scene.setting, scene.step.id
    steps = setting.edition.steps
    at = setting.index.get(here, 0)
    fix = Change("hold", steps[at - 1].id, by=_observer(setting)) if at and _observer(setting) else None
    return Breach(
        HOLD.name,
        f"{is_(target)} handled here, and nobody confirmed {since}",
        (subject,),
        fix,
        hint="add a `hold:` to the step before",
        root=(subject,),
    )


def inner_gloves_seen(scene: Scene) -> Iterator[Breach]:
    """Something is handled before the gloves that came to light were inspected."""
    state, setting = scene.state, scene.setting
    due = state.due & {"glove-inspection", "glove-inspection-advised"}
    if not due or not scene.targets:
        return
    hand = state.wearer.hand
    for target in scene.targets:
        if target in state.worn and target != hand and not (scene.act.verb == "sanitize" and setting.gloves(target)):
            steps = [s for s in setting.edition.steps if any(_bares(setting, a) for a in s.acts)]
            act = Act("inspect", (hand,), _observer(setting) or setting.wearer)
            yield Breach(
                GLOVES_SEEN.name,
                f"{is_(target)} handled here, but nobody inspected `{hand}` after the outer gloves came off",
                (hand,),
                after(act, steps[0].id) if steps else None,
                because=("bared", hand),
                root=(hand,),
                softer="glove-inspection" not in due,
            )
            return


def _bares(setting: Setting, act: Act) -> bool:
    return act.verb == "remove" and any(setting.items[t].layer == "outer" for t in act.targets if t in setting.items)


def final_inspection(end: End) -> Iterator[Breach]:
    """Who looked at skin and clothing after the last removal, and what the step offers."""
    setting, state = end.setting, end.state
    if end.branch:
        return
    for role, within in _team(setting).items():
        missing = tuple(t for t in ("skin", "clothing") if f"{t}-seen-by:{role}" not in state.done)
        if missing:
            are = "are" if len(missing) > 1 else "is"
            yield Breach(
                BODY_SEEN.name,
                f"{' and '.join(missing)} {are} not inspected by `{role}` at the end",
                (role,),
                after(Act("inspect", missing, role), _look_after(setting) or end.step.id),
                root=(role,),
                within=within,
            )
    if not _observer(setting) and not _helpers(setting):
        yield Breach(
            BODY_SEEN.name,
            "nobody but the wearer inspects skin and clothing at the end",
            ("other",),
            hint="add a role `observer` with `contacts: false`, and let it inspect `skin` and `clothing` at the end",
            root=("other",),
        )
    if any(fact.startswith(("skin-seen-by:", "clothing-seen-by:")) for fact in state.done):
        inspections = [s for s in setting.edition.steps if any(_of_body(a) for a in s.acts)]
        if not any(s.branches for s in inspections):
            yield Breach(
                BODY_SEEN.name,
                "the last inspection offers no branch for contamination that is found",
                ("branch",),
                hint="name a branch under `branches:` of that step: what to wash, who is told",
                root=("branch",),
            )
        if "held" not in state.done:
            yield Breach(
                HOLD.name,
                "nobody confirms the last inspection",
                ("last",),
                Change("hold", inspections[-1].id, by=_observer(setting))
                if inspections and _observer(setting)
                else None,
                hint="add a `hold:` to the last inspection",
                root=("last",),
            )


def _helpers(setting: Setting) -> dict[str, int]:
    """Roles that touch the wearer's equipment, each with the combinations of options in which they do."""
    out: dict[str, int] = {}
    for step, _, act in setting.acts():
        role = act.by
        helps = role in setting.roles and role != setting.wearer and not setting.watches(role)
        if helps and act.verb in ("remove", "open", "touch"):
            out[role] = out.get(role, 0) | setting.options.mask(step.when)
    return out


def _team(setting: Setting) -> dict[str, int]:
    """Who looks at the end, and when: the wearer, whoever helps, and one who watches."""
    watcher = _observer(setting)
    return {setting.wearer: -1, **_helpers(setting), **({watcher: -1} if watcher else {})}


def _look_after(setting: Setting) -> str:
    """The step after which people look: the last that cleans bare hands."""
    return next((s.id for s in reversed(setting.edition.steps) if any(BARE in a.targets for a in s.acts)), "")


def _of_body(act: Act) -> bool:
    return act.verb == "inspect" and bool({"skin", "clothing"} & set(act.targets))


CHECKS = (
    Check((READY,), act=start_prepared, verbs=frozenset({"remove", "open"}), kinds=REMOVING),
    Check((READY,), act=start_with_clean_gloves, verbs=frozenset({"remove", "open"}), kinds=REMOVING),
    Check((HOLD,), act=holds, verbs=frozenset({"remove", "open"}), kinds=REMOVING),
    Check(
        (GLOVES_SEEN,),
        act=inner_gloves_seen,
        verbs=frozenset({"remove", "open", "touch", "sanitize", "wash", "put-on"}),
        kinds=REMOVING,
    ),
    Check((BODY_SEEN, HOLD), end=final_inspection, kinds=REMOVING),
)
