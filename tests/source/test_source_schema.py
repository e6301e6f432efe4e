"""The JSON Schema and the model say the same, and the shipped files keep to both."""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from pydantic import ValidationError

from docgen.model.protocol import VERBS, Protocol
from docgen.model.site import Site
from docgen.source import inline, schema, starter

HOME = Path(__file__).parents[2] / "protocols"
VALIDATORS = {name: Draft202012Validator(schema(name)) for name in ("protocol", "site")}
SHAPES = {"protocol": Protocol, "site": Site}
FILES = [
    *((p, "protocol") for p in sorted(HOME.glob("*.yaml"))),
    *((p, "site") for p in sorted(HOME.glob("sites/*.yaml"))),
]

CORE = (
    # YAML 1.2.2, section 10.3.2, tag resolution of the core schema: what an editor takes plain scalars for
    (re.compile(r"null|Null|NULL|~|"), lambda text: None),
    (re.compile(r"true|True|TRUE|false|False|FALSE"), lambda text: text.lower() == "true"),
    (re.compile(r"[-+]?[0-9]+"), int),
    (re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?"), float),
)


def core(node: yaml.Node) -> Any:
    """A node as YAML 1.2 reads it."""
    if isinstance(node, yaml.MappingNode):
        return {key.value: core(value) for key, value in node.value}
    if isinstance(node, yaml.SequenceNode):
        return [core(each) for each in node.value]
    if node.style is None:
        return typed(node.value)
    return node.value


def typed(text: str) -> Any:
    return next((make(text) for form, make in CORE if form.fullmatch(text)), text)


def as_typed(data: Any) -> Any:
    """Texts as an editor takes them, if they were written without quotes."""
    if isinstance(data, dict):
        return {key: as_typed(value) for key, value in data.items()}
    return [as_typed(each) for each in data] if isinstance(data, list) else typed(data)


def accepted(name: str, data: Any) -> bool:
    try:
        SHAPES[name].model_validate(data, context={"inline": inline}, by_alias=True, by_name=False)
    except ValidationError:
        return False
    return True


@pytest.mark.parametrize("name", ["protocol", "site"])
def test_the_schemas_are_valid_schemas(name: str) -> None:
    """By the metaschema of draft 2020-12, as the jsonschema library has it."""
    Draft202012Validator.check_schema(schema(name))
    assert schema(name)["$schema"] == "https://json-schema.org/draft/2020-12/schema"


@pytest.mark.parametrize("name", ["protocol", "site"])
def test_the_shipped_schema_files_are_up_to_date(name: str, update_goldens: bool) -> None:
    """What editors read beside the protocols is what `docgen schema` prints; `--update-goldens` writes it."""
    path = HOME / "schema" / f"{name}.schema.json"
    text = json.dumps(schema(name), indent=1, ensure_ascii=False) + "\n"
    if update_goldens:
        path.write_text(text, "utf-8")
    assert path.read_text("utf-8") == text


@pytest.mark.parametrize(("path", "name"), FILES, ids=lambda v: getattr(v, "stem", ""))
def test_every_shipped_file_is_valid(path: Path, name: str) -> None:
    """Read by the rules of YAML 1.2, as editors do, and validated by the jsonschema library."""
    text = path.read_text("utf-8")
    assert re.match(r"# yaml-language-server: \$schema=(\S+)\n", text)
    target = re.match(r"# yaml-language-server: \$schema=(\S+)\n", text)[1]
    assert (path.parent / target).resolve() == HOME / "schema" / f"{name}.schema.json"
    assert [e.message for e in VALIDATORS[name].iter_errors(core(yaml.compose(text)))] == []


def test_the_starter_is_valid() -> None:
    """Its first line promises it."""
    assert [e.message for e in VALIDATORS["protocol"].iter_errors(core(yaml.compose(starter("a"))))] == []


@pytest.mark.parametrize("name", ["protocol", "site"])
def test_every_key_is_explained(name: str) -> None:
    """Completion without a word of help would teach nothing."""

    def objects(node: Any) -> Iterator[dict]:
        if isinstance(node, dict):
            if "properties" in node:
                yield node
            for value in node.values():
                yield from objects(value)
        elif isinstance(node, list):
            for value in node:
                yield from objects(value)

    found = list(objects(schema(name)))
    assert len(found) >= 6
    for each in found:
        assert each["additionalProperties"] is False
        assert each["description"]
        for key, value in each["properties"].items():
            assert value.get("description") or "$ref" in value, key
            assert {"type": "null"} not in value.get("anyOf", [])


# --- schema and model agree ---------------------------------------------------------------------------------

SMALL = [(path, name) for path, name in FILES if path.stat().st_size < 10_000]
BASES = [
    *((name, yaml.BaseLoader(path.read_text("utf-8")).get_single_data()) for path, name in SMALL),
    ("protocol", yaml.BaseLoader(starter("a")).get_single_data()),
]


def spots(data: Any, path: tuple = ()) -> Iterator[tuple]:
    yield path
    inner = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in inner:
        yield from spots(value, (*path, key))


SPOTS = [list(spots(data)) for _, data in BASES]


def at(data: Any, path: tuple) -> Any:
    for step in path:
        data = data[step]
    return data


def test_the_bases_are_good() -> None:
    """Both accept what the mutations start from."""
    for name, data in BASES:
        assert accepted(name, data)
        assert VALIDATORS[name].is_valid(as_typed(data))


REPLACEMENTS: list[Any] = [
    *("zz-unknown", "Not A Name", "7", "0", "-3", "2.5", "true", "2026-01-01", "", "en"),
    *([], {}, ["x"], [["x"]], {"x": "y"}, ["a", "a"], ["5", "9"], ["en"]),
]


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_schema_and_model_agree_on_mutations(data: st.DataObject) -> None:
    """A key dropped, added or renamed, a value replaced by another kind: both accept or both refuse."""
    n = data.draw(st.integers(0, len(BASES) - 1))
    name, base = BASES[n]
    changed = json.loads(json.dumps(base))
    for _ in range(data.draw(st.integers(1, 2))):
        path = data.draw(st.sampled_from(SPOTS[n]))
        try:
            here = at(changed, path)
        except (KeyError, IndexError, TypeError):
            continue
        kind = data.draw(st.sampled_from(["replace", "drop", "add", "rename"]))
        if kind == "replace" and path:
            at(changed, path[:-1])[path[-1]] = data.draw(st.sampled_from(REPLACEMENTS))
        elif kind == "drop" and path:
            del at(changed, path[:-1])[path[-1]]
        elif kind == "add" and isinstance(here, dict):
            here[data.draw(st.sampled_from(["zz", "done_when", "Zz Z", "when", "name", "id", "rejoin", *VERBS]))] = "x"
        elif kind == "rename" and isinstance(here, dict) and here:
            key = data.draw(st.sampled_from(sorted(here)))
            here[data.draw(st.sampled_from([key + "x", key.replace("-", "_"), key.title()]))] = here.pop(key)
    # The one known gap: an editor cannot tell `2.0` from `2`, so the schema takes any number for a version.
    assume(not (isinstance(changed, dict) and changed.get("version") in ("7", "0", "-3")))
    by_schema = VALIDATORS[name].is_valid(as_typed(changed))
    by_model = accepted(name, changed)
    assert by_schema == by_model, [e.message for e in VALIDATORS[name].iter_errors(as_typed(changed))][:3]


def test_one_verb_an_act() -> None:
    """No verb, one verb, two verbs: refused, accepted, refused, by both."""
    name, base = BASES[0]
    act = next(p for p in SPOTS[0] if len(p) > 2 and p[-2] == "acts")
    for verbs, good in [({}, False), ({"remove": "hood"}, True), ({"remove": "hood", "note": "x"}, False)]:
        changed = copy.deepcopy(base)
        at(changed, act[:-1])[act[-1]] = verbs
        assert accepted(name, changed) is good
        assert VALIDATORS[name].is_valid(as_typed(changed)) is good
