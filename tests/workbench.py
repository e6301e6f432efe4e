"""The real corridor in memory, for tests: read, resolve, analyse, compose, place, write, read back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from docgen.analysis import analyse
from docgen.artifacts import write_pdf
from docgen.build.expected import expected
from docgen.build.figures import pictures
from docgen.build.layouts import layouts
from docgen.compose import compose
from docgen.edition import resolve
from docgen.findings import Finding
from docgen.model.change import Change
from docgen.model.edition import Edition
from docgen.model.moment import Analysis
from docgen.project import Project
from docgen.readback import examine, examine_page
from docgen.source import inline, read_protocol, read_site
from docgen.typeset import place
from docgen.typeset.faces import Faces

ROOT = Path(__file__).parent.parent


@cache
def project() -> Project:
    return Project(ROOT / "protocols")


@cache
def templates() -> Mapping[str, str]:
    """The shipped templates."""
    return project().templates()[0]


@cache
def faces() -> Faces:
    return Faces(project().fonts())


@cache
def edition(protocol: str, site: str) -> tuple[Edition, Analysis]:
    """A shipped edition with its analysis."""
    read = [
        door((ROOT / "protocols" / name).read_text("utf-8"), f"protocols/{name}")
        for door, name in ((read_protocol, f"{protocol}.yaml"), (read_site, f"sites/{site}.yaml"))
    ]
    resolved, findings = resolve(*read)
    assert resolved is not None, findings
    return resolved, analyse(resolved)


def made(
    of: Edition,
    analysis: Analysis,
    artifact: str,
    words: Mapping[str, str] | None = None,
    sheet: str = "",
    change: Change | None = None,
) -> tuple[bytes, tuple[Finding, ...]]:
    """The file of one artifact with what the read-back says of it; findings alone if it was refused on the way."""
    words = {**templates(), **(words or {})}
    laid, house, findings = layouts(words)
    assert house is not None, findings
    composition, problems = compose(of, artifact, words, analysis, inline, change=change)
    if composition is None:
        return b"", problems
    choice = of.sheet(artifact)
    name = sheet or choice.sheet or laid[artifact].sheet
    document, problems = place(
        composition,
        of,
        laid[artifact],
        house,
        faces(),
        pictures(of, analysis),
        sheet=name,
        distance=choice.distance or None,
    )
    if document is None:
        return b"", problems
    data = write_pdf(document, faces())
    wanted = expected(of, artifact, laid[artifact], name, composition)
    if change:
        wanted["before"] = change.before
    return data, (*problems, *examine(data, of, artifact, f"{artifact}.pdf", **wanted))


def at(of: Edition, **sheets: tuple[str, float]) -> Edition:
    """The edition with other sheets."""
    from docgen.model.edition import SheetChoice

    chosen = {**dict(of.sheets), **{name: SheetChoice(*choice) for name, choice in sheets.items()}}
    return replace(of, sheets=tuple(chosen.items()))


def paged(
    of: Edition, analysis: Analysis, words: Mapping[str, str] | None = None, artifact: str = "reader", **more: Any
) -> tuple[bytes, tuple[Finding, ...]]:
    """The file of a page for screens with what the read-back says of it. `words`: templates laid over the shipped."""
    from docgen.build.screens import page, written

    templates_ = {**templates(), **(words or {})}
    house = layouts(templates_)[1]
    assert house is not None
    composed, findings = page(artifact, ((of, analysis),), templates_, {}, more)
    if composed is None:
        return b"", findings
    data, _, findings = written(composed, ((of, analysis),), house, {}, faces())
    assert data is not None, findings
    known = composed.known(of.language)
    return data, examine_page(
        data, of, artifact, "page.html", draft=of.draft, known_words=known, script=composed.script
    )
