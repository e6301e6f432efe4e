"""Turn a rendered Markdown skeleton and its ledger of handles into blocks."""

from __future__ import annotations

from functools import cache, lru_cache

from markdown_it import MarkdownIt
from markdown_it.token import Token

from docgen.compose.handles import CLOSE, MARK, OPEN, Ledger
from docgen.findings import Finding, Where, error
from docgen.model.block import Block, Break, Items, Origin, Panel, Para, Piece, Table
from docgen.model.text import Run


@cache
def _parser() -> MarkdownIt:
    return MarkdownIt("zero").enable(["heading", "list", "blockquote", "hr", "table", "emphasis", "escape"])


@lru_cache(maxsize=48)
def _parsed(skeleton: str) -> tuple[Token, ...]:
    """The tokens of a skeleton: the same whatever its handles stand for, in every language and after every edit."""
    return tuple(_parser().parse(skeleton))


def blocks(skeleton: str, ledger: Ledger, file: str) -> tuple[tuple[Block, ...], list[Finding]]:
    """Parse the skeleton. Findings: marks that a template filter has damaged, handles printed twice in one line, …"""
    findings: list[Finding] = []
    marks = MARK.sub("", skeleton)
    if OPEN in marks or CLOSE in marks:
        line = next(n for n, text in enumerate(skeleton.splitlines(), 1) if OPEN in MARK.sub("", text))
        findings.append(
            error(
                "compose/text-cut",
                "the template cuts or changes a text of the protocol",
                Where(file, excerpt=f"line {line} of what the template printed"),
                hint="print texts as they are: no filters, slices or string methods on them",
            )
        )
        return (), findings
    stream = _Stream(_parsed(skeleton), ledger)
    return stream.until(""), findings


class _Stream:
    """The flat token list, read once from front to back."""

    def __init__(self, tokens: tuple[Token, ...], ledger: Ledger) -> None:
        self._tokens = tokens
        self._ledger = ledger
        self._at = 0

    def until(self, closing: str) -> tuple[Block, ...]:
        out: list[Block] = []
        while self._at < len(self._tokens):
            token = self._tokens[self._at]
            self._at += 1
            if token.type == closing:
                break
            out += self._block(token)
        return tuple(out)

    def _block(self, token: Token) -> list[Block]:
        match token.type:
            case "heading_open":
                return [Para(self._inline("heading_close"), int(token.tag[1:]))]
            case "paragraph_open":
                pieces = self._inline("paragraph_close")
                return [Para(pieces)] if pieces else []
            case "blockquote_open":
                return [Panel(self.until("blockquote_close"))]
            case "bullet_list_open":
                return [Items(self._items("bullet_list_close"))]
            case "ordered_list_open":
                return [Items(self._items("ordered_list_close"), ordered=True)]
            case "hr":
                return [Break()]
            case "table_open":
                return [self._table()]
        raise AssertionError(f"a token the parser was told not to make: {token.type}")

    def _items(self, closing: str) -> tuple[tuple[Block, ...], ...]:
        out = []
        while self._tokens[self._at].type != closing:
            self._at += 1  # list_item_open
            out.append(self.until("list_item_close"))
        self._at += 1
        return tuple(out)

    def _table(self) -> Table:
        rows: list[tuple[Para, ...]] = []
        cells: list[Para] = []
        while (token := self._tokens[self._at]).type != "table_close":
            self._at += 1
            if token.type in ("th_open", "td_open"):
                cells.append(Para(self._inline(token.type.replace("open", "close"))))
            elif token.type == "tr_close":
                rows.append(tuple(cells))
                cells = []
        self._at += 1
        return Table(rows[0], tuple(rows[1:]))

    def _inline(self, closing: str) -> tuple[Piece, ...]:
        pieces: list[Piece] = []
        while (token := self._tokens[self._at]).type != closing:
            self._at += 1
            strong = emphasis = False
            for child in token.children or ():
                match child.type:
                    case "strong_open" | "strong_close":
                        strong = child.type == "strong_open"
                    case "em_open" | "em_close":
                        emphasis = child.type == "em_open"
                    case "text" | "text_special":
                        pieces += self._pieces(child.content, strong, emphasis)
                    case "softbreak":
                        pieces.append(Piece((Run(" "),), Origin("word")))
        self._at += 1
        return tuple(pieces)

    def _pieces(self, content: str, strong: bool, emphasis: bool) -> list[Piece]:
        out: list[Piece] = []
        for n, part in enumerate(MARK.split(content)):
            if n % 2:
                said = self._ledger[int(part)]
                if not (strong or emphasis):
                    out += said
                    continue
                for piece in said:
                    runs = tuple(
                        Run(r.text, r.strong or strong, r.emphasis or emphasis, r.slot, r.isolate) for r in piece.runs
                    )
                    out.append(Piece(runs, piece.origin, piece.key, piece.language))
            elif part:
                out.append(Piece((Run(part, strong, emphasis),), Origin("word")))
        return out
