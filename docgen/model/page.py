"""What a template says for a screen: markup with pieces of the edition in it, before anybody has drawn or escaped them.

As with sheets, a template holds opaque handles; they become `Said` once it has been rendered, so that authored words
are never parsed as markup.
"""

from __future__ import annotations

from dataclasses import dataclass

from docgen.model.block import Piece


@dataclass(frozen=True, slots=True)
class Said:
    """A piece of an edition where it stands in the markup, and the language it is in."""

    piece: Piece
    language: str


@dataclass(frozen=True, slots=True)
class Article:
    """A page in one language."""

    language: str
    rtl: bool
    parts: tuple[str | Said, ...]
    """Markup as the template wrote it, and what the edition says in it, in order."""
    phrases: tuple[str, ...] = ()
    """What the template itself says, also where only its program shows it."""


@dataclass(frozen=True, slots=True)
class Page:
    """One artifact for screens, in one language or several."""

    artifact: str
    title: str
    articles: tuple[Article, ...]
    """The one shown first comes first."""
    style: str = ""
    """Style sheet."""
    script: str = ""
    """Program; none if empty."""

    def known(self, language: str) -> tuple[str, ...]:
        """The template's own words in a language."""
        return next((a.phrases for a in self.articles if a.language == language), ())


@dataclass(frozen=True, slots=True)
class Image:
    """A finished picture in a page: `data` in the format of the media type `kind`."""

    kind: str
    data: bytes
    width: int
    height: int
    """Pixels."""
