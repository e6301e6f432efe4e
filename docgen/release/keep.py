"""Turn the identity that a release keeps back into the edition it came from.

The types of the edition say how to read each value. Only the keys of its texts are not in it: they follow from where a
text stands, by the same names under which translators find it.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from types import UnionType
from typing import Any, get_args, get_origin, get_type_hints

from docgen.findings import Where
from docgen.model import edition as e
from docgen.model.release import Release, ReleasedEdition, Settings
from docgen.model.text import NO_TEXT, Text, Words, fill

Inline = Callable[[str], Words]
"""Parses authored words."""
KINDS = {e.Role: "role", e.Place: "place", e.Supply: "supply", e.Item: "item", e.Phase: "phase", e.Branch: "branch",
         e.Caution: "caution", e.Step: "step"}  # fmt: skip
"""Type of a part → first word of its keys."""
OWN = {"site_name": "site.name", "unit": "site.unit"}
"""Texts of the edition that do not begin with `protocol`."""


def revive(release: Release, kept: ReleasedEdition, inline: Inline) -> e.Edition:
    """The edition of one site in the source language, as it was released.

    Raises `ValueError`, `KeyError` or `TypeError` if what was kept is no edition.
    """
    content = {**kept.canonical}
    if content.pop("canonical", None) != 1:
        raise ValueError("another form of identity than this program knows")
    slots = dict(content.pop("values"))
    values = {slot: _text(kept.settings.keys[slot], source, inline, {}) for slot, source in slots.items()}
    runs = {slot: text.runs for slot, text in values.items()}
    reviver = _Reviver(lambda key, source: _text(key, source, inline, runs))
    options = content.pop("option_texts")
    edition = {
        name: reviver.value(hint, content[name], f"protocol.{_kebab(name)}", name)
        for name, hint in _hints(e.Edition).items()
        if name in content
    }
    approval = e.Approval(release.approved.by, release.approved.role, release.approved.on)
    return e.Edition(
        **edition, **_settings(kept.settings), approval=approval, status="released", values=tuple(values.items()),
        option_texts=tuple(reviver.options(edition["options"], options)), fingerprint=kept.fingerprint,
    )  # fmt: skip


def settings_of(edition: e.Edition) -> Settings:
    """What of an edition is not in its identity and is wanted to print it again."""
    return Settings(
        {artifact: (choice.sheet, choice.distance) for artifact, choice in edition.sheets}, edition.address,
        edition.speech_rate, edition.retraining, edition.pairs_with, edition.silenced,
        {slot: text.key for slot, text in edition.values},
    )  # fmt: skip


def _settings(s: Settings) -> dict[str, Any]:
    sheets = tuple((artifact, e.SheetChoice(*choice)) for artifact, choice in s.sheets.items())
    return {"sheets": sheets, "address": s.address, "speech_rate": s.rate, "retraining": s.retraining,
            "pairs_with": s.pairs, "silenced": s.silenced}  # fmt: skip


def _text(key: str, source: str, inline: Inline, values: Mapping) -> Text:
    if not source:
        return NO_TEXT
    words = inline(source)
    return Text(key, words.source, fill(words.runs, values), words.runs)


@cache
def _hints(shape: type) -> dict[str, Any]:
    return get_type_hints(shape)


def _kebab(name: str) -> str:
    return name.replace("_", "-")


class _Reviver:
    def __init__(self, text: Callable[[str, str], Text]) -> None:
        self._text = text

    def value(self, hint: Any, value: Any, key: str, name: str) -> Any:
        """A value of a type. `key`: the translation key of a text that stands here."""
        if hint is Text:
            return self._text(OWN.get(name, key), value)
        if hint is datetime.date:
            return datetime.date.fromisoformat(value)
        if get_origin(hint) is UnionType:
            return None if value is None else self.value(get_args(hint)[0], value, key, name)
        if get_origin(hint) is tuple:
            return self._tuple(get_args(hint), value, key, name)
        if isinstance(hint, type) and is_dataclass(hint):
            return self._part(hint, value, key)
        if not isinstance(value, hint):
            raise TypeError(f"`{name}` is no {hint.__name__}")
        return value

    def _tuple(self, hints: tuple, value: list, key: str, name: str) -> tuple:
        if len(hints) == 2 and hints[1] is Ellipsis:
            return tuple(self.value(hints[0], each, f"{key}.{n}", name) for n, each in enumerate(value, 1))
        if len(hints) != len(value):
            raise ValueError(f"`{name}` has {len(value)} parts")
        prefix = f"abbreviation.{value[0]}" if name == "abbreviations" else key
        return tuple(self.value(hint, each, prefix, name) for hint, each in zip(hints, value, strict=True))

    def _part(self, shape: type, value: Mapping, key: str) -> Any:
        prefix = f"{KINDS[shape]}.{value['id']}" if shape in KINDS else key
        hints = _hints(shape)
        given = {
            f.name: self.value(hints[f.name], value[f.name], _key(shape, prefix, f.name), f.name)
            for f in fields(shape)
            if hints[f.name] is not Where
        }
        return shape(**given)

    def options(self, chosen: tuple[tuple[str, str], ...], sources: list[str]):
        """The titles of options, and the names of the choices made."""
        keys = [k for option, choice in chosen for k in (f"option.{option}.title", f"choice.{option}.{choice}.name")]
        for key, source in zip(keys, sources, strict=True):
            yield self._text(key, source)


def _key(shape: type, prefix: str, name: str) -> str:
    """Key of a field: `step.x` and `done_when` → `step.x.done-when`."""
    step = prefix.split(".")[1] if prefix.count(".") else ""
    match shape, name:
        case e.Hold, "until":
            return prefix
        case e.Step, "time":
            return f"time.{step}"
        case e.Step, "acts":
            return f"act.{step}"
        case e.Act, "time":
            return prefix.replace("act.", "time.", 1)
        case e.Act, "words":
            return prefix
        case _:
            return f"{prefix}.{_kebab(name)}"
