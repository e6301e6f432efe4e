"""A site may set a rule aside for a time; three rules cannot be, and a waiver that does nothing is told."""

from __future__ import annotations

import datetime
from dataclasses import replace

import pytest
from published_sequences import ENH_N95_GOWN, STD_EX1
from sequence_kit import changed, rules, without

from docgen.analysis.sequence import run
from docgen.findings import Where
from docgen.model.edition import Edition, Waiver

DAY = datetime.date(2026, 3, 1)
PLACE = Where("site.yaml", 40, 5)


def waived(edition: Edition, rule: str, *steps: str, review: datetime.date = DAY) -> Edition:
    waiver = Waiver(f"sequence/{rule}", steps, "Approved for the trial period.", "Dr. A. Example", DAY, review, PLACE)
    return replace(edition, site="site", waivers=(waiver,))


WRONG = without(ENH_N95_GOWN, "sanitize-after-hood")


def test_a_waived_rule_is_silent() -> None:
    """The finding is gone; the waiver stays in the edition for the record."""
    assert "no-hygiene-between-items" in rules(run(WRONG)[0])
    assert run(waived(WRONG, "no-hygiene-between-items"))[0] == ()
    assert run(waived(WRONG, "no-hygiene-between-items", "gown-off"))[0] == ()


def test_a_waiver_for_another_step_waives_nothing() -> None:
    """The finding stays, and the waiver is told to be unused, at its place in the site file."""
    found = run(waived(WRONG, "no-hygiene-between-items", "hood-off"))[0]
    assert rules(found) == {"no-hygiene-between-items", "waiver-unused"}
    unused = next(f for f in found if f.rule.endswith("unused"))
    assert unused.where == PLACE and unused.severity == "warning" and unused.site == "site"


def test_a_waiver_covers_all_steps_at_which_the_fault_shows() -> None:
    """A fault told once for several steps is waived only when the waiver names them all."""
    wrong = changed(STD_EX1, "gown-off", "remove gown touching=outside", "discard gown into=waste")
    fault = next(f for f in run(wrong)[0] if f.rule.endswith("bare-hand-on-dirty-surface"))
    assert dict(fault.data)["also"] == "respirator-off"
    some = run(waived(wrong, "bare-hand-on-dirty-surface", "gown-off"))[0]
    both = run(waived(wrong, "bare-hand-on-dirty-surface", "gown-off", "respirator-off"))[0]
    assert "bare-hand-on-dirty-surface" in rules(some) and "bare-hand-on-dirty-surface" not in rules(both)


@pytest.mark.parametrize(
    ("rule", "wrong"),
    [
        ("removed-but-not-worn", changed(STD_EX1, "gown-off", "remove gloves touching=inside")),
        ("no-hygiene-after-last-gloves", without(ENH_N95_GOWN, "rub-last")),
        ("ends-without-hand-hygiene", without(STD_EX1, "rub-hands")),
    ],
)
def test_three_rules_cannot_be_waived(rule: str, wrong: Edition) -> None:
    """The fault stays an error, and so is the attempt to waive it."""
    found = run(waived(wrong, rule))[0]
    assert {rule, "waiver-not-allowed"} <= {f.rule.partition("/")[2] for f in found if f.severity == "error"}


def test_an_expired_waiver_waives_nothing() -> None:
    """The day after its review date; there is no clock, so without a day nothing expires."""
    edition = waived(WRONG, "no-hygiene-between-items")
    assert run(edition, today=DAY)[0] == ()
    assert run(edition)[0] == ()
    found = run(edition, today=DAY + datetime.timedelta(days=1))[0]
    assert rules(found) == {"no-hygiene-between-items", "waiver-expired"}
    assert "2026-03-01" in next(f.message for f in found if f.rule.endswith("expired"))


def test_a_misspelt_waiver_is_told() -> None:
    """With the rule that was probably meant; and a step that does not exist, by name."""
    found = run(waived(ENH_N95_GOWN, "hold-mising"))[0]
    assert rules(found) == {"waiver-unknown"} and "`sequence/hold-missing`" in found[0].hint
    found = run(waived(WRONG, "no-hygiene-between-items", "gown-of"))[0]
    assert rules(found) == {"no-hygiene-between-items", "waiver-unknown"}
