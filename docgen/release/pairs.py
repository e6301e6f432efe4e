"""Turn two lists of parts into pairs of the same part, by id and, where an id was renamed, by what it says."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Sequence
from difflib import SequenceMatcher
from typing import Protocol, TypeVar

ENOUGH = 0.6
"""Share of characters in common from which two parts with different ids are taken for one that was renamed."""


class _Named(Protocol):
    @property
    def id(self) -> str: ...


P = TypeVar("P", bound=_Named)


def pairs(old: Sequence[P], new: Sequence[P], words: Callable[[P], str]) -> list[tuple[P | None, P | None]]:
    """Pairs in the order of `new`, each part that is gone after the one that stood before it. No part is lost."""
    before = {p.id: p for p in old}
    partner: dict[str, P] = {p.id: before[p.id] for p in new if p.id in before}
    partner |= _renamed([p for p in old if p.id not in partner], [p for p in new if p.id not in partner], words)
    kept = {p.id for p in partner.values()}
    out: list[tuple[P | None, P | None]] = []
    gone_after: dict[str, list[P]] = {}
    last = ""
    for p in old:
        if p.id in kept:
            last = p.id
        else:
            gone_after.setdefault(last, []).append(p)
    out += [(p, None) for p in gone_after.get("", ())]
    for p in new:
        was = partner.get(p.id)
        out.append((was, p))
        out += [(g, None) for g in gone_after.get(was.id, ())] if was else []
    return out


def _renamed(old: Sequence[P], new: Sequence[P], words: Callable[[P], str]) -> dict[str, P]:
    """New id → old part, the likest first; each is taken once."""
    scored = sorted(
        ((SequenceMatcher(None, words(a), words(b), autojunk=False).ratio(), -i, -j) for i, a in enumerate(old)
         for j, b in enumerate(new)),
        reverse=True,
    )  # fmt: skip
    found: dict[str, P] = {}
    taken: set[int] = set()
    for score, i, j in scored:
        if score >= ENOUGH and -i not in taken and new[-j].id not in found:
            taken.add(-i)
            found[new[-j].id] = old[-i]
    return found


def moved(places: Sequence[int]) -> set[int]:
    """Of parts given by their old places in their new order, those that moved: all but a longest rising run."""
    tails: list[int] = []  # last element of the best rising run of each length, by index into `places`
    parent: list[int] = []
    for n, place in enumerate(places):
        at = bisect_left([places[t] for t in tails], place)
        parent.append(tails[at - 1] if at else -1)
        tails[at : at + 1] = [n]
    stays: set[int] = set()
    n = tails[-1] if tails else -1
    while n >= 0:
        stays.add(n)
        n = parent[n]
    return set(range(len(places))) - stays
