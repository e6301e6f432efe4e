"""Names that lead nowhere and parts that never appear, each mended and broken again."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from docgen.findings import Finding
from docgen.source import check_references, read_protocol, read_site
from docgen.source.conditions import both, holds, lacking, never

GOOD = (Path(__file__).parent / "broken" / "good-protocol.yaml").read_text("utf-8")
HOME = Path(__file__).parents[2] / "protocols"


def found(*changes: tuple[str, str], site: str = "", protocols: tuple[str, ...] = ()) -> list[Finding]:
    """Findings after changing the good protocol."""
    text = GOOD
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    read = read_protocol(text, "x.yaml")
    assert read.findings == ()
    sites = [read_site(site, "s.yaml")] if site else []
    assert all(not s.findings for s in sites)
    return list(check_references(read, sites, protocols))


def rules(*changes: tuple[str, str], **more) -> list[str]:
    return [f.rule.removeprefix("source/") for f in found(*changes, **more)]


@pytest.mark.parametrize(
    ("rejoin", "hint"),
    [
        ("trow-away", "did you mean `throw-away`?"),
        ("throw-it-away", "put the step back, or write `same` to go on after `wipe`, where it was left"),
    ],
)
def test_a_branch_whose_rejoin_is_gone_is_told_where_to_go_on(rejoin: str, hint: str) -> None:
    """A slip of the pen is corrected; for a step that was deleted no likely looking name is guessed."""
    (finding,) = found(("rejoin: throw-away", f"rejoin: {rejoin}"))
    assert finding.hint == hint


def test_the_next_step_is_named_for_a_rejoin_that_is_gone() -> None:
    """Only where it is there under every choice: `wipe-inside` is not always."""
    always = ("        when: {side: both}\n", "")
    (finding,) = [f for f in found(always, ("rejoin: throw-away", "rejoin: polish")) if "rejoins" in f.rule]
    assert finding.hint == "put the step back, or rejoin at `wipe-inside`, the next step after `wipe`"


def test_shipped_protocols_and_sites_have_no_loose_ends() -> None:
    """All of them, against all sites."""
    sites = [read_site(p.read_bytes(), p.name) for p in sorted(HOME.glob("sites/*.yaml"))]
    names = [p.stem for p in HOME.glob("*.yaml")]
    for path in sorted(HOME.glob("*.yaml")):
        assert check_references(read_protocol(path.read_bytes(), path.name), sites, names) == ()


@pytest.mark.parametrize(
    ("old", "new", "rule"),
    [
        ("actor: staff", "actor: nurse", "unknown-role"),
        ("place: corridor", "place: hall", "unknown-place"),
        ("using: wipes", "using: mop", "unknown-supply"),
        ("into: bin", "into: sack", "unknown-supply"),
        ("cautions: wet", "cautions: [wet, dry]", "unknown-caution"),
        ("branches: torn", "branches: [torn, lost]", "unknown-branch"),
        ("when: {side: both}", "when: {side: both, colour: red}", "unknown-option"),
        ("when: {side: both}", "when: {side: [both, none]}", "unknown-choice"),
        ("default: one", "default: none", "unknown-choice"),
        ("rejoin: throw-away", "rejoin: dry", "rejoins-nowhere"),
        ("rejoin: throw-away", "rejoin: new-wipe", "rejoins-nowhere"),
        ("rejoin: throw-away", "rejoin: wipe-inside", "rejoins-nowhere"),
        ("id: wipe-inside", "id: wipe", "duplicate-id"),
        ("id: new-wipe", "id: same", "reserved-name"),
        ("signal: caution", "signal: caution\n    when: {side: [one, both]}", ""),
        ("{clean: handle, using: wipes}", "{move: staff}", "incomplete-act"),
        ("{clean: handle, using: wipes}", "{move: staff, to: bin}", "wrong-kind"),
        ("{clean: handle, using: wipes}", "{sit: handle}", "wrong-kind"),
        ("{clean: handle, using: wipes}", "{rub-hands: hands}", "unknown-target"),
        ("{clean: handle, using: wipes}", "{rub-hands: bare, time: {contact: soap}}", "unknown-supply"),
        ("staff: {name: Staff}", "staff: {name: Staff, wears: hat}", "unknown-item"),
        ("kind: agent}", "kind: agent, at: hall}", "unknown-place"),
        ("branches: torn", "hold: {by: boss, until: it is done}\n        branches: torn", "unknown-role"),
        ("branches: torn", "uses: mop\n        branches: torn", "unknown-supply"),
        ("branches: torn", "time: {contact: mop}\n        branches: torn", "unknown-supply"),
        ("basis:", "items: {hat: {name: hat, kind: hood, covers: hair}}\nbasis:", "unknown-item"),
        ("basis:", "items: {hat: {name: hat, kind: hood}}\nbasis:", "unused-item"),
        ("basis:", "items: {hat: {name: hat, kind: hood, covers: hat}}\nbasis:", "covers-itself"),
        ("  bin:", "  mop: {name: mop}\n  bin:", "unused-supply"),
        ("  corridor:", "  wipes: {name: wipes, order: 2}\n  corridor:", "ambiguous-name"),
        ("        cautions: wet\n", "", "unused-caution"),
        ("        branches: torn\n", "", "branch-never-offered"),
        ("        when: {side: both}\n", "", "unused-option"),
        ("review: 2027-02-01", "review: 2026-02-01", "review-before-effective"),
        ("owner:", "status: approved\nowner:", "not-approved"),
        ("owner:", "approval: {by: Ada Quillon, role: Chair, on: 2026-02-03}\nowner:", "effective-before-approval"),
        ("owner:", "pairs-with: door-handle\nowner:", "unknown-protocol"),
        ("{name: wipes", "{name: 'wet {bin}'", "slot-in-name"),
    ],
)  # fmt: skip
def test_each_loose_end_has_its_rule(old: str, new: str, rule: str) -> None:
    """One change, one rule, and nothing besides but that something is no longer used (an empty rule: all is well)."""
    said = set(rules((old, new)))
    assert said - {"unused-supply", "unused-option", "unused-item"} <= {rule}
    assert not rule or rule in said


def test_a_supply_named_in_words_is_used() -> None:
    """`{mop}` in a text is a use, and so is a contact time."""
    assert rules(("  bin:", "  mop: {name: mop}\n  bin:"), ("Wipe torn?", "Wipe or {mop} torn?")) == []


def test_pairs_are_checked_when_all_names_are_known() -> None:
    """Without the list of protocols nothing can be said."""
    change = ("owner:", "pairs-with: door-knob\nowner:")
    assert rules(change) == []
    assert rules(change, protocols=("door-handle",)) == ["unknown-protocol"]
    assert rules(change, protocols=("door-handle", "door-knob")) == []


SITE = "site: s\nname: S\nprotocols:\n  door-handle: {options: {side: one}}\n"


def test_slots_are_asked_for_only_where_they_appear() -> None:
    """A placeholder in a step that this site leaves out need not be filled."""
    change = ("headline: Wipe the inner handle", "headline: Wipe the {inner-side} handle")
    assert rules(change) == []
    assert rules(change, site=SITE) == []
    assert rules(change, site=SITE.replace("one", "both")) == ["unfilled-slot"]
    assert rules(change, site=SITE.replace("one", "both") + "values: {inner-side: inner}\n") == []


def test_an_unfilled_slot_is_shown_at_the_slot() -> None:
    """Line and column of the brace, and the site it is about."""
    only = found(("Clean the handle.", "Clean the {what}."), site=SITE)[0]
    assert only.where.excerpt[only.where.column - 1 :].startswith("{what}")
    assert only.site == "s"
    assert only.protocol == "door-handle"


def test_options_without_default_must_be_chosen() -> None:
    """At the place in the site where the choice is missing."""
    change = ("    default: one\n", "")
    assert rules(change, site=SITE) == []
    missing = found(change, site=SITE.replace("{options: {side: one}}", "{}"))
    assert [(f.rule, f.where.file, f.where.line) for f in missing] == [("source/missing-option", "s.yaml", 4)]


def test_contact_times_come_from_the_label() -> None:
    """A step that waits for a contact time needs it from the site."""
    change = ("{clean: handle, using: wipes}", "{clean: handle, using: wipes, time: {contact: wipes}}")
    assert rules(change, site=SITE) == ["missing-contact-time"]
    assert rules(change, site=SITE + "supplies: {wipes: {contact-seconds: 60}}\n") == []


def test_a_step_whose_item_may_be_gone_is_found_with_an_example() -> None:
    """It names the choice under which the step would act on nothing."""
    items = ("basis:", "items:\n  hat: {name: hat, kind: hood, when: {side: both}}\nbasis:")
    act = ("{discard: wipes, into: bin}", "{remove: hat}")
    lonely = found(items, act)
    assert [f.rule for f in lonely] == ["source/item-not-there"]
    assert "`side` is `one`" in lonely[0].message
    assert rules(items, act, ("id: throw-away", "id: throw-away\n        when: {side: one}")) == [
        "when-never-holds",
        "rejoins-nowhere",
    ]


def test_alternatives_that_together_are_always_there_are_fine() -> None:
    """Gown or coverall: one of the two is worn under every choice."""
    hat, cap = "hat: {name: hat, kind: hood, when: {side: both}}", "cap: {name: cap, kind: hood, when: {side: one}}"
    items = ("basis:", f"items:\n  {hat}\n  {cap}\nbasis:")
    assert rules(items, ("{discard: wipes, into: bin}", "{remove: [hat, cap]}")) == []


# --- conditions against brute force -------------------------------------------------------------------------

UNIVERSE = {"a": ("1", "2"), "b": ("1", "2", "3"), "c": ("1", "2")}
CONDITIONS = st.fixed_dictionaries(
    {},
    optional={o: st.sets(st.sampled_from(c), min_size=1).map(frozenset) for o, c in UNIVERSE.items()},
)
EVERYTHING = [dict(zip(UNIVERSE, choices, strict=True)) for choices in product(*UNIVERSE.values())]


@given(CONDITIONS, CONDITIONS)
def test_both_and_never_agree_with_trying_everything(first: dict, second: dict) -> None:
    """Two conditions hold together exactly where each holds."""
    joined = both(first, second)
    true = [c for c in EVERYTHING if holds(first, c) and holds(second, c)]
    assert true == [c for c in EVERYTHING if not never(joined) and holds(joined, c)]
    assert bool(true) == (never(joined) == "")


@given(CONDITIONS, st.lists(CONDITIONS, min_size=1, max_size=3))
def test_lacking_agrees_with_trying_everything(condition: dict, alternatives: list[dict]) -> None:
    """A gap is reported exactly when there is one, and the example is one."""
    gaps = [c for c in EVERYTHING if holds(condition, c) and not any(holds(a, c) for a in alternatives)]
    gap = lacking(condition, alternatives, UNIVERSE)
    assert (gap is not None) == bool(gaps)
    if gap is not None:
        assert any(all(c[o] == choice for o, choice in gap.items()) for c in gaps)


def test_a_flood_of_unknown_names_is_cut_and_says_so() -> None:
    """Thousands of wrong names cost no more than a hundred, and the rest is announced."""
    names = ", ".join(f"z{n}" for n in range(5000))
    said = rules(("{clean: handle, using: wipes}", f"{{inspect: [{names}]}}"))
    assert len(said) == 101
    assert said[-1] == "more"
