"""Turn texts without a valid translation into findings: each critical one by itself, all others together."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from docgen.findings import Finding, Severity, Where
from docgen.language.critical import critical
from docgen.model.catalogue import Catalogue, Entry, Message

SHOWN = 5
"""Keys named in a finding about many texts."""


@dataclass(frozen=True, slots=True)
class Lack:
    """A text without a valid translation."""

    key: str
    source: str
    entry: Entry | None
    catalogue: Catalogue

    @property
    def state(self) -> str:
        """`missing`, `outdated`, or `unusable`: it cannot be parsed, or has other slots."""
        if self.entry and self.entry.translation:
            return "outdated" if self.entry.outdated or self.entry.source != self.source else "unusable"
        return "missing"


def lacking_of(catalogue: Catalogue, messages: Iterable[Message]) -> list[Lack]:
    """Messages for which a catalogue has no translation made from their words."""
    known = {e.key: e for e in catalogue.entries}
    out = []
    for m in messages:
        entry = known.get(m.key)
        if not (entry and entry.valid and entry.source == m.source):
            out.append(Lack(m.key, m.source, entry, catalogue))
    return out


def said_of(lacks: Iterable[Lack], language: str, severity: Callable[[Lack], Severity]) -> tuple[Finding, ...]:
    """The findings, at the severity that each deserves."""
    return tuple(_said(list(lacks), language, severity))


def _said(lacks: list[Lack], language: str, severity: Callable[[Lack], Severity]) -> Iterator[Finding]:
    together: dict[tuple[str, str], list[Lack]] = {}
    for lack in lacks:
        if critical(lack.key, lack.source):
            yield _one(lack, severity(lack), language)
        else:
            together.setdefault((lack.catalogue.name, lack.state), []).append(lack)
    for (name, state), some in together.items():
        if len(some) == 1:
            yield _one(some[0], severity(some[0]), language)
            continue
        named = ", ".join(f"`{x.key[:60]}`" for x in some[:SHOWN])
        more = f" and {len(some) - SHOWN} more" if len(some) > SHOWN else ""
        first = some[0].entry.where if some[0].entry else Where(some[0].catalogue.file)
        yield Finding(
            f"language/{state}", severity(some[0]), f"{len(some)} translations of `{name}` are {state}: {named}{more}",
            first, hint=_MEND[state], language=language,
        )  # fmt: skip


def _one(lack: Lack, severity: Severity, language: str) -> Finding:
    where = lack.entry.where if lack.entry else Where(lack.catalogue.file)
    message = f"the translation of `{lack.key[:80]}` is {lack.state}: `{lack.source}`"
    step = lack.key.split(".")[1] if lack.key.startswith("step.") else ""
    return Finding(
        f"language/{lack.state}", severity, message, where, hint=_MEND[lack.state], step=step, language=language
    )


_MEND = {
    "missing": "translate it; `docgen words update` writes the entry where there is none",
    "outdated": "translate it from the present words, then take `fuzzy` away",
    "unusable": "correct its emphasis or its slots; `docgen words check` says what is wrong",
}
