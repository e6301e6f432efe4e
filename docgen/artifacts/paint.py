"""Turn shapes into painting operators (ISO 32000-1, 8.5), stored once for drawings that are placed many times."""

from __future__ import annotations

import zlib
from functools import lru_cache
from typing import NamedTuple

from docgen.artifacts.objects import EFFORT, Objects, number, ref
from docgen.model.sheet import Colour, Drawing, Path, Shape

Box = tuple[float, float, float, float]
"""Left, bottom, right, top, in points upwards."""

_OPERATORS = {"M": ("m", 2), "L": ("l", 2), "C": ("c", 6), "Z": ("h", 0)}


class Brush:
    """Remembers the colours and the pen last set, so that they are set only when they change."""

    def __init__(self, left: float, top: float, decimals: int = 2) -> None:
        """Shapes are placed from (`left`, `top`), downwards, in a space that counts upwards."""
        self._left, self._top = left, top
        self._decimals = decimals
        self._fill: Colour | None = None
        self._stroke: Colour | None = None
        self._pen: tuple[float, tuple[float, ...]] | None = None

    def fill(self, colour: Colour, out: list[str]) -> None:
        """Set the colour of words and insides."""
        if colour != self._fill:
            self._fill = colour
            out.append(_colour(colour, "g", "rg"))

    def paint(self, shape: Shape, out: list[str]) -> None:
        """Draw one shape."""
        if not shape.path:
            return
        if shape.fill:
            self.fill(shape.fill, out)
        if shape.stroke:
            if shape.stroke != self._stroke:
                self._stroke = shape.stroke
                out.append(_colour(shape.stroke, "G", "RG"))
            pen = (shape.width, shape.dash)
            if pen != self._pen:
                if shape.dash or (self._pen and self._pen[1]):
                    out.append(f"[{' '.join(map(number, shape.dash))}]0 d")
                self._pen = pen
                out.append(f"{round(shape.width, self._decimals):g} w")
        out.append(self._path(shape.path))
        star = "*" if shape.even_odd else ""
        out.append((f"B{star}" if shape.stroke else f"f{star}") if shape.fill else "S" if shape.stroke else "n")

    def _path(self, path: Path) -> str:
        left, top = self._left, self._top
        values = [top - v if n & 1 else left + v for _, at in path for n, v in enumerate(at)]
        form = _form("".join([op for op, _ in path]), self._decimals)
        return (form % tuple(values)).replace("." + "0" * self._decimals + " ", " ")


@lru_cache(maxsize=4096)
def _form(operators: str, decimals: int) -> str:
    """A path's operators with places for its numbers: `%.2f %.2f m`."""
    place = f"%.{decimals}f "
    return "\n".join(place * count + letter for letter, count in (_OPERATORS[op] for op in operators))


def bounds(shapes: tuple[Shape, ...]) -> Box:
    """Left, top, right and bottom of the shapes' points, in their own space, downwards."""
    xs = [v for s in shapes for _, at in s.path for v in at[::2]]
    ys = [v for s in shapes for _, at in s.path for v in at[1::2]]
    return (min(xs), min(ys), max(xs), max(ys)) if xs else (0.0, 0.0, 0.0, 0.0)


class _Stored(NamedTuple):
    data: bytes
    """Operators, deflated."""
    box: Box
    """Left, top, right, bottom of its points, in its own space, downwards."""
    reach: float
    """How far strokes reach beyond them."""


@lru_cache(maxsize=1024)
def _stored(shapes: tuple[Shape, ...]) -> _Stored:
    """A drawing's operators in its own space, kept for the process."""
    brush = Brush(0.0, 0.0)
    out: list[str] = []
    for shape in shapes:
        brush.paint(shape, out)
    reach = max((shape.width for shape in shapes if shape.stroke), default=0.0) * 5  # a mitre reaches five widths
    return _Stored(zlib.compress("\n".join(out).encode("ascii"), EFFORT), bounds(shapes), reach)


class Drawings:
    """The drawings of one document."""

    def __init__(self, objects: Objects) -> None:
        self._objects = objects
        self._known: dict[int, _Stored] = {}
        self._numbers: dict[_Stored, tuple[str, int]] = {}

    def place(self, drawing: Drawing, left: float, top: float, out: list[str]) -> Box:
        """Put a drawing on a page whose corner is at (`left`, `top`); returns what its points cover there."""
        stored = self._known.get(id(drawing.shapes))
        if stored is None:  # asking by identity first saves comparing every point at every placing
            stored = self._known[id(drawing.shapes)] = _stored(drawing.shapes)
        if stored not in self._numbers:
            a, b, c, d = stored.box
            box = " ".join(map(number, (a - stored.reach, -d - stored.reach, c + stored.reach, -b + stored.reach)))
            entries = b"/Type/XObject/Subtype/Form/BBox[%b]/Resources<<>>/Filter/FlateDecode" % box.encode()
            number_ = self._objects.stream(entries, stored.data, packed=False)
            self._numbers[stored] = (f"D{len(self._numbers) + 1}", number_)
        x, y, scale = left + drawing.x, top - drawing.y, drawing.scale
        across = -scale if drawing.mirror else scale
        out.append(f"q {across:.5f} 0 0 {scale:.5f} {number(x)} {number(y)} cm/{self._numbers[stored][0]} Do Q")
        a, b, c, d = stored.box
        start, end = sorted((x + a * across, x + c * across))
        return (start, y - d * scale, end, y - b * scale)

    def write(self) -> bytes:
        """The entries of the external object resource dictionary."""
        return b"".join(b"/%b %b" % (name.encode(), ref(number_)) for name, number_ in self._numbers.values())


def _colour(colour: Colour, grey: str, rgb: str) -> str:
    """An operator that sets a colour; greys stay grey, so that a printer uses black ink alone."""
    red, green, blue = colour
    if red == green == blue:
        return f"{round(red, 4):g} {grey}"
    return f"{round(red, 4):g} {round(green, 4):g} {round(blue, 4):g} {rgb}"
