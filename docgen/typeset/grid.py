"""Turn a table into rows whose columns line up: of equal width, or each as wide as its words ask for."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from docgen.model.block import Para, Table
from docgen.typeset.boxes import Bar, Box, Misfit, Nothing, Painter, Pt, Stack, Tagged, real
from docgen.typeset.look import Look

WIDEST = 26.0
"""Ems that count of a column's longest text when widths are shared out: beyond, it wraps."""
Column = tuple[float, float]
"""Width of the widest word and of the longest text, in base sizes."""


@dataclass(frozen=True, slots=True)
class Cells:
    """Boxes beside one another: each as wide as its widest word, the rest of the width by the lengths of the texts."""

    boxes: tuple[Box, ...]
    columns: tuple[Column, ...]
    gap: float

    def _widths(self, width: float, s: float) -> list[float]:
        room = width - real(self.gap, s) * (len(self.boxes) - 1)
        least = [real(low, s) for low, _ in self.columns]
        more = [max(real(high - low, s), 0.01) for low, high in self.columns]
        spare = room - sum(least)
        return [low + spare * part / sum(more) for low, part in zip(least, more, strict=True)]

    def height(self, width: float, s: float) -> float:
        """See `Box`."""
        return max(b.height(w, s) for b, w in zip(self.boxes, self._widths(width, s), strict=True))

    def paint(self, on: Painter, x: float, y: float, width: float, s: float) -> None:
        """See `Box`."""
        for box, wide in zip(self.boxes, self._widths(width, s), strict=True):
            box.paint(on, x, y, wide, s)
            x += wide + real(self.gap, s)

    def misfits(self, width: float, s: float) -> Iterator[Misfit]:
        """See `Box`."""
        for box, wide in zip(self.boxes, self._widths(width, s), strict=True):
            yield from box.misfits(wide, s)


def grid(table: Table, look: Look, even: bool, cell: Callable[[Para], Box], whole: Table | None = None) -> Box:
    """The table with its header as the names of the columns.

    An empty header is left out: then the first cell of a row names it, and what holds pictures is no table to a reader.
    `whole`: the table that this one is a part of, so that all its parts have the same columns.
    """
    named = any(p.pieces for p in table.header)
    columns = ((0.0, 1.0),) * len(table.header) if even else _columns(whole or table, look)
    rows: list[Box] = []
    if named:
        heads = tuple(Tagged(look.wording(p.pieces, "label"), "TH", scope="Column") for p in table.header)
        rows.append(Tagged(Cells(heads, columns, 1.0), "TR"))
    pictured = any(piece.origin.kind == "figure" for row in table.rows for p in row for piece in p.pieces)
    for row in table.rows:
        boxes: tuple[Box, ...] = tuple(cell(p) if p.pieces else Nothing() for p in row)
        if pictured and not named:
            rows.append(Cells(boxes, columns, 1.0))
            continue
        if not (even or pictured):
            rows.append(Bar(Pt(0.4), look.colour("ink")))
        first = Tagged(boxes[0], "TD") if named else Tagged(boxes[0], "TH", scope="Row")
        rows.append(Tagged(Cells((first, *(Tagged(b, "TD") for b in boxes[1:])), columns, 1.0), "TR"))
    made = Stack(tuple(rows), 0.45 if even else 0.3)
    return made if pictured and not named else Tagged(made, "Table")


def _columns(table: Table, look: Look) -> tuple[Column, ...]:
    out = []
    for cells in zip(table.header, *table.rows, strict=True):
        texts = [
            look.wording(p.pieces, "label" if n == 0 else "body") for n, p in enumerate(cells) if look.runs(p.pieces)
        ]
        least = max((t.text.widest_word(1.0) * t.size for t in texts), default=0.0)
        longest = max((t.text.width(1.0) * t.size for t in texts), default=0.0)
        out.append((least + 0.05, max(least, min(longest, WIDEST)) + 0.05))
    return tuple(out)
