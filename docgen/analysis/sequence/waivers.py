"""Turn a site's waivers into fewer findings, and into findings about the waivers themselves.

A waiver sets one safety rule aside, at some steps or at all, for a reason, by name, until a review date. Three rules
cannot be set aside. There is no clock in here: whoever calls says what day it is, or no waiver expires.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import replace
from difflib import get_close_matches

from docgen.analysis.sequence.rules.base import NO_SOURCE
from docgen.findings import Finding, error, warning
from docgen.model.edition import Edition, Waiver
from docgen.model.moment import Rule

_ALWAYS = (("standard", "error"), ("enhanced", "error"))
_WARNING = (("standard", "warning"), ("enhanced", "warning"))

NOT_ALLOWED = Rule(
    "sequence/waiver-not-allowed",
    "Three rules cannot be set aside: nothing comes off that is not worn; bare hands are cleaned right after the last "
    "gloves; hand hygiene ends the sequence.",
    "No published source knows an exception to them.",
    "every published removal sequence read for this tool",
    "",
    _ALWAYS,
    waivable=False,
    example="`sequence/ends-without-hand-hygiene` cannot be waived → mend the sequence and delete the waiver",
)
UNKNOWN = Rule(
    "sequence/waiver-unknown",
    "A waiver names a rule and steps that exist.",
    "A waiver with a misspelt name protects nobody and looks as if it did.",
    NO_SOURCE,
    "",
    _ALWAYS,
    waivable=False,
    example="there is no rule `sequence/hold-mising` → did you mean `sequence/hold-missing`?",
)
EXPIRED = Rule(
    "sequence/waiver-expired",
    "A waiver is reviewed by its review date; after that it waives nothing.",
    "What was an exception for a time must not become a habit.",
    NO_SOURCE,
    "",
    _ALWAYS,
    waivable=False,
    example="the waiver of `sequence/hold-missing` was to be reviewed by 2026-01-31 → review it, or delete it",
)
UNUSED = Rule(
    "sequence/waiver-unused",
    "A waiver sets something aside.",
    "A waiver that is left behind hides the next fault of its kind.",
    NO_SOURCE,
    "",
    _WARNING,
    waivable=False,
    example="the waiver of `sequence/hold-missing` waives nothing → delete it",
)

WAIVER_RULES = (NOT_ALLOWED, UNKNOWN, EXPIRED, UNUSED)


def waive(
    edition: Edition, findings: Iterable[Finding], rules: Iterable[Rule], today: datetime.date | None
) -> tuple[Finding, ...]:
    """The findings that stand, then those about the waivers. Without `today` no waiver has expired."""
    by_name = {rule.name: rule for rule in rules}
    findings = list(findings)
    steps = {step.id for step in edition.all_steps()}
    about: list[Finding] = []
    waived: set[int] = set()
    for waiver in edition.waivers:
        trouble = _trouble(waiver, by_name, steps, today)
        covered = [n for n, f in enumerate(findings) if _covers(waiver, f)]
        if trouble:
            about.append(_placed(edition, trouble))
        elif covered:
            waived |= set(covered)
        else:
            say = f"the waiver of `{waiver.rule}` by {waiver.by} waives nothing"
            about.append(_placed(edition, warning(UNUSED.name, say, waiver.where, hint="delete it")))
    return (*(f for n, f in enumerate(findings) if n not in waived), *about)


def _placed(edition: Edition, finding: Finding) -> Finding:
    return replace(finding, site=edition.site, protocol=edition.protocol)


def _covers(waiver: Waiver, finding: Finding) -> bool:
    """Whether a waiver names the rule and every step at which the finding is told."""
    also = [s for s in dict(finding.data).get("also", "").split(", ") if s]
    return waiver.rule == finding.rule and (not waiver.steps or {finding.step, *also} <= set(waiver.steps))


def _trouble(waiver: Waiver, rules: dict[str, Rule], steps: set[str], today: datetime.date | None) -> Finding | None:
    """What keeps a waiver from waiving, if anything."""
    rule = rules.get(waiver.rule)
    if rule is None:
        close = get_close_matches(waiver.rule, rules, 1)
        hint = f"write `{close[0]}`, if that was meant" if close else "name a rule of the list of all rules"
        return error(UNKNOWN.name, f"there is no rule `{waiver.rule}` to waive", waiver.where, hint=hint)
    if not rule.waivable:
        say = f"`{waiver.rule}` cannot be waived"
        return error(NOT_ALLOWED.name, say, waiver.where, hint="mend the sequence and delete the waiver")
    lost = [s for s in waiver.steps if s not in steps]
    if lost:
        say = f"the waiver of `{waiver.rule}` names `{lost[0]}`, which is no step of this edition"
        return error(UNKNOWN.name, say, waiver.where, hint="correct the step, or delete the waiver")
    if today and waiver.review < today:
        say = f"the waiver of `{waiver.rule}` was to be reviewed by {waiver.review.isoformat()}"
        return error(EXPIRED.name, say, waiver.where, hint="review it and set a new date, or delete it")
    return None
