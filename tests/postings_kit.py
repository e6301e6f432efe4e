"""An invented unit with its postings, and releases of invented protocols: as values, and as a folder on the disk."""

from __future__ import annotations

import datetime
import hashlib
from dataclasses import dataclass, replace
from pathlib import Path

from docgen.model.release import (
    Release,
    ReleasedEdition,
    ReleasedFile,
    ReleasedLanguage,
    Settings,
    Signature,
    Withdrawal,
)
from docgen.model.site import Site
from docgen.model.stamp import Code, fingerprint_of
from docgen.release import History, canonical_bytes, render
from docgen.source import read_site

SITE = """\
site: quay
name: Gull Point Clinic (invented)
unit: Day Ward
invented: true
languages: [en, es]
protocols:
  lens-care: {}
  tray-care: {}
sheets:
  poster: {sheet: A3}
  cards: {sheet: A6}
postings:
  - {id: door, location: "Door of the day ward, left", protocol: lens-care, artifact: poster, languages: [en, es],
     quantity: 2, laminated: true, walk: 2, keeper: Ada Invented}
  - {id: desk, location: Desk, protocol: lens-care, artifact: script, walk: 1, keeper: Ben Invented}
  - {id: pockets, location: Carried by each nurse, protocol: lens-care, artifact: cards, quantity: 7, laminated: true,
     walk: 3}
  - {id: shelf, location: Shelf with the trays, protocol: tray-care, artifact: checklist, quantity: 3, walk: 4}
"""
DAY = datetime.date
PAGES = {"poster": ("A3", 1), "cards": ("A6", 5), "script": ("A4", 3), "checklist": ("A4", 2), "notice": ("A4", 1)}


def site(text: str = SITE) -> Site:
    read = read_site(text, "quay.yaml")
    assert read.value, read.findings
    return read.value


def release(
    protocol: str = "lens-care",
    version: str = "1.0",
    effective: DAY = DAY(2030, 3, 1),
    languages: tuple[str, ...] = ("en", "es"),
    pages: dict[str, tuple[str, int]] = PAGES,
    files: dict[str, bytes] | None = None,
    review: DAY = DAY(2033, 3, 1),
) -> Release:
    """A release of an invented protocol at the site `quay`. `files`: name → bytes, for their digests."""
    identity = {"canonical": 1, "protocol": protocol, "version": version}
    fingerprint = fingerprint_of(canonical_bytes(identity))
    code = f"{protocol[:2].upper()}-01"
    spoken = []
    for language in languages:
        made, codes = [], []
        for artifact, (sheet, count) in pages.items():
            name = f"{code}-v{version}-quay-{language}-{artifact}-{sheet}.pdf".lower()
            data = (files or {}).get(name, name.encode())
            digest = hashlib.sha256(data).hexdigest()
            made.append(ReleasedFile(name, artifact, sheet, count, len(data), digest))
            codes += [str(Code(code, version, fingerprint, language, "quay", artifact, n + 1, count))
                      for n in range(count)]  # fmt: skip
        made.append(ReleasedFile("x-a6-on-a4.pdf", "cards", "A6 on A4", 6, 1, "0" * 64))
        spoken.append(ReleasedLanguage(language, "", tuple(codes), tuple(made)))
    signed = Signature("R. Invented", "Lead", effective - datetime.timedelta(30), "A reason that is long enough")
    kept = ReleasedEdition("quay", fingerprint, Settings(), identity, tuple(spoken))
    record = ReleasedFile("r.pdf", "approval", "A4", 1, 1, "0" * 64)
    return Release(
        protocol, code, version, "Lens care", effective, review, signed, signed, "first", (), (), (), (), None, "0",
        record, {}, {}, (kept,),
    )  # fmt: skip


def withdrawn(of: Release, on: DAY) -> Withdrawal:
    return Withdrawal(of.protocol, of.code, of.version, Signature("R. Invented", "Lead", on, "The rub was recalled"))


def histories(*releases: Release, gone: tuple[Withdrawal, ...] = ()) -> dict[str, History]:
    out: dict[str, History] = {}
    for r in releases:
        before = out.get(r.protocol, History(r.protocol))
        mine = tuple(w for w in gone if w.protocol == r.protocol)
        out[r.protocol] = replace(before, releases=(*before.releases, r), withdrawals=mine)
    return out


@dataclass(frozen=True)
class Home:
    """A project on the disk."""

    root: Path

    @property
    def protocols(self) -> Path:
        return self.root / "protocols"

    @property
    def record(self) -> Path:
        return self.protocols / "sites" / "quay.copies.csv"


def home(root: Path, *values: Release | Withdrawal, text: str = SITE) -> Home:
    """The project with its site and releases in a folder."""
    (root / "protocols" / "sites").mkdir(parents=True)
    (root / "protocols" / "sites" / "quay.yaml").write_text(text, "utf-8")
    for value in values:
        end = "-withdrawn" if isinstance(value, Withdrawal) else ""
        file = root / "protocols" / "releases" / value.protocol / f"{value.version}{end}.json"
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(render(value))
    return Home(root)
