"""Every rule can be read in plain words, one at a time or all on a page."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from docgen import analysis
from docgen.analysis.rules import RULES, explain, find_rule, rules_page
from docgen.model.moment import Rule


@pytest.mark.parametrize("rule", RULES, ids=lambda r: r.name)
def test_a_rule_explains_itself(rule):
    """Name, what must be true, why, who says so, how severe, and an example: nothing is left blank."""
    said = explain(rule.name)
    assert said.startswith(rule.name)
    for part in (rule.title, rule.why, rule.basis, rule.example):
        assert part and part in said
    assert re.fullmatch(r"[a-z]+/[a-z]+(-[a-z]+)*", rule.name)
    assert rule.title.endswith(".") and rule.why.endswith(".")


@pytest.mark.parametrize("rule", RULES, ids=lambda r: r.name)
def test_a_basis_is_a_source_or_says_that_there_is_none(rule):
    """A rule of the trade without a source is marked so; anything else names a document or an author."""
    assert "common practice, no source" in rule.basis or re.search(r"[A-Z][\w-]+", rule.basis)


def test_a_rule_is_found_without_its_room():
    """People type what they remember."""
    assert find_rule("passive-voice") == find_rule("wording/passive-voice") is not None
    assert "passive" in explain("passive-voice")


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("wording/passiv-voice", "wording/passive-voice"),
        ("passive-voise", "wording/passive-voice"),
        ("wordings/two-name", "wording/two-names"),
        ("timing/longer", "timing/longer-than-stated"),
    ],
)
def test_an_unknown_name_gets_the_likely_ones(typed, meant):
    """A misspelt rule is answered with what was probably meant."""
    assert find_rule(typed) is None
    assert f"`{meant}`" in explain(typed)


def test_a_name_like_no_rule_points_to_the_page():
    """No far-fetched guess."""
    assert "page of rules" in explain("zzzz")


def test_the_page_holds_every_rule_under_its_room():
    """Each rule once, as a heading, with its basis and exceptions."""
    page = rules_page()
    headings = re.findall(r"^### `(.+)`$", page, re.M)
    assert headings == [r.name for r in RULES]
    rooms = list(dict.fromkeys(r.name.partition("/")[0] for r in RULES))
    assert len(re.findall(r"^## ", page, re.M)) == len(rooms)
    for rule in RULES:
        assert rule.basis in page and rule.exceptions in page


def test_severity_and_release_are_said_in_words():
    """Per profile where they differ; whether and where it can be set aside."""
    one = Rule("sequence/x", "T.", "W.", "B", severity=(("standard", "warning"), ("enhanced", "error")), waivable=False)
    said = explain("sequence/x", (one,))
    assert "warning in profile `standard`; error in profile `enhanced`" in said
    assert "cannot be set aside" in said
    same = Rule("sequence/y", "T.", "W.", "B")
    assert "Severity: error\n" in explain("sequence/y", (same,))
    assert "A site may waive it" in explain("sequence/y", (same,))
    assert "A protocol may silence it" in explain("wording/and-or")


def test_the_page_in_the_tree_is_current(update_goldens):
    """docgen/analysis/RULES.md is generated; `pytest tests/analysis --update-goldens` writes it anew."""
    page = Path(__file__).parents[2] / "docgen" / "analysis" / "RULES.md"
    if update_goldens:
        page.write_text(analysis.rules_page(), "utf-8")

    assert page.read_text("utf-8") == analysis.rules_page()
