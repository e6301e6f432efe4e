"""Files of strangers: each ends in a finding or a verdict, in bounded time, and never in a traceback."""

from __future__ import annotations

import io
import os
import signal
import struct
import time
import zlib
from pathlib import Path

import pikepdf
import pytest
from hospital import Hospital, known
from PIL import Image

from docgen.apart import Stopped, apart
from docgen.build.identifying import identified
from docgen.build.outcome import Exit


@pytest.fixture(scope="session")
def home(tmp_path_factory, worker_id):
    """A folder with releases."""
    return known(tmp_path_factory, worker_id)


def png(wide: int, tall: int, data: bytes) -> bytes:
    """A PNG (ISO/IEC 15948) that claims a size."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", wide, tall, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(data)) + chunk(b"IEND", b"")


def locked() -> bytes:
    out = io.BytesIO()
    pdf = pikepdf.new()
    pdf.add_blank_page()
    pdf.save(out, encryption=pikepdf.Encryption(owner="a", user="b"))
    return out.getvalue()


def drawing_itself() -> bytes:
    """Forms that draw each other, twelve to the power of eight times."""
    pdf, inner = pikepdf.new(), None
    for _ in range(9):
        form = pdf.make_stream(b"/X Do " * 12 if inner is not None else b"0 0 10 10 re f ")
        form.Type, form.Subtype, form.BBox = pikepdf.Name.XObject, pikepdf.Name.Form, [0, 0, 100, 100]
        below = pikepdf.Dictionary() if inner is None else pikepdf.Dictionary(XObject=pikepdf.Dictionary(X=inner))
        form.Resources = below
        inner = pdf.make_indirect(form)
    page = pdf.add_blank_page(page_size=(300, 300))
    page.Resources, page.Contents = below, pdf.make_stream(b"/X Do")
    out = io.BytesIO()
    pdf.save(out)
    return out.getvalue()


def whole_png() -> bytes:
    out = io.BytesIO()
    Image.effect_noise((300, 300), 80).save(out, "PNG")
    return out.getvalue()


FILES = {
    "a picture that claims to be huge": (png(60_000, 60_000, b""), "recognise/too-large"),
    "a picture of a few pixels": (png(8, 8, b"\0" * 72), "recognise/too-small"),
    "a picture cut short": (whole_png()[:2000], "recognise/unreadable"),
    "a picture of garbage": (b"\xff\xd8\xff\xe0" + bytes(range(256)) * 40, "recognise/unreadable"),
    "a TIFF of garbage": (b"II*\0" + b"\xff" * 4000, "recognise/unreadable"),
    "a GIF": (b"GIF89a" + bytes(50), "recognise/not-a-picture"),
    "a telephone's own format": (b"\0\0\0\x18ftypheic" + bytes(50), "recognise/not-a-picture"),
    "nothing": (b"", "recognise/not-a-picture"),
    "a page of HTML": (b"<!DOCTYPE html><p>x", "recognise/not-a-picture"),
    "a PDF of garbage": (b"%PDF-1.7\n" + bytes(range(256)) * 20, "recognise/unreadable"),
    "a locked PDF": (locked(), "recognise/unreadable"),
}


@pytest.mark.parametrize("kind", FILES)
def test_what_cannot_be_used_is_said(home, tmp_path, kind):
    """Which rule, what to do, exit status 2."""
    data, rule = FILES[kind]
    file = tmp_path / "found"
    file.write_bytes(data)
    done = identified(Hospital.project_at(home, "2026-04-01"), (file,))
    (finding,) = done.files[0].findings
    assert finding.rule == rule and finding.hint and finding.where.file == str(file)
    assert done.status == Exit.UNUSABLE


def test_a_file_that_never_ends_is_given_up(home, tmp_path, monkeypatch):
    """pdfium can't be interrupted, its process can."""
    monkeypatch.setattr("docgen.apart.SECONDS", 4)
    file = tmp_path / "found.pdf"
    file.write_bytes(drawing_itself())
    start = time.monotonic()
    done = identified(Hospital.project_at(home, "2026-04-01"), (file,))
    assert time.monotonic() - start < 30
    assert [f.rule for f in done.files[0].findings] == ["recognise/given-up"]
    assert done.status == Exit.UNUSABLE


def test_a_missing_file_and_a_folder(home, tmp_path):
    """Neither stops the others."""
    done = identified(Hospital.project_at(home, "2026-04-01"), (tmp_path / "none.png", tmp_path))
    assert [f.findings[0].rule for f in done.files] == ["project/unreadable", "project/not-a-file"]


# --- the process apart -------------------------------------------------------------------------------------------


def _sleep() -> str:
    time.sleep(60)
    return ""


def _spin() -> str:
    while True:
        pass


def _grow() -> str:
    return str(len(bytearray(2**32)))


def _write(path: Path) -> str:
    path.write_bytes(b"x")
    return "written"


def _open_many() -> str:
    return str(len([os.open(os.devnull, os.O_RDONLY) for _ in range(500)]))


def _crash() -> str:  # type: ignore[return]
    os.kill(os.getpid(), signal.SIGKILL)  # a segmentation fault would print a trace


@pytest.mark.parametrize("work", [_sleep, _spin, _grow, _open_many, _crash])
def test_the_limits_hold(work):
    """Time on the clock, time of the processor, memory, open files, a crash."""
    start = time.monotonic()
    with pytest.raises(Stopped):
        apart(work, seconds=2)
    assert time.monotonic() - start < 20


def test_nothing_is_written_there(tmp_path):
    """A file can be made, and nothing can be put into it."""
    with pytest.raises(Stopped):
        apart(_write, tmp_path / "x", seconds=5)
    assert not (tmp_path / "x").exists() or (tmp_path / "x").read_bytes() == b""


def test_an_answer_comes_back():
    """The limits let ordinary work through."""
    assert apart(str.upper, "found", seconds=20) == "FOUND"
