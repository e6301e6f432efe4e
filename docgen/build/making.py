"""Turn editions into published sheets: whole editions that have passed, or nothing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from docgen import __version__
from docgen.build.bench import Back, Done, Job, died, do
from docgen.build.outcome import Outcome, Progress, unwatched
from docgen.build.pool import spread
from docgen.build.prepare import Prepared, Ready, Wanted, prepare
from docgen.build.released import Histories
from docgen.build.shelf import Front, Shelf
from docgen.findings import Finding, Where, error, has_errors, warning
from docgen.model.edition import ARTIFACTS, READER
from docgen.project import Project
from docgen.publish import HeldBack, Made, Manifest, Publishing, folder_of, published_beside, refused, stamp_of
from docgen.report import counted, gather


def make(
    project: Project,
    wanted: Wanted,
    progress: Progress = unwatched,
    rooms: Front | None = None,
    back: Back | None = None,
) -> Outcome:
    """Make every artifact of every edition asked for, read the files back, and publish the editions that pass."""
    prepared = prepare(project, wanted, rooms, back)
    shelf = prepared.shelf
    findings = [*prepared.findings, *(f for b in prepared.bounds for f in b.findings), *_unmade(shelf, wanted)]
    editions = [e for e in prepared.ready(wanted) if e.edition.status != "withdrawn"]
    passing = [e for e in editions if e.edition.draft or not has_errors(e.findings)]
    lines = [_held_back(e) for e in editions if e not in passing]
    if prepared.bench is None:
        return Outcome(gather(findings))
    try:
        with Publishing(wanted.out) as publishing:
            findings += publishing.findings
            jobs = [job for n, e in enumerate(passing) for job in jobs_of(e, publishing, n, wanted, passing)]
            done = spread(do, jobs, prepared.bench, wanted.processes, progress, died)
            results = [[d for d, job in zip(done, jobs, strict=True) if job.edition is e.edition] for e in passing]
            there = [e for e, mine in zip(passing, results, strict=True) if _may_land(e, mine)]
            for number, (ready, mine) in enumerate(zip(passing, results, strict=True)):
                said, line = _land(publishing, number, ready, mine, prepared, wanted, there)
                findings += said
                lines.append(line)
    except OSError as problem:
        findings.append(refused("publish", wanted.out, problem))
    return Outcome(gather(findings), tuple(lines))


def jobs_of(
    ready: Ready, publishing: Publishing, number: int, wanted: Wanted, all_of_them: Sequence[Ready] = ()
) -> Iterator[Job]:
    """One job for each artifact of an edition, staged under `number`."""
    staged = publishing.stage(number, folder_of(ready.edition))
    for artifact in wanted.artifacts or (("script",) if ready.edition.beside else (*ARTIFACTS, READER)):
        others = _siblings(ready, all_of_them) if wanted.together and artifact == READER else ()
        inputs = tuple(sorted({*ready.inputs, *(i for e in others for i in e.inputs)}))
        also = tuple((e.edition, e.analysis) for e in others)
        yield Job(
            ready.edition, ready.analysis, artifact, wanted.sheet, staged, str(ready.folder), inputs, ready.change, also
        )


def _siblings(ready: Ready, others: Iterable[Ready]) -> tuple[Ready, ...]:
    """The same edition in other languages; pairs of languages have no page of their own."""
    own = ready.edition
    key = (own.protocol, own.site, own.version, own.draft)
    return tuple(
        e for e in others
        if (e.edition.protocol, e.edition.site, e.edition.version, e.edition.draft) == key
        and e.edition.language != own.language and not e.edition.beside
    )  # fmt: skip


def _may_land(ready: Ready, done: Iterable[Done]) -> bool:
    return any(d.files for d in done) and (ready.edition.draft or not any(has_errors(d.findings) for d in done))


def _land(
    publishing: Publishing,
    number: int,
    ready: Ready,
    done: Sequence[Done],
    prepared: Prepared,
    wanted: Wanted,
    there: Sequence[Ready],
) -> tuple[list[Finding], str]:
    """Publish one edition, if nothing speaks against it; what was said, and a line for the person."""
    findings = [f for d in done for f in d.findings]
    files = tuple(sorted((m for d in done for m in d.files), key=lambda m: m.file))
    findings += _as_released(ready, files, prepared.histories)
    if not files or (has_errors(findings) and not ready.edition.draft):
        return findings, _held_back(ready)
    manifest = manifest_of(ready, files, findings, prepared.shelf)
    keep = bool(wanted.artifacts or wanted.sheet)
    try:
        page = _front(ready, done, prepared, there)
        findings += publishing.land(number, folder_of(ready.edition), manifest, keep, page)
    except HeldBack as held:
        return [*findings, *held.findings], _held_back(ready)
    except OSError as problem:
        findings.append(refused("publish", ready.folder, problem))
        return findings, _held_back(ready)
    pages = sum(m.pages for m in files)
    return findings, f"{ready.folder}: {counted(len(files), 'file')}, {counted(pages, 'page')}"


def _front(ready: Ready, done: Iterable[Done], prepared: Prepared, there: Sequence[Ready]) -> Any:
    """What writes the page of the edition's folder; pairs of languages have none."""
    if ready.edition.beside or prepared.bench is None:
        return None
    from docgen.build.paging import front

    tags = {e.edition.language for e in _siblings(ready, there)} | {*_landed(ready)}
    thumbs = dict(thumb for d in done for thumb in d.thumbs)
    spoken = (ready.edition, ready.analysis)
    return front(ready.edition, spoken, sorted(tags), thumbs, str(ready.folder), ready.inputs, prepared.bench)


def _landed(ready: Ready) -> Iterator[str]:
    """Other languages in which the very same edition is there already."""
    mine = dict(stamp_of(ready.edition))
    for manifest in published_beside(ready.folder):
        stamp = dict(manifest.stamp)
        if "+" not in stamp["language"] and all(
            stamp[k] == mine[k] for k in ("protocol", "version", "fingerprint", "site", "draft")
        ):
            yield stamp["language"]


def manifest_of(ready: Ready, files: tuple[Made, ...], findings: Iterable[Finding], shelf: Shelf) -> Manifest:
    """What lies in an edition's folder, and all that was said of it."""
    noted = tuple(_as_noted(f, ready, shelf) for f in gather((*ready.findings, *findings)))
    return Manifest(stamp_of(ready.edition), __version__, files, noted)


def _as_released(ready: Ready, files: Iterable[Made], past: Histories) -> Iterator[Finding]:
    """Sheets of a released edition that are not the released ones: they would be copies that nobody released."""
    edition = ready.edition
    release = past.of(edition.protocol).get(edition.version)
    kept = release.at(edition.site) if release and not edition.draft else None
    spoken = kept.language(edition.languages) if kept else None
    if release is None or spoken is None:
        return
    digests = {f.file: f.sha256 for f in spoken.files}
    for made in files:
        if digests.get(made.file, made.sha256) != made.sha256:
            changed = sorted(label for label, digest in made.inputs if release.inputs.get(label, digest) != digest)
            because = f"; changed since: {', '.join(f'`{c}`' for c in changed)}" if changed else ""
            yield error(
                "release/other-bytes",
                f"`{made.file}` is released, and would now come out otherwise{because}",
                Where(str(ready.folder / made.file)),
                artifact=made.artifact, language=edition.language, site=edition.site, protocol=edition.protocol,
                hint="keep the released sheets, or raise the version and release it",
            )  # fmt: skip


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
