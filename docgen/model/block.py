"""What a template says, before anybody knows where it goes: a small closed set of blocks.

A template is Markdown with Jinja2. It never handles authored words themselves: `{{ step.say }}` puts down an opaque
handle, which becomes a `Piece` with its origin after the Markdown skeleton has been parsed. So authored text is parsed
once, and every block knows which step, caution or branch it speaks for.
"""

from __future__ import annotations

from dataclasses import dataclass

from docgen.model.text import Runs

BESIDE = "-beside"
"""Ends the field of an origin whose words are in the edition's second language: `say-beside`."""


@dataclass(frozen=True, slots=True)
class Origin:
    """What a piece of text is: `Origin("step", "outer-gloves-off", "say")`."""

    kind: str
    """`step`, `caution`, `branch`, `phase`, `edition`, `role`, `stamp`, `word` (the template's own), or a thing: `box`,
    `figure`, `mark`, `symbol`, `code`."""
    ref: str = ""
    field: str = ""
    step: str = ""
    """The step this speaks for (a caution belongs to the step it is printed before)."""
    branch: str = ""
    """The branch this speaks for, when it is inside one."""


@dataclass(frozen=True, slots=True)
class Piece:
    """Some runs with where they came from."""

    runs: Runs
    origin: Origin
    key: str = ""
    """Translation key; empty for a template's own Markdown text."""
    language: str = ""
    """The second language of the edition, for its words; empty for the edition's own."""


@dataclass(frozen=True, slots=True)
class Para:
    """A paragraph. `level` 1–4 for a heading, 0 otherwise."""

    pieces: tuple[Piece, ...]
    level: int = 0

    @property
    def origin(self) -> Origin:
        """That of the first piece which is not the template's own wording."""
        return next((p.origin for p in self.pieces if p.origin.kind != "word"), Origin("word"))

    @property
    def role(self) -> str:
        """`step.say`, `caution.signal`, `word`: what layouts give a style to."""
        o = self.origin
        return f"{o.kind}.{o.field}" if o.field else o.kind


@dataclass(frozen=True, slots=True)
class Panel:
    """A block quotation: a caution, or a branch."""

    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Items:
    """A list."""

    items: tuple[tuple[Block, ...], ...]
    ordered: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of cells; the header repeats on every page."""

    header: tuple[Para, ...]
    rows: tuple[tuple[Para, ...], ...]


@dataclass(frozen=True, slots=True)
class Break:
    """A horizontal rule of Markdown: a new section of the sheet (the layout says what that means)."""


Block = Para | Panel | Items | Table | Break


@dataclass(frozen=True, slots=True)
class Composition:
    """One artifact in words: its named parts, each a run of blocks.

    `main` flows over the sheets; `head`, `stamp` and `band` (drafts only) are repeated on every sheet or card side and
    may hold the late slots `sheet`, `sheets`, `distance` and `section`, which placing fills.
    """

    artifact: str
    parts: tuple[tuple[str, tuple[Block, ...]], ...]

    def part(self, name: str) -> tuple[Block, ...]:
        """The blocks of a part; empty if the template has none."""
        return dict(self.parts).get(name, ())
