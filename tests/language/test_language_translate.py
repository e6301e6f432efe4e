"""An edition in another language says what its catalogue says, and nothing falls back to English in silence."""

from __future__ import annotations

import datetime
from dataclasses import replace

import pytest
from catalogues import SPANISH, TEMPLATES, edition, sites, spanish, templates, the_site

from docgen.edition import fingerprint
from docgen.findings import Severity
from docgen.language import (
    Spoken,
    content,
    extract,
    long_date,
    missing_words,
    phrases_of,
    protocol_messages,
    signal_messages,
    site_messages,
    translate,
    words_of,
)
from docgen.language.texts import room, texts_of
from docgen.model.catalogue import Entry, Message, Signed
from docgen.source import inline


def spoken(**changes) -> Spoken:
    """The three catalogues; `changes` replaces one."""
    return Spoken(**{"protocol": spanish(), "sites": sites(), "templates": templates(), **changes})


def without(catalogue, key, **changes):
    """A catalogue with one entry changed."""
    return replace(catalogue, entries=tuple(replace(e, **changes) if e.key == key else e for e in catalogue.entries))


def test_every_text_is_in_the_language():
    """Words, emphasis, slots filled with translated values; numbers and telephone numbers as they are."""
    found, findings = translate(edition(), spoken(), inline)
    assert findings == ()
    step = found.steps[0]
    assert step.headline.plain == "Abra la ventana"
    assert step.say.plain == "Use gel Orvanol y abra la ventana de sala 12."
    assert [t.plain for t in step.do] == ["Espere de 20 a 30 segundos.", "Llame al +1 555 0100."]
    assert [r.text for r in step.cautions[0].avoid.runs if r.strong] == ["No"]
    assert any(r.isolate and r.text == "+1 555 0100" for r in step.do[1].runs)
    assert (found.site_name.plain, found.title.plain) == ("Hospital Norte", "Ventilar una sala")
    assert found.value_map()["gel"][0].text == "gel Orvanol"
    assert found.language == "es"


def test_the_identity_does_not_change():
    """The same edition in another language has the same fingerprint, acts and numbers."""
    here = edition()
    found, _ = translate(here, spoken(), inline)
    assert fingerprint(found) == here.fingerprint == found.fingerprint
    assert [s.number for s in found.steps] == [s.number for s in here.steps]
    assert [t.source for t in texts_of(found)] == [t.source for t in texts_of(here)]


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        ({"translation": ""}, "missing"),
        ({"outdated": True}, "outdated"),
        ({"source": "Other words."}, "outdated"),
        ({"translation": "Puede {herirle}."}, "unusable"),
        ({"translation": "Puede *herirle."}, "unusable"),
    ],
)
@pytest.mark.parametrize("draft", [False, True])
def test_what_has_no_valid_translation_is_an_error_and_shown_in_brackets(change, rule, draft):
    """A caution that is missing, fuzzy, made from other words or broken stops publishing; a draft shows its source."""
    key = "caution.draught.consequence"
    found, findings = translate(edition(), spoken(protocol=without(spanish(), key, **change)), inline, draft)
    assert [f.rule for f in findings] == [f"language/{rule}"]
    assert findings[0].severity is (Severity.WARNING if draft else Severity.ERROR)
    assert "It can hurt your hand." in findings[0].message
    assert found.steps[0].cautions[0].consequence.plain == "[It can hurt your hand.]"


def test_what_a_site_writes_comes_from_its_own_catalogue():
    """Another site's room has the same key and other words."""
    lacking = replace(sites(), entries=tuple(e for e in sites().entries if "place" not in e.key))
    found, findings = translate(edition(), spoken(sites=lacking), inline)
    assert "[room 12]" in found.steps[0].say.plain
    assert [f.rule for f in findings] == ["language/outdated"], "the protocol's own name for the room is another"
    elsewhere = replace(
        sites(), entries=tuple(replace(e, key=e.key.replace("north/", "south/")) for e in sites().entries)
    )
    _, findings = translate(edition(), spoken(sites=elsewhere), inline)
    assert {f.rule for f in findings} == {"language/missing", "language/outdated"}


def test_many_missing_texts_make_one_finding():
    """Somebody who has just begun is not buried; cautions and numbers still stand alone."""
    empty = replace(spanish(), entries=tuple(replace(e, translation="") for e in spanish().entries))
    _, findings = translate(edition(), spoken(protocol=empty), inline)
    alone = [f for f in findings if f.message.startswith("the translation of")]
    assert len(alone) == 5  # three of the caution, the hold, the line with numbers
    assert len(findings) == 6
    assert "and" in findings[-1].message and "more" in findings[-1].message


def test_the_revision_code_changes_with_the_words_and_with_nothing_else():
    """Comments, dates and another site's words leave it; one letter changes it."""
    here, _ = translate(edition(), spoken(), inline)
    noted = replace(spanish(), entries=tuple(replace(e, comments=("x",)) for e in spanish().entries))
    same, _ = translate(edition(), spoken(protocol=noted), inline)
    changed = without(spanish(), "step.open.headline", translation="Abra la ventana ya")
    other, _ = translate(edition(), spoken(protocol=changed), inline)
    assert here.translation == same.translation != other.translation
    assert len(here.translation) == 6


def test_only_what_two_people_have_signed_is_reviewed():
    """A draft of any of the three catalogues makes the sheet unreviewed."""
    day = datetime.date(2030, 1, 1)
    signed = {"state": "revised", "translator": Signed("A. One", day), "reviser": Signed("B. Two", day)}
    three = [make(**signed) for make in (spanish, sites, templates)]
    three = [replace(c, revised=content([c])) for c in three]
    found, _ = translate(edition(), Spoken(*three), inline)
    assert not found.unreviewed
    for n in range(3):
        some = [replace(c, state="draft") if n == k else c for k, c in enumerate(three)]
        assert translate(edition(), Spoken(*some), inline)[0].unreviewed


def test_a_templates_words():
    """Words and signal words in the language; an unknown one comes in brackets, with its slots."""
    word = words_of(templates(), inline)
    assert word("WARNING").plain == "ADVERTENCIA"
    assert word("sheet {n} of {of}").slots == ("n", "of")
    assert word("Unheard {of}").plain == "[Unheard {of}]"
    broken = words_of(without(templates(), "template.sheet {n} of {of}", translation="hoja {n}"), inline)
    assert broken("sheet {n} of {of}").plain == "[sheet {n} of {of}]"


def test_missing_template_words_are_found_before_they_are_printed():
    """All words of the templates in use are asked for, also those of the figures."""
    wanted = (*(Message(f"template.{s}", s) for s in TEMPLATES), *signal_messages())
    assert missing_words(templates(), wanted, draft=False) == ()
    more = (*wanted, Message("template.Tell:", "Tell:"))
    said = missing_words(templates(), more, draft=False)
    assert [(f.rule, f.severity) for f in said] == [("language/missing", Severity.ERROR)]


def test_phrases_keep_exactly_their_slots():
    """A phrase that names another slot would fail, or reach into the program; it is shown in brackets instead."""
    words = replace(
        templates(),
        entries=(
            Entry("figure.front", "{who} from the front: {items}.", "{who} de frente: {items}."),
            Entry("figure.acting", "Acting: {items}.", "Actúa: {items.__class__}."),
        ),
    )
    phrases = {"front": "{who} from the front: {items}.", "acting": "Acting: {items}.", "bare": "Bare."}
    found = phrases_of(words, phrases)
    assert found == {"front": "{who} de frente: {items}.", "acting": "[Acting: {items}.]", "bare": "[Bare.]"}


def test_dates_are_written_out_as_the_language_does():
    """CLDR's long form; ISO 8601 where CLDR does not know the language."""
    day = datetime.date(2026, 1, 12)
    assert long_date("es")(day) == "12 de enero de 2026"
    assert long_date("zh-Hans")(day) == "2026年1月12日"
    assert long_date("xx")(day) == "2026-01-12"
    assert long_date("qps-ploc")(day).startswith("[")


# --- what there is to translate -----------------------------------------------------------------------------


def test_messages_say_what_they_are_for():
    """Key, source, the file, and notes: who says it, in which step, what fills a slot, how much room there is."""
    found = {m.key: m for m in protocol_messages(edition(site=False), "protocols/airing.yaml")}
    assert set(found) == set(SPANISH)
    say = found["step.open.say"]
    assert say.files == ("protocols/airing.yaml",)
    assert say.notes == (
        "The observer reads this aloud to the wearer, word for word. Script.",
        "Step: Open the window",
        "{gel} = hand rub",
        "{room} = patient room",
        f"Room: {room(say.source)} characters.",
    )
    assert "In: Use {gel}, then open the window of the {room}." in found["supply.gel.name"].notes


def test_sites_have_messages_of_their_own():
    """A telephone number needs no translator; a room's name is the site's."""
    found = site_messages(the_site(), "protocols/sites/north.yaml", {"room": "Leave the {room}."})
    assert {m.key: m.source for m in found} == {
        "north/site.name": "Northern Hospital",
        "north/place.room.name": "room 12",
        "north/supply.gel.product": "Orvanol gel",
    }
    assert "In: Leave the {room}." in next(m for m in found if "place" in m.key).notes


def test_words_of_templates_are_found_by_parsing():
    """Each once, with its files; names of boxes are told apart; slots are named."""
    files = {
        "a/main.md.j2": '{{ _("Done when") }} {{ box("line", "x", _("Name of {who}", who=1)) }}',
        "b/main.md.j2": '{% if x %}{{ _("Done when") }}{% endif %}',
        "b/sheet.yaml": "artifact: b",
    }
    found, findings = extract(files)
    assert findings == ()
    done, name = found
    assert (done.key, done.files) == ("template.Done when", ("templates/a/main.md.j2", "templates/b/main.md.j2"))
    assert name.notes[0].startswith("Name of a box") and name.notes[1] == "Keep {who}."


@pytest.mark.parametrize(
    ("text", "line", "severity", "says"),
    [
        ('one\n{% if %}\n{{ _("Done") }}', 2, Severity.ERROR, "can't be parsed"),
        ('{{ _("Done")', 1, Severity.ERROR, "can't be parsed"),
        ("\n{{ _(word) }}", 2, Severity.ERROR, "in quotes"),
        ("{{ _() }}", 1, Severity.ERROR, "in quotes"),
        ("{{ _(*words) }}", 1, Severity.ERROR, "in quotes"),
        ("a\n\nThen go on", 3, Severity.WARNING, "`Then` stands outside"),
    ],
)
def test_a_template_that_hides_words_is_named(text, line, severity, says):
    """A syntax error, words that are computed, words outside `_()`: never a silent hole in the catalogue."""
    _, findings = extract({"a/main.md.j2": text})
    assert [(f.where.line, f.severity, says in f.message) for f in findings] == [(line, severity, True)]
