"""How an artifact's sheet is laid out: what `templates/<artifact>/sheet.yaml` says. Lengths are in millimetres."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from docgen.model.protocol import Shape
from docgen.model.scalar import WHOLE

SIZES: dict[str, tuple[float, float]] = {
    # ISO 216 (trimmed sizes)
    "A0": (841, 1189), "A1": (594, 841), "A2": (420, 594), "A3": (297, 420), "A4": (210, 297), "A5": (148, 210),
    "A6": (105, 148), "A7": (74, 105),
    # United States: ANSI/ASME Y14.1 sizes and common poster and index-card sizes, 1 in = 25.4 mm
    "Letter": (215.9, 279.4), "Legal": (215.9, 355.6), "Tabloid": (279.4, 431.8), "18x24in": (457.2, 609.6),
    "24x36in": (609.6, 914.4), "3x5in": (76.2, 127.0), "4x6in": (101.6, 152.4),
    # ISO/IEC 7810, nominal
    "ID-1": (53.98, 85.60),
}  # fmt: skip
"""Sheet name → width and height in millimetres, portrait."""

Hex = Annotated[str, Field(pattern=r"^#[0-9A-Fa-f]{6}$")]
"""A colour, `#RRGGBB`."""


class Style(Shape):
    """How one kind of text looks. `size` counts in the sheet's base size, or in points with `fixed: true`."""

    size: Annotated[float, Field(gt=0, le=40)] = 1.0
    fixed: bool = Field(False, description="`size` is in points and does not grow with the sheet.")
    weight: Literal["regular", "bold"] = "regular"
    colour: Hex | None = Field(None, description="The sheet's ink if left out.")
    leading: Annotated[float, Field(ge=0.9, le=2.5)] = Field(1.22, description="Line distance in sizes.")


class Hole(Shape):
    """A zone near the top edge kept clear for a lanyard slot or an eyelet."""

    width: float
    height: float
    top: float = Field(description="From the top edge to the zone's far side.")


class SheetSpec(Shape):
    """One size this artifact can be printed on."""

    size: str | None = Field(None, description="A standard size; the sheet's own name if left out.")
    landscape: bool = False
    columns: tuple[Annotated[int, Field(ge=1, le=8)], Annotated[int, Field(ge=1, le=8)]] = Field(
        (1, 1), description="Fewest and most columns; the number that allows the largest type is taken."
    )
    margin: Annotated[float, Field(ge=3, le=80)] = 12
    gutter: Annotated[float, Field(ge=0, le=60)] = 8
    corner: float = Field(0, description="Corner radius.")
    hole: Hole | None = None
    base: tuple[float, float] | None = Field(None, description="Least and greatest base size for this sheet, points.")
    code: float | None = Field(None, description="Width of the square code with its quiet zone; none if left out.")
    code_once: float | None = Field(
        None, description="Cards too small for a code on every side: its width, printed once after the last step."
    )


class Layout(Shape):
    """The layout of one artifact."""

    artifact: str
    sheet: str = Field(description="The sheet used when a site names none.")
    sheets: dict[str, SheetSpec] = Field(min_length=1)
    base: tuple[float, float] = Field(
        description="Least and greatest base size in points; fitting picks the greatest that fits."
    )
    distance: Annotated[float, Field(gt=0, le=10)] = Field(description="Metres from which it must be readable.")
    styles: dict[str, Style] = Field(default_factory=dict)
    colours: dict[str, Hex] = Field(default_factory=dict)
    press: tuple[str, ...] = Field((), description="Sheets on which cards are imposed.")
    sides: Annotated[int, Field(ge=1, le=2), WHOLE] = Field(
        1, description="Sides of the paper it is printed on when it has more than one page."
    )


class House(Shape):
    """What all artifacts share: `templates/house/look.yaml`."""

    colours: dict[str, Hex]
    styles: dict[str, Style]
