"""Turn finished files into a verdict, from the sources alone.

Which edition a file claims to be is taken from its name, from the manifest beside it or from the square code on it, in
this order; what it must say is then computed anew from the sources. No claim of the file is believed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from pathlib import Path
from typing import NamedTuple

from docgen.build.outcome import Outcome, Progress, unwatched
from docgen.build.pool import spread
from docgen.build.shelf import Asked, Front, bind, front, shelve
from docgen.findings import Finding, Severity, Where, error, has_errors
from docgen.model.edition import ARTIFACTS, Edition
from docgen.model.stamp import Code
from docgen.project import Project
from docgen.publish import MANIFEST, missing, name_of, read_manifest
from docgen.report import counted, gather


class Reader(NamedTuple):
    """The verbs of the read-back."""

    examine: Callable
    codes: Callable
    """Bytes → every square code that could be read."""


def reader() -> Reader:
    """The room itself, loaded when first wanted."""
    from docgen.readback import codes, examine

    return Reader(examine, codes)


@dataclass(frozen=True, slots=True)
class Claim:
    """What a file says it is."""

    edition: Edition
    artifact: str


def verify(
    project: Project,
    paths: Sequence[Path],
    processes: int = 1,
    progress: Progress = unwatched,
    rooms: Front | None = None,
    readback: Reader | None = None,
) -> Outcome:
    """Examine every finished file, and every file below every folder, given."""
    rooms = rooms or front()
    shelf = shelve(project, Asked(), rooms)
    editions = tuple(b.edition for b in bind(shelf, rooms, alone=False) if b.edition)
    findings = [f for f in shelf.findings if f.severity is Severity.ERROR]
    files: list[Path] = []
    for path in paths:
        found, problems = project.sheets(path)
        files += found
        findings += (*problems, *missing(path))
    desk = _Desk(project, editions, readback or reader())
    verdicts = spread(_examine, files, desk, processes, progress, _died)
    agree = sum(not has_errors(said) for said in verdicts)
    findings += (f for said in verdicts for f in said)
    return Outcome(gather(findings), (f"{agree} of {counted(len(files), 'file')} agree with their source",))


class _Desk(NamedTuple):
    """What every examination has at hand."""

    project: Project
    editions: tuple[Edition, ...]
    readback: Reader


def _died(file: Path) -> tuple[Finding, ...]:
    message = "a process was ended from outside before this was examined"
    return (error("build/worker-died", message, Where(str(file)), hint="the memory may not suffice: try `--jobs 1`"),)


def _examine(file: Path, desk: _Desk) -> tuple[Finding, ...]:
    editions = desk.editions
    data, findings = desk.project.sheet(file)
    if data is None:
        return findings
    claim = _by_name(file.name, editions) or _by_manifest(file, editions)
    codes: tuple[Code, ...] = ()
    if claim is None:
        codes = tuple(desk.readback.codes(data))
        claim = next((c for code in codes if (c := _by_code(code, editions))), None)
    if claim is None:
        return (*findings, _stranger(file, codes, editions))
    listed = _listed(file)
    if listed and listed != sha256(data).hexdigest():
        message = "this is not the file that was made: its SHA-256 is not the manifest's"
        hint = "make it anew, and find out who changed it"
        findings += (error("build/changed-since-made", message, Where(str(file)), hint=hint),)
    said = (*findings, *desk.readback.examine(data, claim.edition, claim.artifact, str(file)))
    about = {"site": claim.edition.site, "language": claim.edition.language, "protocol": claim.edition.protocol}
    return tuple(replace(f, artifact=f.artifact or claim.artifact, **about) for f in said)


# --- which edition ----------------------------------------------------------------------------------------------


def _by_name(name: str, editions: Iterable[Edition]) -> Claim | None:
    for edition in editions:
        for draft in (False, True):
            for artifact in ARTIFACTS:
                it = replace(edition, draft=draft)
                stem = name_of(it, artifact).removesuffix(".pdf")
                if name.lower().startswith((f"{stem}.", f"{stem}-")):
                    return Claim(it, artifact)
    return None


def _by_manifest(file: Path, editions: Iterable[Edition]) -> Claim | None:
    manifest = read_manifest(file.with_name(MANIFEST))
    entry = next((m for m in manifest.files if m.file == file.name), None) if manifest else None
    if manifest is None or entry is None or entry.artifact not in ARTIFACTS:
        return None
    stamp = dict(manifest.stamp)
    for e in editions:
        if (e.protocol, e.site, e.language) == (stamp["protocol"], stamp["site"], stamp["language"]):
            return Claim(replace(e, draft=stamp["draft"] == "yes"), entry.artifact)
    return None


def _by_code(code: Code, editions: Iterable[Edition]) -> Claim | None:
    for e in editions:
        if (e.code, e.site, e.language.lower()) == (code.code, code.site, code.language):
            return Claim(e, code.artifact)
    return None


def _stranger(file: Path, codes: Sequence[Code], editions: Iterable[Edition]) -> Finding:
    known = sorted({e.code for e in editions})
    claims = f"; its code says `{codes[0]}`" if codes else ""
    return error(
        "build/no-such-edition",
        f"no edition of the present sources is this file{claims}",
        Where(str(file)),
        hint=f"the sources have {', '.join(f'`{c}`' for c in known)}: if this is an old copy, take it down"
        if known
        else "give the folder of the sources with `--protocols`",
    )


# --- the manifest -----------------------------------------------------------------------------------------------


def _listed(file: Path) -> str:
    """The digest a file should have by the manifest beside it; empty if there is none."""
    manifest = read_manifest(file.with_name(MANIFEST))
    return next((m.sha256 for m in manifest.files if m.file == file.name), "") if manifest else ""
