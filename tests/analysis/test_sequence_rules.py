"""Every rule can fail: one wrong edition for each, and the change it suggests makes it pass."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from published_sequences import CDC_COVERALL, ENH_N95_GOWN, ENH_PAPR_GOWN, STD_EX1, STD_EX2, WHO_COVERALL
from sequence_kit import (
    ASSISTANT,
    EXPOSURE,
    OBSERVER,
    SUPPLIES,
    WEARER,
    branch,
    changed,
    edition,
    item,
    moved,
    numbered,
    rules,
    step,
    without,
)

from docgen.analysis import RULES, apply, explain
from docgen.analysis.sequence import run
from docgen.analysis.sequence.rules import SAFETY_RULES
from docgen.findings import Finding
from docgen.model.edition import Edition, Step


def with_step(edition: Edition, id: str, **fields) -> Edition:
    """The edition with fields of one step replaced."""

    def change(s: Step) -> Step:
        return replace(s, **fields) if s.id == id else s

    branches = tuple(replace(b, steps=tuple(map(change, b.steps))) for b in edition.branches)
    return numbered(replace(edition, steps=tuple(map(change, edition.steps)), branches=branches))


def with_branch(edition: Edition, id: str, **fields) -> Edition:
    return numbered(
        replace(edition, branches=tuple(replace(b, **fields) if b.id == id else b for b in edition.branches))
    )


def with_item(edition: Edition, id: str, **fields) -> Edition:
    return numbered(replace(edition, items=tuple(replace(i, **fields) if i.id == id else i for i in edition.items)))


def with_role(edition: Edition, id: str, **fields) -> Edition:
    return replace(edition, roles=tuple(replace(r, **fields) if r.id == id else r for r in edition.roles))


PUT_ON_ITEMS = (
    item("gown", "gown"),
    item("respirator", "respirator"),
    item("goggles", "goggles", "respirator"),
    item("gloves", "gloves", "gown", layer="single"),
)
PUTTING_ON = edition(
    PUT_ON_ITEMS,
    (
        step("look", "inspect supplies"),
        step("rub", "rub-hands bare using=rub"),
        step("gown-on", "put-on gown"),
        step("respirator-on", "put-on respirator"),
        step("goggles-on", "put-on goggles"),
        step("gloves-on", "put-on gloves using=new-pair"),
        step("last-look", "inspect skin by=observer"),
    ),
    profile="enhanced",
    kind="putting-on",
    roles=(WEARER, OBSERVER),
)

CASES: dict[str, Callable[[], Edition]] = {
    "removed-but-not-worn": lambda: changed(STD_EX1, "gown-off", "remove gloves touching=inside"),
    "act-on-item-not-worn": lambda: changed(ENH_N95_GOWN, "sanitize-inner", "sanitize outer-gloves using=rub"),
    "item-left-on": lambda: without(ENH_N95_GOWN, "new-gloves-off"),
    "kept-item-not-checked": lambda: without(ENH_N95_GOWN, "clean-shoes"),
    "fastening-out-of-order": lambda: without(CDC_COVERALL, "unzip"),
    "contact-side-missing": lambda: changed(STD_EX1, "gown-off", "remove gown", "discard gown into=waste"),
    "items-not-combined": lambda: changed(
        STD_EX2, "gown-and-gloves-off", "remove gown+gloves touching=outside", "discard gown+gloves into=waste"
    ),
    "covered-item-first": lambda: moved(ENH_N95_GOWN, "hood-off", "face-shield-off"),
    "garment-before-apron": lambda: moved(ENH_N95_GOWN, "apron-off", "inner-gloves-off"),
    "outer-gloves-late": lambda: moved(ENH_N95_GOWN, "outer-gloves-off", "rub-before-new"),
    "inner-gloves-early": lambda: moved(ENH_N95_GOWN, "inner-gloves-off", "gown-off"),
    "respirator-before-eye-protection": lambda: moved(STD_EX1, "goggles-off", "rub-hands"),
    "respirator-not-last-on-face": lambda: with_item(moved(ENH_N95_GOWN, "hood-off", "rub-last"), "hood", covers=()),
    "respirator-off-in-room": lambda: moved(STD_EX1, "leave-room", "rub-hands"),
    "respirator-before-garment": lambda: moved(STD_EX1, "gown-off", "rub-hands"),
    "upper-strap-first": lambda: changed(
        STD_EX1, "respirator-off", "open respirator fastening=upper-strap", "remove respirator touching=rear-strap"
    ),
    "front-of-face-item-touched": lambda: changed(STD_EX1, "goggles-off", "remove goggles touching=outside"),
    "no-hygiene-between-items": lambda: without(ENH_N95_GOWN, "sanitize-after-hood"),
    "dirty-hands-near-face": lambda: without(CDC_COVERALL, "sanitize-after-flap"),
    "dirty-hands-inside": lambda: changed(
        CDC_COVERALL, "sanitize-after-peel", "sanitize outer-gloves by=assistant using=rub"
    ),
    "bare-hand-on-dirty-surface": lambda: changed(
        STD_EX1, "gown-off", "remove gown touching=outside", "discard gown into=waste"
    ),
    "gloves-on-unclean-hands": lambda: without(ENH_N95_GOWN, "rub-before-new"),
    "no-hygiene-after-last-gloves": lambda: moved(ENH_N95_GOWN, "leave-area", "rub-last"),
    "ends-without-hand-hygiene": lambda: without(STD_EX1, "rub-hands"),
    "old-gloves-on-footwear": lambda: moved(ENH_N95_GOWN, "clean-shoes", "inner-gloves-off"),
    "start-not-prepared": lambda: without(ENH_N95_GOWN, "sanitize-start"),
    "hold-missing": lambda: with_step(ENH_N95_GOWN, "new-gloves-on", hold=None),
    "inner-gloves-not-inspected": lambda: moved(ENH_N95_GOWN, "inspect-inner", "gown-off"),
    "tear-branch-incomplete": lambda: with_step(ENH_N95_GOWN, "inspect-inner", branches=()),
    "no-final-inspection": lambda: changed(ENH_N95_GOWN, "inspect-body", "inspect skin+clothing"),
    "no-breach-branch": lambda: with_branch(ENH_N95_GOWN, "exposure", anywhere=False),
    "branch-never-rejoins": lambda: with_branch(ENH_N95_GOWN, "torn-glove", rejoin=""),
    "branch-leaves-dressed": lambda: with_step(ENH_N95_GOWN, "apron-off", branches=("soiled",)),
    "branch-never-possible": lambda: numbered(
        replace(STD_EX1, branches=(EXPOSURE, branch("lost", step("lost-1", "remove scarf"))))
    ),
    "observer-touches": lambda: changed(ENH_N95_GOWN, "gown-off", "remove gown touching=outside by=observer"),
    "no-assistant": lambda: changed(ENH_PAPR_GOWN, "powered-hood-off", "remove powered-hood by=wearer into=reuse"),
    "helper-touches-inside": lambda: changed(CDC_COVERALL, "peel", "touch coverall touching=inside by=assistant"),
    "helper-gloves-not-cleaned": lambda: changed(
        CDC_COVERALL, "sanitize-after-powered-hood", "sanitize inner-gloves using=rub"
    ),
    "person-never-finishes": lambda: with_role(ENH_N95_GOWN, "observer", wears=()),
    "back-to-dirtier-place": lambda: changed(ENH_N95_GOWN, "leave-area", "move wearer to=room"),
    "move-not-told": lambda: with_step(ENH_N95_GOWN, "inspect-body", place="clean-area"),
    "supply-not-listed": lambda: changed(STD_EX1, "rub-hands", "rub-hands bare using=brandy"),
    "supply-not-at-hand": lambda: replace(
        STD_EX1, supplies=tuple(replace(s, at=("room",)) if s.id == "rub" else s for s in SUPPLIES)
    ),
    "no-container": lambda: changed(STD_EX1, "goggles-off", "remove goggles touching=rear-strap"),
    "seat-soiled": lambda: changed(
        ENH_N95_GOWN, "boot-covers-off", "sit chair", "remove boot-covers touching=outside into=waste"
    ),
    "hygiene-without-time": lambda: changed(STD_EX1, "rub-hands", "rub-hands bare using=rub time=none"),
    "caution-missing": lambda: with_step(STD_EX1, "respirator-off", cautions=()),
    "loop-not-closed": lambda: with_step(ENH_N95_GOWN, "gown-off", answer=type(STD_EX1.title)("", "", ())),
    "item-not-put-on": lambda: without(PUTTING_ON, "goggles-on"),
    "put-on-over-its-cover": lambda: with_item(
        moved(PUTTING_ON, "respirator-on", "last-look"), "gown", covers=("respirator",)
    ),
    "eye-protection-before-respirator": lambda: moved(PUTTING_ON, "goggles-on", "respirator-on"),
    "gloves-before-garment": lambda: moved(PUTTING_ON, "gown-on", "last-look"),
    "put-on-with-unclean-hands": lambda: without(PUTTING_ON, "rub"),
    "equipment-not-inspected": lambda: without(PUTTING_ON, "look"),
    "no-last-look": lambda: without(PUTTING_ON, "last-look"),
}


def key(finding: Finding) -> tuple[str, str]:
    """A finding without the numbers of its steps, which a change may move."""
    return finding.rule, re.sub(r"step [A-Z]*\d+ ", "", finding.message)


def test_every_rule_has_a_case() -> None:
    """No rule without a test that it can fail."""
    assert {rule.name.partition("/")[2] for rule in SAFETY_RULES} == set(CASES)


@pytest.mark.parametrize(
    "edition",
    [ENH_N95_GOWN, ENH_PAPR_GOWN, CDC_COVERALL, PUTTING_ON],
    ids=["n95", "powered hood", "coverall", "putting on"],
)
def test_the_right_edition_is_silent(edition: Edition) -> None:
    """What the cases start from has nothing to report, so that what they report is their own."""
    assert run(edition)[0] == ()


@pytest.mark.parametrize("name", CASES)
def test_a_rule_fails_on_its_case(name: str) -> None:
    """The wrong edition breaks the rule, and the finding says where, what and how to mend it."""
    found = [f for f in run(CASES[name]())[0] if f.rule == f"sequence/{name}"]
    assert found
    for finding in found:
        assert finding.hint and not finding.hint.endswith(".")
        assert finding.message[0].islower() or finding.message[0] == "`"
        assert "here" not in finding.message.split()


def suggests(name: str) -> bool:
    return any(dict(f.data).get("suggestion") for f in run(CASES[name]())[0] if f.rule == f"sequence/{name}")


MENDED = [name for name in CASES if suggests(name)]


@pytest.mark.parametrize("name", MENDED)
def test_the_suggestion_mends_it(name: str) -> None:
    """Applying the suggested change makes that finding go away."""
    wrong = CASES[name]()
    for finding in run(wrong)[0]:
        suggestion = dict(finding.data).get("suggestion")
        if finding.rule == f"sequence/{name}" and suggestion:
            mended = apply(wrong, suggestion)
            assert key(finding) not in {key(f) for f in run(mended)[0]}, finding.hint


def test_most_rules_suggest_a_change() -> None:
    """Where one change mends it, it is suggested; what is left needs words or a decision of the author."""
    assert set(CASES) - set(MENDED) == {
        "branch-leaves-dressed",
        "branch-never-possible",
        "branch-never-rejoins",
        "caution-missing",
        "contact-side-missing",
        "helper-touches-inside",
        "hygiene-without-time",
        "items-not-combined",
        "loop-not-closed",
        "no-assistant",
        "no-breach-branch",
        "observer-touches",
        "person-never-finishes",
        "seat-soiled",
        "supply-not-at-hand",
        "supply-not-listed",
        "tear-branch-incomplete",
    }


@pytest.mark.parametrize("profile", ["standard", "enhanced"])
def test_severity_follows_the_profile(profile: str) -> None:
    """Each finding weighs what its rule says for the profile, unless a published sequence does the same."""
    words = {r.name: dict(r.severity) for r in SAFETY_RULES}
    for make in CASES.values():
        for finding in run(replace(make(), profile=profile))[0]:
            expected = words[finding.rule][profile]
            assert finding.severity == expected or (expected, finding.severity) == ("error", "warning")
            assert expected != "off"


def test_a_rule_is_off_where_its_profile_says_so() -> None:
    """General precautions know no observer: nobody asks for a hold there."""
    wrong = CASES["hold-missing"]()
    assert "hold-missing" in rules(run(wrong)[0])
    assert "hold-missing" not in rules(run(replace(wrong, profile="standard"))[0])


def test_eye_protection_before_the_gown_is_no_rule() -> None:
    """Published sequences differ (CDC poster, example 1; CDC 2020; WHO), so neither order is a finding."""
    names = {i.id for i in STD_EX1.items}
    assert names == {"goggles", "gloves", "gown", "respirator"}
    other = moved(STD_EX1, "gown-off", "goggles-off")
    assert rules(run(other)[0]) == rules(run(STD_EX1)[0])


def test_a_procedure_without_an_ensemble_is_asked_only_general_rules() -> None:
    """Hand hygiene needs a time and its supplies; nobody asks for gloves, holds or an observer."""
    bare = edition((), (step("rub", "rub-hands bare using=rub time=none"),), (), profile="", kind="procedure")
    assert rules(run(bare)[0]) == {"hygiene-without-time"}


def test_every_rule_explains_itself() -> None:
    """Title, reason, basis and example are there, and `explain` prints them."""
    for rule in RULES:
        assert rule.title.endswith(".") and rule.why and rule.basis and rule.example
        assert rule.title in explain(rule.name)
    assert {r.name for r in RULES if not r.waivable} >= {
        "sequence/removed-but-not-worn",
        "sequence/no-hygiene-after-last-gloves",
        "sequence/ends-without-hand-hygiene",
    }


def test_the_lone_wearer_of_a_rolled_coverall_is_a_warning() -> None:
    """WHO poster, step 7: rolled down from the inside by the wearer; taken by the outside alone it is an error."""
    found = {f.rule: f.severity for f in run(WHO_COVERALL)[0]}
    assert found["sequence/no-assistant"] == "warning"
    acts = ("open coverall fastening=zip", "remove coverall+outer-gloves combined touching=outside into=waste")
    outside = changed(WHO_COVERALL, "coverall-and-gloves-off", *acts)
    assert {f.rule: f.severity for f in run(outside)[0]}["sequence/no-assistant"] == "error"
    assert ASSISTANT not in WHO_COVERALL.roles
