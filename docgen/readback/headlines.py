"""Find where the headline of each step stands, and which number stands with it, whatever the layout.

A step is recognised by its headline together with its number, because headlines repeat (`Clean your gloves`). The
number is the one right before the headline in the stream and close to it on the sheet; else the nearest free number in
the same row before it; else whatever number precedes it in the stream.
"""

from __future__ import annotations

import re
import unicodedata
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from docgen.model.edition import Step
from docgen.readback.copy import Box
from docgen.readback.stream import NONE, Piece, Squashed, Stream, squash

LABEL = re.compile(r"([^\W\d_]{0,2}\d{1,4})[.):·•–—-]{0,2}")
"""A step's number as printed: `17`, `A1`, `17.`"""
_DIGIT = re.compile(r"\d")
_BEFORE = re.compile(LABEL.pattern + r"$")
_OPENING = re.compile(r"\D{0,12}?" + LABEL.pattern)
_KEY = 4
"""Characters by which places where a headline may begin are indexed."""
ROW_REACH = 60.0
"""Millimetres within which a number in the same row belongs to a headline."""
ABOVE = 1.5
"""Heights of a number within which it may stand above its headline."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A place where a headline's words stand."""

    start: int
    end: int
    label: str = ""
    """The number that stands with them, as printed; empty if none does."""
    label_start: int = -1
    """Where that number begins in the stream; -1 if it is not right before the headline."""
    label_at: int = -1
    """Where that number begins in the stream, wherever that is; -1 if there is none."""
    label_box: Box | None = None
    style: tuple[int, float] = (0, 0.0)
    prefix: str = ""
    """Words before the number on the same line: `go on with step`."""


def plain_label(label: str) -> str:
    """A printed number with European digits, whatever the script's own are."""
    return label if label.isascii() else _DIGIT.sub(lambda m: str(unicodedata.decimal(m[0])), label)


def spots(stream: Stream, steps: Sequence[Step]) -> dict[str, list[Spot]]:
    """Headline (squashed) → every place where it stands, with its number."""
    wanted = {squashed.text: squashed for squashed in (squash(s.headline.plain) for s in steps) if squashed.text}
    if not wanted or not stream.text:
        return {text: [] for text in wanted}
    places = _likely(stream, wanted)
    for text, squashed in wanted.items():
        if not places[text]:
            places[text] = list(stream.find(squashed))
    flat = [Spot(at, at + len(text)) for text, found in places.items() for at in found]
    labelled = {(s.start, s.end): s for s in _label(stream, sorted(flat, key=lambda s: (s.start, -s.end)))}
    return {text: [labelled[at, at + len(text)] for at in found] for text, found in places.items()}


def _likely(stream: Stream, wanted: dict[str, Squashed]) -> dict[str, list[int]]:
    """Where headlines stand at the beginning of a piece, or right after a number that begins one."""
    short = min(_KEY, min(len(text) for text in wanted))
    keys: dict[str, list[str]] = defaultdict(list)
    for text in wanted:
        keys[text[:short]].append(text)
    out: dict[str, list[int]] = {text: [] for text in wanted}
    for n, start in enumerate(stream.starts):
        end = stream.starts[n + 1] if n + 1 < len(stream.starts) else len(stream.text)
        opening = _OPENING.match(stream.text[start : min(end, start + 24)])
        for at in (start, start + opening.end()) if opening else (start,):
            for text in keys.get(stream.text[at : at + short], ()):
                whole = stream.text.startswith(text, at) and stream.edge(at) and stream.edge(at + len(text))
                if whole and at not in out[text][-1:]:
                    out[text].append(at)
    return out


@lru_cache(maxsize=4)
def labels(stream: Stream) -> dict[int, tuple[str, Piece]]:
    """Start in the stream → number and piece, of every piece that is a number and nothing else.

    Kept for the last few streams: it is asked for every step that is missing.
    """
    out = {}
    for n, start in enumerate(stream.starts):
        end = stream.starts[n + 1] if n + 1 < len(stream.starts) else len(stream.text)
        if end - start <= 8 and (m := LABEL.fullmatch(stream.text[start:end])):
            out[start] = (plain_label(m[1]), stream.pieces[n])
    return out


def _label(stream: Stream, found: list[Spot]) -> list[Spot]:
    alone = labels(stream)
    by_page: dict[int, list[int]] = defaultdict(list)
    for start, (_, piece) in alone.items():
        by_page[piece.page].append(start)
    out: list[Spot] = []
    taken: set[int] = set()
    for spot in found:
        style = stream.pieces[stream.index(spot.start)].style
        spot = replace(spot, style=style)
        before = _right_before(stream, spot)
        if before is not None:
            label, start = before
            box = stream.pieces[stream.index(start)].box
            same = stream.index(start) == stream.index(spot.start)
            if same or _beside(box, _first_line(stream, spot)):
                taken.add(start)
                spot = replace(
                    spot, label=label, label_start=start, label_at=start, label_box=box, prefix=_prefix(stream, start)
                )
        out.append(spot)
    for n, spot in enumerate(out):
        if spot.label:
            continue
        line, page = _first_line(stream, spot), stream.page_of(spot.start)
        rows = [
            (line[0] - alone[s][1].box[2], s)
            for s in by_page[page]
            if s not in taken and _same_row(alone[s][1].box, line)
        ]
        # to the left of it, or to the right of it in a mirrored sheet
        rows = [(gap if gap > -1 else alone[s][1].box[0] - line[2], s) for gap, s in rows]
        near = [(gap, s) for gap, s in rows if -1 < gap < ROW_REACH]
        if near:
            _, start = min(near)
            taken.add(start)
            adjacent = start if _right_before(stream, spot) == (alone[start][0], start) else -1
            out[n] = replace(
                spot, label=alone[start][0], label_start=adjacent, label_at=start, label_box=alone[start][1].box
            )
        elif (before := _right_before(stream, spot)) is not None and before[1] not in taken:
            label, start = before
            box = stream.pieces[stream.index(start)].box
            out[n] = replace(
                spot, label=label, label_start=start, label_at=start, label_box=box, prefix=_prefix(stream, start)
            )
    return out


def _right_before(stream: Stream, spot: Spot) -> tuple[str, int] | None:
    """The number that ends right before the headline, and where it begins."""
    m = _BEFORE.search(stream.text, max(0, spot.start - 8), spot.start)
    while m is not None:
        whole = stream.gaps[m.start() + 1 : m.start() + len(m[1])].strip(NONE) == ""
        if whole and stream.edge(m.start()):
            return plain_label(m[1]), m.start()
        m = _BEFORE.search(stream.text, m.start() + 1, spot.start)
    return None


def _prefix(stream: Stream, start: int) -> str:
    """Letters before `start` on its line."""
    back = start
    while (
        back > 0
        and start - back < 24
        and stream.gaps[back] != "2"
        and back > stream.page_ends[stream.page_of(start)][0]
    ):
        back -= 1
    return "".join(ch for ch in stream.text[back:start] if ch.isalpha()).casefold()


def _first_line(stream: Stream, spot: Spot) -> Box:
    return stream.pieces[stream.index(spot.start)].box


def _same_row(label: Box, line: Box) -> bool:
    overlap = min(label[3], line[3]) - max(label[1], line[1])
    return overlap > 0.4 * min(label[3] - label[1], line[3] - line[1])


def _beside(label: Box, line: Box) -> bool:
    """Whether a number stands with a headline: in its row, or right above it."""
    if _same_row(label, line):
        return True
    above = line[1] - label[3]
    return -0.5 <= above <= ABOVE * (label[3] - label[1]) and label[0] <= line[2] and label[2] >= line[0] - ROW_REACH


def usual(found: Iterable[Spot]) -> tuple[tuple[int, float], str]:
    """The commonest style and prefix of numbered headlines."""
    many = list(found)
    style = Counter(s.style for s in many).most_common(1)
    prefix = Counter(s.prefix for s in many).most_common(1)
    return (style[0][0] if style else (0, 0.0)), (prefix[0][0] if prefix else "")
