"""Turn an item for body or feet into parts: aprons, gowns, coveralls, covers for boots and shoes."""

from __future__ import annotations

from docgen.figure.body import arms, legs
from docgen.figure.pen import FINE, Part, Place, block, both, ellipse, path, solid, stroke, symmetric
from docgen.model.sheet import Path


def bow(x: float, y: float, size: float = 1.0) -> tuple[Part, ...]:
    """A tied bow: two loops and two ends."""
    at = Place(x, y, size)
    loops = (
        at(path("M0 0 C2 -3.4 6 -3.4 6 -0.4 C6 2.2 2.4 2 0 0 Z")),
        at(path("M0 0 C-2 -3.4 -6 -3.4 -6 -0.4 C-6 2.2 -2.4 2 0 0 Z")),
    )
    return (
        stroke(at(path("M0 0 L-3.4 6.4 M0 0 L3.4 6.4"))),
        solid(*loops, body=False, line=FINE),
        block(at(ellipse(0, 0, 1.6))),
    )


def gown(back: bool) -> tuple[Part, ...]:
    """A gown to below the knee with long sleeves; tied behind."""
    body = symmetric(
        "M0 27 L3.8 25 C7 25.8 12 26.4 13.4 30.4 C12 35 10.2 39 10.2 44 C10.6 53 13 66 13.6 77 C9 78.6 4 78.8 0 78.8"
    )
    sleeves = arms(4.6, 3.9, 0.97)
    if back:
        opening = stroke(path("M1.4 27 C2.6 40 2.8 60 4.4 78"))
        return (solid(body, *sleeves), opening, *bow(1.6, 27.6, 0.85), *bow(0.6, 44.6, 1.05))
    return (solid(body, *sleeves), stroke(path("M-9.8 45 C-4 46.4 4 46.4 9.8 45")))


def apron(back: bool) -> tuple[Part, ...]:
    """A plastic apron with bib, tied behind."""
    if back:
        edges = both((solid(path("M8.4 45 C9.4 52 12.2 62 12.6 73 L9.8 73 C9.2 62 8.2 54 7.4 47 Z")),))
        neck = stroke(path("M-3.8 26.4 C-2 28 2 28 3.8 26.4"))
        return (*edges, stroke(path("M-9 45.4 L9 45.4")), *bow(0, 46, 1.1), neck)
    strings = both((stroke(path("M5.2 33.6 L4 26")),))
    bib = symmetric("M0 33.4 L6 33.4 C6.4 38 7.4 41 10 43.4 C11.4 54 12 62 12.2 71 C9 72.2 4 72.4 0 72.4")
    return (*strings, solid(bib), stroke(path("M-9.6 46.2 C-3 47.6 3 47.6 9.6 46.2"), line=FINE))


OWN_HOOD = symmetric("M0 4 C6.4 4 9.4 8.6 9.4 14.6 C9.4 20 7.6 23.6 5 27 L0 27")


def own_hood() -> tuple[Part, ...]:
    """The hood of a coverall with its shoulders, for a detail."""
    return (solid(OWN_HOOD, symmetric("M0 27 L4 24.6 C7 26 10.4 26.4 12.2 30.4 L12.6 33.4 L0 33.4")),)


def coverall(back: bool, hooded: bool) -> tuple[Part, ...]:
    """A one-piece suit, zipped in front, with or without its own hood up."""
    torso = symmetric("M0 24 L3.6 23.8 C7 25.6 12 26 13.4 30.4 C11.6 35 9.8 39 9.8 45 C9.8 47 11.2 49 11.2 53 L0 53")
    suit = (torso, *arms(4.6, 3.7, 0.97), *legs(11.2, 10.4, 89))
    hood: tuple[Path, ...] = (OWN_HOOD,) if hooded else ()
    parts: tuple[Part, ...] = (solid(*suit, *hood),)
    if back:
        return (*parts, stroke(path("M-6.4 45 C-3 44 3 44 6.4 45")))
    zipper = "M0 26 L0 52" if hooded else "M0 25.6 L0 52"
    return (*parts, stroke(path(zipper)), block(path("M-2 32 L2 32 L1.5 38 L-1.5 38 Z")))


def boot_covers(back: bool) -> tuple[Part, ...]:
    """Covers from the sole to below the knee, with an elastic top."""
    del back
    boot = path("M3 72 L11.6 72 C11.8 79 10.8 85 11 88.6 C12 91.4 13.8 92.4 13.8 95 L3.2 95 C2.8 90 2.5 79 3 72 Z")
    return both((solid(boot), stroke(path("M3.2 76.2 L11.4 76.2"), line=FINE)))


def shoe_covers(back: bool) -> tuple[Part, ...]:
    """Low covers over the shoes, gathered at the ankle."""
    del back
    cover = path("M3.4 86 L10.2 86 C10.6 89.4 13.6 91.4 13.6 95 L3.4 95 C2.6 92 2.8 89 3.4 86 Z")
    return both((solid(cover), stroke(path("M3.6 89.4 L10 89.4"), line=FINE)))


DRAW = {"apron": apron, "gown": gown, "boot-covers": boot_covers, "shoe-covers": shoe_covers}
"""Kind → its parts, given whether it is seen from behind; a coverall also needs to know about its hood."""
