"""Judge where things stand on the sheet: the eye must meet the steps in the order in which the file says them.

Steps of one path must go down within a column, columns must follow each other in reading direction, and a row of
columns may only be followed by one below all of it. A caution must stand above its own step, in its column, with no
other step between; all texts of a step on one sheet (or card side).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from docgen.findings import Finding, Where, error
from docgen.readback.copy import Box
from docgen.readback.flow import Flow, Found, Head
from docgen.readback.stream import around

SAME_EDGE = 10.0
"""Millimetres within which two steps begin at the same edge, so that they stand in one column."""
SLACK = 1.0
"""Millimetres by which boxes of neighbours may reach into each other."""


def places(flow: Flow, rtl: bool) -> Iterator[Finding]:
    """Findings about places on the sheet; `rtl` = columns follow each other from right to left."""
    for path in _paths(flow.heads).values():
        yield from _path_order(flow, path, rtl)
    found: dict[str, list[Found]] = defaultdict(list)
    for f in flow.found:
        found[f.step].append(f)
    heads: dict[str, list[Head]] = defaultdict(list)
    for head in flow.heads:
        heads[head.wanted.step.id].append(head)
    blocks: dict[int, list[tuple[Head, Box]]] = defaultdict(list)
    for head in flow.heads:
        blocks[page_of(flow, head)].append((head, block(flow, head)))
    for id, same in heads.items():
        yield from _together(flow, same, found[id])
        if len(same) == 1:  # a branch may be printed wherever it can occur; its order was judged in the stream
            yield from _cautions(flow, same[0], found[id], blocks[page_of(flow, same[0])])


def block(flow: Flow, head: Head) -> Box:
    """The headline's first line with its number."""
    line = flow.stream.pieces[flow.stream.index(head.spot.start)].box
    return around([line, head.spot.label_box]) if head.spot.label_box else line


def page_of(flow: Flow, head: Head) -> int:
    """Index of the page a step stands on."""
    return flow.stream.page_of(head.spot.start)


def _paths(heads: Sequence[Head]) -> dict[tuple[str, int], list[Head]]:
    out: dict[tuple[str, int], list[Head]] = defaultdict(list)
    times: dict[str, int] = defaultdict(int)
    for head in heads:
        branch = head.wanted.branch.id if head.wanted.branch else ""
        out[(branch, times[head.wanted.step.id])].append(head)
        times[head.wanted.step.id] += 1
    return out


def _path_order(flow: Flow, path: list[Head], rtl: bool) -> Iterator[Finding]:
    page, edge, top, lowest, before_row = -1, 0.0, 0.0, 0.0, float("-inf")
    last: Head | None = None
    for head in path:
        box = block(flow, head)
        x, y = (-box[2] if rtl else box[0]), box[1]
        here = page_of(flow, head)
        wrong = False
        if here != page:
            wrong = here < page
            page, lowest, before_row = here, box[3], float("-inf")
        elif abs(x - edge) <= SAME_EDGE:
            wrong = y <= top
        elif x > edge:
            wrong = y < before_row - SLACK
        elif y > lowest - SLACK:
            before_row = lowest
        else:
            wrong = True
        if wrong and last is not None:
            yield error(
                "readback/step-out-of-place",
                f"step `{head.wanted.step.label}` stands where the eye meets it before step `{last.wanted.step.label}`",
                Where(flow.file, page=flow.numbers[here], box=box),
                step=head.wanted.step.id,
                hint="place the steps down the columns, and the columns in reading order",
            )
        edge, top, lowest, last = x, y, max(lowest, box[3]), head


def _together(flow: Flow, same: list[Head], found: list[Found]) -> Iterator[Finding]:
    here = {page_of(flow, head) for head in same}
    for f in found:
        first, last = flow.stream.page_of(f.start), flow.stream.page_of(max(f.start, f.end - 1))
        if first != last or first not in here:
            yield error(
                "readback/step-split",
                f"the {f.what} of step `{same[0].wanted.step.label}` stands on another sheet or side than its headline",
                flow.where(f.start, f.end),
                step=f.step,
                hint="keep a step with all its parts on one sheet or card side",
            )


def _cautions(flow: Flow, head: Head, found: list[Found], steps: list[tuple[Head, Box]]) -> Iterator[Finding]:
    """Findings about the cautions of a step; `steps` are all on its page, with their boxes."""
    here = page_of(flow, head)
    own = block(flow, head)
    others = [box for h, box in steps if h is not head]
    for id in dict.fromkeys(f.caution for f in found if f.caution):
        parts = [
            f for f in found if f.caution == id and flow.stream.page_of(f.start) == here and f.start < head.spot.start
        ]
        if not parts:
            continue
        box = around([flow.stream.box(f.start, f.end) for f in parts])
        line = flow.stream.pieces[flow.stream.index(head.spot.start)].box
        below = box[3] > line[1] + SLACK
        aside = min(box[2], own[2]) - max(box[0], own[0]) <= 0
        between = [o for o in others if o[1] > box[3] - SLACK and o[3] < own[1] + SLACK and _same_column(o, own)]
        if below or aside or between:
            why = "below its headline" if below else "in another column" if aside else "above another step"
            yield error(
                "readback/caution-out-of-place",
                f"the caution of step `{head.wanted.step.label}` stands {why}",
                Where(flow.file, page=flow.numbers[here], box=box),
                step=head.wanted.step.id,
                hint="place a caution right above its own step",
            )


def _same_column(a: Box, b: Box) -> bool:
    return min(a[2], b[2]) - max(a[0], b[0]) > 0
