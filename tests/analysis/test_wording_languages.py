"""The word lists of other languages find the same faults in their own words."""

from __future__ import annotations

from dataclasses import replace

import pytest
from written_editions import caution, edition, rules, step, text, word_list

from docgen.analysis.wording import check

TWINS = {
    "es": [
        ("headline-without-verb", "headline", "Guantes externos", "Quítese los guantes externos"),
        ("headline-without-verb", "headline", "La bata", "Si la bata está rota, retire la bata"),
        ("several-actions", "headline", "Retire la bata y desinfecte los guantes", "Retire la bata y deséchela"),
        ("condition-after-action", "do", "Cambie el guante si está roto.", "Si está roto, cambie el guante."),
        ("condition-after-action", "do", "Pare cuando el observador lo diga.", "Compruebe si el guante está roto."),
        ("vague-word", "do", "Frote según sea necesario.", "Frote durante 20 segundos."),
        ("vague-word", "do", "Frote unos 20 segundos.", "Retire unos guantes."),
        ("number-without-unit", "do", "Frote durante 20.", "Frote durante 20 s."),
        ("unit-without-space", "do", "Frote durante 20s.", "Frote durante 20 s."),
        ("number-in-words", "do", "Frote durante veinte segundos.", "Use dos dedos."),
        ("and-or", "do", "Limpie la bata y/o el mono.", "Limpie la bata."),
        ("two-names", "do", "Tire la careta.", "Tire la pantalla facial."),
        ("hidden-action", "hazard", "El guante está roto. Cambie el guante.", "El guante está roto"),
        ("no-consequence", "consequence", "Es peligroso", "El virus llega a la piel"),
        ("signal-scheme", "say", "Atención: la correa está tensa.", "Preste atención a la correa."),
        ("double-negative", "do", "No salga a menos que yo lo diga.", "Salga solo tras mi aviso."),
        ("empty-answer", "answer", "Hecho", "Bata fuera, guantes enteros."),
        ("passive-voice", "do", "La bata es retirada.", "Retire la bata."),
        ("unclear-pronoun", "do", "Espere a que él termine.", "Espere a que el asistente termine."),
        ("unexplained-abbreviation", "do", "Retire el XQR.", "Retire el equipo."),
    ],
    "fr": [
        ("headline-without-verb", "headline", "Gants externes", "Retirez les gants externes"),
        ("headline-without-verb", "headline", "La blouse", "Si la blouse est déchirée, retirez-la"),
        ("several-actions", "headline", "Retirez la blouse et désinfectez les gants", "Retirez la blouse et jetez-la"),
        ("condition-after-action", "do", "Changez le gant s'il est déchiré.", "S'il est déchiré, changez le gant."),
        ("condition-after-action", "do", "Arrêtez quand l'observateur le dit.", "Vérifiez si le gant est déchiré."),
        ("vague-word", "do", "Frottez si nécessaire.", "Frottez pendant 20 secondes."),
        ("vague-word", "do", "Frottez environ 20 secondes.", "Frottez 20 secondes."),
        ("number-without-unit", "do", "Frottez pendant 20.", "Frottez pendant 20 s."),
        ("unit-without-space", "do", "Frottez pendant 20s.", "Frottez pendant 20 s."),
        ("number-in-words", "do", "Frottez vingt secondes.", "Utilisez deux doigts."),
        ("and-or", "do", "Essuyez la blouse et/ou le tablier.", "Essuyez la blouse."),
        ("two-names", "do", "Levez la visière.", "Levez l'écran facial."),
        ("hidden-action", "hazard", "Le gant est déchiré. Changez le gant.", "Le gant est déchiré"),
        ("no-consequence", "consequence", "C'est dangereux, un danger", "Le virus atteint la peau"),
        ("signal-scheme", "say", "Attention : la sangle est tendue.", "La sangle est tendue."),
        ("double-negative", "do", "Ne sortez pas à moins que je le dise.", "Sortez seulement après mon signal."),
        ("empty-answer", "answer", "C'est fait.", "Blouse retirée, gants entiers."),
        ("passive-voice", "do", "La blouse est retirée.", "Retirez la blouse."),
        ("unclear-pronoun", "do", "Attendez qu'elle finisse, elle.", "Attendez que l'assistante finisse."),
        ("unexplained-abbreviation", "do", "Retirez le XQR.", "Retirez l'équipement."),
    ],
}
NAMES = {"es": "pantalla facial", "fr": "écran facial"}
CASES = [(language, *case) for language, cases in TWINS.items() for case in cases]


def written(language: str, field: str, words: str):
    """An edition in this language that declares a face shield, with one remarkable text."""
    headline = {"es": "Retire la bata", "fr": "Retirez la blouse"}[language]
    if field in {"hazard", "consequence"}:
        quiet = {"hazard": "x", "consequence": "y", "avoid": "z"} | {field: words}
        one = step(headline=headline, cautions=(caution(**quiet),))
    elif field == "headline":
        one = step(headline=words)
    else:
        one = step(headline=headline, **{field: [words] if field == "do" else words})
    base = edition(one, language=language)
    shield = replace(base.items[1], name=text(NAMES[language]))
    return replace(base, items=(shield,), supplies=(), title=text("x"), purpose=text("x"), audience=text("x"))


@pytest.mark.parametrize(("language", "rule", "field", "bad", "good"), CASES)
def test_rule_knows_the_language(language, rule, field, bad, good):
    """The bad text is found; the good one gives no finding of that rule."""
    words = word_list(language)
    assert rule in rules(check(written(language, field, bad), words))
    assert rule not in rules(check(written(language, field, good), words))


@pytest.mark.parametrize("language", ["en", "es", "fr"])
def test_shipped_lists_are_consistent(language):
    """A list that names a verb as a special one has it among its verbs, so that the special rule can ever apply."""
    words = word_list(language)
    assert words.language == language
    known = words.verbs
    for field in ("also_nouns", "deeds"):
        assert getattr(words, field) <= known, field
    for field in ("preparing", "putting_away"):
        strays = {w for w in getattr(words, field) if w not in known and w.partition("-")[0] not in known}
        assert not strays or language == "es" or field == "putting_away", (field, strays)
    terms = [t for group in words.synonyms for t in group]
    assert len(terms) == len(set(terms)), "a term in two groups would name two things"
    phrases = [w for v in words.vague for w in v.words]
    assert len(phrases) == len(set(phrases))


def test_lists_cover_every_field_in_english():
    """English is complete: no rule is switched off by an empty list."""
    words = word_list("en")
    assert [f for f in words.__slots__ if not getattr(words, f)] == []
