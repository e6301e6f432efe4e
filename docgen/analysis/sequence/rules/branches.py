"""Rules about branches: there is one for a tear and one for any moment, and each leads somewhere."""

from __future__ import annotations

from collections.abc import Iterator

from docgen.analysis.sequence.rules.base import (
    CDC_VHF,
    MEMORY,
    NO_SOURCE,
    REMOVING,
    STRICTER,
    WARN,
    Breach,
    Check,
    End,
)
from docgen.analysis.sequence.setting import Setting
from docgen.analysis.sequence.state import BARE
from docgen.model.edition import Branch
from docgen.model.moment import Rule

TEAR = Rule(
    "sequence/tear-branch-incomplete",
    "The inspection of the inner gloves offers a branch for a tear: pair off, bare hands cleaned, new pair on, back.",
    "The moment a tear is found is no moment to think one up.",
    f"{CDC_VHF}, powered respirator and gown, removal page 09",
    "Single-glove protocols.",
    STRICTER,
    example="no branch is offered for a tear found here → name a branch under `branches:` of this step",
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
        yield Breach(REJOINS.name, say, (branch.id,), hint=hint), "", -1, setting.options.mask(branch.when)


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


def never_possible(branch: Branch) -> Breach:
    """The breach for a branch that no state allowed."""
    return Breach(
        POSSIBLE.name,
        f"branch `{branch.id}` can be taken at no step: what it takes off or cleans is never in reach",
        (branch.id,),
        hint="check which items its steps name",
    )


CHECKS = (
    Check((TEAR,), whole=tear_branch, kinds=REMOVING),
    Check((BREACH,), whole=breach_branch, kinds=REMOVING),
    Check((REJOINS,), whole=branch_rejoins),
    Check((LEAVES,), end=leaves_dressed, kinds=REMOVING),
    Check((POSSIBLE,), whole=branch_offered),
)
