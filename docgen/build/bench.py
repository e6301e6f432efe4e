"""Turn one artifact of one edition into files of a staged folder, and read them back from there.

The stages compose → place → write → read back, in this order, in any number of processes: what comes out depends on the
job and the bench alone, never on which process did it or when.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any, NamedTuple

from docgen.build.collector import search_seldom
from docgen.build.expected import ON, expected
from docgen.build.figures import pictures
from docgen.build.layouts import OFFICE
from docgen.findings import Finding, Where, error, has_errors
from docgen.model.block import Composition
from docgen.model.catalogue import Catalogue
from docgen.model.change import Change
from docgen.model.edition import ARTIFACTS, SCREENS, Edition
from docgen.model.layout import House, Layout
from docgen.model.moment import Analysis
from docgen.model.page import Image
from docgen.model.sheet import Document, Ink
from docgen.project import Project, Unreadable
from docgen.publish import Made, name_of, refused, write

NOTICE = "notice"
"""The artifact that says what differs from the release before."""


class Back(NamedTuple):
    """The verbs of the rooms a sheet passes through, in order."""

    compose: Callable
    place: Callable
    impose: Callable
    write: Callable
    examine: Callable
    read: Callable
    page: Callable
    """For screens: what a page says."""
    write_page: Callable
    examine_page: Callable
    thumbnail: Callable


@cache
def back() -> Back:
    """The rooms themselves, loaded when first wanted and kept for the process."""
    from docgen.artifacts import write_pdf
    from docgen.build.screens import page, written
    from docgen.compose import compose
    from docgen.readback import examine, examine_page, read
    from docgen.readback.thumbs import thumbnail
    from docgen.typeset import place
    from docgen.typeset.cards import impose

    search_seldom()
    return Back(compose, place, impose, write_pdf, examine, read, page, written, examine_page, thumbnail)


@dataclass(frozen=True, slots=True)
class Bench:
    """What every job has at hand; the same in all processes of a run."""

    project: Project
    templates: Mapping[str, str]
    layouts: Mapping[str, Layout]
    house: House
    words: Mapping[str, Catalogue] = field(default_factory=dict)
    """Language → the words of templates and figures in it; none for the source language."""
    rooms: Back | None = None
    """Stand-ins for the rooms; the rooms themselves if left out."""


@dataclass(frozen=True, slots=True)
class Job:
    """One artifact of one edition."""

    edition: Edition
    analysis: Analysis
    artifact: str
    sheet: str
    """The sheet asked for by hand; empty: the site's choice, or the layout's."""
    folder: Path
    """Where its files are staged."""
    shown: str
    """Where they will be: what findings name."""
    inputs: tuple[tuple[str, str], ...]
    """Label of each source file → SHA-256."""
    change: Change | None = None
    """What differs from the release before."""
    also: tuple[tuple[Edition, Analysis], ...] = ()
    """The same edition in other languages, for a reader that speaks several."""

    def __str__(self) -> str:
        return f"{self.artifact} of {self.edition.protocol} at {self.edition.site} ({self.edition.language})"


@dataclass(frozen=True, slots=True)
class Done:
    """What became of a job."""

    files: tuple[Made, ...]
    findings: tuple[Finding, ...]
    thumbs: tuple[tuple[str, Image], ...] = ()
    """File → a small picture of it."""


def do(job: Job, bench: Bench) -> Done:
    """Do one job. Findings name the artifact; no files if anything on the way to them was refused."""
    try:
        files, findings = _do(job, bench)
        thumbs = tuple(_thumbs(job, bench, files))
    except OSError as problem:
        files, thumbs, findings = (), (), (refused("write a sheet", Path(job.shown), problem),)
    except Unreadable as problem:
        files, thumbs, findings = (), (), (error(problem.rule, problem.reason, hint=problem.hint),)
    return Done(files, tuple(_placed(f, job, bench.project) for f in findings), thumbs)


def _thumbs(job: Job, bench: Bench, files: Iterable[Made]) -> Iterator[tuple[str, Image]]:
    rooms = bench.rooms or back()
    for made in files:
        data, _ = bench.project.sheet(job.folder / made.file)
        image = rooms.thumbnail(data) if data and made.pages else None
        if image:
            yield made.file, image


def _placed(f: Finding, job: Job, project: Project) -> Finding:
    """A finding with everything the job knows: a sheet's room does not know where its step stands in the source."""
    edition = job.edition
    step = next((s.where for s in edition.all_steps() if s.id == f.step), Where())
    if f.where.file in project.replaced:
        f = replace(f, where=replace(f.where, file=project.replaced[f.where.file]))
    return replace(
        f.at(step if step.file else Where(job.shown)),
        artifact=f.artifact or job.artifact,
        language=f.language or edition.language,
        site=f.site or edition.site,
        protocol=f.protocol or edition.protocol,
    )


def _do(job: Job, bench: Bench) -> tuple[tuple[Made, ...], tuple[Finding, ...]]:
    if job.artifact in SCREENS:
        from docgen.build.paging import reader

        return reader(job, bench)
    rooms = bench.rooms or back()
    composition, findings = composed(job.edition, job.analysis, job.artifact, bench, job.change)
    if composition is None:
        return (), findings
    layout, faces = bench.layouts[job.artifact], faces_of(bench.project)
    choice = job.edition.sheet(job.artifact)
    sheet = job.sheet or choice.sheet or layout.sheet
    document, problems = rooms.place(
        composition,
        job.edition,
        layout,
        bench.house,
        faces,
        pictures(job.edition, job.analysis, bench.words.get(job.edition.language)),
        sheet=sheet,
        distance=choice.distance or None,
    )
    findings += problems
    if document is None or (has_errors(findings) and not job.edition.draft):
        return (), findings
    files = []
    for name, copy in _copies(document, sheet, layout, rooms):
        file = name_of(job.edition, job.artifact, name)
        write(job.folder / file, rooms.write(copy, faces))
        # What is examined, and entered in the manifest, is what lies on the disk.
        there, problems = bench.project.sheet(job.folder / file)
        findings += problems
        if there is None:
            continue
        wanted = expected(job.edition, job.artifact, layout, name, composition, bench.words.get(job.edition.language))
        if job.change and job.artifact == NOTICE:
            wanted["before"] = job.change.before
        findings += rooms.examine(there, job.edition, job.artifact, f"{job.shown}/{file}", **wanted)
        inputs = {*job.inputs, *_templates(job.artifact, bench), *_fonts(copy, bench.project)}
        digest = sha256(there).hexdigest()
        files.append(Made(file, job.artifact, name, len(copy.sheets), len(there), digest, tuple(sorted(inputs))))
    return tuple(files), findings


def composed(
    edition: Edition, analysis: Analysis, artifact: str, bench: Bench, change: Change | None = None, **more: Any
) -> tuple[Composition | None, tuple[Finding, ...]]:
    """What an artifact says, by the templates of the bench. `more` is handed on."""
    from docgen.language import long_date, words_of
    from docgen.source import inline

    rooms, words = bench.rooms or back(), bench.words.get(edition.language)
    word = words_of(words, inline) if words else inline
    beside = bench.words.get(edition.beside)
    other = words_of(beside, inline) if beside else inline if edition.beside else None
    if other:
        more["other"] = other
    if change and artifact == NOTICE:
        more["change"] = change
    return rooms.compose(edition, artifact, bench.templates, analysis, word, long_date(edition.language), **more)


def _copies(document: Document, sheet: str, layout: Layout, rooms: Back) -> Iterable[tuple[str, Document]]:
    """The document on its own sheet, then imposed on each press sheet of its layout that holds it."""
    yield sheet, document
    for press in layout.press:
        if imposed := rooms.impose(document, press):
            yield f"{sheet}{ON}{press}", imposed


def _templates(artifact: str, bench: Bench) -> Iterable[tuple[str, str]]:
    """Every template but those of other artifacts."""
    others = tuple(f"{a}/" for a in (*ARTIFACTS, *SCREENS, *OFFICE, "tally") if a != artifact)
    for name in bench.templates:
        if not name.startswith(others):
            yield f"templates/{name}", bench.project.read[f"templates/{name}"]


def _fonts(document: Document, project: Project) -> Iterable[tuple[str, str]]:
    faces = {r.face for s in document.sheets for m in s.marks if isinstance(m, Ink) for r in m.line.runs}
    return fonts_of(faces, project)


def fonts_of(faces: Collection[str], project: Project) -> Iterable[tuple[str, str]]:
    """Label and SHA-256 of the font files of some faces."""
    for name in {*faces} | {face.partition("-")[0] for face in faces}:
        if f"fonts/{name}" in project.read:
            yield f"fonts/{name}", project.read[f"fonts/{name}"]


@cache
def faces_of(project: Project) -> Any:
    """The fonts, read and shaped with once a process."""
    from docgen.typeset.faces import Faces

    return Faces(project.fonts())


def died(job: Job) -> Done:
    """What is said of a job whose process was ended from outside."""
    message = f"a process was ended from outside before this was done: the {job}"
    hint = "the memory may not suffice: try `--jobs 1`"
    return Done((), (error("build/worker-died", message, Where(job.shown), hint=hint, artifact=job.artifact),))
