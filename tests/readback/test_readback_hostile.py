"""Files that are broken, locked, huge or made to hurt: findings, never a traceback, and a bounded amount of work."""

from __future__ import annotations

import io
import zlib

import pytest
from faithful import FORMS, faithful, lay, make_edition, paint
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from reportlab.lib.pdfencrypt import StandardEncryption
from reportlab.pdfgen import canvas

from docgen.findings import Finding, Severity
from docgen.readback import Unreadable, examine, opening, read

GOOD = faithful("notice")


def verdict(data: bytes) -> tuple[Finding, ...]:
    return examine(data, make_edition(), "notice", "x.pdf", sheet=FORMS["notice"].sheet)


def only_rule(data: bytes) -> str:
    (finding,) = verdict(data)
    assert finding.severity is Severity.ERROR
    assert finding.hint and finding.where.file == "x.pdf" and finding.artifact == "notice"
    return finding.rule


@pytest.mark.parametrize(
    "data",
    [b"", b"%PDF-1.7", b"not a PDF", b"\x00" * 1000, GOOD[: len(GOOD) // 2], GOOD[20:], b"%PDF-1.4\n%%EOF\n"],
    ids=["empty", "header alone", "text", "zeros", "half", "no header", "header and end"],
)
def test_what_is_no_whole_pdf_is_unreadable(data: bytes) -> None:
    """One finding says so."""
    assert only_rule(data) == "readback/unreadable"


@pytest.mark.parametrize("password", ["", "secret"])
def test_an_encrypted_file_is_refused(password: str) -> None:
    """Whether it needs a password to be read, or only to be changed."""
    lock = StandardEncryption(password, ownerPassword="owner", canPrint=0)
    assert only_rule(paint(lay(make_edition(), "notice"), encrypt=lock)) == "readback/encrypted"


def pages(count: int, size: tuple[float, float] = (300, 400), draw=None) -> bytes:
    out = io.BytesIO()
    c = canvas.Canvas(out, invariant=1, pageCompression=1)
    for _ in range(count):
        c.setPageSize(size)
        c.drawString(50, 50, "words")
        if draw:
            draw(c)
        c.showPage()
    c.save()
    return out.getvalue()


def test_too_many_pages_are_refused() -> None:
    """Beyond the limit nothing is rendered."""
    assert only_rule(pages(opening.MAX_PAGES + 1)) == "readback/page-count"


@pytest.mark.parametrize("size", [(14400, 14400), (5, 400), (300, 6)], ids=["200 inches", "narrow", "low"])
def test_absurd_pages_are_refused(size: tuple[float, float]) -> None:
    """Too large to render, too small to be a sheet."""
    assert only_rule(pages(1, size)) == "readback/sheet-size"


def test_too_large_a_file_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """By its length alone."""
    monkeypatch.setattr(opening, "MAX_BYTES", len(GOOD) - 1)
    assert only_rule(GOOD) == "readback/too-large"


def test_too_many_objects_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Counted while walking, through nested forms."""
    monkeypatch.setattr(opening, "MAX_OBJECTS", 5)
    assert only_rule(GOOD) == "readback/too-complex"


def nested(depth: int) -> bytes:
    """Forms within forms."""
    out = io.BytesIO()
    c = canvas.Canvas(out, invariant=1)
    c.setPageSize((300, 400))
    for n in range(depth):
        c.beginForm(f"f{n}")
        if n:
            c.doForm(f"f{n - 1}")
        else:
            c.drawString(50, 50, "deep")
        c.endForm()
    c.doForm(f"f{depth - 1}")
    c.showPage()
    c.save()
    return out.getvalue()


def test_forms_are_followed_to_a_depth_and_no_further() -> None:
    """Words inside forms are seen; a pile of forms is refused."""
    assert "deep" in [r.text for r in read(nested(3)).pages[0].runs]
    assert only_rule(nested(opening.MAX_DEPTH + 3)) == "readback/too-complex"


def test_a_page_of_too_many_characters_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Counted before any of them is read."""
    from docgen.readback import reading

    monkeypatch.setattr(reading, "MAX_CHARACTERS", 3)
    assert only_rule(GOOD) == "readback/too-complex"


def test_a_turned_page_and_a_pinned_note_are_noticed() -> None:
    """Things no artifact has."""

    def odd(c: canvas.Canvas) -> None:
        c.setPageRotation(90)
        c.textAnnotation("a note", [10, 10, 30, 30])

    messages = [f.message for f in verdict(pages(1, draw=odd)) if f.rule == "readback/unexpected"]
    assert any("turned" in m for m in messages) and any("note" in m for m in messages)


def test_a_broken_content_stream_is_no_traceback() -> None:
    """Valid around it, nonsense within."""
    import pikepdf

    with pikepdf.open(io.BytesIO(GOOD)) as pdf:
        pdf.pages[0].Contents = pdf.make_stream(b"BT /F9 nan Tf (( <</ >> q q q " + bytes(range(256)))
        out = io.BytesIO()
        pdf.save(out)
    assert verdict(out.getvalue())


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.tuples(st.integers(0, len(GOOD) - 1), st.integers(0, 255)), min_size=1, max_size=12))
def test_flipped_bytes_never_end_in_a_traceback(flips: list[tuple[int, int]]) -> None:
    """Whatever a bad disk or a bad person makes of a file."""
    data = bytearray(GOOD)
    for at, value in flips:
        data[at] = value
    for finding in verdict(bytes(data)):
        assert finding.rule.startswith("readback/")


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.binary(min_size=1, max_size=400), st.integers(0, 3))
def test_random_drawing_never_ends_in_a_traceback(content: bytes, kind: int) -> None:
    """Random bytes as the content of a page: as they are, and in plausible operators."""
    import pikepdf

    wrapped = [content, b"BT /F1 12 Tf " + content + b" ET", b"q " + content + b" Q", zlib.compress(content)][kind]
    with pikepdf.open(io.BytesIO(GOOD)) as pdf:
        pdf.pages[0].Contents = pdf.make_stream(wrapped)
        out = io.BytesIO()
        pdf.save(out)
    assert all(f.rule.startswith("readback/") for f in verdict(out.getvalue()))


def test_read_says_why_it_gives_up() -> None:
    """The same words as the finding, for callers that only read."""
    with pytest.raises(Unreadable) as caught:
        read(b"nothing")
    assert caught.value.rule == "readback/unreadable" and caught.value.hint


def test_many_findings_of_one_rule_are_counted_not_repeated() -> None:
    """A sheet that is wrong all over is not a wall of text."""
    from damages import all_marks

    def pale(leaves) -> None:
        for _, m in all_marks(leaves):
            m.colour = (0.8, 0.8, 0.8)

    found = [
        f for f in examine(faithful("script", pale), make_edition(), "script", "x.pdf") if f.rule == "readback/faint"
    ]
    assert len(found) == 26 and "more of the same" in found[-1].message
