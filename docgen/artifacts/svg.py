"""Turn drawings into SVG that stands in a page and follows its colours (https://www.w3.org/TR/SVG2/).

Drawings measure about 100 units; a tenth of a unit is less than a pixel on any screen but a wall. Coordinates are
written in whole tenths, each from the point before, which takes half the room.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from html import escape

from docgen.model.sheet import BLACK, WHITE, Colour, Path, Shape

PAINT: Mapping[Colour, str] = {BLACK: "currentColor", WHITE: "var(--ground)"}
"""Ink and paper become those of the place where the drawing stands, so that it turns dark with the page."""


WORTH_SHARING = 160
"""Characters from which a drawing that comes again is referred to instead of repeated."""


class Drawings:
    """Writes the drawings of one page, each outline once."""

    def __init__(self) -> None:
        self._known: dict[str, str] = {}

    def svg(self, shapes: Iterable[Shape], width: float, height: float, alt: str, kind: str) -> str:
        """A drawing with its alternative text; without one it is decoration, hidden from assistive technology."""
        said = f'role="img" aria-label="{escape(alt)}"' if alt else 'aria-hidden="true"'
        drawn = "".join(map(_shape, shapes))
        if drawn in self._known:
            drawn = f'<use href="#{self._known[drawn]}"/>'
        elif len(drawn) >= WORTH_SHARING:
            name = self._known[drawn] = f"drawing-{len(self._known) + 1}"
            drawn = f'<g id="{name}">{drawn}</g>'
        return f'<svg class="{kind}" viewBox="0 0 {_tenths(width)} {_tenths(height)}" {said}>{drawn}</svg>'


def _shape(shape: Shape) -> str:
    out = [f'<path d="{_path(shape.path)}" fill="{_paint(shape.fill)}"']
    if shape.stroke is not None:
        out.append(f' stroke="{_paint(shape.stroke)}" stroke-width="{_tenths(shape.width)}"')
    if shape.dash:
        out.append(f' stroke-dasharray="{" ".join(str(_tenths(d)) for d in shape.dash)}"')
    if shape.even_odd:
        out.append(' fill-rule="evenodd"')
    return "".join(out) + "/>"


def _paint(colour: Colour | None) -> str:
    """A grey between ink and paper is a variable of the style sheet, `--grey-76` for 76 % white."""
    if colour is None:
        return "none"
    if colour in PAINT:
        return PAINT[colour]
    red, green, blue = (round(part * 255) for part in colour)
    plain = f"#{red:02x}{green:02x}{blue:02x}"
    return f"var(--grey-{round(colour[0] * 100)},{plain})" if red == green == blue else plain


def _path(path: Path) -> str:
    out: list[str] = []
    at = start = (0, 0)
    for letter, numbers in path:
        if letter == "Z":
            out.append("z")
            at = start
            continue
        points = [(_tenths(x), _tenths(y)) for x, y in zip(numbers[::2], numbers[1::2], strict=True)]
        if letter == "M":
            start = points[0]
        steps = [n for x, y in points for n in (x - at[0], y - at[1])]
        out.append(letter.lower() + "".join(f"{'' if i == 0 or n < 0 else ' '}{n}" for i, n in enumerate(steps)))
        at = points[-1]
    return "".join(out)


def _tenths(value: float) -> int:
    return round(value * 10)
