"""Printed copies: what must hang where, what was recorded to hang there, and what is to be done about the difference.

What was recorded lies in plain text beside the site, `protocols/sites/<site>.copies.csv`: a line says how many copies
of one sheet are at a place from a day on, and later lines about the same sheet take the place of earlier ones. So lines
are only ever added, and lines that two people added to two copies of the file can be merged in any order.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from docgen.model.release import ReleasedFile


@dataclass(frozen=True, slots=True)
class Copy:
    """What is printed on a copy."""

    protocol: str
    artifact: str
    sheet: str
    language: str
    version: str
    fingerprint: str


@dataclass(frozen=True, slots=True)
class Spot:
    """One place and one language of a posting."""

    posting: str
    location: str
    walk: int
    keeper: str
    """Who sees to it; empty if the site names nobody."""
    protocol: str
    artifact: str
    sheet: str
    """The sheet that the site asks for by name; empty for the one that is released."""
    language: str
    quantity: int
    laminated: bool
    listed: bool = True
    """Whether the site file still has it."""

    @property
    def key(self) -> tuple[str, str]:
        """Posting and language."""
        return (self.posting, self.language)


@dataclass(frozen=True, slots=True)
class Hung:
    """One line of the record: so many copies are there since then."""

    on: datetime.date
    posting: str
    location: str
    copy: Copy
    there: int
    """0: taken down."""
    by: str
    note: str = ""

    @property
    def key(self) -> tuple[str, str]:
        """Posting and language."""
        return (self.posting, self.copy.language)


@dataclass(frozen=True, slots=True)
class Target:
    """What must hang."""

    copy: Copy
    effective: datetime.date
    file: ReleasedFile
    code: str
    """What the square code of its first sheet says; empty if it has none."""


@dataclass(frozen=True, slots=True)
class Old:
    """What must be taken down."""

    copy: Copy
    copies: int
    why: str
    recorded: bool = True
    """False: nobody recorded that it hangs there, and nobody that it does not."""


@dataclass(frozen=True, slots=True)
class Task:
    """What there is to do at one spot."""

    spot: Spot
    target: Target | None
    missing: int
    """Copies of the target that are not up."""
    down: tuple[Old, ...]
    lack: str = ""
    """Why nothing can be put up, where nothing can."""
    last: Hung | None = None
    """The latest line of the record about this spot."""

    @property
    def open(self) -> bool:
        """Whether anything is left to do."""
        return bool(self.missing or self.down)


@dataclass(frozen=True, slots=True)
class Found:
    """What hangs at one spot, by the record, and what that is worth today."""

    spot: Spot
    state: str
    """One of `STATES`."""
    hanging: tuple[Hung, ...]
    wanted: str
    """The version in force; empty if there is none."""


STATES = {
    "current": "what is in force hangs, in full",
    "few": "what is in force hangs, and copies are missing",
    "outdated": "something that was replaced hangs",
    "withdrawn": "something that was withdrawn hangs",
    "unknown": "something hangs of which no release is there",
    "early": "something hangs that is not yet in force",
    "other sheet": "what is in force hangs, and not on the sheet that the site asks for",
    "not listed": "something hangs where the site file lists nothing",
    "empty": "nothing hangs",
    "not recorded": "nobody has recorded what hangs",
    "nothing released": "nothing is released that could hang",
}
"""State of a spot → what it means."""

MUST_GO = frozenset({"outdated", "withdrawn", "unknown", "early", "not listed"})
"""States in which people may follow a sheet that does not hold."""


@dataclass(frozen=True, slots=True)
class Order:
    """Copies of one released file to print."""

    target: Target
    copies: int
    laminated: bool
    sides: int
    """Sides of paper that carry anything, for one copy."""
    paper: str
    """What it is printed on: its own sheet, or for cards the press sheet."""
    duplex: bool
    leaves: int
    """Sheets of paper, for all copies."""
    pieces: int
    """Things to laminate, for all copies; 0 if it is not laminated."""
    tasks: tuple[Task, ...]
    """In walking order."""
