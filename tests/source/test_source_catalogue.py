"""A PO file is read whole, with a place for every entry, or refused with a finding for every problem."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from docgen.model.catalogue import Signed
from docgen.source.catalogue import read_catalogue

HEADER = 'msgid ""\nmsgstr ""\n"Language: es\\n"\n"Content-Type: text/plain; charset=UTF-8\\n"\n'
GOOD = (
    "# What this is.\n"
    'msgid ""\nmsgstr ""\n"Language: zh_Hans\\n"\n"Last-Translator: Ana Pérez\\n"\n'
    '"PO-Revision-Date: 2030-01-02 10:00+0000\\n"\n"X-Reviser: Luis Gómez\\n"\n"X-Revised-On: 2030-01-03\\n"\n'
    '"X-State: revised\\n"\n"X-Revised-Content: ABC123\\n"\n"X-Mine: kept\\n"\n'
    "\n# a remark\n#. Who says it.\n#: protocols/a.yaml\n#, fuzzy\n#| msgid \"\"\n#| \"old \"\n#| \"words\"\n"
    'msgctxt "step.a.say"\nmsgid ""\n"new "\n"words"\nmsgstr "a \\"b\\" c"\n'
    '\nmsgctxt "template"\nmsgid "Done"\nmsgstr ""\n'
    '\n#~| msgid "x"\n#~ msgctxt "step.b.say"\n#~ msgid "gone"\n#~ msgstr "ido"\n'
)  # fmt: skip


def read(text: str, language: str = "es"):
    """Read as a catalogue of a protocol."""
    return read_catalogue(text, "locales/es/airing.po", language, "airing")


def test_a_catalogue_is_read_with_all_that_people_wrote():
    """Contexts, comments, notes, what an outdated text was made from, what is obsolete, and who signed."""
    found = read(GOOD, "zh-Hans")
    assert found.findings == ()
    value = found.value
    assert value
    entry, word = value.entries
    assert (entry.key, entry.source, entry.translation) == ("step.a.say", "new words", 'a "b" c')
    assert (entry.outdated, entry.previous, entry.valid) == (True, "old words", False)
    assert (entry.comments, entry.notes, entry.files) == (("a remark",), ("Who says it.",), ("protocols/a.yaml",))
    assert (entry.where.line, entry.where.excerpt) == (24, 'msgstr "a \\"b\\" c"')
    assert (word.key, word.context, word.valid) == ("template.Done", "template", False)
    assert [(e.key, e.translation, e.previous) for e in value.obsolete] == [("step.b.say", "ido", "x")]
    assert value.translator == Signed("Ana Pérez", datetime.date(2030, 1, 2))
    assert value.reviser == Signed("Luis Gómez", datetime.date(2030, 1, 3))
    assert (value.state, value.revised, value.headers) == ("revised", "ABC123", (("X-Mine", "kept"),))
    assert value.comments == ("What this is.",)


ENTRY = '\nmsgctxt "a"\nmsgid "x"\nmsgstr "y"\n'


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        (HEADER + ENTRY + ENTRY, 11, "the first is on line 7"),
        (HEADER + '\nmsgctxt "a"\nmsgid "x"\nmsgstr "y\n', 8, "pair of quotes"),
        (HEADER + '\nmsgctxt "a"\nmsgid "x" z\nmsgstr "y"\n', 7, "pair of quotes"),
        (HEADER + '\nmsgctxt "a"\nmsgid "x"\n', 7, "missing msgstr"),
        (HEADER + '\nmsgctxt "a"\nmsgid "x"\nmsgid_plural "xs"\nmsgstr[0] "y"\nmsgstr[1] "ys"\n', 8, "plural forms"),
        (HEADER + '\nmsgid "x"\nmsgstr "y"\n', 6, "has no msgctxt"),
        (HEADER + '\nmsgctxt "a"\nmsgid "x"\nmsgsrt "y"\n', 8, "not PO"),
        (HEADER + '\nmsgctxt "a"\nmsgid "x"\nmsgstr "y\u202e"\n', 8, "U+202E"),
        (HEADER + '\nmsgctxt "a"\nmsgid "x"\nmsgstr "y\u200b\u2028"\n', 8, "U+2028"),
        (HEADER.replace("es", "fr"), 1, "the file lies under `es`"),
        (HEADER.replace("UTF-8", "ISO-8859-1"), 2, "charset=ISO-8859-1"),
        (HEADER + '"X-State: nearly\\n"\n', 1, "no state of a catalogue"),
        (HEADER + '"PO-Revision-Date: soon\\n"\n', 2, "does not begin with a day"),
        (HEADER + '"gibberish\\n"\n', 2, "no header field"),
        ("", 1, "no header entry"),
        ("hello\n", 1, "pair of quotes"),
    ],
)
def test_what_is_wrong_is_said_at_its_line(text, line, says):
    """Nothing that the reader of the library would print, merge or skip is passed over."""
    found = read(text)
    assert found.value is None
    assert any(says in f.message and f.where.line == line for f in found.findings), found.findings
    assert all(f.hint and not f.message.endswith(".") for f in found.findings)


def test_problems_are_found_together():
    """A translator mends a file once."""
    text = HEADER + ENTRY + ENTRY + '\nmsgctxt "b"\nmsgid "x"\nmsgstr "y\n' + '\nmsgid "z"\nmsgstr ""\n'
    assert len(read(text).findings) == 3


@given(st.text(alphabet='msgidctr "\\\n#~|.:,{}ab\u202e', max_size=200))
@settings(max_examples=200)
def test_any_text_gives_a_catalogue_or_findings(text):
    """The reader never raises, and never prints."""
    found = read(text)
    assert (found.value is None) == bool(found.findings)
