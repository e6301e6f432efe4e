"""Turn an edition and catalogues into the edition in another language, and a template's words into that language.

Nothing falls back to the source language in silence: whatever has no valid translation is shown as `[source]` and is a
finding, which stops publishing unless a draft was asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace

from docgen.findings import Finding, Severity
from docgen.language.lack import Lack, lacking_of, said_of
from docgen.language.revision import content, reviewed
from docgen.language.texts import mapped, translatable
from docgen.model.catalogue import TEMPLATE, Catalogue, Entry, Message
from docgen.model.edition import Edition
from docgen.model.text import Run, Runs, Text, Words, WordsError, fill

Inline = Callable[[str], Words]
"""Parses authored words; raises WordsError."""


@dataclass(frozen=True, slots=True)
class Spoken:
    """The catalogues that the words of one edition come from."""

    protocol: Catalogue
    sites: Catalogue
    templates: Catalogue

    @property
    def language(self) -> str:
        """Their language."""
        return self.protocol.language

    def of(self, site: str) -> tuple[Catalogue, ...]:
        """The three, with only what one site wrote."""
        own = tuple(e for e in self.sites.entries if e.key.startswith(f"{site}/"))
        return (self.protocol, replace(self.sites, entries=own), self.templates)


def translate(
    edition: Edition, spoken: Spoken, inline: Inline, draft: bool = False
) -> tuple[Edition, tuple[Finding, ...]]:
    """The edition in the language of the catalogues. `draft`: what is missing is a warning and not an error.

    Dates, codes and acts stay as they are; texts that nobody sees stay in the source language. The fingerprint is not
    computed anew, since it does not depend on the language.
    """
    if not spoken.language:
        raise ValueError("a language is needed")
    work = _Work(edition, spoken, inline)
    values = tuple((slot, work.text(text)) for slot, text in edition.values)
    work.values = {slot: text.runs for slot, text in values}
    spoken_edition = mapped(replace(edition, values=()), work.text)
    catalogues = spoken.of(edition.site)
    whole = replace(
        spoken_edition,
        values=values,
        language=spoken.language,
        translation=content(catalogues),
        unreviewed=not all(reviewed(c) for c in (spoken.protocol, spoken.sites, spoken.templates) if c.entries),
    )
    return whole, said_of(work.lacking.values(), spoken.language, _severity(draft))


def words_of(templates: Catalogue, inline: Inline) -> Callable[[str], Words]:
    """A template's own words and signal words, by their source words. What has no translation comes as `[source]`."""
    known = {e.source: e for e in templates.entries if e.context == TEMPLATE or e.key.startswith("signal.")}

    def word(source: str) -> Words:
        entry = known.get(source)
        if entry and entry.valid:
            try:
                words = inline(entry.translation)
            except WordsError:
                words = None
            if words and sorted(words.slots) == sorted(inline(source).slots):
                return words
        return Words(source, bracketed(inline(source).runs))

    return word


def phrases_of(templates: Catalogue, phrases: Mapping[str, str]) -> dict[str, str]:
    """The phrases of figures' descriptions (key → English) in the language; `[English]` where there is none."""
    known = {e.key: e for e in templates.entries}
    out = {}
    for key, source in phrases.items():
        entry = known.get(f"figure.{key}")
        good = entry and entry.valid and entry.source == source and _slots(entry.translation) == _slots(source)
        out[key] = entry.translation if entry and good else f"[{source}]"
    return out


def missing_words(templates: Catalogue, messages: Iterable[Message], draft: bool) -> tuple[Finding, ...]:
    """Findings about words of templates and figures that the language lacks."""
    return said_of(lacking_of(templates, messages), templates.language, _severity(draft))


def _severity(draft: bool) -> Callable[[Lack], Severity]:
    return lambda _lack: Severity.WARNING if draft else Severity.ERROR


def bracketed(runs: Runs) -> Runs:
    """Runs as they are shown where a translation should stand."""
    return (Run("["), *runs, Run("]"))


@dataclass(slots=True)
class _Work:
    """Translates the texts of one edition, and remembers which have no translation."""

    edition: Edition
    spoken: Spoken
    inline: Inline
    values: Mapping[str, Runs] = field(default_factory=dict)
    lacking: dict[str, Lack] = field(default_factory=dict)
    site: dict[str, Entry] = field(init=False)
    own: dict[str, Entry] = field(init=False)

    def __post_init__(self) -> None:
        self.site = {e.key: e for e in self.spoken.sites.entries}
        self.own = {e.key: e for e in self.spoken.protocol.entries}

    def text(self, text: Text) -> Text:
        """One text; one without letters, or that nobody sees, stays as it is."""
        if not text or not translatable(text.key, text.source):
            return text
        entry, catalogue = self._find(text)
        if entry and entry.valid and entry.source == text.source:
            try:
                words = self.inline(entry.translation)
            except WordsError:
                words = None
            if words and sorted(words.slots) == sorted(r.slot for r in text.unfilled if r.slot):
                return Text(text.key, text.source, tuple(map(_shown, fill(words.runs, self.values))), words.runs)
        self.lacking.setdefault(text.key, Lack(text.key, text.source, entry, catalogue))
        return Text(text.key, text.source, bracketed(text.runs), text.unfilled)

    def _find(self, text: Text) -> tuple[Entry | None, Catalogue]:
        """What the site's catalogue has for these words, else the protocol's, else the nearest thing."""
        local = self.site.get(f"{self.edition.site}/{text.key}")
        general = self.own.get(text.key)
        if local and local.source == text.source:
            return local, self.spoken.sites
        if general and general.source == text.source:
            return general, self.spoken.protocol
        if local or text.key.startswith(("site.", "value.")) or text.key.endswith(".product"):
            return local, self.spoken.sites
        return general, self.spoken.protocol


def _shown(run: Run) -> Run:
    """A slot that only a site can fill, as people see it in a general edition."""
    return Run(f"‹{run.slot.replace('-', ' ')}›", run.strong, run.emphasis, isolate=True) if run.slot else run


def _slots(text: str) -> list[str]:
    return sorted(part.partition("}")[0] for part in text.split("{")[1:])
