"""Turn an edition into what the figure shows: the wearer as each step of the main path or of a branch begins.

The main path is followed without branches; each branch from the first step at which it can be taken. A general edition
is shown with the first choice of each option.
"""

from __future__ import annotations

from collections.abc import Iterator

from docgen.analysis.sequence.acts import enter, leave
from docgen.analysis.sequence.explore import in_reach, needs, play, variants
from docgen.analysis.sequence.setting import GARMENTS, HANDS, Setting
from docgen.analysis.sequence.state import BARE, CLEAN, State, lacking, starts
from docgen.model.edition import Act, Branch, Step
from docgen.model.moment import Moment

LEADING = (
    "remove", "put-on", "change-gloves", "rub-hands", "wash", "sanitize", "open", "sit", "move", "clean", "collect",
    "apply", "inspect", "touch", "discard", "hand-over", "confirm", "wait", "note",
)  # fmt: skip
"""Which act of a step the figure shows: the one that changes most."""
BEHIND = frozenset({"ties", "neck-tie", "waist-tie", "lower-strap", "upper-strap"})


def moments(setting: Setting) -> tuple[Moment, ...]:
    """The moments of the main path, then of each branch that can be taken."""
    if not setting.edition.steps:
        return ()
    state = next((s for s, mask in starts(setting) if mask & 1), None)
    if state is None:
        return ()
    state = lacking(state, [i for i in state.worn if not setting.present[i] & 1])
    out: list[Moment] = []
    pending = {b.id: b for b in setting.edition.branches if setting.options.mask(b.when) & 1}
    branched: dict[str, State] = {}
    for step in setting.edition.steps:
        for branch in list(pending.values()):
            if branch.anywhere and in_reach(state, setting, needs(setting, branch)) & 1:
                branched[branch.id] = state
                del pending[branch.id]
        if not setting.options.mask(step.when) & 1:
            continue
        out.append(_moment(setting, state, step))
        state = _after(setting, state, step)
        for name in step.branches:
            if name in pending:
                branched[name] = state
                del pending[name]
    for branch in setting.edition.branches:
        out += _branch(setting, branch, branched.get(branch.id, state))
    return tuple(out)


def _branch(setting: Setting, branch: Branch, state: State) -> Iterator[Moment]:
    for step in branch.steps:
        if setting.options.mask(step.when) & 1:
            yield _moment(setting, state, step)
            state = _after(setting, state, step)


def _after(setting: Setting, state: State, step: Step) -> State:
    variant = next(v for v in variants(setting, step) if v.mask & 1)
    state = enter(setting, lacking(state, variant.absent), step)
    for _, _, _, became in play(setting, step, variant, state):
        state = became
    return leave(setting, state, step)


def _moment(setting: Setting, state: State, step: Step) -> Moment:
    act = min(step.acts, key=lambda a: LEADING.index(a.verb), default=None)
    wearer = state.wearer
    if wearer.hand == BARE:
        hands = BARE
    else:
        hands = setting.items[wearer.hand].layer or "single"
    actors = dict.fromkeys((step.actor, *(a.by for a in step.acts)))
    return Moment(
        step=step.id,
        worn=outermost_first(setting, state.worn),
        verb=act.verb if act else "",
        subject=act.targets if act else (),
        hands=hands,
        hands_clean=wearer.level == CLEAN,
        view=_view(setting, step, act),
        actors=tuple(actors),
        place=step.place or enter(setting, state, step).person(step.actor).place,
    )


def outermost_first(setting: Setting, worn: frozenset[str]) -> tuple[str, ...]:
    """Worn items from outside to inside: by what covers what, then by their order in the file."""
    rest = [item.id for item in setting.edition.items if item.id in worn]
    out: list[str] = []
    while rest:
        free = next((i for i in rest if not any(o in rest for o in setting.over.get(i, ()))), rest[0])
        rest.remove(free)
        out.append(free)
    return tuple(out)


def _view(setting: Setting, step: Step, act: Act | None) -> str:
    """Whence the figure is seen: from behind for straps, hoods and ties; the hands alone for what is done to them."""
    if step.picture in ("front", "back", "hands"):
        return step.picture
    if act is None:
        return "front"
    if any(t in HANDS or setting.gloves(t) for t in act.targets) and act.verb not in ("discard", "hand-over"):
        return "hands" if all(t in HANDS or setting.gloves(t) for t in act.targets) else "front"
    if act.touching == "rear-strap" or act.fastening in BEHIND:
        return "back"
    kinds = {setting.kind_of(t) for t in act.targets}
    if act.verb in ("remove", "open") and (kinds & {"hood", "powered-hood"}):
        return "back"
    if act.by != setting.wearer and act.verb in ("remove", "open", "touch") and kinds & GARMENTS:
        return "back"
    return "front"
