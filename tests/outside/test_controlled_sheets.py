"""What a controlled sheet must carry, read off it by programs that have nothing to do with this one.

Square code: ISO/IEC 18004 (quiet zone of four modules; version v has 17 + 4v modules a side). Identification: ISO
9001:2015, 7.5.2 and 7.5.3, and ISO 15189:2012, 4.3: title, unique identifier, date or number of the edition, page of
pages on each page (both from secondary texts). Who approved a document is on its approval record, not on each sheet.
"""

from __future__ import annotations

import re
import subprocess
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import segno
import zxingcpp
from conftest import tool
from PIL import Image
from workbench import ROOT, edition, made

from docgen.build.comparing import canonical
from docgen.project import Project

ARTIFACTS = ("poster", "cards", "script", "checklist", "notice")
PROTOCOL, SITE = "hand-rub", "harbour-north"
DOTS = 300
BLANK = 235
"""Grey value from which a pixel is paper."""
LEAST = {"poster": 0.5}
"""Millimetres: laminated, with glare (common practice, no source)."""
MODULE = 0.396
"""Millimetres: the smallest for retail (GS1 General Specifications, from memory)."""
QUIET = 4


@cache
def sheet(artifact: str) -> bytes:
    data, findings = made(*edition(PROTOCOL, SITE), artifact)
    assert data, findings
    return data


def pictures(artifact: str, folder: Path) -> list[Path]:
    """Every page as a grey picture, drawn by poppler."""
    file = folder / f"{artifact}.pdf"
    file.write_bytes(sheet(artifact))
    subprocess.run([tool("pdftoppm"), "-r", str(DOTS), "-gray", "-png", file, folder / artifact], check=True)
    return sorted(folder.glob(f"{artifact}-*.png"))


@pytest.mark.parametrize("artifact", ARTIFACTS)
def test_the_square_code_is_large_and_alone_enough_and_two_readers_agree(artifact, tmp_path):
    """Module and quiet zone are measured in pixels; zxing-cpp and zbar read the same words from them."""
    of, _ = edition(PROTOCOL, SITE)
    for page, picture in enumerate(pictures(artifact, tmp_path), 1):
        grey = np.asarray(Image.open(picture).convert("L"))
        codes = zxingcpp.read_barcodes(grey, formats=zxingcpp.BarcodeFormats([zxingcpp.BarcodeFormat.QRCode]))
        (code,) = codes
        again = subprocess.run(
            [tool("zbarimg"), "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", picture],
            capture_output=True, text=True, check=True,
        ).stdout.strip()  # fmt: skip
        assert code.text == again
        said = code.text.split("/")
        assert said[:3] == [of.code, of.version, of.fingerprint] and said[5][1:].startswith(f"{page}-")

        modules = 17 + 4 * int(segno.make(code.text, error=code.ec_level, boost_error=False, micro=False).version)
        at = code.position
        left, top, right, bottom = at.top_left.x, at.top_left.y, at.bottom_right.x, at.bottom_right.y
        module = (right - left) / modules
        assert module * 25.4 / DOTS >= LEAST.get(artifact, MODULE) * 0.98

        slack = 0.3 * module  # corners are known to a fraction of a module
        outer = [round(v) for v in (left - QUIET * module + slack, top - QUIET * module + slack,
                                    right + QUIET * module - slack, bottom + QUIET * module - slack)]  # fmt: skip
        inner = [round(v) for v in (left - slack, top - slack, right + slack, bottom + slack)]
        assert min(outer) >= 0 and outer[2] <= grey.shape[1] and outer[3] <= grey.shape[0]
        zone = grey.copy()
        zone[inner[1] : inner[3], inner[0] : inner[2]] = 255
        assert zone[outer[1] : outer[3], outer[0] : outer[2]].min() >= BLANK
        wider = zone[outer[1] - round(3 * module) : outer[3] + round(3 * module), : outer[2]]
        assert wider.min() < BLANK, "the measure sees ink where there is some"


@pytest.mark.parametrize("artifact", ARTIFACTS)
def test_every_sheet_says_which_document_it_is(artifact, tmp_path):
    """Title, identifier, edition with its dates, and page of pages, on each page as poppler reads it."""
    of, _ = edition(PROTOCOL, SITE)
    file = tmp_path / "sheet.pdf"
    file.write_bytes(sheet(artifact))
    pages = subprocess.run([tool("pdftotext"), file, "-"], capture_output=True, text=True, check=True).stdout
    pages = [" ".join(p.split()) for p in pages.split("\f") if p.strip()]
    mark = f"{of.fingerprint[:5]}-{of.fingerprint[5:]}"
    for number, words in enumerate(pages, 1):
        required = {
            "title (ISO 9001 7.5.2 a, ISO 15189 4.3 a)": of.title.plain,
            "unique identifier (ISO 15189 4.3 b)": of.code,
            "number of the edition (ISO 15189 4.3 c)": f"v{of.version}",
            "date of the edition (ISO 9001 7.5.2 a, ISO 15189 4.3 c)": of.effective.isoformat(),
            "date of review (ISO 9001 7.5.2 c)": of.review.isoformat(),
            "fingerprint (ISO 9001 7.5.3.2 c, control of changes)": mark,
            "language (ISO 9001 7.5.2 b)": f"· {of.language} ·",
        }
        lacking = [what for what, text in required.items() if text not in words]
        assert not lacking, f"page {number} of {artifact} lacks {lacking}"
        assert re.search(rf"(sheet|side) {number} of {len(pages)}\b", words), "page of pages (ISO 15189 4.3 d)"


def test_anybody_can_compute_the_fingerprint(tmp_path):
    """sha256sum over what `docgen canonical` prints, its first 50 bits in Crockford's base 32."""
    of, _ = edition(PROTOCOL, SITE)
    identity, outcome = canonical(Project(ROOT / "protocols"), str(ROOT / "protocols" / f"{PROTOCOL}.yaml"), SITE)
    assert outcome.findings == ()
    said = subprocess.run([tool("sha256sum")], input=identity, capture_output=True, check=True).stdout.decode()
    bits = f"{int(said.split()[0], 16):0256b}"[:50]
    letters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
    assert "".join(letters[int(bits[n : n + 5], 2)] for n in range(0, 50, 5)) == of.fingerprint
