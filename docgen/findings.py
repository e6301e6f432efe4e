"""Findings: everything the tool has to say about its input or its output, as data.

A room returns its value together with the findings it made; it never prints and never stops at the first.
Message grammar: lower case, no full stop, values in backticks; the hint is an imperative.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from enum import StrEnum


class Severity(StrEnum):
    """How much a finding weighs: an error stops publishing, a warning is recorded, advice is only shown."""

    ERROR = "error"
    WARNING = "warning"
    ADVICE = "advice"


@dataclass(frozen=True, slots=True)
class Where:
    """A place in a source file (line and column from 1; 0 = unknown) or on a finished sheet (page and box)."""

    file: str = ""
    line: int = 0
    column: int = 0
    excerpt: str = ""
    """The offending source line, without its newline."""
    page: int = 0
    """Page of a finished file, from 1; 0 when this is not about a page."""
    box: tuple[float, float, float, float] | None = None
    """Left, top, right, bottom on that page in millimetres from its top left corner."""

    def __str__(self) -> str:
        if self.page:
            return f"{self.file} page {self.page}"
        return ":".join([self.file, *(str(n) for n in (self.line, self.column) if n)])


NOWHERE = Where()
"""No place known."""


@dataclass(frozen=True, slots=True)
class Note:
    """One sentence of a finding's story, with the place it is about: "step 17 `…` touches `hood`"."""

    text: str
    where: Where = NOWHERE


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing to say: which rule, how bad, what and why, where, and how to mend it."""

    rule: str
    """Words with a room in front: `source/unknown-key`, `sequence/respirator-before-eyes`."""
    severity: Severity
    message: str
    where: Where = NOWHERE
    hint: str = ""
    step: str = ""
    artifact: str = ""
    language: str = ""
    site: str = ""
    protocol: str = ""
    notes: tuple[Note, ...] = ()
    """The trace: how it came to this, in order."""
    data: tuple[tuple[str, str], ...] = field(default=(), compare=False)
    """Facts for programs (JSON, SARIF), such as the options that lead here."""

    def at(self, where: Where) -> Finding:
        """The same finding with a place, if it had none (a caller often knows what a room could not)."""
        return self if self.where != NOWHERE else replace(self, where=where)


def error(rule: str, message: str, where: Where = NOWHERE, **more) -> Finding:
    """An error-level finding; `more` are the other fields of `Finding`."""
    return Finding(rule, Severity.ERROR, message, where, **more)


def warning(rule: str, message: str, where: Where = NOWHERE, **more) -> Finding:
    """A warning-level finding."""
    return Finding(rule, Severity.WARNING, message, where, **more)


def advice(rule: str, message: str, where: Where = NOWHERE, **more) -> Finding:
    """An advice-level finding."""
    return Finding(rule, Severity.ADVICE, message, where, **more)


def has_errors(findings: Iterable[Finding]) -> bool:
    """Whether anything here stops publishing."""
    return any(f.severity is Severity.ERROR for f in findings)
