"""A breach is told as a short story: what became dirty where, what was touched where, and what would mend it."""

from __future__ import annotations

import json
from dataclasses import replace

from published_sequences import CDC_COVERALL, ENH_N95_GOWN, STD_EX1, TEAR
from sequence_kit import EXPOSURE, branch, changed, edition, item, numbered, step, without

from docgen.analysis import apply
from docgen.analysis.sequence import run
from docgen.analysis.sequence.suggest import from_json, to_json
from docgen.findings import Finding
from docgen.model.edition import Edition

OPTION = (("hood", ("loose", "fixed")),)
LOOSE, FIXED = (("hood", ("loose",)),), (("hood", ("fixed",)),)


def only(edition: Edition, rule: str) -> Finding:
    found = [f for f in run(edition)[0] if f.rule == f"sequence/{rule}"]
    assert len(found) == 1, [f.message for f in found]
    return found[0]


def story(finding: Finding) -> list[str]:
    return [note.text for note in finding.notes]


def test_the_story_names_what_became_dirty_and_what_was_touched() -> None:
    """Flap, then zip, without hygiene: CDC VHF, powered respirator and coverall, removal page 12, one step lost."""
    found = only(without(CDC_COVERALL, "sanitize-after-flap"), "dirty-hands-near-face")
    assert found.message == "the zip of `coverall` is met at step 11 `unzip` by `inner-gloves` that are dirty"
    assert story(found) == [
        "step 10 `open-flap`: `inner-gloves` open the flap of `coverall` and become dirty",
        "step 11 `unzip`: the zip of `coverall` is met by `inner-gloves` that are dirty",
    ]
    assert found.hint == "add: sanitize `inner-gloves` between step 10 `open-flap` and step 11 `unzip`"
    assert [str(note.where) for note in found.notes] == ["test.yaml:101:9", "test.yaml:111:9"]
    assert str(found.where) == "test.yaml:111:9"


def test_the_hint_of_a_lost_hygiene_step_restores_it() -> None:
    """The suggestion names the very act that was lost, in the edition's own fashion."""
    lost = next(s for s in CDC_COVERALL.steps if s.id == "sanitize-after-flap").acts[0]
    found = only(without(CDC_COVERALL, "sanitize-after-flap"), "dirty-hands-near-face")
    plain = json.loads(dict(found.data)["suggestion"])
    assert plain["op"] == "insert" and plain["step"] == "unzip"
    assert plain["act"] == {
        "verb": lost.verb,
        "targets": list(lost.targets),
        "by": lost.by,
        "using": list(lost.using),
        "time": {"least": 20, "most": 30},
    }


def test_the_fewest_options_that_matter_are_named() -> None:
    """A fault under one choice of one option names that choice, and not the other options."""
    options = (("apron", ("none", "tie")), *OPTION, ("late", ("yes", "no")))
    wrong = replace(
        ENH_N95_GOWN,
        open_options=options,
        steps=tuple(replace(s, when=LOOSE) if s.id == "sanitize-after-hood" else s for s in ENH_N95_GOWN.steps),
    )
    wrong = replace(
        wrong, items=tuple(replace(i, when=(("apron", ("tie",)),)) if i.id == "apron" else i for i in wrong.items)
    )
    wrong = replace(
        wrong, steps=tuple(replace(s, when=(("apron", ("tie",)),)) if s.id == "apron-off" else s for s in wrong.steps)
    )
    found = only(wrong, "no-hygiene-between-items")
    assert dict(found.data)["options"] == "hood=fixed"
    assert dict(found.data)["combinations"] == "2 of 4"
    assert story(found)[0] == "with `hood: fixed`"
    assert run(wrong)[2].combinations == 8
    assert found.hint.startswith("add with `hood: fixed`: sanitize `inner-gloves` between ")
    assert "no-hygiene-between-items" not in {
        f.rule.partition("/")[2] for f in run(apply(wrong, dict(found.data)["suggestion"]))[0]
    }


def test_the_branch_that_leads_there_is_named() -> None:
    """A fault that only the branch brings about says where the branch is taken and where it goes on."""
    bare = replace(TEAR, steps=TEAR.steps[:3])  # the torn pair comes off, and no new pair goes on
    wrong = numbered(replace(ENH_N95_GOWN, branches=(EXPOSURE, bare, ENH_N95_GOWN.branches[-1])))
    found = next(f for f in run(wrong)[0] if f.rule == "sequence/act-on-item-not-worn")
    assert dict(found.data)["branches"] == "torn-glove@inspect-inner"
    assert story(found)[0] == (
        "branch B `torn-glove` is taken at step 11 `inspect-inner` and goes on at step 12 `sanitize-inner`"
    )
    assert story(found)[1] == "step B2 `torn-off`: `inner-gloves` come off"


def test_one_root_is_told_once() -> None:
    """Gloves that came off too early are missing at every later step: one finding, with the other steps named."""
    wrong = changed(
        ENH_N95_GOWN, "outer-gloves-off", "remove outer-gloves+inner-gloves combined touching=inside into=waste"
    )
    found = [f for f in run(wrong)[0] if f.rule == "sequence/act-on-item-not-worn"]
    assert len(found) == 1
    assert story(found[0])[-1].startswith("the same again at step 12 `sanitize-inner`, ")
    assert "sanitize-after-gown" in dict(found[0].data)["also"]


def test_the_fewest_branches_are_told() -> None:
    """What goes wrong on the main path is not told as a story about a branch."""
    for finding in run(without(ENH_N95_GOWN, "sanitize-after-hood"))[0]:
        assert "branches" not in dict(finding.data)


def test_the_story_ends_with_what_comes_too_late() -> None:
    """An item taken off too early says which step would have taken its cover off."""
    found = only(without(STD_EX1, "goggles-off"), "respirator-before-eye-protection")
    assert story(found)[-1] == "no later step takes `goggles` off"


def test_a_branch_that_rejoins_where_it_left_says_so() -> None:
    """`same` is told in words."""
    splash = branch("splash", step("splash-off", "remove gown touching=outside into=waste"), anywhere=True, tell="All.")
    wrong = edition(
        (item("gown", "gown"), item("gloves", "gloves", layer="single")),
        (step("look", "inspect gown"), step("gown-off", "remove gown touching=outside into=waste")),
        (splash,),
    )
    found = next(f for f in run(wrong)[0] if f.rule == "sequence/removed-but-not-worn")
    assert story(found)[0].endswith("and goes on where it was left")


def test_a_suggestion_survives_json() -> None:
    """Every suggestion of the mutants of one sequence reads back as the same change."""
    for lost in (s.id for s in ENH_N95_GOWN.steps):
        for finding in run(without(ENH_N95_GOWN, lost))[0]:
            line = dict(finding.data).get("suggestion")
            if line:
                assert to_json(from_json(line)) == line


def test_findings_do_not_depend_on_the_order_of_hashing() -> None:
    """Same edition, same findings, in the same order, with the same words."""
    wrong = without(ENH_N95_GOWN, "sanitize-after-hood", "inspect-inner", "engage")
    first = run(wrong)[0]
    assert run(wrong)[0] == first
    assert [f.data for f in run(wrong)[0]] == [f.data for f in first]
