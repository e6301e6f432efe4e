"""Rules about what a step has to say for its acts to be safe: times, cautions, and the spoken loop."""

from __future__ import annotations

from collections.abc import Iterator

from docgen.analysis.sequence.rules.base import (
    CDC_VHF,
    ENHANCED,
    MEMORY,
    NO_SOURCE,
    STRICTER,
    WARN,
    Breach,
    Check,
    comes,
    is_,
)
from docgen.analysis.sequence.setting import HYGIENE, Setting
from docgen.model.edition import Act, Step, Time
from docgen.model.moment import Rule

TIME = Rule(
    "sequence/hygiene-without-time",
    "Every act of hygiene has a duration or an end point that can be seen.",
    "Without one it becomes a gesture; an agent works only for as long as the surface is wet.",
    f"World Health Organization, WHO Guidelines on Hand Hygiene in Health Care, 2009 {MEMORY}: rub 20 to 30 seconds, "
    f"wash 40 to 60 seconds; US EPA label contact times {MEMORY}",
    "",
    WARN,
    example="`inner-gloves` are sanitized here for an unstated time → add `time:` to this act",
)
CAUTION = Rule(
    "sequence/caution-missing",
    "Steps that take off gloves, a tight respirator or a coverall carry the cautions these acts need.",
    "Bare skin and a snapping cuff; the front of the respirator; the zip close to the skin: each has caused exposures.",
    NO_SOURCE,
    "`bare-skin` is asked for only where a pair comes off that lies on the skin.",
    STRICTER,
    example="`inner-gloves` come off here without a caution about `snapping` → attach a caution with `about: snapping`",
)
LOOP = Rule(
    "sequence/loop-not-closed",
    "Every step has a call, an answer of whoever acts, and a check that it is complete.",
    "Only what was said back and seen is known to be done.",
    f"{CDC_VHF}, trained observer pages 12 and 16",
    "General precautions know no observer. A step of the observer needs no answer.",
    ENHANCED,
    example="this step has no `answer` → add what the wearer says back",
)


def hygiene_without_time(setting: Setting) -> Iterator[tuple[Breach, str, int, int]]:
    """Hygiene for an unstated time. In a site's edition a contact time must have become seconds."""
    for step, at, act in setting.acts():
        if not _is_hygiene(setting, act) or _timed(setting, act.time, step.time) or _waited_for(setting, step, at):
            continue
        what = "hands" if not act.targets or act.targets == ("bare",) else f"`{act.targets[0]}`"
        time = act.time or step.time
        if time and time.contact:
            hint = f"give `contact-seconds` of `{time.contact}` in the site file"
        else:
            hint = "add `time:` with `seconds:`, `until:` or `contact:`"
        say = f"`{act.verb}` of {what} has neither a duration nor an end point here"
        yield Breach(TIME.name, say, (act.verb, *act.targets), hint=hint), step.id, at, setting.options.mask(step.when)


def _is_hygiene(setting: Setting, act: Act) -> bool:
    """What is applied counts when it cleans: absorbent pads do not."""
    if act.verb == "apply":
        return any(setting.supplies[t].kind == "agent" for t in act.targets if t in setting.supplies)
    return act.verb in HYGIENE


def _timed(setting: Setting, *times: Time | None) -> bool:
    general = not setting.edition.site
    return any(t and (t.least or t.most or t.until or (t.contact and general)) for t in times)


def _waited_for(setting: Setting, step: Step, at: int) -> bool:
    """Whether an agent that is applied works during a timed `wait`, later in this step or in the next."""
    if step.acts[at].verb != "apply":
        return False
    row = setting.row(step.id)
    here = row.index(step)
    rest = [*((step, a) for a in step.acts[at + 1 :]), *((s, a) for s in row[here + 1 : here + 2] for a in s.acts)]
    return any(a.verb == "wait" and _timed(setting, a.time, s.time) for s, a in rest)


def _needed(setting: Setting, act: Act) -> Iterator[tuple[str, str]]:
    """What this act puts at risk, as (item, class of caution)."""
    for target in act.targets:
        item = setting.items.get(target)
        if item is None:
            continue
        if item.kind == "gloves" and act.verb in ("remove", "change-gloves") and act.by == setting.wearer:
            yield target, "snapping"
            if item.layer != "outer":
                yield target, "bare-skin"
        if item.kind == "respirator" and act.verb == "remove":
            yield target, "front-untouched"
        if item.kind == "coverall" and (act.verb == "remove" or (act.verb == "open" and act.fastening == "zip")):
            yield target, "zip-and-skin"


def caution_missing(setting: Setting) -> Iterator[tuple[Breach, str, int, int]]:
    """Classes of caution an act needs and its step lacks, under some options."""
    for step, at, act in setting.acts():
        for target, about in _needed(setting, act):
            lacking = setting.options.mask(step.when)
            for caution in step.cautions:
                if about in caution.about:
                    lacking &= ~setting.options.mask(caution.when)
            if lacking:
                does = f"{comes(target)} off" if act.verb != "open" else f"{is_(target)} opened"
                yield (
                    Breach(
                        CAUTION.name,
                        f"{does} here without a caution about `{about}`",
                        (target, about),
                        hint=f"attach a caution with `about: {about}` to this step",
                        root=(step.id, target, about),
                    ),
                    step.id,
                    at,
                    lacking,
                )


def loop_not_closed(setting: Setting) -> Iterator[tuple[Breach, str, int, int]]:
    """Steps without call, answer or completion check."""
    for step in setting.steps.values():
        missing = []
        if not step.say:
            missing.append("say")
        if not step.answer and not setting.watches(step.actor):
            missing.append("answer")
        if not step.done_when and not step.watch and not step.hold:
            missing.append("done-when")
        if missing:
            names = " and ".join(f"`{m}`" for m in missing)
            breach = Breach(LOOP.name, f"this step has no {names}", tuple(missing), hint=f"add {names}")
            yield breach, step.id, -1, setting.options.mask(step.when)


CHECKS = (
    Check((TIME,), whole=hygiene_without_time),
    Check((CAUTION,), whole=caution_missing),
    Check((LOOP,), whole=loop_not_closed, kinds=frozenset({"removing", "putting-on"})),
)
