"""Turn what a walk found into findings: one for each root, with its story, its hint and its suggestion."""

from __future__ import annotations

from docgen.analysis.sequence.explore import Found, Walk
from docgen.analysis.sequence.mend import mend
from docgen.analysis.sequence.rules import SAFETY_RULES
from docgen.analysis.sequence.setting import Setting
from docgen.analysis.sequence.suggest import to_json, worded
from docgen.analysis.sequence.trace import Story, notes, tell
from docgen.findings import Finding, Note, Severity, Where
from docgen.model.moment import Rule

BY_NAME: dict[str, Rule] = {rule.name: rule for rule in SAFETY_RULES}


def severity_of(rule: Rule, profile: str, softer: bool = False) -> Severity | None:
    """How much a breach of a rule weighs in a profile; None when the rule is off there."""
    word = dict(rule.severity).get(profile, "error")
    if word == "off":
        return None
    severity = Severity(word)
    return Severity.WARNING if softer and severity is Severity.ERROR else severity


def findings_of(walk: Walk) -> tuple[Finding, ...]:
    """All findings of a walk, in the order of the sequence; breaches with one root are told once."""
    setting = walk.setting
    told: dict[tuple[str, ...], tuple[Story, list[Found]]] = {}
    for found in sorted(walk.found.values(), key=lambda f: _order(setting, f)):
        rule = BY_NAME[found.breach.rule]
        if severity_of(rule, setting.profile, found.breach.softer) is None:
            continue
        story = tell(walk, found)
        keys = _roots(found, story)
        known = next((key for key in keys if key in told), None)
        if known:
            told[known][1].append(found)
        else:
            told[keys[0]] = (story, [])
    return tuple(_finding(setting, story, also) for story, also in told.values())


def _order(setting: Setting, found: Found) -> tuple[int, int, int, int]:
    home = setting.home.get(found.step, "")
    steps = [s.id for s in setting.row(found.step)]
    place = steps.index(found.step) if found.step in steps else -1
    return (found.round, 1 if home else 0, place if found.at != -2 else len(steps), found.at)


def _roots(found: Found, story: Story) -> list[tuple[str, ...]]:
    """What makes two breaches the same fault: any of these. Down a branch, one fault about one thing is told once."""
    breach = found.breach
    family = breach.family or breach.rule
    if breach.root:
        root = (family, *breach.root)
    elif story.cause:
        root = (family, "cause", story.cause.step.id)
    else:
        root = (family, found.step, str(found.at), *breach.subject)
    if found.round:
        return [(family, "branch", story.taken[-1][0], *(breach.root or breach.subject)), root]
    return [root]


def _finding(setting: Setting, story: Story, also: list[Found]) -> Finding:
    found, breach = story.found, story.found.breach
    rule = BY_NAME[breach.rule]
    severity = severity_of(rule, setting.profile, breach.softer)
    assert severity is not None
    fix = mend(setting, story, also)
    told = notes(setting, story)
    if len(told) == 1 and found.at >= -1:
        told = ()  # it would only repeat the message
    again = sorted({f.step for f in also if f.step and f.step != found.step}, key=lambda s: _place(setting, s))
    if again:
        told += (Note(f"the same again at {', '.join(setting.label(s) for s in again)}"),)
    data = [
        ("options", ", ".join(f"{option}={choice}" for option, choice in story.choices)),
        ("branches", ", ".join(f"{name}@{step}" for name, step in story.taken)),
        ("combinations", f"{found.mask.bit_count()} of {len(setting.options.rows)}"),
        ("steps", ", ".join(dict.fromkeys(_steps(story)))),
        ("also", ", ".join(again)),
        ("suggestion", to_json(fix) if fix else ""),
    ]
    return Finding(
        rule=rule.name,
        severity=severity,
        message=_message(setting, found),
        where=_where(setting, found),
        hint=worded(setting, fix) if fix else breach.hint,
        step=found.step,
        site=setting.edition.site,
        protocol=setting.edition.protocol,
        notes=told,
        data=tuple((key, value) for key, value in data if value),
    )


def _steps(story: Story) -> list[str]:
    cause = [story.cause.step.id] if story.cause else []
    return [*cause, *([story.found.step] if story.found.step else [])]


def _place(setting: Setting, step: str) -> tuple[bool, int]:
    return (bool(setting.home.get(step)), setting.steps[step].number)


def _message(setting: Setting, found: Found) -> str:
    """The breach with its step: "at step 17 `hood-off`: …"."""
    if not found.step or found.at == -2:
        return found.breach.message
    label = setting.label(found.step)
    if " here" in found.breach.message:
        return found.breach.message.replace(" here", f" at {label}", 1)
    return f"{label}: {found.breach.message}"


def _where(setting: Setting, found: Found) -> Where:
    """The act, the step, or the thing the breach is about; at least the file."""
    step = setting.steps.get(found.step)
    if step and 0 <= found.at < len(step.acts) and step.acts[found.at].where != Where():
        return step.acts[found.at].where
    if step and found.at == -1:
        return step.where
    subject = next(iter(found.breach.subject), "")
    thing = setting.items.get(subject) or setting.branches.get(subject) or step
    if thing and thing.where != Where():
        return thing.where
    return Where(next((s.where.file for s in setting.edition.steps), ""))
