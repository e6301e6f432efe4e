"""Turn sessions into counts: for each version of a protocol, each step, each unit and month.

What differs in version or fingerprint is another text and is counted by itself. Only when asked are the versions of one
protocol added up, by the ids of their steps; the result then names all of them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from statistics import median

from docgen.tally.session import DONE, MISSED, OPEN, PROMPTED, Mark, Session

SOURCE_LANGUAGE = "en"

Names = Mapping[str, Mapping[str, tuple[str, str]]]
"""Fingerprint → step → its number and headline, of editions that are at hand, in their order."""


@dataclass(frozen=True, slots=True)
class StepCount:
    """How a step went, over some sessions. Every session that came to it, or should have, is in one of four counts."""

    step: str
    label: str
    headline: str
    done: int
    prompted: int
    missed: int
    open: int
    breaches: int
    """As records note them; a checklist does not say at which step a breach was."""
    times: tuple[float, ...]
    """Seconds of each session that took the time, sorted."""

    @property
    def sessions(self) -> int:
        """How many sessions are in it."""
        return self.done + self.prompted + self.missed + self.open

    @property
    def seconds(self) -> float | None:
        """The median."""
        return median(self.times) if self.times else None


@dataclass(frozen=True, slots=True)
class Stretch:
    """One unit in one month."""

    site: str
    unit: str
    month: str
    """`2026-03`; empty where the day is not known."""
    sessions: int
    ended_early: int
    with_breach: int
    done: int
    prompted: int
    missed: int
    open: int
    breaches: int
    times: tuple[float, ...]
    """Seconds of whole sessions, sorted."""
    steps: tuple[StepCount, ...]

    @property
    def seconds(self) -> float | None:
        """The median."""
        return median(self.times) if self.times else None


@dataclass(frozen=True, slots=True)
class Group:
    """Sessions that are added up: of one text, or of all versions of a protocol when asked for."""

    code: str
    title: str
    editions: tuple[tuple[str, str, str], ...]
    """Version, fingerprint and site of each text in it, newest first."""
    first: str
    last: str
    """Days, ISO 8601; empty where none is known."""
    sessions: int
    checklists: int
    steps: tuple[StepCount, ...]
    stretches: tuple[Stretch, ...]


@dataclass(frozen=True, slots=True)
class Tally:
    """The result."""

    groups: tuple[Group, ...]
    together: bool
    """Whether versions were added up."""
    refused: tuple[tuple[str, str], ...] = ()
    """Files that were not counted, and why."""
    sessions: tuple[Session, ...] = ()
    """Every session with its names; only where names were asked for."""


def tally(
    sessions: Sequence[Session], names: Names, units: Mapping[str, str], together: bool = False
) -> tuple[Group, ...]:
    """Count sessions. `units`: site → name of its unit. `together`: add up all versions of a protocol."""
    groups: dict[tuple[str, ...], list[Session]] = {}
    for s in sessions:
        groups.setdefault((s.code,) if together else (s.code, s.version, s.fingerprint), []).append(s)
    return tuple(_group(found, names, units) for _, found in sorted(groups.items(), key=lambda g: _place(g[1][0])))


def _place(s: Session) -> tuple:
    """Protocols by code, their versions from the newest."""
    return (s.code, *(-n for n in _numbers(s.version)), s.site, s.fingerprint)


def _numbers(version: str) -> tuple[int, ...]:
    return tuple(int(part) for part in version.split("."))


def _group(sessions: list[Session], names: Names, units: Mapping[str, str]) -> Group:
    inside = sorted({(s.version, s.fingerprint, s.site) for s in sessions}, key=lambda e: (_numbers(e[0]), e[1:]))
    editions = tuple(reversed(inside))
    known = _known(sessions, names, editions)
    days = sorted(s.day.isoformat() for s in sessions if s.day)
    stretches: dict[tuple[str, str], list[Session]] = {}
    for s in sessions:
        stretches.setdefault((s.site, s.day.isoformat()[:7] if s.day else ""), []).append(s)
    return Group(
        sessions[0].code, _best((s.language, s.title) for s in sessions), editions,
        days[0] if days else "", days[-1] if days else "",
        len(sessions), sum(s.source == "checklist" for s in sessions),
        _steps(sessions, known),
        tuple(_stretch(*key, found, known, units) for key, found in sorted(stretches.items())),
    )  # fmt: skip


def _stretch(
    site: str, month: str, sessions: list[Session], known: Mapping[str, tuple[str, str]], units: Mapping[str, str]
) -> Stretch:
    counts = Counter(mark.result for s in sessions for mark in s.marks)
    return Stretch(
        site, units.get(site) or _best((s.language, s.unit) for s in sessions), month, len(sessions),
        sum(s.ended_early for s in sessions), sum(s.breaches > 0 for s in sessions),
        counts[DONE], counts[PROMPTED], counts[MISSED], counts[OPEN], sum(s.breaches for s in sessions),
        tuple(sorted(s.seconds for s in sessions if s.seconds is not None)),
        _steps(sessions, known),
    )  # fmt: skip


def _steps(sessions: Iterable[Session], known: Mapping[str, tuple[str, str]]) -> tuple[StepCount, ...]:
    marks: dict[str, list[Mark]] = {}
    for s in sessions:
        for mark in s.marks:
            marks.setdefault(mark.step, []).append(mark)
    return tuple(_step(step, *known[step], marks[step]) for step in known if step in marks)


def _step(step: str, label: str, headline: str, marks: list[Mark]) -> StepCount:
    counts = Counter(mark.result for mark in marks)
    times = tuple(sorted(mark.seconds for mark in marks if mark.seconds is not None))
    breaches = sum(mark.breaches for mark in marks)
    return StepCount(
        step, label, headline, counts[DONE], counts[PROMPTED], counts[MISSED], counts[OPEN], breaches, times
    )


def _known(
    sessions: list[Session], names: Names, editions: Iterable[tuple[str, str, str]]
) -> dict[str, tuple[str, str]]:
    """Step → its number and headline as the newest text has them, in the order of its numbers.

    What a session says of its own steps stands in for a text that is not at hand; a step that only an older text has
    keeps its headline and has no number, since another step may have that number now.
    """
    out: dict[str, tuple[str, str]] = {}
    for version, fingerprint, site in editions:
        own = dict(names.get(fingerprint, {}))
        said: dict[str, list[tuple[str, str, str]]] = {}
        for s in sessions:
            if (s.version, s.fingerprint, s.site) == (version, fingerprint, site):
                for mark in s.marks:
                    said.setdefault(mark.step, []).append((s.language, mark.label, mark.headline))
        for step, told in said.items():
            label = next((label for _, label, _ in told if label), "")
            own.setdefault(step, (label, _best((language, words) for language, _, words in told)))
        fresh = {step: shown for step, shown in own.items() if step not in out}
        taken = {label for label, _ in out.values()}
        ordered = sorted(fresh.items(), key=lambda item: _by_label(item[1][0]))
        out |= {step: ("" if label in taken else label, headline) for step, (label, headline) in ordered}
    return out


def _by_label(label: str) -> tuple[str, int, str]:
    """The main path before branches; 2 before 10."""
    digits = label.lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    return (label[: len(label) - len(digits)], int(digits) if digits.isdecimal() else 0, label)


def _best(worded: Iterable[tuple[str, str]]) -> str:
    """The words in the language of the source, else those that most say; nothing if all are empty."""
    given = [(language, words) for language, words in worded if words]
    own = [words for language, words in given if language.split("-")[0] == SOURCE_LANGUAGE]
    most = Counter(own or [words for _, words in given]).most_common()
    return min((words for words, n in most if n == most[0][1]), default="")
