"""Shaped text: measured once, broken into lines at any size, in the order in which it is read."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from docgen.model.sheet import Line
from docgen.model.text import Run, Runs
from docgen.project import Project
from docgen.typeset.faces import TABULAR, Faces
from docgen.typeset.shaping import Shaped, shape

FACES = Faces(Project().fonts())


def words(text: str) -> Runs:
    return (Run(text),)


def set_(text: str | Runs, language: str = "en", **more) -> Shaped:
    return shape(words(text) if isinstance(text, str) else text, FACES, language=language, **more)


def seen(line: Line) -> str:
    """The characters of a line as the eye meets them, from left to right."""
    runs = sorted(line.runs, key=lambda run: run.x)
    return "".join(
        cluster.text[::-1] if word.rtl else cluster.text
        for run in runs
        for word in run.words
        for cluster in word.clusters
    ).strip()


TEXTS = {
    "en": "Clean your outer gloves with hand rub for at least 20 seconds, finger by finger (≥ 70 % alcohol).",
    "vi": "Làm sạch găng tay ngoài bằng dung dịch sát khuẩn trong ít nhất 20 giây.",
    "uk": "Очистіть зовнішні рукавички антисептиком протягом щонайменше 20 секунд.",
    "ar": "نظّف القفازات الخارجية بمطهّر اليدين (ABHR) لمدة لا تقل عن 20 ثانية.",
    "hi": "बाहरी दस्तानों को कम से कम 20 सेकंड तक हैंड रब से साफ करें।",
    "th": "ทำความสะอาดถุงมือชั้นนอกด้วยแอลกอฮอล์อย่างน้อย 20 วินาที",
    "km": "លាងសម្អាតស្រោមដៃខាងក្រៅដោយអាល់កុលយ៉ាងតិច 20 វិនាទី",
}
EVERY = pytest.mark.parametrize("language", TEXTS)


@EVERY
def test_every_language_is_drawn_whole(language):
    """No language shipped lacks a glyph, and the text shaped is the text given."""
    shaped = set_(TEXTS[language], language)

    assert (shaped.missing, shaped.text) == ((), TEXTS[language])


@EVERY
@pytest.mark.parametrize("width", [60, 90, 140, 300])
def test_lines_hold_every_word_once_in_order(language, width):
    """However narrow the column, the lines one after another are the text, and no line is wider than the column."""
    shaped = set_(TEXTS[language], language)
    lines = shaped.wrap(width, 10)
    joined = "".join(line.text for line in lines).replace(" ", "")

    assert joined == TEXTS[language].replace(" ", "")
    assert all(line.width / 100 <= max(width, shaped.widest_word(10)) + 0.01 for line in lines)
    assert len(lines) == shaped.count(width, 10)


@given(
    st.lists(st.text("abcdéĐơ", min_size=1, max_size=8), min_size=1, max_size=20), st.floats(5, 80), st.floats(4, 30)
)
def test_lines_are_as_full_as_they_can_be(parts, width, size):
    """The first word of a line would not have fitted on the line before; no word is lost."""
    lines = set_(" ".join(parts)).wrap(width, size)

    assert [word for line in lines for word in line.text.split(" ")] == parts
    for line, following in pairwise(lines):
        assert set_(f"{line.text} {following.text.split(' ')[0]}").width(size) > width - 0.01


@given(st.floats(6, 40), st.floats(6, 40))
def test_larger_type_never_takes_fewer_lines(a, b):
    """The number of lines grows with the size, so that fitting may halve its way to the size."""
    small, large = sorted((a, b))
    shaped = set_(TEXTS["en"])

    assert shaped.count(200, small) <= shaped.count(200, large)


def test_widths_are_linear_in_the_size():
    """Twice the size, twice the width; a text measures the same in one piece and on one line."""
    shaped = set_(TEXTS["en"])

    assert shaped.width(20) == pytest.approx(2 * shaped.width(10))
    assert shaped.wrap(10_000, 10)[0].width / 100 == pytest.approx(shaped.width(10), abs=0.01)


def test_a_word_wider_than_its_column_is_told_not_cut():
    """A word too wide stands whole on its own line, and the text says how wide it is and which."""
    shaped = set_("Remove the inconspicuousness now")
    lines = shaped.wrap(40, 12)

    assert [line.text for line in lines] == ["Remove", "the", "inconspicuousness", "now"]
    assert shaped.longest_word == "inconspicuousness"
    assert shaped.widest_word(12) == pytest.approx(lines[2].width * 12 / 1000, abs=0.01)
    assert shaped.widest_word(12) > 40


def test_the_first_line_may_be_shorter():
    """An indent takes room from the first line only."""
    plain, indented = set_(TEXTS["en"]).wrap(200, 10), set_(TEXTS["en"]).wrap(200, 10, indent_pt=120)

    assert indented[0].width / 100 <= 80 < plain[0].width / 100


def test_a_newline_ends_its_line():
    """A newline in the words ends the line; on one line its words stay apart."""
    for newline in ("\n", " \n", "\r\n", "\u2028"):
        shaped = set_(f"one two{newline}three")
        assert [line.text for line in shaped.wrap(500, 10)] == ["one two", "three"]
        assert shaped.line().text == shaped.text == "one two three"


def test_isolated_measures_stay_on_one_line():
    """A number with its unit in words is kept together when it is isolated, and a long isolate is not."""
    measure = (Run("wait for "), Run("20 seconds", isolate=True), Run(" now"))
    name = (Run("at "), Run("the Invented Hospital of the North", isolate=True))

    assert [line.text for line in set_(measure).wrap(60, 10)] == ["wait for", "20 seconds", "now"]
    assert len(set_(name).wrap(60, 10)) > 2


AR = (
    Run("احفظ عند "), Run("25 °C", isolate=True), Run(" واسكب "), Run("10 mL/min", isolate=True), Run(" مدة "),
    Run("3–5", isolate=True), Run(" دقائق واتصل "), Run("+1 555 0100", isolate=True), Run(" وأضف "),
    Run("-5 kPa", isolate=True),
)  # fmt: skip
MEASURES = ("25 °C", "10 mL/min", "3–5", "+1 555 0100", "-5 kPa")


def test_measures_in_arabic_are_seen_in_order():
    """Isolated measures, ranges and telephone numbers are seen as they are written, from left to right."""
    line = set_(AR, "ar").line()

    assert [m for m in MEASURES if m not in seen(line)] == []


def test_the_trap_that_isolates_avoid_is_real():
    """Without isolates the same measures are scrambled, as UAX #9 requires: the check above can fail."""
    line = set_(tuple(Run(r.text) for r in AR), "ar").line()

    assert [m for m in MEASURES if m not in seen(line)] == ["25 °C", "10 mL/min", "3–5", "+1 555 0100", "-5 kPa"]


@pytest.mark.parametrize("measure", MEASURES)
def test_a_measure_alone_in_a_right_to_left_cell_is_seen_in_order(measure):
    """A cell that holds nothing but a measure shows it in order, whether or not its direction is forced."""
    for rtl in (None, True):
        assert seen(set_((Run(measure, isolate=True),), "ar", rtl=rtl).line()) == measure
    assert seen(set_(measure, "ar").line()) == measure


def test_an_arabic_paragraph_that_starts_with_an_acronym_still_runs_from_the_right():
    """The language gives the direction as soon as there are letters of it; a text without any runs from the left."""
    assert set_("ABHR مطهّر", "ar").rtl
    assert not set_("ABHR 70 %", "ar").rtl
    assert set_("ABHR 70 %", "ar", rtl=True).rtl


def test_spaces_at_a_line_end_stay_on_the_side_where_the_line_ends():
    """The space at which a right-to-left line was broken lies left of it, outside its width."""
    first = set_(TEXTS["ar"], "ar").wrap(120, 10)[0]

    assert min(run.x for run in first.runs) < 0
    assert max(run.x + sum(w.advance for w in run.words) for run in first.runs) == pytest.approx(first.width, abs=0.1)


def test_a_missing_glyph_is_told_with_what_was_tried():
    """A character that no face has comes back as data: what it is, where it was sought, how to mend it."""
    (missing,) = set_("see \U00012000 now").missing
    finding = missing.finding(step="s1")

    assert missing.character == "\U00012000"
    assert "U+12000 CUNEIFORM SIGN A" in finding.message and "NotoSans-Regular" in finding.message
    assert (finding.rule, finding.step, finding.hint) == ("typeset/missing-glyph", "s1", "use another character")


def test_a_missing_script_names_the_package_to_install():
    """A script whose font is not at hand names the package that brings it."""
    latin = Faces({"NotoSans": Project().fonts()["NotoSans"]})
    shaped = shape(words("手"), latin, language="zh")

    assert "fonts-noto-cjk" in shaped.missing[0].finding().hint


def test_chinese_is_drawn_from_a_debian_font():
    """With the Debian package, Chinese is whole and bold where asked; a compact font (CFF) serves as well as any."""
    if "NotoSansCJKsc-Regular" not in Project().fonts():
        pytest.skip("fonts-noto-cjk is not installed")
    shaped = set_((Run("清洁手套"), Run("20秒", strong=True)), "zh")

    assert shaped.missing == ()
    assert {r.face for r in shaped.line().runs} == {"NotoSansCJKsc-Regular", "NotoSansCJKsc-Bold"}


def test_a_missing_character_falls_back_alone():
    """`≥` is not in Noto Sans: it is borrowed, and the words around it are not."""
    used = {w.text.strip(): w.face for r in set_("dry ≥ 70").line().runs for w in r.words}

    assert used["≥"] != used["dry"] == used["70"] == "NotoSans-Regular"


def test_strong_and_emphasised_runs_are_bold():
    """There are two weights: emphasis of either kind is bold, and so is everything in a bold text."""
    line = set_((Run("do "), Run("not", strong=True), Run(" "), Run("touch", emphasis=True))).line()

    assert {w.text: w.face for r in line.runs for w in r.words if w.text.strip()} == {
        "do": "NotoSans-Regular",
        "not": "NotoSans-Bold",
        "touch": "NotoSans-Bold",
    }
    assert {r.face for r in set_("all", bold=True).line().runs} == {"NotoSans-Bold"}


def test_emphasis_never_tears_a_letter_from_its_marks():
    """Emphasis typed inside a grapheme takes the whole of it, so that no dotted circle appears."""
    parts = (Run("ស"), Run("្រោម", strong=True))
    used = [(w.text, w.face) for r in set_(parts, "km").line().runs for w in r.words]

    assert used == [("ស្រោ", "NotoSansKhmer-Regular"), ("ម", "NotoSansKhmer-Bold")]


def test_arabic_letters_join_across_emphasis():
    """A word emphasised in part keeps its joined forms."""
    whole = set_("القفاز", "ar").line()
    parts = set_((Run("الق"), Run("فاز", strong=True)), "ar").line()

    def glyphs(line):
        return [c.glyphs[0][0] for r in line.runs for w in r.words for c in w.clusters]

    assert sorted(glyphs(whole)) == sorted(glyphs(parts))


def test_step_numbers_can_have_figures_of_one_width():
    """Tabular figures share one advance."""
    widths = {set_(d, features=TABULAR).width(10) for d in "0123456789"}

    assert len(widths) == 1


def test_words_are_shaped_once():
    """The same word is the same object wherever it stands, so that a writer can cache by it."""

    def found(text):
        return [w for r in set_(text).line().runs for w in r.words if w.text == "gloves"]

    assert found("outer gloves")[0] is found("inner gloves off")[0]


@pytest.mark.parametrize("text", ["a\u00adb", "a\u200bb", "a\u2060b", "\u2068ab\u2069", "a\u200eb"])
def test_characters_that_only_steer_leave_no_trace(text):
    """Soft hyphens, joiners of lines and direction marks are neither drawn nor part of the text."""
    assert set_(text).line().text == "ab"


def test_an_empty_text_has_no_lines():
    """Nothing is nothing, without an error."""
    empty = set_(())

    assert (empty.wrap(100, 10), empty.width(10), empty.widest_word(10), empty.text) == ((), 0, 0, "")
    assert empty.line() == Line((), 0, "")
