"""A word list is read with a place for every problem."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from docgen.model.wordlist import Vague
from docgen.source.wordlist import read_wordlist

GOOD = """\
language: en
verbs: [remove, put]
units: [ml, "°C"]
conditions: [if, as soon as]
negations: [no, not]
shortenings: {e.g.: for example}
synonyms:
  - [bin, waste container]
vague:
  - {words: [as needed], mend: say when, unless: [until], instructions: yes}
"""


def test_a_list_becomes_a_value():
    """Every key arrives in its shape, and YAML guesses nothing: `no` stays a word."""
    read = read_wordlist(GOOD, "words.yaml")
    assert read.findings == ()
    words = read.value
    assert words and words.verbs == {"remove", "put"}
    assert words.units == {"ml", "°C"}
    assert words.conditions == ("if", "as soon as")
    assert words.negations == {"no", "not"}
    assert words.shortenings == (("e.g.", "for example"),)
    assert words.synonyms == (("bin", "waste container"),)
    assert words.vague == (Vague(("as needed",), "say when", ("until",), True),)


@pytest.mark.parametrize(
    ("bad", "line", "says"),
    [
        ("language: en\nverb: [a]\n", 2, "`verb` is not a key"),
        ("language: en\nverbs: remove\n", 2, "a list was expected"),
        ("language: en\nverbs:\n  - {a: b}\n", 3, "a word was expected"),
        ("language: en\nverbs:\n  - Remove\n", 3, "capital letter"),
        ("language: en\nvague:\n  - [as needed]\n", 3, "`words` and `mend`"),
        ("language: en\nvague:\n  - {words: [a], mend: b, unles: [c]}\n", 3, "`unles` is not a key"),
        ("language: en\nvague:\n  - {words: [a], mend: b, instructions: maybe}\n", 3, "neither `yes` nor `no`"),
        ("language: en\nshortenings: [a]\n", 2, "short forms"),
        ("language: en\nsynonyms: [[a], b]\n", 2, "a list was expected"),
        ("verbs: [a]\n", 1, "`language` is missing"),
        ("- a\n", 1, "keys with values"),
    ],
)
def test_every_fault_has_its_place(bad, line, says):
    """What is wrong is said at its line, with a hint, and no half list is handed on."""
    read = read_wordlist(bad, "words.yaml")
    assert read.value is None
    (finding, *_) = read.findings
    assert finding.where.line == line
    assert says in finding.message
    assert finding.hint


@pytest.mark.parametrize("unusable", ["", "language: [\n", "language: &x en\n"])
def test_the_yaml_door_is_the_same_as_for_protocols(unusable):
    """What no YAML file of ours may hold is refused here too."""
    read = read_wordlist(unusable, "words.yaml")
    assert read.value is None
    assert {f.rule.partition("/")[0] for f in read.findings} == {"source"}


def test_several_faults_are_told_at_once():
    """An author mends them in one go."""
    assert len(read_wordlist("verb: [a]\nverbs: b\n", "w").findings) == 3


@settings(max_examples=80, deadline=None)
@given(
    st.text(max_size=60) | st.sampled_from(GOOD.splitlines()).flatmap(lambda s: st.just(GOOD.replace(s, s[:-1] + "[")))
)
def test_no_text_makes_the_reader_crash(source):
    """Whatever is in the file, there is a value or a finding."""
    read = read_wordlist(source, "words.yaml")
    assert (read.value is None) == bool(read.findings)
