"""Turn two protocols that belong together into findings: what one puts on, the other must take off."""

from __future__ import annotations

from dataclasses import replace

from docgen.analysis.sequence.rules.base import ALWAYS_ERROR, NO_SOURCE
from docgen.findings import Finding, Where, error
from docgen.model.edition import Edition, Item
from docgen.model.moment import Rule

PAIR = Rule(
    "sequence/pair-differs",
    "Paired protocols agree on the ensemble: the same items, of the same kind, with the same covering, under the same "
    "options.",
    "A person who was dressed by one page stands before another that does not know what they wear.",
    NO_SOURCE,
    "New gloves that only the removal puts on (`worn: false`).",
    ALWAYS_ERROR,
    waivable=False,
    example="`goggles` are put on by `room-in` but never taken off by `room-out` → add the item to `room-out`",
)


def check_pair(removing: Edition, putting_on: Edition) -> tuple[Finding, ...]:
    """Findings about the ensemble of two editions that pair with each other; none when they agree."""
    off = {i.id: i for i in removing.items if i.worn}
    on = {i.id: i for i in putting_on.items if i.worn or i.kept}
    on |= {i.id: i for i in putting_on.items if i.id in off}
    findings = []
    for item in on.values():
        if item.id not in off and not item.kept:
            say = f"`{item.id}` is put on by `{putting_on.protocol}` but not worn in `{removing.protocol}`"
            findings.append(_finding(removing, say, item.where, f"add the item to `{removing.protocol}`"))
    for item in off.values():
        if item.id not in on and not item.kept:
            say = f"`{item.id}` is taken off by `{removing.protocol}` but never put on by `{putting_on.protocol}`"
            findings.append(_finding(putting_on, say, item.where, f"add the item to `{putting_on.protocol}`"))
    for id in sorted(set(off) & set(on)):
        for what, hint in _differences(off[id], on[id], set(off) & set(on)):
            say = f"`{id}` {what} in `{removing.protocol}` and `{putting_on.protocol}`"
            findings.append(_finding(removing, say, off[id].where, hint))
    return tuple(findings)


def _differences(a: Item, b: Item, shared: set[str]) -> list[tuple[str, str]]:
    out = []
    if a.kind != b.kind:
        out.append((f"is of two kinds, `{a.kind}` and `{b.kind}`,", "give it one kind"))
    if (a.layer or "single") != (b.layer or "single") and a.kind == "gloves":
        out.append((f"is in two layers, `{a.layer or 'single'}` and `{b.layer or 'single'}`,", "give it one layer"))
    if set(a.covers) & shared != set(b.covers) & shared:
        other = sorted((set(a.covers) ^ set(b.covers)) & shared)
        out.append((f"does not cover the same: `{other[0]}` is named in one only,", "make `covers:` the same"))
    if sorted(a.when) != sorted(b.when):
        out.append(("does not depend on the same choices", "make `when:` the same"))
    return out


def _finding(edition: Edition, message: str, where: Where, hint: str) -> Finding:
    finding = error(PAIR.name, message, where, hint=hint)
    return replace(finding, protocol=edition.protocol, site=edition.site)
