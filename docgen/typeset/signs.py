"""Our own small signs: caution symbols, actor marks, the square code. Each is shapes in a square of side 100."""

from __future__ import annotations

from docgen.model.sheet import Colour, Path, Shape
from docgen.typeset.boxes import circle, rectangle

SIDE = 100.0


def mark(kind: str, ink: Colour) -> tuple[Shape, ...]:
    """An actor's mark: `circle`, `square`, `triangle`, else a diamond. Filled, so that it holds at small sizes."""
    path: Path
    match kind:
        case "circle":
            path = circle(50, 50, 42)
        case "square":
            path = rectangle(12, 12, 76, 76)
        case "triangle":
            path = (("M", (50, 8)), ("L", (96, 90)), ("L", (4, 90)), ("Z", ()))
        case _:
            path = (("M", (50, 4)), ("L", (96, 50)), ("L", (50, 96)), ("L", (4, 50)), ("Z", ()))
    return (Shape(path, fill=ink),)


def symbol(signal: str, ink: Colour, ground: Colour) -> tuple[Shape, ...]:
    """The symbol before a signal word: a triangle with a bar and a dot for hazards to people, a disc for a notice."""
    bar = rectangle(45, 36, 10, 29, 3)
    dot = circle(50, 76, 6)
    if signal == "notice":
        return (
            Shape(circle(50, 50, 46), fill=ink),
            Shape(rectangle(44, 43, 12, 34, 3), fill=ground),
            Shape(circle(50, 28, 7.5), fill=ground),
        )
    triangle: Path = (
        ("M", (43, 9)), ("C", (46, 4, 54, 4, 57, 9)), ("L", (98, 84)), ("C", (101, 89, 97, 95, 91, 95)), ("L", (9, 95)),
        ("C", (3, 95, -1, 89, 2, 84)), ("Z", ()),
    )  # fmt: skip
    return (Shape(triangle, fill=ink), Shape(bar, fill=ground), Shape(dot, fill=ground))


def square_code(text: str, ink: Colour, ground: Colour, error: str = "q") -> tuple[Shape, ...]:
    """A QR code (ISO/IEC 18004) with its quiet zone of four modules, as one path of row runs.

    `error` is the level of error correction: `q` recovers a quarter of the code, `m` about a seventh.
    """
    from docgen.typeset.square import runs

    side, dark = runs(text, error)
    module = SIDE / side
    path: list[tuple[str, tuple[float, ...]]] = []
    for y, x, end in dark:
        path += rectangle(x * module, y * module, (end - x) * module, module)
    return (Shape(rectangle(0, 0, SIDE, SIDE), fill=ground), Shape(tuple(path), fill=ink))


def sign(name: str, ink: Colour, rtl: bool = False) -> tuple[Shape, ...]:
    """A sign of a button: `next` and `back` (which point the way the words run), `tick`, `box`, `screen`, `alarm`."""

    def line(*points: tuple[float, float]) -> tuple[Shape, ...]:
        path: Path = tuple(("L" if n else "M", p) for n, p in enumerate(points))
        return (Shape(path, stroke=ink, width=14),)

    match name:
        case "next" | "back":
            tip, tail = (72, 30) if (name == "next") != rtl else (28, 70)
            return line((tail, 12), (tip, 50), (tail, 88))
        case "tick":
            return line((12, 54), (40, 84), (90, 18))
        case "screen":
            stand = line((50, 74), (50, 90)) + line((28, 92), (72, 92))
            words = (Shape(rectangle(20, 26, 44, 8), fill=ink), Shape(rectangle(20, 42, 60, 8), fill=ink))
            return (Shape(rectangle(6, 10, 88, 62, 3), stroke=ink, width=8), *stand, *words)
        case "box":
            return (Shape(rectangle(10, 10, 80, 80, 4), stroke=ink, width=12),)
    return (Shape(rectangle(42, 6, 16, 56, 5), fill=ink), Shape(circle(50, 82, 11), fill=ink))
