"""Find the greatest base size at which something fits: bisection on a quarter-point grid."""

from __future__ import annotations

from collections.abc import Callable

GRID = 0.25
"""Points between two base sizes."""


def greatest(least: float, most: float, fits: Callable[[float], bool]) -> float | None:
    """The greatest size on the grid in [least, most] that fits; None if even the least does not.

    Greedy breaking is monotone in the size (a larger size never needs less room), so bisection finds it.
    """
    low, high = 0, int((most - least) / GRID)
    if not fits(least):
        return None
    while low < high:
        middle = (low + high + 1) // 2
        if fits(least + middle * GRID):
            low = middle
        else:
            high = middle - 1
    return least + low * GRID
