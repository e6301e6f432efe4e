"""Turn the change that a rule proposes where a breach was met into one that mends it wherever the same was met.

A rule sees one act in one state. The same fault may show at another step under other options, as when a hygiene step is
lost after an item that comes off under one choice, and the next thing handled differs with another: then the change has
to stand before the first of those steps, in every combination that meets one of them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from docgen.analysis.sequence.explore import Found
from docgen.analysis.sequence.setting import Setting
from docgen.analysis.sequence.suggest import Change, after, before, like
from docgen.analysis.sequence.trace import Story
from docgen.model.edition import Act, Step, When


def mend(setting: Setting, story: Story, also: Iterable[Found]) -> Change | None:
    """The change for a breach that is told once for all of `also`; None when its rule proposes none."""
    found, fix = story.found, story.found.breach.fix
    if fix is None:
        return None
    if fix.op == "move":
        fix = _moved(setting, found, fix)
    if fix.op not in ("insert", "insert-act"):
        return fix
    row = [s.id for s in setting.row(found.step)]
    same = [f for f in also if f.step in row and f.breach.fix and f.breach.fix.act == fix.act]
    mask = found.mask
    for other in same:
        mask |= other.mask
    by_itself = story.cause is None or story.cause.step.id != found.step
    if fix.op == "insert-act" and by_itself and any(f.step != found.step for f in same):
        fix = _as_step(setting, fix)
    return replace(fix, when=_when(setting, fix, mask)) if fix.op == "insert" else fix


def _when(setting: Setting, fix: Change, mask: int) -> When:
    """The choices a new step is limited to, beyond those of the branch it stands in."""
    branch = setting.branches.get(setting.home.get(fix.step, ""))
    return setting.options.around(mask, setting.options.mask(branch.when) if branch else setting.options.all)


def _as_step(setting: Setting, fix: Change) -> Change:
    """An act before all of a step's own. Whoever is told to go elsewhere is told where they still are."""
    act = fix.act
    assert act is not None
    if act.verb != "move":
        return before(act, fix.step, 0)
    row: list[Step] = list(setting.row(fix.step))
    at = next(n for n, s in enumerate(row) if s.id == fix.step)
    still = [s for s in row[:at] if s.place != row[at].place]
    return after(act, still[-1].id) if still else fix


def _moved(setting: Setting, found: Found, fix: Change) -> Change:
    """A step that moves must be there in every combination that needs it; else another, else a new one."""

    def there(step: str) -> bool:
        return not found.mask & ~setting.options.mask(setting.steps[step].when)

    because = found.breach.because
    if there(fix.step) or because[:1] != ("later",):
        return fix
    item, here = because[1], setting.index[found.step]
    for step in setting.find("remove", item):
        if setting.index[step] > here and there(step):
            return replace(fix, step=step)
    return before(like(setting, Act("remove", (item,), setting.wearer)), found.step, 0)
