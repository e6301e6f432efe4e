"""Turn a catalogue and the messages of the present sources into the catalogue to go on with, losing nobody's work.

A translation whose source words have changed stays, marked `fuzzy`, with the words it was made from; one whose source
is gone is kept at the end. Nothing is ever taken for translated because it looks alike.
"""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from posixpath import commonprefix

from docgen.model.catalogue import TEMPLATE, Catalogue, Entry, Message

ALIKE = 0.75
"""Likeness (difflib's ratio) from which a template's changed words are offered their old translation to be revised."""


@dataclass(frozen=True, slots=True)
class Merged:
    """The catalogue to write, and the keys that changed."""

    catalogue: Catalogue
    added: tuple[str, ...] = ()
    """Not translated yet, and new here."""
    outdated: tuple[str, ...] = ()
    """Translated from other words than the present ones, and not marked so before."""
    moved: tuple[str, ...] = ()
    """The same words under a new key: a line moved, a step renamed."""
    revived: tuple[str, ...] = ()
    retired: tuple[str, ...] = ()
    """Translated, and the source is gone."""

    @property
    def changed(self) -> bool:
        """Whether a translator would see a difference."""
        return any((self.added, self.outdated, self.moved, self.revived, self.retired))


def merge(catalogue: Catalogue, messages: Sequence[Message]) -> Merged:
    """Bring a catalogue up to the present sources. Entries come in the order of `messages`."""
    by_key = {e.key: e for e in catalogue.entries}
    gone = {e.key: e for e in catalogue.obsolete}
    taken: dict[str, tuple[Entry, str]] = {}
    """Key of a message → what it continues, and how."""
    left = {m.key: m for m in messages}
    used: set[int] = set()

    def take(key: str, entry: Entry, how: str) -> None:
        taken[key] = (entry, how)
        used.add(id(entry))
        del left[key]

    for m in messages:  # the same words in the same place
        old = by_key.get(m.key)
        if old and old.source == m.source:
            take(m.key, old, "kept")
    living = {id(e) for e in catalogue.entries}
    for m in list(left.values()):  # the same words where their line moved to, or that were here before
        same = [
            e for e in (*catalogue.entries, *catalogue.obsolete)
            if id(e) not in used and e.translation and e.source == m.source and _field(e.key) == _field(m.key)
        ]  # fmt: skip
        if same:
            near = max(same, key=lambda e: len(commonprefix([e.key, m.key])))
            take(m.key, near, "moved" if id(near) in living else "revived")
    for m in list(left.values()):  # other words in the same place
        entry = by_key.get(m.key) or gone.get(m.key)
        if entry and id(entry) not in used and _work(entry):
            take(m.key, entry, "outdated")
    for m in list(left.values()):  # a template's words have no place but themselves
        if m.key.startswith(f"{TEMPLATE}."):
            loose = [e for e in (*catalogue.entries, *catalogue.obsolete) if _loose(e, used)]
            if like := difflib.get_close_matches(m.source, [e.source for e in loose], 1, ALIKE):
                take(m.key, next(e for e in loose if e.source == like[0]), "outdated")

    entries = tuple(_continued(m, *taken.get(m.key, (None, "added"))) for m in messages)
    retired = tuple(e for e in catalogue.entries if id(e) not in used and _work(e))
    kept = tuple(e for e in catalogue.obsolete if id(e) not in used)
    how = {key: how for key, (_, how) in taken.items()}
    return Merged(
        replace(catalogue, entries=entries, obsolete=(*kept, *(replace(e, notes=(), files=()) for e in retired))),
        added=tuple(m.key for m in messages if m.key not in how and m.key not in by_key),
        outdated=tuple(k for k, (e, h) in taken.items() if h == "outdated" and e.translation and not e.outdated),
        moved=tuple(k for k, h in how.items() if h == "moved"),
        revived=tuple(k for k, h in how.items() if h == "revived"),
        retired=tuple(e.key for e in retired),
    )


def _continued(m: Message, old: Entry | None, how: str) -> Entry:
    if old is None:
        return Entry(m.key, m.source, notes=m.notes, files=m.files)
    entry = replace(old, key=m.key, source=m.source, notes=m.notes, files=m.files)
    if how != "outdated" or not old.translation:
        return entry
    # What it was made from stays what it was made from, however often the source changes meanwhile.
    return replace(entry, outdated=True, previous=old.previous if old.outdated and old.previous else old.source)


def _field(key: str) -> tuple[str, str]:
    """What a key is for: the same for two lines of one step, and for a step before and after it was renamed."""
    if key.startswith((f"{TEMPLATE}.", "figure.", "signal.")):
        return (key, "")
    parts = [p for p in key.split(".") if not p.isdigit()]
    return (parts[0], parts[-1] if len(parts) > 2 else "")


def _work(entry: Entry) -> bool:
    return bool(entry.translation or entry.comments)


def _loose(entry: Entry, used: set[int]) -> bool:
    return id(entry) not in used and bool(entry.translation) and entry.key.startswith(f"{TEMPLATE}.")
