"""Turn sources into everything there is to say about them, without making a sheet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from docgen.build.outcome import Outcome
from docgen.build.prepare import beside, of_releases
from docgen.build.released import histories
from docgen.build.shelf import Asked, Bound, Front, bind, front, shelve
from docgen.findings import error, has_errors
from docgen.model.moment import Rule
from docgen.project import Project
from docgen.report import counted, gather


def check(project: Project, asked: Asked, rooms: Front | None = None) -> Outcome:
    """Check protocols alone, with all their options, and at every site that uses them."""
    rooms = rooms or front()
    shelf = shelve(project, asked, rooms)
    past = histories(project)
    bounds = tuple(beside(b, past, shelf) for b in bind(shelf, rooms, alone=True))
    findings = gather([*shelf.findings, *of_releases(shelf, past), *(f for b in bounds for f in b.findings)])
    return Outcome(findings, tuple(_lines(bounds)))


def explained(rule: str) -> Outcome:
    """A rule in plain words, with its basis."""
    from docgen.analysis.rules import explain

    words = explain(rule, rules()).rstrip("\n")
    if not words.startswith(tuple(r.name for r in rules())):
        message, _, hint = words.partition("; ")
        return Outcome((error("project/unknown-rule", message, hint=hint),))
    return Outcome((), (words,))


def rules() -> tuple[Rule, ...]:
    """Every rule that can be explained."""
    from docgen.analysis import RULES
    from docgen.language import RULES as OF_LANGUAGES

    return (*RULES, *OF_LANGUAGES)


def _lines(bounds: Sequence[Bound]) -> Iterator[str]:
    """One line for each protocol without errors: what was looked at."""
    for alone in (b for b in bounds if b.site is None):
        everywhere = [b for b in bounds if b.protocol is alone.protocol]
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
