"""Rules about the stages of a removal: made ready, confirmed, inspected, and a way on when something is found."""

from __future__ import annotations

from collections.abc import Iterator

from docgen.analysis.sequence.rules.base import (
    CDC_VHF,
    ENHANCED,
    MEMORY,
    NO_SOURCE,
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
    is_,
)
from docgen.analysis.sequence.setting import Setting
from docgen.analysis.sequence.state import BARE, CLEAN
from docgen.analysis.sequence.suggest import Change, after, before
from docgen.model.edition import Act, Branch
from docgen.model.moment import Rule

READY = Rule(
    "sequence/start-not-prepared",
    "Before the first removal the observer is there, the area is ready, the ensemble inspected, and the outer gloves "
    "sanitized.",
    "What is found or missing later is found with half the protection gone.",
    f"{CDC_VHF}, removal pages 01 and 02, trained observer page 18; {WHO_COVERALL}, steps 1 and 2",
    "General precautions know no observer.",
    ENHANCED,
    example="`apron` comes off here before anybody inspected the ensemble → add: inspect `ensemble` before step 4",
)
HOLD = Rule(
    "sequence/hold-missing",
    "The observer confirms before the first removal, after the outer gloves are off, before the respirator comes off, "
    "and at the last inspection.",
    "These are the points after which a mistake can no longer be undone.",
    f"{CDC_VHF}, removal page 01: wait for the all-clear; for the other points: {NO_SOURCE}",
    "General precautions know no observer.",
    ENHANCED,
    example="`respirator` comes off here without a hold since `gown` → add a hold by `observer` to step 21",
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
TEAR = Rule(
    "sequence/tear-branch-incomplete",
    "The inspection of the inner gloves offers a branch for a tear: pair off, bare hands cleaned, new pair on, back.",
    "The moment a tear is found is no moment to think one up.",
    f"{CDC_VHF}, powered respirator and gown, removal page 09",
    "Single-glove protocols.",
    STRICTER,
    example="no branch is offered for a tear found here → name a branch under `branches:` of this step",
)
BODY_SEEN = Rule(
    "sequence/no-final-inspection",
    "At the end wearer and observer inspect skin and clothing, with a branch for what they find.",
    "Contamination that is found now can be washed off; found later, it is at home.",
    f"{CDC_VHF}, powered respirator and gown, removal page 17",
    "General precautions know no observer.",
    ENHANCED,
    example="nobody but the wearer inspects skin and clothing at the end → add: inspect by `observer`",
)
BREACH = Rule(
    "sequence/no-breach-branch",
    "A branch for an exposure or a breach can be taken at every step, and says who is told.",
    "A splash or a torn sleeve does not wait for the step that foresees it.",
    f"{CDC_VHF} {MEMORY}; WHO guidance on VHF {MEMORY}",
    "",
    STRICTER,
    example="no branch can be taken at every step → add a branch with `anywhere: true` and `tell:`",
)
REJOINS = Rule(
    "sequence/branch-never-rejoins",
    "Every branch says where the main path goes on, or how it ends.",
    "Whoever follows it stands there, half undressed, without a next step.",
    f"{CDC_VHF}, removal page 09, for the torn glove; else {NO_SOURCE}",
    "",
    (("standard", "error"), ("enhanced", "error")),
    example="branch `torn-glove` neither rejoins nor leaves → add `rejoin:` with the step that comes next",
)
LEAVES = Rule(
    "sequence/branch-leaves-dressed",
    "A branch that leaves the main path does so when nothing protective is worn any more.",
    "Nothing tells how the rest comes off.",
    NO_SOURCE,
    "An emergency that another protocol takes over.",
    WARN,
    example="branch `collapse` leaves with `gown` still worn → let it rejoin, or say how the rest comes off",
)
POSSIBLE = Rule(
    "sequence/branch-never-possible",
    "Every branch can be taken somewhere.",
    "A branch no step offers is read by nobody when it is needed.",
    NO_SOURCE,
    "",
    WARN,
    example="branch `torn-glove` is offered nowhere → name it under `branches:` of a step",
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
        ("ensemble-inspected", "anybody inspected the ensemble", Act("inspect", ("ensemble",), watcher)),
    )
    for fact, words, act in asked:
        if fact not in state.done:
            hint = "" if act else "add a role `observer` with `contacts: false`, and let it confirm the start"
            fix = before(act, step.id, scene.at) if act else None
            yield Breach(READY.name, f"{comes(first)} off here before {words}", (fact,), fix, hint=hint, root=(fact,))


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
                yield _no_hold(scene, target, target, "since the item before it came off")


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
        f"{comes(target)} off here, and nobody confirmed {since}",
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


def tear_branch(setting: Setting) -> Iterator[tuple[Breach, str, int, int]]:
    """The inspection of the inner gloves, and what its branch says."""
    inner = [i.id for i in setting.edition.items if i.kind == "gloves" and i.layer == "inner" and i.worn]
    outer = any(i.kind == "gloves" and i.layer == "outer" for i in setting.edition.items)
    for glove in inner if outer else ():
        for step, at, act in setting.acts():
            if act.verb != "inspect" or glove not in act.targets or setting.home[step.id]:
                continue
            branches = [b for b in setting.edition.branches if b.id in step.branches or b.anywhere]
            about = [b for b in branches if _takes_off(b, glove)]
            left = setting.options.mask(step.when)
            for branch in about:
                left &= ~setting.options.mask(branch.when)
                for missing in _missing(setting, branch, glove):
                    yield (
                        Breach(
                            TEAR.name,
                            f"branch `{branch.id}` for a torn `{glove}` does not {missing}",
                            (branch.id, missing),
                            hint=f"complete `{branch.id}`: old pair off, bare hands cleaned, new pair on, `rejoin:`",
                            root=(branch.id, missing),
                        ),
                        branch.steps[-1].id,
                        -1,
                        setting.options.mask(step.when) & setting.options.mask(branch.when),
                    )
            if left:
                yield (
                    Breach(
                        TEAR.name,
                        f"no branch is offered here for a tear in `{glove}`",
                        (glove,),
                        hint="name a branch under `branches:`: pair off, bare hands cleaned, new pair on, `rejoin:`",
                        root=(glove,),
                    ),
                    step.id,
                    at,
                    left,
                )


def _takes_off(branch: Branch, glove: str) -> bool:
    return any(a.verb in ("remove", "change-gloves") and glove in a.targets for s in branch.steps for a in s.acts)


def _missing(setting: Setting, branch: Branch, glove: str) -> Iterator[str]:
    acts = [a for s in branch.steps for a in s.acts]
    if not any(a.verb == "change-gloves" for a in acts):
        off = next(n for n, a in enumerate(acts) if a.verb == "remove" and glove in a.targets)
        if not any(a.verb in ("rub-hands", "wash") and BARE in a.targets for a in acts[off:]):
            yield "clean the bare hands"
        if not any(a.verb == "put-on" and any(setting.gloves(t) for t in a.targets) for a in acts[off:]):
            yield "put a new pair on"
    if not branch.rejoin and branch.leave:
        yield "come back to the main path"


def final_inspection(end: End) -> Iterator[Breach]:
    """Who looked at skin and clothing after the last removal, and what the step offers."""
    setting, state = end.setting, end.state
    if end.branch:
        return
    watcher = _observer(setting) or setting.wearer
    for fact, who, words in (
        ("body-inspected", setting.wearer, f"`{setting.wearer}`"),
        ("body-seen", watcher, "anybody but the wearer"),
    ):
        if fact not in state.done:
            yield Breach(
                BODY_SEEN.name,
                f"skin and clothing are not inspected by {words} at the end",
                (fact,),
                after(Act("inspect", ("skin", "clothing"), who), end.step.id),
                root=(fact,),
            )
    if {"body-inspected", "body-seen"} & state.done:
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
                Change("hold", inspections[-1].id, by=_observer(setting)) if _observer(setting) else None,
                hint="add a `hold:` to the last inspection",
                root=("last",),
            )


def _of_body(act: Act) -> bool:
    return act.verb == "inspect" and bool({"skin", "clothing"} & set(act.targets))


def breach_branch(setting: Setting) -> Iterator[tuple[Breach, str, int, int]]:
    """A branch for every moment, and who is told."""
    without = setting.options.all
    for branch in setting.edition.branches:
        if branch.anywhere and branch.tell:
            without &= ~setting.options.mask(branch.when)
    if without:
        silent = next((b.id for b in setting.edition.branches if b.anywhere and not b.tell), "")
        if silent:
            say = f"branch `{silent}` can be taken at every step, but does not say who is told"
            hint = "add `tell:` to it"
        else:
            say = "no branch can be taken at every step, for a splash, a tear or an exposure"
            hint = "add a branch with `anywhere: true` and `tell:`"
        yield Breach(BREACH.name, say, hint=hint), "", -1, without


def branch_rejoins(setting: Setting) -> Iterator[tuple[Breach, str, int, int]]:
    """Branches that go nowhere, or to a step that is not there."""
    for branch in setting.edition.branches:
        lost = branch.rejoin and branch.rejoin != "same" and branch.rejoin not in setting.index
        if not branch.rejoin and not branch.leave:
            say = f"branch `{branch.id}` neither rejoins the main path nor says how it ends"
        elif lost:
            say = f"branch `{branch.id}` rejoins at `{branch.rejoin}`, which is no step of the main path"
        else:
            continue
        hint = "add `rejoin:` with the step that comes next, or `leave:` with how this path ends"
        step = branch.steps[-1].id if branch.steps else ""
        yield Breach(REJOINS.name, say, (branch.id,), hint=hint), step, -1, setting.options.mask(branch.when)


def leaves_dressed(end: End) -> Iterator[Breach]:
    """A branch that leaves while something protective is worn."""
    if end.branch is None or not end.branch.leave:
        return
    worn = sorted(i for i in end.state.worn if not end.setting.items[i].kept)
    if worn:
        yield Breach(
            LEAVES.name,
            f"branch `{end.branch.id}` leaves with {', '.join(f'`{w}`' for w in worn)} still worn",
            (end.branch.id,),
            hint="let it rejoin the main path, or say in its steps how the rest comes off",
            root=(end.branch.id,),
            within=end.setting.any_of(worn),
        )


def branch_offered(setting: Setting) -> Iterator[tuple[Breach, str, int, int]]:
    """Branches no step names and that are not for every step."""
    offered = {name for step in setting.steps.values() for name in step.branches}
    for branch in setting.edition.branches:
        if not branch.anywhere and branch.id not in offered:
            yield (
                Breach(
                    POSSIBLE.name,
                    f"branch `{branch.id}` is offered nowhere",
                    (branch.id,),
                    hint="name it under `branches:` of a step, or set `anywhere: true`",
                ),
                "",
                -1,
                setting.options.mask(branch.when),
            )


def never_possible(setting: Setting, branch: Branch) -> Breach:
    """The breach for a branch that no state allows; said by the exploration."""
    return Breach(
        POSSIBLE.name,
        f"branch `{branch.id}` can be taken at no step: what it takes off or cleans is never in reach",
        (branch.id,),
        hint="check which items its steps name",
    )


CHECKS = (
    Check((READY,), act=start_prepared, verbs=frozenset({"remove"}), kinds=REMOVING),
    Check((READY,), act=start_with_clean_gloves, verbs=frozenset({"remove", "open"}), kinds=REMOVING),
    Check((HOLD,), act=holds, verbs=frozenset({"remove"}), kinds=REMOVING),
    Check(
        (GLOVES_SEEN,),
        act=inner_gloves_seen,
        verbs=frozenset({"remove", "open", "touch", "sanitize", "wash", "put-on"}),
        kinds=REMOVING,
    ),
    Check((TEAR,), whole=tear_branch, kinds=REMOVING),
    Check((BODY_SEEN, HOLD), end=final_inspection, kinds=REMOVING),
    Check((BREACH,), whole=breach_branch, kinds=REMOVING),
    Check((REJOINS,), whole=branch_rejoins),
    Check((LEAVES,), end=leaves_dressed, kinds=REMOVING),
    Check((POSSIBLE,), whole=branch_offered),
)
