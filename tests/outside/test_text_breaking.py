"""Our places for line ends against Unicode's own conformance file (LineBreakTest.txt, Debian's unicode-data)."""

from __future__ import annotations

from test_text_bidi import unicode_file

from docgen.typeset import breaking


def cases():
    """Texts of the file with the offsets at which it allows a break."""
    for line in unicode_file("auxiliary/LineBreakTest.txt").read_text("utf-8").splitlines():
        marks = line.partition("#")[0].split()
        if marks:
            text = "".join(chr(int(point, 16)) for point in marks[1::2])
            yield text, [i for i, mark in enumerate(marks[::2]) if mark == "÷" and 0 < i < len(text)]


def test_plain_texts_break_where_the_standard_says():
    """On every case plain enough for the short cut, it allows what the file allows, less what our rule takes away."""
    plain = [(text, wanted) for text, wanted in cases() if breaking.plain(text)]

    assert [
        (text, wanted)
        for text, wanted in plain
        if breaking._kept(text, breaking._simple(text)) != breaking._kept(text, wanted)
    ] == []
    assert len(plain) >= 20


def test_no_place_is_added_to_those_of_the_standard():
    """A line ends only where the file allows it; a quotation mark or a leading stop before a space changed since.

    (LB15 of Unicode 15.0 gave way to LB15a to LB15d in 15.1 and 16.0, which ICU follows.)
    """
    added = [text for text, wanted in cases() if not set(breaking.breaks(text, "en")[:-1]) <= set(wanted)]

    assert [text for text in added if not set('"« .') & set(text)] == []
    assert len(added) < 10
