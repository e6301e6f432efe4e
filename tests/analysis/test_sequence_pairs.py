"""Two protocols that pair agree on what is worn."""

from __future__ import annotations

from dataclasses import replace

from sequence_kit import edition, item, step

from docgen.analysis import check_pair
from docgen.model.edition import Item

ITEMS = (
    item("gown", "gown"),
    item("gloves", "gloves", "gown", layer="single"),
    item("new-gloves", "gloves", layer="single", worn=False),
    item("scrubs", "clothing", kept=True),
)
OFF = edition(ITEMS, (step("s"),))
ON = edition(
    tuple(replace(i, worn=i.id != "scrubs") for i in ITEMS if i.id != "new-gloves"), (step("s"),), kind="putting-on"
)


def said(items: tuple[Item, ...]) -> list[str]:
    return [f.message for f in check_pair(OFF, replace(ON, protocol="other", items=items))]


def test_an_agreeing_pair_is_silent() -> None:
    """Scrubs may be worn before, and new gloves belong to the removal alone."""
    assert said(ON.items) == []


def test_an_item_of_one_only_is_told() -> None:
    """Put on and never taken off, or taken off and never put on."""
    assert said((*ON.items, item("hood", "hood"))) == ["`hood` is put on by `other` but not worn in `test`"]
    assert said(ON.items[1:]) == ["`gown` is taken off by `test` but never put on by `other`"]


def test_kind_layer_and_covering_must_agree() -> None:
    """The same name for different things is worse than a missing one."""
    changed = tuple(replace(i, layer="inner", covers=()) if i.id == "gloves" else i for i in ON.items)
    assert said(changed) == [
        "`gloves` is in two layers, `single` and `inner`, in `test` and `other`",
        "`gloves` does not cover the same: `gown` is named in one only, in `test` and `other`",
    ]
    kind = tuple(replace(i, kind="coverall") if i.id == "gown" else i for i in ON.items)
    assert said(kind) == ["`gown` is of two kinds, `gown` and `coverall`, in `test` and `other`"]


def test_the_same_options_must_lead_to_it() -> None:
    """An item one protocol always has and the other has by choice is told."""
    optional = tuple(replace(i, when=(("apron", ("tie",)),)) if i.id == "gown" else i for i in ON.items)
    assert said(optional) == ["`gown` does not depend on the same choices in `test` and `other`"]


def test_it_is_an_error_with_a_hint() -> None:
    """At the item, in the protocol that must change."""
    finding = check_pair(OFF, replace(ON, protocol="other", items=ON.items[1:]))[0]
    assert finding.severity == "error" and finding.protocol == "other" and finding.hint == "add the item to `other`"
    assert finding.where.line
