"""Finished sheets, looked at by programs that have nothing to do with this one."""

from __future__ import annotations

import re
import subprocess
from difflib import get_close_matches

import pikepdf
import pypdf
import pytest
from conftest import tool
from pikepdf.form import Form
from workbench import at, edition, made, templates

from docgen.build.layouts import layouts
from docgen.model.edition import ARTIFACTS

SIZES = {
    # ISO 216:2007 table 1, trimmed sizes in millimetres
    "A1": (594, 841),
    "A2": (420, 594),
    "A3": (297, 420),
    "A4": (210, 297),
    "A6": (105, 148),
    "A7": (74, 105),
    # ISO/IEC 7810:2019, ID-1: 85,60 × 53,98 mm
    "ID-1": (53.98, 85.60),
    # inches of 25,4 mm, as the names say; Letter and Tabloid from ANSI/ASME Y14.1 sizes A and B
    "Letter": (8.5 * 25.4, 11 * 25.4),
    "Tabloid": (11 * 25.4, 17 * 25.4),
    "18x24in": (18 * 25.4, 24 * 25.4),
    "24x36in": (24 * 25.4, 36 * 25.4),
    "3x5in": (3 * 25.4, 5 * 25.4),
    "4x6in": (4 * 25.4, 6 * 25.4),
}
LAYOUTS = {artifact: layout for artifact, layout in layouts(templates())[0].items() if artifact in ARTIFACTS}
SHEETS = [(a, sheet) for a, layout in LAYOUTS.items() for sheet in layout.sheets]


@pytest.mark.parametrize(("artifact", "sheet"), SHEETS)
def test_pages_have_the_size_of_their_standard(artifact, sheet, tmp_path):
    """poppler's pdfinfo reads the size back, to a tenth of a millimetre."""
    of, analysis = edition("hand-rub", "harbour-north")
    distance = 0.4 if artifact in ("poster", "cards") else 0.5
    data, findings = made(at(of, **{artifact: (sheet, distance)}), analysis, artifact)
    assert data, findings
    file = tmp_path / "sheet.pdf"
    file.write_bytes(data)

    said = subprocess.run([tool("pdfinfo"), file], capture_output=True, text=True, check=True).stdout

    width, height = (float(v) * 25.4 / 72 for v in re.search(r"Page size:\s+([\d.]+) x ([\d.]+)", said).groups())
    assert sorted((width, height)) == pytest.approx(sorted(SIZES[sheet]), abs=0.1)


def test_a_stranger_reads_the_headlines_off_a_picture_of_the_poster(tmp_path):
    """Tesseract finds the words of every headline on the rasterised sheet; a twentieth may be misread."""
    of, analysis = edition("hand-rub", "harbour-north")
    data, _ = made(of, analysis, "poster")
    file = tmp_path / "poster.pdf"
    file.write_bytes(data)
    subprocess.run([tool("pdftoppm"), "-r", "100", "-gray", "-png", file, tmp_path / "page"], check=True)
    picture = next(tmp_path.glob("page*.png"))

    seen = subprocess.run(
        [tool("tesseract"), picture, "-", "--psm", "11"], capture_output=True, text=True, check=True
    ).stdout
    words = set(re.findall("[a-z]+", seen.lower()))

    wanted = [w for step in of.steps for w in re.findall("[a-z]{3,}", step.headline.plain.lower())]
    missed = [w for w in wanted if not get_close_matches(w, words, n=1, cutoff=0.8)]
    assert len(missed) <= len(wanted) * 0.05, missed


def test_what_is_filled_in_comes_back(tmp_path):
    """pypdf fills the form, pikepdf reads it: two libraries that did not write the file."""
    of, analysis = edition("hand-rub", "harbour-north")
    data, _ = made(of, analysis, "checklist")
    blank = tmp_path / "blank.pdf"
    blank.write_bytes(data)
    step = of.steps[0].id
    writer = pypdf.PdfWriter(clone_from=blank)
    for page in writer.pages:
        writer.update_page_form_field_values(
            page,
            {"wearer": "Ada Marsh", f"{step}.comment": "slow", f"{step}.result": "/prompted"},
            auto_regenerate=False,
        )
    filled = tmp_path / "filled.pdf"
    writer.write(filled)

    with pikepdf.open(filled) as pdf:
        form = Form(pdf)
        assert form["wearer"].value == "Ada Marsh"
        assert form[f"{step}.comment"].value == "slow"
        assert form[f"{step}.result"].value == "/prompted"


@pytest.mark.parametrize("artifact", list(LAYOUTS))
def test_every_artifact_is_a_sound_file(artifact, tmp_path):
    """qpdf finds nothing wrong with it."""
    data, _ = made(*edition("everyday-removal", "harbour-north"), artifact)
    file = tmp_path / "sheet.pdf"
    file.write_bytes(data)

    assert subprocess.run([tool("qpdf"), "--check", file], capture_output=True, check=False).returncode == 0
