"""Turn numbered objects into the bytes of a PDF file.

ReportLab's PDF library writes the strings, the names and the file; object streams (ISO 32000-1, 7.5.7) and the
cross-reference stream (7.5.8), which it lacks, are made here, for they make the structure of a tagged file small.
Nothing depends on a clock, an environment or a setting, so the same objects give the same
bytes; the file identifier is a digest of them.
"""

from __future__ import annotations

import hashlib
import zlib
from functools import lru_cache

from reportlab.pdfbase.pdfdoc import DummyDoc, PDFFile, PDFName, PDFString

_PLAIN = DummyDoc()
EFFORT = 4
"""Of deflating: twice as fast as the usual 6, for files a twentieth larger (measured)."""
_PER_STREAM = 400
"""Objects in one object stream; readers unpack a whole stream to see one object."""


def number(value: float) -> str:
    """A number in at most two decimals: a hundredth of a point is four micrometres."""
    return f"{round(value, 2) + 0.0:g}" if -99999 < value < 99999 else f"{value:.2f}"


@lru_cache(maxsize=16384)
def string(text: str) -> bytes:
    """A text string (7.9.2.2): plain characters as they are, anything else in UTF-16."""
    return PDFString(text).format(_PLAIN)


@lru_cache(maxsize=4096)
def name(text: str) -> bytes:
    """A name (7.3.5), in UTF-8."""
    return PDFName(text.encode().decode("latin-1").replace("/", "#2f")).replace("#232f", "#2f").encode("ascii")


def ref(object_number: int) -> bytes:
    """A reference to an object."""
    return b"%d 0 R" % object_number


class Objects:
    """Collects objects; numbers are given in order, so that they can be referred to before they are written."""

    def __init__(self) -> None:
        self._bodies: list[bytes] = [b""]
        self._streams: set[int] = set()

    def reserve(self) -> int:
        """The number of an object that follows later."""
        self._bodies.append(b"")
        return len(self._bodies) - 1

    def put(self, object_number: int, body: bytes) -> None:
        """Write a reserved object."""
        self._bodies[object_number] = body

    def add(self, body: bytes) -> int:
        """Write an object; returns its number."""
        self._bodies.append(body)
        return len(self._bodies) - 1

    def stream(self, entries: bytes, data: bytes, *, packed: bool = True) -> int:
        """Write a stream with the entries of its dictionary, deflated unless `packed` is off; returns its number."""
        body = zlib.compress(data, EFFORT) if packed else data
        filtered = b"/Filter/FlateDecode" if packed else b""
        found = self.add(b"<<%b%b/Length %d>>stream\n%b\nendstream" % (entries, filtered, len(body), body))
        self._streams.add(found)
        return found

    def finish(self, root: int, info: int) -> bytes:
        """The file. `root` is the catalogue, `info` the information dictionary."""
        plain = [n for n in range(1, len(self._bodies)) if n not in self._streams]
        rows: list[tuple[int, int, int]] = [(0, 0, 65535)] + [(0, 0, 0)] * (len(self._bodies) - 1)
        for first in range(0, len(plain), _PER_STREAM):
            members = plain[first : first + _PER_STREAM]
            offsets: list[int] = []
            length = 0
            for n in members:
                offsets.append(length)
                length += len(self._bodies[n]) + 1
            head = " ".join(f"{n} {offset}" for n, offset in zip(members, offsets, strict=True)).encode("ascii")
            entries = b"/Type/ObjStm/N %d/First %d" % (len(members), len(head) + 1)
            holder = self.stream(entries, b"\n".join((head, *(self._bodies[n] for n in members))))
            rows.append((0, 0, 0))
            for index, n in enumerate(members):
                rows[n] = (2, holder, index)
        file = PDFFile((1, 7))
        for n in sorted(self._streams):
            rows[n] = (1, file.add(b"%d 0 obj\n%b\nendobj\n" % (n, self._bodies[n])), 0)
        rows.append((1, file.offset, 0))
        digest = hashlib.md5(file.format(_PLAIN), usedforsecurity=False).hexdigest().encode("ascii")
        table = b"".join(kind.to_bytes(1) + at.to_bytes(4) + more.to_bytes(2) for kind, at, more in rows)
        packed = zlib.compress(table, EFFORT)
        file.add(
            b"%d 0 obj\n<</Type/XRef/Size %d/W[1 4 2]/Root %b/Info %b/ID[<%b><%b>]/Filter/FlateDecode/Length %d>>"
            b"stream\n%b\nendstream\nendobj\nstartxref\n%d\n%%%%EOF\n"
            % (len(rows) - 1, len(rows), ref(root), ref(info), digest, digest, len(packed), packed, rows[-1][1])
        )
        return file.format(_PLAIN)
