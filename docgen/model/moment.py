"""What the analysis found out: findings, the wearer at each step, times, counts."""

from __future__ import annotations

from dataclasses import dataclass

from docgen.findings import Finding


@dataclass(frozen=True, slots=True)
class Moment:
    """The wearer as a step begins, and what the step does: everything the figure and its alternative text need."""

    step: str
    worn: tuple[str, ...]
    """Item ids worn as the step begins, outermost first."""
    verb: str
    """The step's leading act (`remove`, `sanitize`, …), or empty."""
    subject: tuple[str, ...]
    """Item ids (or `bare`, `area`, a supply id, …) that act is about."""
    hands: str
    """Outermost hand layer as the step begins: `outer`, `inner`, `single` or `bare`."""
    hands_clean: bool
    """Whether that layer has been sanitized since it last touched something dirty."""
    view: str
    """`front`, `back` or `hands`."""
    actors: tuple[str, ...]
    """Role ids that act in this step, the step's own actor first."""
    place: str = ""


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule in plain words, for `check --explain` and the page of all rules."""

    name: str
    """As in findings: `sequence/respirator-before-eyes`."""
    title: str
    """One sentence: what must be true."""
    why: str
    basis: str
    """A published source, or `common practice, no source`."""
    exceptions: str = ""
    severity: tuple[tuple[str, str], ...] = (("standard", "error"), ("enhanced", "error"))
    """Profile → severity, or `off`."""
    waivable: bool = True
    example: str = ""
    """How a violation reads, and how it is mended."""


@dataclass(frozen=True, slots=True)
class Timing:
    """Seconds of one step, least and most likely."""

    step: str
    speak: float
    answer: float
    hygiene: float
    act: float

    @property
    def total(self) -> float:
        """All of it."""
        return self.speak + self.answer + self.hygiene + self.act


@dataclass(frozen=True, slots=True)
class Counts:
    """What was explored."""

    combinations: int = 0
    branch_points: int = 0
    states: int = 0
    steps: int = 0
    bounded: str = ""
    """Empty, or what was left out and why."""


@dataclass(frozen=True, slots=True)
class Analysis:
    """The result of running an edition."""

    findings: tuple[Finding, ...] = ()
    moments: tuple[Moment, ...] = ()
    timings: tuple[Timing, ...] = ()
    counts: Counts = Counts()

    def moment(self, step: str) -> Moment | None:
        """The moment of a step, main path or branch."""
        return next((m for m in self.moments if m.step == step), None)

    @property
    def seconds(self) -> float:
        """The whole main path."""
        return sum(t.total for t in self.timings)
