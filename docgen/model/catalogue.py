"""The words of one language for one protocol, for the templates or for the sites: what a translator writes."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass, field

from docgen.findings import Where

STATES = ("draft", "translated", "revised")
"""How far a catalogue has come: a draft that nobody qualified has read; translated by a named person; revised by
another (ISO 17100 asks for a second person who compares it with the source)."""

TEMPLATES = "templates"
"""Name of the catalogue of template words, signal words and figure phrases."""
SITES = "sites"
"""Name of the catalogue of what the sites write: rooms, products, units, values."""
TEMPLATE = "template"
"""Context that all words of the templates share."""


@dataclass(frozen=True, slots=True)
class Message:
    """Something to translate."""

    key: str
    """`step.<id>.say`, `template.<msgid>`, `signal.warning`, `figure.verb.remove`, `<site>/value.<slot>`."""
    source: str
    """As authored, with emphasis marks and `{slots}`: the msgid."""
    notes: tuple[str, ...] = ()
    """For the translator: who says it, where it appears, how long it may be."""
    files: tuple[str, ...] = ()
    """Where it comes from, without line numbers."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One message and what a translator made of it."""

    key: str
    source: str
    translation: str = ""
    outdated: bool = False
    """Marked `fuzzy`: made from other source words than these, or not certain."""
    previous: str = ""
    """The source words an outdated translation was made from."""
    comments: tuple[str, ...] = ()
    """The translator's own, as typed."""
    notes: tuple[str, ...] = ()
    files: tuple[str, ...] = ()
    where: Where = field(default=Where(), compare=False)

    @property
    def context(self) -> str:
        """The msgctxt: the key, but one context for all words of templates."""
        return TEMPLATE if self.key == f"{TEMPLATE}.{self.source}" else self.key

    @property
    def valid(self) -> bool:
        """Whether there is a translation made from exactly these source words."""
        return bool(self.translation) and not self.outdated


@dataclass(frozen=True, slots=True)
class Signed:
    """Who did something, and when."""

    by: str = ""
    on: datetime.date | None = None

    def __bool__(self) -> bool:
        return bool(self.by)


@dataclass(frozen=True, slots=True)
class Catalogue:
    """One PO file, read. An empty one stands for a file that nobody has begun."""

    language: str
    """Language tag, `zh-Hans`."""
    name: str
    """Protocol id, `templates` or `sites`."""
    entries: tuple[Entry, ...] = ()
    obsolete: tuple[Entry, ...] = ()
    """Translations whose source is gone, kept in case it comes back."""
    state: str = "draft"
    translator: Signed = Signed()
    reviser: Signed = Signed()
    revised: str = ""
    """Code of the content that the reviser has read (`docgen.language.content`)."""
    file: str = ""
    comments: tuple[str, ...] = ()
    """Of the header."""
    headers: tuple[tuple[str, str], ...] = ()
    """Header fields that docgen has no use for, as they stand."""

    def __iter__(self) -> Iterator[Entry]:
        return iter(self.entries)

    @property
    def begun(self) -> bool:
        """Whether anybody has translated anything."""
        return any(e.translation for e in self.entries)
