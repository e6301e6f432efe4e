"""Do to finished sheets what somebody with a PDF editor or scissors would: other words, another sheet's code."""

from __future__ import annotations

import io
import re

import numpy as np
import pikepdf
import pypdfium2 as pdfium
import segno
import zxingcpp
from PIL import Image

POINT = 72 / 25.4


def edited(data: bytes, old: str, new: str, page: int = 1) -> bytes:
    """The file with other words in one run of its text, in its own font."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        leaf = pdf.pages[page - 1]
        fonts = {str(name): _letters(font) for name, font in leaf.Resources.Font.items()}
        shown: dict[int, str] = {}
        out, done = [], False
        for operands, operator in pikepdf.parse_content_stream(leaf):
            if str(operator) == "Tf":
                shown = fonts[str(operands[0])]
            if str(operator) in ("TJ", "Tj") and not done:
                parts = list(operands[0]) if str(operator) == "TJ" else [operands[0]]
                raw = b"".join(bytes(p) for p in parts if isinstance(p, pikepdf.String))
                codes = [int.from_bytes(raw[n : n + 2], "big") for n in range(0, len(raw), 2)]
                said = "".join(shown.get(c, "") for c in codes)
                if old in said:
                    back = {text: code for code, text in shown.items()}
                    line = said.replace(old, new)
                    encoded = b"".join(back[ch].to_bytes(2, "big") for ch in line)
                    operands, operator = [pikepdf.String(encoded)], pikepdf.Operator("Tj")
                    done = True
            out.append((operands, operator))
        assert done, f"`{old}` is not in one run of page {page}"
        leaf.Contents = pdf.make_stream(pikepdf.unparse_content_stream(out))
        return _saved(pdf)


def _letters(font: pikepdf.Object) -> dict[int, str]:
    """Code → text, from a font's ToUnicode."""
    table = bytes(font.ToUnicode.read_bytes()).decode("ascii")
    out: dict[int, str] = {}
    for block in re.findall(r"beginbfrange(.*?)endbfrange", table, re.DOTALL):
        for first, last, start in re.findall(r"<(\w{4})><(\w{4})><(\w{4})>", re.sub(r"\s", "", block)):
            for code in range(int(first, 16), int(last, 16) + 1):
                out[code] = chr(int(start, 16) + code - int(first, 16))
    for block in re.findall(r"beginbfchar(.*?)endbfchar", table, re.DOTALL):
        for code, text in re.findall(r"<(\w{4})>\s*<(\w+)>", block):
            out[int(code, 16)] = bytes.fromhex(text).decode("utf-16-be")
    return out


def pasted(data: bytes, words: str) -> bytes:
    """The file with another square code over the one of its first page."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        leaf = pdf.pages[0]
        left, bottom, right, _ = place(data)
        code = segno.make(words, error="m", boost_error=False, micro=False)
        matrix = list(code.matrix_iter(border=4))
        side = (right - left) * len(matrix) / (len(matrix) - 8)
        module = side / len(matrix)
        left, bottom = left - 4 * module, bottom - 4 * module
        ink = [
            f"{left + x * module:.3f} {bottom + (len(matrix) - 1 - y) * module:.3f} {module:.3f} {module:.3f} re"
            for y, row in enumerate(matrix)
            for x, dark in enumerate(row)
            if dark
        ]
        drawn = f"q 1 g {left:.3f} {bottom:.3f} {side:.3f} {side:.3f} re f 0 g {' '.join(ink)} f Q"
        leaf.contents_add(drawn.encode(), prepend=False)
        return _saved(pdf)


def place(data: bytes) -> tuple[float, float, float, float]:
    """Left, bottom, right, top of the square code of the first page in points, without its quiet zone."""
    document = pdfium.PdfDocument(data)
    page = document[0]
    picture = page.render(scale=200 / 72, grayscale=True).to_numpy()
    grey = np.ascontiguousarray(picture.reshape(picture.shape[0], -1))
    (found,) = zxingcpp.read_barcodes(grey, formats=zxingcpp.BarcodeFormats([zxingcpp.BarcodeFormat.QRCode]))
    at, height, scale = found.position, page.get_height(), 72 / 200
    return (
        at.top_left.x * scale, height - at.bottom_left.y * scale, at.top_right.x * scale, height - at.top_left.y * scale
    )  # fmt: skip


def _saved(pdf: pikepdf.Pdf) -> bytes:
    out = io.BytesIO()
    pdf.save(out, deterministic_id=True)
    return out.getvalue()


def picture(data: bytes, dots: int = 150, page: int = 1) -> Image.Image:
    """One page as a grey picture."""
    return pdfium.PdfDocument(data)[page - 1].render(scale=dots / 72, grayscale=True).to_pil().convert("L")
