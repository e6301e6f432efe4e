"""What is read from a page is what was drawn on it: places, sizes, letters' heights, colours, ink, codes, fields."""

from __future__ import annotations

import io
from importlib.resources import files

import pytest
from faithful import MM, Blank, Block, Code, Ink, Leaf, face, paint
from fontTools.ttLib import TTFont as Face
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen import canvas

from docgen.readback import read
from docgen.readback.sight import overlapping, sight

FILE = str(files("fontpkg_noto_sans") / "files" / "NotoSans[wdth,wght].ttf")


def page(*marks, size=(300, 400)):
    (only,) = read(paint([Leaf(*size, list(marks))])).pages
    return only


def test_a_run_is_where_it_was_drawn() -> None:
    """Millimetres from the top left corner; box around the outlines, baseline as given."""
    (run,) = page(Ink("x", "xxx", 50, 100, 20)).runs
    assert run.text == "xxx" and run.size == pytest.approx(20)
    assert run.baseline == pytest.approx(100 / MM, abs=0.01)
    assert run.box[0] == pytest.approx(50 / MM, abs=0.3)
    assert run.box[3] == pytest.approx(100 / MM, abs=0.02)
    assert run.box[3] - run.box[1] == pytest.approx(run.x_height, abs=0.02)


def test_x_height_is_that_of_the_face() -> None:
    """Measured outline against the face's own OS/2 table, read by fontTools."""
    (run,) = page(Ink("x", "Mixed words", 50, 100, 20)).runs
    table = Face(FILE)
    assert run.x_height * MM / 20 == pytest.approx(table["OS/2"].sxHeight / table["head"].unitsPerEm, abs=0.003)


def test_colour_opacity_and_render_mode_are_read() -> None:
    """As the file states them; what they come to is for the pixels to say."""
    red, hidden, clear = page(
        Ink("x", "red", 50, 100, 20, colour=(1, 0, 0)),
        Ink("x", "mode", 50, 150, 20, mode=3),
        Ink("x", "clear", 50, 200, 20, alpha=0),
    ).runs
    assert red.colour == (255, 0, 0) and red.opacity == 1 and red.mode == 0
    assert hidden.mode == 3 and clear.opacity == 0
    assert red.ink is not None and red.ink.box is not None
    assert hidden.ink is not None and hidden.ink.box is None and clear.ink is not None and clear.ink.box is None


def test_ink_is_where_the_glyphs_are() -> None:
    """Within two pixels of the outlines, on all sides, on a card and on a poster."""
    for size, slack in (((300, 400), 0.4), ((2400, 3400), 2.1)):
        for run in page(Ink("x", "Hxgd", 50, 100, 20), Ink("x", "small", 50, 150, 7.5), size=size).runs:
            assert run.ink is not None and run.ink.box is not None and run.ink.cut == ()
            assert run.ink.box == pytest.approx(run.box, abs=slack)


def test_white_space_at_the_ends_of_a_run_is_no_missing_ink() -> None:
    """Writers draw the spaces at which lines were broken; they count for no letter."""
    for text in (" B", "B ", "  two words  ", "·", " · "):
        (run,) = page(Ink("x", text, 50, 100, 14)).runs
        assert run.ink is not None and run.ink.cut == (), text


def test_contrast_is_with_what_is_really_behind() -> None:
    """Black on blue, whatever the page's colour; the ground may be painted by anything before the words."""
    (run,) = page(Block(0, 0, 300, 400, (0, 114 / 255, 206 / 255)), Ink("x", "words", 50, 100, 20)).runs
    # WCAG 2.2: white on #0072CE is 4.89 to 1 (worked value), so black is 21 / 4.89 = 4.29
    assert run.ink is not None and run.ink.contrast == pytest.approx(21 / 4.89, abs=0.02)


def test_the_worst_of_an_uneven_ground_counts() -> None:
    """Words that start on white and end on dark grey are only as legible as their end."""
    (run,) = page(Block(90, 0, 210, 400, (0.25, 0.25, 0.25)), Ink("x", "words on two grounds", 50, 100, 20)).runs
    assert run.ink is not None and run.ink.contrast < 3


def test_a_line_through_words_is_seen_whether_drawn_before_or_after() -> None:
    """A rule of the same colour takes contrast away when behind, and covers when in front."""
    line = Block(45, 93, 220, 2.5, (0, 0, 0))
    for marks in (
        [line, Ink("x", "not struck through", 50, 100, 20)],
        [Ink("x", "not struck through", 50, 100, 20), line],
    ):
        (run,) = page(*marks).runs
        assert run.ink is not None and (run.ink.contrast < 1.5 or run.ink.hidden > 0.05)


def test_words_in_a_form_are_read_at_their_place_on_the_page() -> None:
    """A drawing stored once and placed scaled."""
    out = io.BytesIO()
    c = canvas.Canvas(out, invariant=1, pagesize=(300, 400))
    c.beginForm("f")
    c.setFont(face(), 10)
    c.drawString(0, 0, "xxx")
    c.endForm()
    c.translate(50, 300)
    c.scale(2, 2)
    c.doForm("f")
    c.save()
    (only,) = read(out.getvalue()).pages
    (run,) = only.runs
    assert run.size == pytest.approx(20) and run.baseline == pytest.approx(100 / MM, abs=0.01)
    assert run.ink is not None and run.ink.box == pytest.approx(run.box, abs=0.5)


def test_a_square_code_is_read_with_its_module_and_quiet_zone() -> None:
    """From pixels; version 2 has 25 modules a side (ISO/IEC 18004)."""
    text = "IP-GLV-01/2.1/AB"
    (square,) = page(Code(text, 100, 100, 25 * 0.5 * MM)).squares
    assert square.text == text and square.quiet
    assert square.module == pytest.approx(0.5, abs=0.01) or square.module == pytest.approx(0.5 * 25 / 21, abs=0.01)
    assert square.box[0] == pytest.approx(100 / MM, abs=0.3)


@pytest.mark.parametrize("side", ["left", "top", "right", "bottom"])
def test_the_quiet_zone_is_four_modules_on_every_side(side: str) -> None:
    """A bar at three modules' distance is too near, at five it is not (ISO/IEC 18004: four)."""
    module, size = 2.0, 25 * 2.0
    for distance, quiet in ((3, False), (5, True)):
        off = distance * module
        bar = {
            "left": Block(100 - off - 6, 100, 6, size),
            "right": Block(100 + size + off, 100, 6, size),
            "top": Block(100, 100 - off - 6, size, 6),
            "bottom": Block(100, 100 + size + off, size, 6),
        }[side]
        bar.colour = (0, 0, 0)
        (square,) = page(Code("IP-GLV-01/2.1/7K3MQ2WXA4/EN", 100, 100, size), bar).squares
        assert square.quiet is quiet, distance


def test_a_code_drawn_as_many_small_squares_is_found_too() -> None:
    """No path looks like a code; the first pages are searched as a whole."""
    import segno

    rows = list(segno.make("IP-GLV-01", micro=False).matrix)
    blocks = [
        Block(60 + 3 * x, 60 + 3 * y, 3, 3, (0, 0, 0))
        for y, row in enumerate(rows)
        for x, dark in enumerate(row)
        if dark
    ]
    assert [s.text for s in page(*blocks).squares] == ["IP-GLV-01"]


def test_fields_are_read_with_kind_names_and_place() -> None:
    """Text, tick and choice, each with its accessible name."""
    fields = page(
        Blank("text", "who", "Name", 50, 50, 100, 14), Blank("tick", "done", "Done", 50, 100, 12, 12),
        Blank("choice", "how", "How: a", 50, 150, 12, 12, "a"), Blank("choice", "how", "How: b", 80, 150, 12, 12, "b"),
    ).fields  # fmt: skip
    assert [(f.kind, f.name, f.printed, f.framed) for f in fields] == [
        ("text", "who", True, True),
        ("tick", "done", True, True),
        ("choice", "how", True, True),
        ("choice", "how", True, True),
    ]
    assert fields[0].label == "Name" and fields[0].box == pytest.approx((50 / MM, 50 / MM, 150 / MM, 64 / MM), abs=0.01)


def test_a_drawn_hyphen_at_a_line_end_is_a_hyphen() -> None:
    """pdfium marks it for joining; on the sheet it stands."""
    runs = page(Ink("x", "hand-", 50, 100, 12), Ink("x", "rub", 50, 115, 12)).runs
    assert [r.text for r in runs] == ["hand-", "rub"]


def test_the_sign_for_a_missing_glyph_is_seen_though_the_text_is_right(tmp_path) -> None:
    """The file says `Q`, the sheet shows a frame: extraction alone would believe it."""
    table = Face(FILE)
    frame = table["glyf"][".notdef"]
    assert frame.numberOfContours == 2, "the frame of this face"
    table["glyf"]["Q"], table["hmtx"]["Q"] = frame, table["hmtx"][".notdef"]
    table["name"].setName("Tofu-Regular", 6, 3, 1, 0x409)
    table.save(tmp_path / "tofu.ttf")
    pdfmetrics.registerFont(TTFont("Tofu", str(tmp_path / "tofu.ttf")))
    out = io.BytesIO()
    c = canvas.Canvas(out, invariant=1, pagesize=(300, 400))
    c.setFont("Tofu", 20)
    c.drawString(50, 300, "Quick")
    c.save()
    copy = read(out.getvalue())
    assert [(r.text, r.broken) for r in copy.pages[0].runs] == [("Quick", "Q")]
    assert "readback/missing-glyph" in {f.rule for f in sight(copy, "x.pdf")}


def test_lines_of_a_paragraph_do_not_overlap_but_words_over_words_do() -> None:
    """Close leading is no collision; the same place is."""
    close = page(Ink("x", "gypsy jump", 50, 100, 20), Ink("x", "HÄUFIG", 50, 118, 20)).runs
    over = page(Ink("x", "gypsy jump", 50, 100, 20), Ink("x", "HÄUFIG", 60, 104, 20)).runs
    assert list(overlapping(list(close))) == [] and len(list(overlapping(list(over)))) == 1


def test_reading_without_pixels_tells_the_same_words() -> None:
    """Text alone is quicker, for callers that need no more."""
    data = paint([Leaf(300, 400, [Ink("x", "words", 50, 100, 12)])])
    assert [r.text for r in read(data, pixels=False).pages[0].runs] == [r.text for r in read(data).pages[0].runs]
    assert read(data, pixels=False).pages[0].runs[0].ink is None
    assert read(data).title == "test" and read(data).language == "en" and not read(data).tagged
