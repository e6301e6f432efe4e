"""Turn an entry's blocks into boxes: cautions, headline rows, holds, branches, lists, tables, boxes to fill in."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import groupby

from docgen.model.block import BESIDE, Block, Items, Panel, Para, Piece, Table
from docgen.model.sheet import Colour
from docgen.typeset import signs
from docgen.typeset.boxes import Bar, Beside, Blank, Box, Drawing, Framed, Lowered, Nothing, Pt, Row, Stack, Tagged
from docgen.typeset.grid import grid
from docgen.typeset.look import Look
from docgen.typeset.outline import Entry, pieces_of

STYLE_OF = {
    "step.number": "number", "step.headline": "headline", "step.actor": "actor", "role.name": "actor",
    "step.hold": "hold", "step.hold-by": "hold", "step.say": "say", "step.answer": "answer", "step.do": "body",
    "step.watch": "body", "step.done-when": "body", "step.seconds": "small", "step.clock": "small",
    "branch.letter": "branch", "branch.question": "branch", "branch.rejoin": "body", "branch.leave": "body",
    "branch.tell": "body", "phase.number": "phase", "phase.title": "phase", "edition.title": "title",
}  # fmt: skip
"""What a paragraph is → the style it takes. Anything else is `body`."""

ROWS = 12
"""Rows of a list that stay together under the names of its columns."""
HOLDS = ("step.hold", "step.hold-by")
ALOUD = {"step.say": "answer", "step.answer": "body"}
"""What is spoken, where the language it is spoken in stands beside it: one size smaller."""


@dataclass(frozen=True, slots=True)
class Plan:
    """How an artifact arranges a step. Lengths in base sizes."""

    number: float = 2.2
    """Width of the column in which step numbers stand."""
    figure: float = 0.0
    """Height of a step's figure; 0 = no figure. Figures are drawn to be legible from 15 mm upwards."""
    figure_at: str = "beside"
    """`beside` the headline, `under` what is spoken, or `end`: at the far end of what stands under the headline."""
    gap: float = 0.35
    """Between the parts of a step."""
    side: float = 0.0
    """Width of the side column; 0 = none."""
    aside: frozenset[str] = frozenset()
    """Roles that go into the side column."""
    indent: bool = True
    """Cautions begin at the step's reading edge (False) or beside its number (True)."""
    choices: float = 0.0
    """Width of one column of answer boxes; 0 = none."""
    comment: float = 0.0
    """Width of the comment column."""
    written: float = 0.0
    """Height of a comment, to be written by hand while watching; 0 = as any line."""
    field: float = 1.35
    """Height of a line to write on."""
    grid: str = ""
    """Columns of tables: `even`, so that their cells can be compared, or `fitted`; empty for a form's own way."""


def boxes(blocks: Iterable[Block], look: Look, plan: Plan) -> tuple[Box, ...]:
    """Boxes for blocks that belong to no step."""
    return tuple(b for block in blocks for b in _block(block, look, plan))


def step_box(entry: Entry, look: Look, plan: Plan, role: str = "H3") -> Box:
    """A step (or a branch's opening) as one box that is never split: what comes before its headline, then the row."""
    before: list[Box] = []
    row: list[tuple[Box, bool]] = []
    side: list[Box] = []
    head: Para | None = None
    label_open = False
    for block in entry.blocks:
        if isinstance(block, Para) and block.level == 3 and head is None:
            head = block
            continue
        made = list(_block(block, look, plan))
        if head is None:
            before += made
            continue
        if isinstance(block, Para) and block.level == 4:
            label_open = True  # a label goes where the text it announces goes
            pending = made
            continue
        if label_open:
            made, label_open = [Stack((*pending, *made), 0.12)], False
        if plan.side and _roles(block) & plan.aside:
            side += made
        else:
            row += [(box, _runs_wide(block)) for box in made]
    if head is None:
        return Stack(tuple(before), plan.gap)
    main = _headline_row(head, row, side, look, plan, role)
    return Tagged(Stack((*before, main), plan.gap * 1.7), "Sect", ref=entry.step or entry.branch)


def _runs_wide(block: Block) -> bool:
    return isinstance(block, Para) and (_said(block) in HOLDS or block.role.startswith("branch."))


def _said(para: Para) -> str:
    """What a paragraph is, in whichever of the edition's languages."""
    return para.role.removesuffix(BESIDE)


def _roles(block: Block) -> set[str]:
    return {f"{p.origin.kind}.{p.origin.field}" for p in pieces_of(block)}


def _headline_row(head: Para, row: list[tuple[Box, bool]], side: list[Box], look: Look, plan: Plan, role: str) -> Box:
    number = tuple(p for p in head.pieces if _role(p) in ("step.number", "branch.letter", "record.number"))
    things = [p for p in head.pieces if p.origin.kind in ("figure", "box", "mark")]
    words = tuple(p for p in head.pieces if p not in number and p not in things)
    headline = look.wording(words, "headline", role=role, ref=head.origin.ref)
    figure = next((look.pictures(p.origin.ref) for p in things if p.origin.kind == "figure"), None)
    ticks = [p for p in things if p.origin.kind == "box"]
    column: list[tuple[Box, float]] = []
    keeping = [p for p in ticks if p.origin.field == "tick"]
    if number:
        # the box for keeping one's place stands under the number, where the eye returns to
        label = look.wording(number, "number", role="Lbl", single=True)
        column.append((Stack((label, *(_blank(p, look, plan) for p in keeping)), 0.4), plan.number))
    drawing = (
        Drawing(figure.shapes, figure.width, figure.height, plan.figure, figure.alt, "start", mirror=False)
        if figure and plan.figure
        else None
    )
    pictured = drawing is not None and plan.figure_at == "beside"
    wide_rows = [box for box, wide in row if plan.choices or (wide and pictured)]
    narrow = [box for box, _ in row if box not in wide_rows]
    if drawing and plan.figure_at == "under":
        narrow.append(drawing)
    body = Stack((headline, *narrow), plan.gap)
    if side:
        column.append((Row(((body, 0.0), (Stack(tuple(side), plan.gap), plan.side)), 1.0), 0.0))
    else:
        column.append((body, 0.0))
    for piece in (p for p in ticks if p.origin.field.startswith("choice")):
        column.append((_blank(piece, look, plan), plan.choices))
    for piece in (p for p in ticks if p.origin.field in ("line", "area")):
        column.append((_blank(piece, look, plan, plan.written), plan.comment))
    wide = plan.figure * figure.width / figure.height if figure else 0.0
    if drawing and plan.figure_at == "beside":
        column.append((drawing, wide))
    top = Row(tuple(column), 0.3)
    if not wide_rows:
        return top
    # holds and branches run under the figure too: fewer lines, and the bar stops the eye over the whole step;
    # in a checklist everything but the headline runs under the answer boxes
    under: list[tuple[Box, float]] = [(Nothing(), plan.number), (Stack(tuple(wide_rows), plan.gap), 0.0)]
    if drawing and plan.figure_at == "end":
        under.append((drawing, wide))
    return Stack((top, Row(tuple(under), 0.3)), plan.gap)


def _role(piece: Piece) -> str:
    return f"{piece.origin.kind}.{piece.origin.field}"


def _block(block: Block, look: Look, plan: Plan) -> Iterable[Box]:
    match block:
        case Panel():
            yield _panel(block, look, plan)
        case Items():
            yield _items(block, look, plan)
        case Table() if plan.grid and block.rows:
            rows = block.rows
            for first in range(0, len(rows), ROWS):  # a part is never split, and a list may be longer than a page
                yield grid(
                    replace(block, rows=rows[first : first + ROWS]), look, plan.grid == "even",
                    lambda cell: _para(cell, look, plan), block,
                )  # fmt: skip
        case Table():
            yield table(block, look, plan)
        case Para():
            yield _para(block, look, plan)


def _para(para: Para, look: Look, plan: Plan) -> Box:
    if _said(para) in HOLDS:
        return hold(para, look)
    if any(p.origin.kind == "figure" for p in para.pieces):
        return _captioned(para, look, plan)
    if any(p.origin.kind in ("mark", "box") for p in para.pieces):
        return _line_of_things(para, look, plan)
    name = "label" if para.level == 4 else STYLE_OF.get(_said(para), "body")
    if look.beside and para.role in ALOUD:
        name = ALOUD[para.role]
    if para.role == "word" and not para.level:
        name = "small" if all(r.emphasis for p in para.pieces for r in p.runs) else "body"
    return look.wording(para.pieces, name, ref=para.origin.ref)


def _captioned(para: Para, look: Look, plan: Plan) -> Box:
    """A figure outside a step's headline, with the words beside it as its caption."""
    figure = next((look.pictures(p.origin.ref) for p in para.pieces if p.origin.kind == "figure"), None)
    words = look.wording(tuple(p for p in para.pieces if p.origin.kind != "figure"), "body")
    if figure is None or not plan.figure:
        return words
    tall = plan.figure
    return Stack((Drawing(figure.shapes, figure.width, figure.height, tall, figure.alt, mirror=False), words), 0.3)


def _line_of_things(para: Para, look: Look, plan: Plan) -> Box:
    """A line in which marks and boxes stand between words: `● Wearer`, `Name ______`."""
    name = STYLE_OF.get(para.role, "body")
    if any(p.origin.kind == "mark" for p in para.pieces):
        name = "actor"
    size = look.size(name)
    cells: list[tuple[Box, float]] = []
    words: list[Piece] = []

    def flush(wide: float = 0.0) -> None:
        if look.runs(tuple(words)):
            text = look.wording(tuple(words), name)
            cells.append((text, wide))
        words.clear()

    fields = [p for p in para.pieces if p.origin.kind == "box"]
    for piece in para.pieces:
        match piece.origin.kind:
            case "mark":
                flush()
                shapes = signs.mark(piece.origin.field, look.colour("ink"))
                tall = Pt(size * 0.72) if isinstance(size, Pt) else size * 0.72
                cells.append((Drawing(shapes, signs.SIDE, signs.SIDE, tall), tall))
            case "box":
                if words and look.runs(tuple(words)):
                    text = look.wording(tuple(words), "label" if fields else name, single=True)
                    wide = text.text.width(1.0) * text.size
                    cells.append((text, Pt(wide) if isinstance(text.size, Pt) else wide + 0.05))
                    words.clear()
                kind = piece.origin.field.split(":")[0]
                cells.append((_blank(piece, look, plan), plan.field if kind in ("tick", "choice") else 0.0))
            case _:
                words.append(piece)
    flush()
    if fields and all(p.origin.field.split(":")[0] in ("tick", "choice") for p in fields) and cells[-1][1]:
        cells.append((Nothing(), 0.0))
    return Row(tuple(cells), 0.3, middle=True)


def _blank(piece: Piece, look: Look, plan: Plan, tall: float = 0.0) -> Box:
    kind, _, value = piece.origin.field.partition(":")
    label = "".join(r.text for r in piece.runs)
    name = f"{piece.origin.step}.{piece.origin.ref}" if piece.origin.step else piece.origin.ref
    match kind:
        case "tick" | "choice":
            return Blank(kind, name, label, plan.field, plan.field, value, align="center" if plan.choices else "start")
        case "line":
            return Blank("text", name, label, tall or plan.field)
        case _:
            return Blank("text", name, label, plan.field * 2.4, multiline=True)


def hold(para: Para, look: Look) -> Box:
    """A solid bar with the words in reverse: it must stop the eye even in greyscale."""
    paper = look.colour("paper")
    text = look.wording(para.pieces, "hold", ink=paper)
    return Framed(Lowered(text, text.sink), (0.28, 0.45), fill=look.colour("ink"))


def _panel(panel: Panel, look: Look, plan: Plan) -> Box:
    roles = _roles(panel)
    signals = (r.removesuffix(BESIDE) for r in sorted(roles) if r.startswith("caution.signal-"))
    signal = next((r.removeprefix("caution.signal-") for r in signals), "")
    if signal:
        return caution(panel, signal, look)
    inner = boxes(panel.blocks, look, plan)
    return Beside(Stack(inner, plan.gap), 0.16, look.colour("ink"), 0.5)


def caution(panel: Panel, signal: str, look: Look) -> Box:
    """Symbol and signal word on the signal colour, then hazard, consequence and what to do, black on white."""
    ground = look.colour(f"{signal}-ground")
    word_ink = look.colour(f"{signal}-word")
    terms: list[Piece] = []
    rest: list[Box] = []
    for block in panel.blocks:
        if isinstance(block, Para):
            signs_here = [p for p in block.pieces if p.origin.kind == "symbol" or "signal" in p.origin.field]
            words = tuple(p for p in block.pieces if p not in signs_here)
            terms += (p for p in signs_here if p.origin.kind != "symbol")
            if look.runs(words):
                rest.append(look.wording(words, "caution", ref=block.origin.ref))
    size = look.size("signal")
    tall = Pt(size * 0.95) if isinstance(size, Pt) else size * 0.95
    sign = Drawing(signs.symbol(signal, word_ink, ground), signs.SIDE, signs.SIDE, tall)
    # a signal word in each language, each a paragraph of its own, so that it is spoken in its language
    spoken = [tuple(group) for _, group in groupby(terms, key=lambda p: p.language)]
    *first, last = (look.wording(group, "signal", ink=word_ink, single=len(spoken) > 1) for group in spoken)
    cells: list[tuple[Box, float]] = [(sign, tall)]
    cells += ((Lowered(word, word.sink), _pad(size, word.text.width(1.0))) for word in first)
    pad = _pad(size, 0.32), _pad(size, 0.5)
    strip = Framed(Row((*cells, (Lowered(last, last.sink), 0.0)), _pad(size, 0.4), middle=True), pad, fill=ground)
    text = Framed(Stack(tuple(rest), 0.1), pad, fill=look.colour("paper")) if rest else Nothing()
    edge: Colour = look.colour("ink")
    return Tagged(
        Framed(Stack((strip, text)), (Pt(1.2), Pt(1.2)), stroke=edge, line=Pt(1.2)), "Sect", ref=panel_ref(panel)
    )


def panel_ref(panel: Panel) -> str:
    """The caution or branch a panel speaks for."""
    return next(
        (p.origin.ref for b in panel.blocks for p in pieces_of(b) if p.origin.kind in ("caution", "branch")), ""
    )


def _pad(size: float, times: float) -> float:
    return Pt(size * times) if isinstance(size, Pt) else size * times


def _items(items: Items, look: Look, plan: Plan) -> Box:
    rows: list[Box] = []
    for item in items.items:
        inner = tuple(
            look.wording(b.pieces, "body", ref=b.origin.ref)
            if isinstance(b, Para) and _said(b) == "step.headline"
            else Stack(boxes((b,), look, plan), 0.15)
            for b in item
        )
        first = item[0] if item else None
        if isinstance(first, Para) and any(_role(p) == "step.number" for p in first.pieces):
            number = tuple(p for p in first.pieces if _role(p) == "step.number")
            rest = tuple(p for p in first.pieces if p not in number and p.origin.kind != "figure")
            head = look.wording(rest, "body", ref=first.origin.ref)
            label = look.wording(number, "strong", single=True, role="Lbl")
            body = Tagged(Stack((head, *inner[1:]), 0.15), "LBody")
            rows.append(Tagged(Row(((label, 1.5), (body, 0.0)), 0.3), "LI"))
            continue
        dash = Stack((Nothing(look.size("body") * 0.31), Bar(Pt(1.1), look.colour("ink"))))
        rows.append(Tagged(Row(((dash, 0.35), (Tagged(Stack(inner, 0.15), "LBody"), 0.0)), 0.3), "LI"))
    return Tagged(Stack(tuple(rows), 0.18), "L")


def table(block: Table, look: Look, plan: Plan) -> Box:
    """A small table: word cells take their own width, cells with boxes share the rest."""
    rows = [r for r in (block.header, *block.rows) if any(p.pieces for p in r)]
    return Tagged(Stack(tuple(table_row(r, rows, look, plan) for r in rows), 0.45), "Table")


def table_row(cells: tuple[Para, ...], rows: list[tuple[Para, ...]], look: Look, plan: Plan) -> Box:
    """One row; every row of a table shares its column widths."""
    made: list[tuple[Box, float]] = []
    for n, cell in enumerate(cells):
        column = [r[n] for r in rows if n < len(r)]
        boxed = any(p.origin.kind == "box" for c in column for p in c.pieces)
        box: Box = _para(cell, look, plan) if cell.pieces else Nothing()
        if boxed or n == len(cells) - 1:
            made.append((Tagged(box, "TD"), 0.0))
        else:
            widths = [look.wording(c.pieces, "body").text.width(1.0) for c in column if c.pieces]
            size = look.size("body")
            wide = max(widths, default=0.0) * size + 0.1
            made.append((Tagged(box, "TH", scope="Row"), Pt(wide) if isinstance(size, Pt) else min(wide, 12.0)))
    return Tagged(Row(tuple(made), 0.6, middle=True), "TR")
