"""Turn `when` clauses into answers: can it ever hold, does one imply another, which choice lacks something.

A condition maps an option to the choices under which a part belongs to the edition; options it does not name are free.
Everything is exact: combinations of the few options involved are tried out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import product
from math import prod

Condition = Mapping[str, frozenset[str]]
Universe = Mapping[str, tuple[str, ...]]
"""Option → all its choices."""

ALWAYS: Condition = {}


def both(first: Condition, second: Condition) -> Condition:
    """Under which both hold; an option without choices left means never."""
    out = dict(first)
    for option, choices in second.items():
        out[option] = out[option] & choices if option in out else choices
    return out


def never(condition: Condition) -> str:
    """An option for which no choice is left, or empty when the condition can hold."""
    return next((option for option, choices in condition.items() if not choices), "")


def holds(condition: Condition, chosen: Mapping[str, str]) -> bool:
    """Whether it holds under these choices."""
    return all(chosen.get(option) in choices for option, choices in condition.items())


MOST = 20_000
"""Combinations tried for one question; a list of parts under more options than that is not judged here."""


def lacking(condition: Condition, alternatives: Iterable[Condition], universe: Universe) -> dict[str, str] | None:
    """Choices under which `condition` holds but none of `alternatives` does; None when there are none."""
    alternatives = list(alternatives)
    if any(not a for a in alternatives):
        return None
    if len(alternatives) == 1:
        for option, allowed in alternatives[0].items():
            for choice in universe[option]:
                if choice not in allowed and (option not in condition or choice in condition[option]):
                    return {option: choice}
        return None
    involved = sorted({o for a in alternatives for o in a} | set(condition))
    sets = [[c for c in universe[o] if o not in condition or c in condition[o]] for o in involved]
    if prod(map(len, sets)) > MOST:
        return None
    for choices in product(*sets):
        chosen = dict(zip(involved, choices, strict=True))
        if not any(holds(a, chosen) for a in alternatives):
            return chosen
    return None


def told(chosen: Mapping[str, str]) -> str:
    """`apron` is `none` and `garment` is `gown`."""
    return " and ".join(f"`{option}` is `{choice}`" for option, choice in chosen.items())
