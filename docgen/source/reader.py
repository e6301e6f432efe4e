"""Turn the text of a source file into a Protocol or a Site, with everything that is wrong with it at its place."""

from __future__ import annotations

from typing import Any, TypeVar

from pydantic import ValidationError

from docgen.findings import Finding, Where, error, has_errors
from docgen.model.protocol import Protocol, Shape
from docgen.model.read import Path, Read
from docgen.model.site import Site
from docgen.source.complaints import findings_of
from docgen.source.door import NOTHING, Opened, open_text
from docgen.source.words import inline

MOST = 100
"""Findings shown for one file; past this a reader is served better by mending some first."""

S = TypeVar("S", bound=Shape)


def read_protocol(text: str | bytes, file: str) -> Read[Protocol]:
    """Read a protocol. `file` is only named in findings. Never raises; `value` is None after an error."""
    return read(Protocol, text, file)


def read_site(text: str | bytes, file: str) -> Read[Site]:
    """Read a site. `file` is only named in findings. Never raises; `value` is None after an error."""
    return read(Site, text, file)


def read(shape: type[S], source: str | bytes, file: str) -> Read[S]:
    """Read any YAML file whose shape is a `Shape`, through the same door: layouts, glossaries, word lists."""
    door = open_text(source, file)
    value = None
    if door.data is not NOTHING:
        skip: set[Path] = set()
        data = _without_nothing(door.data, (), skip)
        try:
            value = shape.model_validate(data, context={"inline": inline}, by_alias=True, by_name=False)
        except ValidationError as problem:
            door.findings = _merged(door, findings_of(problem, shape, door, skip), skip)
    if has_errors(door.findings):
        value = None
    text = source if isinstance(source, str) else source.decode("utf-8", "replace")
    return Read(value, _ordered(door), door.positions, text, file, door.keys)


def _without_nothing(data: Any, path: Path, skip: set[Path]) -> Any:
    """The data with what was already reported left out; `skip` collects those paths."""
    if isinstance(data, dict):
        out = {}
        for key, value in data.items():
            if value is NOTHING:
                skip.add((*path, key))
            else:
                out[key] = _without_nothing(value, (*path, key), skip)
        return out
    if isinstance(data, list):
        # A gap in a list would move every later index away from its position, so it stays, as an empty text.
        skip.update((*path, n) for n, value in enumerate(data) if value is NOTHING)
        return ["" if v is NOTHING else _without_nothing(v, (*path, n), skip) for n, v in enumerate(data)]
    return data


def _merged(door: Opened, more: list[Finding], skip: set[Path]) -> list[Finding]:
    """All findings, but not "nothing is given" inside something that should not be a mapping at all (`{hand-rub}`)."""
    wrong = {f.where for f in more if f.rule == "source/wrong-kind"}
    inside = {
        door.keys[path]
        for path in skip
        if path in door.keys and any(door.positions.get(path[:n]) in wrong for n in range(1, len(path)))
    }
    return [f for f in door.findings if not (f.rule == "source/empty-value" and f.where in inside)] + more


def _ordered(door: Opened) -> tuple[Finding, ...]:
    """In reading order, without repeats, and not more than anybody can read."""
    found = sorted(dict.fromkeys(door.findings), key=lambda f: (f.where.line, f.where.column))
    if len(found) > MOST:
        more = f"only the first {MOST} problems of this file are shown"
        return (*found[:MOST], error("source/more", more, Where(door.file), hint="mend these first"))
    return tuple(found)
