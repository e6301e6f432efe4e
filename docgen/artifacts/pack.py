"""Turn pages of finished files into one file for the printer: placed as they are, never changed in size.

The pages are joined with pikepdf. Form fields become part of the page as they look when nobody has filled them in.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

Box = tuple[float, float, float, float]
"""Left, top, right and bottom in points, from the top left corner of the side."""


class Unprintable(Exception):
    """A file whose pages can't be joined, and why."""


@dataclass(frozen=True, slots=True)
class Placed:
    """A page of a file, with its top left corner (as it lies) at (`x`, `y`) points from the top left of the side."""

    source: str
    page: int
    """From 0."""
    x: float = 0.0
    y: float = 0.0
    turn: int = 0
    """Degrees anticlockwise: 0, 90 (its top points to the left) or -90."""


@dataclass(frozen=True, slots=True)
class Side:
    """One side of a sheet of paper, in points."""

    width: float
    height: float
    placed: tuple[Placed, ...] = ()
    """Nothing: a blank side."""
    trim: Box | None = None
    """What is left when the sheet has been cut; None: all of it."""
    bleed: float = 0.0
    """How far beyond the trim the printer must print."""


@dataclass(frozen=True, slots=True)
class Job:
    """A file for the printer."""

    title: str
    sides: tuple[Side, ...]
    duplex: bool
    bookmarks: tuple[tuple[str, int], ...] = ()
    """Words and index of a side."""
    grey: bool = False


def sizes(data: bytes) -> tuple[tuple[float, float], ...]:
    """Width and height of each page in points. Raises `Unprintable`."""
    with _opened(data) as pdf:
        boxes = [[float(v) for v in page.trimbox] for page in pdf.pages]
    return tuple((right - left, top - bottom) for left, bottom, right, top in boxes)


def _opened(data: bytes) -> Any:
    import pikepdf

    try:
        return pikepdf.open(io.BytesIO(data))
    except (pikepdf.PdfError, pikepdf.PasswordError) as problem:
        raise Unprintable(str(problem)) from None


def write_pack(job: Job, sources: Mapping[str, bytes]) -> bytes:
    """The file. The same job and sources give the same bytes. Raises `Unprintable`."""
    import pikepdf
    from pikepdf import Array, Dictionary, Name

    out = pikepdf.new()
    used = {p.source for side in job.sides for p in side.placed}
    opened = {name: _opened(sources[name]) for name in sorted(used)}
    for pdf in opened.values():
        pdf.flatten_annotations("print")
    forms: dict[tuple[str, int], Any] = {}
    for side in job.sides:
        names: dict[str, Any] = {}
        drawn: list[str] = []
        for placed in side.placed:
            key = (placed.source, placed.page)
            if key not in forms:
                forms[key] = out.copy_foreign(opened[placed.source].pages[placed.page].as_form_xobject())
            name = f"/P{len(names)}"
            names[name] = forms[key]
            drawn.append(f"q {_matrix(placed, side, forms[key])} cm {name} Do Q")
        page = Dictionary(
            Type=Name.Page, MediaBox=Array([0, 0, _n(side.width), _n(side.height)]),
            Resources=Dictionary(XObject=Dictionary(names)) if names else Dictionary(),
            Contents=out.make_stream("\n".join(drawn).encode("ascii")),
        )  # fmt: skip
        trim = side.trim or (0.0, 0.0, side.width, side.height)
        page.TrimBox = _box(trim, side)
        page.BleedBox = _box(_grown(trim, side), side)
        out.pages.append(pikepdf.Page(page))
    for pdf in opened.values():
        pdf.close()
    if job.grey:
        _to_grey(out)
    out.Root.ViewerPreferences = Dictionary(
        PrintScaling=Name("/None"),
        Duplex=Name.DuplexFlipLongEdge if job.duplex else Name.Simplex,
        PickTrayByPDFSize=True,
        NumCopies=1,
        DisplayDocTitle=True,
    )
    out.Root.Lang = pikepdf.String("en")
    out.docinfo["/Title"] = pikepdf.String(job.title)
    out.docinfo["/Producer"] = pikepdf.String("docgen")
    with out.open_outline() as outline:
        outline.root.extend(pikepdf.OutlineItem(words, side) for words, side in job.bookmarks)
    buffer = io.BytesIO()
    out.save(buffer, deterministic_id=True, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    return buffer.getvalue()


def _matrix(placed: Placed, side: Side, form: Any) -> str:
    """The operands that put a page at its place, turned."""
    left, bottom, right, top = (float(v) for v in form.BBox)
    wide, tall = right - left, top - bottom
    match placed.turn:
        case 0:
            values = (1, 0, 0, 1, placed.x - left, side.height - placed.y - tall - bottom)
        case 90:
            values = (0, 1, -1, 0, placed.x + tall + bottom, side.height - placed.y - wide - left)
        case -90:
            values = (0, -1, 1, 0, placed.x - bottom, side.height - placed.y + left)
        case other:
            raise ValueError(f"no turn by {other}")
    return " ".join(f"{v + 0.0:.4f}".rstrip("0").rstrip(".") for v in values)


def _grown(trim: Box, side: Side) -> Box:
    left, top, right, bottom = trim
    by = side.bleed
    return max(0.0, left - by), max(0.0, top - by), min(side.width, right + by), min(side.height, bottom + by)


def _box(box: Box, side: Side) -> Any:
    from pikepdf import Array

    left, top, right, bottom = box
    return Array([_n(left), _n(side.height - bottom), _n(right), _n(side.height - top)])


def _n(value: float) -> Any:
    from decimal import Decimal

    return Decimal(f"{value:.3f}").normalize() + 0


# --- greyscale --------------------------------------------------------------------------------------------------


def _to_grey(pdf: Any) -> None:
    """Every colour of every form becomes the grey that is as bright."""
    import pikepdf
    from pikepdf import Name, Operator

    for thing in pdf.objects:
        if not isinstance(thing, pikepdf.Stream) or thing.get("/Subtype") != Name.Form:
            continue
        changed = False
        out: list[Any] = []
        instructions: list[Any] = list(pikepdf.parse_content_stream(thing))
        for operands, operator in instructions:
            word = str(operator)
            if word in ("rg", "RG"):
                changed = True
                grey = brightness(*(float(v) for v in operands))
                out.append(([_n(grey)], Operator("g" if word == "rg" else "G")))
            else:
                out.append((operands, operator))
        if changed:
            thing.write(pikepdf.unparse_content_stream(out))


def brightness(red: float, green: float, blue: float) -> float:
    """The sRGB grey with the relative luminance of a colour (WCAG 2.2 and IEC 61966-2-1)."""

    def linear(c: float) -> float:
        return c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4

    y = 0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue)
    return 12.92 * y if y <= 0.0031308 else 1.055 * y ** (1 / 2.4) - 0.055
