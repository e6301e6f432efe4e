"""Opaque handles: what a template holds in its hands instead of authored words.

A handle prints as two private-use characters around an index. The Markdown parser carries it through as plain text, and
`docgen.compose.skeleton` puts the already parsed words back in its place, so nothing authored is ever parsed twice.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from docgen.model.block import Origin, Piece
from docgen.model.text import Run, Runs, Text

OPEN, CLOSE = "\ue000", "\ue001"
MARK = re.compile(f"{OPEN}([0-9]{{6}}){CLOSE}")


@dataclass(frozen=True, slots=True)
class Handle:
    """A handle as Jinja sees it: it prints as its mark, is false when there is nothing to say, and can't be cut up."""

    mark: str

    def __str__(self) -> str:
        return self.mark

    def __bool__(self) -> bool:
        return bool(self.mark)


NOTHING = Handle("")


class Ledger:
    """All handles given out for one composition, in order. A handle stands for one piece, or for several in a row."""

    def __init__(self) -> None:
        self._said: list[tuple[Piece, ...]] = []

    def __getitem__(self, index: int) -> tuple[Piece, ...]:
        return self._said[index]

    def behind(self, handle: Handle | str) -> tuple[Piece, ...]:
        """The pieces a handle stands for; other words become a piece of the template's own."""
        found = MARK.fullmatch(str(handle))
        if found:
            return self._said[int(found[1])]
        return (Piece((Run(str(handle)),), Origin("word")),) if handle else ()

    def give(self, *pieces: Piece) -> Handle:
        """A handle for some pieces; for none it is false and prints nothing."""
        if not pieces:
            return NOTHING
        self._said.append(pieces)
        return Handle(f"{OPEN}{len(self._said) - 1:06d}{CLOSE}")

    def runs(self, runs: Runs, origin: Origin, key: str = "") -> Handle:
        """A handle for some runs of one origin."""
        return self.give(Piece(runs, origin, key)) if runs else NOTHING

    def text(self, text: Text, origin: Origin) -> Handle:
        """A handle for a text of the edition."""
        return self.runs(text.runs, origin, text.key)

    def plain(self, words: str, origin: Origin, isolate: bool = False) -> Handle:
        """A handle for words made by the program: numbers, dates, marks."""
        return self.runs((Run(words, isolate=isolate),) if words else (), origin)

    def stamp(self, words: str, field: str) -> Handle:
        """Words of the stamp."""
        return self.plain(words, Origin("stamp", field=field), isolate=True)

    def thing(self, origin: Origin, label: Runs = ()) -> Handle:
        """A handle for something that is not words: a figure, a box with its accessible name, the square code."""
        return self.give(Piece(label, origin))
