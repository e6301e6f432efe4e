"""Turn the runs of a whole file into one stream of characters without white space, and find words in it.

White space on a sheet is a matter of layout, so words are compared without it; where it stood is kept beside the
characters, so that words run together or torn apart are noticed all the same.
"""

from __future__ import annotations

import re
import unicodedata
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from docgen.readback.copy import Box, Copy, Page, Run

NONE, SPACE, LINE = "0", "1", "2"
"""What stands before a character: nothing, white space, a new line (or column, or page)."""

BREAKS_AFTER = "-‐–—−/…"
"""Characters after which a line may end where the words have no space (UAX #14 classes HY, BA, B2, SY)."""

UNSPACED = ("zh", "ja", "th", "km", "lo", "my")
"""Languages written without spaces between words: a line may end anywhere."""

UNPARTED = re.compile("[\u0e00-\u0eff\u1000-\u109f\u1780-\u17ff\u3000-\u30ff\u3400-\u9fff\uff00-\uffef]")
"""Letters and signs of scripts that do not part words by blanks, wherever they stand."""
RIGHT_TO_LEFT = ("ar", "he", "fa", "ur", "ps", "sd", "ug", "yi", "dv")

_PARTED = re.compile(f"[{SPACE}{LINE}]")
_INVISIBLE = dict.fromkeys(
    [0x00AD, 0x200B, 0x200C, 0x200D, 0x200E, 0x200F, 0x2060, 0xFEFF, *range(0x202A, 0x202F), *range(0x2066, 0x206A)]
)
_LIGATURES = {0xFB00: "ff", 0xFB01: "fi", 0xFB02: "fl", 0xFB03: "ffi", 0xFB04: "ffl", 0xFB05: "st", 0xFB06: "st"}
FOLD = {**_INVISIBLE, **_LIGATURES}
"""Characters that are not compared, and ligatures taken apart."""


@dataclass(frozen=True, slots=True)
class Squashed:
    """Characters without white space, and what stood before each of them."""

    text: str
    gaps: str


@lru_cache(maxsize=4096)
def squash(words: str) -> Squashed:
    """In Unicode NFC, without white space, invisible characters and Latin ligatures.

    Remembered: the texts of an edition are looked for in every file of it, several times.
    """
    parts = unicodedata.normalize("NFC", words.translate(FOLD)).split()
    return Squashed("".join(parts), "".join(SPACE + NONE * (len(p) - 1) for p in parts))


def folded(words: str) -> str:
    """The words with single spaces, in Unicode NFC."""
    return " ".join(unicodedata.normalize("NFC", words.translate(FOLD)).split())


@dataclass(frozen=True, slots=True)
class Piece:
    """A part of the stream that stands in one place."""

    page: int
    """Index into the pages of the copy."""
    text: str
    runs: tuple[Run, ...]
    box: Box

    @property
    def style(self) -> tuple[int, float]:
        """Face and size, of its first run."""
        return (self.runs[0].face, round(self.runs[0].size * 4) / 4)


class Stream:
    """All words of a copy in the order in which it says them."""

    def __init__(self, pieces: list[Piece], unspaced: bool = False) -> None:
        self.pieces = pieces
        self.unspaced = unspaced
        self.starts: list[int] = []
        texts: list[str] = []
        gaps: list[str] = []
        at = 0
        before: Piece | None = None
        kept: list[Piece] = []
        for piece in pieces:
            squashed = squash(piece.text)
            if not squashed.text:
                continue
            self.starts.append(at)
            kept.append(piece)
            texts.append(squashed.text)
            gaps.append(_gap(before, piece) + squashed.gaps[1:])
            at += len(squashed.text)
            before = piece
        self.pieces = kept
        self.text = "".join(texts)
        self.gaps = "".join(gaps)
        self.page_ends = self._page_ends()

    def _page_ends(self) -> dict[int, tuple[int, int]]:
        """Page index → its part of the stream."""
        out: dict[int, tuple[int, int]] = {}
        for n, piece in enumerate(self.pieces):
            end = self.starts[n + 1] if n + 1 < len(self.starts) else len(self.text)
            out[piece.page] = (out.get(piece.page, (self.starts[n], 0))[0], end)
        return out

    def index(self, at: int) -> int:
        """Index of the piece that has character `at`."""
        return max(0, bisect_right(self.starts, at) - 1)

    def begins(self, at: int) -> bool:
        """Whether a piece begins with character `at`."""
        return bool(self.starts) and self.starts[self.index(at)] == at

    def page_of(self, at: int) -> int:
        """Index of the page that has character `at`."""
        return self.pieces[self.index(at)].page if self.pieces else 0

    def within(self, start: int, end: int) -> list[Piece]:
        """The pieces that have characters of [start, end)."""
        return self.pieces[self.index(start) : self.index(max(start, end - 1)) + 1] if end > start else []

    def box(self, start: int, end: int) -> Box:
        """Around the pieces of [start, end) that stand on the page of its first."""
        pieces = self.within(start, end)
        return around([p.box for p in pieces if p.page == pieces[0].page])

    def find(self, words: Squashed, start: int = 0, end: int | None = None) -> Iterator[int]:
        """Where the words stand as whole words in [start, end), in order."""
        if not words.text:
            return
        limit = len(self.text) if end is None else end
        at = self.text.find(words.text, start, limit)
        while at >= 0:
            if self.edge(at) and self.edge(at + len(words.text)):
                yield at
            at = self.text.find(words.text, at + 1, limit)

    def edge(self, at: int) -> bool:
        """Whether a word may begin or end before character `at`."""
        if at <= 0 or at >= len(self.text) or self.gaps[at] != NONE:
            return True
        return not (self.text[at].isalnum() and self.text[at - 1].isalnum())

    def badly_spaced(self, words: Squashed, at: int) -> int:
        """First offset in the words, from 1, before which white space is lost or too much; 0 if all is well."""
        here = self.gaps[at + 1 : at + len(words.text)]
        there = words.gaps[1:]
        if here.replace(LINE, SPACE) == there:
            return 0
        for n, (sheet, source) in enumerate(zip(here, there, strict=True), 1):
            if sheet == NONE and source == SPACE:
                return n
            if source == NONE and (sheet == SPACE or (sheet == LINE and not self._may_break(at + n))):
                return n
        return 0

    def _may_break(self, at: int) -> bool:
        return self.unspaced or self.text[at - 1] in BREAKS_AFTER or UNPARTED.match(self.text[at - 1]) is not None

    def words(self, start: int, end: int) -> str:
        """Readable words of [start, end)."""
        return " ".join(self.text[a:b] for a, b in self._cuts(start, end))

    def tokens(self, start: int, end: int) -> list[tuple[str, int, int]]:
        """Words of [start, end) with where they begin and end."""
        return [(self.text[a:b], a, b) for a, b in self._cuts(start, end)]

    def _cuts(self, start: int, end: int) -> Iterator[tuple[int, int]]:
        """Stretches of [start, end) without white space before a character but their first."""
        cuts = [start, *(m.start() for m in _PARTED.finditer(self.gaps, start + 1, end)), min(end, len(self.text))]
        return ((a, b) for a, b in pairwise(cuts) if b > a)


def _gap(before: Piece | None, piece: Piece) -> str:
    if before is None:
        return LINE
    a, b = before.runs[-1], piece.runs[0]
    if before.page != piece.page or abs(a.baseline - b.baseline) > 0.1 * min(a.size, b.size):
        return LINE
    if b.box[0] < a.box[0] and not (b.box[2] > a.box[0]):
        return LINE  # the same height, but further to the left: another column
    if before.text[-1:].isspace() or piece.text[:1].isspace():
        return SPACE
    return SPACE if b.box[0] - a.box[2] > 0.2 * a.size / 72 * 25.4 else NONE


def around(boxes: list[Box]) -> Box:
    """The box around boxes."""
    return (
        min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)
    )  # fmt: skip


def stream_of(copy: Copy, language: str) -> Stream:
    """The stream of a copy in a language: what is drawn, or for right-to-left languages what its structure says.

    Glyphs of right-to-left words are drawn from left to right, and no reader gets mixed lines back in order; there the
    exact words come from the structure, and `tags` proves that they are the words drawn.
    """
    bases = [tag.split("-")[0].lower() for tag in language.split("+")]
    rightward = any(base in RIGHT_TO_LEFT for base in bases)
    pieces: list[Piece] = []
    for n, page in enumerate(copy.pages):
        spoken = spoken_by(page) if rightward else {}
        done: set[str] = set()
        for run in page.runs:
            actual = spoken.get(run.mcid)
            if actual is None:
                pieces.append(Piece(n, run.text, (run,), run.box))
            elif actual[0] not in done:
                done.add(actual[0])
                runs = tuple(r for r in page.runs if r.mcid in actual[2])
                pieces.append(Piece(n, actual[1], runs, around([r.box for r in runs])))
    return Stream(pieces, bases[0] in UNSPACED)


def spoken_by(page: Page) -> dict[int, tuple[str, str, tuple[int, ...]]]:
    """Marked content → the element that gives exact words for it: its key, the words, all its marked content."""
    out: dict[int, tuple[str, str, tuple[int, ...]]] = {}
    for n, element in enumerate(page.elements):
        if element.actual:
            for mcid in element.mcids:
                out.setdefault(mcid, (str(n), element.actual, element.mcids))
    return out
