"""What a template says for a screen: markup with pieces of the edition in it, before anybody has drawn or escaped them.

As with sheets, a template holds opaque handles; they become `Said` once it has been rendered, so that authored words
are never parsed as markup.
"""

from __future__ import annotations

from dataclasses import dataclass

from docgen.model.block import Piece


@dataclass(frozen=True, slots=True)
class Said:
    """A piece of an edition where it stands in the markup."""

    piece: Piece
    language: str


@dataclass(frozen=True, slots=True)
class Page:
    """One artifact for screens, in one language or several."""

    artifact: str
    title: str
    languages: tuple[tuple[str, bool], ...]
    """Language tag and whether it runs from right to left; the one shown first comes first."""
    body: tuple[str | Said, ...]
    """Markup as the template wrote it, and what the edition says in it, in order."""
    phrases: tuple[tuple[str, tuple[str, ...]], ...] = ()
    """Language tag → what the template itself says in it, also where only its program shows it."""
    style: str = ""
    """Style sheet."""
    script: str = ""
    """Program; none if empty."""

    def known(self, language: str) -> tuple[str, ...]:
        """The template's own words in a language."""
        return dict(self.phrases).get(language, ())


@dataclass(frozen=True, slots=True)
class Image:
    """A finished picture in a page: `data` in the format of the media type `kind`."""

    kind: str
    data: bytes
    width: int
    height: int
    """Pixels."""
