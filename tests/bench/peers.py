"""Turn the words of one artifact into a PDF with general-purpose engines, for comparison.

Every engine gets the same paragraphs, sheet, margins, columns and type size, and its output must have the same words.
A poster is fitted by all but the browser: the size is bisected, eight tries each. None draws figures, frames, a stamp
or a square code; Typst and Chromium tag what they make, the others do not; ReportLab and WeasyPrint make form fields.
"""

from __future__ import annotations

import html
import importlib
import io
import json
import os
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

from docgen.model.block import Block, Composition, Items, Panel, Para, Table
from docgen.model.sheet import Document, Ink

TRIES = 8
LEAST, MOST = 8.0, 40.0
"""Points between which a poster's size is looked for."""
MARGIN, GUTTER = 40.0, 24.0
HEAD = 1.35
"""Size of headings over that of other words."""


@dataclass(frozen=True, slots=True)
class Matter:
    """What an artifact says, as plain paragraphs, and the sheet it is set on. Lengths in points."""

    artifact: str
    width: float
    height: float
    paragraphs: tuple[tuple[bool, str], ...]
    """Whether it is a heading, and its words."""
    ticks: int
    """Boxes to tick in each paragraph that is a heading."""
    size: float
    columns: int = 1
    fitted: bool = False


def matter(composition: Composition, document: Document) -> Matter:
    """The words of a composition, on the sheet of the finished document and about as large as there."""
    sheet = document.sheets[0]
    inks = sorted(mark.size for s in document.sheets for mark in s.marks if isinstance(mark, Ink))
    artifact, poster = composition.artifact, composition.artifact == "poster"
    paragraphs = tuple(p for block in composition.part("main") for p in _paragraphs(block) if p[1].strip())
    ticks = 3 if artifact == "checklist" else 0
    size = inks[len(inks) // 2]
    return Matter(artifact, sheet.width, sheet.height, paragraphs, ticks, size, 4 if poster else 1, poster)


def _paragraphs(block: Block) -> list[tuple[bool, str]]:
    match block:
        case Para():
            things = ("box", "figure", "mark", "symbol", "code")
            words = "".join(r.text for p in block.pieces if p.origin.kind not in things for r in p.runs)
            return [(block.level > 0, " ".join(words.split()))]
        case Panel():
            return [p for b in block.blocks for p in _paragraphs(b)]
        case Items():
            return [p for item in block.items for b in item for p in _paragraphs(b)]
        case Table():
            return [p for row in (block.header, *block.rows) for cell in row for p in _paragraphs(cell)]
    return []


def fitted(of: Matter, pages: Callable[[Matter], int]) -> Matter:
    """The matter in the greatest size at which it takes one page."""
    low, high = LEAST, MOST
    for _ in range(TRIES):
        middle = (low + high) / 2
        low, high = (middle, high) if pages(replace(of, size=middle)) == 1 else (low, middle)
    return replace(of, size=low)


@cache
def static_fonts(folder: str) -> tuple[Path, Path]:
    """Noto Sans as two static files, regular and bold: most engines cannot pin the axes of a variable font."""
    import uharfbuzz as hb
    from workbench import faces

    data, index = faces()._sources["NotoSans"]()
    out = []
    for weight, name in ((400, "Regular"), (700, "Bold")):
        face = hb.Face(hb.Blob(data), index)
        asked = hb.SubsetInput()
        asked.keep_everything()
        asked.pin_axis_location(face, "wght", weight)
        asked.pin_axis_location(face, "wdth", 100)
        path = Path(folder) / f"Bench-{name}.ttf"
        path.write_bytes(hb.subset(face, asked).blob.data)
        out.append(path)
    return out[0], out[1]


# --- ReportLab ----------------------------------------------------------------------------------------------------


@cache
def _registered(folder: str) -> None:
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    for path, name in zip(static_fonts(folder), ("Regular", "Bold"), strict=True):
        pdfmetrics.registerFont(TTFont(name, str(path)))


def canvas(document: Document, folder: str) -> bytes:
    """The lower bound: a bare canvas that is told where every line goes, nothing measured, broken, shaped or fitted."""
    from reportlab.pdfgen.canvas import Canvas

    _registered(folder)
    out = io.BytesIO()
    page = Canvas(out, invariant=1)
    for sheet in document.sheets:
        page.setPageSize((sheet.width, sheet.height))
        for mark in sheet.marks:
            if isinstance(mark, Ink):
                bold = any(run.face.endswith("Bold") for run in mark.line.runs)
                page.setFont("Bold" if bold else "Regular", mark.size)
                page.drawString(mark.x, sheet.height - mark.y, mark.line.text)
        page.showPage()
    page.save()
    return out.getvalue()


def paragraphs(of: Matter, folder: str) -> bytes:
    """ReportLab's own paragraphs and frames."""
    _registered(folder)
    return _platypus(fitted(of, lambda m: _platypus(m)[1]) if of.fitted else of)[0]


def _platypus(of: Matter) -> tuple[bytes, int]:
    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate, Paragraph  # noqa: TID251

    class Ticks(Flowable):
        """Boxes to tick, in a row."""

        def wrap(self, width: float, height: float) -> tuple[float, float]:
            return width, 14

        def draw(self) -> None:
            for n in range(of.ticks):
                name = f"f{id(self)}-{n}"
                self.canv.acroForm.checkbox(name=name, x=n * 60, y=0, size=12, relative=True, tooltip=name)

    out = io.BytesIO()
    document = BaseDocTemplate(out, pagesize=(of.width, of.height), invariant=1)
    wide = (of.width - 2 * MARGIN - (of.columns - 1) * GUTTER) / of.columns
    tall = of.height - 2 * MARGIN
    frames = [
        Frame(MARGIN + n * (wide + GUTTER), MARGIN, wide, tall, leftPadding=0, rightPadding=0)
        for n in range(of.columns)
    ]
    document.addPageTemplates([PageTemplate(frames=frames)])
    plain = ParagraphStyle("p", fontName="Regular", fontSize=of.size, leading=of.size * 1.22, spaceAfter=of.size * 0.4)
    head = ParagraphStyle("h", plain, fontName="Bold", fontSize=of.size * HEAD, leading=of.size * HEAD * 1.22)
    story: list[Any] = []
    for heading, words in of.paragraphs:
        story.append(Paragraph(html.escape(words), head if heading else plain))
        if heading and of.ticks:
            story.append(Ticks())
    document.build(story)
    return out.getvalue(), document.page


# --- WeasyPrint and Chromium --------------------------------------------------------------------------------------


def page(of: Matter, folder: str) -> str:
    """The matter as HTML with a style sheet for print."""
    regular, bold = (p.as_uri() for p in static_fonts(folder))
    boxes = "".join(f"<input type=checkbox name=f{n}>" for n in range(of.ticks))
    body = "".join(
        f"<h3>{html.escape(words)}</h3>{boxes}" if heading else f"<p>{html.escape(words)}</p>"
        for heading, words in of.paragraphs
    )
    return f"""<!doctype html><html lang=en><meta charset=utf-8><title>bench</title><style>
@font-face {{font-family: B; src: url({regular})}}
@font-face {{font-family: B; font-weight: bold; src: url({bold})}}
@page {{size: {of.width}pt {of.height}pt; margin: {MARGIN}pt}}
body {{margin: 0; font: {of.size}pt/1.22 B; columns: {of.columns}; column-gap: {GUTTER}pt; column-fill: auto}}
h3, p {{margin: 0 0 .4em}} h3 {{font-size: {HEAD}em}}
</style>{body}"""


def weasyprint(of: Matter, folder: str) -> bytes:
    """WeasyPrint."""
    import weasyprint as engine

    render = lambda m: engine.HTML(string=page(m, folder)).render()
    found = fitted(of, lambda m: len(render(m).pages)) if of.fitted else of
    return render(found).write_pdf(pdf_forms=bool(of.ticks))


def chromium(of: Matter, folder: str) -> bytes:
    """A browser without a window, started for the purpose, printing once: a poster is not fitted by it."""
    source, out = Path(folder) / "page.html", Path(folder) / "page.pdf"
    source.write_text(page(of, folder), "utf-8")
    command = [
        browser(), "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer",
        f"--user-data-dir={folder}/profile", f"--print-to-pdf={out}", source.as_uri(),
    ]  # fmt: skip
    subprocess.run(command, check=True, capture_output=True, timeout=300)
    return out.read_bytes()


def browser() -> str:
    """Path of a browser that can print, or empty."""
    return next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), "")


# --- Typst ----------------------------------------------------------------------------------------------------------


def typst(of: Matter, folder: str) -> bytes:
    """Typst, its compiler kept for the process: its best form."""
    return _typst(fitted(of, lambda m: _typst(m, folder).count(b"/Type/Page/") or 1) if of.fitted else of, folder)


@cache
def _compiler(folder: str) -> Any:
    engine = importlib.import_module("typst")
    static_fonts(folder)
    source = Path(folder) / "bench.typ"
    source.write_text(
        "#set page(width: float(sys.inputs.w) * 1pt, height: float(sys.inputs.h) * 1pt, margin: 40pt,"
        " columns: int(sys.inputs.c))\n"
        "#set columns(gutter: 24pt)\n"
        '#set text(font: "Noto Sans", size: float(sys.inputs.s) * 1pt)\n'
        "#set par(leading: 0.5em, spacing: 0.9em)\n"
        "#for (head, words) in json(bytes(sys.inputs.m)) { par(if head {"
        ' text(weight: "bold", size: 1.35em, words) } else { words }) }\n',
        "utf-8",
    )
    return engine.Compiler(str(source), root=folder, font_paths=[folder], ignore_system_fonts=True)


def _typst(of: Matter, folder: str) -> bytes:
    inputs = {"w": of.width, "h": of.height, "c": of.columns, "s": of.size, "m": json.dumps(of.paragraphs)}
    return _compiler(folder).compile(format="pdf", sys_inputs={name: str(value) for name, value in inputs.items()})


ENGINES: dict[str, Callable[[Matter, str], bytes]] = {
    "ReportLab paragraphs": paragraphs,
    "Typst": typst,
    "WeasyPrint": weasyprint,
    "Chromium": chromium,
}


def at_hand() -> list[str]:
    """Engines that are installed."""
    modules = {"Typst": "typst", "WeasyPrint": "weasyprint"}
    out = []
    for name in ENGINES:
        if name == "Chromium":
            found: object = browser() and not os.environ.get("BENCH_NO_BROWSER")
        else:
            found = importlib.util.find_spec(modules.get(name, "reportlab"))
        if found:
            out.append(name)
    return out
