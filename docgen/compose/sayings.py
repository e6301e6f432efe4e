"""Turn a template's own words into handles, in the language of what is made."""

from __future__ import annotations

from collections.abc import Callable

from docgen.compose.handles import Handle, Ledger
from docgen.model.block import Origin, Piece
from docgen.model.text import Words

Translate = Callable[[str], Words]
"""A template's own words in the edition's language, parsed."""


class Sayings:
    """What a template says by itself."""

    def __init__(self, ledger: Ledger, translate: Translate) -> None:
        self._ledger, self._translate = ledger, translate
        self.phrases: dict[str, None] = {}
        """The words that were asked for, in order; parted where something else fills a slot."""

    def word(self, msgid: str, **values: Handle) -> Handle:
        """`_("Card {n} of {of}", n=…, of=…)`: the template's own words, in the edition's language.

        What fills a slot keeps its own origin, so a sentence around an authored text still speaks for that text.
        """
        origin = Origin("word", field=msgid)
        pieces: list[Piece] = []
        for run in self._translate(msgid).runs:
            filling = self._ledger.behind(values[run.slot]) if run.slot in values else None
            if filling is None:
                self.phrases.setdefault(run.text or f"{{{run.slot}}}")
            pieces += filling if filling is not None else [Piece((run,), origin, f"template.{msgid}")]
        return self._ledger.give(*pieces)
