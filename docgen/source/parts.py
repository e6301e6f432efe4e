"""Turn a protocol into its parts: each with its path in the file and the condition under which an edition has it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from docgen.model.protocol import Protocol, Shape, Step
from docgen.model.read import Path
from docgen.model.text import Words
from docgen.source.conditions import Condition, both


@dataclass(frozen=True, slots=True)
class Part:
    """A step at its place."""

    path: Path
    step: Step
    condition: Condition
    """Its own `when` together with its branch's."""
    branch: str = ""


def condition_of(when: dict[str, tuple[str, ...]] | None, protocol: Protocol) -> Condition:
    """A `when` as a condition; what the protocol does not know is left out (it has its own finding)."""
    out = {}
    for option, choices in (when or {}).items():
        if option in protocol.options:
            known = [c for c in choices if c in protocol.options[option].choices]
            if known:
                out[option] = frozenset(known)
    return out


def parts(protocol: Protocol) -> Iterator[Part]:
    """Every step: the main path, then each branch."""
    for p, phase in enumerate(protocol.phases):
        for n, step in enumerate(phase.steps):
            yield Part(("phases", p, "steps", n), step, condition_of(step.when, protocol))
    for name, branch in protocol.branches.items():
        around = condition_of(branch.when, protocol)
        for n, step in enumerate(branch.steps):
            path = ("branches", name, "steps", n)
            yield Part(path, step, both(around, condition_of(step.when, protocol)), name)


def words(shape: Shape, path: Path = ()) -> Iterator[tuple[Path, Words]]:
    """Every authored text with its path, in the order of the model."""
    for name, info in type(shape).model_fields.items():
        yield from _words(getattr(shape, name), (*path, info.alias or name))


def _words(value: Any, path: Path) -> Iterator[tuple[Path, Words]]:
    if value is None or isinstance(value, str):
        return
    if isinstance(value, Words):
        yield path, value
    elif isinstance(value, Shape):
        yield from words(value, path)
    elif isinstance(value, tuple):
        for n, each in enumerate(value):
            yield from _words(each, (*path, n))
    elif isinstance(value, dict):
        for key, each in value.items():
            yield from _words(each, (*path, key))
