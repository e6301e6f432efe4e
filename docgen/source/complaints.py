"""Turn pydantic's errors into findings: at the key or the value, in plain words, with the likely correction."""

from __future__ import annotations

import re
from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin

from pydantic import ValidationError

from docgen.findings import Finding, error
from docgen.model.protocol import Shape
from docgen.model.read import Path
from docgen.source.door import Opened
from docgen.source.suggest import close, did_you_mean, one_of

MOST = 300
"""Errors worded for one file; more are never shown."""


def findings_of(problem: ValidationError, shape: type[Shape], door: Opened, skip: set[Path]) -> list[Finding]:
    """One finding for each thing wrong (several for words with several flaws). Paths in `skip` were reported before."""
    out: list[Finding] = []
    items = problem.errors(include_url=False)
    meant = {loc for item in items[:MOST] if (loc := _meant(item, shape))}
    for item in items:
        loc = tuple(part for part in item["loc"] if part != "[key]")
        if loc in skip or (item["type"] == "missing" and loc in meant):
            continue
        if item["type"] == "too_short" and len(item["input"]) >= item["ctx"]["min_length"]:
            continue  # pydantic counts only the entries that are right; each wrong one has its own finding
        if len(out) >= MOST:
            break
        out += _finding(item, loc, "[key]" in item["loc"], shape, door)
    return out


def _meant(item: Any, shape: type[Shape]) -> Path | None:
    """Where a misspelt key would belong, so that the key it was meant for is not called missing too."""
    loc = tuple(item["loc"])
    owner = _shape_at(shape, loc[:-1]) if item["type"] == "extra_forbidden" else None
    near = close(str(loc[-1]), _keys(owner)) if owner else ""
    return (*loc[:-1], near) if near else None


def _finding(item: Any, loc: Path, about_key: bool, shape: type[Shape], door: Opened) -> list[Finding]:
    kind, ctx, given = item["type"], item.get("ctx", {}), item["input"]
    here = door.keys.get(loc) if about_key else door.positions.get(loc)
    parent = loc[:-1]
    name = str(loc[-1]) if loc else ""
    label = next((f"`{p}`" for p in reversed(parent if about_key else loc) if isinstance(p, str)), "this file")

    if kind == "missing":
        around = door.keys.get(parent) or door.positions[parent]
        meaning = _meaning(_shape_at(shape, parent), name)
        hint = f"add `{name}:`" + (f" ({meaning})" if meaning else "")
        return [error("source/missing", f"`{name}` is missing in {_called(shape, parent)}", around, hint=hint)]
    if kind == "extra_forbidden":
        owner = _shape_at(shape, parent)
        keys = _keys(owner) if owner else []
        message = f"`{name}` is not a key of {_called(shape, parent)}"
        listed = f"use {one_of(keys)}" if len(keys) <= 12 else "delete it; the keys are listed by `docgen schema`"
        hint = did_you_mean(name, keys, listed)
        return [error("source/unknown-key", message, door.keys[loc], hint=hint)]
    if here is None:
        here = door.positions.get(loc) or door.positions.get(parent) or door.positions[()]
    if kind == "value_error" and hasattr(ctx.get("error"), "flaws"):
        flaws = ctx["error"].flaws
        return [error("source/words", flaw.message, door.find(loc, flaw.fragment), hint=flaw.hint) for flaw in flaws]
    known = _known(shape, loc)
    if about_key and kind == "literal_error":
        message = f"`{name}` is not a key of {label}"
        return [error("source/unknown-key", message, here, hint=did_you_mean(name, known))]
    rule, message, hint = _say(kind, ctx, given, label, item["msg"], known)
    return [error(f"source/{rule}", message, here, hint=hint)]


def _say(kind: str, ctx: Any, given: Any, label: str, said: str, known: list[str]) -> tuple[str, str, str]:
    """Rule, message and hint for an error about a value or a key."""
    shown = f"`{given}`" if isinstance(given, (str, int, float)) and len(str(given)) <= 60 else "this"
    containers: dict[type, str] = {dict: "a mapping", list: "a list"}
    got = containers.get(type(given), f"the text {shown}")
    if kind == "literal_error":
        return "unknown-value", f"{shown} is not a value of {label}", did_you_mean(str(given), known)
    if kind in ("string_type", "text", "words"):
        hint = f"write one text after {label}"
        if isinstance(given, dict):
            hint += ", with quotes round it if it starts with `{` or holds `: `"
        return "wrong-kind", f"one text was expected for {label}, not {got}", hint
    if kind in ("dict_type", "model_type", "model_attributes_type"):
        hint = "write `key: value` lines below it"
        return "wrong-kind", f"keys with values were expected in {label}, not {got}", hint
    if kind in ("tuple_type", "list_type"):
        return "wrong-kind", f"a list was expected for {label}, not {got}", "write one `- ` line for each entry"
    if kind == "name":
        slug = re.sub(r"[^a-z0-9]+", "-", str(given).lower()).strip("-")
        return "name", f"{shown} is not a name: lower-case words joined by hyphens", f"write `{slug}`" if slug else said
    if kind == "too_short":
        return "empty-value", f"{label} has no entries", "write at least one, or delete the key"
    if kind == "too_long":
        return "wrong-kind", f"{label} takes at most {ctx['max_length']} entries", "shorten the list"
    if kind in ("greater_than_equal", "greater_than"):
        limit = ctx.get("ge", ctx.get("gt"))
        return "out-of-range", f"{shown} is too small for {label}", f"write a number from {limit} up"
    if kind in ("less_than_equal", "less_than"):
        limit = ctx.get("le", ctx.get("lt"))
        return "out-of-range", f"{shown} is too large for {label}", f"write a number up to {limit}"
    if kind == "string_too_short":
        return "too-short", f"{shown} is too short for {label}", f"write at least {ctx['min_length']} characters"
    if kind == "string_too_long":
        return "too-long", f"{shown} is too long for {label}", f"write at most {ctx['max_length']} characters"
    if "hint" in ctx:  # one of the model's own, worded there
        return kind, said, ctx["hint"]
    if type(given) in containers:
        return "wrong-kind", f"one value was expected for {label}, not {got}", f"write one value after {label}"
    if kind.startswith(("int", "float", "bool")):
        what = {"i": "a whole number", "f": "a number", "b": "`true` or `false`"}[kind[0]]
        return "number", f"{shown} is not {what}", f"write {what} for {label}"
    if kind == "string_pattern_mismatch":
        return "form", f"{shown} is not what {label} looks like", f"write it in the form `{ctx['pattern']}`"
    return "value", f"{shown} is not a value of {label}", "see what `docgen schema` says of it"


# --- looking into the model ---------------------------------------------------------------------------------


def _unwrap(annotation: Any) -> Any:
    """Through Annotated and Optional to the type itself."""
    while True:
        if hasattr(annotation, "__metadata__"):
            annotation = annotation.__origin__
        elif get_origin(annotation) in (Union, UnionType):
            annotation = next(a for a in get_args(annotation) if a is not type(None))
        else:
            return annotation


def _annotation_at(shape: Any, path: Path) -> Any:
    """The type a path leads to, or None when the model does not go there."""
    here = shape
    for part in path:
        here = _unwrap(here)
        origin = get_origin(here)
        if isinstance(here, type) and issubclass(here, Shape):
            found = next((f for f in here.model_fields.values() if f.alias == part), None)
            here = found.annotation if found else None
        elif origin is dict:
            here = get_args(here)[1]
        elif origin is tuple:
            here = get_args(here)[0]
        else:
            return None
    return _unwrap(here)


def _shape_at(shape: type[Shape], path: Path) -> type[Shape] | None:
    found = _annotation_at(shape, path)
    return found if isinstance(found, type) and issubclass(found, Shape) else None


def _called(shape: type[Shape], path: Path) -> str:
    """What to call the mapping at a path: `the step`, `this protocol`."""
    found = _shape_at(shape, path)
    return f"this {_words(found.__name__)}" if found else "this"


def _words(name: str) -> str:
    return re.sub(r"(?<=[a-z])([A-Z])", r" \1", name).lower()


def _keys(shape: type[Shape]) -> list[str]:
    return [f.alias or name for name, f in shape.model_fields.items()]


def _meaning(shape: type[Shape] | None, key: str) -> str:
    """The first sentence of a field's description."""
    if shape is None:
        return ""
    text = next((f.description or "" for f in shape.model_fields.values() if f.alias == key), "")
    return text.split(". ")[0].rstrip(".")


def _known(shape: type[Shape], path: Path) -> list[str]:
    """The closed set of values at a path, if there is one."""
    found = _annotation_at(shape, path)
    if get_origin(found) is Literal:
        return [str(a) for a in get_args(found)]
    parent = _annotation_at(shape, path[:-1])
    if get_origin(parent) is dict:  # a key out of a closed set
        keys = _unwrap(get_args(parent)[0])
        return [str(a) for a in get_args(keys)] if get_origin(keys) is Literal else []
    return []
