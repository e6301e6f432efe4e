"""Turn a layer of the hands into parts: small at the end of an arm, and large enough to show what is outermost.

Three layers, told apart without colour: an outer glove is light grey with a long cuff of two lines, an inner (or only)
glove is white with a short cuff of one line, a bare hand has nails and no cuff.
"""

from __future__ import annotations

from docgen.figure.pen import FINE, INK, OUTER, PAPER, Part, block, capsule, ellipse, path, solid, stroke
from docgen.model.sheet import Path

BARE, INNER, OUTERMOST, SINGLE = "bare", "inner", "outer", "single"


# --- at the end of an arm: hanging from the origin, thumb towards the body at negative x ----------------------


def small(layer: str) -> tuple[Part, ...]:
    """A hand as part of the whole figure."""
    palm = path("M-2.6 -1 L2.6 -1 C4 2.4 4.2 6 3.6 8.6 C2.9 11.2 -0.9 11.4 -1.9 8.8 C-2.5 6.6 -3 2.8 -2.6 -1 Z")
    thumb = capsule(-2.2, 2.6, -4.6, 6.6, 1.25)
    if layer == OUTERMOST:
        cuff = path("M-4.8 -8 L4.8 -8 L3.6 -0.5 L-3.6 -0.5 Z")
        lines = path("M-4.6 -4.6 L4.6 -4.6 M-3.6 -0.9 L3.6 -0.9")
        return (solid(palm, thumb, cuff, fill=OUTER), stroke(lines, line=FINE))
    if layer != BARE:
        cuff = path("M-3.9 -3.6 L3.9 -3.6 L3.2 0 L-3.2 0 Z")
        return (solid(palm, thumb, cuff), stroke(path("M-3.4 -0.4 L3.4 -0.4"), line=FINE))
    return (solid(palm, thumb), stroke(path("M1 10.6 L1 7"), line=FINE))


# --- large: pointing up from the wrist at the origin, thumb at negative x; 32 units from wrist to fingertip -----

FINGERS = (
    (-5.6, -13.0, -9.6, -25.0),
    (-1.9, -14.5, -3.2, -28.6),
    (2.1, -14.3, 3.2, -27.4),
    (5.7, -12.5, 9.4, -22.4),
)
TIP = 1.95


PALM = path("M-6 1 L6 1 C8.2 -4 8.4 -10 7.6 -14 L-7.4 -14 C-8 -9 -7.8 -4 -6 1 Z")
THUMB = path("M-6.4 -1 C-9 -4.4 -11.4 -8 -14.4 -11.8 C-16.6 -14.4 -13.4 -17 -11.4 -14.8 C-10 -13 -8.8 -11.6 -7.4 -10 Z")
SILHOUETTE = (PALM, THUMB, *(capsule(*f, TIP) for f in FINGERS))


CUFFS = {
    OUTERMOST: (path("M-8.4 11 L8.4 11 L6.4 0 L-6.4 0 Z"), path("M-7.8 7 L7.8 7 M-6.9 2.4 L6.9 2.4")),
    INNER: (path("M-6.9 5.4 L6.9 5.4 L6.2 0 L-6.2 0 Z"), path("M-6.6 1.2 L6.6 1.2")),
}
CUFFS[SINGLE] = CUFFS[INNER]
"""Layer → its cuff, and the lines on it."""


def nails() -> tuple[Part, ...]:
    """The nails of a bare hand."""
    out: list[Path] = []
    for x1, y1, x2, y2 in FINGERS:
        length = ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5
        ux, uy = (x2 - x1) / length, (y2 - y1) / length
        out.append(ellipse(x2 + ux * 0.2, y2 + uy * 0.2, 0.9, 1.1))
    return (block(*out, fill=INK),)


def forearm(sleeve: bool, length: float = 16.0) -> tuple[Part, ...]:
    """Forearm below the wrist: a sleeve, or bare."""
    if sleeve:
        return (solid(path(f"M-7.4 5 L7.4 5 L9 {length} L-9 {length} Z"), body=False),)
    return (solid(path(f"M-5.4 -2 L5.4 -2 L6.6 {length} L-6.6 {length} Z"), body=False),)


def large(layer: str) -> tuple[Part, ...]:
    """A whole hand of a layer, with its cuff if it is a glove."""
    fill = OUTER if layer == OUTERMOST else PAPER
    if layer == BARE:
        return (solid(*SILHOUETTE, fill=fill), *nails())
    cuff, lines = CUFFS.get(layer, CUFFS[SINGLE])
    return (solid(*SILHOUETTE, cuff, fill=fill), stroke(lines, line=FINE))


def wrist(layer: str) -> tuple[Part, ...]:
    """What shows of a hand when the glove over it is half off."""
    fill = OUTER if layer == OUTERMOST else PAPER
    if layer == BARE:
        return (solid(PALM, fill=fill),)
    cuff, lines = CUFFS.get(layer, CUFFS[SINGLE])
    return (solid(PALM, cuff, fill=fill), stroke(lines, line=FINE))
