"""Turn how far a change goes into the version it needs.

The first number names the sequence: it rises when a step, a hold or a branch comes, goes or moves, or somebody acts
otherwise. The second number rises with every other change, of words or of what people do. So two sheets of one first
number can be followed by the same hands in the same order.
"""

from __future__ import annotations

from docgen.model.change import Degree

Number = tuple[int, int]


def number(version: str) -> Number:
    """`2.10` → (2, 10), so that it sorts after 2.9."""
    major, _, minor = version.partition(".")
    return int(major), int(minor)


def least(version: str, degree: Degree) -> str:
    """The lowest version that may follow one of `version` after a change of `degree`."""
    major, minor = number(version)
    return f"{major + 1}.0" if degree >= Degree.SEQUENCE else f"{major}.{minor + 1}"


def rises_enough(old: str, new: str, degree: Degree) -> bool:
    """Whether `new` may follow `old`."""
    return number(new) >= number(least(old, degree))
