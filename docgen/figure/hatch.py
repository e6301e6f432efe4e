"""Turn closed outlines into hatching: plain geometry on straightened paths.

A sheet can only fill and stroke, so what other tools leave to a clip is worked out here.
"""

from __future__ import annotations

import math

from docgen.model.sheet import Path

Point = tuple[float, float]
Box = tuple[float, float, float, float]
GAP = 5.4
"""Distance of hatching lines, in units."""
STEPS = 12
"""Straight pieces for one curve."""
_SHARES = tuple(
    ((1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t**2, t**3) for t in (i / STEPS for i in range(1, STEPS + 1))
)
"""What each of a curve's four points weighs at the end of each piece."""


def straightened(what: Path) -> list[list[Point]]:
    """Each sub-path as points; a closed one does not repeat its first point."""
    out: list[list[Point]] = []
    for letter, n in what:
        if letter == "M":
            out.append([(n[0], n[1])])
        elif letter == "L":
            out[-1].append((n[0], n[1]))
        elif letter == "C":
            x0, y0 = out[-1][-1]
            x1, y1, x2, y2, x3, y3 = n
            out[-1] += [
                (a * x0 + b * x1 + c * x2 + d * x3, a * y0 + b * y1 + c * y2 + d * y3) for a, b, c, d in _SHARES
            ]
    return out


def extent(what: Path) -> Box:
    """Left, top, right, bottom of a path."""
    points = [p for sub in straightened(what) for p in sub]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return (min(xs), min(ys), max(xs), max(ys))


def hatching(outline: Path, against: bool = False, gap: float = GAP) -> Path:
    """Slanting lines inside a silhouette (non-zero winding), rising to the right, or falling when `against`."""
    lean = -1.0 if against else 1.0
    root = math.sqrt(0.5)
    # turned by 45 degrees, hatching lines are horizontal: v is across them, u along them
    subs = [[((x - lean * y) * root, (lean * x + y) * root) for x, y in sub] for sub in straightened(outline)]
    low = min(v for sub in subs for _, v in sub)
    high = max(v for sub in subs for _, v in sub)
    out: list[tuple[str, tuple[float, ...]]] = []
    for row in range(math.ceil(low / gap), math.floor(high / gap) + 1):
        v = row * gap
        crossings: list[tuple[float, int]] = []
        for sub in subs:
            for (u1, v1), (u2, v2) in zip(sub, sub[1:] + sub[:1], strict=True):
                if (v1 <= v) != (v2 <= v):
                    crossings.append((u1 + (v - v1) / (v2 - v1) * (u2 - u1), 1 if v1 <= v else -1))
        winding = 0
        start = 0.0
        for u, way in sorted(crossings):
            if winding == 0:
                start = u
            winding += way
            if winding == 0 and u - start > 0.8:
                for letter, w in (("M", start), ("L", u)):
                    out.append((letter, ((w + lean * v) * root, (v - lean * w) * root)))
    return tuple(out)
