"""Units go into columns in order; nothing is split, lost or left as a lone heading."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from docgen.typeset.boxes import Framed, Nothing, Painter, Pt, Row, Stack, rectangle
from docgen.typeset.fitting import GRID, greatest
from docgen.typeset.flow import Unit, fill, overfull, spread


@dataclass(frozen=True)
class Block:
    """A box of a given height."""

    tall: float

    def height(self, width: float, s: float) -> float:
        return self.tall * s

    def paint(self, on, x, y, width, s) -> None:
        on.shape(rectangle(x, y, width, self.tall * s))

    def misfits(self, width, s):
        return iter(())


UNITS = st.lists(st.tuples(st.floats(1, 40), st.booleans()), min_size=1, max_size=40)


@given(UNITS, st.floats(41, 200))
def test_filling_keeps_every_unit_once_and_in_order(sizes, room):
    """Whatever the sizes, columns read one after another give back the units."""
    units = [Unit(Block(tall), step=str(n), lead=lead) for n, (tall, lead) in enumerate(sizes)]

    columns = fill(units, lambda _: room, 100, 1.0, 2, 4)

    assert [p.unit.step for c in columns for p in c] == [u.step for u in units]
    assert all(b.y >= a.y + a.height - 1e-9 for c in columns for a, b in pairwise(c))


@given(UNITS)
def test_a_heading_never_stands_last_in_a_column(sizes):
    """A heading takes what follows it to the next column."""
    units = [Unit(Block(min(tall, 18)), lead=lead and n % 2 == 0) for n, (tall, lead) in enumerate(sizes)]

    columns = fill(units, lambda _: 60, 100, 1.0, 2, 4)

    assert not any(c[-1].unit.lead for c in columns[:-1])


def test_a_unit_taller_than_its_column_is_reported_not_cut():
    """What does not fit is named with what is missing."""
    columns = fill([Unit(Block(50), step="long")], lambda _: 30, 100, 1.0, 2, 4)

    assert [(u.step, round(m)) for u, m in overfull(columns, lambda _: 30)] == [("long", 20)]


def test_spare_height_is_shared_between_units_up_to_a_limit():
    """Spreading moves units apart evenly and never beyond the column."""
    column = fill([Unit(Block(10)), Unit(Block(10)), Unit(Block(10))], lambda _: 100, 100, 1.0, 0, 0)[0]

    assert [p.y for p in spread(column, 100, 5)] == [0, 15, 30]
    assert spread(column, 100, 1000)[-1].y + 10 == 100


@given(st.floats(6, 20), st.floats(0, 60))
def test_the_greatest_size_that_fits_is_found(least, above):
    """Bisection agrees with trying every size of the grid."""
    limit = least + above * 0.8
    fits = lambda s: s <= limit

    found = greatest(least, least + above, fits)

    tried = [least + n * GRID for n in range(int(above / GRID) + 1)]
    assert found == max(s for s in tried if fits(s))


def test_no_size_is_invented_when_even_the_least_does_not_fit():
    """The answer is none, never something smaller than the least size."""
    assert greatest(10, 20, lambda s: False) is None


def test_fixed_lengths_do_not_grow_with_the_sheet():
    """Points stay points; everything else is a multiple of the base size."""
    stack = Stack((Nothing(2.0), Nothing(Pt(7))), 1.0)

    assert stack.height(100, 10) == 20 + 7 + 10
    assert stack.height(100, 20) == 40 + 7 + 20


def test_a_row_without_room_for_its_free_box_does_not_fit():
    """Fixed widths that leave nothing for the rest are a misfit, not a negative width."""
    assert Row(((Nothing(1), 8.0), (Nothing(1), 0.0))).height(50, 10) == math.inf


def test_right_to_left_sheets_are_mirrored_as_a_whole():
    """The same boxes, painted from the other edge."""
    left, right = Painter(), Painter(rtl=True)
    for on in (left, right):
        on.sheet(200)
        Framed(Nothing(1.0), (Pt(0), Pt(0)), fill=(0, 0, 0)).paint(on, 10, 5, 50, 10)

    xs = lambda on: sorted({a[0] for _, a in on.sheets[0][0].path if a})
    assert xs(left) == [10, 60]
    assert xs(right) == [140, 190]
