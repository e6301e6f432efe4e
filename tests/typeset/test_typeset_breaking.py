"""Where a line may end."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from docgen.typeset import breaking


def parts(text: str, language: str = "en") -> list[str]:
    ends = breaking.breaks(text, language)
    return [text[a:b] for a, b in zip((0, *ends), ends, strict=False)]


@pytest.mark.parametrize(
    "text",
    [
        "20 mL", "25 °C", "3–5", "3 – 5", "A-12/B", "1/2-inch", "≥ 25 %", "(≥ 70 %)", "- 20 °C", "+1 555 0100",
        "N95-mask", "IPC-014", "COVID-19", "2×4", "20\u00a0mL", "20\u202fmL", "self\u2060-made", "10:30", "v2.1",
        "e-mail", "4,0/5,0",
    ],
)  # fmt: skip
def test_measures_ranges_and_codes_stay_whole(text):
    """A measure, range, number or code never ends one line and starts the next."""
    assert parts(text) == [text]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Wait 20 s, then go", ["Wait ", "20 s, ", "then ", "go"]),
        ("and/or", ["and/", "or"]),
        ("step-by-step", ["step-", "by-", "step"]),
        ("mouth–nose cover", ["mouth–", "nose ", "cover"]),
        ("Room 12 in use", ["Room ", "12 in ", "use"]),
        ("one\ntwo", ["one\n", "two"]),
        ("two  spaces", ["two  ", "spaces"]),
    ],
)
def test_words_part_where_a_reader_expects_it(text, expected):
    """Words part at spaces, and after a hyphen or slash between two real words."""
    assert parts(text) == expected


def test_dictionaries_find_thai_and_khmer_words():
    """Thai and Khmer have no spaces between words; the dictionary finds them, and a number keeps what follows it."""
    assert parts("ล้างมือนาน 20วินาที", "th") == ["ล้าง", "มือ", "นาน ", "20วินาที"]
    assert len(parts("លាងដៃរបស់អ្នក", "km")) > 1


def test_japanese_lines_do_not_start_with_small_kana():
    """JIS X 4051 kinsoku, by ICU's strict rules: no line starts with a small kana or a long-vowel mark."""
    assert not [p for p in parts("チェックリストをチームでチェック", "ja") if p[0] in "ェッー"]


def test_chinese_lines_do_not_start_with_a_stop():
    """No line starts with a full stop or a closing bracket (UAX #14, class CL), and a number keeps its measure."""
    assert parts("等待20秒。（必须）", "zh") == ["等", "待", "20秒。", "（必", "须）"]


def test_offsets_count_characters_not_utf16_units():
    """A character outside the first plane does not shift the places after it."""
    assert parts("🧤 gloves off") == ["🧤 ", "gloves ", "off"]


TOKENS = st.from_regex(
    r"([-–—·•→≥≤×≈±+=&|<>] )?[(\"“‘]?[abéđơ019]{1,4}([-–/.,:'’%°+=&][abñậ019]{1,3}){0,3}%?([.,;:!?]?[)\"”’]?)",
    fullmatch=True,
)


@given(st.lists(TOKENS, min_size=1, max_size=6).map(" ".join))
def test_plain_text_breaks_as_icu_says(text):
    """The short cut for plain Latin text agrees with ICU's UAX #14 (after our own rule) on every such text."""
    assert breaking.plain(text)
    assert breaking._kept(text, breaking._simple(text)) == breaking._kept(text, breaking._unicode(text, "en"))


@given(st.text("ab9 -–—/.,'’\"()%!?“”°é·•→≥≤×≈±+=&|<>", min_size=1, max_size=12))
def test_any_text_that_passes_for_plain_breaks_as_icu_says(text):
    """Whatever the short cut accepts, it treats as ICU does."""
    if breaking.plain(text):
        assert breaking._kept(text, breaking._simple(text)) == breaking._kept(text, breaking._unicode(text, "en"))
