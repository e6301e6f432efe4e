"""A release: approved editions with who released them, and everything needed to recognise their copies later.

Its file is JSON: `protocols/releases/<protocol>/<version>.json`. The names below are the names in the file.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from docgen.model.catalogue import Signed


@dataclass(frozen=True, slots=True)
class Signature:
    """Who decided something, in which capacity, when, why."""

    by: str
    role: str
    on: datetime.date
    reason: str = ""


@dataclass(frozen=True, slots=True)
class ReleasedFile:
    """One finished file."""

    file: str
    artifact: str
    """`approval` for the approval record."""
    sheet: str
    pages: int
    bytes: int
    sha256: str


@dataclass(frozen=True, slots=True)
class ReleasedTranslation:
    """Who made the words of a language, and who revised them."""

    language: str
    translator: Signed
    reviser: Signed


@dataclass(frozen=True, slots=True)
class ReleasedLanguage:
    """One language of an edition (`es`), or one with another beside it (`es+ar`), and its sheets."""

    language: str
    translation: str
    """Revision of the words; empty for the source language."""
    codes: tuple[str, ...]
    """What a square code on one of its sheets may say."""
    files: tuple[ReleasedFile, ...]


@dataclass(frozen=True, slots=True)
class Settings:
    """What an edition holds besides its identity: how it is printed here, not what it says."""

    sheets: Mapping[str, tuple[str, float]] = field(default_factory=dict)
    """Artifact → sheet and reading distance in metres."""
    address: str = ""
    rate: int = 0
    retraining: str = ""
    pairs: str = ""
    silenced: tuple[tuple[str, str], ...] = ()
    keys: Mapping[str, str] = field(default_factory=dict)
    """Slot → translation key of what fills it."""


@dataclass(frozen=True, slots=True)
class ReleasedEdition:
    """The protocol at one site."""

    site: str
    fingerprint: str
    settings: Settings
    canonical: Mapping[str, Any]
    """Its identity. Written without blanks and with sorted keys, its SHA-256 begins with the fingerprint."""
    languages: tuple[ReleasedLanguage, ...]

    def language(self, tag: str) -> ReleasedLanguage | None:
        """That language, without regard to case."""
        return next((x for x in self.languages if x.language.lower() == tag.lower()), None)


@dataclass(frozen=True, slots=True)
class Replaced:
    """The release before this one, by the SHA-256 of its file."""

    version: str
    sha256: str


@dataclass(frozen=True, slots=True)
class Withheld:
    """A language that a site asks for and that is not released there, and why."""

    site: str
    language: str
    why: str


@dataclass(frozen=True, slots=True)
class Release:
    """One released version of a protocol at all its sites."""

    protocol: str
    code: str
    version: str
    title: str
    effective: datetime.date
    review: datetime.date
    approved: Signature
    """The approval its source names."""
    released: Signature
    degree: str
    """Class of the change: `first`, `wording`, `doing` or `sequence`."""
    changes: tuple[str, ...]
    """The change in words, by site."""
    waivers: tuple[str, ...]
    translations: tuple[ReleasedTranslation, ...]
    withheld: tuple[Withheld, ...]
    replaces: Replaced | None
    docgen: str
    record: ReleasedFile
    """The approval record."""
    inputs: Mapping[str, str]
    """Label of every file it was made from → SHA-256."""
    words: Mapping[str, Mapping[str, str]]
    """Language → translation key → translation as it was written; a site's own words under `<site>/<key>`."""
    editions: tuple[ReleasedEdition, ...]

    def at(self, site: str) -> ReleasedEdition | None:
        """The edition of that site, without regard to case."""
        return next((e for e in self.editions if e.site.lower() == site.lower()), None)


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """A released version that must no longer be used: `protocols/releases/<protocol>/<version>-withdrawn.json`."""

    protocol: str
    code: str
    version: str
    withdrawn: Signature
