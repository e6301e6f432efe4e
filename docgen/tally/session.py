"""The nouns of a tally: one session that was watched, and what was noted of each of its steps."""

from __future__ import annotations

import datetime
import re
import unicodedata
from dataclasses import dataclass, replace

from docgen.findings import Finding

DONE, PROMPTED, MISSED, OPEN = "done", "prompted", "missed", "open"
RESULTS = (DONE, PROMPTED, MISSED, OPEN)
"""From best to worst, but for `open`: nobody noted what became of the step, or it was left before it was done."""


@dataclass(frozen=True, slots=True)
class Mark:
    """What was noted of one step in one session."""

    step: str
    """Its id, which never changes."""
    result: str
    label: str = ""
    """Its number as printed, `12` or `C5`."""
    headline: str = ""
    seconds: float | None = None
    """All visits together; None where nobody took the time."""
    breaches: int = 0

    @property
    def aside(self) -> bool:
        """Whether it belongs to a branch: its number begins with the branch's letter."""
        return self.label[:1].isalpha()


@dataclass(frozen=True, slots=True)
class Session:
    """One person followed once through a protocol."""

    source: str
    """`checklist` or `record`."""
    code: str
    version: str
    fingerprint: str
    site: str
    language: str
    marks: tuple[Mark, ...]
    """One for each step, in order."""
    title: str = ""
    unit: str = ""
    """Name of the unit in the session's language, where it is known."""
    day: datetime.date | None = None
    seconds: float | None = None
    """From begin to end."""
    breaches: int = 0
    ended_early: bool = False
    outcome: str = ""
    """What an assessor ticked: `competent`, `repeat` or nothing."""
    people: tuple[tuple[str, str], ...] = ()
    """Names and remarks, which leave this room only when asked for."""
    began: str = ""
    """When it began, as written: two records that say the same are of one session."""

    def count(self, result: str) -> int:
        """How many steps have this result."""
        return sum(mark.result == result for mark in self.marks)


@dataclass(frozen=True, slots=True)
class Told:
    """What became of a file: a session, or none, and what there is to say."""

    session: Session | None
    findings: tuple[Finding, ...] = ()


def merged(visits: tuple[Mark, ...]) -> Mark:
    """One mark of a step that was come to several times: its worst result, its times and breaches together."""
    noted = [m.result for m in visits if m.result != OPEN]
    timed = [m.seconds for m in visits if m.seconds is not None]
    return replace(
        visits[0],
        result=max(noted, key=RESULTS.index, default=OPEN),
        seconds=sum(timed) if timed else None,
        breaches=sum(m.breaches for m in visits),
    )


_CODE = re.compile(r"[A-Z0-9][A-Z0-9-]{1,15}")
_VERSION = re.compile(r"\d{1,4}\.\d{1,4}")
_FINGERPRINT = re.compile(r"[0-9A-HJKMNP-TV-Z]{10}")
_NAME = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
_LANGUAGE = re.compile(r"[A-Za-z]{2,3}(-[A-Za-z0-9]{1,8})*")
SHAPES = {
    "code": _CODE, "version": _VERSION, "fingerprint": _FINGERPRINT, "site": _NAME, "language": _LANGUAGE,
}  # fmt: skip
"""How each part of a stamp is written."""
LONGEST_NAME = 80


def is_name(text: str) -> bool:
    """Whether this can be the id of a step, or a site."""
    return len(text) <= LONGEST_NAME and _NAME.fullmatch(text) is not None


def is_stamp(part: str, text: str) -> bool:
    """Whether this can be that part of a stamp."""
    return len(text) <= LONGEST_NAME and SHAPES[part].fullmatch(text) is not None


def clean(text: str, longest: int = 300) -> str:
    """A text of a stranger without what could drive a terminal or a page: controls, private use, lone surrogates."""
    kept = (c for c in text[: 4 * longest] if c in "\u200c\u200d" or unicodedata.category(c) not in _UNWANTED)
    return " ".join("".join(" " if c.isspace() else c for c in kept).split())[:longest]


_UNWANTED = frozenset({"Cc", "Cf", "Co", "Cs"})
