"""Speech rates against the published ones."""

from __future__ import annotations

import pytest

from docgen.analysis.timing import ALOUD_ENGLISH, AVERAGE, INSTRUCTION, RATES, SILENT_NON_FICTION, speech

# Trauzettel-Klosinski and Dietz 2012, Invest Ophthalmol Vis Sci 53:5452, table: words a minute, SD, characters.
# Rows marked M are from memory; the others were read in a reproduction of the table.
PUBLISHED = {
    "ar": (138, 20, 612), "nl": (202, 29, 978), "en": (228, 30, 987), "fi": (161, 18, 1078), "fr": (195, 26, 998),
    "de": (179, 17, 920), "he": (187, 29, 833), "it": (188, 28, 950), "pl": (166, 23, 916), "zh": (158, 19, 255),
    "es": (218, 28, 1025),  # SD and characters: M
    "pt": (181, 29, 913), "ru": (184, 32, 986), "tr": (166, 25, 1054),  # M
    "sl": (180, 30, 0), "sv": (199, 34, 0),  # M
}  # fmt: skip
LINE = "Lift the face shield from behind, by its strap, and let it drop into the waste container."


@pytest.mark.parametrize(("language", "row"), PUBLISHED.items())
def test_table_holds_the_published_rates(language, row):
    """Words a minute, deviation and characters a minute of each language."""
    rate = next(r for r in RATES if r.language == language)
    assert (rate.words, rate.deviation, rate.characters) == row
    assert "Trauzettel-Klosinski" in rate.source


def test_mean_of_the_languages():
    """The same paper: 184 ± 29 words, 863 characters a minute over all languages."""
    assert (AVERAGE.words, AVERAGE.deviation, AVERAGE.characters) == (184, 29, 863)


def test_english_rates_of_the_review():
    """Brysbaert 2019, J Mem Lang 109:104047 (77 studies, 5,965 people): 238 silent non-fiction, 183 aloud."""
    assert (SILENT_NON_FICTION, ALOUD_ENGLISH) == (238, 183)


def test_instructing_is_slower_than_reading_aloud():
    """ICAO Annex 10 Vol. II: at most 100 words a minute (from memory); ours is near, and below all reading."""
    assert 100 <= INSTRUCTION <= 120
    assert INSTRUCTION < ALOUD_ENGLISH < SILENT_NON_FICTION


def test_english_seconds_follow_from_words():
    """Seventeen words at 110 a minute."""
    assert speech(LINE, "en") == pytest.approx(60 * len(LINE.split()) / INSTRUCTION)
    assert speech(LINE, "en-GB") == speech(LINE, "en")


@pytest.mark.parametrize("rate", RATES, ids=lambda r: r.language)
def test_every_language_is_slowed_by_the_same_factor(rate):
    """Instruction to reading aloud as 110 to 228, whatever the language."""
    if rate.language in {"zh", "ja"}:
        reading = 60 * sum(not c.isspace() for c in LINE) / rate.characters
    else:
        reading = 60 * len(LINE.split()) / rate.words
    assert speech(LINE, rate.language) == pytest.approx(reading * 228 / INSTRUCTION)


def test_unknown_and_unspaced_languages_go_by_characters():
    """Thai has no spaces between words, Zulu no row: 863 characters a minute, slowed; a space costs nothing."""
    assert speech("กขคง" * 30, "th") == pytest.approx(60 * 120 / (863 * INSTRUCTION / 228))
    assert speech("ab cd", "zu") == speech("abcd", "zu")


def test_a_site_sets_its_own_rate():
    """Words a minute of the site replace the table's, also where they are not counted by spaces."""
    assert speech(LINE, "en", rate=60) == len(LINE.split())
    assert speech(LINE, "fr", rate=60) == len(LINE.split())
    assert speech("汉字" * 40, "zh", rate=79) == pytest.approx(2 * 60 * 80 / 255)
