"""Turn a catalogue into how far it has come, in numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from docgen.language.critical import cautioning
from docgen.language.lack import lacking_of
from docgen.language.revision import content, reviewed
from docgen.model.catalogue import Catalogue, Message


@dataclass(frozen=True, slots=True)
class Status:
    """How far one catalogue has come. `…_cautions`: of those, how many belong to cautions, holds or signal words."""

    language: str
    catalogue: str
    texts: int
    translated: int
    outdated: int
    outdated_cautions: int
    missing: int
    missing_cautions: int
    state: str
    translator: str
    translated_on: str
    reviser: str
    revised_on: str
    content: str
    """Code of what stands there now."""
    reviewed: bool
    """Whether a named person has revised exactly this."""


def status(catalogue: Catalogue, messages: Sequence[Message]) -> Status:
    """The status of a catalogue against what the sources say now."""
    lacks = lacking_of(catalogue, messages)
    outdated = [x for x in lacks if x.state != "missing"]
    missing = [x for x in lacks if x.state == "missing"]
    by, reviser = catalogue.translator, catalogue.reviser
    return Status(
        catalogue.language, catalogue.name, len(messages), len(messages) - len(lacks), len(outdated),
        sum(cautioning(x.key) for x in outdated), len(missing), sum(cautioning(x.key) for x in missing),
        catalogue.state, by.by, by.on.isoformat() if by.on else "", reviser.by,
        reviser.on.isoformat() if reviser.on else "", content([catalogue]), reviewed(catalogue),
    )  # fmt: skip
