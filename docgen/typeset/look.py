"""The look of one artifact in one language: styles, colours and shaping, ready to make boxes from pieces."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from docgen.model.block import Piece
from docgen.model.layout import House, Layout, Style
from docgen.model.sheet import BLACK, WHITE, Colour, Shape
from docgen.model.text import Run, Runs, fill
from docgen.typeset.boxes import Pt, Wording
from docgen.typeset.faces import Faces, MissingGlyph
from docgen.typeset.scripts import written_rightward
from docgen.typeset.shaping import shape

UNCASED = frozenset(
    "am ar bn ckb dv fa gu he hi ja km kn ko lo ml mr my ne pa ps sd si ta te th ti ug ur yi yue zh".split()  # noqa: SIM905
)
"""Languages whose scripts have no lower-case letters."""
TURNED = str.maketrans("→←", "←→")
"""A template's arrows lead on, so they point the way the sheet is read."""
UNCASED_HEIGHT = 520.0
"""Em thousandths taken for the x-height of such scripts: that of common sans faces. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing with its own space and its alternative text."""

    shapes: tuple[Shape, ...]
    width: float
    height: float
    alt: str


def colour(hexadecimal: str) -> Colour:
    """`#RRGGBB` as sRGB parts."""
    r, g, b = (int(hexadecimal[n : n + 2], 16) / 255 for n in (1, 3, 5))
    return (r, g, b)


@dataclass(frozen=True)
class Look:
    """Everything a box maker needs to know."""

    layout: Layout
    house: House
    faces: Faces
    language: str
    rtl: bool
    pictures: Callable[[str], Picture | None]
    """Step id → its figure."""
    late: Mapping[str, str] = field(default_factory=dict)
    """Late slots → words: `sheet`, `sheets`, `distance`, `section`."""
    beside: str = ""
    """The edition's second language, if it has one."""
    missing: list[MissingGlyph] = field(default_factory=list)
    """Collects characters that no face can draw, while boxes are made; a sheet with any is refused."""

    @property
    def x_height(self) -> float:
        """Height of lower-case letters in em thousandths, from which reading distances are computed."""
        return UNCASED_HEIGHT if self.uncased else self.faces.primary("Latn", self.language).x_height

    @property
    def uncased(self) -> bool:
        """Whether the language's script has no lower-case letters."""
        return self.language.split("-")[0].lower() in UNCASED

    @property
    def grow(self) -> float:
        """How much larger than Latin type this script is set, so that it is read from as far."""
        return self.faces.primary("Latn", "en").x_height / UNCASED_HEIGHT if self.uncased else 1.0

    def with_late(self, **words: str) -> Look:
        """The same look with more late slots known."""
        return replace(self, late={**self.late, **words})

    def style(self, name: str) -> Style:
        """The artifact's own style of that name, else the house's."""
        return self.layout.styles.get(name) or self.house.styles[name]

    def colour(self, name: str) -> Colour:
        """A named colour: the artifact's own, else the house's; `ink` and `paper` always exist."""
        found = self.layout.colours.get(name) or self.house.colours.get(name)
        return colour(found) if found else {"ink": BLACK, "paper": WHITE}[name]

    def size(self, name: str) -> float:
        """The size of a style: multiples of the base size, or points."""
        style = self.style(name)
        return Pt(style.size) if style.fixed else style.size

    def wording(self, pieces: tuple[Piece, ...] | Runs, name: str, ink: Colour | None = None, **more) -> Wording:
        """A paragraph in a style. `more` are fields of `Wording`."""
        style = self.style(name)
        runs = self.runs(pieces)
        paint = ink or (colour(style.colour) if style.colour else self.colour("ink"))
        other = _language(pieces)
        language, rtl = (other, written_rightward(other)) if other else (self.language, self.rtl)
        shaped = shape(runs, self.faces, language=language, bold=style.weight == "bold", rtl=rtl or None)
        self.missing.extend(shaped.missing)
        if other:
            more["language"] = other
            if rtl != self.rtl and more.get("align", "start") == "start":
                more["align"] = "end"  # each language starts where it is read from
        return Wording(shaped, self.size(name), paint, style.leading, rtl=rtl, **more)

    def runs(self, pieces: tuple[Piece, ...] | Runs) -> Runs:
        """The runs of some pieces, late slots filled."""
        runs: list[Run] = []
        for piece in pieces:
            own = piece.runs if isinstance(piece, Piece) else (piece,)
            if self.rtl and isinstance(piece, Piece) and piece.origin.kind == "word":
                own = tuple(replace(run, text=run.text.translate(TURNED)) for run in own)
            runs += own
        return _tidy(fill(tuple(runs), self._values))

    @cached_property
    def _values(self) -> Mapping[str, Runs]:
        return {name: (Run(words, isolate=True),) for name, words in self.late.items()}


def _language(pieces: tuple[Piece, ...] | Runs) -> str:
    """The edition's second language, if all words of a paragraph are in it."""
    if not any(isinstance(p, Piece) and p.language for p in pieces):
        return ""
    spoken = {
        p.language if isinstance(p, Piece) else ""
        for p in pieces
        if any(c.isalpha() for r in (p.runs if isinstance(p, Piece) else (p,)) for c in r.text)
    }
    return spoken.pop() if len(spoken) == 1 else ""


def _tidy(runs: Runs) -> Runs:
    """Without blanks at the ends and doubled between runs (a handle that said nothing leaves its blanks behind)."""
    out: list[Run] = []
    for run in runs:
        if run.text.startswith(" ") and (not out or out[-1].text.endswith(" ")):
            run = replace(run, text=run.text.lstrip(" "))
        if run.text or run.slot:
            out.append(run)
    while out and out[-1].text.endswith(" "):
        last = replace(out[-1], text=out[-1].text.rstrip(" "))
        out = [*out[:-1], last] if last.text else out[:-1]
    return tuple(out)
