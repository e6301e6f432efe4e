"""A glossary is read with a place for every problem."""

from __future__ import annotations

from pathlib import Path

import pytest

from docgen.model.glossary import Usage
from docgen.source.glossary import read_glossary

GOOD = """\
terms:
  - {term: hand rub, also: [hand rubs], note: Not soap., in: {es: {use: [gel*], never: [jabón]}}}
  - {term: N95, keep: true}
"""


def test_a_glossary_becomes_a_value():
    """Terms with their forms, and how each language says them."""
    found = read_glossary(GOOD, "glossary.yaml").value
    assert found
    rub, mask = found.terms
    assert (rub.term, rub.also, rub.keep, mask.keep) == ("hand rub", ("hand rubs",), False, True)
    assert rub.usage("es") == Usage("es", ("gel*",), ("jabón",))
    assert rub.usage("fr") == Usage("fr")


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ("term: a\n", 1, "a list of `terms`"),
        ("terms:\n  - a\n", 2, "an entry with a `term`"),
        ("terms:\n  - {term: a}\n  - {term: A}\n", 3, "there twice"),
        ("terms:\n  - {term: a, kep: true}\n", 2, "`kep` is not a key"),
        ("terms:\n  - {term: a, keep: 1}\n", 2, "neither `true` nor `false`"),
        ("terms:\n  - {term: a, in: {spanish: {use: [b]}}}\n", 2, "not a language tag"),
        ("terms:\n  - {term: a, in: {es: b}}\n", 2, "`use` or `never`"),
        ("terms:\n  - {term: a, in: {es: {use: [{b: c}]}}}\n", 2, "a list of words"),
        ("terms:\n  - {term: a, in: {es: {uses: [b]}}}\n", 2, "`uses` is not a key"),
    ],
)
def test_what_is_wrong_is_said_at_its_line(text, line, says):
    """Misspelt keys, wrong kinds, doubles."""
    found = read_glossary(text, "glossary.yaml")
    assert found.value is None
    assert [(f.where.line, says in f.message) for f in found.findings] == [(line, True)]


def test_the_shipped_glossary_is_sound():
    """It reads, and its terms are there in English."""
    text = (Path(__file__).parents[2] / "locales" / "glossary.yaml").read_text("utf-8")
    found = read_glossary(text, "glossary.yaml")
    assert found.findings == ()
    assert found.value and {"hand rub", "outer gloves", "N95"} <= {t.term for t in found.value.terms}
