"""Turn YAML text into plain mappings, lists and strings, with the place of every one of them.

Nothing is guessed: every scalar stays the text that was typed (`no`, `1:30`, `2.10`). What YAML offers beyond mappings,
lists and text (tags, anchors, aliases, merge keys, several documents) is refused, so no file can name an object, blow
itself up or say something twice. Problems are collected, not raised; only broken syntax ends the reading.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import yaml

from docgen.findings import Finding, Where, error
from docgen.model.read import Path
from docgen.source.syntax import explain

MAX_BYTES = 1_000_000
MAX_DEPTH = 32
MAX_FINDINGS = 300
_LOADER: Any = getattr(yaml, "CLoader", yaml.Loader)  # only its event parser is used: no object is ever built
_BREAK = re.compile(r"\r\n|\r|\n")
_UNSAFE = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f"  # control characters
    "\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069"  # bidirectional controls: text that shows in another order
    "\u00ad\u200b\u2028\u2029\ufeff\ufff9-\ufffd\ufffe\uffff"  # invisible, line-breaking, or the trace of damage
    "\ud800-\udfff\ue000-\uf8ff\U000e0000-\U000e0fff\U000f0000-\U0010ffff]"  # halves, private use, invisible tags
)


class Nothing:
    """Stands for a value that was already reported, so that no second finding follows from the first."""

    def __repr__(self) -> str:
        return "NOTHING"


NOTHING = Nothing()
NOWHERE = Where()


@dataclass(slots=True)
class Opened:
    """A file through the door: `data` is made of dict, list, str and `NOTHING` only."""

    data: Any
    file: str
    lines: list[str]
    findings: list[Finding] = field(default_factory=list)
    positions: dict[Path, Where] = field(default_factory=dict)
    keys: dict[Path, Where] = field(default_factory=dict)
    spans: dict[Path, tuple[int, int, int]] = field(default_factory=dict)
    """Path of a scalar → its first line, column there (both from 0), and last line."""

    def where(self, line: int, column: int) -> Where:
        """A place given as line and column from 0."""
        excerpt = self.lines[line] if line < len(self.lines) else ""
        return Where(self.file, line + 1, column + 1, excerpt)

    def find(self, path: Path, fragment: str) -> Where:
        """Where `fragment` stands inside the scalar at `path`; the scalar itself if it is not there as typed."""
        line, column, last = self.spans.get(path, (0, 0, -1))
        if fragment:
            for n in range(line, min(last, len(self.lines) - 1) + 1):
                at = self.lines[n].find(fragment, column if n == line else 0)
                if at >= 0:
                    return self.where(n, at)
        return self.positions[path]


def open_text(source: str | bytes, file: str) -> Opened:
    """Read YAML; `data` is `NOTHING` when the text is unusable, and then there is at least one finding."""
    door = Opened(NOTHING, file, [])
    size = len(source) if isinstance(source, bytes) else len(source.encode("utf-8", "surrogatepass"))
    if size > MAX_BYTES:
        message = f"the file has {size:,} bytes; no more than {MAX_BYTES:,} are read"
        door.findings.append(error("source/too-large", message, Where(file), hint="split it into several protocols"))
        return door
    if isinstance(source, bytes):
        decoded = _decode(source, door)
        if decoded is None:
            return door
        source = decoded
    text = _clean(source.removeprefix("\ufeff"), door)
    if not text.strip():
        return _empty(door)
    try:
        _Composer(door).run(yaml.parse(text, Loader=_LOADER))
    except yaml.YAMLError as problem:
        message, hint, line, column = explain(problem, door.lines)
        door.data = NOTHING
        door.findings = [f for f in door.findings if f.rule != "source/empty-value"]  # likely a part of this
        door.findings.append(error("source/syntax", message, door.where(line, column), hint=hint))
    if door.data is NOTHING and not door.findings:
        return _empty(door)
    return door


def _empty(door: Opened) -> Opened:
    hint = "start from what `docgen new` writes"
    door.findings.append(error("source/empty", "the file says nothing", Where(door.file), hint=hint))
    return door


def _decode(source: bytes, door: Opened) -> str | None:
    try:
        return source.decode("utf-8")
    except UnicodeDecodeError as problem:
        before = source[: problem.start].decode("utf-8")
        door.lines = _BREAK.split(source.decode("utf-8", "replace"))
        line, column = _place(before)
        message = f"the byte `{source[problem.start]:#04x}` is not UTF-8"
        hint = "save the file as UTF-8 (plain text, Unicode)"
        door.lines = [_UNSAFE.sub("\ufffd", each) for each in door.lines]
        door.findings.append(error("source/not-utf-8", message, door.where(line, column), hint=hint))
        return None


def _place(before: str) -> tuple[int, int]:
    rows = _BREAK.split(before)
    return len(rows) - 1, len(rows[-1])


def _clean(text: str, door: Opened) -> str:
    """Report characters that must not be in a source, and put blanks in their place so that reading can go on."""
    bad = list(_UNSAFE.finditer(text))
    clean = _UNSAFE.sub(" ", text)
    door.lines = _BREAK.split(_UNSAFE.sub("\ufffd", text) if bad else text)
    for found in bad:
        line, column = _place(text[: found.start()])
        door.findings.append(_unsafe(found[0], door.where(line, column)))
        if len(door.findings) >= 20:
            break
    return clean


def _unsafe(character: str, where: Where) -> Finding:
    code = ord(character)
    name = unicodedata.name(character, "control character" if code < 0xA0 else "no character")
    return error(
        "source/unsafe-character",
        f"the character `U+{code:04X}` ({name.lower()}) is invisible or changes how text shows",
        where,
        hint="delete it, or type the word again",
    )


@dataclass(slots=True)
class _Frame:
    container: dict[str, Any] | list[Any]
    path: Path
    key: str | None = None
    key_where: Where = NOWHERE
    dead: bool = False
    """Below something already refused: walked over, not kept."""


class _Composer:
    """Builds the tree from parser events, without recursion."""

    def __init__(self, door: Opened) -> None:
        self.door = door
        self.stack: list[_Frame] = []
        self.documents = 0
        self.aliases: set[str] = set()
        """Names already reported: one finding is enough for each."""

    def say(self, rule: str, message: str, where: Where, hint: str) -> None:
        if len(self.door.findings) < MAX_FINDINGS:
            self.door.findings.append(error(f"source/{rule}", message, where, hint=hint))

    def run(self, events: Iterator[Any]) -> None:
        for event in events:
            kind = type(event)
            if kind is yaml.ScalarEvent:
                self.scalar(event)
            elif kind is yaml.MappingStartEvent:
                if not self.begin(event, {}):
                    return
            elif kind is yaml.SequenceStartEvent:
                if not self.begin(event, []):
                    return
            elif kind is yaml.MappingEndEvent or kind is yaml.SequenceEndEvent:
                self.stack.pop()
            elif kind is yaml.AliasEvent:
                self.alias(event)
            elif kind is yaml.DocumentStartEvent:
                self.documents += 1
                if self.documents > 1:
                    where = self.door.where(event.start_mark.line, event.start_mark.column)
                    self.say("several-documents", "a second document begins here", where, "keep one document in a file")
                    self.door.data = NOTHING
                    return

    def begin(self, event: Any, container: dict[str, Any] | list[Any]) -> bool:
        where = self.door.where(event.start_mark.line, event.start_mark.column)
        self.decoration(event, where)
        if len(self.stack) >= MAX_DEPTH:
            self.say("too-deep", f"nested deeper than {MAX_DEPTH} levels", where, "flatten what stands here")
            self.door.data = NOTHING
            return False
        top = self.stack[-1] if self.stack else None
        if top and isinstance(top.container, dict) and top.key is None:
            self.say("key", "a key must be a plain word", where, "put quotes round text that starts with `{` or `[`")
            self.stack.append(_Frame(container, (), dead=True))
            top.key, top.key_where = "", NOWHERE  # its value is walked over too
            return True
        path = self.put(container, where)
        self.stack.append(_Frame(container, path or (), dead=path is None))
        return True

    def scalar(self, event: Any) -> None:
        mark = event.start_mark
        where = self.door.where(mark.line, mark.column)
        self.decoration(event, where)
        plain = not event.style
        value = event.value
        top = self.stack[-1] if self.stack else None
        if top and isinstance(top.container, dict) and top.key is None:
            self.key(top, value, plain, where)
            return
        if event.style == '"':
            for bad in _UNSAFE.findall(value):
                self.door.findings.append(_unsafe(bad, where))
            value = _UNSAFE.sub(" ", value)
        if plain and value in ("", "~", "null", "Null", "NULL"):
            self.empty(top, where)
            return
        path = self.put(value, where)
        if path is not None:
            self.door.spans[path] = (mark.line, mark.column, event.end_mark.line)
            if plain:
                self.lost(event)

    def key(self, top: _Frame, value: str, plain: bool, where: Where) -> None:
        top.key, top.key_where = value, where
        if top.dead:
            return
        if plain and value == "<<":
            self.say("merge-key", "`<<` (a merge key) is not used here", where, "write the keys out")
            top.key = ""
        elif value in top.container:
            first = self.door.keys[(*top.path, value)]
            message = f"`{value}` is given twice; the first is on line {first.line}"
            self.say("duplicate-key", message, where, "keep one of the two")
            top.key = ""
        elif not value.strip():
            self.say("key", "a key is missing before `:`", where, "write the key, or put quotes round the text")
            top.key = ""

    def empty(self, top: _Frame | None, where: Where) -> None:
        if top and not top.dead and top.key != "":
            if isinstance(top.container, dict):
                message = f"nothing is given for `{top.key}`"
                self.say("empty-value", message, top.key_where, "write a value after it, or delete the line")
            else:
                self.say("empty-value", "this entry of the list is empty", where, "write a value, or delete the line")
        self.put(NOTHING, where)

    def alias(self, event: Any) -> None:
        where = self.door.where(event.start_mark.line, event.start_mark.column)
        if event.anchor not in self.aliases:
            message = f"`*{event.anchor}` is read as a YAML alias, and aliases are not used here"
            hint = "put quotes round text that starts with `*`; write repeated parts out"
            self.say("alias", message, where, hint)
        self.aliases.add(event.anchor)
        top = self.stack[-1] if self.stack else None
        if top and isinstance(top.container, dict) and top.key is None:
            top.key, top.key_where = "", where
        else:
            self.put(NOTHING, where)

    def decoration(self, event: Any, where: Where) -> None:
        """Tags and anchors: `!word` and `&word` before a value."""
        if event.tag is not None:
            tag = event.tag.replace("tag:yaml.org,2002:", "!!")
            self.say("tag", f"`{tag}` is read as a YAML tag, and tags are not used here", where,
                     "put quotes round text that starts with `!`, or delete the tag")  # fmt: skip
        if event.anchor is not None:
            self.say("anchor", f"`&{event.anchor}` is read as a YAML anchor, and anchors are not used here", where,
                     "put quotes round text that starts with `&`, or delete the anchor")  # fmt: skip

    def lost(self, event: Any) -> None:
        """`Glove #2` without quotes: YAML takes `#2` for a comment and the words would be lost in silence."""
        end = event.end_mark
        rest = self.door.lines[end.line][end.column :] if end.line < len(self.door.lines) else ""
        found = re.match(r"[ \t]+(#[^\s#!]\S*)", rest)
        if found:
            where = self.door.where(end.line, end.column + found.start(1))
            self.say("lost-words", f"everything from `{found[1]}` on is read as a comment", where,
                     "put quotes round the text, or a blank after `#` if it is a comment")  # fmt: skip

    def put(self, value: Any, where: Where) -> Path | None:
        """Hang a value where the parser stands; returns its path, or None if it is not kept."""
        if not self.stack:
            self.door.data = value
            self.door.positions[()] = where
            return ()
        top = self.stack[-1]
        if isinstance(top.container, dict):
            key, top.key = top.key, None
            if top.dead or key is None or key == "":
                return None
            path: Path = (*top.path, key)
            self.door.keys[path] = top.key_where
            top.container[key] = value
        else:
            if top.dead:
                return None
            path = (*top.path, len(top.container))
            top.container.append(value)
        self.door.positions[path] = where
        return path
