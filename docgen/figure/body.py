"""Turn nobody in particular into an outline: the person under the equipment, and where the parts of a person are.

One steady pose, arms a little away from the body, no face, no skin colour, no gender. The axis is x = 0. Outlines are
those of the filled inside; lines are drawn around them.
"""

from __future__ import annotations

from docgen.figure.pen import (
    BEHIND,
    CLOTH,
    FINE,
    PAPER,
    Part,
    Place,
    both,
    capsule,
    ellipse,
    path,
    placed,
    solid,
    symmetric,
)
from docgen.model.sheet import Path

HEAD = (0.0, 14.4)
SHOULDER = (10.8, 31.2)
WRIST = (22.0, 52.0)
ARM_TURN = -28.3
"""Degrees from hanging straight down to the direction of the arm at positive x."""
HAND = Place(*WRIST, turn=ARM_TURN)
"""Puts a hand drawn hanging from the origin at the end of the arm at positive x."""
SHOE = (0.5, 0.5, 0.5)


def arm(shoulder: float, wrist: float, until: float = 1.0) -> Path:
    """The arm at positive x, of given radii, down to a share of its length."""
    (x1, y1), (x2, y2) = SHOULDER, WRIST
    return capsule(x1, y1, x1 + (x2 - x1) * until, y1 + (y2 - y1) * until, shoulder, wrist)


def arms(shoulder: float, wrist: float, until: float = 1.0) -> tuple[Path, Path]:
    """Both arms."""
    right = arm(shoulder, wrist, until)
    return right, Place(flip=True)(right)


def legs(hip: float, ankle: float, until: float = 90.0) -> tuple[Path, Path]:
    """Both legs, of given outer half-widths, down to a height."""
    right = path(f"M1.15 51 L{hip} 51 L{ankle} {until} L3.6 {until} Z")
    return right, Place(flip=True)(right)


def person(back: bool) -> tuple[Part, ...]:
    """The person, without hands and feet: they have layers of their own."""
    del back
    torso = symmetric("M0 24.5 L2.8 25.6 C6 26.6 11 26.8 12.6 30 C11 34 9 38 8.8 44 C8.8 47 9.6 49 9.6 52 L0 52")
    return (
        solid(torso, *arms(3.1, 2.4), *legs(9.6, 8.8), capsule(0, 19, 0, 27, 2.9)),
        solid(ellipse(-6.9, 15, 1.2, 1.9), ellipse(6.9, 15, 1.2, 1.9), ellipse(*HEAD, 6.5, 8.2)),
    )


FOOT = path("M3.8 89 L9 89 C9.8 91 12 92.6 12 95 L3.8 95 C3.2 93 3.7 91 3.8 89 Z")
FOOT_BACK = path("M3.8 89 L9 89 C9.4 91 10.4 93 10.2 95 L3.6 95 C3.2 93 3.7 91 3.8 89 Z")


def feet(back: bool) -> tuple[Part, ...]:
    """Bare feet."""
    return both((solid(FOOT_BACK if back else FOOT),))


def clothing(back: bool) -> tuple[Part, ...]:
    """Scrubs: short sleeves, open neck, trousers."""
    neck = "M0 25.6 L3.6 25.4" if back else "M0 32 L3.7 25.2"
    top = f"{neck} C7 26 11 26.6 12.6 30 C11 34 9.2 38 9.2 44 C9.2 47 10 50 10.2 54 L0 54"
    return (
        solid(*legs(10, 9.4, 88.5), path("M-9.8 48 L9.8 48 L9.8 54 L-9.8 54 Z"), fill=CLOTH),
        solid(symmetric(top), *arms(3.6, 3.7, 0.4), fill=CLOTH),
    )


def shoes(back: bool) -> tuple[Part, ...]:
    """Shoes that stay on and are cleaned."""
    return both((solid(FOOT_BACK if back else FOOT, fill=SHOE),))


def bust(white: bool) -> tuple[Part, ...]:
    """Head and shoulders alone, for a detail."""
    neck = capsule(0, 19, 0, 28, 2.9)
    shoulders = symmetric("M0 28.4 L3.4 25.4 C6.4 26.6 10.4 26.8 12.2 30.6 L12.6 33.4 L0 33.4")
    return (solid(neck), solid(shoulders, fill=PAPER if white else CLOTH), person(False)[1])


def shins(white: bool) -> tuple[Part, ...]:
    """Lower legs alone, for a detail."""
    return both((solid(path("M3.2 68 L10 68 L9.6 89 L3.8 89 Z"), fill=PAPER if white else CLOTH),))


def assistant() -> tuple[Part, ...]:
    """A second person, standing behind the wearer at the left."""
    torso = symmetric("M0 27 L3.8 25 C7 25.8 11 26.4 12.4 30.4 C11 35 9.4 39 9.4 44 C9.6 56 10.2 66 10.4 74 L0 74")
    leg = path("M2 70 L9 70 L9 94 L2 94 Z")
    parts = (
        Part((leg, Place(flip=True)(leg)), PAPER, ink=BEHIND),
        Part((torso,), PAPER, ink=BEHIND),
        Part((ellipse(0, 14.6, 6.4, 8.0),), PAPER, ink=BEHIND),
    )
    return placed(parts, Place(-18.5, 1))


def helping_hand() -> tuple[Part, ...]:
    """The assistant's fingers on the wearer's shoulder."""
    fingers = (capsule(x, 24.6 - x * 0.24, x + 0.4, 29.4 - x * 0.24, 0.9) for x in (-13.4, -10.4, -7.4))
    return (solid(*fingers, line=FINE),)
