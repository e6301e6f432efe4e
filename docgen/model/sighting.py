"""What somebody found: sheets seen in a file or a picture, and what each turned out to be."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from functools import cache
from typing import Any


@dataclass(frozen=True, slots=True)
class Printed:
    """A printed stamp, as far as it could be read."""

    code: str = ""
    """Document code, such as `IP-HH-01`; empty as the others if it could not be read."""
    version: str = ""
    fingerprint: str = ""
    """Ten characters, upper case."""
    language: str = ""
    sheet: int = 0
    sheets: int = 0
    days: tuple[str, ...] = ()
    """ISO 8601 dates, in the order in which they stand."""
    words: str = ""
    """The line as it was read."""


@dataclass(frozen=True, slots=True)
class Sighting:
    """One sheet, or one card side, that was seen."""

    page: int
    """Of the file, from 1."""
    square: str = ""
    """What its square code says; empty if none could be read."""
    printed: Printed | None = None
    box: tuple[float, float, float, float] | None = None
    """Left, top, right, bottom of the square code or the stamp, in hundredths of the picture's width and height."""
    unread: bool = False
    """There is a square code here that could not be read."""


@dataclass(frozen=True, slots=True)
class Seen:
    """Everything that was seen in one file."""

    kind: str
    """`pdf` or `picture`."""
    pages: int
    sightings: tuple[Sighting, ...]
    notes: tuple[str, ...] = ()
    """What could not be done, and why: a reader of text that is missing, pages beyond a limit."""
    worded: bool = False
    """A PDF has words of its own; a scan in a PDF has none."""


def dump(seen: Seen) -> str:
    """As JSON, to be sent from one process to another."""
    return _adapter().dump_json(seen).decode("utf-8")


def load(text: str) -> Seen | None:
    """What was sent; None if it is anything else."""
    from pydantic import ValidationError

    try:
        return _adapter().validate_json(text)
    except ValidationError:
        return None


@cache
def _adapter() -> Any:
    from pydantic import ConfigDict, TypeAdapter, with_config

    return TypeAdapter(with_config(ConfigDict(extra="forbid"))(Seen))


STATES = ("current", "scheduled", "superseded", "withdrawn", "altered", "unknown")
"""What a copy can be, from the best to the worst."""


@dataclass(frozen=True, slots=True)
class Copy:
    """One printed sheet or file, identified as far as it can be."""

    state: str
    """One of `STATES`."""
    pages: tuple[int, ...]
    """Of the file."""
    protocol: str = ""
    code: str = ""
    version: str = ""
    title: str = ""
    site: str = ""
    language: str = ""
    artifact: str = ""
    """Several, joined by ` or `, where a printed stamp leaves it open."""
    sheets: tuple[int, ...] = ()
    of: int = 0
    effective: datetime.date | None = None
    review: datetime.date | None = None
    since: datetime.date | None = None
    """The day from which on it has its state."""
    by: str = ""
    """The version that holds instead."""
    reason: str = ""
    """Of a withdrawal."""
    changed: tuple[str, ...] = ()
    """What differs in the version that holds now, as people call it."""
    read_from: tuple[str, ...] = ()
    """`digest`, `code`, `stamp`: what says so."""
    compared: str = ""
    """`bytes`: it is the released file; `words`: its words are those of the release; empty: nothing was compared."""
    why: tuple[str, ...] = ()
    """What is wrong with it, a sentence each."""
    notes: tuple[str, ...] = ()
    """What else to know."""
    box: tuple[float, float, float, float] | None = None
    """Where in a picture, as of a `Sighting`."""
