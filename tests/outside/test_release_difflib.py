"""The difference of two texts against Python's difflib, on random edits."""

from __future__ import annotations

import difflib

from hypothesis import given, settings
from hypothesis import strategies as st

from docgen.model.text import Run
from docgen.release.words import difference, side, tokens

SAMPLE = ("rub", "the", "gloves", "not", "20", "2.5", "seconds", "palm", "手", "洗", ".")
WORDS = st.lists(st.sampled_from(SAMPLE), max_size=14)


@st.composite
def edited(draw):
    """A text, and the same after some words were put in, taken out and exchanged."""
    words = draw(WORDS)
    new = list(words)
    for _ in range(draw(st.integers(0, 4))):
        at = draw(st.integers(0, len(new)))
        match draw(st.sampled_from(["in", "out", "other"])):
            case "in":
                new.insert(at, draw(st.sampled_from(["wet", "dry", "30"])))
            case "out":
                del new[at : at + 1]
            case "other":
                new[at : at + 1] = ["both"]
    return " ".join(words), " ".join(new)


@settings(deadline=None)
@given(edited())
def test_applying_the_difference_gives_what_difflib_restores(pair):
    """`difflib.restore` of an `ndiff` over the same words gives both texts; so do the sides of our difference."""
    old, new = (tokens((Run(text),)) for text in pair)
    stretches = difference(old, new)
    delta = list(difflib.ndiff(list(old), list(new), charjunk=None))

    assert side(stretches, "old") == "".join(difflib.restore(delta, 1)) == pair[0]
    assert side(stretches, "new") == "".join(difflib.restore(delta, 2)) == pair[1]


@settings(deadline=None)
@given(edited())
def test_no_more_is_called_equal_than_difflib_matches(pair):
    """What is marked as unchanged is at most what difflib's matcher finds in common, and no change hides in it."""
    old, new = (tokens((Run(text),)) for text in pair)
    matcher = difflib.SequenceMatcher(None, old, new, autojunk=False)
    common = sum(len("".join(old[b.a : b.a + b.size])) for b in matcher.get_matching_blocks())
    unchanged = sum(len(s.words) for s in difference(old, new) if s.side == "both")

    assert unchanged <= common
    assert (unchanged == len(pair[0]) == len(pair[1])) == (pair[0] == pair[1])
