"""Authored words become runs once, and nothing of them is lost or invented."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from docgen.model.text import Run, WordsError
from docgen.source import inline, read_site


def shape(text: str) -> list[tuple[str, str]]:
    """Each run as its text (or `{slot}`) and its marks: S strong, E emphasis, I isolate."""
    return [(r.text or f"{{{r.slot}}}", "S" * r.strong + "E" * r.emphasis + "I" * r.isolate) for r in inline(text).runs]


def flaws(text: str) -> list[str]:
    with pytest.raises(WordsError) as caught:
        inline(text)
    return [f.message for f in caught.value.flaws]


def test_emphasis_and_slots_become_runs() -> None:
    """Stars mark emphasis, braces mark placeholders, and a placeholder keeps the emphasis around it."""
    assert shape("Do **not** touch *{item}*.") == [
        ("Do ", ""), ("not", "S"), (" touch ", ""), ("{item}", "E"), (".", ""),
    ]  # fmt: skip
    assert inline("Use {hand-rub} and {wipes}.").slots == ("hand-rub", "wipes")


@pytest.mark.parametrize(
    "text",
    [
        "<b>x</b>",
        "[a](https://example.org)",
        "&amp; &#42;",
        "`code`",
        "# title",
        "- item",
        "> quote",
        "![a](b)",
        "1. x",
    ],
)
def test_everything_but_emphasis_stays_the_characters_it_is(text: str) -> None:
    """HTML, links, entities, code and block marks are printed as typed."""
    assert inline(text).plain == text


def test_a_minus_at_the_start_survives() -> None:
    """`- 20 °C` is a temperature, not a list item."""
    assert inline("- 20 °C store at once").plain == "- 20 °C store at once"


@pytest.mark.parametrize("text", ["mix 2*3 and 4*5 ml", "2 * 3", "5*ml and 6*l", "**2**3"])
def test_a_star_beside_a_digit_is_refused(text: str) -> None:
    """A multiplication sign would vanish as emphasis, so it must be written as one."""
    assert all("vanish" in message or "marks nothing" in message for message in flaws(text))


def test_bold_numbers_are_allowed() -> None:
    """A digit inside the marks is no multiplication."""
    assert shape("wait **20 s** now") == [("wait ", ""), ("20 s", "SI"), (" now", "")]


@pytest.mark.parametrize("text", ["*open", "open*", "**", "a * b"])
def test_a_star_that_marks_nothing_is_refused(text: str) -> None:
    """Nobody means to print a lone star; an escaped one is printed."""
    assert flaws(text) == ["a `*` marks nothing"]
    assert inline(r"a \* b").plain == "a * b"


@pytest.mark.parametrize("text", ["{", "}", "a {b", "a b}", "{A b}", "{}", "{{a}", "{a{b}}"])
def test_unbalanced_or_odd_braces_are_refused(text: str) -> None:
    """A placeholder has a name, and a lone brace is a mistake."""
    assert flaws(text)


def test_doubled_braces_are_braces() -> None:
    """`{{` and `}}` print one brace each."""
    assert inline("{{a}} {{ }}").plain == "{a} { }"
    assert inline("{{a}}").slots == ()


def test_all_flaws_of_a_text_come_at_once() -> None:
    """Each with the characters it is about."""
    with pytest.raises(WordsError) as caught:
        inline("2*3 of {big cups} and }")
    assert [f.fragment for f in caught.value.flaws] == ["2*3", "{big cups}", "}"]


def test_line_folds_are_single_blanks_and_letters_are_composed() -> None:
    """The same words folded otherwise, or typed with combining marks, are the same words."""
    assert inline("two\n  lines\t here ").source == "two lines here"
    assert inline("e\u0301").source == "\u00e9"
    assert inline("20\u00a0s").plain == "20\u00a0s"


@pytest.mark.parametrize(
    ("text", "whole"),
    [
        ("Rub for 20–30 s now", ["20–30 s"]),
        ("at -20 °C or −4 °F", ["-20 °C", "−4 °F"]),
        ("give 10 mL/min of 0.9% in 2.5 L", ["10 mL/min", "0.9%", "2.5 L"]),
        ("call +1 555 0100 or 555 010 0199", ["+1 555 0100", "555 010 0199"]),
        ("on 2026-03-01 at 14:30, ratio 1:10, 18×24", ["2026-03-01", "14:30", "1:10", "18×24"]),
        ("≥ 60% alcohol", ["≥ 60%"]),
        ("step 3 of 12, glove N95, A1, x-2", []),
    ],
)
def test_numbers_that_must_not_scramble_stand_alone(text: str, whole: list[str]) -> None:
    """Units, signs, ranges, dates and telephone numbers are isolated; a bare number needs nothing."""
    assert [r.text for r in inline(text).runs if r.isolate] == whole
    assert inline(text).plain == text


WORDS = st.text(st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")), max_size=60)
MARKED = st.text(st.sampled_from("ab1 5*_{}\\.-–°C%+\n"), max_size=40)


@given(WORDS)
def test_unmarked_words_come_back_unchanged(text: str) -> None:
    """Runs joined are the author's words in NFC with single blanks."""
    text = "".join(c for c in text if c not in "*_\\{}")
    folded = " ".join(p for p in unicodedata.normalize("NFC", text).replace("\t", " ").split(" ") if p)
    assert "".join(r.text for r in inline(text).runs) == folded


@given(MARKED)
def test_any_text_is_parsed_or_refused(text: str) -> None:
    """No other exception; and what is parsed has lost nothing but its marks."""
    try:
        words = inline(text)
    except WordsError as problem:
        assert problem.flaws
        return
    left = [c for c in words.plain if c not in "*_{}\\"]
    assert left == [c for c in words.source if c not in "*_{}\\"]
    assert all(run != Run() for run in words.runs)


@given(MARKED)
def test_isolating_numbers_changes_no_character(text: str) -> None:
    """Neighbouring runs of one emphasis are the same text however it is cut."""
    try:
        words = inline(text)
    except WordsError:
        return
    again = inline(words.source)
    assert again == words
    for run in words.runs:
        assert not run.isolate or any(c.isdigit() for c in run.text)


def test_a_text_has_an_end() -> None:
    """Nested emphasis of a hostile file costs milliseconds, since a text is cut off before it is parsed."""
    read = read_site("site: a\nname: '" + "**a" * 300_000 + "'\nprotocols: {x: {}}\n", "s.yaml")
    assert [(f.rule, f.where.line) for f in read.findings] == [("source/too-long", 2)]
