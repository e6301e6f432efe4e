"""Our PDF files read by others: poppler, pdfium, pypdf, pikepdf, qpdf, fontTools."""

from __future__ import annotations

import ctypes
import hashlib
import io
import os
import re
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pikepdf
import pypdf
import pypdfium2 as pdfium
import pypdfium2.raw as raw
import pytest
from conftest import tool

from docgen.artifacts import write_pdf
from docgen.model.sheet import BLACK, Document, Drawing, Field, Ink, Shape, Sheet, Tag
from docgen.model.text import Run
from docgen.project import Project
from docgen.typeset.faces import Faces
from docgen.typeset.shaping import shape

FACES = Faces(Project().fonts())

TEXTS = {
    "en": "Clean your outer gloves with hand rub (≥ 70 % alcohol), finger by finger; office affinity AV.",
    "es": "Límpiese los guantes exteriores con solución hidroalcohólica; ¿están secos? ¡No siga antes!",
    "vi": "Làm sạch găng tay ngoài bằng dung dịch sát khuẩn trong ít nhất 20 giây, từng ngón một.",
    "uk": "Очистіть зовнішні рукавички антисептиком протягом щонайменше 20 секунд.",
    "hi": "बाहरी दस्तानों को कम से कम 20 सेकंड तक हैंड रब से साफ करें; जब तक वे सूख न जाएँ।",
    "th": "ทำความสะอาดถุงมือชั้นนอกด้วยแอลกอฮอล์อย่างน้อย 20 วินาที ทีละนิ้ว รอจนแห้งสนิท",
    "km": "លាងសម្អាតស្រោមដៃខាងក្រៅដោយអាល់កុលយ៉ាងតិច 20 វិនាទី",
    "ar": "نظّف القفازات الخارجية بمطهّر اليدين (ABHR) لمدة لا تقل عن 20 ثانية، إصبعًا إصبعًا، وانتظر حتى تجف تمامًا.",
}
if "NotoSansCJKsc-Regular" in Project().fonts():
    TEXTS["zh"] = "用洗手液清洁外层手套至少20秒（≥ 70 %），然后再脱下N95口罩。"
MEASURES = ("25 °C", "10 mL/min", "3–5", "+1 555 0100")


def paragraph(runs, language: str, y: float, tag: int) -> list[Ink]:
    shaped = shape(runs, FACES, language=language)
    assert not shaped.missing
    lines = shaped.wrap(260, 11)
    left = [320 - line.width * 11 / 1000 if shaped.rtl else 40 for line in lines]
    return [Ink(line, x, y + 18 * i, 11, BLACK, tag) for i, (line, x) in enumerate(zip(lines, left, strict=True))]


def of(language: str) -> bytes:
    text = TEXTS[language]
    tag = Tag("P", language=language, actual=text if language == "ar" else "")
    marks = paragraph((Run(text),), language, 60, 0)
    return write_pdf(Document(language, language, language == "ar", (Sheet(360, 240, tuple(marks)),), (tag,)), FACES)


def everything() -> Document:
    """Every script, a figure, a form: one of each thing a file can hold."""
    marks: list = []
    tags = [Tag("H1")]
    marks += paragraph((Run("Hand rub", strong=True),), "en", 40, 0)
    for n, (language, text) in enumerate(TEXTS.items()):
        tags.append(Tag("P", language=language, actual=text if language == "ar" else ""))
        marks += paragraph((Run(text),), language, 70 + 54 * n, n + 1)
    figure, form = len(tags), len(tags) + 1
    tags += [Tag("Figure", alt="A square"), Tag("Form")]
    marks.append(Shape((("M", (330, 40)), ("L", (350, 40)), ("L", (350, 60)), ("Z", ())), fill=(1, 0.8, 0), tag=figure))
    marks.append(Drawing((marks[-1],), 0, 40, 0.5, figure))
    marks += [
        Field("text", "name", "Name", 40, 560, 200, 16, tag=form),
        Field("tick", "seen", "Seen", 260, 560, 14, 14, tag=form),
    ]
    marks += [
        Field("choice", "step", f"Step: {v}", 290 + 20 * i, 560, 14, 14, v, tag=form)
        for i, v in enumerate(("done", "not done"))
    ]
    return Document("Every thing", "en", False, (Sheet(400, 600, tuple(marks), bleed=10),), tuple(tags))


def poppler(data: bytes, path: Path) -> str:
    path.write_bytes(data)
    made = subprocess.run([tool("pdftotext"), path, "-"], capture_output=True, text=True, check=True)
    return re.sub("[\u202a-\u202e\u200e\u200f]", "", made.stdout)  # pdftotext adds direction controls


def by_pdfium(data: bytes, _: Path) -> str:
    return pdfium.PdfDocument(data)[0].get_textpage().get_text_range()


def by_pypdf(data: bytes, _: Path) -> str:
    return pypdf.PdfReader(io.BytesIO(data)).pages[0].extract_text()


READERS = pytest.mark.parametrize("read", [poppler, by_pdfium, by_pypdf], ids=["poppler", "pdfium", "pypdf"])


@READERS
@pytest.mark.parametrize("language", [language for language in TEXTS if language != "ar"])
def test_left_to_right_text_comes_out_as_it_went_in(language, read, tmp_path):
    """Three readers agree with the source, character for character, but for white space at line ends."""
    found = read(of(language), tmp_path / "x.pdf")

    if language in ("th", "km", "zh"):  # no spaces between words: a line end is no space
        assert "".join(found.split()) == "".join(TEXTS[language].split())
    else:
        assert " ".join(found.split()) == TEXTS[language]


@READERS
def test_right_to_left_words_come_out_whole(read, tmp_path):
    """Every Arabic word is found by three readers; their order of neutral characters is their own."""

    def words(text: str) -> Counter:
        return Counter(re.findall(r"[\u0621-\u0652]+|[A-Za-z]+|\d+", text))

    assert words(TEXTS["ar"]) - words(read(of("ar"), tmp_path / "x.pdf")) == Counter()


def test_right_to_left_text_is_exact_in_the_structure():
    """The structure element says exactly what the paragraph says, as pdfium reads it."""
    pdf = pdfium.PdfDocument(of("ar"))
    page = pdf[0]
    tree = raw.FPDF_StructTree_GetForPage(page)
    element = raw.FPDF_StructElement_GetChildAtIndex(raw.FPDF_StructTree_GetChildAtIndex(tree, 0), 0)
    buffer = ctypes.create_string_buffer(2000)
    length = raw.FPDF_StructElement_GetActualText(element, buffer, 2000)

    assert buffer.raw[: length - 2].decode("utf-16-le") == TEXTS["ar"]


def test_measures_in_arabic_are_seen_from_left_to_right():
    """On the finished page each measure's characters stand from left to right, next to one another."""
    runs = [Run("احفظ عند "), Run(MEASURES[0], isolate=True)]
    for word, measure in zip(("واسكب", "مدة", "واتصل"), MEASURES[1:], strict=True):
        runs += [Run(f" {word} "), Run(measure, isolate=True)]
    line = shape(tuple(runs), FACES, language="ar").line()
    pdf = pdfium.PdfDocument(write_pdf(Document("", "ar", True, (Sheet(600, 60, (Ink(line, 20, 40, 12),)),)), FACES))
    page = pdf[0].get_textpage()
    seen = sorted((page.get_charbox(i, loose=True)[0], page.get_text_range(i, 1)) for i in range(page.count_chars()))
    text = "".join(c for _, c in seen if not c.isspace())

    assert [m for m in MEASURES if m.replace(" ", "") not in text] == []


def test_qpdf_finds_no_fault(tmp_path):
    """`qpdf --check` is content with syntax, streams and cross-references."""
    path = tmp_path / "x.pdf"
    path.write_bytes(write_pdf(everything(), FACES))
    made = subprocess.run([tool("qpdf"), "--check", path], capture_output=True, text=True, check=False)

    assert (made.returncode, "No syntax or stream encoding errors found" in made.stdout) == (0, True)
    assert "WARNING" not in made.stdout + made.stderr


def test_every_font_is_embedded_and_mapped_to_unicode(tmp_path):
    """pdffonts sees only embedded fonts, those of form fields included; every page font is mapped to Unicode."""
    path = tmp_path / "x.pdf"
    path.write_bytes(write_pdf(everything(), FACES))
    made = subprocess.run([tool("pdffonts"), path], capture_output=True, text=True, check=True)
    rows = [line.split() for line in made.stdout.splitlines()[2:]]

    assert rows and all(row[-5:-2] == ["yes", "yes", "yes"] for row in rows), made.stdout
    with pikepdf.open(path) as pdf:
        fields = pdf.Root.AcroForm.DR.Font
        assert [len(font.FontDescriptor.FontFile2.read_bytes()) > 1000 for font in fields.values()] == [True]
        assert {key for w in pdf.pages[0].Annots if "/DA" in w for key in re.findall(r"/\w+", str(w.DA))} <= set(
            fields.keys()
        )


def test_pdfinfo_sees_the_boxes_and_the_tags(tmp_path):
    """poppler's pdfinfo sees the trimmed size inside the bleed, a tagged file, a form, and no script."""
    path = tmp_path / "x.pdf"
    path.write_bytes(write_pdf(everything(), FACES))
    made = subprocess.run([tool("pdfinfo"), "-box", path], capture_output=True, text=True, check=True)
    said = {k: v.split() for k, _, v in (line.partition(":") for line in made.stdout.splitlines())}

    assert said["MediaBox"] == ["0.00", "0.00", "420.00", "620.00"]
    assert said["TrimBox"] == ["10.00", "10.00", "410.00", "610.00"]
    assert (said["Tagged"], said["Form"], said["JavaScript"]) == (["yes"], ["AcroForm"], ["no"])


def test_embedded_fonts_are_sound():
    """fontTools reads every embedded font: checksums, widths equal to the file's W, bearings equal to the outlines."""
    from fontTools.ttLib import TTFont

    with pikepdf.open(io.BytesIO(write_pdf(everything(), FACES))) as pdf:
        for font in pdf.pages[0].Resources.Font.values():
            below = font.DescendantFonts[0]
            program = TTFont(io.BytesIO(below.FontDescriptor.FontFile2.read_bytes()), checkChecksums=2)
            order, advances, glyf = program.getGlyphOrder(), program["hmtx"].metrics, program["glyf"]
            places = below.CIDToGIDMap.read_bytes()
            runs = list(below.W)
            for first, widths in zip(runs[::2], runs[1::2], strict=True):
                for code, width in enumerate(widths, int(first)):
                    glyph = order[int.from_bytes(places[2 * code : 2 * code + 2])]
                    assert advances[glyph][0] == pytest.approx(float(width), abs=0.51)
                    assert advances[glyph][1] == (glyf[glyph].xMin if glyf[glyph].numberOfContours else 0)
                    glyf[glyph].getCoordinates(glyf)


def test_glyphs_look_as_their_font_draws_them():
    """pdfium's pixels of an embedded outline are those of the font, drawn by fontTools and Pillow."""
    from fontTools.pens.basePen import BasePen
    from fontTools.ttLib import TTFont
    from fontTools.varLib.instancer import instantiateVariableFont
    from PIL import Image, ImageDraw

    data, _ = Project().fonts()["NotoSansKhmer"]()
    text = "\u1780"
    line = shape((Run(text),), FACES, language="km").line()
    pdf = pdfium.PdfDocument(write_pdf(Document("", "km", False, (Sheet(60, 60, (Ink(line, 10, 45, 40),)),)), FACES))
    ours = pdf[0].render(scale=4).to_pil().convert("L").point(lambda v: 255 * (v > 127))

    font = instantiateVariableFont(TTFont(io.BytesIO(data)), {"wght": 400, "wdth": 100})

    class Fill(BasePen):
        def __init__(self):
            super().__init__(font.getGlyphSet())
            self.contours: list = []

        def _moveTo(self, p):
            self.contours.append([p])

        def _lineTo(self, p):
            self.contours[-1].append(p)

        def _qCurveToOne(self, c, p):
            a = self.contours[-1][-1]
            self.contours[-1] += [
                tuple((1 - t) ** 2 * a[k] + 2 * t * (1 - t) * c[k] + t * t * p[k] for k in (0, 1))
                for t in (i / 12 for i in range(1, 13))
            ]

    pen = Fill()
    pen.glyphSet[font.getBestCmap()[ord(text)]].draw(pen)
    theirs = Image.new("L", (240, 240), 255)
    for contour in pen.contours:
        area = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(contour, contour[1:] + contour[:1], strict=True))
        points = [(4 * (10 + x * 40 / 1000), 4 * (45 - y * 40 / 1000)) for x, y in contour]
        ImageDraw.Draw(theirs).polygon(points, fill=0 if area < 0 else 255)
    different = sum(a != b for a, b in zip(ours.tobytes(), theirs.tobytes(), strict=True))
    ink = theirs.tobytes().count(0)

    assert ink > 1000 and different < ink * 0.12  # edges differ by a pixel


def test_values_filled_by_pypdf_are_read_back_by_pikepdf(tmp_path):
    """A form filled with one library is read by another; the buttons of a group exclude one another."""
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(write_pdf(everything(), FACES)))
    writer.update_page_form_field_values(
        writer.pages[0], {"name": "A. Invented", "seen": "/Yes", "step": "/not done"}, auto_regenerate=False
    )
    out = io.BytesIO()
    writer.write(out)
    with pikepdf.open(out) as pdf:
        fields = {str(f.T): f for f in pdf.Root.AcroForm.Fields}
        assert (str(fields["name"].V), fields["seen"].V, fields["step"].V) == ("A. Invented", "/Yes", "/not done")
        assert [str(kid.AS) for kid in fields["step"].Kids] == ["/Off", "/not done"]


def test_values_filled_by_pikepdf_are_read_back_by_pypdf():
    """And the other way round, with pikepdf making the appearance of the typed words."""
    from pikepdf.form import Form

    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(write_pdf(everything(), FACES))) as pdf:
        form = Form(pdf)
        form["name"].value = "A. Invented"
        form["seen"].checked = True
        form["step"].value = pikepdf.Name("/done")
        pdf.save(out)
    fields = pypdf.PdfReader(out).get_fields()

    assert {name: fields[name]["/V"] for name in ("name", "seen", "step")} == {
        "name": "A. Invented", "seen": "/Yes", "step": "/done",
    }  # fmt: skip


PROGRAM = """
import hashlib, sys
sys.path[:0] = [{folder!r}, {tests!r}]
import test_text_pdf as t
for language in {order!r}:
    t.of(language)
print(hashlib.sha256(t.write_pdf(t.everything(), t.FACES)).hexdigest())
"""


def test_two_processes_write_the_same_bytes():
    """Another hash seed, time zone, locale, and other documents written before: the bytes stay the same."""
    folder = Path(__file__).parent
    wanted = hashlib.sha256(write_pdf(everything(), FACES)).hexdigest()
    program = PROGRAM.format(folder=str(folder), tests=str(folder.parent), order=["ar", "th"])
    odd = {"PYTHONHASHSEED": "777", "TZ": "Asia/Tokyo", "LC_ALL": "C"}
    made = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True, env={**os.environ, **odd}
    )

    assert made.stdout.strip() == wanted
