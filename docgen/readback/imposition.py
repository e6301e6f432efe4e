"""Cut press sheets, on which several card sides are imposed, into the sides as a reader will hold them.

The sides are found from the sheet alone: each has one stamp, so a page has as many sides as fingerprints; rows and
columns are separated by the widest blank bands, rows by the first one below a stamp, which stands at the foot of its
side. Each side's own numbering gives their order.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

from docgen.findings import Finding, Where, error
from docgen.model.edition import Edition
from docgen.readback.copy import Box, Copy, Page, Run
from docgen.readback.headlines import plain_label
from docgen.readback.stamp import FINGERPRINT, OF
from docgen.readback.stream import around

SAME = 5.0
"""Millimetres within which stamps stand in the same row or column of a press sheet."""
APART = 6.0
"""Millimetres that words on two sides are apart at least: each keeps 3 mm from where it is cut."""
REGISTER = 0.5
"""Millimetres by which a back may miss its front."""


def is_imposed(copy: Copy, edition: Edition) -> bool:
    """Whether some page of a set of cards has more than one stamp."""
    return any(len(_stamps(page, edition)) > 1 for page in copy.pages)


def without_blank_back(copy: Copy) -> Copy:
    """The copy without its last page, if that has no word: the back of the last card of an odd number of sides."""
    blank = len(copy.pages) > 1 and not any(r.text.strip() for r in copy.pages[-1].runs)
    return replace(copy, pages=copy.pages[:-1]) if blank else copy


def cut(copy: Copy, file: str, edition: Edition) -> tuple[Copy, tuple[Finding, ...]]:
    """The sides of a press file in their own order, each as a page, and what is wrong with how they are imposed."""
    sides: list[tuple[int, Page, Run]] = []
    findings: list[Finding] = []
    for page in copy.pages:
        stamps = _stamps(page, edition)
        columns = _bands([s.box for s in stamps], [r.box for r in page.runs], 0, page.width)
        rows = _bands([s.box for s in stamps], [r.box for r in page.runs], 1, page.height)
        for x0, x1 in columns:
            for y0, y1 in rows:
                inside = tuple(r for r in page.runs if x0 <= _mid(r.box, 0) < x1 and y0 <= _mid(r.box, 1) < y1)
                own = [s for s in stamps if s in inside]
                if not inside:
                    continue
                number = _number(inside)
                if len(own) != 1 or number is None:
                    findings.append(
                        error(
                            "readback/imposition",
                            "a side of a card cannot be told by its stamp and number",
                            Where(file, page=page.number, box=around([r.box for r in inside])),
                            hint="print the whole stamp on every card side",
                        )
                    )
                    continue
                sides.append((number, _side(page, inside, (x0, y0, x1, y1)), own[0]))
    sides.sort(key=lambda s: s[0])
    findings += _registering(sides, copy, file)
    return replace(copy, pages=tuple(side for _, side, _ in sides)), tuple(findings)


def _mid(box: Box, axis: int) -> float:
    return (box[axis] + box[axis + 2]) / 2


def _stamps(page: Page, edition: Edition) -> list[Run]:
    """Runs that have, or in which begins, the fingerprint."""
    first = edition.fingerprint[:5]
    return [r for r in page.runs if first in r.text or any(m[1] == first for m in FINGERPRINT.finditer(r.text))]


def _bands(stamps: list[Box], boxes: list[Box], axis: int, size: float) -> list[tuple[float, float]]:
    """Split one axis into as many bands as stamps differ on it, at the widest gaps free of words."""
    places: list[float] = []
    for at in sorted(b[axis] for b in stamps):
        if not places or at - places[-1] > SAME:
            places.append(at)
    gaps: list[tuple[float, float]] = []
    reach = None
    for low, high in sorted((b[axis], b[axis + 2]) for b in boxes):
        if reach is not None and low > reach:
            gaps.append((low - reach, (low + reach) / 2))
        reach = high if reach is None else max(reach, high)
    if axis:  # the stamp closes its side: what comes below it, after the first gap wide enough, is the next side
        cuts = [next((m for wide, m in gaps if m > at and wide > APART), at) for at in places[:-1]]
    else:
        cuts = sorted(middle for _, middle in sorted(gaps, reverse=True)[: max(0, len(places) - 1)])
    edges = [0.0, *cuts, size + 1.0]
    return list(pairwise(edges))


def _number(runs: tuple[Run, ...]) -> int | None:
    """The side's number, from the last `x of y` on it (its stamp)."""
    words = plain_label(" ".join(r.text for r in runs))
    pairs = [(int(a), int(b)) for a, b in OF.findall(re.sub(r"\d{4}-\d{2}-\d{2}", " ", words)) if int(a) <= int(b)]
    return pairs[-1][0] if pairs else None


def _side(page: Page, runs: tuple[Run, ...], box: Box) -> Page:
    def inside(other: Box) -> bool:
        return box[0] <= _mid(other, 0) < box[2] and box[1] <= _mid(other, 1) < box[3]

    return replace(
        page,
        runs=runs,
        squares=tuple(s for s in page.squares if inside(s.box)),
        fields=tuple(f for f in page.fields if inside(f.box)),
    )


def _registering(sides: list[tuple[int, Page, Run]], copy: Copy, file: str) -> Iterator[Finding]:
    """Backs must lie behind their fronts after a turn over the long edge: same height, mirrored across."""
    sums: list[tuple[float, float, int]] = []
    by_number = {number: (page, run) for number, page, run in sides}
    for number, (page, run) in by_number.items():
        if number % 2 and number + 1 in by_number:
            back_page, back = by_number[number + 1]
            if back_page.number == page.number:
                yield error(
                    "readback/imposition",
                    f"sides {number} and {number + 1} of one card are on the same side of the press sheet",
                    Where(file, page=page.number),
                    hint="put fronts on one page and their backs on the next",
                )
                continue
            sums.append((run.box[0] + back.box[0], run.box[1] - back.box[1], back_page.number))
    if sums:
        across = sorted(s[0] for s in sums)[len(sums) // 2]
        for x, y, number in sums:
            if abs(x - across) > REGISTER or abs(y) > REGISTER:
                yield error(
                    "readback/imposition",
                    "a back does not lie behind its front when the sheet is turned over its long edge",
                    Where(file, page=number),
                    hint="mirror the columns of the backs",
                )
