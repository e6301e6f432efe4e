"""Judge whether words are large enough to be read from where the artifact is read, and whether it claims so truly.

The measure is the height of lower-case letters (x-height), taken from the outlines in the file.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from docgen.findings import Finding, Where, error, warning
from docgen.readback.copy import Copy, Run
from docgen.readback.flow import Flow

RATIO = 200
"""Reading distance over x-height: 1/200, 17 minutes of arc (FAA, in a human-factors handbook chapter,
doi 10.1201/b22361-52), between the 16 to 18 minutes it calls possibly acceptable."""

FAR_RATIO = 344
"""Reading distance over x-height for what on a poster is read after stepping up to it (cautions, holds, branches):
10 minutes of arc, readable with a visual acuity of 20/40 (Snellen: 5 minutes for 20/20; derived)."""

CLOSE = 1.4
"""Millimetres of x-height for everything else (stamp, running heads), read at the sheet itself (European Commission,
Guideline on the readability of the labelling and package leaflet, revision 1, 12 January 2009)."""


@dataclass(frozen=True, slots=True)
class Reading:
    """How an artifact is read: metres if nobody says otherwise, and the ratio for headlines and for other parts."""

    distance: float
    headlines: int
    others: int


READING = {
    "poster": Reading(1.0, RATIO, FAR_RATIO),
    "cards": Reading(0.4, RATIO, RATIO),
    "script": Reading(0.5, RATIO, RATIO),
    "checklist": Reading(0.4, RATIO, RATIO),
    "notice": Reading(0.4, RATIO, RATIO),
}
"""Artifact → how it is read. Card 0.4 m, clipboard and script 0.5 m: common practice, no source."""

ROUNDING = 0.02
"""Share by which measured letters may fall short: outlines are whole font units, sizes are rounded."""
CLAIM_SLACK = 0.1
"""Metres by which a poster's claim may stay behind what is measured: it is rounded down."""
CLAIM_SHARE = 0.2
"""Share by which it may: faces without lower-case letters are measured by different rules."""
HEADLINES = ("headline", "number")
"""What, on the main path, is read from afar. In a branch, a poster's headlines are read after stepping up to it."""
CARRIED = "carried"
_METRES = re.compile(r"(?<![\d.,])(\d{1,2}(?:[.,]\d{1,2})?)\s?(?:(?:m|м|م|मी|ម)(?![\w²³/])|米|公尺|เมตร)")


def legibility(copy: Copy, flow: Flow, artifact: str, distance: float | None) -> Iterator[Finding]:
    """Findings about type sizes and reading distances; `distance` in metres is what is required, if it is known."""
    reading = READING[artifact]
    needed = distance or reading.distance
    kinds = _kinds(flow)
    smallest: Run | None = None
    for page in copy.pages:
        for run in page.runs:
            if not run.text.strip():
                continue
            kind = kinds.get((page.number, run.depth), "")
            if kind == "headline" and (smallest is None or run.x_height < smallest.x_height):
                smallest = run
            least = _floor(kind, reading, needed)
            if run.x_height < least * (1 - ROUNDING):
                yield error(
                    "readback/too-small",
                    f"`{_short(run)}` has letters of {run.x_height:.2f} mm; {least:.2f} mm are the least "
                    + (f"for {needed:g} m" if kind else "for reading close by"),
                    Where(flow.file, page=page.number, box=run.box),
                    hint="choose a larger sheet or shorten the texts",
                )
    yield from _claims(copy, flow, artifact, needed, smallest, reading)


def _floor(kind: str, reading: Reading, distance: float) -> float:
    if not kind:
        return CLOSE
    ratio = reading.headlines if kind == "headline" else reading.others
    return max(CLOSE, distance * 1000 / ratio)


def _kinds(flow: Flow) -> dict[tuple[int, int], str]:
    """Page and painting order of a run → `headline`, or `carried` for other texts of steps; nothing for the rest."""
    out: dict[tuple[int, int], str] = {}
    main = {h.wanted.step.id for h in flow.heads if h.wanted.branch is None}
    for found in flow.found:
        if found.what == "title":
            continue
        kind = "headline" if found.what in HEADLINES and found.step in main else CARRIED
        for piece in flow.stream.within(found.start, found.end):
            for run in piece.runs:
                key = (flow.numbers[piece.page], run.depth)
                out[key] = kind if out.get(key) != "headline" else "headline"
    return out


def _claims(
    copy: Copy, flow: Flow, artifact: str, needed: float, smallest: Run | None, reading: Reading
) -> Iterator[Finding]:
    measured = smallest.x_height * reading.headlines / 1000 if smallest else None
    for index, page in enumerate(copy.pages):
        words = flow.rest(index)
        claims = [float(m[1].replace(",", ".")) for m in _METRES.finditer(words)]
        where = Where(flow.file, page=page.number)
        if not claims:
            yield error(
                "readback/distance-claim",
                "the stamp does not say from how many metres the sheet is readable",
                where,
                hint="print the reading distance in the stamp, as `2.0 m`",
            )
            continue
        claim = claims[-1]
        if claim < needed - 0.005:
            yield error(
                "readback/distance-claim",
                f"the sheet says it is readable from {claim:g} m; it must be from {needed:g} m",
                where,
                hint="choose a larger sheet or shorten the texts",
            )
        if smallest is not None and measured is not None and claim > measured * (1 + ROUNDING):
            yield error(
                "readback/distance-claim",
                f"the sheet says it is readable from {claim:g} m, but its headlines' letters of "
                f"{smallest.x_height:.2f} mm are readable from {measured:.2f} m",
                where,
                hint="compute the distance from the letters really used",
            )
        elif (
            artifact == "poster"
            and measured is not None
            and claim < measured - max(CLAIM_SLACK, CLAIM_SHARE * measured)
        ):
            yield warning(
                "readback/distance-claim",
                f"the sheet says it is readable from {claim:g} m; its headlines are readable from {measured:.2f} m",
                where,
                hint="compute the distance from the letters really used",
            )


def _short(run: Run) -> str:
    text = " ".join(run.text.split())
    return text if len(text) <= 40 else text[:39] + "…"
