"""Turn the sources of a project into everything there is to translate, by catalogue."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from docgen.build.layouts import OFFICE
from docgen.build.shelf import Front, Shelf
from docgen.findings import Finding, Severity, has_errors
from docgen.model.catalogue import SITES, TEMPLATES, Message
from docgen.model.edition import Edition
from docgen.model.read import Read


@dataclass(frozen=True, slots=True)
class ToTranslate:
    """Catalogue name → its messages. What could not be read is not in it, and has findings."""

    catalogues: Mapping[str, tuple[Message, ...]]
    findings: tuple[Finding, ...]
    editions: tuple[Edition, ...] = ()
    """The general edition of each protocol that could be resolved."""


def to_translate(shelf: Shelf, templates: Mapping[str, str], rooms: Front) -> ToTranslate:
    """Everything the sources and the templates say. A source with errors is left out whole, so that nothing retires."""
    from docgen.figure.phrases import PHRASES
    from docgen.language import extract, phrase_messages, protocol_messages, sentences, signal_messages, site_messages

    out: dict[str, tuple[Message, ...]] = {}
    spoken = {name: text for name, text in templates.items() if name.partition("/")[0] not in OFFICE}
    words, findings = extract(spoken)
    said = list(findings)
    if not has_errors(findings):
        out[TEMPLATES] = (*signal_messages(), *words, *phrase_messages(PHRASES))
    editions = []
    for read in shelf.protocols:
        edition, problems = rooms.resolve(read, None)
        said += problems
        if edition:
            editions.append(edition)
            out[edition.protocol] = protocol_messages(edition, shelf.labels[read.file])
    if all(site.value for site in shelf.sites):
        used = sentences(editions)
        found = (site_messages(s.value, shelf.labels[s.file], used) for s in shelf.sites if s.value)
        out[SITES] = tuple(m for messages in found for m in messages)
    said += _broken((*shelf.protocols, *shelf.sites))
    return ToTranslate(out, tuple(said), tuple(editions))


def _broken(reads: Sequence[Read]) -> list[Finding]:
    return [f for r in reads if r.value is None for f in r.findings if f.severity is Severity.ERROR]
