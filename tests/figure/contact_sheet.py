"""Turn figures into pixels: contact sheets for people to look at, and pictures for tests to measure.

`python tests/figure/contact_sheet.py sheet.png 15 30` draws an ensemble coming off and going on, 15 and 30 mm high.
"""

from __future__ import annotations

import io
import subprocess
import sys
from pathlib import Path as File

from PIL import Image
from reportlab.pdfgen.canvas import Canvas

from docgen.figure import Picture, draw
from docgen.model.edition import Item
from docgen.model.moment import Moment
from docgen.model.sheet import MM
from docgen.model.text import Run, Text


def item(id: str, kind: str, layer: str = "") -> Item:
    """An item named after its id."""
    return Item(id, Text(f"item.{id}.name", id, (Run(id.replace("-", " ")),)), kind, layer=layer)


ENSEMBLE = (
    item("apron", "apron"), item("boots", "boot-covers"), item("outer-gloves", "gloves", "outer"),
    item("shield", "face-shield"), item("hood", "hood"), item("gown", "gown"), item("inner-gloves", "gloves", "inner"),
    item("respirator", "respirator"), item("shoes", "footwear"),
)  # fmt: skip
"""Worn in this order from the outside in."""


def hands(worn: list[str]) -> str:
    """The outermost hand layer of what is worn from `ENSEMBLE`."""
    return "outer" if "outer-gloves" in worn else "inner" if "inner-gloves" in worn else "bare"


def sequence(verb: str, view: str = "front") -> list[Picture]:
    """Each item of `ENSEMBLE` coming off in turn, or going on."""
    ids = [i.id for i in ENSEMBLE]
    out = []
    for n, id in enumerate(ids if verb == "remove" else ids[::-1]):
        worn = ids[n:] if verb == "remove" else ids[len(ids) - n :]
        out.append(draw(Moment(id, tuple(worn), verb, (id,), hands(worn), False, view, ("wearer",)), ENSEMBLE))
    return out


def paint(canvas: Canvas, picture: Picture, x: float, top: float, scale: float) -> None:
    """Draw a picture with its top left corner at (x, top), y upwards on the canvas."""
    canvas.setLineCap(1)
    canvas.setLineJoin(1)
    for shape in picture.shapes:
        p = canvas.beginPath()
        for letter, n in shape.path:
            at = [x + v * scale if i % 2 == 0 else top - v * scale for i, v in enumerate(n)]
            {"M": p.moveTo, "L": p.lineTo, "C": p.curveTo, "Z": p.close}[letter](*at)
        if shape.fill is not None:
            canvas.setFillColorRGB(*shape.fill)
        if shape.stroke is not None:
            canvas.setStrokeColorRGB(*shape.stroke)
            canvas.setLineWidth(shape.width * scale)
        drawn, filled = shape.stroke is not None, shape.fill is not None
        canvas.drawPath(p, stroke=int(drawn), fill=int(filled), fillMode=int(not shape.even_odd))


def grid(pictures: list[Picture], mm: float, columns: int, dpi: int = 300) -> Image.Image:
    """Pictures of one height in rows, as they would print."""
    scale, gap = mm * MM / 100, 3 * MM
    cell = max(p.width for p in pictures) * scale + gap
    line = mm * MM + gap
    rows = -(-len(pictures) // columns)
    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=(cell * columns + gap, line * rows + gap), invariant=1)
    for i, picture in enumerate(pictures):
        paint(canvas, picture, gap + i % columns * cell, line * (rows - i // columns), scale)
    canvas.save()
    command = ["pdftoppm", "-r", str(dpi), "-png", "-singlefile", "-"]
    done = subprocess.run(command, input=buffer.getvalue(), capture_output=True, check=True)
    return Image.open(io.BytesIO(done.stdout))


def main(out: str, *heights: str) -> None:
    """Write a contact sheet."""
    pictures = [p for verb in ("remove", "put-on") for view in ("front", "back") for p in sequence(verb, view)]
    sheets = [grid(pictures, float(h), len(ENSEMBLE)) for h in heights or ("15", "30")]
    whole = Image.new("RGB", (max(s.width for s in sheets), sum(s.height for s in sheets)), "white")
    top = 0
    for one in sheets:
        whole.paste(one, (0, top))
        top += one.height
    whole.save(File(out))


if __name__ == "__main__":
    main(*sys.argv[1:])
