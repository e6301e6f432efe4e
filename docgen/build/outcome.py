"""What a run has to say, and with which exit status it ends."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import IntEnum

from docgen.findings import Finding, Severity

Progress = Callable[[int, int, str], None]
"""How many are done, of how many, and what was done last."""


class Exit(IntEnum):
    """Exit status of every command."""

    CLEAN = 0
    """Nothing at error level."""
    FINDINGS = 1
    """At least one finding at error level."""
    UNUSABLE = 2
    """Something asked for could not even be read, or was asked for wrongly."""
    BUG = 3
    """A fault in docgen itself."""
    INTERRUPTED = 130
    """Stopped by the person (128 + SIGINT)."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a run has to say."""

    findings: tuple[Finding, ...]
    lines: tuple[str, ...] = ()
    """What was done, a line each, for a person."""

    @property
    def status(self) -> Exit:
        """The exit status: the rules of room `project` are about what could not be read."""
        errors = [f for f in self.findings if f.severity is Severity.ERROR]
        if any(f.rule.startswith("project/") for f in errors):
            return Exit.UNUSABLE
        return Exit.FINDINGS if errors else Exit.CLEAN


def unwatched(_done: int, _all: int, _what: str) -> None:
    """Progress that nobody watches."""
