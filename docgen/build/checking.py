"""Turn sources into everything there is to say about them, without making a sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from docgen.build.outcome import Outcome
from docgen.build.prepare import beside, of_releases
from docgen.build.released import histories
from docgen.build.shelf import LOOSE_ENDS, Asked, Bound, Front, Shelf, bind, front, shelve
from docgen.findings import Finding, Severity, Where, error, has_errors, warning
from docgen.model.moment import Rule
from docgen.project import Project
from docgen.report import counted, gather


def check(project: Project, asked: Asked, rooms: Front | None = None) -> Outcome:
    """Check protocols alone, with all their options, and at every site that uses them."""
    rooms = rooms or front()
    shelf = shelve(project, asked, rooms)
    past = histories(project)
    bounds = tuple(beside(b, past, shelf) for b in bind(shelf, rooms, alone=True))
    said = (*shelf.findings, *of_releases(shelf, past), *(f for b in bounds for f in b.findings))
    findings = gather((*said, *_not_analysed(shelf, bounds)))
    return Outcome(findings, tuple(_lines(bounds, shelf, asked)))


def explained(rule: str) -> Outcome:
    """A rule in plain words, with its basis."""
    from docgen.analysis.rules import explain
    from docgen.readback import RULES as READ_BACK

    words = explain(rule, rules()).rstrip("\n")
    plain = dict(READ_BACK).get(rule)
    if plain:
        return Outcome(
            (), (f"{rule}\n\n{plain[:1].upper()}{plain[1:]}.\n\nWhat `make` and `verify` look for on files.",)
        )
    if not words.startswith(rule) and rule.partition("/")[0] in SELF_EXPLAINED:
        return Outcome((), (f"{rule}\n\n{SELF_EXPLAINED[rule.partition('/')[0]]}",))
    if not words.startswith(tuple(r.name for r in rules())):
        message, _, hint = words.partition("; ")
        return Outcome((error("project/unknown-rule", message, hint=hint),))
    return Outcome((), (words,))


SELF_EXPLAINED = {
    room: f"A rule about {what}: the finding itself says what is wrong, and its hint how to mend it."
    for room, what in {
        "source": "how a protocol or site is written",
        "edition": "how a protocol and a site go together",
        "compose": "templates",
        "typeset": "what fits on a sheet",
        "build": "what was asked for",
        "project": "files that are read",
        "publish": "files that are written",
        "release": "releases",
        "tally": "checklists and records that are counted",
    }.items()
}
"""Rooms whose rules have no entry of their own."""


def rules() -> tuple[Rule, ...]:
    """Every rule that can be explained."""
    from docgen.analysis import RULES
    from docgen.language import RULES as OF_LANGUAGES

    return (*RULES, *OF_LANGUAGES)


def _not_analysed(shelf: Shelf, bounds: Sequence[Bound]) -> Iterator[Finding]:
    """A warning for each protocol whose errors kept its steps from being analysed: silence is not safety."""
    analysed = {b.protocol.file for b in bounds if b.site is None and b.analysis}
    for read in shelf.protocols:
        errors = [f for f in shelf.findings if f.severity is Severity.ERROR and f.where.file == read.file]
        wrong = [f for f in errors if f.rule not in LOOSE_ENDS]
        if read.file in analysed or not wrong or any(f.rule.startswith("project/") for f in wrong):
            continue
        lines = sorted({f.where.line for f in wrong if f.where.line})
        because = f"line {', '.join(map(str, lines[:3]))}{' and others' if lines[3:] else ''}" if lines else "this file"
        yield warning(
            "build/not-analysed",
            f"its steps were not analysed because of what is wrong in {because}: "
            "what is unsafe in them is not shown yet",
            Where(read.file), hint="mend that first, then check again",
            protocol=read.value.protocol if read.value else "",
        )  # fmt: skip


def _lines(bounds: Sequence[Bound], shelf: Shelf, asked: Asked) -> Iterator[str]:
    """One line for each protocol without errors: what was looked at. Of some sites only, those they use."""
    some = bool(asked.sites) or any(f.parent.name == "sites" for f in asked.files)
    names = [f"`{s.value.site}`" for s in shelf.sites if s.value]
    if some and names and not any(b.site for b in bounds):
        yield f"{' and '.join(names)} {'uses' if len(names) == 1 else 'use'} none of the protocols checked"
        return
    for alone in (b for b in bounds if b.site is None):
        everywhere = [b for b in bounds if b.protocol is alone.protocol]
        if some and len(everywhere) == 1:
            continue
        if has_errors(f for b in everywhere for f in b.findings) or not all(b.edition for b in everywhere):
            continue
        assert alone.edition and alone.analysis
        edition, counts = alone.edition, alone.analysis.counts
        line = f"{edition.protocol} {edition.version}: {counted(len(edition.steps), 'step')}"
        if counts.states:
            options = f"{counted(counts.combinations, 'combination')} of options"
            line += f", {options}, {counted(counts.branch_points, 'branch point')}, {counted(counts.states, 'state')}"
        if counts.bounded:
            line += f" ({counts.bounded})"
        sites = ", ".join(b.edition.site for b in everywhere if b.site and b.edition)
        yield f"{line}; {f'at {sites}' if sites else 'used by no site'}"
