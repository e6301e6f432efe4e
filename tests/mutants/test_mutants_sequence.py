"""How many wrong versions of the shipped removals the rules catch, one changed act at a time.

Print the score and every survivor with its reason:

    python -m pytest -n0 -s tests/mutants/test_mutants_sequence.py
"""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path

import pytest
from sequence_mutants import caught, harmless, mutants, said

from docgen.analysis.sequence import run
from docgen.edition import resolve
from docgen.model.edition import Edition
from docgen.source import read_protocol, read_site

SHIPPED = Path(__file__).parents[2] / "protocols"
REMOVALS = (
    ("enhanced-removal", "harbour-north"),
    ("enhanced-removal", "larkmoor"),
    ("everyday-removal", "harbour-north"),
    ("everyday-removal", "larkmoor"),
)
MISSED = {
    "a tie is opened one room early": lambda m: (
        m.kind == "swap" and m.act.verb == "move" and m.other and m.other.verb == "open"
    ),
}
"""Survivors that do harm and that no rule catches: the data do not say in which place a removal may begin."""

LEAST = 0.95


def shipped(protocol: str, site: str) -> Edition:
    """The edition of a shipped protocol at a shipped site."""
    file, place = SHIPPED / f"{protocol}.yaml", SHIPPED / "sites" / f"{site}.yaml"
    edition, findings = resolve(
        read_protocol(file.read_text("utf-8"), file.name), read_site(place.read_text("utf-8"), place.name)
    )
    assert edition is not None, findings
    return edition


@pytest.mark.parametrize(("protocol", "site"), REMOVALS, ids=lambda name: name)
def test_mutants_of_a_shipped_removal_are_caught(protocol: str, site: str) -> None:
    """At least 95 % of those that do harm are caught; every survivor is harmless for a reason, or known as missed."""
    original = shipped(protocol, site)
    before = said(original)
    all_, killed, missed = 0, 0, []
    why: dict[str, list[str]] = defaultdict(list)
    for mutant in mutants(original):
        all_ += 1
        if caught(mutant, before):
            killed += 1
        elif reason := harmless(original, mutant):
            why[reason].append(str(mutant))
        else:
            missed.append(mutant)
    harm = killed + len(missed)
    print(f"\n{protocol} at {site}: {killed} of {harm} caught ({killed / harm:.1%}), {all_ - harm} of {all_} harmless")
    for reason, survivors in why.items():
        print(f"  {reason}: {len(survivors)}", *survivors, sep="\n    ")
    for mutant in missed:
        print(f"  missed: {mutant}")
    assert [str(m) for m in missed if not any(known(m) for known in MISSED.values())] == []
    assert killed / harm >= LEAST


@pytest.mark.parametrize(("protocol", "site"), REMOVALS, ids=lambda name: name)
def test_the_shipped_removal_itself_has_no_error(protocol: str, site: str) -> None:
    """Zero errors on what is not mutated, so that a caught mutant is caught for what was changed."""
    assert not [f for f in run(shipped(protocol, site))[0] if f.severity == "error"]


def test_every_kind_of_mutant_is_made() -> None:
    """Delete, do twice, swap with the neighbour, aim elsewhere: each at every act it can be done to."""
    original = shipped("everyday-removal", "harbour-north")
    count = sum(len(s.acts) for s in original.steps)
    kinds = [m.kind for m in mutants(original)]
    assert kinds.count("delete") == kinds.count("twice") == count
    assert count - 1 - kinds.count("swap") <= 1  # a neighbour that is the very same act is not swapped
    assert kinds.count("elsewhere") >= count - 2
