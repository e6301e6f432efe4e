"""The pseudo-language shows what translators never got, and what will not fit."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from docgen.language.numbers import quantities
from docgen.language.pseudo import pseudo
from docgen.source import inline


def test_words_are_accented_longer_and_bracketed():
    """Slots, emphasis, escapes and numbers with their units stay; the rest changes."""
    assert pseudo("Use {hand-rub}, **do not** touch \\* for 20 seconds.") == (
        "[Ûšé {hand-rub}, **dö ñöt** töûçĥ \\* för 20 seconds. ōñē ţŵō ţĥŕēē ƒōūŕ]"
    )
    assert pseudo("+1 555 0100") == "+1 555 0100"
    assert pseudo("N95") != "N95"


@given(st.text("abc defgh{}0123456789 .*", min_size=1, max_size=80))
@settings(max_examples=200)
def test_whatever_can_be_read_can_be_read_in_it(text):
    """It has the slots, the numbers and about 1.4 times the length of its source."""
    try:
        source = inline(text)
    except ValueError:
        return
    if not source.source:
        return
    found = inline(pseudo(source.source))
    assert found.slots == source.slots
    ours, theirs = (quantities(words.source, "en", {}) for words in (source, found))
    assert [q.number for q in ours] == [q.number for q in theirs]
    assert len(found.source) <= len(source.source) * 1.4 + 4
