"""Updating a catalogue loses nobody's work, and calls nothing translated that is not."""

from __future__ import annotations

import unicodedata
from dataclasses import replace

from catalogues import catalogue
from hypothesis import given, settings
from hypothesis import strategies as st

from docgen.language import merge, po_text
from docgen.model.catalogue import Catalogue, Entry, Message
from docgen.source.catalogue import read_catalogue

OLD = catalogue(
    "airing",
    {
        "step.a.headline": ("Open it", "Ábralo"),
        "step.a.do.1": ("First line.", "Primera línea."),
        "step.a.do.2": ("Second line.", "Segunda línea."),
        "step.b.say": ("Say this.", "Diga esto."),
        "step.c.say": ("Not yet done.", ""),
    },
)


def messages(**words: str) -> tuple[Message, ...]:
    """Messages from keys with `__` for `.`."""
    return tuple(Message(key.replace("__", "."), source) for key, source in words.items())


def by_key(c: Catalogue) -> dict[str, Entry]:
    """Entries by key."""
    return {e.key: e for e in c.entries}


SAME = tuple(Message(e.key, e.source) for e in OLD.entries)


def test_nothing_changes_when_nothing_changed():
    """The same sources give the same catalogue."""
    merged = merge(OLD, SAME)
    assert merged.catalogue == OLD
    assert not merged.changed


def test_a_changed_source_marks_its_translation_and_keeps_it():
    """The translation stays, fuzzy, with the words it was made from, however often they change meanwhile."""
    once = merge(OLD, messages(step__b__say="Say that."))
    entry = by_key(once.catalogue)["step.b.say"]
    assert (entry.translation, entry.outdated, entry.previous) == ("Diga esto.", True, "Say this.")
    assert once.outdated == ("step.b.say",)
    twice = merge(once.catalogue, messages(step__b__say="Say something else."))
    entry = by_key(twice.catalogue)["step.b.say"]
    assert (entry.previous, entry.source, twice.outdated) == ("Say this.", "Say something else.", ())
    back = merge(twice.catalogue, messages(step__b__say="Say this."))
    assert by_key(back.catalogue)["step.b.say"].outdated, "somebody may have begun to change it"


def test_a_line_that_moved_takes_its_translation_along():
    """A line put in front renumbers the others; their translations are still valid."""
    lines = {"step__a__do__1": "New line.", "step__a__do__2": "First line.", "step__a__do__3": "Second line."}
    merged = merge(OLD, messages(**lines))
    found = by_key(merged.catalogue)
    assert found["step.a.do.1"].translation == ""
    assert (found["step.a.do.2"].translation, found["step.a.do.2"].valid) == ("Primera línea.", True)
    assert (found["step.a.do.3"].translation, found["step.a.do.3"].valid) == ("Segunda línea.", True)
    assert set(merged.moved) == {"step.a.do.2", "step.a.do.3"}


def test_a_renamed_step_keeps_its_texts():
    """The same words of the same field under another step id."""
    merged = merge(OLD, messages(step__new__say="Say this."))
    assert by_key(merged.catalogue)["step.new.say"].translation == "Diga esto."


def test_the_same_words_of_another_field_are_not_taken():
    """A headline is no answer, whatever it says."""
    merged = merge(OLD, messages(step__a__answer="Open it"))
    assert by_key(merged.catalogue)["step.a.answer"].translation == ""


def test_what_is_gone_is_kept_and_comes_back():
    """A retired translation stays at the end, and is valid again when its words return."""
    gone = merge(OLD, messages(step__a__headline="Open it"))
    assert {e.key for e in gone.catalogue.obsolete} == {"step.a.do.1", "step.a.do.2", "step.b.say"}
    assert set(gone.retired) == {"step.a.do.1", "step.a.do.2", "step.b.say"}
    back = merge(gone.catalogue, SAME)
    assert set(back.revived) == set(gone.retired)
    assert back.catalogue.obsolete == ()
    assert all(e.valid for e in back.catalogue.entries if e.key != "step.c.say")


def test_comments_are_work_too():
    """What a translator remarked on a text without translating it stays with it."""
    noted = replace(OLD, entries=(Entry("step.c.say", "Not yet done.", comments=("ask the unit",)),))
    kept = merge(noted, messages(step__c__say="Not done yet."))
    assert by_key(kept.catalogue)["step.c.say"].comments == ("ask the unit",)
    assert not by_key(kept.catalogue)["step.c.say"].outdated
    assert merge(noted, ()).catalogue.obsolete[0].comments == ("ask the unit",)


def test_a_reworded_template_is_offered_its_old_translation():
    """Words of templates have no key but themselves; a likely successor is offered, marked."""
    old = catalogue("templates", {"template.Read each step aloud.": ("Read each step aloud.", "Lea en voz alta.")})
    new = (Message("template.Read every step aloud.", "Read every step aloud."), Message("template.No", "No"))
    found = by_key(merge(old, new).catalogue)
    assert found["template.Read every step aloud."].previous == "Read each step aloud."
    assert found["template.Read every step aloud."].outdated
    assert found["template.No"].translation == ""


_STEERING = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\ufeff"
_WORDS = st.text(
    st.characters(exclude_categories=["Cs", "Cc", "Co", "Zl", "Zp", "Cn"], exclude_characters=_STEERING), max_size=40
)
_KEYS = st.sampled_from([f"step.{s}.{f}" for s in "abc" for f in ("say", "do.1", "do.2", "headline")])


@st.composite
def _catalogues(draw):
    keys = draw(st.lists(_KEYS, unique=True, max_size=8))
    entries = [
        Entry(
            k,
            draw(_WORDS.filter(bool)),
            draw(_WORDS).strip(),
            comments=tuple(draw(st.lists(st.sampled_from(["one", "two # x"]), unique=True, max_size=2))),
        )
        for k in keys
    ]
    return Catalogue("es", "airing", tuple(entries))


@given(_catalogues(), st.lists(st.tuples(_KEYS, st.sampled_from(["One.", "Two.", "Three."])), max_size=8))
@settings(max_examples=150)
def test_no_translation_is_ever_lost(old, wanted):
    """Whatever changes: every translation is still there, and none is valid for other words than it was made from."""
    new = tuple({k: Message(k, s) for k, s in wanted}.values())
    after = merge(old, new).catalogue
    everything = [*after.entries, *after.obsolete]
    for entry in old.entries:
        if entry.translation:
            assert any(e.translation == entry.translation for e in everything)
    made_from = {(e.source, e.translation) for e in old.entries}
    assert all((e.source, e.translation) in made_from for e in after.entries if e.valid)
    assert [e.key for e in after.entries] == [m.key for m in new]


@given(_catalogues())
@settings(max_examples=150)
def test_what_is_written_is_read_back(old):
    """A catalogue survives its file: every text, mark and comment, whatever the characters."""
    text = po_text(old)
    found = read_catalogue(text, "x.po", "es", "airing")
    assert found.findings == ()
    assert found.value
    want = [replace(e, translation=unicodedata.normalize("NFC", e.translation)) for e in old.entries]
    assert list(found.value.entries) == want
    assert po_text(replace(found.value, file="")) == po_text(replace(old, entries=tuple(want)))
