"""Details of finished sheets that people stumbled over, measured by libraries that did not write the file."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import date

import pikepdf
import pypdfium2 as pdfium
import pytest
from workbench import edition, made

from docgen.model.edition import Waiver

MM = 72 / 25.4


def test_a_comment_can_be_written_by_hand():
    """At least 8 mm high (common practice, no source), in every row of the checklist."""
    data, findings = made(*edition("hand-rub", "harbour-north"), "checklist")
    assert data, findings
    with pikepdf.open(io.BytesIO(data)) as pdf:
        fields = [a for page in pdf.pages for a in page.get("/Annots", []) if called(a).endswith("comment")]
        heights = [float(a.Rect[3]) - float(a.Rect[1]) for a in fields]

    assert len(heights) == len(list(edition("hand-rub", "harbour-north")[0].all_steps()))
    assert min(heights) >= 8 * MM


def called(field):
    """The last part of a field's name, which its parent may hold."""
    return str(field.get("/T", "")) or (called(field.Parent) if "/Parent" in field else "")


@pytest.mark.parametrize("artifact", ["poster", "script", "checklist"])
def test_capitals_stand_in_the_middle_of_the_band_of_a_phase(artifact):
    """As much tint above a capital as below it, to a twentieth of the band, as PDFium measures path and glyph."""
    of, analysis = edition("hand-rub", "harbour-north")
    data, _ = made(of, analysis, artifact)
    page = pdfium.PdfDocument(data)[0]
    text = page.get_textpage()
    title = of.phases[0].title.plain
    left, bottom, right, top = text.get_charbox(text.get_text_range().index(title))
    bands = [o.get_bounds() for o in page.get_objects() if o.type == pdfium.raw.FPDF_PAGEOBJ_PATH]
    low, high = min(
        (
            (b, t)
            for x, b, y, t in bands
            if x < left and right < y and b < bottom and top < t and t - b < 4 * (top - bottom)
        ),
        key=lambda band: band[1] - band[0],
    )

    assert high - top == pytest.approx(bottom - low, abs=(high - low) / 20)


def test_a_reason_in_the_words_it_was_given_in_is_tagged_with_their_language():
    """A waiver on a translated checklist: nobody translates it by accident, and a screen reader knows (PDF: /Lang)."""
    of, analysis = edition("hand-rub", "harbour-north")
    day = date(2026, 1, 5)
    waiver = Waiver("sequence/hold-missing", (), "The corridor has no room for two.", "A. Person", day, day)
    spoken = replace(of, language="fr", translation="x", waivers=(waiver,))
    data, _ = made(spoken, analysis, "checklist")
    with pikepdf.open(io.BytesIO(data)) as pdf:
        tongues = [str(e.Lang) for e in elements(pdf.Root.StructTreeRoot) if "/Lang" in e]

    assert str(pdf_language(data)) == "fr"
    assert tongues.count("en") == 1


def elements(node):
    """Every element of a structure tree."""
    kids = node.get("/K", [])
    for kid in kids if isinstance(kids, pikepdf.Array) else [kids]:
        if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
            yield kid
            yield from elements(kid)


def pdf_language(data):
    with pikepdf.open(io.BytesIO(data)) as pdf:
        return pdf.Root.Lang
