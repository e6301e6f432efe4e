"""Hatching fills a silhouette and nothing else."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st

from docgen.figure.hatch import GAP, extent, hatching, straightened
from docgen.figure.pen import Place, capsule, ellipse, path, polyline, shapes, solid, symmetric
from docgen.model.sheet import Path

SIZES = st.floats(12, 60)
TURNS = st.floats(0, 360)


def length(lines: Path) -> float:
    """Total length of separate lines."""
    points = [n for _, n in lines]
    return sum(math.dist(a, b) for a, b in zip(points[::2], points[1::2], strict=True))


@given(SIZES, SIZES, TURNS, st.booleans())
def test_line_length_times_gap_is_the_area(rx: float, ry: float, turn: float, against: bool):
    """Parallel lines at even distance measure an area (Cavalieri's principle): an ellipse has the area π rx ry."""
    outline = Place(30, 40, turn=turn)(ellipse(0, 0, rx, ry))
    assert math.isclose(length(hatching(outline, against)) * GAP, math.pi * rx * ry, rel_tol=0.12)


@given(SIZES, TURNS, st.booleans())
def test_every_line_lies_inside(size: float, turn: float, against: bool):
    """All ends of the lines in a turned square are inside it, seen from the square."""
    square = Place(turn=turn)(path(f"M{-size} {-size} L{size} {-size} L{size} {size} L{-size} {size} Z"))
    back = Place(turn=-turn)
    for _, n in hatching(square, against):
        x, y = back.point(*n)
        assert max(abs(x), abs(y)) <= size + 1e-6


def test_the_two_ways_of_leaning_differ():
    """On and off are told apart by the slant as well."""
    square = path("M0 0 L40 0 L40 40 L0 40 Z")
    rising, falling = hatching(square), hatching(square, against=True)
    (_, (x1, y1)), (_, (x2, y2)) = rising[:2]
    assert (x2 - x1) * (y2 - y1) < 0
    (_, (x1, y1)), (_, (x2, y2)) = falling[:2]
    assert (x2 - x1) * (y2 - y1) > 0


def test_overlapping_outlines_are_hatched_once():
    """Two limbs of one silhouette do not cancel each other where they meet, nor count double."""
    a, b = path("M0 0 L30 0 L30 20 L0 20 Z"), path("M20 0 L50 0 L50 20 L20 20 Z")
    one = shapes((solid(path("M0 0 L50 0 L50 20 L0 20 Z")),), mark="off")[-1].path
    both_ways = [shapes((solid(a, q),), mark="off")[-1].path for q in (b, path("M20 0 L20 20 L50 20 L50 0 Z"))]
    for lines in both_ways:
        assert math.isclose(length(lines), length(one))


def test_a_mirrored_half_closes_to_a_symmetric_whole():
    """Every corner of the right half has its partner on the left."""
    points = {(round(x, 6), round(y, 6)) for x, y in straightened(symmetric("M0 0 C4 0 8 2 8 9 L5 20 L0 20"))[0]}
    assert points == {(-x, y) for x, y in points}


def test_a_capsule_is_as_wide_as_twice_its_radius():
    """Ends are half circles, within the error of a cubic curve."""
    left, top, right, bottom = extent(capsule(0, 0, 0, 30, 5))
    assert math.isclose(right - left, 10, rel_tol=0.01) and math.isclose(bottom - top, 40, rel_tol=0.01)


def test_an_open_line_stays_open():
    """A line through points has as many points and no closing stroke."""
    assert [c for c, _ in polyline((0, 0), (1, 1), (2, 0))] == ["M", "L", "L"]
