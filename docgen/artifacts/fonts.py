"""Turn the words of a document into embedded fonts and the operands that show them.

Each shaping cluster becomes one glyph of an embedded TrueType font, so that every glyph stands for exactly the
characters it shows, in any script, and text comes out of the file as it went in. A cluster that looks as its character
does when it stands alone has that character's code point as its code, in every document: words of such clusters are
turned into operands once a process. Any other cluster gets a code from the private use area, in order of appearance.

ISO 32000-1, 9.7 (composite fonts), 9.10.3 (ToUnicode); OpenType 1.9, `glyf`, `loca`, `head`, `hhea`, `hmtx`, `maxp`.
"""

from __future__ import annotations

import hashlib
import struct
from collections.abc import Iterable
from functools import lru_cache
from itertools import chain
from typing import Any, NamedTuple, Protocol

from docgen.artifacts.objects import Objects, name, number, ref
from docgen.model.sheet import Cluster, Word


class Face(Protocol):
    """What the writer needs of a face; measures in thousandths of an em, outlines in units of `upem`.

    Faces are told apart by identity: what is drawn once is kept for the process.
    """

    def __hash__(self) -> int: ...

    name: str
    upem: int
    ascent: float
    descent: float
    cap_height: float
    data: bytes
    index: int
    variations: dict[str, float]

    def lone(self, character: str) -> Cluster:
        """The cluster that a character makes when it stands alone."""

    def draw(self, glyph: int, pen: Any) -> None:
        """Draw its outline."""


class Faces(Protocol):
    """What the writer needs of the fonts at hand."""

    def face(self, name: str) -> Face:
        """A face by the name that a word carries."""

    def primary(self, script: str, language: str, bold: bool = False) -> Face:
        """The face a script starts with."""


class Outline(NamedTuple):
    """A finished glyph description."""

    data: bytes
    box: tuple[int, int, int, int]
    points: int
    contours: int


_EMPTY = Outline(b"", (0, 0, 0, 0), 0, 0)


class _Pen:
    """Collects contours as points (x, y, on the curve); cubic curves become quadratic ones."""

    def __init__(self, upem: int) -> None:
        self.contours: list[list[tuple[int, int, bool]]] = []
        self.dx = self.dy = 0
        self._error = upem / 1000
        self._at = (0.0, 0.0)

    def _add(self, point: tuple[float, float], on: bool) -> None:
        self.contours[-1].append((round(point[0]) + self.dx, round(point[1]) + self.dy, on))

    def moveTo(self, point: tuple[float, float]) -> None:
        self.contours.append([])
        self.lineTo(point)

    def lineTo(self, point: tuple[float, float]) -> None:
        self._add(point, True)
        self._at = point

    def qCurveTo(self, *points: tuple[float, float]) -> None:
        for point in points[:-1]:
            self._add(point, False)
        self.lineTo(points[-1])

    def curveTo(self, *points: tuple[float, float]) -> None:
        from fontTools.cu2qu import curve_to_quadratic

        self.qCurveTo(*curve_to_quadratic((self._at, *points), self._error)[1:])

    def closePath(self) -> None:
        pass

    endPath = closePath


@lru_cache(maxsize=16384)
def _outline(face: Face, glyphs: tuple[tuple[int, float, float], ...]) -> Outline:
    """Glyphs at their offsets as one simple glyph description, kept for the process."""
    pen = _Pen(face.upem)
    for glyph, dx, dy in glyphs:
        pen.dx, pen.dy = round(dx * face.upem / 1000), round(dy * face.upem / 1000)
        face.draw(glyph, pen)
    contours = [c for contour in pen.contours if len(c := _trimmed(contour)) > 2]
    if not contours:
        return _EMPTY
    ends: list[int] = []
    flags, xs, ys = bytearray(), bytearray(), bytearray()
    at_x = at_y = 0
    for contour in contours:
        for x, y, on in contour:
            flag = int(on)
            flag |= _delta(xs, x - at_x, 0x02, 0x10) | _delta(ys, y - at_y, 0x04, 0x20)
            flags.append(flag)
            at_x, at_y = x, y
        ends.append(len(flags) - 1)
    if face.variations:
        flags[0] |= 0x40  # variable outlines may overlap
    points = list(chain.from_iterable(contours))
    box = (min(p[0] for p in points), min(p[1] for p in points), max(p[0] for p in points), max(p[1] for p in points))
    head = struct.pack(f">h4h{len(ends)}HH", len(ends), *box, *ends, 0)
    data = head + bytes(flags) + bytes(xs) + bytes(ys)
    return Outline(data + b"\0" * (-len(data) % 4), box, len(flags), len(ends))


def _trimmed(contour: list[tuple[int, int, bool]]) -> list[tuple[int, int, bool]]:
    """A contour without its repeated end and without points that lie midway between two control points."""
    if len(contour) > 1 and contour[0] == contour[-1]:
        contour = contour[:-1]
    kept = []
    for i, point in enumerate(contour):
        x, y, on = point
        (ax, ay, before), (bx, by, after) = contour[i - 1], contour[(i + 1) % len(contour)]
        if not (on and not before and not after and 2 * x == ax + bx and 2 * y == ay + by):
            kept.append(point)
    return kept


def _delta(into: bytearray, delta: int, short: int, same: int) -> int:
    """Append one coordinate's step; returns its flag bits."""
    if delta == 0:
        return same
    if -256 < delta < 256:
        into.append(abs(delta))
        return short | (same if delta > 0 else 0)
    into += struct.pack(">h", delta)
    return 0


def _is_own(face: Face, cluster: Cluster) -> bool:
    """Whether a cluster is drawn as its only character is drawn when it stands alone; it may be closer to the next."""
    text = cluster.text
    if len(text) != 1 or "\ud800" <= text <= "\uf8ff" or text > "\uffff":
        return False
    return cluster.glyphs == face.lone(text).glyphs and cluster.glyphs[0][0] > 0


@lru_cache(maxsize=16384)
def _fixed(face: Face, word: Word) -> tuple[str, frozenset[str]]:
    """The operand of a word whose codes are the same in every document, and its characters; kept for the process.

    The operand is empty when the word holds any other cluster.
    """
    if not all(_is_own(face, cluster) for cluster in word.clusters):
        return "", frozenset()
    codes = [(ord(c.text), face.lone(c.text).advance - c.advance) for c in word.clusters]
    return _joined(codes), frozenset(c.text for c in word.clusters)


def _joined(codes: Iterable[tuple[int, float]]) -> str:
    """Codes and the thousandths of an em to take back after each, as elements of a TJ array (a string of bytes)."""
    out = ["("]
    for code, back in codes:
        out.append(_BYTES[code >> 8] + _BYTES[code & 255])
        if abs(back) >= 0.05:
            out.append(f"){round(back, 1):g}(")
    out.append(")")
    return "".join(out)


_BYTES = [{"(": "\\(", ")": "\\)", "\\": "\\\\", "\r": "\\r"}.get(chr(b), chr(b)) for b in range(256)]
"""Bytes as they stand in a literal string (7.3.4.2)."""


class Subset:
    """The glyphs of one face that a document uses."""

    def __init__(self, face: Face, resource: str) -> None:
        self.face = face
        self.resource = resource
        """The name under which pages refer to the font."""
        self.own: set[str] = set()
        self.composed: dict[tuple, tuple[int, Outline, str, float]] = {}
        self._known: dict[Word, str] = {}
        self._codes = chain(range(0xE000, 0xF900), range(0xD800, 0xE000))

    def operand(self, words: tuple[Word, ...]) -> str:
        """The elements of the TJ array that show some words."""
        known = self._known
        parts = [known.get(word) or self._word(word) for word in words]
        return "".join(parts).replace(")(", "")  # within a string both are escaped

    def _word(self, word: Word) -> str:
        fixed, characters = _fixed(self.face, word)
        if fixed:
            self.own |= characters
            self._known[word] = fixed
            return fixed
        codes: list[tuple[int, float]] = []
        for cluster in word.clusters:
            glyphs, text, advance = cluster
            if _is_own(self.face, cluster):
                self.own.add(text)
                codes.append((ord(text), self.face.lone(text).advance - advance))
            elif word.rtl and len(text) > 1:
                # readers turn right-to-left text character by character: one code each, in visual order
                codes.append((self._code(glyphs, text[-1], advance), 0.0))
                codes += [(self._code((), character, 0.0), 0.0) for character in text[-2::-1]]
            else:
                codes.append((self._code(glyphs, text, advance), 0.0))
        found = self._known[word] = _joined(codes)
        return found

    def _code(self, glyphs: tuple[tuple[int, float, float], ...], text: str, advance: float) -> int:
        key = (glyphs, text, advance)
        found = self.composed.get(key)
        if found is None:
            outline = _outline(self.face, glyphs) if glyphs else _EMPTY
            found = self.composed[key] = (next(self._codes), outline, text, advance)
        return found[0]

    def write(self, objects: Objects) -> int:
        """Write the font; returns its object's number."""
        face = self.face
        glyphs: list[tuple[int, Outline, str, float]] = []
        for character in sorted(self.own):
            lone = face.lone(character)
            glyphs.append((ord(character), _outline(face, lone.glyphs), character, lone.advance))
        glyphs += sorted(self.composed.values(), key=lambda g: g[0])
        notdef = _outline(face, ((0, 0.0, 0.0),))
        program = _program(face, [(notdef, 500.0), *((g[1], g[3]) for g in glyphs)])
        places = bytearray(2 * (max((g[0] for g in glyphs), default=0) + 1))
        for i, (code, *_) in enumerate(glyphs, 1):
            struct.pack_into(">H", places, 2 * code, i)
        digest = int.from_bytes(hashlib.md5(program + bytes(places), usedforsecurity=False).digest()[:8])
        tag = "".join(chr(65 + digest // 26**i % 26) for i in range(6))
        base = name(f"{tag}+{face.name}")
        file = objects.stream(b"/Length1 %d" % len(program), program)
        box = _box(g[1] for g in glyphs)
        scale = 1000 / face.upem
        descriptor = objects.add(
            b"<</Type/FontDescriptor/FontName%b/Flags 4/FontBBox[%b]/ItalicAngle 0/Ascent %b/Descent %b/CapHeight %b"
            b"/StemV %d/FontFile2 %b>>"
            % (
                base,
                " ".join(number(v * scale) for v in box).encode(),
                number(face.ascent).encode(),
                number(-face.descent).encode(),
                number(face.cap_height).encode(),
                140 if face.name.endswith("-Bold") else 80,
                ref(file),
            )
        )
        descendant = objects.add(
            b"<</Type/Font/Subtype/CIDFontType2/BaseFont%b/CIDSystemInfo<</Registry(Adobe)/Ordering(Identity)"
            b"/Supplement 0>>/FontDescriptor %b/DW 0/W[%b]/CIDToGIDMap %b>>"
            % (base, ref(descriptor), _widths(glyphs), ref(objects.stream(b"", bytes(places))))
        )
        unicode = objects.stream(b"", _to_unicode(self.own, list(self.composed.values())))
        return objects.add(
            b"<</Type/Font/Subtype/Type0/BaseFont%b/Encoding/Identity-H/DescendantFonts[%b]/ToUnicode %b>>"
            % (base, ref(descendant), ref(unicode))
        )


def _box(outlines: Iterable[Outline]) -> tuple[int, int, int, int]:
    boxes = [o.box for o in outlines if o.points] or [(0, 0, 0, 0)]
    return min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)


def _widths(glyphs: list[tuple[int, Outline, str, float]]) -> bytes:
    """The W array: runs of neighbouring codes."""
    parts: list[str] = []
    last = -2
    for code, _, _, advance in glyphs:
        if code != last + 1:
            parts.append(f"{']' if parts else ''}{code}[")
        parts.append(f"{round(advance, 2):g} ")
        last = code
    return ("".join(parts) + "]").encode() if parts else b""


def _to_unicode(own: set[str], composed: list[tuple[int, Outline, str, float]]) -> bytes:
    """What each code says: code points are themselves, 256 at a time; other codes one by one."""
    lines = [
        "/CIDInit /ProcSet findresource begin 12 dict begin begincmap",
        "/CIDSystemInfo<</Registry(Adobe)/Ordering(UCS)/Supplement 0>>def",
        "/CMapName/Adobe-Identity-UCS def /CMapType 2 def",
        "1 begincodespacerange <0000><FFFF> endcodespacerange",
    ]
    pages = sorted({ord(c) >> 8 for c in own})
    for first in range(0, len(pages), 100):
        some = pages[first : first + 100]
        lines += [f"{len(some)} beginbfrange", *(f"<{p:02X}00><{p:02X}FF><{p:02X}00>" for p in some), "endbfrange"]
    for first in range(0, len(composed), 100):
        part = composed[first : first + 100]
        lines.append(f"{len(part)} beginbfchar")
        lines += [f"<{code:04X}><{text.encode('utf-16-be').hex().upper()}>" for code, _, text, _ in part]
        lines.append("endbfchar")
    lines.append("endcmap CMapName currentdict /CMap defineresource pop end end")
    return "\n".join(lines).encode("ascii")


def _program(face: Face, glyphs: list[tuple[Outline, float]]) -> bytes:
    """A TrueType font file of these glyphs and their advances in thousandths of an em."""
    offsets = [0]
    for outline, _ in glyphs:
        offsets.append(offsets[-1] + len(outline.data))
    box = _box(outline for outline, _ in glyphs)
    advances = [round(advance * face.upem / 1000) for _, advance in glyphs]
    ascent, descent = round(face.ascent * face.upem / 1000), round(-face.descent * face.upem / 1000)
    count = len(glyphs)
    tables = {
        b"glyf": b"".join(outline.data for outline, _ in glyphs) or b"\0\0\0\0",
        b"head": struct.pack(">4I2H2q4h2H3h", 0x10000, 0x10000, 0, 0x5F0F3CF5, 3, face.upem, 0, 0, *box, 0, 8, 2, 1, 0),
        b"hhea": struct.pack(
            ">I3hH3h8hH", 0x10000, ascent, descent, 0, max(advances), box[0], 0, box[2], 1, *[0] * 7, count
        ),
        b"hmtx": b"".join(struct.pack(">Hh", a, o.box[0]) for a, (o, _) in zip(advances, glyphs, strict=True)),
        b"loca": struct.pack(f">{count + 1}I", *offsets),
        b"maxp": struct.pack(
            ">I14H",
            0x10000,
            count,
            max(o.points for o, _ in glyphs),
            max(o.contours for o, _ in glyphs),
            *(0, 0, 2),
            *[0] * 8,
        ),
    }
    directory = struct.pack(">I4H", 0x10000, len(tables), 64, 2, 32)
    at = len(directory) + 16 * len(tables)
    body = b""
    for tag, data in tables.items():
        directory += tag + struct.pack(">3I", _checksum(data), at + len(body), len(data))
        body += data + b"\0" * (-len(data) % 4)
    whole = bytearray(directory + body)
    head = whole.index(b"head") + 8
    adjust = struct.unpack_from(">I", whole, head)[0] + 8
    struct.pack_into(">I", whole, adjust, (0xB1B0AFBA - _checksum(bytes(whole))) & 0xFFFFFFFF)
    return bytes(whole)


def _checksum(data: bytes) -> int:
    data += b"\0" * (-len(data) % 4)
    return sum(struct.unpack(f">{len(data) // 4}I", data)) & 0xFFFFFFFF


class Fonts:
    """The fonts of one document."""

    def __init__(self, faces: Faces) -> None:
        self._faces = faces
        self._subsets: dict[str, Subset] = {}

    def __getitem__(self, face: str) -> Subset:
        """The glyphs used of a face, by the name that words carry."""
        if face not in self._subsets:
            self._subsets[face] = Subset(self._faces.face(face), f"F{len(self._subsets) + 1}")
        return self._subsets[face]

    def write(self, objects: Objects) -> bytes:
        """Write every font; returns the entries of the font resource dictionary."""
        return b"".join(b"/%b %b" % (s.resource.encode(), ref(s.write(objects))) for s in self._subsets.values())
