"""Judge whether every word can be seen: on the sheet, whole, uncovered, with contrast, each character a glyph."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from docgen.findings import Finding, Where, error
from docgen.readback.copy import Box, Copy, Page, Run

TRIM_SAFE = 3.0
"""Millimetres from the trimmed edge that must be free of words: bleed and cutting tolerance (facts of the trade, from
memory: bleed 3 mm)."""
TEXT_CONTRAST = 4.5
"""WCAG 2.2, success criterion 1.4.3 (AA)."""
LARGE_CONTRAST = 3.0
"""WCAG 2.2, success criterion 1.4.3 (AA), large text."""
LARGE = 18.0
"""Points; WCAG 2.2 large-scale text. Bold from 14 points is not made use of."""
COVERED = 0.03
"""Share of a run's own pixels that may be painted over: smoothed edges of a neighbour."""
OVERLAP = 0.12
"""Share of the smaller of two runs' boxes that may lie in the other."""


LINES_APART = 0.8
"""Type sizes between two baselines from which they are lines of a paragraph: in scripts with deep strokes the boxes of
good lines reach into each other."""
POINT = 25.4 / 72


@dataclass(frozen=True, slots=True)
class _Said:
    rule: str
    message: str
    hint: str


def sight(copy: Copy, file: str) -> Iterator[Finding]:
    """Findings about what cannot be seen, page by page."""
    for page in copy.pages:
        for odd in page.oddities:
            rule = "readback/missing-glyph" if "glyph" in odd else "readback/unexpected"
            hint = "embed a face that has every character" if "glyph" in odd else "leave it out; no artifact has it"
            yield error(rule, odd, Where(file, page=page.number), hint=hint)
        words = [r for r in page.runs if r.text.strip()]
        for run in page.runs:
            for said in _run(run, page):
                yield error(said.rule, said.message, Where(file, page=page.number, box=run.box), hint=said.hint)
        for one, other in overlapping(words):
            yield error(
                "readback/overlap",
                f"`{_short(one)}` and `{_short(other)}` are printed over each other",
                Where(file, page=page.number, box=other.box),
                hint="give each its own place",
            )
        for run in words:
            for field in page.fields:
                if _shared(run.box, field.box) > OVERLAP:
                    yield error(
                        "readback/overlap",
                        f"the field `{field.name}` lies over `{_short(run)}`",
                        Where(file, page=page.number, box=run.box),
                        hint="give the field its own place",
                    )
                    break


def _short(run: Run) -> str:
    text = " ".join(run.text.split())
    return text if len(text) <= 40 else text[:39] + "…"


def _run(run: Run, page: Page) -> Iterator[_Said]:
    text = _short(run)
    if not text:
        twin = any(r is not run and r.text.strip() and _close(r.box, run.box) for r in page.runs)
        if run.ink is not None and run.ink.box is not None and not twin and run.box[2] > run.box[0]:
            yield _Said(
                "readback/missing-glyph", "glyphs without meaning are printed", "give every glyph its characters"
            )
        return
    if run.broken or "\ufffd" in run.text or "\x00" in run.text:
        missing = ", ".join(f"`{c}` (U+{ord(c):04X})" for c in run.broken) or "a character"
        yield _Said(
            "readback/missing-glyph", f"{missing} has no glyph in `{text}`", "embed a face that has every character"
        )
    if not run.upright:
        yield _Said(
            "readback/distorted", f"`{text}` is turned, slanted or squeezed", "print words level and unsqueezed"
        )
    left, top, right, bottom = run.box
    edge = min(left, top, page.width - right, page.height - bottom)
    if edge < -0.05:
        yield _Said(
            "readback/off-sheet", f"`{text}` reaches {-edge:.1f} mm beyond the sheet", "keep all words on the sheet"
        )
    elif edge < TRIM_SAFE:
        yield _Said(
            "readback/near-edge",
            f"`{text}` stands {edge:.1f} mm from the trimmed edge; {TRIM_SAFE:.0f} mm must be free",
            "widen the margin",
        )
    yield from _ink(run, text)


def _ink(run: Run, text: str) -> Iterator[_Said]:
    ink = run.ink
    if ink is None:
        return
    if ink.box is None:
        why = (
            "its render mode paints nothing" if run.mode == 3
            else "it is transparent" if run.opacity == 0
            else "it has the colour of its ground, is covered, or lies outside its frame"
        )  # fmt: skip
        yield _Said("readback/no-ink", f"`{text}` leaves no ink on the sheet: {why}", "print it visibly")
        return
    if ink.hidden > COVERED:
        yield _Said(
            "readback/covered",
            f"{ink.hidden:.0%} of `{text}` is painted over",
            "draw what lies over it before it, or elsewhere",
        )
    elif ink.cut:
        yield _Said(
            "readback/cut", f"`{text}` is cut off at its {' and '.join(ink.cut)}", "give it room, or a wider frame"
        )
    least = LARGE_CONTRAST if run.size >= LARGE else TEXT_CONTRAST
    for value, how in ((ink.contrast, ""), (ink.grey, " in grey")):
        if value < least:
            yield _Said(
                "readback/faint",
                f"`{text}` has a contrast of {value:.2f} to 1{how} with what is behind it; {least:g} to 1 is the least",
                "print it darker, or on a lighter ground",
            )
            return


def _close(a: Box, b: Box) -> bool:
    return all(abs(x - y) < 0.6 for x, y in zip(a, b, strict=True))


def _shared(a: Box, b: Box) -> float:
    """Area that two boxes share, as a share of the smaller."""
    if a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]:
        return 0.0
    wide, tall = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
    areas = [(x[2] - x[0]) * (x[3] - x[1]) for x in (a, b)]
    return wide * tall / max(1e-6, min(areas))


def overlapping(runs: list[Run]) -> Iterator[tuple[Run, Run]]:
    """Pairs of runs printed over each other. Sweeps down the page, so that it stays fast."""
    active: list[Run] = []
    for run in sorted(runs, key=lambda r: r.box[1]):
        active = [a for a in active if a.box[3] > run.box[1]]
        for other in active:
            apart = abs(other.baseline - run.baseline) > LINES_APART * max(other.size, run.size) * POINT
            if not apart and _shared(other.box, run.box) > OVERLAP:
                yield (other, run) if other.depth < run.depth else (run, other)
        active.append(run)
