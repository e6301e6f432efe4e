"""Published removal sequences pass, their mutants fail with the expected rule, and the traps stay silent."""

from __future__ import annotations

from dataclasses import replace

import pytest
from published_sequences import (
    CDC_COVERALL,
    ENH_N95_GOWN,
    ENH_PAPR_GOWN,
    ORDERS,
    PUBLISHED,
    STD_EX1,
    STD_EX2,
    TEAR,
    WHO_COVERALL,
)
from sequence_kit import WEARER, changed, errors, moved, numbered, rules, swapped, without

from docgen.analysis.sequence import run
from docgen.model.edition import Edition


def order(edition: Edition) -> str:
    """What comes off and when hands or gloves are cleaned, read from the acts."""
    out = []
    for step in edition.steps:
        for act in step.acts:
            if act.verb == "remove":
                out.append("+".join(act.targets))
            elif act.verb in ("sanitize", "rub-hands"):
                kinds = {i.id: i.kind for i in edition.items}
                on_item = kinds.get(act.targets[0], "gloves") != "gloves"
                out.append(act.targets[0] if on_item else "hygiene")
    return " ".join(w for n, w in enumerate(out) if not (w == "hygiene" and out[n - 1 : n] == ["hygiene"]))


@pytest.mark.parametrize("name", PUBLISHED)
def test_a_fixture_has_the_published_order(name: str) -> None:
    """The acts of each fixture follow the order transcribed from its source."""
    assert order(PUBLISHED[name]) == ORDERS[name]


WARNINGS = {
    # CDC poster: hygiene between items "if hands become contaminated", so the general sequences go without.
    "STD-EX1": {"no-hygiene-between-items"},
    "STD-EX2": {"no-hygiene-between-items"},
    "STD-2020": {"no-hygiene-between-items"},
    # WHO poster: the wearer rolls the coverall down alone (step 7) and does not inspect the inner gloves.
    "ENH-WHO-COVERALL": {"no-assistant", "inner-gloves-not-inspected"},
}


@pytest.mark.parametrize("name", PUBLISHED)
def test_a_published_sequence_passes(name: str) -> None:
    """No published sequence has an error; where one does less than another source asks, that is a warning."""
    found, _, counts = run(PUBLISHED[name])
    assert errors(found) == set()
    assert rules(found) == WARNINGS.get(name, set())
    assert counts.combinations == 1 and counts.bounded == ""


def test_the_coverall_with_assistant_passes() -> None:
    """CDC VHF, powered respirator and coverall, removal page 12, has nothing to report."""
    found, _, _ = run(CDC_COVERALL)
    assert rules(found) == set()


def respirator_before_eyes() -> Edition:
    return moved(STD_EX1, "respirator-off", "goggles-off")


def no_last_hygiene() -> Edition:
    return without(STD_EX1, "rub-hands")


def inner_gloves_first() -> Edition:
    edition = changed(
        ENH_N95_GOWN, "outer-gloves-off", "remove inner-gloves touching=inside", "discard inner-gloves into=waste"
    )
    return changed(
        edition, "inner-gloves-off", "remove outer-gloves touching=inside", "discard outer-gloves into=waste"
    )


def new_gloves_on_unwashed_hands() -> Edition:
    return without(ENH_N95_GOWN, "rub-before-new")


def apron_after_gown() -> Edition:
    return moved(moved(ENH_N95_GOWN, "apron-off", "inner-gloves-off"), "sanitize-after-apron", "boot-covers-off")


def two_removals_in_a_row() -> Edition:
    return without(ENH_N95_GOWN, "sanitize-after-shield")


def coverall_alone() -> Edition:
    steps = tuple(
        replace(s, actor="wearer", acts=tuple(replace(a, by="wearer") if a.by == "assistant" else a for a in s.acts))
        for s in CDC_COVERALL.steps
    )
    roles = tuple(r for r in CDC_COVERALL.roles if r.id != "assistant")
    return numbered(replace(CDC_COVERALL, steps=steps, roles=roles))


def new_pair_never_off() -> Edition:
    return without(ENH_N95_GOWN, "new-gloves-off")


def tear_without_return() -> Edition:
    branches = tuple(replace(b, rejoin="") if b.id == TEAR.id else b for b in ENH_N95_GOWN.branches)
    return numbered(replace(ENH_N95_GOWN, branches=branches))


MUTANTS = {
    respirator_before_eyes: "respirator-before-eye-protection",
    no_last_hygiene: "ends-without-hand-hygiene",
    inner_gloves_first: "outer-gloves-late",
    new_gloves_on_unwashed_hands: "gloves-on-unclean-hands",
    apron_after_gown: "garment-before-apron",
    two_removals_in_a_row: "no-hygiene-between-items",
    coverall_alone: "no-assistant",
    new_pair_never_off: "item-left-on",
    tear_without_return: "branch-never-rejoins",
}


@pytest.mark.parametrize("mutate", MUTANTS, ids=lambda m: m.__name__)
def test_a_mutant_fails_with_the_expected_rule(mutate) -> None:
    """Each wrong version of a published sequence is an error of the rule that forbids it."""
    found, _, _ = run(mutate())
    assert MUTANTS[mutate] in errors(found), sorted(rules(found))


@pytest.mark.parametrize("mutate", MUTANTS, ids=lambda m: m.__name__)
def test_a_mutant_tells_where(mutate) -> None:
    """The finding names a place in the file and how to mend it."""
    found, _, _ = run(mutate())
    finding = next(f for f in found if f.rule == f"sequence/{MUTANTS[mutate]}")
    assert finding.hint
    assert finding.where.line or finding.rule == "sequence/no-assistant"


@pytest.mark.parametrize(
    ("edition", "rule"),
    [
        # CDC VHF, powered respirator and gown, removal pages 09 and 11: the powered hood is off before the gown.
        (ENH_PAPR_GOWN, "respirator-before-garment"),
        # WHO poster, steps 7 and 9: eye protection comes off after the coverall.
        (WHO_COVERALL, "respirator-before-eye-protection"),
        # CDC poster, example 2: gown and gloves as one movement.
        (STD_EX2, "outer-gloves-late"),
    ],
    ids=["powered hood before gown", "eye protection after coverall", "gown and gloves together"],
)
def test_a_trap_for_an_over_strict_checker_stays_silent(edition: Edition, rule: str) -> None:
    """What a published source does differently is no error."""
    found, _, _ = run(edition)
    assert errors(found) == set()
    assert rule not in rules(found)


# --- common practice, no source -----------------------------------------------------------------------------

ENHANCED = [n for n in PUBLISHED if n.startswith("ENH")]


@pytest.mark.parametrize("name", ENHANCED)
def test_hygiene_follows_every_removal(name: str) -> None:
    """Common practice, no source: gloves are sanitized after every item removed."""
    words = ORDERS[name].split()
    assert all(words[n + 1] == "hygiene" for n, w in enumerate(words) if w != "hygiene")


@pytest.mark.parametrize("name", ["ENH-N95-GOWN", "ENH-PAPR-GOWN"])
def test_outer_gloves_go_before_what_is_on_the_head(name: str) -> None:
    """Common practice, no source: outer gloves come off before face shield and hood."""
    words = ORDERS[name].split()
    head = {"face-shield", "hood", "powered-hood"}
    assert words.index("outer-gloves") < min(n for n, w in enumerate(words) if w in head)


def test_the_n95_goes_after_the_gown() -> None:
    """Common practice, no source: the respirator comes off after the body garment in the N95 ensembles."""
    words = ORDERS["ENH-N95-GOWN"].split()
    assert words.index("gown") < words.index("respirator")


@pytest.mark.parametrize("name", ENHANCED)
def test_bare_hand_hygiene_then_inspection_end_the_removal(name: str) -> None:
    """Common practice, no source: the final act is bare-hand hygiene followed by an inspection."""
    acts = [a for s in PUBLISHED[name].steps for a in s.acts if a.verb not in ("move", "discard")]
    last = max(n for n, a in enumerate(acts) if a.verb == "rub-hands")
    assert {a.verb for a in acts[last + 1 :]} == {"inspect"}


def test_gloves_swapped_back_pass() -> None:
    """A mutant undone is silent again: the rules look at the sequence, not at its history."""
    there = swapped(ENH_N95_GOWN, "face-shield-off", "hood-off")
    assert "covered-item-first" in rules(run(there)[0])
    assert errors(run(swapped(there, "face-shield-off", "hood-off"))[0]) == set()
    assert WEARER in ENH_N95_GOWN.roles
