"""Turn source files into editions: every protocol asked for, alone and at every site that uses it.

The stages read → check references → resolve → analyse in this order, each only for what the one before left whole; but
a loose end that changes nothing about who does what in which order (`LOOSE_ENDS`) does not hide what is unsafe in it.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple

from docgen.build.collector import search_seldom
from docgen.findings import Finding, Severity, Where, error, has_errors
from docgen.model.edition import Edition
from docgen.model.moment import Analysis
from docgen.model.protocol import Protocol
from docgen.model.read import Read
from docgen.model.site import Site
from docgen.model.wordlist import WordList
from docgen.project import Project

SOURCE_LANGUAGE = "en"
"""The language protocols are written in."""

LOOSE_ENDS = frozenset(
    {
        "build/same-name", "source/branch-never-offered", "source/effective-before-approval", "source/not-approved",
        "source/rejoins-nowhere", "source/review-before-effective", "source/slot-in-name", "source/unknown-caution",
        "source/unknown-protocol", "source/unused-caution", "source/unused-item", "source/unused-supply",
        "source/when-never-holds",
    }
)  # fmt: skip
"""Errors of a protocol with which its steps are analysed all the same: nothing is made of it until they are mended."""

SAID_BY = {
    "edition/rejoins-nowhere": "source/rejoins-nowhere",
    "sequence/branch-never-rejoins": "source/rejoins-nowhere",
}
"""Rules with nothing to add where another has found the same."""


class Front(NamedTuple):
    """The verbs of the rooms a check passes through, in order."""

    read_protocol: Callable
    read_site: Callable
    read_wordlist: Callable
    check_references: Callable
    check_site: Callable
    resolve: Callable
    analyse: Callable
    check_pair: Callable


def front() -> Front:
    """The rooms themselves, loaded when first wanted."""
    from docgen.analysis import analyse, check_pair
    from docgen.edition import resolve
    from docgen.source import check_references, check_site, read_protocol, read_site
    from docgen.source.wordlist import read_wordlist

    search_seldom()
    return Front(read_protocol, read_site, read_wordlist, check_references, check_site, resolve, analyse, check_pair)


@dataclass(frozen=True, slots=True)
class Asked:
    """Which sources a person asked for; empty means all."""

    files: tuple[Path, ...] = ()
    """Protocol or site files of the project's folder."""
    sites: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Shelf:
    """The sources of a project, read; those asked for, and what is wrong with them."""

    protocols: tuple[Read[Protocol], ...]
    sites: tuple[Read[Site], ...]
    findings: tuple[Finding, ...]
    labels: Mapping[str, str]
    """File as in findings → label as in manifests."""
    today: datetime.date
    known: Mapping[str, Read[Protocol]]
    """Every protocol of the folder by its name, asked for or not."""
    words: WordList | None
    """How instructions are made in the language protocols are written in."""


@dataclass(frozen=True, slots=True)
class Bound:
    """An edition, or what stands in its way. `site` is None for the protocol alone.

    With loose ends there is an analysis, but no edition.
    """

    protocol: Read[Protocol]
    site: Read[Site] | None
    edition: Edition | None
    analysis: Analysis | None
    findings: tuple[Finding, ...]


def shelve(project: Project, asked: Asked, rooms: Front) -> Shelf:
    """Read the sources, with their neighbours for the names they refer to, and check every reference."""
    findings = [*project.overlooked()]
    labels: dict[str, str] = {}

    def read(paths: tuple[Path, ...], door: Callable) -> list[Read]:
        out = []
        for path in paths:
            source, problems = project.source(path)
            if source:
                labels[source.file] = source.label
            out.append(door(source.text, source.file) if source else Read(None, problems, file=str(path)))
        return out

    site_files = tuple(f for f in asked.files if f.parent.name == "sites")
    protocol_files = tuple(f for f in asked.files if f not in site_files)
    protocols = read(_with(project.protocols(), protocol_files), rooms.read_protocol)
    sites = read(_with(project.sites(), site_files), rooms.read_site)
    findings += _twice(protocols, "protocol") + _twice(sites, "site")
    if not protocols:
        findings.append(
            error("project/no-protocols", "there are no protocols here", Where(str(project.folder)),
                  hint="write one with `docgen new NAME`, or give the folder with `--protocols`")
        )  # fmt: skip

    known = {p.value.protocol if p.value else Path(p.file).stem: p for p in protocols}
    chosen = tuple(p for p in protocols if not protocol_files or Path(p.file) in protocol_files)
    there = tuple(
        s for s in sites
        if (not site_files or Path(s.file) in site_files) and (not asked.sites or _name(s) in asked.sites)
    )  # fmt: skip
    findings += [
        error("project/unknown-site", f"no site is called `{name}`", Where(str(project.folder / "sites")),
              hint=f"choose one of {', '.join(f'`{_name(s)}`' for s in sites)}" if sites else "")
        for name in asked.sites
        if name not in map(_name, sites)
    ]  # fmt: skip
    for p in chosen:
        findings += p.findings
        findings += rooms.check_references(p, there, tuple(known))
    names = {p.value.protocol for p in chosen if p.value}
    for s in there:
        findings += s.findings
        findings += [
            f for f in rooms.check_site(s, known) if not (protocol_files and f.protocol) or f.protocol in names
        ]
    listed, problems = project.locale(SOURCE_LANGUAGE, "words.yaml")
    words = rooms.read_wordlist(listed.text, listed.file) if listed else Read(None)
    findings += (*problems, *words.findings)
    return Shelf(chosen, there, tuple(findings), labels, project.today(), known, words.value)


def bind(shelf: Shelf, rooms: Front, alone: bool) -> Iterator[Bound]:
    """Every edition of the shelf, analysed. `alone`: also each protocol by itself, with its options open.

    A protocol or a site with errors of its own has no edition; nor is it analysed where that would mislead.
    """
    errors = [f for f in shelf.findings if f.severity is Severity.ERROR]
    for protocol in shelf.protocols:
        if protocol.value is None:
            continue
        users = [s for s in shelf.sites if s.value and protocol.value.protocol in s.value.protocols]
        for site in [None, *users] if alone else users:
            name = site.value.site if site and site.value else ""
            wrong = {f.rule for f in errors if _in_the_way(f, protocol.file, protocol.value.protocol, site, name)}
            if wrong - LOOSE_ENDS:
                yield Bound(protocol, site, None, None, ())
                continue
            edition, findings = rooms.resolve(protocol, site)
            analysis = rooms.analyse(edition, shelf.today, shelf.words) if edition else None
            said = [*findings, *(analysis.findings if analysis else ())]
            said = [f for f in said if SAID_BY.get(f.rule) not in wrong]
            if edition and edition.pairs_with:
                said += _beside_its_pair(edition, site, shelf, rooms)
            signed = tuple(_signed(f, protocol.value.protocol, name) for f in said)
            yield Bound(protocol, site, None if wrong else edition, analysis, signed)


def _beside_its_pair(edition: Edition, site: Read[Site] | None, shelf: Shelf, rooms: Front) -> tuple[Finding, ...]:
    """What a protocol and the one that undoes it do not agree on, at the same site; nothing if it is not whole."""
    pair = shelf.known.get(edition.pairs_with)
    if pair is None or pair.value is None or (site and site.value and edition.pairs_with not in site.value.protocols):
        return ()
    if has_errors(rooms.check_references(pair, [site] if site else [], tuple(shelf.known))):
        return ()
    other, _said_elsewhere = rooms.resolve(pair, site)
    kinds = {edition.kind: edition, other.kind: other} if other else {}
    if kinds.keys() != {"removing", "putting-on"}:
        return ()
    return rooms.check_pair(kinds["removing"], kinds["putting-on"])


def _in_the_way(f: Finding, file: str, protocol: str, site: Read[Site] | None, name: str) -> bool:
    """Whether an error belongs to this edition: in its protocol's file for any or this site, or the other way round."""
    if f.where.file == file:
        return f.site in ("", name)
    return site is not None and f.where.file == site.file and f.protocol in ("", protocol)


def _signed(f: Finding, protocol: str, site: str) -> Finding:
    return replace(f, protocol=f.protocol or protocol, site=f.site or site)


def _with(found: tuple[Path, ...], named: tuple[Path, ...]) -> tuple[Path, ...]:
    return (*found, *(f for f in dict.fromkeys(named) if f not in found))


def _name(site: Read[Site]) -> str:
    return site.value.site if site.value else Path(site.file).stem


def _twice(reads: list[Read], kind: str) -> list[Finding]:
    """Two files must not carry the same name, nor two protocols the same code: their sheets could not be told apart."""
    findings: list[Finding] = []
    for key in (kind, "code") if kind == "protocol" else (kind,):
        seen: dict[str, Read] = {}
        for read in reads:
            if read.value is None:
                continue
            value = getattr(read.value, key)
            first = seen.setdefault(value.lower(), read)
            if first is not read:
                findings.append(
                    error("build/same-name", f"`{value}` is the {key} of {first.file} too", read.at(key),
                          hint=f"give each {kind} a {key if key == 'code' else 'name'} of its own")
                )  # fmt: skip
    return findings
