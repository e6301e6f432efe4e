"""Catalogues are those of GNU gettext: its msgfmt accepts every one, and Babel's reader sees the same in them."""

from __future__ import annotations

import io
import subprocess
from pathlib import Path

import pytest
from babel.messages.pofile import read_po
from conftest import tool

from docgen.language import merge, po_text, pseudo_catalogue
from docgen.model.catalogue import Catalogue, Entry, Message
from docgen.source.catalogue import read_catalogue

LOCALES = Path(__file__).parents[2] / "locales"
SHIPPED = sorted(LOCALES.glob("*/*.po"))


def msgfmt(text: str) -> str:
    """What msgfmt says against a catalogue; empty when it accepts it."""
    command = [tool("msgfmt"), "--check", "--output-file=/dev/null", "-"]
    done = subprocess.run(command, input=text, capture_output=True, text=True, check=False)
    return "" if done.returncode == 0 else done.stderr


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: f"{p.parent.name}/{p.stem}")
def test_msgfmt_accepts_every_shipped_catalogue(path):
    """`msgfmt --check`: syntax, header, format strings."""
    assert msgfmt(path.read_text("utf-8")) == ""


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: f"{p.parent.name}/{p.stem}")
def test_shipped_catalogues_are_read_and_written_back_byte_for_byte(path):
    """Nobody's editor has left something that the next update would throw away."""
    text = path.read_text("utf-8")
    found = read_catalogue(text, str(path), path.parent.name, path.stem)
    assert found.findings == ()
    assert found.value
    assert po_text(found.value) == text


def full() -> Catalogue:
    """A catalogue with everything in it: outdated, commented and obsolete entries, quotes, percent signs."""
    messages = [
        Message("step.a.say", 'Say "100% of it" {n} \\* now.', ("Who says it.",), ("protocols/a b.yaml",)),
        Message("template.{n} of {of}", "{n} of {of}"),
        Message("step.b.say", "A long text " * 20),
    ]
    begun = pseudo_catalogue("airing", messages)
    changed = [Message("step.a.say", 'Say "100% of this" {n} \\* now.'), *messages[1:2]]
    found = merge(begun, changed).catalogue
    return Catalogue(
        "es", "airing", (*found.entries, Entry("x", "y", "ý", comments=("mine",))), found.obsolete, file="airing.po"
    )


def test_msgfmt_accepts_everything_that_can_be_written():
    """Also previous source words, obsolete entries, and what only looks like a format string."""
    text = po_text(full())
    assert all(mark in text for mark in ("#, fuzzy", "#| msgid", "#~ msgid", "# mine"))
    assert msgfmt(text) == ""
    assert msgfmt(text.replace('msgid "y"', 'msgid "y')) != "", "the check can fail"


def test_babel_reads_the_same():
    """Every text, context and mark, read by the library's own reader."""
    catalogue = full()
    theirs = read_po(io.StringIO(po_text(catalogue)), abort_invalid=True)
    for entry in catalogue.entries:
        message = theirs.get(entry.source, entry.context)
        assert message is not None
        assert (message.string, message.fuzzy) == (entry.translation, entry.outdated)
    assert len(theirs.obsolete) == len(catalogue.obsolete)
