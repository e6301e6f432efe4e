"""Turn the rules into words: one rule explained, or the page of all of them."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from itertools import groupby

from docgen.analysis.timing import TIMING_RULES
from docgen.analysis.wording import WORDING_RULES
from docgen.model.moment import Rule

ROOMS = {
    "sequence": "Safety of the sequence",
    "wording": "Wording",
    "timing": "Timing",
    "language": "Translations",
}
"""Room → heading on the page."""


RULES: tuple[Rule, ...] = (*WORDING_RULES, *TIMING_RULES)
"""The rules about words and time; `docgen.analysis.RULES` has those of the sequence in front."""


def find_rule(name: str, rules: Iterable[Rule] = RULES) -> Rule | None:
    """The rule of that name; its room in front may be left out if the rest is clear."""
    rules = tuple(rules)
    exact = [r for r in rules if r.name == name]
    short = [r for r in rules if r.name.partition("/")[2] == name]
    return exact[0] if exact else short[0] if len(short) == 1 else None


def explain(name: str, rules: Iterable[Rule] = RULES) -> str:
    """The rule in plain words with its basis; for a name that is none, the nearest ones."""
    rules = tuple(rules)
    rule = find_rule(name, rules)
    if rule is None:
        near = _nearest(name, rules)
        listed = " or ".join(f"`{n}`" for n in near)
        guess = f"did you mean {listed}?" if near else "the page of rules lists them all"
        return f"there is no rule `{name}`; {guess}\n"
    lines = [rule.name, "", rule.title, "", f"Why: {rule.why}", f"Basis: {rule.basis}"]
    if rule.exceptions:
        lines.append(f"Exceptions: {rule.exceptions}")
    lines.append(f"Severity: {_severity(rule)}")
    lines.append(_release(rule))
    if rule.example:
        lines.append(f"Example: {rule.example}")
    return "\n".join(lines) + "\n"


def _nearest(name: str, rules: tuple[Rule, ...]) -> list[str]:
    """Up to three names, by the part behind the room: people mistype that, and guess the room."""
    tails = {r.name.partition("/")[2]: r.name for r in rules}
    close = difflib.get_close_matches(name.rpartition("/")[2], tails, 3, 0.6)
    begun = [t for t in tails if t.startswith(name.rpartition("/")[2] + "-")]
    return [tails[t] for t in dict.fromkeys([*close, *begun])][:3]


def rules_page(rules: Iterable[Rule] = RULES) -> str:
    """All rules as one Markdown page, by room in the order given."""
    out = [
        "# Rules",
        "",
        "What `docgen check` looks for, why, and who says so. `docgen check --explain RULE` prints one of them.",
    ]
    for room, members in groupby(rules, key=lambda r: r.name.partition("/")[0]):
        out += ["", f"## {ROOMS.get(room, room.capitalize())}"]
        for rule in members:
            out += ["", f"### `{rule.name}`", "", rule.title, "", f"- Why: {rule.why}", f"- Basis: {rule.basis}"]
            out += [f"- Exceptions: {rule.exceptions}"] if rule.exceptions else []
            out += [f"- Severity: {_severity(rule)}", f"- {_release(rule)}"]
            out += [f"- Example: {rule.example}"] if rule.example else []
    return "\n".join(out) + "\n"


def _severity(rule: Rule) -> str:
    levels = {level for _, level in rule.severity}
    if len(levels) == 1:
        return rule.severity[0][1]
    return "; ".join(f"{level} in profile `{profile}`" for profile, level in rule.severity)


def _release(rule: Rule) -> str:
    if not rule.waivable:
        return "It cannot be set aside."
    if rule.name.startswith("wording/"):
        return "A protocol may silence it, with a reason, under `silence`."
    if rule.name.startswith("language/"):
        return "A translator may accept it in a comment of the entry, with a reason: `# accepted: negation, why`."
    if rule.name.startswith("timing/"):
        return "It stops nothing: no need to set it aside."
    return "A site may waive it, with reason, name and dates, under `waivers`."
