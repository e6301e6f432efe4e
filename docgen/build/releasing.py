"""Turn an approved protocol into a release: all its sheets and the file that states it, both or neither."""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from pathlib import Path
from typing import Any

from docgen import __version__
from docgen.build.bench import Back, Done, Job, back, died, do, faces_of
from docgen.build.layouts import APPROVAL
from docgen.build.making import jobs_of, manifest_of
from docgen.build.outcome import Outcome, Progress, unwatched
from docgen.build.pool import spread
from docgen.build.prepare import Prepared, Ready, Wanted, prepare
from docgen.build.recording import Case, record, summary
from docgen.build.refusing import Sorted, in_the_way, sort
from docgen.build.released import WITHDRAWN, revived, words_kept
from docgen.build.shelf import SOURCE_LANGUAGE, Asked, Front
from docgen.findings import Finding, Where, error, has_errors
from docgen.model.catalogue import SITES, Signed
from docgen.model.change import Degree
from docgen.model.edition import ARTIFACTS, Edition, Waiver
from docgen.model.release import (
    Release,
    ReleasedEdition,
    ReleasedFile,
    ReleasedLanguage,
    ReleasedTranslation,
    Replaced,
    Signature,
    Withdrawal,
)
from docgen.model.stamp import code_of
from docgen.project import Project
from docgen.publish import HeldBack, Made, Publishing, folder_of, overwrite, refused, write, write_new
from docgen.release import canonical_bytes, compare, render, settings_of
from docgen.report import counted, gather

DEGREES = {Degree.NONE: "wording", Degree.WORDING: "wording", Degree.DOING: "doing", Degree.SEQUENCE: "sequence"}


@dataclass(frozen=True, slots=True)
class Asking:
    """What a person wants released, or proposed."""

    files: tuple[Path, ...]
    signature: Signature | None
    """None to propose: the approval record for the committee, and nothing else."""
    without: tuple[str, ...] = ()
    """Languages left out by name."""
    out: Path = Path("out")
    processes: int = 1


@dataclass(frozen=True, slots=True)
class Sheets:
    """What was made of one edition."""

    ready: Ready
    files: tuple[Made, ...]
    findings: tuple[Finding, ...]
    done: tuple[Done, ...]


def release(
    project: Project,
    asking: Asking,
    progress: Progress = unwatched,
    rooms: Front | None = None,
    back: Back | None = None,
) -> Outcome:
    """Release each protocol asked for that nothing stands in the way of; of the others nothing changes."""
    wanted = Wanted(Asked(asking.files), out=asking.out, processes=asking.processes)
    prepared = prepare(project, wanted, rooms, back, alone=True)
    findings = [*prepared.findings]
    lines: list[str] = []
    alone = [b for b in prepared.alone if b.site is None]
    findings += (f for read in prepared.shelf.protocols if read.value is None for f in read.findings)
    if prepared.bench is None:
        return Outcome(gather(findings))
    try:
        with Publishing(asking.out) as publishing:
            findings += publishing.findings
            for number, bound in enumerate(alone):
                in_way = in_the_way(prepared, bound, asking.signature, prepared.shelf.today)
                sorted_ = sort(prepared, bound, wanted, asking.without)
                said = [*in_way, *sorted_.findings]
                if not has_errors(said):
                    more, line = _one(publishing, number, sorted_, prepared, asking, wanted, progress)
                    said += more
                else:
                    line = _nothing(bound.protocol.value)
                findings += said
                lines.append(line)
    except OSError as problem:
        findings.append(refused("release", asking.out, problem))
    return Outcome(gather(findings), tuple(lines))


def signed(by: str, role: str, reason: str, on: datetime.date) -> Signature:
    """A decision, in single lines."""
    by, role, reason = (" ".join(value.split()) for value in (by, role, reason))
    return Signature(by, role, on, reason)


def withdraw(project: Project, files: Sequence[Path], signature: Signature, version: str = "") -> Outcome:
    """State of a released version that it must no longer be used; the newest one if none is named."""
    prepared = prepare(project, Wanted(Asked(tuple(files))))
    findings, lines = [*prepared.histories.findings], []
    for read in prepared.shelf.protocols:
        if read.value is None:
            findings += read.findings
            continue
        history = prepared.histories.of(read.value.protocol)
        found = history.get(version) if version else history.newest
        where = read.at("version")
        if found is None:
            what = f"version {version}" if version else "any version"
            hint = "name one of " + ", ".join(f"`{r.version}`" for r in history.releases) if history.releases else ""
            findings.append(error("release/not-there", f"{what} of it was never released", where, hint=hint))
            continue
        if signature.on < found.released.on or signature.on > prepared.shelf.today:
            message = f"the day of withdrawal, {signature.on}, is not between that of release and today"
            findings.append(error("release/dated-ahead", message, where, hint="give the day with `--on`"))
            continue
        file = project.released / found.protocol / f"{found.version}{WITHDRAWN}.json"
        try:
            write_new(file, render(Withdrawal(found.protocol, found.code, found.version, signature)))
        except FileExistsError:
            findings.append(error("release/already-withdrawn", f"version {found.version} is withdrawn already", where,
                                  hint="nothing needs to be done"))  # fmt: skip
        except OSError as problem:
            findings.append(refused("withdraw it", file, problem))
        else:
            lines.append(f"{file}: {found.protocol} {found.version} is withdrawn; take down its copies")
    return Outcome(gather(findings), tuple(lines))


def _nothing(value: Any) -> str:
    return f"{value.protocol} {value.version}: nothing was released, and nothing was changed" if value else ""


# --- one protocol -----------------------------------------------------------------------------------------------


def _one(
    publishing: Publishing,
    number: int,
    sorted_: Sorted,
    prepared: Prepared,
    asking: Asking,
    wanted: Wanted,
    progress: Progress,
) -> tuple[list[Finding], str]:
    """Make everything of one protocol, and let it land with its release file; what was said, and a line."""
    assert prepared.bench and sorted_.alone.protocol.value
    value = sorted_.alone.protocol.value
    made, findings = _made(publishing, number, sorted_.here, prepared, wanted, progress)
    if has_errors(findings):
        return findings, _nothing(value)
    root = publishing.run.joinpath("new", str(number), value.protocol, value.version)
    try:
        kept = _kept(publishing, number, made, prepared)
        case = _case(sorted_, kept, made, prepared, asking.signature)
        entry, data, problems = _record(case, prepared)
        findings += problems
        if has_errors(findings):
            return findings, _nothing(value)
        if asking.signature is None:
            return _proposed(case, entry, data, asking, findings)
        write(root / entry.file, data)
        release_ = _release(case, entry, made, prepared, asking.signature)
        findings += _comes_back(release_, made)
        if has_errors(findings):
            return findings, _nothing(value)
        file = prepared.project.released / value.protocol / f"{value.version}.json"
        publishing.release(number, (value.protocol, value.version), file, render(release_))
    except HeldBack as held:
        return [*findings, *held.findings], _nothing(value)
    except FileExistsError as problem:
        message = f"version {value.version} was released by somebody else meanwhile"
        hint, at = "look at it; nothing was changed", Where(str(problem.filename or ""))
        return [*findings, error("release/already-released", message, at, hint=hint)], _nothing(value)
    except OSError as problem:
        return [*findings, refused("release", asking.out, problem)], _nothing(value)
    files = [f for k in release_.editions for x in k.languages for f in x.files]
    where = asking.out / value.protocol / value.version
    return findings, f"{where}: released as {file}; {counted(len(files) + 1, 'file')}"


def _made(
    publishing: Publishing, number: int, here: Sequence[Ready], prepared: Prepared, wanted: Wanted, progress: Progress
) -> tuple[tuple[Sheets, ...], list[Finding]]:
    assert prepared.bench
    jobs: list[Job] = [job for ready in here for job in jobs_of(ready, publishing, number, wanted, here)]
    done = spread(do, jobs, prepared.bench, wanted.processes, progress, died)
    out = []
    for ready in here:
        mine = tuple(d for d, job in zip(done, jobs, strict=True) if job.edition is ready.edition)
        files = tuple(sorted((m for d in mine for m in d.files), key=lambda m: m.file))
        out.append(Sheets(ready, files, tuple(f for d in mine for f in d.findings), mine))
    return tuple(out), [f for m in out for f in m.findings]


def _kept(
    publishing: Publishing, number: int, made: Iterable[Sheets], prepared: Prepared
) -> tuple[ReleasedEdition, ...]:
    """Seal each folder, and put down what is kept of each edition."""
    from docgen.build.paging import front
    from docgen.edition import canonical

    assert prepared.bench
    everything = tuple(made)
    by_site: dict[str, list[tuple[Sheets, ReleasedLanguage]]] = {}
    for one in everything:
        edition, manifest = one.ready.edition, manifest_of(one.ready, one.files, one.findings, prepared.shelf)
        folder = publishing.run.joinpath("new", str(number), *folder_of(edition))
        if not edition.beside:
            tags = sorted({m.ready.edition.language for m in everything
                           if m.ready.edition.site == edition.site and not m.ready.edition.beside}
                          - {edition.language})  # fmt: skip
            thumbs = dict(thumb for d in one.done for thumb in d.thumbs)
            spoken = (edition, one.ready.analysis)
            page = front(edition, spoken, tags, thumbs, str(one.ready.folder), one.ready.inputs, prepared.bench)
            pages = (*manifest.files, page(manifest, folder))
            manifest = replace(manifest, files=tuple(sorted(pages, key=lambda m: m.file)))
        publishing.seal(number, folder_of(edition), manifest)
        files = tuple(ReleasedFile(m.file, m.artifact, m.sheet, m.pages, m.bytes, m.sha256) for m in manifest.files)
        language = ReleasedLanguage(edition.languages, edition.translation, tuple(_codes(edition, one.files)), files)
        by_site.setdefault(edition.site, []).append((one, language))
    kept = []
    for site, many in by_site.items():
        source = prepared.source(many[0][0].ready.edition)
        identity = json.loads(canonical(source))
        languages = tuple(language for _, language in many)
        kept.append(ReleasedEdition(site, source.fingerprint, settings_of(source), identity, languages))
    return tuple(kept)


def _codes(edition: Edition, files: Iterable[Made]) -> Iterable[str]:
    """What the square codes of the sheets say. An imposed file repeats those of its card sides."""
    for made in files:
        if made.artifact in ARTIFACTS and " on " not in made.sheet:
            yield from (str(code_of(edition, made.artifact, n, made.pages)) for n in range(1, made.pages + 1))


def _case(
    sorted_: Sorted, kept: tuple[ReleasedEdition, ...], made: Sequence[Sheets], prepared: Prepared,
    signature: Signature | None,
) -> Case:  # fmt: skip
    assert sorted_.alone.protocol.value
    value = sorted_.alone.protocol.value
    history = prepared.histories.of(value.protocol)
    before = history.before(value.version)
    changes = []
    for one in made:
        if one.ready.edition.languages == SOURCE_LANGUAGE and one.ready.change:
            changes.append(compare(one.ready.change.before, one.ready.edition, prepared.shelf.words))
    degree = DEGREES[max((c.degree for c in changes), default=Degree.NONE)] if before else "first"
    replaces = Replaced(before.version, (history.digests or {})[before.version]) if before else None
    tags = dict.fromkeys(t for m in made for t in m.ready.edition.languages.split("+") if t != SOURCE_LANGUAGE)
    translations = tuple(_translation(tag, value.protocol, prepared) for tag in tags)
    return Case(
        sorted_.alone, tuple(m.ready for m in made), kept, tuple(changes), degree, translations, sorted_.withheld,
        replaces, signature,
    )  # fmt: skip


def _translation(tag: str, protocol: str, prepared: Prepared) -> ReleasedTranslation:
    catalogue = prepared.tongues[tag].get(protocol)
    return ReleasedTranslation(tag, catalogue.translator or Signed(), catalogue.reviser or Signed())


def _record(case: Case, prepared: Prepared) -> tuple[ReleasedFile, bytes, tuple[Finding, ...]]:
    """The approval record as a file."""
    assert prepared.bench
    document, sheet, findings = record(case, prepared)
    e = case.edition
    file = f"{e.code}-v{e.version}-approval-record.pdf".lower()
    if document is None:
        return ReleasedFile(file, APPROVAL, sheet, 0, 0, ""), b"", findings
    data = (prepared.bench.rooms or back()).write(document, faces_of(prepared.project))
    digest_ = sha256(data).hexdigest()
    return ReleasedFile(file, APPROVAL, sheet, len(document.sheets), len(data), digest_), data, findings


def _proposed(
    case: Case, entry: ReleasedFile, data: bytes, asking: Asking, findings: list[Finding]
) -> tuple[list[Finding], str]:
    file = asking.out / case.edition.protocol / entry.file
    overwrite(file, data)
    return findings, f"{file}: {counted(entry.pages, 'page')} for the committee; nothing is released"


def _release(
    case: Case, entry: ReleasedFile, made: Sequence[Sheets], prepared: Prepared, signature: Signature
) -> Release:
    e = case.edition
    assert e.approval
    words: dict[str, dict[str, str]] = {}
    for one in made:
        for tag in one.ready.edition.languages.split("+"):
            if tag != SOURCE_LANGUAGE:
                tongue, source = prepared.tongues[tag], prepared.source(one.ready.edition)
                words.setdefault(tag, {}).update(words_kept(source, tongue.get(e.protocol), tongue.get(SITES)))
    inputs = {label: digest_ for one in made for m in one.files for label, digest_ in m.inputs}
    return Release(
        protocol=e.protocol, code=e.code, version=e.version, title=e.title.plain, effective=e.effective,
        review=e.review, approved=Signature(e.approval.by, e.approval.role, e.approval.on), released=signature,
        degree=case.degree, changes=tuple(summary(case.changes)),
        waivers=tuple(_waiver(r.edition.site, w) for r in case.sources() for w in r.edition.waivers),
        translations=case.translations, withheld=case.withheld, replaces=case.replaces, docgen=__version__,
        record=entry, inputs=dict(sorted(inputs.items())), words=words, editions=case.editions,
    )  # fmt: skip


def _waiver(site: str, w: Waiver) -> str:
    steps = ", ".join(w.steps) or "all steps"
    return f"{site}: {w.rule}, {steps}, until {w.review}: {w.reason} ({w.by}, {w.on})"


def _comes_back(release_: Release, made: Iterable[Sheets]) -> Iterable[Finding]:
    """Read the release as one will be read in a year: each edition must come back as the one on the sheets."""
    from docgen.edition import canonical
    from docgen.release import parse_release

    again, findings = parse_release(render(release_).decode(), release_.version)
    yield from findings
    for one in made:
        edition = one.ready.edition
        kept = again.at(edition.site) if again else None
        found = revived(again, kept, edition.languages) if again and kept else None
        if found is None or canonical(found) != canonical_bytes(kept.canonical if kept else {}) or not same_words(
            found, edition
        ):  # fmt: skip
            yield error(
                "release/cannot-be-kept",
                f"what the release keeps of `{edition.site}` in `{edition.languages}` does not come back as it was",
                hint="this is a fault of docgen: report it with the protocol", site=edition.site,
                language=edition.language, protocol=edition.protocol,
            )  # fmt: skip


def same_words(one: Edition, other: Edition) -> bool:
    """Whether two editions say the same words to people, with the same emphasis."""
    from docgen.language.texts import texts_of, translatable

    said = [{t.key: t.runs for t in texts_of(e) if translatable(t.key, t.source)} for e in (one, other)]
    return said[0] == said[1]
