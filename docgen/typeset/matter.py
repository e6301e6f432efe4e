"""Turn a composition's main part into units that can be placed."""

from __future__ import annotations

from dataclasses import replace

from docgen.model.block import Composition, Para
from docgen.typeset.boxes import Bar, Box, Framed, Lowered, Pt, Row, Stack
from docgen.typeset.flow import Unit
from docgen.typeset.look import Look
from docgen.typeset.outline import Section, sections
from docgen.typeset.parts import Plan, boxes, step_box


def units(composition: Composition, look: Look, plan: Plan, part: str = "main") -> list[Unit]:
    """Units of a part: a heading leads what follows; every step, with its cautions, is one unit."""
    out: list[Unit] = []
    role = "H2"  # a step's headline is one level below what stands above it, so that no level is skipped
    for section in sections(composition.part(part)):
        name = _name(section, look)
        if section.heading is not None:
            role = "H3"
            box = heading(section.heading, look, plan)
            out.append(Unit(box, lead=True, section=name, fresh=section.broken))
        for n, entry in enumerate(section.entries):
            fresh = section.broken and section.heading is None and n == 0
            if not (entry.step or entry.branch):
                # what stands between a heading and its first step stays with both
                leads = bool(section.heading) and any(e.step for e in section.entries[n + 1 :])
                out += [
                    Unit(box, lead=leads, section="" if leads else name, fresh=fresh and m == 0, close=leads)
                    for m, box in enumerate(boxes(entry.blocks, look, plan))
                ]
                continue
            headed = any(isinstance(b, Para) and b.level == 3 for b in entry.blocks)
            box = step_box(entry, look, plan, role)
            if not entry.step and not headed and out and out[-1].branch == entry.branch:
                # how a branch ends stays with its last step
                last = out[-1]
                out[-1] = replace(last, box=Stack((last.box, box), plan.gap))
                continue
            opens = headed and not entry.step  # a branch's question stays with its first step
            out.append(Unit(box, entry.step, entry.branch, opens, name, fresh, close=bool(entry.branch) and not headed))
    return out


def _name(section: Section, look: Look) -> str:
    return "".join(r.text for r in look.runs(section.heading.pieces)) if section.heading else ""


def heading(para: Para, look: Look, plan: Plan) -> Box:
    """A phase: its number in the column of step numbers, its title, on a quiet tint under a firm rule."""
    number = tuple(p for p in para.pieces if p.origin.field in ("number", "letter"))
    rest = tuple(p for p in para.pieces if p not in number)
    role = "H2"
    title = look.wording(rest, "phase", role=role, ref=para.origin.ref)
    if number:
        label = look.wording(number, "phase", single=True, role="Lbl")
        inner: Box = Row(((label, plan.number - 0.3), (title, 0.0)), 0.3)
    else:
        inner = title
    tint = Framed(Lowered(inner, title.sink), (0.34, 0.3), fill=look.colour("tint"))
    return Stack((Bar(Pt(2.0), look.colour("ink")), tint))
