"""Judge the form fields of a checklist: each step can be answered and the record filled in, on screen and paper."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator

from docgen.findings import Finding, Where, error
from docgen.readback.copy import Box, Copy, Field
from docgen.readback.flow import Flow, Head
from docgen.readback.places import block, page_of
from docgen.readback.wanted import CARRIES

ANSWERS = 3
"""Done, prompted, not done."""
RECORD_TEXTS = 9
"""Written entries of the record besides the steps': names, role, equipment and sizes, start and end, action after a
breach, next due date, signatures (facts of training records: 29 CFR 1910.1030(h)(2) and common practice)."""
RECORD_CHOICES = 1
"""Choices of the record: breach yes or no, at least."""
ABOVE = 3.0
"""Millimetres by which a field may begin above its step's headline."""


def fields(copy: Copy, flow: Flow, artifact: str) -> Iterator[Finding]:
    """Findings about fields: those every field must meet, and on a checklist those that must be there."""
    groups: Counter[tuple[str, str]] = Counter()
    for page in copy.pages:
        for f in page.fields:
            groups[(f.kind, f.name)] += 1
            yield from _field(f, page.width, page.height, Where(flow.file, page=page.number, box=f.box))
    for (kind, name), count in groups.items():
        if name and count > 1 and kind in ("text", "tick"):
            yield error(
                "readback/field-shared",
                f"{count} fields are named `{name}`, so that filling one fills all",
                Where(flow.file),
                hint="give each field a name of its own",
            )
    if "fields" in CARRIES[artifact]:
        yield from _checklist(copy, flow)


def _field(f: Field, width: float, height: float, where: Where) -> Iterator[Finding]:
    if not f.name.strip():
        yield error("readback/field-unnamed", "a form field has no name", where, hint="name every field")
    elif not f.label.strip():
        yield error(
            "readback/field-unnamed",
            f"the field `{f.name}` has no accessible name",
            where,
            hint="label every field in words",
        )
    if not f.printed or not f.framed:
        why = "is not printed" if not f.printed else "leaves no ink, so that it cannot be filled in on paper"
        yield error("readback/field-unseen", f"the field `{f.name}` {why}", where, hint="draw a frame or a line for it")
    if f.box[0] < 0 or f.box[1] < 0 or f.box[2] > width or f.box[3] > height:
        yield error(
            "readback/off-sheet", f"the field `{f.name}` reaches beyond the sheet", where, hint="keep it on the sheet"
        )


def _checklist(copy: Copy, flow: Flow) -> Iterator[Finding]:
    claimed: set[tuple[str, str]] = set()
    heads: dict[int, list[tuple[Box, Head]]] = defaultdict(list)
    for head in flow.heads:
        heads[page_of(flow, head)].append((block(flow, head), head))
    for index, many in heads.items():
        page = copy.pages[index]
        many.sort(key=lambda pair: pair[0][1])
        for n, (box, head) in enumerate(many):
            end = many[n + 1][0][1] if n + 1 < len(many) else page.height
            here = [f for f in page.fields if box[1] - ABOVE <= _middle(f) < end - (ABOVE if n + 1 < len(many) else 0)]
            free = [f for f in here if (f.kind, f.name) not in claimed]
            free.sort(key=lambda f: abs(_middle(f) - (box[1] + box[3]) / 2))
            answers, comment = _answers(free), [f for f in free if f.kind == "text"][:1]
            claimed |= {(f.kind, f.name) for f in (*answers, *comment)}
            lacking = [
                *(["a choice of done, prompted and not done"] if len(answers) < ANSWERS else []),
                *(["a comment"] if not comment else []),
            ]
            if lacking:
                yield error(
                    "readback/field-missing",
                    f"step `{head.wanted.step.label}` has no field for {' and '.join(lacking)}",
                    Where(flow.file, page=page.number, box=box),
                    step=head.wanted.step.id,
                    hint="give every step its three answers and a comment",
                )
    rest = [f for p in copy.pages for f in p.fields if (f.kind, f.name) not in claimed]
    texts = {f.name for f in rest if f.kind == "text"}
    choices = [f.name for f in rest if f.kind in ("choice", "tick")]
    if len(texts) < RECORD_TEXTS or len(choices) < 2 * RECORD_CHOICES:
        yield error(
            "readback/field-missing",
            f"the record has {len(texts)} written entries and {len(choices)} boxes to choose; "
            f"at least {RECORD_TEXTS} and {2 * RECORD_CHOICES} are needed",
            Where(flow.file),
            hint="give the record its names, role, equipment, times, breach, outcome, signatures and next date",
        )


def _middle(f: Field) -> float:
    return (f.box[1] + f.box[3]) / 2


def _answers(free: list[Field]) -> list[Field]:
    """The nearest group of three buttons: of one name, or three ticks."""
    groups: dict[str, list[Field]] = defaultdict(list)
    for f in free:
        if f.kind == "choice":
            groups[f.name].append(f)
    for group in groups.values():
        if len(group) >= ANSWERS:
            return group
    ticks = [f for f in free if f.kind == "tick"]
    return ticks[:ANSWERS] if len(ticks) >= ANSWERS else []
