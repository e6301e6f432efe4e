"""A finished document becomes a file that says, shows and names what the document does."""

from __future__ import annotations

import io
import re
import subprocess
import sys
from dataclasses import replace

import pikepdf
import pypdfium2 as pdfium
import pytest

from docgen.artifacts import write_pdf
from docgen.artifacts.objects import name, number, string
from docgen.model.sheet import BLACK, Bookmark, Document, Drawing, Field, Ink, Shape, Sheet, Tag
from docgen.model.text import Run
from docgen.project import Project
from docgen.typeset.faces import Faces
from docgen.typeset.shaping import shape

FACES = Faces(Project().fonts())
SQUARE = (("M", (10.0, 20.0)), ("L", (30.0, 20.0)), ("L", (30.0, 40.0)), ("C", (25, 45, 15, 45, 10, 40)), ("Z", ()))


def line(text: str, language: str = "en", **more):
    return shape((Run(text),), FACES, language=language, **more).line()


def ink(text: str, y: float, tag: int = -1, **more) -> Ink:
    return Ink(line(text, **more), 40, y, 12, BLACK, tag)


def document(*marks, tags=(), **more) -> Document:
    return Document("Hand rub", "en", False, (Sheet(300, 400, tuple(marks)),), tuple(tags), **more)


OPEN: list[pikepdf.Pdf] = []
"""Kept open, since objects of a closed file can't be read."""


def opened(made: Document) -> pikepdf.Pdf:
    OPEN.append(pikepdf.open(io.BytesIO(write_pdf(made, FACES))))
    return OPEN[-1]


def text_of(made: Document) -> str:
    return pdfium.PdfDocument(write_pdf(made, FACES))[0].get_textpage().get_text_range()


def elements(node) -> list:
    """Structure elements below a node, in reading order."""
    kids = node.get("/K", [])
    kids = kids if isinstance(kids, pikepdf.Array) else [kids]
    found = [k for k in kids if isinstance(k, pikepdf.Dictionary) and k.get("/Type") == "/StructElem"]
    return [e for k in found for e in (k, *elements(k))]


def test_the_catalogue_says_what_the_document_is():
    """Title, language, author, subject, keywords and details stand in the file; the window shows the title."""
    pdf = opened(
        document(subject="s", keywords="k1 k2", author="Invented Hospital", details=(("Fingerprint", "ABC-1"),))
    )
    info, root = pdf.docinfo, pdf.Root

    assert (str(info.Title), str(info.Author), str(info.Fingerprint)) == ("Hand rub", "Invented Hospital", "ABC-1")
    assert (str(root.Lang), bool(root.ViewerPreferences.DisplayDocTitle)) == ("en", True)
    assert root.ViewerPreferences.Direction == "/L2R" and "/CreationDate" not in info
    with pdf.open_metadata() as xmp:
        assert (xmp["dc:title"], xmp["dc:language"], xmp["dc:description"]) == ("Hand rub", {"en"}, "s")


def test_a_right_to_left_document_says_so():
    """Two-page views of a right-to-left document start from the right."""
    assert opened(replace(document(), rtl=True)).Root.ViewerPreferences.Direction == "/R2L"


def test_boxes_are_trim_and_bleed():
    """The trimmed sheet lies inside the bleed, and marks are placed from the trimmed corner."""
    sheet = Sheet(300, 400, (Shape(SQUARE, fill=BLACK),), bleed=12)
    page = opened(replace(document(), sheets=(sheet,))).pages[0]

    assert [float(v) for v in page.TrimBox] == [12, 12, 312, 412]
    assert [float(v) for v in page.MediaBox] == [float(v) for v in page.BleedBox] == [0, 0, 324, 424]
    assert b"22 392 m" in page.Contents.read_bytes()


def test_ink_stands_where_the_sheet_put_it():
    """The baseline, left end and size of a line are those of the sheet, seen by another library."""
    pdf = pdfium.PdfDocument(write_pdf(document(ink("Hxy", 100)), FACES))
    page = pdf[0]
    left, bottom, _, top = page.get_textpage().get_charbox(0)

    assert left == pytest.approx(40 + 0.098 * 12, abs=0.2)  # the stem's side bearing
    assert bottom == pytest.approx(300, abs=0.1)
    assert top - bottom == pytest.approx(FACES.face("NotoSans-Regular").cap_height * 12 / 1000, abs=0.2)


@pytest.mark.parametrize(
    ("shape_", "operators"),
    [
        (Shape(SQUARE, fill=(1, 0, 0)), ["1 0 0 rg", "f"]),
        (Shape(SQUARE, fill=(0.5, 0.5, 0.5), even_odd=True), ["0.5 g", "f*"]),
        (Shape(SQUARE, stroke=BLACK, width=2.5), ["0 G", "2.5 w", "S"]),
        (Shape(SQUARE, fill=(1, 1, 0), stroke=BLACK, dash=(3, 2)), ["1 1 0 rg", "0 G", "[3 2]0 d", "1 w", "B"]),
    ],
)
def test_shapes_are_painted_as_asked(shape_, operators):
    """Fill, stroke, width, dash and the even-odd rule reach the page; greys use black ink alone."""
    lines = opened(document(shape_)).pages[0].Contents.read_bytes().decode().splitlines()

    assert [x for x in lines if not re.search(r" [mlc]$|^h$", x)] == operators


def test_a_dash_does_not_outlive_its_shape():
    """A solid line after a dashed one is solid."""
    marks = Shape(SQUARE, stroke=BLACK, dash=(3, 2)), Shape(SQUARE, stroke=BLACK)

    assert b"[]0 d" in opened(document(*marks)).pages[0].Contents.read_bytes()


def test_a_drawing_is_stored_once_and_placed_often():
    """The same shapes, placed twice at two scales, are in the file once, and seen where and as large as asked."""
    shapes = (Shape(SQUARE, fill=(1, 0, 0)), Shape((("M", (0, 0)), ("L", (50, 0))), stroke=BLACK, width=4))
    equal = (Shape(SQUARE, fill=(1, 0, 0)), Shape((("M", (0, 0)), ("L", (50, 0))), stroke=BLACK, width=4))
    made = document(Drawing(shapes, 50, 100), Drawing(equal, 150, 200, 2.0))
    pdf = opened(made)
    picture = pdfium.PdfDocument(write_pdf(made, FACES))[0].render(scale=1).to_pil()

    assert len(pdf.pages[0].Resources.XObject) == 1
    assert picture.getpixel((70, 130)) == picture.getpixel((190, 260)) == (255, 0, 0)
    assert picture.getpixel((75, 99)) == (0, 0, 0) and picture.getpixel((200, 197)) == (0, 0, 0)
    assert picture.getpixel((45, 130)) == picture.getpixel((160, 230)) == (255, 255, 255)


def test_a_drawing_can_be_turned_over():
    """A mirrored drawing reaches to the left of its origin."""
    made = document(
        Drawing((Shape(SQUARE, fill=BLACK),), 100, 100, 2.0, 0, mirror=True), tags=(Tag("Figure", alt="x"),)
    )
    (figure,) = [e for e in elements(opened(made).Root.StructTreeRoot) if e.S == "/Figure"]
    picture = pdfium.PdfDocument(write_pdf(made, FACES))[0].render(scale=1).to_pil()

    assert [float(v) for v in figure.A.BBox] == [40, 210, 80, 260]
    assert picture.getpixel((60, 160)) == (0, 0, 0) and picture.getpixel((140, 160)) == (255, 255, 255)


def test_a_drawing_can_be_a_figure():
    """A figure's box is what its drawing covers on the page."""
    made = document(Drawing((Shape(SQUARE, fill=BLACK),), 50, 100, 2.0, 0), tags=(Tag("Figure", alt="Hands"),))
    (figure,) = [e for e in elements(opened(made).Root.StructTreeRoot) if e.S == "/Figure"]

    assert [float(v) for v in figure.A.BBox] == [70, 210, 110, 260]


TAGS = (
    Tag("H1"), Tag("L"), Tag("LI", 1), Tag("Lbl", 2), Tag("LBody", 2, language="ar", actual="مرحبا", ref="step-1"),
    Tag("Table"), Tag("TR", 5), Tag("TH", 6, scope="Column"), Tag("TD", 6), Tag("Figure", alt="The wearer"),
)  # fmt: skip


def tagged() -> Document:
    figure = Shape(SQUARE, fill=BLACK, tag=9), Shape((("M", (5, 5)), ("L", (8, 90))), stroke=BLACK, tag=9)
    return document(
        ink("Title", 40, 0),
        ink("1", 60, 3),
        ink("Rub", 60, 4),
        ink("decoration", 70),
        ink("A", 80, 7),
        *figure,
        tags=TAGS,
    )


def test_the_structure_is_the_tags_in_their_order():
    """Every tag is an element, nested and ordered as given, with its own language, texts and attributes."""
    root = opened(tagged()).Root
    found = elements(root.StructTreeRoot)
    by_role = {str(e.S)[1:]: e for e in found}

    assert [str(e.S)[1:] for e in found] == [
        "Document", "H1", "L", "LI", "Lbl", "LBody", "Table", "TR", "TH", "TD", "Figure",
    ]  # fmt: skip
    assert bool(root.MarkInfo.Marked)
    assert (str(by_role["LBody"].Lang), str(by_role["LBody"].ActualText)) == ("ar", "مرحبا")
    assert str(by_role["LBody"].T) == "step-1" and by_role["LBody"].P.S == "/LI"
    assert by_role["TH"].A.Scope == "/Column"
    assert str(by_role["Figure"].Alt) == "The wearer"
    assert [float(v) for v in by_role["Figure"].A.BBox] == [5, 310, 30, 395]


def test_every_mark_is_content_or_decoration():
    """Each marked sequence leads to its element through the parent tree, and what has no tag is an artifact."""
    pdf = opened(tagged())
    page = pdf.pages[0]
    content = page.Contents.read_bytes().decode("latin-1")
    parents = pdf.Root.StructTreeRoot.ParentTree.Nums[1]

    assert re.findall(r"/(\w+)<</MCID (\d+)>>BDC", content) == [
        ("H1", "0"), ("Lbl", "1"), ("LBody", "2"), ("TH", "3"), ("Figure", "4"),
    ]  # fmt: skip
    assert [str(e.S)[1:] for e in parents] == ["H1", "Lbl", "LBody", "TH", "Figure"]
    assert content.count("/Artifact BMC") == 1
    assert content.count("BDC") + content.count("BMC") == content.count("EMC")
    assert page.Tabs == "/S" and page.StructParents == 0


def test_a_tag_may_go_on_over_the_page():
    """An element whose lines stand on two sheets refers to both pages."""
    sheets = Sheet(300, 400, (ink("one", 40, 0),)), Sheet(300, 400, (ink("two", 40, 0),))
    pdf = opened(replace(document(tags=(Tag("P"),)), sheets=sheets))
    first, second = pdf.Root.StructTreeRoot.K.K[0].K

    assert first == 0 and second.MCID == 0 and second.Pg.objgen == pdf.pages[1].objgen


@pytest.mark.parametrize("tags", [(Tag("Heading"),), (Tag("P", 0),), (Tag("P", 3),)])
def test_tags_that_contradict_each_other_are_refused(tags):
    """A role outside the standard, or a parent that does not come first, is a fault of the sheet."""
    with pytest.raises(ValueError, match="tag 0"):
        write_pdf(document(tags=tags), FACES)


def test_an_untagged_document_claims_nothing():
    """Without tags there is no structure, and no claim of one."""
    root = opened(document(ink("x", 20))).Root

    assert "/MarkInfo" not in root and "/StructTreeRoot" not in root


def test_bookmarks_nest_by_level():
    """Bookmarks form a tree, and lead to the right height of the right page."""
    marks = (
        Bookmark("Phase 1", 0, 30),
        Bookmark("Step 1", 0, 50, 1),
        Bookmark("Step 2", 0, 90, 1),
        Bookmark("Фаза 2", 0, 200),
    )
    pdf = opened(document(bookmarks=marks))
    with pdf.open_outline() as outline:
        titles = [(item.title, [kid.title for kid in item.children]) for item in outline.root]

    assert titles == [("Phase 1", ["Step 1", "Step 2"]), ("Фаза 2", [])]
    assert pdf.Root.Outlines.Count == 4 and pdf.Root.Outlines.First.Dest[3] == 370


FORM = (
    Field("tick", "step-1.seen", "Step 1 seen", 10, 10, 12, 12, tag=0),
    *(
        Field("choice", "step-1.result", f"Step 1: {value}", 40 + 20 * i, 10, 12, 12, value, tag=1)
        for i, value in enumerate(("done", "prompted", "not done"))
    ),
    Field("text", "comment", "Comment", 10, 40, 200, 16, tag=2),
    Field("text", "notes", "Notes", 10, 70, 200, 60, multiline=True, tag=3),
)


def form() -> Document:
    return document(*FORM, tags=(Tag("Form"),) * 4)


def test_fields_have_a_name_a_label_and_every_look():
    """Each field is named for assistive technology, and every state has its appearance, none left to readers."""
    pdf = opened(form())
    widgets = list(pdf.pages[0].Annots)
    names = [str(w.get("/TU")) for w in widgets]

    assert names == ["Step 1 seen", "Step 1: done", "Step 1: prompted", "Step 1: not done", "Comment", "Notes"]
    assert "/NeedAppearances" not in pdf.Root.AcroForm
    assert [sorted(w.AP.N.keys()) for w in widgets[:4]] == [
        ["/Off", "/Yes"], ["/Off", "/done"], ["/Off", "/prompted"], ["/Off", "/not done"],
    ]  # fmt: skip
    assert all(w.F == 4 for w in widgets)
    assert {str(w.get("/T", w.get("/Parent", {}).get("/T"))) for w in widgets} == {"seen", "result", "comment", "notes"}


@pytest.mark.parametrize("language", ["en", "ar", "zh-Hans"])
def test_the_font_of_typed_words_is_of_the_kind_it_says(language):
    """ISO 32000-1, table 126: /FontFile2 holds a TrueType program; its first four bytes are 1.0 (OpenType 1.9)."""
    pdf = opened(replace(form(), language=language))

    font = pdf.Root.AcroForm.DR.Font["/Text"]

    assert font.Subtype == "/TrueType"
    assert font.FontDescriptor.FontFile2.read_bytes()[:4] == b"\x00\x01\x00\x00"


def test_fields_are_drawn_on_paper_too():
    """An empty form shows its boxes in print: there is ink at the edge of every field."""
    pdf = pdfium.PdfDocument(write_pdf(form(), FACES))
    pdf.init_forms()
    page = pdf[0]
    picture = page.render(scale=4, draw_annots=True).to_pil().convert("L")

    for f in FORM:
        box = tuple(round(4 * v) for v in (f.x - 1, f.y - 1, f.x + f.width + 1, f.y + f.height + 1))
        assert picture.crop(box).getextrema()[0] < 80, f.name


def test_fields_are_part_of_the_structure():
    """Each field's widget hangs on its Form element, and leads back to it."""
    pdf = opened(form())
    forms = [e for e in elements(pdf.Root.StructTreeRoot) if e.S == "/Form"]
    parents = {int(k): v for k, v in zip(*[iter(pdf.Root.StructTreeRoot.ParentTree.Nums)] * 2, strict=True)}

    assert [len(e.K) if isinstance(e.K, pikepdf.Array) else 1 for e in forms] == [1, 3, 1, 1]
    for widget in pdf.pages[0].Annots:
        assert parents[int(widget.StructParent)].S == "/Form"


def test_a_form_without_typed_words_needs_no_font():
    """The font for typed words is embedded only where words can be typed."""
    assert "/DR" in opened(form()).Root.AcroForm
    assert "/DR" not in opened(document(FORM[0], tags=(Tag("Form"),))).Root.AcroForm


def test_two_fields_of_one_name_are_refused():
    """Only buttons of a group may share a name, each with its own value."""
    twice = Field("text", "a", "A", 0, 0, 50, 12)
    choice = Field("choice", "a", "A", 0, 0, 12, 12, "x")

    for pair in ((twice, twice), (twice, choice), (choice, choice), (twice, replace(twice, name="a.b"))):
        with pytest.raises(ValueError, match="form field"):
            write_pdf(document(*pair), FACES)


def test_the_same_document_gives_the_same_bytes():
    """Writing is a function of the document, whatever was written before it."""
    first = write_pdf(tagged(), FACES)
    write_pdf(document(ink("Zoë’s naïve façade", 50)), FACES)

    assert write_pdf(tagged(), FACES) == first
    assert write_pdf(tagged(), Faces(Project().fonts())) == first


def test_only_what_is_used_is_embedded():
    """A short text makes a small file: no font is embedded whole."""
    assert len(write_pdf(document(ink("Rub", 40)), FACES)) < 4000


def test_words_with_brackets_and_backslashes_come_out_as_they_went_in():
    """Bytes that have a meaning inside a string are escaped: brackets, backslashes, returns."""
    text = r"(a) \b\ ((c) ) 100 % č Č ഀ".replace(" ഀ", "")
    codes = "\u2828\u0d28\u285c\u280d"  # codes whose bytes are `((`, CR, backslash

    assert text_of(document(ink(text, 40))).strip() == text
    assert string(codes) == rb"(\376\377\(\(\015\(\(\\\(\015)"


def test_numbers_names_and_strings_are_written_as_the_standard_says():
    """Numbers have no exponent, names and strings are escaped (ISO 32000-1, 7.3)."""
    assert [number(v) for v in (0.0, 12.0, 12.345, -0.001, 1190.55, 99999.5)] == [
        "0", "12", "12.35", "0", "1190.55", "99999.50",
    ]  # fmt: skip
    assert name("not done #1") == b"/not#20done#20#231"
    assert string("a(b)\\") == rb"(a\(b\)\\)"
    assert string("é") == rb"(\351)"
    assert string("日本") == rb"(\376\377e\345g,)"


LATIN = """
import sys
from docgen.artifacts import write_pdf
from docgen.model.sheet import BLACK, Document, Field, Ink, Sheet
from docgen.model.text import Run
from docgen.project import Project
from docgen.typeset.faces import Faces
from docgen.typeset.shaping import shape
faces = Faces(Project().fonts())
line = shape((Run("Clean (both) hands – “now”, for ≥ 20 s · l’eau, ñ, ơ"),), faces, language="en").line()
marks = Ink(line, 9, 9, 9), Field("text", "a", "A", 9, 9, 9, 9)
write_pdf(Document("t", "en", False, (Sheet(99, 99, marks),)), faces)
print(sorted({name.partition(".")[0] for name in sys.modules} & {"icu4py", "fontTools", "numpy"}))
"""


def test_latin_text_loads_nothing_it_does_not_need():
    """A Latin sheet is ready fast: no dictionary, font or picture library is loaded for it."""
    made = subprocess.run([sys.executable, "-c", LATIN], capture_output=True, text=True, check=True)

    assert made.stdout.strip() == "[]"
