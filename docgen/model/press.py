"""How cards lie on a sheet of paper: as many as fit, upright or turned, fronts and backs in register.

Lengths are in millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass

from docgen.model.layout import SIZES

GAP = 5.0
"""Between cards: room for crop marks."""
MARGIN = 8.0
"""Kept free at the edges (printers' own margins are 4–6 mm, from memory)."""
SEAL = 3.0
"""Clear film round a laminated piece (makers advise about 2 mm, many practise 3–6 mm; common practice)."""
US = frozenset({"Letter", "Legal", "Tabloid", "18x24in", "24x36in", "3x5in", "4x6in"})
"""Sheets of a place that prints on Letter."""


@dataclass(frozen=True, slots=True)
class Nest:
    """Where cards lie on a press sheet."""

    press: str
    width: float
    height: float
    card: tuple[float, float]
    """Width and height of a card as it lies here."""
    turned: bool
    """Whether cards lie on their side: the top of a front points to the left, that of a back to the right."""
    across: int
    down: int
    gap: float = GAP

    @property
    def slots(self) -> int:
        """Cards on a sheet."""
        return self.across * self.down

    def corner(self, slot: int, back: bool = False) -> tuple[float, float]:
        """Left and top of a slot. Backs are mirrored for a turn of the sheet over its long edge."""
        column, row = slot % self.across, slot // self.across
        column = self.across - 1 - column if back else column
        wide, tall = self.card
        left, top = self.block[:2]
        return left + column * (wide + self.gap), top + row * (tall + self.gap)

    @property
    def block(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of all cards together."""
        wide = self.across * self.card[0] + (self.across - 1) * self.gap
        tall = self.down * self.card[1] + (self.down - 1) * self.gap
        left, top = (self.width - wide) / 2, (self.height - tall) / 2
        return left, top, left + wide, top + tall


def nest(sheet: tuple[float, float], press: str, gap: float = GAP, margin: float = MARGIN) -> Nest | None:
    """Cards of a size on a press sheet, the way that holds more; None if it holds none."""
    width, height = SIZES[press]
    best = None
    for turned in (False, True):
        wide, tall = (sheet[1], sheet[0]) if turned else sheet
        across, down = (
            int((room - 2 * margin + gap + 1e-6) // (size + gap)) for room, size in ((width, wide), (height, tall))
        )
        if across > 0 and down > 0 and (best is None or across * down > best.slots):
            best = Nest(press, width, height, (wide, tall), turned, across, down, gap)
    return best


def laying(sheet: tuple[float, float], press: str) -> Nest | None:
    """Cut cards in a pouch of film for a press sheet: a seal of `SEAL` round each, so two between neighbours."""
    return nest(sheet, press, 2 * SEAL, SEAL)


def pouch(sheet: str) -> tuple[float, float]:
    """Least width and height of the film for a laminated sheet, portrait."""
    width, height = SIZES[sheet]
    return width + 2 * SEAL, height + 2 * SEAL
