"""Find the greatest base size at which something fits: bisection on a quarter-point grid."""

from __future__ import annotations

from collections.abc import Callable

GRID = 0.25
"""Points between two base sizes."""


def greatest(least: float, most: float, fits: Callable[[float], bool], beyond: float | None = None) -> float | None:
    """The greatest size on the grid in [least, most] that fits; None if even the least does not.

    Greedy breaking is monotone in the size (a larger size never needs less room), so bisection finds it. Only sizes
    greater than `beyond` are of interest where it is given.
    """
    low, high = 0 if beyond is None else round((beyond - least) / GRID) + 1, int((most - least) / GRID)
    if low > high or not fits(least + low * GRID):
        return None
    while low < high:
        middle = (low + high + 1) // 2
        if fits(least + middle * GRID):
            low = middle
        else:
            high = middle - 1
    return least + low * GRID
