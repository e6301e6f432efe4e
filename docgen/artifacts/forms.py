"""Turn fields into form fields that look the same on paper and on a screen (ISO 32000-1, 12.7).

Every state of every field has its appearance in the file, drawn by us, so that no reader has to make one up; typed
words use an embedded font. A dot in a field's name makes a hierarchy: `step-7.result` is `result` within `step-7`.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from docgen.artifacts.fonts import Face, Faces
from docgen.artifacts.objects import Objects, name, number, ref, string
from docgen.model.sheet import Field

_EDGE = 0.8
"""Width of a field's outline, points: thin, and still there on a photocopy (common practice, no source)."""
_RADIO, _MULTILINE, _PRINT = 1 << 15, 1 << 12, 4
_CODES = {b: c for b in range(32, 256) if (c := bytes([b]).decode("cp1252", "ignore"))}

Rect = tuple[float, float, float, float]


class Form:
    """Collects the fields of a document."""

    def __init__(self, objects: Objects, faces: Faces, rtl: bool) -> None:
        self._objects = objects
        self._face = faces.primary("Latn", "en")  # in every language: fonts for Chinese have no TrueType outlines
        self._quadding = 2 if rtl else 0
        self._looks: dict[tuple, int] = {}
        self._fields: dict[str, list[tuple[Field, int, bytes]]] = {}

    def __bool__(self) -> bool:
        return bool(self._fields)

    def add(self, field: Field, widget: int, rect: Rect, page: int, key: int) -> None:
        """Note one field, whose widget is the reserved object `widget`; `key` is its StructParent, -1 for none.

        ValueError when fields share a name without being buttons of one group with a value each.
        """
        others = self._fields.setdefault(field.name, [])
        if any(o.kind != "choice" or field.kind != "choice" or o.value == field.value for o, *_ in others):
            raise ValueError(f"two form fields are named `{field.name}`")
        width, height = rect[2] - rect[0], rect[3] - rect[1]
        look = {"tick": self._tick, "choice": self._choice, "text": self._text}[field.kind](field, width, height)
        box = " ".join(number(v) for v in rect).encode()
        body = b"/Type/Annot/Subtype/Widget/Rect[%b]/F %d/P %b/TU%b%b" % (
            box, _PRINT, ref(page), string(field.label or field.name), look
        )  # fmt: skip
        others.append((field, widget, body + (b"/StructParent %d" % key if key >= 0 else b"")))

    def write(self) -> int:
        """Write the fields and their hierarchy; returns the form's dictionary."""
        tree: dict[str, Any] = {}
        for full, members in self._fields.items():
            *path, last = full.split(".")
            node = tree
            for part in path:
                node = node.setdefault(part, {})
            if not isinstance(node, dict) or last in node:
                raise ValueError(f"the form field `{full}` is both a field and a group of fields")
            node[last] = members
        fields = self._branch(tree, b"")
        body = b"/Fields[%b]" % b" ".join(ref(f) for f in fields)
        if any(field.kind == "text" for members in self._fields.values() for field, *_ in members):
            body += b"/DR<</Font<</Text %b>>>>/DA(/Text 0 Tf 0 g)" % ref(_font(self._objects, self._face))
        return self._objects.add(b"<<%b>>" % body)

    def _branch(self, tree: dict[str, Any], parent: bytes) -> list[int]:
        put = self._objects.put
        found = []
        for part, node in tree.items():
            title = b"/T" + string(part) + parent
            if isinstance(node, dict):
                group = self._objects.reserve()
                kids = b" ".join(ref(k) for k in self._branch(node, b"/Parent " + ref(group)))
                put(group, b"<<%b/Kids[%b]>>" % (title, kids))
            elif node[0][0].kind == "choice":
                group = self._objects.reserve()
                for _, widget, body in node:
                    put(widget, b"<<%b/Parent %b>>" % (body, ref(group)))
                kids = b" ".join(ref(widget) for _, widget, _ in node)
                label = string(_common([field.label for field, *_ in node]) or part)
                put(group, b"<</FT/Btn/Ff %d/V/Off%b/TU%b/Kids[%b]>>" % (_RADIO, title, label, kids))
            else:
                _, group, body = node[0]
                put(group, b"<<%b%b>>" % (body, title))
            found.append(group)
        return found

    def _look(self, width: float, height: float, drawing: bytes) -> bytes:
        """A reference to an appearance, shared by all fields that look so."""
        key = (number(width), number(height), drawing)
        if key not in self._looks:
            box = b"/Type/XObject/Subtype/Form/BBox[0 0 %b %b]/Resources<<>>" % (key[0].encode(), key[1].encode())
            self._looks[key] = self._objects.stream(box, drawing)
        return ref(self._looks[key])

    def _tick(self, field: Field, width: float, height: float) -> bytes:
        on, off = _square(width, height) + _mark(width, height), _square(width, height)
        looks = b"/Yes %b/Off %b" % (self._look(width, height, on), self._look(width, height, off))
        return b"/FT/Btn/V/Off/AS/Off/AP<</N<<%b>>>>" % looks

    def _choice(self, field: Field, width: float, height: float) -> bytes:
        on = _round(width, height, 0.5, b"S") + _round(width, height, 0.28, b"f")
        looks = (
            name(field.value),
            self._look(width, height, on),
            self._look(width, height, _round(width, height, 0.5, b"S")),
        )
        return b"/AS/Off/AP<</N<<%b %b/Off %b>>>>" % looks

    def _text(self, field: Field, width: float, height: float) -> bytes:
        size = 10.0 if field.multiline else max(4.0, min(12.0, height * 0.6))
        flags = _MULTILINE if field.multiline else 0
        edge = b"/MK<</BC[0]>>/BS<</W %b/S/S>>" % number(_EDGE).encode()
        look = self._look(width, height, _square(width, height) + b"/Tx BMC EMC\n")
        return b"/FT/Tx/Ff %d/V()/Q %d/DA(/Text %b Tf 0 g)%b/AP<</N %b>>" % (
            flags, self._quadding, number(size).encode(), edge, look
        )  # fmt: skip


def _common(labels: list[str]) -> str:
    """What the labels of a group begin with, up to a whole word."""
    first, last = min(labels), max(labels)
    same = next((i for i, (a, b) in enumerate(zip(first, last, strict=False)) if a != b), min(len(first), len(last)))
    cut = first[:same] if same == len(first) else first[:same].rpartition(" ")[0]
    return cut.rstrip(" :;,–—-·")


def _square(width: float, height: float) -> bytes:
    inset = " ".join(map(number, (_EDGE / 2, _EDGE / 2, width - _EDGE, height - _EDGE)))
    return f"1 g 0 G {number(_EDGE)} w {inset} re B\n".encode()


def _mark(width: float, height: float) -> bytes:
    """A tick, heavy enough to be seen in a small box."""
    points = [(0.2, 0.52), (0.42, 0.25), (0.82, 0.78)]
    path = " ".join(f"{number(x * width)} {number(y * height)} {op}" for (x, y), op in zip(points, "mll", strict=True))
    return f"0 G {number(max(1.0, min(width, height) * 0.13))} w 1 J 1 j {path} S\n".encode()


def _round(width: float, height: float, radius: float, paint: bytes) -> bytes:
    """A circle around the middle, of `radius` times the shorter side less its outline."""
    r = (min(width, height) - _EDGE) * radius
    k = r * 0.5522847
    x, y = width / 2, height / 2
    curves = (
        (x + r, y + k, x + k, y + r, x, y + r),
        (x - k, y + r, x - r, y + k, x - r, y),
        (x - r, y - k, x - k, y - r, x, y - r),
        (x + k, y - r, x + r, y - k, x + r, y),
    )
    path = f"{number(x + r)} {number(y)} m " + " ".join(" ".join(map(number, c)) + " c" for c in curves)
    return f"0 G 0 g {number(_EDGE)} w {path} ".encode() + paint + b"\n"


@lru_cache(maxsize=8)
def _program(face: Face) -> bytes:
    """The face's Western European letters as a font file of their own, kept for the process."""
    import uharfbuzz as hb

    wanted = hb.SubsetInput()
    wanted.sets(hb.SubsetInputSets.UNICODE).update(map(ord, _CODES.values()))
    wanted.sets(hb.SubsetInputSets.DROP_TABLE_TAG).update(
        int.from_bytes(t) for t in (b"GSUB", b"GPOS", b"GDEF", b"STAT")
    )
    whole = hb.Face(hb.Blob(face.data), face.index)
    for axis in whole.axis_infos:
        wanted.pin_axis_location(whole, axis.tag, face.variations.get(axis.tag, axis.default_value))
    return bytes(hb.subset(whole, wanted).blob.data)


def _font(objects: Objects, face: Face) -> int:
    """The font for typed words: simple, with the Windows Latin 1 encoding, embedded."""
    program = _program(face)
    base = name(f"FIELDS+{face.name}")
    file = objects.stream(b"/Length1 %d" % len(program), program)
    descriptor = objects.add(
        b"<</Type/FontDescriptor/FontName%b/Flags 32/FontBBox[-1000 %b 2000 %b]/ItalicAngle 0/Ascent %b/Descent %b"
        b"/CapHeight %b/StemV 80/FontFile2 %b>>"
        % (
            base,
            *(number(v).encode() for v in (-face.descent, face.ascent, face.ascent, -face.descent, face.cap_height)),
            ref(file),
        )
    )
    widths = " ".join(number(face.lone(_CODES.get(b, " ")).advance) for b in range(32, 256))
    return objects.add(
        b"<</Type/Font/Subtype/TrueType/BaseFont%b/Encoding/WinAnsiEncoding/FirstChar 32/LastChar 255/Widths[%b]"
        b"/FontDescriptor %b>>" % (base, widths.encode(), ref(descriptor))
    )
