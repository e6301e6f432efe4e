"""The poster: one sheet, steps in columns, the largest type at which everything fits."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial

from docgen.findings import Finding, error
from docgen.model.block import Composition
from docgen.model.edition import Edition
from docgen.model.sheet import MM, Bookmark, Document
from docgen.typeset.boxes import Painter
from docgen.typeset.fitting import greatest
from docgen.typeset.flow import Placed, Unit, fill, measured, overfull, spread, within
from docgen.typeset.frame import Area, Frame, Paper, area, paint_foot, paint_frame, sheet_of
from docgen.typeset.look import Look
from docgen.typeset.matter import units
from docgen.typeset.parts import Plan

RATIO = 200
"""Reading distance over letter height: FAA Human Factors Design Standard's 1/200, 17 minutes of arc; applied to the
x-height, which is the careful reading of it."""

PLAN = Plan(number=2.05, figure=3.0, gap=0.3)
FIGURE = 1.14
"""Width of a figure over its height."""
GAP, LEAD_GAP, HEAD_GAP = 0.66, 1.0, 0.75
MEASURE = 6.8
"""Base sizes that a headline's column is wide at least: narrower ones set one word a line."""
CALM = 0.94
"""Share of the best size that is enough for a smaller number of columns."""


def distance_of(size: float, look: Look) -> float:
    """Metres from which text of `size` points is readable, rounded down to 0.05 m."""
    x_height = look.x_height * size / 1000 / MM
    return math.floor(x_height * RATIO / 1000 * 20 + 1e-6) / 20


def place(
    composition: Composition, edition: Edition, look: Look, paper: Paper, distance: float
) -> tuple[Document | None, tuple[Finding, ...]]:
    """Fit the poster on `paper`. Errors: it does not fit, or it fits only in type too small for `distance` metres."""
    look = look.with_late(distance="8.88")
    matter = units(composition, look, PLAN)
    frame = Frame(composition, edition, look, paper)
    least, most = (size * look.grow for size in paper.spec.base or look.layout.base)
    fewest, most_columns = paper.spec.columns
    tried: list[tuple[int, float]] = []
    for n in range(fewest, most_columns + 1):
        # more columns are of interest only if they allow a larger size than fewer do
        best = tried[-1][1] if tried else None
        larger = greatest(least, most, partial(_fits, matter, frame, n), beyond=best)
        if larger is not None:
            tried.append((n, larger))
    if not tried:
        return None, tuple(_problems(matter, frame, least, fewest, composition.artifact))
    # fewer, wider columns read more calmly: more of them must buy a clearly larger size
    count, size = next((n, s) for n, s in tried if s >= tried[-1][1] * CALM)
    reach = distance_of(size * look.size("headline"), look)
    if reach < distance - 1e-9:
        return None, (
            error(
                "typeset/too-small-for-its-distance",
                f"the poster on {paper.name} is readable from {reach:g} m only, but must be from {distance:g} m",
                artifact=composition.artifact,
                hint="shorten the longest headlines and cautions (" + ", ".join(_longest(edition)) + ")",
            ),
        )
    frame = Frame(composition, edition, look.with_late(distance=f"{reach:g}"), paper)
    return _paint(units(composition, frame.look, PLAN), frame, size, count, edition), ()


def _fits(matter: list[Unit], frame: Frame, count: int, s: float) -> bool:
    return _columns(matter, frame, s, count) is not None


def _longest(edition: Edition) -> list[str]:
    by_length = sorted(edition.steps, key=lambda s: -len(s.headline.plain))
    return [f"step {s.label}: {len(s.headline.plain)} characters" for s in by_length[:3]]


def _column_width(paper: Paper, count: int) -> float:
    return (paper.inner - (count - 1) * paper.spec.gutter * MM) / count


def _room(frame: Frame, s: float, count: int) -> tuple[Area, float]:
    """The room of a column, and what the square code takes from the last one."""
    whole = area(frame, s, gap=HEAD_GAP * s)
    side = (frame.paper.spec.code or 0) * MM
    foot = frame.foot_text().height(frame.paper.inner - side, s)
    return Area(whole.top, whole.height + max(0.0, side - foot)), max(0.0, side - foot)


def _columns(
    matter: list[Unit], frame: Frame, s: float, count: int, shorter: float = 0.0, heights: list[float] | None = None
) -> list[list[Placed]] | None:
    whole, corner = _room(frame, s, count)
    width = _column_width(frame.paper, count)
    if whole.height - shorter <= 0 or width < (PLAN.number + PLAN.figure * FIGURE + 0.6 + MEASURE) * s:
        return None
    room = lambda n: whole.height - max(shorter, corner if n == count - 1 else 0.0)
    heights = heights or within(matter, width, s, whole.height * count + 1)
    if heights is None:
        return None
    columns = fill(matter, room, width, s, GAP * s, LEAD_GAP * s, heights)
    if len(columns) > count or overfull(columns, room):
        return None
    return columns


def _paint(matter: list[Unit], frame: Frame, s: float, count: int, edition: Edition) -> Document:
    paper, look = frame.paper, frame.look
    whole, corner = _room(frame, s, count)
    width = _column_width(paper, count)
    heights = measured(matter, width, s)
    # even columns: the greatest shortening that still fits
    short = greatest(0, max(0.25, whole.height), lambda cut: bool(_columns(matter, frame, s, count, cut, heights)))
    columns = _columns(matter, frame, s, count, short or 0.0, heights) or []
    on = Painter(look.rtl)
    on.sheet(paper.width)
    on.open("Document")
    paint_frame(frame, on, s, 1, 1)
    for n, column in enumerate(columns):
        x = paper.margin + n * (width + paper.spec.gutter * MM)
        room = whole.height - (corner if n == count - 1 else 0.0)
        for placed in spread(column, room, 0.8 * s):
            if placed.unit.lead and placed.unit.section and not placed.unit.branch:
                on.bookmarks.append(Bookmark(placed.unit.section, 0, whole.top + placed.y))
            placed.unit.box.paint(on, x, whole.top + placed.y, width, s)
    paint_foot(frame, on, s, 1, 1)
    on.close()
    return Document(
        edition.title.plain, edition.language, look.rtl, (sheet_of(on, 0, paper),), tuple(on.tags), tuple(on.bookmarks)
    )


def _problems(matter: list[Unit], frame: Frame, s: float, count: int, artifact: str) -> Iterator[Finding]:
    width = _column_width(frame.paper, count)
    words = [(u, m) for u in matter for m in u.box.misfits(width, s)]
    words += [(Unit(frame.head()), m) for m in frame.head().misfits(frame.paper.inner, s)]
    for unit, m in words:
        yield error(
            "typeset/word-too-wide",
            f"`{m.word[:60]}` needs {(m.width - m.room) / MM:.1f} mm more width on {frame.paper.name} at {s:g} points",
            step=unit.step,
            artifact=artifact,
            hint="use a shorter word, fewer columns or a larger sheet",
        )
    if words:
        return
    whole, _ = _room(frame, s, count)
    columns = fill(matter, lambda _: whole.height, width, s, GAP * s, LEAD_GAP * s)
    over = sum(c[-1].y + c[-1].height for c in columns[count:])
    over += sum(missing for _, missing in overfull(columns, lambda _: whole.height))
    last = columns[count][0].unit if len(columns) > count else columns[-1][-1].unit
    yield error(
        "typeset/does-not-fit",
        f"the poster does not fit on {frame.paper.name}: {over / MM:.0f} mm of column are missing at {s:g} points",
        step=last.step,
        artifact=artifact,
        hint="shorten headlines or cautions",
    )
