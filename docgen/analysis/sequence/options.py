"""Turn the open options of an edition into sets of combinations that cost one integer each.

Every combination of choices has a number; a set of combinations is a Python integer with those bits set. A guard
(`when`) is such a set, so "under which options does this state arise" is one `&`, however many combinations there are.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations, islice, product
from math import prod

from docgen.model.edition import Edition, When

MOST_COMBINATIONS = 65_536
"""Up to here every combination is explored; beyond, every pair of choices is, and `Options.bounded` says so."""

Choices = tuple[tuple[str, str], ...]


@dataclass(frozen=True, eq=False)
class Options:
    """The combinations of choices of an edition. Bit n of a mask stands for combination n."""

    names: tuple[str, ...]
    """The open options that some guard asks for; the others change nothing."""
    rows: tuple[tuple[str, ...], ...]
    """Combination number → choice of each of `names`."""
    fixed: tuple[tuple[str, str], ...]
    masks: dict[tuple[str, str], int]
    total: int
    """Combinations of all open options, relevant or not."""
    bounded: str = ""

    @property
    def all(self) -> int:
        """Every combination that is explored."""
        return (1 << len(self.rows)) - 1

    def mask(self, when: When) -> int:
        """The combinations in which a guard holds."""
        out = self.all
        fixed = dict(self.fixed)
        for option, choices in when:
            if option in fixed:
                if fixed[option] not in choices:
                    return 0
            elif option in self.names:
                any_of = 0
                for choice in choices:
                    any_of |= self.masks.get((option, choice), 0)
                out &= any_of
        return out

    def fewest(self, mask: int) -> tuple[Choices, int]:
        """The fewest choices that all lie within `mask`, and one combination that has them (its number)."""
        if mask == self.all:
            return (), lowest(mask)
        for size in (1, 2, 3):
            for names in combinations(self.names, size):
                for picked in product(*(self._choices(n) for n in names)):
                    cube = self.all
                    for pair in zip(names, picked, strict=True):
                        cube &= self.masks[pair]
                    if cube and not cube & ~mask:
                        return tuple(zip(names, picked, strict=True)), lowest(cube)
        row = lowest(mask)
        return tuple(zip(self.names, self.rows[row], strict=True)), row

    def around(self, mask: int, within: int) -> When:
        """The narrowest guard that holds in all of `mask`; nothing is said of an option that is as free in `within`."""
        out = []
        for name in self.names:
            asked = [c for c in self._choices(name) if self.masks[name, c] & mask]
            free = [c for c in self._choices(name) if self.masks[name, c] & within]
            if asked != free:
                out.append((name, tuple(asked)))
        return tuple(out)

    def _choices(self, name: str) -> list[str]:
        return [choice for option, choice in self.masks if option == name]


def lowest(mask: int) -> int:
    """Number of the lowest combination in a mask that is not empty."""
    return (mask & -mask).bit_length() - 1


def options_of(edition: Edition) -> Options:
    """The combinations of an edition: one for a site's edition, all of them for a protocol alone."""
    asked = {option for when in _guards(edition) for option, _ in when}
    relevant = tuple((name, choices) for name, choices in edition.open_options if name in asked)
    names = tuple(name for name, _ in relevant)
    count = prod(len(choices) for _, choices in relevant)
    if count <= MOST_COMBINATIONS:
        rows = list(product(*(choices for _, choices in relevant)))
        bounded = ""
    else:
        rows = _pairs([choices for _, choices in relevant])
        bounded = f"{len(rows)} of {count} combinations were explored: every choice together with every other choice"
    masks: dict[tuple[str, str], int] = {}
    for column, (name, choices) in enumerate(relevant):
        for choice in choices:
            bits = "".join("1" if row[column] == choice else "0" for row in reversed(rows))
            masks[name, choice] = int(bits, 2)
    total = prod(len(choices) for _, choices in edition.open_options)
    return Options(names, tuple(rows), edition.options, masks, total, bounded)


def _pairs(columns: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
    """The first choice everywhere but in at most two places: in these rows every two choices meet."""
    first = tuple(choices[0] for choices in columns)
    rows = {first: None}
    for places in combinations(range(len(columns)), 2):
        for picked in product(*(columns[p] for p in places)):
            row = list(first)
            for place, choice in zip(places, picked, strict=True):
                row[place] = choice
            rows[tuple(row)] = None
    return list(islice(rows, MOST_COMBINATIONS))


def _guards(edition: Edition) -> list[When]:
    guards = [item.when for item in edition.items]
    guards += [branch.when for branch in edition.branches]
    for step in edition.all_steps():
        guards.append(step.when)
        guards += [caution.when for caution in step.cautions]
    return guards
