"""A suggested change mends what it is suggested for under every choice, not only under the one whose story is told."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from docgen.analysis.sequence import apply, run
from docgen.edition import resolve
from docgen.findings import Finding
from docgen.model.edition import Edition
from docgen.source import read_protocol

FILE = Path(__file__).parents[2] / "protocols" / "enhanced-removal.yaml"


def removal(*without: str) -> Edition:
    """The shipped long removal with all its options open, some of its steps deleted."""
    edition, findings = resolve(read_protocol(FILE.read_bytes(), FILE.name), None)
    assert edition, findings
    steps = [s for s in edition.steps if s.id not in without]
    assert len(steps) == len(edition.steps) - len(without)
    return replace(edition, steps=tuple(replace(s, number=n, label=str(n)) for n, s in enumerate(steps, 1)))


def faults(edition: Edition, rule: str) -> list[Finding]:
    return [f for f in run(edition)[0] if f.rule == f"sequence/{rule}"]


LOST = {
    "sanitize-outer-gloves": "no-hygiene-between-items",
    "enter-removal-area": "move-not-told",
    "sanitize-after-tied-apron": "no-hygiene-between-items",
    "sanitize-after-torn-apron": "no-hygiene-between-items",
    "sanitize-after-boot-covers": "no-hygiene-between-items",
    "inspect-inner-gloves": "inner-gloves-not-inspected",
    "sanitize-inner-gloves": "no-hygiene-between-items",
    "sanitize-after-coverall": "no-hygiene-between-items",
    "sanitize-after-gown": "no-hygiene-between-items",
    "sanitize-after-late-boot-covers": "no-hygiene-between-items",
    "inspect-ppe": "start-not-prepared",
    "roll-off-apron": "garment-before-apron",
    "early-boot-covers-off": "covered-item-first",
}
"""A step of the removal → the rule that misses it, under several choices, at steps that differ with them."""


@pytest.mark.parametrize("lost", LOST)
def test_the_suggestion_mends_it_under_every_choice(lost: str) -> None:
    """Applied once, the rule has nothing left to say of what it was suggested for: at no other step either."""
    wrong = removal(lost)
    for finding in faults(wrong, LOST[lost]):
        if suggestion := dict(finding.data).get("suggestion"):
            left = faults(apply(wrong, suggestion), LOST[lost])
            assert (finding.message, finding.step) not in {(f.message, f.step) for f in left}
            others = {f.step for f in faults(wrong, LOST[lost]) if f != finding}
            assert {f.step for f in left} <= others, finding.hint


def test_a_change_that_is_not_for_all_names_its_when() -> None:
    """What the hint says to write is what is applied: the choices as they stand in a `when`."""
    (finding,) = faults(removal("sanitize-after-tied-apron"), "no-hygiene-between-items")
    assert finding.hint == (
        "add with `apron: tie`: sanitize `outer-gloves` "
        "between step 9 `sanitize-after-torn-apron` and step 10 `early-boot-covers-off`"
    )
    (finding,) = faults(removal("sanitize-inner-gloves"), "no-hygiene-between-items")
    assert finding.hint.startswith("add: sanitize `inner-gloves` between ")


def test_a_step_that_is_moved_is_there_under_the_choices_that_need_it() -> None:
    """The late removal of boot covers is no remedy where they come off early."""
    found = faults(removal("early-boot-covers-off"), "covered-item-first")
    coverall = next(f for f in found if f.message.startswith("`coverall`"))
    assert coverall.hint.startswith("add with `outer-garment: coverall` and `boot-covers: early`: remove `boot-covers`")
