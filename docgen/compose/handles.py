"""Opaque handles: what a template holds in its hands instead of authored words.

A handle prints as two private-use characters around an index. The Markdown parser carries it through as plain text, and
`docgen.compose.skeleton` puts the already parsed words back in its place, so nothing authored is ever parsed twice.
"""

from __future__ import annotations

import re

from docgen.model.block import Origin, Piece
from docgen.model.text import Run, Runs, Text

OPEN, CLOSE = "\ue000", "\ue001"
MARK = re.compile(f"{OPEN}([0-9]+){CLOSE}")


class Handle(str):
    """A handle as Jinja sees it: a string that prints as its mark, and is false when there is nothing to say."""

    __slots__ = ("says",)
    says: bool

    def __new__(cls, mark: str, says: bool) -> Handle:
        """A handle that prints as `mark`."""
        self = super().__new__(cls, mark)
        self.says = says
        return self

    def __bool__(self) -> bool:
        return self.says


NOTHING = Handle("", False)


class Ledger:
    """All handles given out for one composition, in order."""

    def __init__(self) -> None:
        self._pieces: list[Piece] = []

    def __getitem__(self, index: int) -> Piece:
        return self._pieces[index]

    def __len__(self) -> int:
        return len(self._pieces)

    def give(self, runs: Runs, origin: Origin, key: str = "") -> Handle:
        """A handle for some runs; an empty text gives a handle that is false and prints nothing."""
        if not runs:
            return NOTHING
        self._pieces.append(Piece(runs, origin, key))
        return Handle(f"{OPEN}{len(self._pieces) - 1}{CLOSE}", True)

    def text(self, text: Text, origin: Origin) -> Handle:
        """A handle for a text of the edition."""
        return self.give(text.runs, origin, text.key)

    def plain(self, words: str, origin: Origin, isolate: bool = False) -> Handle:
        """A handle for words made by the program: numbers, dates, marks."""
        return self.give((Run(words, isolate=isolate),) if words else (), origin)

    def thing(self, origin: Origin) -> Handle:
        """A handle for something that is not words: a figure, a box, the square code."""
        self._pieces.append(Piece((), origin))
        return Handle(f"{OPEN}{len(self._pieces) - 1}{CLOSE}", True)
