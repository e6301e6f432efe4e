"""Turn a composed page into the bytes of one HTML file that needs nothing else: style, fonts, drawings and program.

Authored words are escaped, never parsed. The file forbids itself, by its content security policy, to load anything, to
send anything, and to run any program or style but its own, which it names by SHA-256.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Callable, Iterable, Mapping
from hashlib import sha256
from html import escape
from typing import Protocol

from docgen.artifacts.svg import Drawings
from docgen.artifacts.webfonts import Worn, font_faces
from docgen.model.block import Origin, Piece
from docgen.model.page import Image, Page
from docgen.model.sheet import Shape
from docgen.model.text import Run

THINGS = frozenset({"figure", "mark", "symbol", "sign", "image", "bar", "key"})
"""Kinds of pieces that are drawn."""


class Drawn(Protocol):
    """What the writer needs of a drawing."""

    @property
    def shapes(self) -> tuple[Shape, ...]:
        """In painting order."""

    @property
    def width(self) -> float:
        """In its own units."""

    @property
    def height(self) -> float:
        """In its own units."""

    @property
    def alt(self) -> str:
        """Alternative text; empty for decoration."""


Draw = Callable[[Origin, str], "Drawn | Image | None"]
"""Gives what a piece of a language draws, if anything."""


def write_html(page: Page, draw: Draw, worn: Iterable[Worn], colours: Mapping[str, str]) -> bytes:
    """The file. `colours` become variables of the style sheet: `--ink`, `--warning-ground`."""
    variables = "".join(f"--{name}:{value};" for name, value in sorted(colours.items()))
    style = "\n".join((f":root{{{variables}}}", font_faces(worn), page.style))
    first = page.articles[0]
    direction = "rtl" if first.rtl else "ltr"
    drawings = Drawings()
    parts = [part for article in page.articles for part in article.parts]
    body = "".join(p if isinstance(p, str) else _piece(p.piece, p.language, draw, drawings) for p in parts)
    program = _hash(page.script) if page.script else "'none'"
    policy = (
        f"default-src 'none'; style-src {_hash(style)}; script-src {program}; "
        "font-src data:; img-src data:; form-action 'none'; base-uri 'none'"
    )
    head = (
        "<!DOCTYPE html>",
        f'<html lang="{escape(first.language)}" dir="{direction}">',
        "<head>",
        '<meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        '<meta name="color-scheme" content="light dark">',
        '<meta name="referrer" content="no-referrer">',
        '<link rel="icon" href="data:,">',
        f"<title>{escape(page.title)}</title>",
        f"<style>{style}</style>",
        "</head>",
        "<body>",
        f"<main>\n{body}</main>",
        f"<script>{page.script}</script>\n</body>" if page.script else "</body>",
        "</html>\n",
    )
    return "\n".join(head).encode("utf-8")


def _hash(text: str) -> str:
    return f"'sha256-{b64encode(sha256(text.encode('utf-8')).digest()).decode('ascii')}'"


def _piece(piece: Piece, language: str, draw: Draw, drawings: Drawings) -> str:
    if piece.origin.kind not in THINGS:
        return "".join(map(_run, piece.runs))
    drawn = draw(piece.origin, language)
    match drawn:
        case None:
            return ""
        case Image():
            data = b64encode(drawn.data).decode("ascii")
            alt = "".join(run.text for run in piece.runs)
            size = f'width="{drawn.width}" height="{drawn.height}"'
            return f'<img src="data:{drawn.kind};base64,{data}" {size} alt="{escape(alt)}">'
        case _:
            kind = f"sign sign-{piece.origin.ref}" if piece.origin.kind == "sign" else piece.origin.kind
            return drawings.svg(drawn.shapes, drawn.width, drawn.height, drawn.alt, kind)


def _run(run: Run) -> str:
    words = escape(run.text, quote=False)
    if run.isolate:
        words = f"<bdi>{words}</bdi>"
    if run.emphasis:
        words = f"<em>{words}</em>"
    return f"<strong>{words}</strong>" if run.strong else words
