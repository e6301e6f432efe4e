"""Emphasis as CommonMark defines it, against the CommonMark project's own Python parser (`commonmark` on PyPI)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from docgen.model.text import WordsError
from docgen.source import inline

commonmark = pytest.importorskip("commonmark")


def reference(text: str) -> list[tuple[str, bool, bool]]:
    """Each character with (strong, emphasis), by the other parser."""
    out: list[tuple[str, bool, bool]] = []
    strong = emphasis = 0
    for node, entering in commonmark.Parser().parse(text).walker():
        step = 1 if entering else -1
        if node.t == "strong":
            strong += step
        elif node.t == "emph":
            emphasis += step
        elif node.t == "text":
            out += [(c, strong > 0, emphasis > 0) for c in node.literal]
    return out


@given(st.text(st.sampled_from("ab *_.\\"), min_size=1, max_size=24))
def test_emphasis_is_what_commonmark_says(text: str) -> None:
    """Every character has the emphasis that the reference gives it, for all texts that are taken at all."""
    text = f"x {text} y"  # inside a paragraph: no block structure
    try:
        words = inline(text)
    except WordsError:
        return
    ours = [(c, run.strong, run.emphasis) for run in words.runs for c in run.text]
    assert ours == reference(words.source)
