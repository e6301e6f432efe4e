"""Judge the logical structure of a tagged file: what it says, in which order, against what is drawn."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter, defaultdict
from collections.abc import Iterator

from docgen.findings import Finding, Where, error
from docgen.readback.copy import Copy, Page
from docgen.readback.flow import Flow, Head
from docgen.readback.stream import FOLD, RIGHT_TO_LEFT


def tags(copy: Copy, flow: Flow, language: str) -> Iterator[Finding]:
    """Findings about structure; none for an untagged file, unless its language is written from right to left."""
    rtl = language.split("-")[0].lower() in RIGHT_TO_LEFT
    if not copy.tagged:
        if rtl:
            yield error(
                "readback/untagged",
                "without a structure the exact words of right-to-left text cannot be proven",
                Where(flow.file),
                hint="write a tagged PDF with the exact text of each paragraph",
            )
        return
    for page in copy.pages:
        yield from _same_words(page, flow.file)
    yield from _order(copy, flow)


def ranks(page: Page) -> dict[int, tuple[int, ...]]:
    """Marked content → the place of its own element in the structure, which orders all pages."""
    return {mcid: element.place for element in page.elements for mcid in element.own}


def _order(copy: Copy, flow: Flow) -> Iterator[Finding]:
    by_page = [ranks(p) for p in copy.pages]

    def rank(at: int) -> tuple[int, ...] | None:
        piece = flow.stream.pieces[flow.stream.index(at)]
        return by_page[piece.page].get(piece.runs[0].mcid)

    last: dict[str, tuple[Head, tuple[int, ...]]] = {}
    seen: Counter[str] = Counter()
    cautions: dict[str, list[int]] = defaultdict(list)
    for found in flow.found:
        if found.caution:
            cautions[found.step].append(found.start)
    for head in flow.heads:
        step = head.wanted.step
        where = flow.where(head.spot.start, head.spot.end)
        here = rank(head.spot.start)
        if here is None:
            yield error(
                "readback/tag-missing",
                f"the headline of step `{step.label}` is not in the structure, so that a screen reader leaves it out",
                where,
                step=step.id,
                hint="tag every text that is not decoration",
            )
            continue
        path = f"{head.wanted.branch.id if head.wanted.branch else ''} {seen[step.id]}"
        seen[step.id] += 1
        if path in last and last[path][1] > here:
            yield error(
                "readback/tag-order",
                f"in the structure step `{step.label}` comes before step `{last[path][0].wanted.step.label}`",
                where,
                step=step.id,
                hint="tag the steps in the order in which they are seen",
            )
        last[path] = (head, here)
        if seen[step.id] == 1:
            for at in cautions[step.id]:
                own = rank(at)
                if at < head.spot.start and own is not None and own > here:
                    yield error(
                        "readback/tag-order",
                        f"in the structure a caution of step `{step.label}` comes after its headline",
                        where,
                        step=step.id,
                        hint="tag a caution before its step",
                    )
                    break


def _same_words(page: Page, file: str) -> Iterator[Finding]:
    """The exact text an element claims must be made of the words that are drawn."""
    drawn: dict[int, list[str]] = defaultdict(list)
    for run in page.runs:
        drawn[run.mcid].append(run.text)
    for element in page.elements:
        if not element.actual or element.role == "Figure":
            continue
        seen = words(" ".join(t for mcid in element.mcids for t in drawn[mcid]))
        if seen != words(element.actual):
            yield error(
                "readback/tag-words",
                f"the structure says `{element.actual[:60]}`, but other words are drawn",
                Where(file, page=page.number),
                hint="give the structure the words of the sheet",
            )


def words(text: str) -> Counter[str]:
    """How often each word occurs. The order within a right-to-left line cannot be read back exactly; the words can."""
    return Counter(re.findall(r"\w+", unicodedata.normalize("NFKC", text.translate(FOLD))))
