"""Turn `glossary.yaml` into a `Glossary`, with everything that is wrong with it at its place."""

from __future__ import annotations

import re
from typing import Any

from docgen.findings import error
from docgen.model.glossary import Glossary, Term, Usage
from docgen.model.read import Path, Read
from docgen.model.scalar import LANGUAGE
from docgen.source.door import NOTHING, Opened, open_text
from docgen.source.suggest import did_you_mean

_TERM = ("term", "also", "note", "keep", "in")
_USAGE = ("use", "never")


def read_glossary(text: str, file: str) -> Read[Glossary]:
    """Read a glossary. Never raises; `value` is None after an error."""
    door = open_text(text, file)
    terms: list[Term] = []
    if door.data is not NOTHING:
        listed = door.data.get("terms") if isinstance(door.data, dict) else None
        if not isinstance(listed, list) or len(door.data) > 1:
            _wrong(door, (), "a glossary is a list of `terms`", "write `terms:`, and one `- term:` for each below it")
        else:
            seen: set[str] = set()
            for n, given in enumerate(listed):
                if term := _term(given, ("terms", n), door):
                    if term.term.casefold() in seen:
                        _wrong(door, ("terms", n), f"`{term.term}` is there twice", "keep one of the two")
                    seen.add(term.term.casefold())
                    terms.append(term)
    findings = tuple(dict.fromkeys(door.findings))
    return Read(None if findings else Glossary(tuple(terms)), findings, door.positions, text, file, door.keys)


def _term(given: Any, path: Path, door: Opened) -> Term | None:
    if not isinstance(given, dict) or not isinstance(given.get("term"), str):
        _wrong(door, path, "an entry with a `term` was expected", "write `- term: hand rub`")
        return None
    _known(given, _TERM, path, door)
    keep = given.get("keep", "false")
    if keep not in ("true", "false"):
        _wrong(door, (*path, "keep"), f"`{keep}` is neither `true` nor `false`", "write `keep: true`, or delete it")
    usages: list[Usage] = []
    spoken = given.get("in", {})
    if spoken is not NOTHING and not isinstance(spoken, dict):
        _wrong(door, (*path, "in"), "languages were expected", "write `in: {es: {use: [guante]}}`")
        spoken = {}
    for tag, said in spoken.items() if isinstance(spoken, dict) else ():
        here = (*path, "in", tag)
        if not re.fullmatch(LANGUAGE, tag):
            _wrong(door, here, f"`{tag}` is not a language tag", "write `es` or `zh-Hans`")
        elif not isinstance(said, dict):
            _wrong(door, here, "`use` or `never` was expected", "write `{use: [guante], never: [manopla]}`")
        else:
            _known(said, _USAGE, here, door)
            usages.append(Usage(tag, *(_words(said.get(k, []), (*here, k), door) for k in _USAGE)))
    note = given.get("note", "")
    also = _words(given.get("also", []), (*path, "also"), door)
    where = door.positions[(*path, "term")]
    return Term(given["term"], also, note if isinstance(note, str) else "", keep == "true", tuple(usages), where)


def _known(given: dict[str, Any], keys: tuple[str, ...], path: Path, door: Opened) -> None:
    for key in given.keys() - set(keys):
        where, hint = door.keys[(*path, key)], did_you_mean(key, keys)
        door.findings.append(error("source/unknown-key", f"`{key}` is not a key here", where, hint=hint))


def _words(given: Any, path: Path, door: Opened) -> tuple[str, ...]:
    listed = [given] if isinstance(given, str) else given
    if listed is NOTHING:
        return ()
    if not isinstance(listed, list) or not all(isinstance(w, str) and w.strip("* ") for w in listed):
        _wrong(door, path, "a list of words was expected", "write `[one, two]`")
        return ()
    return tuple(listed)


def _wrong(door: Opened, path: Path, message: str, hint: str) -> None:
    where = door.positions.get(path) or door.keys.get(path) or door.where(0, 0)
    door.findings.append(error("source/wrong-kind", message, where, hint=hint))
