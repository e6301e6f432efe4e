"""Turn an edition or a site into messages to translate, with notes that tell a translator what each is for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from math import ceil
from typing import TypeVar
from unicodedata import category

from docgen.model.catalogue import Message
from docgen.model.edition import Edition
from docgen.model.site import Site
from docgen.model.text import Text, Words

T = TypeVar("T")

UNSEEN = ("act.", "time.", "option.", "choice.")
"""Texts that no artifact prints: they are for the program and for authors."""

EXPANSION = ((10, 2.0), (20, 1.0), (30, 0.8), (50, 0.6), (70, 0.4))
"""Characters of the English text up to which a translation may need so much more room: the upper ends of the table of
IBM's globalization guideline A3 as the W3C's "Text size in translation" gives it; 30 % beyond."""

_NOTES = {
    "protocol.title": "Title on top of every sheet.",
    "protocol.owner": "Who answers for the document. Notice, and the file's properties.",
    "protocol.audience": "Who the document is for.",
    "protocol.purpose": "What the document is for, in one sentence. Notice.",
    "protocol.reason": "Why this version was made. Notice.",
    "protocol.changes": "What changes with this version. Notice.",
    "abbreviation": "What a short form stands for.",
    "phase.title": "Heading of a stretch of steps. All sheets.",
    "step.headline": "What to do: an order, verb first, few words. Heading of the step. All sheets.",
    "step.say": "The observer reads this aloud to the wearer, word for word. Script.",
    "step.answer": "The wearer answers this aloud. Script.",
    "step.do": "How it is done: an order to the one who acts. Script.",
    "step.watch": "What the observer looks for. Script, checklist.",
    "step.done-when": "What can be seen when the step is done. Script, checklist.",
    "step.hold": "Nobody goes on until this is true. After the word STOP and who confirms. All sheets.",
    "caution.hazard": "Caution, first sentence: what is dangerous. All sheets.",
    "caution.consequence": "Caution, second sentence: what it leads to. All sheets.",
    "caution.avoid": "Caution, third sentence: how to avoid it. All sheets.",
    "branch.question": "Something is found, asked as a question. All sheets.",
    "branch.leave": "How this path ends. All sheets.",
    "branch.tell": "Who is told. After the word Tell. Script, checklist.",
    "role.name": "What somebody is called beside the steps they do. All sheets.",
    "role.removes-by": "How this role takes off its own equipment.",
    "item.name": "Name of a protective item. In sentences, and in the descriptions of figures.",
    "supply.name": "Name of something used. In sentences, and in the descriptions of figures.",
    "supply.product": "A product's name at this site, with its kind. In sentences.",
    "place.name": "Name of a room or area. In sentences.",
    "site.name": "The facility, on top of every sheet.",
    "site.unit": "The unit, on top of every sheet.",
    "value": "Fills a {slot} in sentences.",
}


def mapped(value: T, change: Callable[[Text], Text]) -> T:
    """An edition, or any part of one, with every text changed; parts without a changed text stay the same objects."""
    if isinstance(value, Text):
        return change(value)  # type: ignore[return-value]  # a Text is a T here; mypy does not narrow T
    if isinstance(value, tuple):
        out = tuple(mapped(each, change) for each in value)
        return value if all(a is b for a, b in zip(out, value, strict=True)) else out  # type: ignore[return-value]
    if is_dataclass(value) and not isinstance(value, type):
        new = {f.name: mapped(getattr(value, f.name), change) for f in fields(value)}
        changed = {name: part for name, part in new.items() if part is not getattr(value, name)}
        return replace(value, **changed) if changed else value
    return value


def texts_of(edition: Edition) -> tuple[Text, ...]:
    """Every text of an edition once, in the order of its parts."""
    found: dict[tuple[str, str], Text] = {}

    def note(text: Text) -> Text:
        if text:
            found.setdefault((text.key, text.source), text)
        return text

    mapped(edition, note)
    return tuple(found.values())


def translatable(key: str, source: str) -> bool:
    """Whether anybody sees it and it has letters; a telephone number needs no translator."""
    return not key.startswith(UNSEEN) and any(category(c).startswith("L") for c in source)


def room(source: str) -> int:
    """Characters a translation of these words may take before it is likely not to fit."""
    more = next((more for limit, more in EXPANSION if len(source) <= limit), 0.3)
    return ceil(len(source) * (1 + more))


def protocol_messages(edition: Edition, file: str) -> tuple[Message, ...]:
    """What a protocol says, from its general edition (all options open). `file`: where it is written, for reference."""
    headlines = {s.id: s.headline.source for s in edition.all_steps()}
    names = {slot: text.source for slot, text in edition.values}
    used = sentences([edition])
    return tuple(
        Message(t.key, t.source, _notes(t, headlines, names, used), (file,))
        for t in texts_of(edition)
        if translatable(t.key, t.source)
    )


def site_messages(site: Site, file: str, sentences: Mapping[str, str]) -> tuple[Message, ...]:
    """What a site writes, each key below the site's name. `sentences`: slot → a sentence that it fills."""
    return tuple(
        Message(f"{site.site}/{key}", words.source, (*_kind(key), *_use(key, sentences), _room(words.source)), (file,))
        for key, words in _of_site(site)
        if translatable(key, words.source)
    )


def sentences(editions: Iterable[Edition]) -> dict[str, str]:
    """Slot → the first text that it fills, so that a translator sees what its words stand between."""
    out: dict[str, str] = {}
    for edition in editions:
        for text in texts_of(edition):
            for run in text.unfilled:
                if run.slot and not text.key.startswith(UNSEEN):
                    out.setdefault(run.slot, text.source)
    return out


def _of_site(site: Site) -> Iterator[tuple[str, Words]]:
    yield "site.name", site.name
    if site.unit:
        yield "site.unit", site.unit
    for name, words in site.values.items():
        yield f"value.{name}", words
    for name, words in site.places.items():
        yield f"place.{name}.name", words
    for name, supply in site.supplies.items():
        if supply.product:
            yield f"supply.{name}.product", supply.product


def _notes(
    text: Text, headlines: Mapping[str, str], names: Mapping[str, str], used: Mapping[str, str]
) -> tuple[str, ...]:
    notes = [*_kind(text.key), *_use(text.key, used)]
    parts = text.key.split(".")
    if parts[0] == "step" and parts[2] != "headline":
        notes.append(f"Step: {headlines.get(parts[1], parts[1])}")
    for run in text.unfilled:
        if run.slot:
            notes.append(f"{{{run.slot}}} = {names.get(run.slot, 'filled in by each site')}")
    return (*dict.fromkeys(notes), _room(text.source))


def _kind(key: str) -> tuple[str, ...]:
    parts = [p for p in key.split(".") if not p.isdigit()]
    for kind in (f"{parts[0]}.{parts[-1]}", parts[0]):
        if kind in _NOTES:
            return (_NOTES[kind],)
    return ()


def _use(key: str, sentences: Mapping[str, str]) -> tuple[str, ...]:
    """A sentence that a name or a value fills."""
    kind, _, rest = key.partition(".")
    slot = rest.split(".")[0]
    return (f"In: {sentences[slot]}",) if kind in ("item", "supply", "place", "value") and slot in sentences else ()


def _room(source: str) -> str:
    return f"Room: {room(source)} characters."
