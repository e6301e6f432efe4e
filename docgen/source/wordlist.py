"""Turn a language's `words.yaml` into a `WordList`, with everything that is wrong with it at its place."""

from __future__ import annotations

from dataclasses import fields
from typing import Any, get_type_hints

from docgen.findings import Finding, Where, error
from docgen.model.read import Path, Read
from docgen.model.wordlist import Vague, WordList
from docgen.source.complaints import did_you_mean
from docgen.source.door import NOTHING, Opened, open_text

MAX_ENTRIES = 2000
"""Entries in one list; a longer one would make the patterns built from it slow."""
_AS_TYPED = frozenset({"units", "abbreviations", "unit_names", "signal_words"})
"""Lists in which capitals mean something."""
_TYPES = get_type_hints(WordList)
_KEYS = {f.name.replace("_", "-"): f.name for f in fields(WordList)}
_VAGUE_KEYS = tuple(f.name.replace("_", "-") for f in fields(Vague))


def read_wordlist(text: str | bytes, file: str) -> Read[WordList]:
    """Read a word list. `file` is only named in findings. Never raises; `value` is None after an error."""
    door = open_text(text, file)
    values: dict[str, Any] = {}
    if door.data is not NOTHING:
        if isinstance(door.data, dict):
            _keys(door, values)
        else:
            _wrong(
                door, (), "a word list is made of keys with values", "write `language: en`, and lists of words below"
            )
    value = WordList(**values) if not door.findings else None
    found = tuple(sorted(dict.fromkeys(door.findings), key=lambda f: (f.where.line, f.where.column)))
    text = text if isinstance(text, str) else text.decode("utf-8", "replace")
    return Read(value, found, door.positions, text, file, door.keys)


def _keys(door: Opened, values: dict[str, Any]) -> None:
    for key, given in door.data.items():
        if key not in _KEYS:
            hint = did_you_mean(key, _KEYS, "the keys are " + ", ".join(f"`{k}`" for k in _KEYS))
            door.findings.append(
                error("source/unknown-key", f"`{key}` is not a key of a word list", door.keys[(key,)], hint=hint)
            )
        elif given is not NOTHING:
            values[_KEYS[key]] = _value(_KEYS[key], given, (key,), door)
    if "language" not in door.data:
        message = "`language` is missing in this word list"
        door.findings.append(error("source/missing", message, Where(door.file, 1, 1), hint="add `language: en`"))


def _value(name: str, given: Any, path: Path, door: Opened) -> Any:
    if name == "language":
        return _text(given, path, door)
    if name == "vague":
        return tuple(_vague(each, (*path, n), door) for n, each in enumerate(_list(given, path, door)))
    if name == "shortenings":
        if not isinstance(given, dict):
            return _wrong(
                door, path, "short forms and what to write instead were expected", "write `e.g.: for example`"
            )
        return tuple((short, _text(long, (*path, short), door)) for short, long in given.items())
    if name in ("unit_names", "signal_words"):
        if not isinstance(given, dict):
            return _wrong(door, path, "names with lists of words were expected", "write `second: [s, sec]`")
        return tuple((key, _words(name, each, (*path, key), door)) for key, each in given.items())
    if name in ("synonyms", "same_verbs"):
        return tuple(_words(name, each, (*path, n), door) for n, each in enumerate(_list(given, path, door)))
    words = _words(name, given, path, door)
    return words if _TYPES[name] == tuple[str, ...] else frozenset(words)


def _vague(given: Any, path: Path, door: Opened) -> Vague:
    hint = "write `words: [as needed]` and `mend: say when`"
    if not isinstance(given, dict) or "words" not in given or "mend" not in given:
        _wrong(door, path, "an entry with `words` and `mend` was expected", hint)
        return Vague((), "")
    for key in given.keys() - set(_VAGUE_KEYS):
        where = door.keys[(*path, key)]
        message = f"`{key}` is not a key of a vague entry"
        door.findings.append(error("source/unknown-key", message, where, hint=did_you_mean(key, _VAGUE_KEYS)))
    return Vague(
        _words("vague", given["words"], (*path, "words"), door),
        _text(given["mend"], (*path, "mend"), door),
        _words("vague", given.get("unless", []), (*path, "unless"), door),
        _flag(given, "instructions", path, door),
        _flag(given, "before-number", path, door),
    )


def _flag(given: dict[str, Any], key: str, path: Path, door: Opened) -> bool:
    flag = given.get(key, "no")
    if flag not in ("yes", "no"):
        _wrong(door, (*path, key), f"`{flag}` is neither `yes` nor `no`", "write `yes` or `no`")
    return flag == "yes"


def _words(name: str, given: Any, path: Path, door: Opened) -> tuple[str, ...]:
    out = []
    for n, each in enumerate(_list(given, path, door)):
        word = _text(each, (*path, n), door)
        if name not in _AS_TYPED and word != word.lower():
            message = f"`{word}` has a capital letter and would match nothing"
            _wrong(door, (*path, n), message, f"write `{word.lower()}`")
        out.append(word)
    return tuple(out)


def _list(given: Any, path: Path, door: Opened) -> list[Any]:
    if not isinstance(given, list):
        _wrong(door, path, f"a list was expected for `{path[-1]}`", "write `[one, two]`")
        return []
    if len(given) > MAX_ENTRIES:
        _wrong(door, path, f"{len(given)} entries; no more than {MAX_ENTRIES} are read", "shorten the list")
        return []
    return given


def _text(given: Any, path: Path, door: Opened) -> str:
    if isinstance(given, str):
        if given.strip():
            return given
        _wrong(door, path, "an entry is empty", "delete it, or write a word")
    elif given is not NOTHING:
        _wrong(door, path, "a word was expected here", "write plain words, in quotes if they hold `: `")
    return ""


def _wrong(door: Opened, path: Path, message: str, hint: str) -> Any:
    where = door.positions.get(path) or door.keys.get(path) or Where(door.file)
    finding: Finding = error("source/wrong-kind", message, where, hint=hint)
    door.findings.append(finding)
    return ()
