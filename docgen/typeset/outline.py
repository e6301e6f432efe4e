"""Turn the flat blocks of a composition into sections of entries: one entry a step, a branch, or a plain passage.

The order of the template is kept as it is. If a template prints a caution after its step, the sheet shows it there, and
the read-back says so: nothing is quietly put right here.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from docgen.model.block import Block, Break, Items, Origin, Panel, Para, Piece, Table


@dataclass(frozen=True, slots=True)
class Entry:
    """What belongs to one step (`step` id), to one branch's opening (`branch` id), or to neither."""

    step: str
    branch: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """A heading (None before the first) and its entries."""

    heading: Para | None
    entries: tuple[Entry, ...]
    broken: bool = False
    """A rule stood before it: it starts a new sheet or region where the layout can do so."""


def pieces_of(block: Block) -> Iterable[Piece]:
    """All pieces inside a block, in order."""
    match block:
        case Para():
            yield from block.pieces
        case Panel():
            for inner in block.blocks:
                yield from pieces_of(inner)
        case Items():
            for item in block.items:
                for inner in item:
                    yield from pieces_of(inner)
        case Table():
            for row in (block.header, *block.rows):
                for cell in row:
                    yield from pieces_of(cell)


def _owner(block: Block) -> tuple[str, str] | None:
    """(step, branch) a block speaks for; None if it names neither."""
    for piece in pieces_of(block):
        o: Origin = piece.origin
        if o.kind in ("step", "caution", "figure", "mark", "branch", "box", "symbol", "record") and (
            o.step or o.branch
        ):
            return (o.step if o.kind != "branch" or not o.branch else "", o.branch)
    return None


def sections(blocks: tuple[Block, ...]) -> tuple[Section, ...]:
    """Group blocks under their headings of level 1 or 2, and by the step or branch they speak for."""
    out: list[Section] = []
    heading: Para | None = None
    entries: list[Entry] = []
    broken = False

    def close() -> None:
        if heading is not None or entries:
            out.append(Section(heading, tuple(entries), broken))

    for block in blocks:
        if isinstance(block, Break):
            close()
            heading, entries, broken = None, [], True
            continue
        if isinstance(block, Para) and block.level in (1, 2):
            if heading is not None or entries:
                close()
                broken = False
            heading, entries = block, []
            continue
        owner = _owner(block)
        last = entries[-1] if entries else None
        if last is not None and (owner is None or owner == (last.step, last.branch)):
            entries[-1] = Entry(last.step, last.branch, (*last.blocks, block))
        else:
            entries.append(Entry(*(owner or ("", "")), (block,)))
    close()
    return tuple(out)
