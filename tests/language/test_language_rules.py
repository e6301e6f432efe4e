"""Every rule about translations is proven by a translation that breaks it, and by one that does not."""

from __future__ import annotations

import datetime
from dataclasses import replace

import pytest
from catalogues import GROUND, SIGNALS, catalogue, templates
from hypothesis import given, settings
from hypothesis import strategies as st

from docgen.findings import Severity
from docgen.language import RULES, Ground, before_release, check, content
from docgen.language.denial import denials, lost_and_gained
from docgen.language.numbers import quantities, unit_names
from docgen.model.catalogue import Catalogue, Entry, Message, Signed
from docgen.model.wordlist import WordList
from docgen.source import inline


def found(source: str, translation: str, key: str = "step.open.do.1", ground: Ground = GROUND, comment: str = ""):
    """Rules and severities of what is said about one translation."""
    entry = Entry(key, source, translation, comments=(comment,) if comment else ())
    one = Catalogue(ground.language, "airing", (entry,))
    return [(f.rule.removeprefix("language/"), f.severity) for f in check([one], {}, ground, inline)]


E, W = Severity.ERROR, Severity.WARNING

GOOD = [
    ("Rub for 20 to 30 seconds.", "Frote de 20 a 30 segundos."),
    ("Rub for 20 to 30 seconds.", "Frote de 20 s a 30 s."),
    ("Store at −20 °C, 0.5 mL, 70%.", "Guarde a −20 °C, 0,5 ml, 70 %."),
    ("Fill with 1,000 mL.", "Llene con 1.000 ml."),
    ("Do **not** open it.", "**No** lo abra."),
    ("Touch nothing.", "No toque nada."),
    ("Use {hand-rub} before {room}.", "Antes de {room}, use {hand-rub}."),
    ("Put on the N95.", "Póngase el N95."),
    ("Remove the outer gloves.", "Retire los guantes externos."),
    ("Use hand rub.", "Use gel."),
    ("2*3".replace("*", "×"), "2×3"),
]

BAD = [
    # rule, severity, source, translation
    ("number", E, "Rub for 20 seconds.", "Frote 2 segundos."),
    ("number", E, "Rub for 20 seconds.", "Frote veinte segundos."),
    ("number", E, "Rub well.", "Frote 20 segundos."),
    ("number", E, "Give 0.5 mL.", "Dé 5 ml."),
    ("number", E, "Fill with 1,000 mL.", "Llene con 1,0 ml."),
    ("unit", E, "Rub for 20 seconds.", "Frote 20 minutos."),
    ("unit", E, "Rub for 20 seconds.", "Frote 20."),
    ("unit", E, "Give 5 mL in 20 minutes.", "Dé 20 ml en 5 minutos."),
    ("unit", E, "Repeat 3.", "Repita 3 minutos."),
    ("number-order", W, "Turn 3, then 4 of them.", "Gire 4 y luego 3 de ellos."),
    ("placeholder", E, "Use {hand-rub}.", "Use gel."),
    ("placeholder", E, "Use {hand-rub}.", "Use {hand-rub} y {hand-rub}."),
    ("placeholder", E, "Use {hand-rub}.", "Use {gel}."),
    ("emphasis", E, "Do **not** open it.", "No lo abra."),
    ("emphasis", E, "Open it.", "*Abra* eso."),
    ("lines", E, "Open it.", "Abra\neso."),
    ("lines", E, "Open it.", "Abra eso. "),
    ("unusable", E, "Open it.", "Abra {eso."),
    ("negation", W, "Do not open the door.", "Abra la puerta."),
    ("negation", W, "Open the door.", "No abra la puerta."),
    ("negation", W, "Go in. Do not touch it.", "No entre. Tóquelo."),
    ("negation", W, "Do not stop and do not go.", "No pare y vaya."),
    ("kept-term", E, "Put on the N95.", "Póngase la mascarilla."),
    ("forbidden-term", E, "Use hand rub.", "Use gel con jabón."),
    ("term", W, "Remove the outer gloves.", "Retire los guantes."),
    ("too-long", W, "Open it.", "Abra esta cosa que se encuentra ahí delante."),
    ("same-as-source", W, "Open the window.", "Open the window."),
    ("script", E, "Open the door.", "Аbra la puerta."),  # its first letter is Cyrillic
]


@pytest.mark.parametrize(("source", "translation"), GOOD)
def test_a_faithful_translation_is_clean(source, translation):
    """What languages do differently is no fault: word order, decimal marks, double negation, units on both ends."""
    assert found(source, translation) == []


@pytest.mark.parametrize(("rule", "severity", "source", "translation"), BAD)
def test_a_damaged_translation_is_named(rule, severity, source, translation):
    """Each damage is found by its own rule, and by at most one other."""
    said = found(source, translation)
    assert (rule, severity) in said
    assert len(said) <= 2, said


@pytest.mark.parametrize("key", ["caution.draught.avoid", "step.open.hold"])
def test_a_lost_negation_is_an_error_where_people_are_hurt(key):
    """In cautions and holds a lost or gained denial stops the sheet."""
    assert ("negation", E) in found("Do not hold the frame.", "Sujete el marco.", key)
    assert ("negation", E) in found("Hold the frame.", "No sujete el marco.", key)


def test_both_texts_stand_side_by_side():
    """A finding shows source and translation, so that nobody has to look for them."""
    entry = Entry("step.open.do.1", "Do not open it.", "Ábralo.")
    finding = check([Catalogue("es", "airing", (entry,))], {}, GROUND, inline)[0]
    assert [n.text for n in finding.notes] == ["source: `Do not open it.`", "translation: `Ábralo.`"]
    assert finding.step == "open"


def test_a_translator_may_accept_what_is_meant_so():
    """A comment with the rule and a reason takes a finding back; without a reason, or for a number, it does not."""
    keep_off = ("Do not touch the frame.", "Aléjese del marco.")
    assert found(*keep_off, comment="accepted: negation, the usual wording on signs") == []
    assert found(*keep_off, comment="accepted: negation") != []
    assert found(*keep_off, comment="accepted: number, the usual wording") != []
    assert found("Rub for 20 seconds.", "Frote 2 segundos.", comment="accepted: number, two is enough") != []


def test_letters_of_the_source_are_found_in_another_script():
    """Words left in Latin letters, or everything, in a language that has its own."""
    arabic = replace(GROUND, language="ar", words=WordList("ar", negation_cues=("لا",)))
    assert ("script", W) in found("Use hand rub now.", "استخدم hand rub الآن.", ground=arabic)
    assert ("script", E) in found("Open the window.", "Iftah al-nafidha.", ground=arabic)
    assert ("script", E) in found("Open the window.", "افتح окно.", ground=arabic)
    assert found("Use N95.", "استخدم N95.", ground=arabic) == []


@pytest.mark.parametrize(
    ("language", "text", "expected"),
    [
        ("en", "Rub for 20 to 30 seconds, 3-minute wait, 10 mL/min", ["20", "30 second", "3 minute", "10 mL/min"]),
        ("es", "de 20 a 30 segundos, 1.000,5 ml", ["20", "30 second", "1000.5 milliliter"]),
        ("fr", "20 à 30 secondes, 0,5 ml, 20 l’eau", ["20", "30 second", "0.5 milliliter", "20"]),
        ("ar", "من ٢٠ إلى ٣٠ ثانية", ["20", "30 second"]),
        ("hi", "20 से 30 मिनट", ["20", "30 minute"]),
        ("zh-Hans", "揉搓20至30秒，等待3分钟", ["20", "30 second", "3 minute"]),
        ("uk", "від 20 до 30 секунд, 5 мл", ["20", "30 second", "5 milliliter"]),
        ("vi", "20 đến 30 giây", ["20", "30 second"]),
    ],
)
def test_numbers_and_units_of_every_language_shipped(language, text, expected):
    """CLDR's names of units, digits of any script, the decimal mark of the language; small words are no units."""
    words = WordList(language, unit_names=(("minute", ("मिनट",)),)) if language == "hi" else None
    assert [str(q) for q in quantities(text, language, unit_names(language, words))] == expected


@given(st.integers(0, 99999), st.sampled_from(["seconds", "minutes", "mL", "%", "°C"]))
@settings(max_examples=60)
def test_a_changed_number_is_never_overlooked(number, unit):
    """Whatever the number: one more, or one digit less, is found."""
    source = f"Wait {number} {unit} here."
    for other in (number + 1, number // 10 if number > 9 else number + 10):
        assert any(rule == "number" for rule, _ in found(source, f"Espere {other} {unit} aquí."))


def test_denials_in_scripts_without_blanks():
    """Chinese has no blanks between words; words with 不 in them that deny nothing are left out."""
    chinese = WordList("zh-Hans", negation_cues=("不", "勿", "没有", "没"), not_cues=("不锈钢",))
    assert denials("请勿触摸不锈钢", chinese) == ("勿",)
    assert denials("没有破损", chinese) == ("没有",)
    english = WordList("en", negation_cues=("not",))
    assert lost_and_gained("Do not touch steel.", english, "触摸不锈钢", chinese) == (True, False)
    assert lost_and_gained("Do not touch.", english, "请勿触摸", chinese) == (False, False)


def test_an_apostrophe_joins_a_cue_to_its_word():
    """French `n'` stands before its verb without a blank, with either apostrophe."""
    french = WordList("fr", negation_cues=("n'", "ne"))
    assert denials("N’ouvrez pas, n'allez pas", french) == ("N’", "n'")


# --- rules about a whole language ---------------------------------------------------------------------------


def rules(findings):
    """Names of rules."""
    return [f.rule.removeprefix("language/") for f in findings]


def test_signal_words_are_those_of_the_table():
    """A warning that says caution, and two grades with one word, are refused."""
    assert check([templates()], {}, GROUND, inline) == ()
    wrong = catalogue("templates", {"signal.warning": ("WARNING", "ATENCIÓN")})
    finding = check([wrong], {}, GROUND, inline)[0]
    assert finding.rule == "language/signal-word"
    assert "which is `caution`" in finding.message
    twins = catalogue("templates", {"signal.warning": ("WARNING", "OJO"), "signal.caution": ("CAUTION", "OJO")})
    no_table = replace(GROUND, words=WordList("es", negation_cues=("no",)))
    assert rules(check([twins], {}, no_table, inline)) == ["signal-word", "signal-word"]


def test_one_source_has_one_translation():
    """The same words translated two ways, also in two catalogues, unless one of them is accepted."""
    one = catalogue("airing", {"step.a.done-when": ("Hands are dry.", "Las manos están secas.")})
    two = catalogue("other", {"step.b.done-when": ("Hands are dry.", "Manos secas.")})
    assert rules(check([one, two], {}, GROUND, inline)) == ["two-translations"]
    entry = replace(two.entries[0], comments=("accepted: two-translations, a heading has no verb",))
    assert check([one, replace(two, entries=(entry,))], {}, GROUND, inline) == ()


def test_unknown_negations_are_said():
    """A language without cues is not silently taken for one without lost negations."""
    bare = replace(GROUND, words=None)
    one = catalogue("airing", {"step.a.do.1": ("Do not go.", "Vaya.")})
    assert rules(check([one], {}, bare, inline)) == ["no-cues"]


def test_missing_outdated_and_unknown_texts():
    """What the sources say and nobody has translated, and what was translated and the sources no longer say."""
    messages = {
        "airing": (
            Message("caution.x.avoid", "Do not go."),
            Message("step.a.headline", "Open it"),
            Message("step.a.say", "New words"),
            Message("step.b.say", "More"),
        )
    }
    entries = (
        Entry("step.a.say", "Old words", "Palabras viejas"),
        Entry("step.gone.say", "Gone", "Ido"),
    )
    said = check([Catalogue("es", "airing", entries)], messages, GROUND, inline)
    assert sorted(zip(rules(said), [f.severity for f in said], strict=True)) == [
        ("missing", E),
        ("missing", W),
        ("outdated", W),
        ("unknown-source", W),
    ]


DAY = datetime.date(2030, 1, 2)
TWO = {"translator": Signed("Ana Pérez", DAY), "reviser": Signed("Luis Gómez", DAY)}


def revised(**changes) -> Catalogue:
    """A catalogue that two people have signed."""
    one = catalogue("airing", {"step.a.do.1": ("Go.", "Vaya.")}, state="revised", **TWO)
    return replace(one, **{"revised": content([one]), **changes})


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"reviser": Signed()}, "no reviser"),
        ({"reviser": Signed("Luis Gómez")}, "no reviser with a day"),
        ({"translator": Signed()}, "no translator"),
        ({"reviser": Signed("ana  pérez <ana@example.org>", DAY)}, "is translator and reviser"),
        ({"reviser": Signed("Luis Gómez", DAY.replace(year=2029))}, "revised before"),
        ({"revised": "ABC123"}, "what was revised"),
        ({"entries": (Entry("step.a.do.1", "Go.", "No vaya."),)}, "what was revised"),
    ],
)
def test_two_named_people_and_exactly_what_they_read(changes, says):
    """A catalogue that claims to be revised proves it; any later change takes the claim back."""
    assert [f for f in check([revised()], {}, GROUND, inline) if f.rule == "language/two-people"] == []
    assert before_release([revised()]) == ()
    broken = [f for f in check([revised(**changes)], {}, GROUND, inline) if f.rule == "language/two-people"]
    assert len(broken) == 1
    assert says in broken[0].message
    assert before_release([revised(**changes)])


@pytest.mark.parametrize("state", ["draft", "translated"])
def test_only_what_was_revised_can_be_released(state):
    """A draft may be printed, but never released."""
    one = revised(state=state)
    assert [f for f in check([one], {}, GROUND, inline) if f.rule == "language/two-people"] == []
    assert rules(before_release([one])) == ["two-people"]


def test_every_rule_has_a_damage_that_proves_it():
    """No rule stands in the list that nothing here has shown to find something."""
    proven = {rule for rule, *_ in BAD}
    proven |= {
        "swapped",
        "signal-word",
        "two-translations",
        "no-cues",
        "missing",
        "outdated",
        "unknown-source",
        "two-people",
    }
    assert {r.name.removeprefix("language/") for r in RULES} == proven


def test_rules_are_written_like_rules():
    """A sentence with a full stop, a reason and a basis for each."""
    for rule in RULES:
        assert rule.title.endswith(".") and rule.why.endswith("."), rule.name
        assert rule.basis
        assert len(SIGNALS) == 4
