"""Scripts, checklists and notices: pages with a fixed type size, steps never split."""

from __future__ import annotations

from dataclasses import replace

from docgen.findings import Finding, error, warning
from docgen.model.block import Composition, Table
from docgen.model.edition import Edition
from docgen.model.sheet import MM, Bookmark, Document
from docgen.model.text import Run
from docgen.typeset.boxes import Box, Misfit, Nothing, Painter, Pt, Row
from docgen.typeset.fitting import greatest
from docgen.typeset.flow import Placed, Unit, fill, overfull, spread
from docgen.typeset.frame import Frame, Paper, area, paint_foot, paint_frame, sheet_of
from docgen.typeset.look import Look
from docgen.typeset.matter import units
from docgen.typeset.parts import Plan

ASIDE = frozenset(
    ("step.do", "step.watch", "step.done-when", "step.seconds", "step.clock", "role.name", "step.actor", "figure.")
)
"""What the observer does not speak stands to the side, so that nobody reads it out by mistake."""
PLANS = {
    "script": Plan(number=2.3, figure=3.2, figure_at="under", gap=0.36, side=19.0, aside=ASIDE),
    "checklist": Plan(
        number=1.9, figure=3.25, figure_at="end", gap=0.3, choices=4.7, comment=8.5, written=1.74, field=1.3
    ),
    "notice": Plan(number=2.0, gap=0.4, grid="even"),
    "approval": Plan(figure=9.0, gap=0.4, grid="fitted", field=1.6),
    "round": Plan(number=2.3, figure=4.2, gap=0.34, field=1.15),
    "pack": Plan(gap=0.4, grid="fitted", field=1.6),
}
GAPS = {
    "script": (1.15, 1.3), "checklist": (0.6, 0.9), "notice": (0.7, 1.0), "approval": (0.5, 1.4), "round": (0.2, 1.0),
    "pack": (0.5, 1.1),
}  # fmt: skip
"""Artifact → gap between units, and before a heading, in base sizes."""
HEAD_GAP = 0.9


def place(
    composition: Composition,
    edition: Edition | None,
    look: Look,
    paper: Paper,
    *,
    single: bool = False,
    title: str = "",
) -> tuple[Document | None, tuple[Finding, ...]]:
    """Place on as many pages as needed; `single`: on one, at the greatest size that fits, or if none fits on more.

    Without an edition: the sheet has a `title` of its own.
    """
    plan = _numbered(PLANS[composition.artifact], edition, look)
    matter = units(composition, look, plan) + units(composition, look, plan, "end")
    frame = Frame(composition, edition, look, paper, _columns(composition, look, plan))
    least, most = (size * look.grow for size in paper.spec.base or look.layout.base)
    size: float | None = least
    if single:
        size = greatest(least, most, lambda s: _fits_one(matter, frame, s))
    pages = _pages(matter, frame, size or least)
    problems = list(_problems(pages, frame, size or least, composition.artifact))
    if problems:
        return None, tuple(problems)
    said = () if size or edition is None else (_long(len(pages), frame, composition.artifact),)
    return _paint(pages, frame, size or least, edition.title.plain if edition else title), said


def _numbered(plan: Plan, edition: Edition | None, look: Look) -> Plan:
    """The plan, its column of step numbers as wide as the longest of them: a protocol may have hundreds of steps."""
    steps = edition.all_steps() if edition else ()
    longest = max((step.label for step in steps), key=len, default="")
    size = look.size("number")
    wide = look.wording((Run(longest, isolate=True),), "number").text.width(1.0) * size + 0.05
    return plan if isinstance(size, Pt) or wide <= plan.number else replace(plan, number=wide)


def _long(pages: int, frame: Frame, artifact: str) -> Finding:
    return warning(
        "typeset/more-than-one-page",
        f"the {artifact} takes {pages} {frame.paper.name} pages; one is read at a handover",
        artifact=artifact,
        hint="print it on both sides, or bring the change in in smaller steps",
    )


def _columns(composition: Composition, look: Look, plan: Plan) -> Box | None:
    """Titles over the columns of answer boxes, as wide as those of `parts.step_box`."""
    tables = [b for b in composition.part("columns") if isinstance(b, Table)]
    if not tables:
        return None
    *choices, comment = tables[0].header
    titles = [look.wording(c.pieces, "column", align="center", decoration=True) for c in choices]
    last = look.wording(comment.pieces, "column", decoration=True)
    cells: list[tuple[Box, float]] = [(Nothing(), plan.number), (Nothing(), 0.0)]
    cells += [(t, plan.choices) for t in titles]
    return Row((*cells, (last, plan.comment)), 0.3)


def _pages(matter: list[Unit], frame: Frame, s: float) -> list[list[Placed]]:
    gap, lead = GAPS[frame.composition.artifact]
    first, later = (area(frame, s, gap=HEAD_GAP * s, sheet=n).height for n in (1, 2))
    return fill(matter, lambda n: later if n else first, frame.paper.inner, s, gap * s, lead * s)


def _fits_one(matter: list[Unit], frame: Frame, s: float) -> bool:
    pages = _pages(matter, frame, s)
    room = area(frame, s, gap=HEAD_GAP * s).height
    return len(pages) == 1 and room > 0 and not overfull(pages, lambda _: room)


def _problems(pages: list[list[Placed]], frame: Frame, s: float, artifact: str):
    for m in (*frame.head().misfits(frame.paper.inner, s), *frame.foot().misfits(frame.paper.inner, s)):
        yield _too_wide(m, frame, "", artifact)
        return
    first, later = (area(frame, s, gap=HEAD_GAP * s, sheet=n).height for n in (1, 2))
    for page in pages:
        for placed in page:
            for m in placed.unit.box.misfits(frame.paper.inner, s):
                yield _too_wide(m, frame, placed.unit.step, artifact)
                return
    for unit, missing in overfull(pages, lambda n: later if n else first):
        yield error(
            "typeset/does-not-fit",
            f"a part that must not be split needs {missing / MM:.0f} mm more than one {frame.paper.name} page has",
            step=unit.step,
            artifact=artifact,
            hint="shorten it, or choose a larger sheet",
        )


def _too_wide(m: Misfit, frame: Frame, step: str, artifact: str) -> Finding:
    return error(
        "typeset/word-too-wide",
        f"`{m.word[:60]}` needs {(m.width - m.room) / MM:.1f} mm more width on {frame.paper.name}",
        step=step,
        artifact=artifact,
        hint="use a shorter word or a larger sheet",
    )


def _section(page: list[Placed]) -> str:
    return next((p.unit.section for p in page if p.unit.section), "")


def _paint(pages: list[list[Placed]], frame: Frame, s: float, title: str) -> Document:
    paper, look = frame.paper, frame.look
    on = Painter(look.rtl)
    on.open("Document")
    for n, page in enumerate(pages):
        on.sheet(paper.width)
        paint_frame(frame, on, s, n + 1, len(pages), _section(page))
        top = area(frame, s, gap=HEAD_GAP * s, sheet=n + 1).top
        room = area(frame, s, gap=HEAD_GAP * s, sheet=n + 1).height
        for placed in spread(page, room, 0.9 * s):
            if placed.unit.lead and placed.unit.section and not placed.unit.branch:
                on.bookmarks.append(Bookmark(placed.unit.section, n, top + placed.y))
            placed.unit.box.paint(on, paper.margin, top + placed.y, paper.inner, s)
    for n, page in enumerate(pages):
        paint_foot(frame, on, s, n + 1, len(pages), _section(page))
    on.close()
    sheets = tuple(sheet_of(on, n, paper) for n in range(len(pages)))
    return Document(title, look.language, look.rtl, sheets, tuple(on.tags), tuple(on.bookmarks))
