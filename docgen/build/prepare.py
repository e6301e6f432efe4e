"""Turn what a person asks for into editions that are ready to be made, each beside the release it follows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

from docgen.build.bench import Back, Bench
from docgen.build.layouts import layouts
from docgen.build.messages import to_translate
from docgen.build.released import Histories, histories, preceding, since
from docgen.build.shelf import Asked, Bound, Front, Shelf, bind, front, shelve
from docgen.build.tongues import Tongue, spoken, tongues_of
from docgen.findings import Finding, has_errors
from docgen.model.catalogue import SITES, TEMPLATES
from docgen.model.change import Change
from docgen.model.edition import Edition
from docgen.model.moment import Analysis
from docgen.project import Project
from docgen.publish import folder_of
from docgen.release import compare
from docgen.release.register import check_chain, check_change, check_dates, check_version


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a person wants made; empty means all."""

    asked: Asked = field(default_factory=Asked)
    artifacts: tuple[str, ...] = ()
    languages: tuple[str, ...] = ()
    """Instead of those the sites ask for."""
    sheet: str = ""
    out: Path = Path("out")
    draft: bool = False
    processes: int = 1
    together: bool = False
    """Readers speak every language that is made."""


@dataclass(frozen=True, slots=True)
class Ready:
    """An edition that may be written."""

    edition: Edition
    analysis: Analysis
    findings: tuple[Finding, ...]
    """What was said of it so far."""
    inputs: tuple[tuple[str, str], ...]
    """Label of each source file → SHA-256."""
    folder: Path
    """Where its sheets will lie."""
    change: Change | None = None
    """What differs from the release before, for the notice; None for a first version."""


@dataclass(frozen=True, slots=True)
class Prepared:
    """Everything there is before the first sheet is made."""

    project: Project
    shelf: Shelf
    alone: tuple[Bound, ...]
    """Each protocol at each site in the source language; with `alone` asked for, also without a site."""
    bounds: tuple[Bound, ...]
    """The same in every language wanted."""
    tongues: dict[str, Tongue]
    histories: Histories
    bench: Bench | None
    """None if no sheet can be made at all, for want of a layout."""
    findings: tuple[Finding, ...]
    """What is said of none of the editions."""

    def source(self, edition: Edition) -> Edition:
        """The same edition in the source language."""
        found = (b.edition for b in self.alone if b.edition and b.edition.site == edition.site)
        return next(e for e in found if e.protocol == edition.protocol)

    def has(self, protocol: str, site: str) -> bool:
        """Whether there is an edition of a protocol at a site."""
        return any(b.edition and (b.edition.protocol, b.edition.site) == (protocol, site) for b in self.alone)

    def ready(self, wanted: Wanted) -> tuple[Ready, ...]:
        """The editions there are."""
        return tuple(r for b in self.bounds for r in self.ready_of(b, wanted))

    def ready_of(self, bound: Bound, wanted: Wanted) -> tuple[Ready, ...]:
        """One of them; none if there is no edition."""
        if bound.edition is None or bound.analysis is None:
            return ()
        return (_ready(self, bound, bound.edition, bound.analysis, wanted),)


def prepare(
    project: Project, wanted: Wanted, rooms: Front | None = None, back: Back | None = None, alone: bool = False
) -> Prepared:
    """Read, bind, look beside the releases, translate. `alone`: also each protocol without a site."""
    rooms = rooms or front()
    shelf = shelve(project, wanted.asked, rooms)
    templates, overlaid = project.templates()
    words = to_translate(shelf, templates, rooms)
    past = histories(project)
    bounds = tuple(beside(b, past, shelf) for b in bind(shelf, rooms, alone=alone))
    used = tuple(b for b in bounds if b.site)
    tongues = tongues_of(project, used, wanted.languages, words, rooms)
    drawn, house, laid_out = layouts(templates)
    findings = (*shelf.findings, *overlaid, *laid_out, *of_releases(shelf, past))
    own = {tag: tongue.get(TEMPLATES) for tag, tongue in tongues.items()}
    usable = house is not None and not has_errors((*overlaid, *laid_out))
    bench = Bench(project, templates, drawn, house, own, back) if house and usable else None
    said = tuple(spoken(used, wanted.languages, tongues, words, wanted.draft))
    return Prepared(project, shelf, bounds, said, tongues, past, bench, findings)


def _ready(prepared: Prepared, bound: Bound, edition: Edition, analysis: Analysis, wanted: Wanted) -> Ready:
    """What the protocol's author calls a draft is printed as one, whatever was asked for."""
    project = prepared.project
    edition = replace(edition, draft=wanted.draft or edition.status == "draft")
    labels = [prepared.shelf.labels[read.file] for read in (bound.protocol, bound.site) if read]
    names = (f"{edition.protocol}.po", f"{SITES}.po", f"{TEMPLATES}.po")
    spoken_in = filter(None, (edition.language, edition.beside))
    labels += [x for tag in spoken_in for name in names if (x := f"locales/{tag}/{name}") in project.read]
    change = since(prepared.histories, edition, prepared.source(edition), prepared.shelf.words)
    if change:
        labels.append(f"protocols/releases/{edition.protocol}/{change.before.version}.json")
    folder = wanted.out.joinpath(*folder_of(edition))
    inputs = tuple((name, project.read[name]) for name in labels)
    return Ready(edition, analysis, bound.findings, inputs, folder, change)


# --- beside the releases ----------------------------------------------------------------------------------------


def beside(bound: Bound, past: Histories, shelf: Shelf) -> Bound:
    """An edition with what its release, or the one before it, has to say to it."""
    if bound.edition is None or bound.protocol.value is None:
        return bound
    edition, at = bound.edition, bound.protocol.at("version")
    history = past.of(edition.protocol)
    said = [f for f in past.findings if f.protocol == edition.protocol]
    said += check_version(history, edition.version, edition.status, at)
    same = history.get(edition.version) is not None
    before, problems = preceding(past, edition, same) if bound.site else (None, ())
    said += problems
    if before:
        said += check_change(compare(before, edition, shelf.words), same, at)
    return replace(bound, findings=(*bound.findings, *(replace(f, protocol=edition.protocol) for f in said)))


def of_releases(shelf: Shelf, past: Histories) -> Iterator[Finding]:
    """Findings about the releases of the protocols asked for, whatever their sources say now."""
    for read in shelf.protocols:
        if read.value is None:
            continue
        name, history = read.value.protocol, past.of(read.value.protocol)
        said = (*past.findings, *check_dates(history, shelf.today), *check_chain(history))
        yield from (replace(f, protocol=name) for f in said if f.protocol in ("", name))
