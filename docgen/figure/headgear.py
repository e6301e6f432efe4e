"""Turn an item for the head into parts: hoods, shields, goggles, respirators, masks."""

from __future__ import annotations

from docgen.figure.pen import FINE, PAPER, Part, block, both, path, rounded, solid, stroke, symmetric

OPENING = symmetric("M0 9 C3.8 9 5.6 11.4 5.6 15 C5.6 19.6 3.6 22.4 0 22.4")
"""Where a hood leaves the face free."""


def face() -> tuple[Part, ...]:
    """What shows of the head inside a hood."""
    return (solid(OPENING, body=False, line=FINE),)


def hood(back: bool) -> tuple[Part, ...]:
    """A soft hood over head and neck, lying on the shoulders."""
    cape = "M0 3.8 C7 3.8 9.8 8.8 9.8 14.6 C9.8 19.2 8.6 21.6 9 23.6 C9.6 25.4 13 27 14 31.4 C9 34.4 4 35 0 35"
    parts: tuple[Part, ...] = (solid(symmetric(cape)),)
    if back:
        return (*parts, stroke(path("M-7 23.4 C-3 24.6 3 24.6 7 23.4"), line=FINE))
    return parts


def respirator(back: bool) -> tuple[Part, ...]:
    """A cup over nose and mouth, held by two straps."""
    if back:
        return (stroke(path("M-6.8 11 C-3 9.2 3 9.2 6.8 11"), path("M-6.4 19 C-3 20.8 3 20.8 6.4 19"), body=True),)
    cup = symmetric("M0 12.6 C2 12.6 2.8 15 4.2 16 C5.8 17 6.4 17.6 6.2 19 C5.6 22.2 3.4 24.2 0 24.2")
    return (solid(cup), stroke(path("M-5.4 18.6 C-2 17.2 2 17.2 5.4 18.6"), line=FINE))


def straps() -> tuple[Part, ...]:
    """The two straps of a respirator, seen from the front on a bare head."""
    return both((stroke(path("M4.6 16 L6.9 11.6"), path("M5.6 20.6 L6.4 19"), line=FINE),))


def mask(back: bool) -> tuple[Part, ...]:
    """A flat pleated mask."""
    if back:
        ties = (path("M-6.8 11 C-3 9.6 3 9.6 6.8 11"), path("M-6.4 18.6 C-3 20 3 20 6.4 18.6"))
        return (stroke(*ties, body=True), stroke(path("M-2 13.6 L0 10 L2 13.6"), path("M-2 23 L0 19.6 L2 23")))
    return (
        solid(symmetric("M0 14.8 L5.2 14.4 L5.2 20 C3.6 22.2 1.6 23 0 23")),
        stroke(path("M-3.6 17.2 L3.6 17.2 M-3.4 20 L3.4 20"), line=FINE, detail=True),
    )


def loops() -> tuple[Part, ...]:
    """Ear loops of a mask."""
    return both((stroke(path("M5.4 15 L6.9 13"), path("M5.4 19.6 L7 17"), line=FINE),))


def goggles(back: bool) -> tuple[Part, ...]:
    """Close-fitting goggles on an elastic band."""
    if back:
        return (solid(path("M-7.2 12 L7.2 12 L7.2 14.6 L-7.2 14.6 Z")),)
    band = block(path("M-7.4 11.2 L7.4 11.2 L7.4 14 L-7.4 14 Z"))
    return (band, solid(rounded(-5.8, 10, 11.6, 5.2, 2.5)), stroke(path("M-3 13.6 L-1.4 11.8"), line=FINE, detail=True))


def shield(back: bool) -> tuple[Part, ...]:
    """A full face shield on a headband."""
    if back:
        return (solid(path("M-7.6 9.6 L7.6 9.6 L7.6 12.4 L-7.6 12.4 Z")),)
    return (
        solid(symmetric("M0 10 L7.9 10 C8.9 14 8.8 19 7.7 25 C4 27.6 2 28 0 28")),
        block(symmetric("M0 8 L6.6 8 C8.6 8 9.4 10 10 12.4 L0 12.4")),
        stroke(path("M-5.4 20 L-5.4 15"), line=FINE, detail=True),
    )


POWERED = symmetric(
    "M0 3.6 C8 3.6 11.2 8 11.2 14.6 C11.2 19.6 10 22.6 10.8 25 C11.8 27 14.2 29 14.6 33 C9 36 4 36.4 0 36.4"
)


def powered_hood(back: bool) -> tuple[Part, ...]:
    """A roomy hood with a window; a hose brings air from a blower on the belt."""
    hose = path("M0 20 C3.4 28 -3.4 36 0 46" if back else "M10.4 22 C17.6 28 13 38 9.4 46")
    belt = stroke(path("M-9.6 48.4 C-4 50 4 50 9.6 48.4"))
    blower = solid(rounded(-5.6, 44.6, 11.2, 8.8, 2) if back else rounded(6.4, 44.6, 5.6, 7.4, 1.6))
    tube = (stroke(hose, line=6.6), Part((hose,), None, 2.4, PAPER))
    return (belt, solid(POWERED), *tube, blower) if back else (belt, *tube, blower, solid(POWERED))


def powered_head(back: bool) -> tuple[Part, ...]:
    """A powered hood without its blower, for a detail."""
    tube = path("M0 20 C2 24 2 28 0 32")
    return (solid(POWERED), stroke(tube, line=6.6), Part((tube,), None, 2.4, PAPER)) if back else (solid(POWERED),)


def window() -> tuple[Part, ...]:
    """The window of a powered hood."""
    return (solid(rounded(-7.4, 8.2, 14.8, 14.6, 4.6), body=False),)


def nothing() -> tuple[Part, ...]:
    """Goggles bring their own band."""
    return ()


DRAW = {
    "hood": hood, "powered-hood": powered_hood, "respirator": respirator, "mask": mask, "goggles": goggles,
    "face-shield": shield,
}  # fmt: skip
"""Kind → its parts, given whether it is seen from behind."""
BANDS = {"respirator": straps, "mask": loops, "goggles": nothing}
"""What is worn on the face → what holds it on a head without a hood."""


def loose_respirator(back: bool) -> tuple[Part, ...]:
    """A respirator by itself, with its straps."""
    return (stroke(path("M-5 15.4 C-7 6 7 6 5 15.4"), path("M-5 21 C-6 30 6 30 5 21")), *respirator(back))


def loose_mask(back: bool) -> tuple[Part, ...]:
    """A mask by itself, with its loops."""
    return (*both((stroke(path("M5.2 15.4 C9.6 14.4 9.6 21 5.2 20")),)), *mask(back))


LOOSE = {"respirator": loose_respirator, "mask": loose_mask, "powered-hood": powered_head}
"""Kinds that look different when they lie by themselves."""
