"""The words that every translation uses for the same thing."""

from __future__ import annotations

from dataclasses import dataclass, field

from docgen.findings import Where


@dataclass(frozen=True, slots=True)
class Usage:
    """How one language says a term. `*` at an end of a word stands for endings and joined particles."""

    language: str
    use: tuple[str, ...] = ()
    """One of these stands in the translation of every text that has the term."""
    never: tuple[str, ...] = ()
    """None of these does."""


@dataclass(frozen=True, slots=True)
class Term:
    """Something that has one name."""

    term: str
    """As the protocols say it."""
    also: tuple[str, ...] = ()
    """Other forms of it in the protocols: plurals."""
    note: str = ""
    keep: bool = False
    """It stays as it is in every language."""
    usages: tuple[Usage, ...] = ()
    where: Where = field(default=Where(), compare=False)

    def usage(self, language: str) -> Usage:
        """How a language says it; an empty one if nobody has settled that."""
        return next((u for u in self.usages if u.language == language), Usage(language))


@dataclass(frozen=True, slots=True)
class Glossary:
    """All terms."""

    terms: tuple[Term, ...] = ()
