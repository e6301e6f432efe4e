"""Turn the model into JSON Schema, for the completion and the checks of an editor."""

from __future__ import annotations

from typing import Any

from docgen.model.protocol import Protocol, Shape
from docgen.model.site import Site

DIALECT = "https://json-schema.org/draft/2020-12/schema"
SHAPES: dict[str, tuple[type[Shape], str]] = {"protocol": (Protocol, "Protocol"), "site": (Site, "Site")}


def schema(name: str) -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of a `protocol` or a `site` file. `KeyError` for any other name."""
    shape, title = SHAPES[name]
    made = _tidy(shape.model_json_schema(by_alias=True))
    return {"$schema": DIALECT, "title": title, **made}


def _tidy(node: Any) -> Any:
    """Without what pydantic adds for itself: titles from key names, and null beside what may be left out.

    A key that is given must have a value; `null` is refused by the reader too.
    """
    if isinstance(node, list):
        return [_tidy(each) for each in node]
    if not isinstance(node, dict):
        return node
    out: dict[str, Any] = {}
    for key, value in node.items():
        if key in ("properties", "$defs"):
            out[key] = {name: _tidy(each) for name, each in value.items()}
        elif key == "title" or (key == "default" and value is None):
            continue
        else:
            out[key] = _tidy(value)
    if "anyOf" in out:
        choices = [each for each in out.pop("anyOf") if each != {"type": "null"}]
        out = {**choices[0], **out} if len(choices) == 1 else {**out, "anyOf": choices}
    if "patternProperties" in out:
        out["additionalProperties"] = False
    return out
