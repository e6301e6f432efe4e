"""Editions that make no sense are told so; nothing makes the analysis fail."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st
from published_sequences import ENH_N95_GOWN, PUBLISHED
from sequence_kit import act, branch, edition, item, numbered, rules, step

from docgen.analysis import analyse, apply
from docgen.analysis.sequence import run
from docgen.model.edition import Act, Edition
from docgen.model.protocol import ITEM_KINDS, VERBS

NAMES = st.sampled_from(
    ["a", "b", "c", "ensemble", "skin", "bare", "hands", "waste", "rub", "chair", "wearer", "ghost", "clothing", "face"]
)


@st.composite
def acts(draw: st.DrawFn) -> Act:
    return Act(
        verb=draw(st.sampled_from(VERBS)),
        targets=tuple(draw(st.lists(NAMES, max_size=2))),
        by=draw(st.sampled_from(["wearer", "observer", "nobody"])),
        using=tuple(draw(st.lists(NAMES, max_size=1))),
        touching=draw(st.sampled_from(["", "outside", "inside", "rear-strap", "fastening"])),
        fastening=draw(st.sampled_from(["", "zip", "ties", "lower-strap", "upper-strap", "flap"])),
        into=draw(st.sampled_from(["", "waste", "rub", "ghost"])),
        to=draw(st.sampled_from(["", "room", "clean-area", "ghost"])),
        combined=draw(st.booleans()),
    )


@st.composite
def nonsense(draw: st.DrawFn) -> Edition:
    """Any acts on any items, by anybody, in any order."""
    kinds = st.sampled_from(ITEM_KINDS)
    layers = st.sampled_from(["", "outer", "inner", "single"])
    items = tuple(
        item(n, draw(kinds), " ".join(draw(st.lists(st.sampled_from("abc"), max_size=2))), layer=draw(layers),
             kept=draw(st.booleans()), worn=draw(st.booleans()))
        for n in "abc"
    )  # fmt: skip
    rows = draw(st.lists(st.lists(acts(), max_size=3), min_size=1, max_size=4))
    places = st.sampled_from(["", "room", "removal-area", "ghost"])
    steps = tuple(
        replace(
            step(f"s{n}", place=draw(places), hold=draw(st.booleans()), branches=draw(st.sampled_from([(), ("x",)]))),
            acts=tuple(row),
        )
        for n, row in enumerate(rows)
    )
    back = draw(st.sampled_from(["same", "s0", "ghost", ""]))
    branches = (branch("x", replace(step("x1"), acts=(draw(acts()),)), rejoin=back, anywhere=draw(st.booleans())),)
    kind = draw(st.sampled_from(["removing", "putting-on", "procedure"]))
    return edition(items, steps, branches, draw(st.sampled_from(["", "standard", "enhanced"])), kind=kind)


@settings(max_examples=150, deadline=None)
@given(nonsense())
def test_nonsense_never_fails_the_analysis(edition: Edition) -> None:
    """Broken references, impossible acts and endless loops give findings, and every suggestion can be applied."""
    found, moments, _ = run(edition)
    assert {m.step for m in moments} == {s.id for s in edition.all_steps()}
    for finding in found:
        suggestion = dict(finding.data).get("suggestion")
        if suggestion:
            run(apply(edition, suggestion))


def test_a_loop_of_branches_ends() -> None:
    """A branch that goes back before where it was taken is walked until nothing new is reached."""
    again = branch("again", step("again-1", "note"), rejoin="inspect-all")
    steps = tuple(replace(s, branches=("again",)) if s.id == "inspect-body" else s for s in ENH_N95_GOWN.steps)
    looped = numbered(replace(ENH_N95_GOWN, steps=steps, branches=(*ENH_N95_GOWN.branches, again)))
    found, _, counts = run(looped)
    assert counts.bounded == "" and "removed-but-not-worn" in rules(found)


def test_an_edition_without_steps_or_items_is_silent() -> None:
    """Nothing to run is nothing to say about the sequence."""
    assert run(replace(edition((), (step("s"),), (), kind="procedure"), steps=(), phases=()))[0] == ()


def test_an_act_by_a_role_that_is_not_there() -> None:
    """It is taken for the wearer's; that the role is missing is told where references are checked."""
    strange = replace(PUBLISHED["STD-EX1"].steps[0], acts=(act("remove gloves touching=inside by=ghost into=waste"),))
    run(replace(PUBLISHED["STD-EX1"], steps=(strange, *PUBLISHED["STD-EX1"].steps[1:])))


def test_analyse_puts_the_parts_together() -> None:
    """Findings of the sequence and the times, moments and counts in one value."""
    result = analyse(PUBLISHED["STD-EX1"])
    assert any(f.rule.startswith("sequence/") for f in result.findings)
    assert result.moment("gown-off") is not None and result.counts.combinations == 1
    assert {t.step for t in result.timings} == {s.id for s in PUBLISHED["STD-EX1"].steps}
