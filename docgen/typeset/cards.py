"""Cards: a numbered set, two sides each, a step never split; also imposed on press sheets for duplex printing."""

from __future__ import annotations

from dataclasses import replace

from docgen.findings import Finding, error
from docgen.model.block import Composition
from docgen.model.edition import Edition
from docgen.model.layout import SIZES
from docgen.model.sheet import MM, Bookmark, Document, Mark, Shape, Sheet
from docgen.typeset.boxes import Nothing, Painter, Pt
from docgen.typeset.fitting import greatest
from docgen.typeset.flow import Placed, Unit, fill, overfull, spread
from docgen.typeset.frame import Frame, Paper, area, paint_foot, paint_frame
from docgen.typeset.look import Look
from docgen.typeset.matter import units
from docgen.typeset.parts import Plan

PLAN = Plan(number=1.75, figure=4.0, gap=0.22)
GAP, LEAD_GAP, HEAD_GAP = 0.5, 0.5, 0.45
CODE = "code"
"""Marks the unit that holds a card set's only square code."""
PRESS_GAP = 5.0
"""Millimetres between cards on a press sheet."""
PRESS_MARGIN = 8.0
"""Millimetres a press sheet keeps free at its edges (printers' own margins are 4–6 mm, from memory)."""


def place(
    composition: Composition, edition: Edition, look: Look, paper: Paper
) -> tuple[Document | None, tuple[Finding, ...]]:
    """Place the set on as few sides as the least type size needs, in the greatest size that needs no more."""
    matter = units(composition, look, PLAN)
    if paper.spec.code_once:
        matter.append(Unit(Nothing(Pt(paper.spec.code_once * MM)), branch=CODE))
    frame = Frame(composition, edition, look, paper)
    least, most = (size * look.grow for size in paper.spec.base or look.layout.base)
    sides = _sides(matter, frame, least)
    problems = tuple(_problems(sides, frame, least))
    if problems:
        return None, problems
    size = greatest(least, most, lambda s: _fits(matter, frame, s, len(sides))) or least
    return _paint(_sides(matter, frame, size), frame, size, edition), ()


def _room(frame: Frame, s: float) -> float:
    return area(frame, s, gap=HEAD_GAP * s).height


def _sides(matter: list[Unit], frame: Frame, s: float) -> list[list[Placed]]:
    room = _room(frame, s)
    return fill(matter, lambda _: room, frame.paper.inner, s, GAP * s, LEAD_GAP * s)


def _fits(matter: list[Unit], frame: Frame, s: float, count: int) -> bool:
    room = _room(frame, s)
    sides = _sides(matter, frame, s)
    return room > 0 and len(sides) <= count and not overfull(sides, lambda _: room)


def _problems(sides: list[list[Placed]], frame: Frame, s: float):
    room = _room(frame, s)
    for side in sides:
        for placed in side:
            for m in placed.unit.box.misfits(frame.paper.inner, s):
                yield error(
                    "typeset/word-too-wide",
                    f"`{m.word[:60]}` needs {(m.width - m.room) / MM:.1f} mm more width on a {frame.paper.name} card",
                    step=placed.unit.step,
                    artifact="cards",
                    hint="use a shorter word or a larger card",
                )
                return
    for unit, missing in overfull(sides, lambda _: room):
        yield error(
            "typeset/does-not-fit",
            f"this step with its cautions needs {missing / MM:.0f} mm more than one side of a {frame.paper.name} card",
            step=unit.step or unit.branch,
            artifact="cards",
            hint="shorten its headline or cautions, or choose a larger card",
        )


def _paint(sides: list[list[Placed]], frame: Frame, s: float, edition: Edition) -> Document:
    paper, look = frame.paper, frame.look
    on = Painter(look.rtl)
    count = len(sides)
    late = [{"card": str(n // 2 + 1), "cards": str((count + 1) // 2)} for n in range(count)]
    frames = [replace(frame, look=look.with_late(**words)) for words in late]
    sections = [next((p.unit.section for p in side if p.unit.section), "") for side in sides]
    on.open("Document")
    for n, (side, here) in enumerate(zip(sides, frames, strict=True)):
        on.sheet(paper.width)
        paint_frame(here, on, s, n + 1, count, sections[n])
        whole = area(here, s, gap=HEAD_GAP * s)
        for placed in spread(side, whole.height, 0.55 * s):
            if placed.unit.lead and placed.unit.section and not placed.unit.branch:
                on.bookmarks.append(Bookmark(placed.unit.section, n, whole.top + placed.y))
            box = placed.unit.box
            if placed.unit.branch == CODE:
                box = here.code(n + 1, count, placed.height)
            box.paint(on, paper.margin, whole.top + placed.y, paper.inner, s)
    for n, here in enumerate(frames):
        paint_foot(here, on, s, n + 1, count, sections[n])
    on.close()
    sheets = tuple(Sheet(paper.width, paper.height, tuple(marks)) for marks in on.sheets)
    return Document(edition.title.plain, edition.language, look.rtl, sheets, tuple(on.tags), tuple(on.bookmarks))


def impose(cards: Document, press: str) -> Document | None:
    """The set on press sheets: fronts, then backs mirrored for a turn over the long edge. None if not one card fits."""
    width, height = (v * MM for v in SIZES[press])
    card_w, card_h = cards.sheets[0].width, cards.sheets[0].height
    gap, margin = PRESS_GAP * MM, PRESS_MARGIN * MM
    across, down = (
        int((room - 2 * margin + gap) // (size + gap)) for room, size in ((width, card_w), (height, card_h))
    )
    if across < 1 or down < 1:
        return None
    left = (width - across * card_w - (across - 1) * gap) / 2
    top = (height - down * card_h - (down - 1) * gap) / 2
    sides = list(cards.sheets)
    pairs = [(sides[n], sides[n + 1] if n + 1 < len(sides) else None) for n in range(0, len(sides), 2)]
    out: list[Sheet] = []
    moved: dict[int, tuple[int, float]] = {}
    for start in range(0, len(pairs), across * down):
        group = pairs[start : start + across * down]
        for back in (False, True):
            marks: list[Mark] = []
            for n, pair in enumerate(group):
                column, row = n % across, n // across
                column = across - 1 - column if back != cards.rtl else column
                x, y = left + column * (card_w + gap), top + row * (card_h + gap)
                side = pair[1] if back else pair[0]
                if side is not None:
                    moved[(start + n) * 2 + back] = (len(out), y)
                    marks += [_moved(mark, x, y) for mark in side.marks]
                marks += _crop_marks(x, y, card_w, card_h)
            out.append(Sheet(width, height, tuple(marks)))
    places = [(b, *moved[b.sheet]) for b in cards.bookmarks]
    bookmarks = tuple(replace(b, sheet=sheet, y=b.y + y) for b, sheet, y in places)
    return replace(cards, sheets=tuple(out), bookmarks=bookmarks)


def _moved(mark: Mark, dx: float, dy: float) -> Mark:
    if isinstance(mark, Shape):
        path = tuple((op, tuple(v + (dy if n % 2 else dx) for n, v in enumerate(args))) for op, args in mark.path)
        return replace(mark, path=path)
    return replace(mark, x=mark.x + dx, y=mark.y + dy)


def _crop_marks(x: float, y: float, w: float, h: float) -> list[Shape]:
    """Four corners, two short lines each, standing off the card by half a millimetre."""
    off, long = 0.5 * MM, 1.8 * MM
    out = []
    for cx, sx in ((x, -1), (x + w, 1)):
        for cy, sy in ((y, -1), (y + h, 1)):
            out.append(
                Shape(
                    (("M", (cx + sx * off, cy)), ("L", (cx + sx * (off + long), cy))), stroke=(0.0, 0.0, 0.0), width=0.4
                )
            )
            out.append(
                Shape(
                    (("M", (cx, cy + sy * off)), ("L", (cx, cy + sy * (off + long)))), stroke=(0.0, 0.0, 0.0), width=0.4
                )
            )
    return out
