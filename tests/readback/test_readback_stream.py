"""Words are found whatever the line breaks and runs, and their white space is watched all the same."""

from __future__ import annotations

from collections.abc import Iterable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from docgen.readback.closest import closest, difference
from docgen.readback.copy import Copy, Page, Run
from docgen.readback.stream import Stream, folded, squash, stream_of


def run(text: str, x: float, y: float, wide: float | None = None, size: float = 10.0) -> Run:
    width = 2.0 * len(text) if wide is None else wide
    return Run(text, (x, y - 2, x + width, y), y, size, 2.0, 1, (0, 0, 0), 1.0, 0, True, -1, 0)


def stream(runs: Iterable[Run], language: str = "en") -> Stream:
    return stream_of(Copy((Page(1, 200.0, 300.0, tuple(runs)),)), language)


def lines(*texts: str, language: str = "en") -> Stream:
    return stream((run(t, 10, 10 + 5 * n) for n, t in enumerate(texts)), language)


def test_words_are_compared_without_white_space_but_keep_it_aside() -> None:
    """Lines, no-break spaces and thin spaces are all just white space."""
    assert squash("a b\u00a0c\u2009d\ne") == squash("a b c d e")
    assert squash("ab").gaps == "10" and squash("a b").gaps == "11"


def test_invisible_characters_and_ligatures_do_not_count() -> None:
    """Isolates, joiners, soft hyphens; ﬁ is f and i; é is the same in one character or two."""
    assert squash("\u2066o\ufb03ce\u2069 re\u00adst e\u0301") == squash("office rest é")
    assert folded("  a \n b ") == "a b"


def test_signs_that_change_meaning_are_never_folded() -> None:
    """Minus, superscripts, case and quotation marks differ."""
    for one, other in (("−20", "20"), ("m²", "m2"), ("Not", "not"), ("“a”", '"a"'), ("1,5", "1.5")):
        assert squash(one) != squash(other)


WORDS = st.lists(st.text("abcdeé0123456789.-", min_size=1, max_size=7), min_size=1, max_size=12)


@given(WORDS, st.data())
def test_a_text_is_found_however_its_lines_are_broken(parts: list[str], data: st.DataObject) -> None:
    """Broken between words into lines, it is found once, with nothing to say about its white space."""
    broken: list[list[str]] = [[]]
    for part in parts:
        if broken[-1] and data.draw(st.booleans()):
            broken.append([])
        broken[-1].append(part)
    text = " ".join(parts)
    found = lines("Before it", *(" ".join(p) for p in broken), "and after it")
    places = list(found.find(squash(text)))
    assert places and all(found.badly_spaced(squash(text), at) == 0 for at in places)


@given(WORDS.filter(lambda w: len(w) > 1), st.data())
def test_a_lost_space_is_noticed(parts: list[str], data: st.DataObject) -> None:
    """Two words run together anywhere are found, and the place is told."""
    at = data.draw(st.integers(1, len(parts) - 1))
    joined = " ".join([*parts[: at - 1], parts[at - 1] + parts[at], *parts[at + 1 :]])
    wanted = squash(" ".join(parts))
    found = lines(joined)
    assert [found.badly_spaced(wanted, p) for p in found.find(wanted)] == [len("".join(parts[:at]))]


def test_a_word_torn_apart_is_noticed_unless_at_a_hyphen() -> None:
    """`glo` / `ves` is a fault, `hand-` / `rub` a line break, and Chinese may break anywhere."""
    assert lines("glo", "ves").badly_spaced(squash("gloves"), 0) == 3
    assert lines("hand-", "rub").badly_spaced(squash("hand-rub"), 0) == 0
    assert lines("脱下外层", "手套", language="zh").badly_spaced(squash("脱下外层手套"), 0) == 0


def test_part_of_a_word_is_no_find() -> None:
    """`glove` does not stand in `gloves`, nor `20` in `120`."""
    assert list(lines("gloves on").find(squash("glove"))) == []
    assert list(lines("120 ml").find(squash("20 ml"))) == []
    assert list(lines("“gloves” on").find(squash("gloves"))) == [1]


def test_runs_that_touch_are_one_word_and_runs_apart_are_two() -> None:
    """Emphasis within a word, and a column further on."""
    touching = stream([run("un", 10, 10, 4.0), run("safe", 14.05, 10)])
    apart = stream([run("un", 10, 10, 4.0), run("safe", 40, 10)])
    assert list(touching.find(squash("unsafe"))) == [0] and touching.badly_spaced(squash("unsafe"), 0) == 0
    assert apart.badly_spaced(squash("unsafe"), 0) == 2


def test_a_place_in_the_stream_has_its_box_and_page() -> None:
    """Boxes of the runs that have the words, on the page of the first."""
    pages = Copy(
        (Page(1, 200, 300, (run("one", 10, 10), run("two", 10, 20))), Page(2, 200, 300, (run("three", 30, 10),)))
    )
    found = stream_of(pages, "en")
    (at,) = found.find(squash("two"))
    assert found.page_of(at) == 0 and found.box(at, at + 3) == (10, 18, 16, 20)
    (at,) = found.find(squash("three"))
    assert found.page_of(at) == 1 and found.words(at, at + 5) == "three"
    assert list(found.find(squash("one two"), 0, 4)) == []


@pytest.mark.parametrize(
    ("wanted", "found", "rule"),
    [
        ("Wait 20 s.", "Wait 2 s.", "readback/number-altered"),
        ("Store at −20 °C.", "Store at 20 °C.", "readback/number-altered"),
        ("Mix 1:30.", "Mix 1:3.", "readback/number-altered"),
        ("Use 3 ml or 1.5 ml.", "Use 1.5 ml or 3 ml.", "readback/number-altered"),
        ("Use 3 ml.", "Use 3 l.", "readback/unit-altered"),
        ("Below 30 °C.", "Below 30 °F.", "readback/unit-altered"),
        ("Do not touch it.", "Do touch it.", "readback/negation-altered"),
        ("Touch it.", "Never touch it.", "readback/negation-altered"),
        ("No toques la careta.", "Toques la careta.", "readback/negation-altered"),
        ("Ne touchez pas.", "Touchez.", "readback/negation-altered"),
        ("Nicht berühren.", "Berühren.", "readback/negation-altered"),
        ("Lift the shield.", "Lift the visor.", "readback/text-altered"),
    ],
)
def test_the_gravest_difference_names_the_rule(wanted: str, found: str, rule: str) -> None:
    """A number before a negation before a unit before the wording."""
    assert difference(wanted, found)[0] == rule


def test_the_closest_words_are_found_and_the_same_words_are_not_offered() -> None:
    """A changed copy is shown; an exact copy elsewhere is no changed copy; nonsense is nothing."""
    found = lines("Other words here", "Do touch the front", "Take care", "Do not touch the front")
    everything = (0, len(found.text))
    like = closest("Do not touch the front", found, *everything, lambda a, b: True)
    assert like is not None and like.words == "Do touch the front"
    assert closest("Nothing of this kind is printed", found, *everything, lambda a, b: True) is None
    taken = like.start
    again = closest("Do not touch the front", found, *everything, lambda a, b: not a <= taken < b)
    assert again is None or again.start != taken


@given(st.text(min_size=1, max_size=60), st.text(max_size=60))
def test_any_difference_has_a_name(wanted: str, found: str) -> None:
    """Whatever the words, one of the four rules and some words why."""
    rule, why = difference(wanted, found)
    assert rule.startswith("readback/") and rule.endswith("-altered") and why
