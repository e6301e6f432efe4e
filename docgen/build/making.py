"""Turn editions into published sheets: whole editions that have passed, or nothing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from docgen import __version__
from docgen.build.bench import Back, Bench, Done, Job, died, do
from docgen.build.layouts import layouts
from docgen.build.messages import to_translate
from docgen.build.outcome import Outcome, Progress, unwatched
from docgen.build.pool import spread
from docgen.build.shelf import Asked, Bound, Front, Shelf, bind, front, shelve
from docgen.build.tongues import spoken, tongues_of
from docgen.findings import Finding, has_errors, warning
from docgen.model.catalogue import SITES, TEMPLATES
from docgen.model.edition import ARTIFACTS, Edition
from docgen.model.moment import Analysis
from docgen.project import Project
from docgen.publish import Manifest, Publishing, folder_of, refused, stamp_of
from docgen.report import counted, gather


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


def make(
    project: Project,
    wanted: Wanted,
    progress: Progress = unwatched,
    rooms: Front | None = None,
    back: Back | None = None,
) -> Outcome:
    """Make every artifact of every edition asked for, read the files back, and publish the editions that pass."""
    rooms = rooms or front()
    shelf = shelve(project, wanted.asked, rooms)
    templates, overlaid = project.templates()
    words = to_translate(shelf, templates, rooms)
    bounds = tuple(bind(shelf, rooms, alone=False))
    tongues = tongues_of(project, bounds, wanted.languages, words, rooms)
    bounds = tuple(spoken(bounds, wanted.languages, tongues, words, wanted.draft))
    drawn, house, laid_out = layouts(templates)
    findings = [
        *shelf.findings,
        *(f for b in bounds for f in b.findings),
        *overlaid,
        *laid_out,
        *_unmade(shelf, wanted),
    ]
    editions = [_ready(b, b.edition, b.analysis, shelf, project, wanted) for b in bounds if b.edition and b.analysis]
    editions = [e for e in editions if e.edition.status != "withdrawn"]
    passing = [e for e in editions if e.edition.draft or not has_errors(e.findings)]
    lines = [_held_back(e) for e in editions if e not in passing]
    if house is None or has_errors((*overlaid, *laid_out)):
        return Outcome(gather(findings))
    try:
        with Publishing(wanted.out) as publishing:
            findings += publishing.findings
            jobs = [job for n, e in enumerate(passing) for job in _jobs(e, publishing, n, wanted)]
            own = {tag: tongue.get(TEMPLATES) for tag, tongue in tongues.items()}
            bench = Bench(project, templates, drawn, house, own, back)
            done = spread(do, jobs, bench, wanted.processes, progress, died)
            for number, ready in enumerate(passing):
                mine = [d for d, job in zip(done, jobs, strict=True) if job.edition is ready.edition]
                said, line = _land(publishing, number, ready, mine, shelf, wanted)
                findings += said
                lines.append(line)
    except OSError as problem:
        findings.append(refused("publish", wanted.out, problem))
    return Outcome(gather(findings), tuple(lines))


def _ready(bound: Bound, edition: Edition, analysis: Analysis, shelf: Shelf, project: Project, wanted: Wanted) -> Ready:
    """What the protocol's author calls a draft is printed as one, whatever was asked for."""
    edition = replace(edition, draft=wanted.draft or edition.status == "draft")
    labels = [shelf.labels[read.file] for read in (bound.protocol, bound.site) if read]
    if edition.translation:
        names = (f"{edition.protocol}.po", f"{SITES}.po", f"{TEMPLATES}.po")
        labels += [x for name in names if (x := f"locales/{edition.language}/{name}") in project.read]
    folder = wanted.out.joinpath(*folder_of(edition))
    return Ready(edition, analysis, bound.findings, tuple((name, project.read[name]) for name in labels), folder)


def _jobs(ready: Ready, publishing: Publishing, number: int, wanted: Wanted) -> Iterator[Job]:
    staged = publishing.stage(number, folder_of(ready.edition))
    for artifact in wanted.artifacts or ARTIFACTS:
        yield Job(ready.edition, ready.analysis, artifact, wanted.sheet, staged, str(ready.folder), ready.inputs)


def _land(
    publishing: Publishing, number: int, ready: Ready, done: Sequence[Done], shelf: Shelf, wanted: Wanted
) -> tuple[list[Finding], str]:
    """Publish one edition, if nothing speaks against it; what was said, and a line for the person."""
    findings = [f for d in done for f in d.findings]
    files = tuple(sorted((m for d in done for m in d.files), key=lambda m: m.file))
    if not files or (has_errors(findings) and not ready.edition.draft):
        return findings, _held_back(ready)
    noted = tuple(_as_noted(f, ready, shelf) for f in gather((*ready.findings, *findings)))
    manifest = Manifest(stamp_of(ready.edition), __version__, files, noted)
    keep = bool(wanted.artifacts or wanted.sheet)
    try:
        findings += publishing.land(number, folder_of(ready.edition), manifest, keep)
    except OSError as problem:
        findings.append(refused("publish", ready.folder, problem))
        return findings, _held_back(ready)
    pages = sum(m.pages for m in files)
    return findings, f"{ready.folder}: {counted(len(files), 'file')}, {counted(pages, 'page')}"


def _held_back(ready: Ready) -> str:
    return f"{ready.folder}: not published" + (
        "" if ready.edition.draft else "; `--draft` shows what there is, as a draft"
    )


def _as_noted(f: Finding, ready: Ready, shelf: Shelf) -> Finding:
    """A finding as the manifest keeps it: files named as on every machine."""
    file = shelf.labels.get(f.where.file) or f.where.file.removeprefix(f"{ready.folder}/")
    return replace(f, where=replace(f.where, file=file))


def _unmade(shelf: Shelf, wanted: Wanted) -> Iterator[Finding]:
    """What somebody may be waiting for and nothing is made of."""
    used = {name for site in shelf.sites if site.value for name in site.value.protocols}
    for read in shelf.protocols:
        if read.value is None:
            continue
        name = read.value.protocol
        if read.value.status == "withdrawn":
            yield warning("build/withdrawn", f"`{name}` is withdrawn, and no sheets are made", read.at("status"),
                          hint="take down its copies", protocol=name)  # fmt: skip
        elif name not in used and not wanted.asked.sites:
            yield warning("build/no-site", f"no site uses `{name}`, so no sheets are made", read.at("protocol"),
                          hint=f"name it under `protocols` in a file of {Path(read.file).parent / 'sites'}",
                          protocol=name)  # fmt: skip
