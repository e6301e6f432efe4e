"""Put a translation beside its source, ready for the rules to compare."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from docgen.findings import Finding, Note, Severity
from docgen.language.critical import cautioning
from docgen.language.numbers import unit_names
from docgen.model.catalogue import Entry
from docgen.model.glossary import Glossary, Term
from docgen.model.moment import Rule
from docgen.model.text import Words
from docgen.model.wordlist import WordList

_ACCEPTED = "accepted:"


@dataclass(frozen=True)
class Ground:
    """What the rules know besides the texts."""

    language: str
    words: WordList | None = None
    """Of the language."""
    source_words: WordList | None = None
    source_language: str = "en"
    glossary: Glossary = field(default_factory=Glossary)

    @cached_property
    def units(self) -> Mapping[str, str]:
        """Names of units in the language."""
        return unit_names(self.language, self.words)

    @cached_property
    def source_units(self) -> Mapping[str, str]:
        """Names of units in the source language."""
        return unit_names(self.source_language, self.source_words)

    @cached_property
    def finder(self) -> tuple[re.Pattern[str], Mapping[str, Term]]:
        """What finds the glossary's terms in source texts, the longest first, and form → term."""
        by_form = {form.casefold(): term for term in self.glossary.terms for form in (term.term, *term.also)}
        forms = sorted(by_form, key=lambda form: (-len(form), form))
        inner = "|".join(r"\s+".join(map(re.escape, form.split())) for form in forms) or "(?!)"
        return re.compile(rf"(?<!\w)(?:{inner})(?!\w)", re.IGNORECASE), by_form


@dataclass(frozen=True)
class Pair:
    """A valid entry, with both sides parsed."""

    entry: Entry
    source: Words
    translation: Words
    catalogue: str

    @property
    def cautioning(self) -> bool:
        """Whether it is a caution's or a hold's."""
        return cautioning(self.entry.key)

    def accepts(self, rule: Rule) -> bool:
        """Whether the translator has recorded, with a reason, that this is meant so."""
        said = " ".join(self.entry.comments)
        for part in said.split(_ACCEPTED)[1:]:
            name, _, reason = part.strip().partition(",")
            if name.strip() in (rule.name, rule.name.partition("/")[2]) and len(reason.strip()) >= 3:
                return True
        return False

    def found(self, rule: Rule, message: str, hint: str, severity: Severity | None = None) -> Finding:
        """A finding with both texts side by side."""
        level = severity or Severity(rule.severity[0][1].partition(";")[0])
        key = self.entry.key
        return Finding(
            rule.name, level, message, self.entry.where, hint=hint,
            step=key.split(".")[1] if key.startswith("step.") else "",
            notes=(Note(f"source: `{self.entry.source}`"), Note(f"translation: `{self.entry.translation}`")),
            data=(("key", key), ("catalogue", self.catalogue)),
        )  # fmt: skip
