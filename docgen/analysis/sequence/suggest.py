"""Turn a broken rule into the smallest change that mends it, and that change into a new edition.

A change names acts by their step and place in it, so that it survives renumbering. The same value is worded for the
hint, written as JSON for programs, and applied by `apply`, which is how the tests know that the hints are true.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, fields, replace
from typing import Any

from docgen.analysis.sequence.setting import Setting
from docgen.model.edition import Act, Branch, Edition, Hold, Phase, Step, Time, When
from docgen.model.text import NO_TEXT, Run, Text

SAID = {
    "put-on": "put on",
    "change-gloves": "change",
    "rub-hands": "rub hands:",
    "hand-over": "hand over",
}


@dataclass(frozen=True, slots=True)
class Change:
    """One change to a sequence."""

    op: str
    """`insert` (a new step with one act), `insert-act` (an act inside a step), `move` (a step), `remove` (an act),
    `replace` (an act), `hold` (add a hold to a step)."""
    step: str
    """The step that is changed; for `insert` the neighbour; for `move` the step that is moved."""
    act: Act | None = None
    at: int = 0
    """Place of the act in its step, from 0: `insert-act` puts the new act before it."""
    after: bool = False
    """`insert`, `move`: after the neighbour rather than before it."""
    neighbour: str = ""
    """`move`: the step next to which it goes."""
    by: str = ""
    """`hold`: who confirms."""
    when: When = ()
    """`insert`: the `when` of the new step."""


def before(act: Act, step: str, at: int) -> Change:
    """Insert an act right before act `at` of a step: as a step of its own where that is the first act."""
    return Change("insert-act", step, act, at) if at else Change("insert", step, act)


def after(act: Act, step: str) -> Change:
    """Insert an act as a step of its own after a step."""
    return Change("insert", step, act, after=True)


def like(setting: Setting, act: Act) -> Act:
    """An act in the fashion of this edition: with the supplies, container and time a similar act of it has."""
    own = act.by == setting.wearer
    if act.verb == "remove" and not act.into:
        act = replace(act, into=next((a.into for _, _, a in setting.acts() if a.verb == "discard" and a.into), ""))
    for _, _, other in setting.acts():
        if other.verb == act.verb and (other.by == setting.wearer) is own and _same_sort(setting, act, other):
            using, into = act.using or other.using, act.into or other.into
            return replace(act, using=using, into=into, time=act.time or other.time)
    return act


def _same_sort(setting: Setting, act: Act, other: Act) -> bool:
    return {setting.kind_of(t) for t in act.targets} == {setting.kind_of(t) for t in other.targets}


# --- words --------------------------------------------------------------------------------------------------


def said(act: Act) -> str:
    """An act in a few words: "sanitize `inner-gloves`"."""
    things = ", ".join(f"`{t}`" for t in act.targets)
    words = [SAID.get(act.verb, act.verb), *([things] if things else [])]
    if act.verb == "open" and act.fastening:
        words.append(f"({act.fastening})")
    if act.into:
        words.append(f"into `{act.into}`")
    if act.to:
        words.append(f"to `{act.to}`")
    if act.verb in ("inspect", "confirm", "sanitize") and act.by not in ("", "wearer"):
        words.append(f"by `{act.by}`")
    return " ".join(words)


def worded(setting: Setting, change: Change) -> str:
    """The change as an imperative: "add: sanitize `inner-gloves` between step 17 `…` and step 18 `…`"."""
    here = setting.label(change.step)
    act = said(change.act) if change.act else ""
    if change.op == "insert":
        only = " and ".join(f"`{option}: {_choices(choices)}`" for option, choices in change.when)
        return f"add{f' with {only}' if only else ''}: {act} {_between(setting, change)}"
    if change.op == "insert-act":
        return f"add: {act} inside {here}, before its act {change.at + 1}: {_nth(setting, change)}"
    if change.op == "move":
        side = "after" if change.after else "before"
        return f"move {here} to {side} {setting.label(change.neighbour)}"
    if change.op == "remove":
        return f"delete: {_nth(setting, change)} in {here}"
    if change.op == "replace":
        only = _one_field(setting, change)
        if only:
            return f"write {only} in {here}, act {change.at + 1}: {_nth(setting, change)}"
        return f"write {act} instead of {_nth(setting, change)} in {here}"
    return f"add a hold by `{change.by}` to {here}"


def _choices(choices: tuple[str, ...]) -> str:
    """As they are written in a `when`."""
    return choices[0] if len(choices) == 1 else f"[{', '.join(choices)}]"


def _one_field(setting: Setting, change: Change) -> str:
    """The one detail in which a replaced act differs, as it is written in the file; empty when there is more."""
    old, new = setting.steps[change.step].acts[change.at], change.act
    assert new is not None
    for name in ("touching", "into"):
        if replace(old, **{name: getattr(new, name)}) == new:
            return f"`{name}: {getattr(new, name)}`"
    return ""


def _nth(setting: Setting, change: Change) -> str:
    acts = setting.steps[change.step].acts
    return said(acts[change.at]) if change.at < len(acts) else ""


def _between(setting: Setting, change: Change) -> str:
    ids = [s.id for s in setting.row(change.step)]
    here = ids.index(change.step) + (1 if change.after else 0)
    if here == 0:
        return f"before {setting.label(ids[0])}"
    if here == len(ids):
        return f"after {setting.label(ids[-1])}"
    return f"between {setting.label(ids[here - 1])} and {setting.label(ids[here])}"


# --- JSON ---------------------------------------------------------------------------------------------------


def to_json(change: Change) -> str:
    """The change as one line of JSON: only what is said."""
    plain = {f.name: getattr(change, f.name) for f in fields(change) if getattr(change, f.name)}
    if change.act:
        plain["act"] = _act_json(change.act)
    return json.dumps(plain, ensure_ascii=False, sort_keys=True)


def _act_json(act: Act) -> dict[str, object]:
    out: dict[str, object] = {"verb": act.verb, "targets": list(act.targets), "by": act.by}
    for name in ("using", "touching", "fastening", "into", "to", "on", "combined"):
        value = getattr(act, name)
        if value:
            out[name] = list(value) if isinstance(value, tuple) else value
    if act.time:
        time = act.time
        said = {"least": time.least, "most": time.most, "until": time.until.source, "contact": time.contact}
        out["time"] = {key: value for key, value in said.items() if value}
    return out


def from_json(line: str) -> Change:
    """The change that `to_json` wrote."""
    plain = json.loads(line)
    if "act" in plain:
        act: dict[str, Any] = {k: tuple(v) if isinstance(v, list) else v for k, v in plain["act"].items()}
        if "time" in act:
            until = act["time"].pop("until", "")
            act["time"] = Time(until=Text("", until, (Run(until),)) if until else NO_TEXT, **act["time"])
        plain["act"] = Act(**act)
    if "when" in plain:
        plain["when"] = tuple((option, tuple(choices)) for option, choices in plain["when"])
    return Change(**plain)


# --- applying -----------------------------------------------------------------------------------------------


def apply(edition: Edition, suggestion: Change | str) -> Edition:
    """The edition with a change made (a `Change`, or the JSON of a finding's `suggestion`), its steps numbered anew."""
    change = from_json(suggestion) if isinstance(suggestion, str) else suggestion
    main = _row(edition.steps, change, edition)
    branches = [replace(b, steps=_row(b.steps, change, edition)) for b in edition.branches]
    phases = _phases(edition.phases, main)
    return replace(
        edition,
        steps=tuple(replace(s, number=n, label=str(n)) for n, s in enumerate(main, 1)),
        branches=tuple(_numbered(b) for b in branches),
        phases=phases,
    )


def _numbered(branch: Branch) -> Branch:
    steps = (replace(s, number=n, label=f"{branch.letter}{n}") for n, s in enumerate(branch.steps, 1))
    return replace(branch, steps=tuple(steps))


def _phases(phases: tuple[Phase, ...], main: tuple[Step, ...]) -> tuple[Phase, ...]:
    return tuple(replace(p, steps=tuple(s.id for s in main if s.phase == p.id)) for p in phases)


def _row(steps: tuple[Step, ...], change: Change, edition: Edition) -> tuple[Step, ...]:
    at = next((n for n, s in enumerate(steps) if s.id == change.step), None)
    if at is None:
        return steps
    row = list(steps)
    here = row[at]
    acts = list(here.acts)
    if change.op == "insert" and change.act:
        row.insert(at + (1 if change.after else 0), _new_step(edition, here, change))
    elif change.op == "move":
        row.pop(at)
        to = next(n for n, s in enumerate(row) if s.id == change.neighbour)
        row.insert(to + (1 if change.after else 0), replace(here, phase=row[to].phase, place=row[to].place))
    elif change.op == "insert-act" and change.act:
        acts.insert(change.at, change.act)
        row[at] = replace(here, acts=tuple(acts))
    elif change.op == "replace" and change.act:
        acts[change.at] = change.act
        row[at] = replace(here, acts=tuple(acts))
    elif change.op == "remove":
        acts.pop(change.at)
        row[at] = replace(here, acts=tuple(acts))
    elif change.op == "hold":
        words = Text(f"step.{here.id}.hold", "everything is in order", (Run("everything is in order"),))
        row[at] = replace(here, hold=Hold(change.by, words))
    return tuple(row)


def _new_step(edition: Edition, here: Step, change: Change) -> Step:
    act = change.act
    assert act is not None
    taken = {s.id for s in edition.all_steps()}
    id = next(name for n in range(1, len(taken) + 2) if (name := f"added-{n}") not in taken)
    words = said(act).replace("`", "")
    headline = Text(f"step.{id}.headline", words, (Run(words[:1].upper() + words[1:]),))
    return Step(id, 0, "", here.phase, headline, act.by, here.place, acts=(act,), when=change.when, where=here.where)
