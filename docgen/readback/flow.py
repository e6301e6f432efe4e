"""What was found of an edition in a copy's stream, and how it is looked for: a place there is one text's only."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

from docgen.findings import Finding, Note, Where, error
from docgen.readback.closest import closest, difference
from docgen.readback.headlines import Spot
from docgen.readback.stream import Squashed, Stream, squash
from docgen.readback.wanted import Wanted, WantedStep

MOST_COMPARED = 60
"""Texts that are not found for which the closest words are looked up; the comparison is slow."""


@dataclass(frozen=True, slots=True)
class Head:
    """A step's headline where it stands."""

    wanted: WantedStep
    spot: Spot

    @property
    def begins(self) -> int:
        """Where the step begins in the stream: its number, if that stands right before its headline."""
        return self.spot.label_start if self.spot.label_start >= 0 else self.spot.start


@dataclass(frozen=True, slots=True)
class Found:
    """A text of the edition where it stands in the stream."""

    what: str
    start: int
    end: int
    step: str = ""
    caution: str = ""


@dataclass(slots=True)
class Flow:
    """What was found of the edition, and what is wrong with it."""

    stream: Stream
    file: str
    numbers: tuple[int, ...]
    """Pages of the file, by index of the pages of the copy: of an imposed file the pages of the copy are card sides."""
    heads: list[Head] = field(default_factory=list)
    """In stream order."""
    found: list[Found] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    _compared: int = 0
    _taken: dict[int, list[tuple[int, int]]] = field(default_factory=lambda: defaultdict(list))

    @property
    def comparing(self) -> bool:
        """Whether the closest words are still looked up."""
        return self._compared < MOST_COMPARED

    def take(self, what: str, start: int, end: int, step: str = "", caution: str = "") -> Found:
        """Note that [start, end) is that text, so that no other text is seen in it."""
        found = Found(what, start, end, step, caution)
        self.found.append(found)
        for block in range(start >> 8, (end >> 8) + 1):
            self._taken[block].append((start, end))
        return found

    def free(self, start: int, end: int) -> bool:
        """Whether no text was seen in [start, end)."""
        blocks = range(start >> 8, (end >> 8) + 1)
        return not any(a < end and start < b for block in blocks for a, b in self._taken.get(block, ()))

    def where(self, at: int | None = None, end: int | None = None) -> Where:
        """A place on the sheet for a place in the stream."""
        if at is None or not self.stream.pieces:
            return Where(self.file)
        box = self.stream.box(at, end or at + 1)
        return Where(self.file, page=self.numbers[self.stream.page_of(at)], box=box)

    def say(self, rule: str, message: str, where: Where | None = None, **more) -> None:
        """Add an error."""
        self.findings.append(error(rule, message, where or Where(self.file), **more))

    def rest(self, page: int) -> str:
        """The words of a page (index) that are none of the texts found, each stretch on a line of its own."""
        start, end = self.stream.page_ends.get(page, (0, 0))
        out = []
        blocks = range(start >> 8, (end >> 8) + 1)
        near = {span for block in blocks for span in self._taken.get(block, ())}
        for a, b in sorted(span for span in near if span[0] < end and span[1] > start):
            if a > start:
                out.append(self.stream.words(start, a))
            start = max(start, b)
        out.append(self.stream.words(start, end))
        return "\n".join(out)

    def search(self, text: str, start: int, end: int) -> int | None:
        """Where a text stands in [start, end) and nothing else was seen."""
        squashed = squash(text)
        size = len(squashed.text)
        places = [at for at in self.stream.find(squashed, start, end) if self.free(at, at + size)]
        # a paragraph of its own, rather than the same words at the end of another
        return next((at for at in places if self.stream.begins(at)), places[0] if places else None)

    def place(self, wanted: Wanted, start: int, end: int, step: str = "", caution: str = "") -> Found | None:
        """Find a text in [start, end), take it, and check the white space in it."""
        squashed = squash(wanted.text.plain)
        at = self.search(wanted.text.plain, start, end)
        if at is None:
            return None
        self.spacing(wanted.what, squashed, at, step)
        return self.take(wanted.what, at, at + len(squashed.text), step, caution)

    def spacing(self, what: str, squashed: Squashed, at: int, step: str) -> None:
        """Check the white space in a text that stands at `at`."""
        if wrong := self.stream.badly_spaced(squashed, at):
            context = self.stream.words(max(at, at + wrong - 12), min(at + len(squashed.text), at + wrong + 12))
            self.say(
                "readback/words-run-together",
                f"the white space of the {what} is not that of the source: `{context}`",
                self.where(at + wrong),
                step=step,
                hint="look at how the line is put together or broken there",
            )

    def lacking(
        self, wanted: Wanted, start: int, end: int, missing: str, hint: str, step: str = "", source: Where = Where()
    ):
        """Say that a text is not in [start, end): altered, if something close to it is there, else missing."""
        if not self.altered(wanted, start, end, step, source):
            message = f"the {wanted.what} `{wanted.text.plain}` is not on the sheet"
            self.say(missing, message, step=step, hint=hint, notes=_from(source))

    def altered(self, wanted: Wanted, start: int, end: int, step: str = "", source: Where = Where()) -> bool:
        """Say that a text is altered, and whether anything close to it is there at all."""
        like = None
        if self.comparing:
            self._compared += 1
            for low, high in ((start, end), (0, len(self.stream.text))):
                like = like or closest(wanted.text.plain, self.stream, low, high, self.free)
        if like is None:
            return False
        rule, why = difference(wanted.text.plain, like.words)
        self.say(
            rule,
            f"the {wanted.what} reads `{like.words}` instead of `{wanted.text.plain}` ({why})",
            self.where(like.start, like.end),
            step=step,
            hint="print the words of the source unchanged",
            notes=_from(source),
        )
        return True


def _from(source: Where) -> tuple[Note, ...]:
    return (Note("as the source has it", source),) if source != Where() else ()
