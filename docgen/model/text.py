"""Authored words as they travel: parsed once at the door, filled with values, never parsed again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch of words of one emphasis, or a slot that a site fills."""

    text: str = ""
    strong: bool = False
    emphasis: bool = False
    slot: str = ""
    """Name of a placeholder (`{hand-rub}`); its text is empty until `fill`."""
    isolate: bool = False
    """A number with its unit, a range, a telephone number: kept in one direction inside right-to-left words."""


Runs = tuple[Run, ...]


@dataclass(frozen=True, slots=True)
class Words:
    """One translatable string: what the author typed and what it means."""

    source: str
    """As typed, with emphasis marks and `{slots}`: the msgid of catalogues."""
    runs: Runs
    """As parsed."""

    @property
    def plain(self) -> str:
        """The words alone, slots shown as `{name}`."""
        return "".join(r.text or (f"{{{r.slot}}}" if r.slot else "") for r in self.runs)

    @property
    def slots(self) -> tuple[str, ...]:
        """Names of the placeholders, in order."""
        return tuple(r.slot for r in self.runs if r.slot)

    def __str__(self) -> str:
        return self.plain


NOTHING = Words("", ())


@dataclass(frozen=True, slots=True)
class Flaw:
    """What is wrong with some authored words."""

    message: str
    hint: str
    fragment: str = ""
    """The characters it is about, as typed, so that they can be pointed at."""


class WordsError(ValueError):
    """Authored words that cannot be taken as they are; `flaws` has all that is wrong with them."""

    def __init__(self, flaws: tuple[Flaw, ...]) -> None:
        super().__init__("; ".join(f.message for f in flaws))
        self.flaws = flaws


@dataclass(frozen=True, slots=True)
class Text:
    """Words of an edition: keyed, filled, in one language."""

    key: str
    """Context for translation: `step.<id>.say`, `caution.<id>.hazard`, `item.<id>.name`, …"""
    source: str
    """The msgid, always in the source language, slots unfilled."""
    runs: Runs
    """Filled runs in the edition's language; no slot is left."""
    unfilled: Runs = ()
    """The runs before filling, so that a translation can be filled with its own values."""

    @property
    def plain(self) -> str:
        """The words alone."""
        return "".join(r.text for r in self.runs)

    def __str__(self) -> str:
        return self.plain

    def __bool__(self) -> bool:
        return bool(self.runs)


NO_TEXT = Text("", "", ())


def fill(runs: Runs, values: Mapping[str, Runs]) -> Runs:
    """Put each slot's value in its place, keeping the slot's emphasis. A slot without a value stays a slot."""
    if not any(run.slot for run in runs):
        return runs
    out: list[Run] = []
    for run in runs:
        if run.slot and run.slot in values:
            out += [
                replace(v, strong=v.strong or run.strong, emphasis=v.emphasis or run.emphasis) for v in values[run.slot]
            ]
        else:
            out.append(run)
    return tuple(out)


def plain(runs: Runs) -> str:
    """The words of some runs."""
    return "".join(r.text for r in runs)
