"""What differs between two texts, word by word."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from docgen.model.text import Run
from docgen.release.words import difference, side, tokens
from docgen.source import inline

SAMPLE = ("rub", "the", "gloves", "20", "2.5", "s,", "not", "don’t", "手", "洗手", "ล้างมือ", "धोएं", "قفازات", ".")
WORDS = st.lists(st.sampled_from(SAMPLE), max_size=12).map(" ".join)


def differ(old: str, new: str):
    return difference(tokens(inline(old).runs), tokens(inline(new).runs))


@given(st.text(max_size=80))
def test_tokens_lose_nothing(text):
    """Whatever is typed, its tokens joined are the text."""
    assert "".join(tokens((Run(text),))) == text


@given(WORDS, WORDS)
def test_applying_a_difference_gives_the_new_text(old, new):
    """The stretches of one side, joined, are the text of that side."""
    stretches = difference(tokens((Run(old),)), tokens((Run(new),)))
    assert side(stretches, "old") == old
    assert side(stretches, "new") == new


@given(WORDS)
def test_a_text_does_not_differ_from_itself(text):
    """Nothing is marked where nothing changed."""
    assert {s.side for s in differ(text, text)} <= {"both"}


@pytest.mark.parametrize(
    ("old", "new", "gone", "come"),
    [
        ("Rub for 20 seconds.", "Rub for 30 seconds.", ["20"], ["30"]),
        ("Use 2.5 ml.", "Use 2.6 ml.", ["2.5 ml"], ["2.6 ml"]),
        ("Call +1 555 0142.", "Call +1 555 0143.", ["+1 555 0142"], ["+1 555 0143"]),
        ("Do not touch it.", "Touch it.", ["Do not touch"], ["Touch"]),
        ("洗手20秒。", "洗手30秒。", ["20"], ["30"]),
        ("ล้างมือให้สะอาด", "ล้างมือ", ["ให้สะอาด"], []),
        ("अपने हाथ धोएं", "अपने पैर धोएं", ["हाथ"], ["पैर"]),
    ],
)
def test_whole_words_are_marked(old, new, gone, come):
    """Numbers with their decimals and units, telephone numbers and words with their marks are marked as wholes."""
    stretches = differ(old, new)
    assert [s.words for s in stretches if s.side == "old"] == gone
    assert [s.words for s in stretches if s.side == "new"] == come


def test_a_changed_phrase_is_marked_as_one():
    """A blank between two changed words is no island of sameness."""
    stretches = differ("Pull the left cuff now.", "Pull your right cuff now.")
    assert [s.words for s in stretches if s.side == "new"] == ["your right"]
