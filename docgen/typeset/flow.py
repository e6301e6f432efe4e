"""Put units into columns or pages in order: never split one, never leave a heading alone at the end."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import accumulate

from docgen.typeset.boxes import Box

CLOSE = 0.4
"""Share of the gap between units that stands before one which belongs to the one above."""


@dataclass(frozen=True, slots=True)
class Unit:
    """Something that is never split. `lead`: a heading, which stays with what follows. `section`: where it belongs."""

    box: Box
    step: str = ""
    branch: str = ""
    lead: bool = False
    section: str = ""
    fresh: bool = False
    """Begins a new column or page where there is something before it."""
    close: bool = False
    """Belongs to what stands before it: a line of a branch, its end."""


@dataclass(frozen=True, slots=True)
class Placed:
    """A unit with its top and height, from the top of its column."""

    unit: Unit
    y: float
    height: float


def measured(units: Sequence[Unit], width: float, s: float) -> list[float]:
    """Heights of units in points, at a width and a base size."""
    return [u.box.height(width, s) for u in units]


def within(units: Sequence[Unit], width: float, s: float, most: float) -> list[float] | None:
    """The same, or None as soon as they are more than `most` points together."""
    heights = []
    for unit in units:
        heights.append(unit.box.height(width, s))
        most -= heights[-1]
        if most < 0:
            return None
    return heights


def fill(
    units: Sequence[Unit],
    room: Callable[[int], float],
    width: float,
    s: float,
    gap: float,
    lead_gap: float,
    heights: Sequence[float] | None = None,
) -> list[list[Placed]]:
    """Columns (or pages) of placed units. One taller than an empty column is placed there all the same: see `overfull`.

    `room(n)` is the height of column n in points; `gap` separates units, `lead_gap` stands before a heading. `heights`
    are those of the units at this width and size, where the caller has measured them already.
    """
    columns: list[list[Placed]] = [[]]
    y = 0.0
    heights = heights or measured(units, width, s)
    for n, unit in enumerate(units):
        need = heights[n]
        if unit.lead:  # a heading takes the next unit with it
            follow = next((m for m in range(n + 1, len(units)) if not units[m].lead), None)
            chain = sum(heights[n : follow + 1]) + gap * (follow - n) if follow is not None else need
            # a chain no empty column could hold is parted after all, but never behind its first heading
            if chain <= room(len(columns)) or follow == n + 1:
                need = chain
            elif n + 1 < len(units):
                need += gap + heights[n + 1]
        before = 0.0 if not columns[-1] else gap * CLOSE if unit.close else lead_gap if unit.lead else gap
        if columns[-1] and (y + before + need > room(len(columns) - 1) + 0.01 or unit.fresh):
            columns.append([])
            y, before = 0.0, 0.0
        columns[-1].append(Placed(unit, y + before, heights[n]))
        y += before + heights[n]
    return columns


def overfull(columns: Sequence[Sequence[Placed]], room: Callable[[int], float]) -> list[tuple[Unit, float]]:
    """Units that stick out of their column, with the missing points."""
    out = []
    for n, column in enumerate(columns):
        for placed in column:
            missing = placed.y + placed.height - room(n)
            if missing > 0.01:
                out.append((placed.unit, missing))
    return out


def spread(column: list[Placed], room: float, most: float) -> list[Placed]:
    """The column with its spare height shared between its units, at most `most` points a gap."""
    if len(column) < 2:
        return column
    spare = room - (column[-1].y + column[-1].height)
    gaps = [0.0 if p.unit.close else 1.0 for p in column[1:]]
    extra = min(most, max(0.0, spare / (sum(gaps) or 1.0)))
    shifts = [0.0, *accumulate(g * extra for g in gaps)]
    return [Placed(p.unit, p.y + shift, p.height) for p, shift in zip(column, shifts, strict=True)]
