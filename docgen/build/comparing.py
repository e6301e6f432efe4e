"""Turn two names of a protocol (a file, a release, a revision of a file) into what differs between them."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from docgen.build.outcome import Outcome
from docgen.build.released import revived
from docgen.build.shelf import SOURCE_LANGUAGE, Asked, Front, Shelf, front, shelve
from docgen.findings import Finding, Where, error, has_errors
from docgen.model.change import Change
from docgen.model.edition import Edition
from docgen.model.read import Read
from docgen.model.release import Release
from docgen.model.site import Site
from docgen.project import Project, Source
from docgen.release import PAGE, canonical_bytes, compare, data, lines, page, parse_release, touched
from docgen.report import gather

GIT = re.compile(r"git:([^:]+):(.+)", re.DOTALL)
"""`git:REV:PATH`."""
ALONE = ""
"""Stands for the name of a site where a protocol is compared without one."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a person wants compared."""

    old: str
    new: str
    sites: tuple[str, ...] = ()
    language: str = SOURCE_LANGUAGE
    form: str = "text"
    """`text`, `json` or `html`."""


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two, read: an edition for each site, or one without a site."""

    name: str
    editions: Mapping[str, Edition] = field(default_factory=dict)
    release: Release | None = None
    findings: tuple[Finding, ...] = ()


def compared(project: Project, wanted: Wanted, rooms: Front | None = None) -> tuple[str, Outcome]:
    """The account in the form asked for, and what was said on the way."""
    rooms = rooms or front()
    shelf = shelve(project, Asked(), rooms)
    sides = [side(project, shelf, name, wanted.language, rooms) for name in (wanted.old, wanted.new)]
    findings = [f for s in sides for f in s.findings]
    known = {s.value.site: s.value for s in shelf.sites if s.value}
    old, new = sides
    if old.editions and new.editions:
        findings += _apart(old, new)
    if has_errors(findings):
        return "", Outcome(gather(findings))
    words = shelf.words if wanted.language == SOURCE_LANGUAGE else None
    names = [n for n in new.editions if n in old.editions and (not wanted.sites or n in wanted.sites)]
    if not names:
        findings.append(_no_site(old, new, wanted))
    changes = [compare(old.editions[n], new.editions[n], words) for n in names]
    return _printed(project, changes, known, wanted.form, findings), Outcome(gather(findings))


def canonical(project: Project, name: str, site: str, rooms: Front | None = None) -> tuple[bytes, Outcome]:
    """The bytes whose SHA-256 begins with the fingerprint, of one site's edition of a file or a release."""
    from docgen.edition import canonical as identity

    rooms = rooms or front()
    found = side(project, shelve(project, Asked(), rooms), name, SOURCE_LANGUAGE, rooms)
    edition = found.editions.get(site) or (next(iter(found.editions.values()), None) if not site else None)
    if edition is None or has_errors(found.findings):
        findings = found.findings or (_no_site(found, found, Wanted(name, name, (site,))),)
        return b"", Outcome(gather(findings))
    kept = found.release.at(edition.site) if found.release else None
    return canonical_bytes(kept.canonical) if kept else identity(edition), Outcome(())


def side(project: Project, shelf: Shelf, name: str, language: str, rooms: Front) -> Side:
    """One side: at every site of the release, or at every site of the project that uses the protocol."""
    source, findings = _source(project, name)
    if source is None:
        return Side(name, findings=findings)
    if source.text.lstrip().startswith("{"):
        return _released(name, source, language)
    if language != SOURCE_LANGUAGE:
        hint = "compare two releases, or leave `--language` out"
        message = f"only releases keep their words in `{language}`"
        return Side(name, findings=(error("project/not-a-release", message, Where(source.file), hint=hint),))
    read = rooms.read_protocol(source.text, source.file)
    if read.value is None:
        return Side(name, findings=read.findings)
    users = [s for s in shelf.sites if s.value and read.value.protocol in s.value.protocols]
    editions: dict[str, Edition] = {}
    said = [*read.findings]
    sites: list[Read[Site] | None] = [*users] or [None]
    for site in sites:
        edition, problems = rooms.resolve(read, site)
        said += problems
        if edition:
            editions[edition.site or ALONE] = edition
    return Side(name, editions, None, tuple(said))


def _source(project: Project, name: str) -> tuple[Source | None, tuple[Finding, ...]]:
    if found := GIT.fullmatch(name):
        return project.revision(found[1], Path(found[2]))
    path = Path(name)
    return project.release(path) if path.suffix == ".json" else project.source(path)


def _released(name: str, source: Source, language: str) -> Side:
    release, findings = parse_release(source.text, source.file)
    if release is None:
        return Side(name, findings=findings)
    editions = {kept.site: e for kept in release.editions if (e := revived(release, kept, language))}
    if not editions:
        message, hint = f"version {release.version} is not released in `{language}`", "choose another language"
        findings += (error("project/not-released", message, Where(source.file), hint=hint),)
    return Side(name, editions, release, findings)


def _apart(old: Side, new: Side) -> Iterator[Finding]:
    a, b = (next(iter(s.editions.values())).protocol for s in (old, new))
    if a != b:
        message = f"`{old.name}` is the protocol `{a}`, and `{new.name}` is `{b}`"
        yield error("project/two-protocols", message, hint="compare two versions of one protocol")


def _no_site(old: Side, new: Side, wanted: Wanted) -> Finding:
    shared = ", ".join(f"`{n}`" for n in new.editions if n in old.editions and n)
    asked = f"`{wanted.sites[0]}`" if wanted.sites else "a site that both have"
    hint = f"choose one of {shared}" if shared else "compare versions that are used by one site"
    return error("project/unknown-site", f"there is no edition of both for {asked}", hint=hint)


def _printed(
    project: Project, changes: list[Change], sites: Mapping[str, Site], form: str, findings: list[Finding]
) -> str:
    reached = [(c, touched(c, sites.get(c.after.site))) for c in changes]
    if form == "json":
        return json.dumps([data(c, t) for c, t in reached], ensure_ascii=False, indent=1) + "\n"
    if form == "html":
        templates, problems = project.templates()
        findings += problems
        try:
            return page(reached, templates[PAGE])
        except Exception as problem:  # a template is somebody's program: whatever it does wrong is its own finding
            message = f"the template can't be used: {problem}".rstrip(".")
            findings.append(error("compose/template", message, Where(f"templates/{PAGE}"), hint="mend it"))
            return ""
    return "".join(f"{line}\n" for group in _together(reached) for line in group)


def _together(reached: list[tuple[Change, Any]]) -> Iterator[list[str]]:
    """What is the same at several sites is said once."""
    said: dict[tuple[str, ...], list[str]] = {}
    own: dict[str, list[str]] = {}
    for change, reach in reached:
        account, everything = tuple(lines(change)), tuple(lines(change, reach))
        said.setdefault(account, []).append(change.after.site)
        own[change.after.site] = [line for line in everything if line not in account]
    for account, names in said.items():
        where = [f"at {', '.join(names)}:"] if names != [ALONE] else []
        more = [line for n in names for line in ([f"  at {n}:"] if len(names) > 1 and own[n] else []) + own[n]]
        yield [*where, *account, *more]
