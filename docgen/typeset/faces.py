"""Turn font bytes into faces that know what they cover, how tall they are, and how to shape a word.

All measures are in thousandths of an em, so that nothing here depends on a type size. HarfBuzz does the shaping
(https://harfbuzz.github.io); variable fonts are set to their weight directly and never instanced.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from docgen.findings import Finding, Where, error
from docgen.model.sheet import Cluster, Word
from docgen.typeset.scripts import script_of_language, writing

Source = Callable[[], "bytes | tuple[bytes, int]"]
"""Fetches a font's bytes when it is first needed; with a face index for a collection."""

FAMILIES: Mapping[str, tuple[str, ...]] = {
    "Arab": ("IBMPlexSansArabic", "NotoSansArabic"),
    "Deva": ("NotoSansDevanagari",),
    "Thai": ("NotoSansThai",),
    "Khmr": ("NotoSansKhmer",),
    "Hans": ("NotoSansSC", "NotoSansCJKsc"),
    "Hant": ("NotoSansTC", "NotoSansCJKtc"),
    "Jpan": ("NotoSansJP", "NotoSansCJKjp"),
    "Kore": ("NotoSansKR", "NotoSansCJKkr"),
}
"""First choices for a script (ISO 15924); every other script starts with those of the language, then Noto Sans."""

_PACKAGES = dict.fromkeys(("Hans", "Hant", "Jpan", "Kore"), "the Debian package `fonts-noto-cjk`")
"""Where a script's font comes from, if not with docgen itself."""

DEFAULT = ("NotoSans",)
TABULAR = ("tnum",)
"""OpenType feature for figures of one width, for step numbers that stand under one another."""

_STAND_INS = {"\u00a0": " ", "\u202f": " ", "\u2011": "\u2010", **{chr(c): " " for c in range(0x2000, 0x200B)}}
"""Characters that HarfBuzz draws with another one's glyph when the font lacks their own."""


@dataclass(frozen=True, slots=True)
class MissingGlyph:
    """A character that no face at hand can draw."""

    character: str
    """One grapheme: a character with its marks."""
    script: str
    """ISO 15924."""
    tried: tuple[str, ...]
    """Names of the faces asked, in order."""

    @property
    def names(self) -> str:
        """Code points and Unicode names: `U+2603 SNOWMAN`."""
        return " + ".join(f"U+{ord(c):04X} {unicodedata.name(c, 'unnamed')}" for c in self.character)

    def finding(self, where: Where = Where(), **more) -> Finding:
        """What to say about it; `more` are further fields of `Finding`."""
        package = _PACKAGES.get(self.script)
        install = f"install {package}, or " if package else ""
        return error(
            "typeset/missing-glyph",
            f"no font at hand can draw `{self.character}` ({self.names}); tried {', '.join(self.tried) or 'none'}",
            where,
            hint=f"{install}use another character",
            **more,
        )


FEW = 3
"""Missing characters of one script that are named one by one; more mean that its font is not there."""


def lacking(glyphs: Iterable[MissingGlyph], **more) -> tuple[Finding, ...]:
    """Findings about missing characters, each said once; a script that lacks its font is one finding."""
    by_script: dict[str, dict[str, MissingGlyph]] = {}
    for glyph in glyphs:
        by_script.setdefault(glyph.script, {}).setdefault(glyph.character, glyph)
    out: list[Finding] = []
    for script, found in by_script.items():
        if len(found) <= FEW:
            out += (glyph.finding(**more) for glyph in found.values())
            continue
        glyph = next(iter(found.values()))
        package = _PACKAGES.get(script)
        message = f"no font at hand can draw {len(found)} characters of script `{script}`, such as"
        hint = f"install {package}" if package else "install a font for this script, or use other characters"
        tried = ", ".join(glyph.tried) or "none"
        out.append(
            error(
                "typeset/missing-glyph",
                f"{message} `{glyph.character}` ({glyph.names}); tried {tried}",
                hint=hint,
                **more,
            )
        )
    return tuple(out)


class Face:
    """One font at one weight."""

    def __init__(self, name: str, data: bytes, index: int, bold: bool) -> None:
        import uharfbuzz as hb

        self.name = name
        self.data = data
        self.index = index
        self._hb = hb
        face = hb.Face(hb.Blob(data), index)
        self._font = hb.Font(face)
        self.variations = {"wght": 700.0 if bold else 400.0} if any(a.tag == "wght" for a in face.axis_infos) else {}
        if self.variations:
            self._font.set_variations(self.variations)
        self.upem: int = face.upem
        self._scale = 1000 / face.upem
        self._covered = frozenset(map(chr, face.unicodes))
        self._words: dict[tuple, Word] = {}
        self._shared: dict[Cluster, Cluster] = {}
        self._lone: dict[str, Cluster] = {}
        self._inks: dict[Word, tuple[float, float]] = {}
        self._extents: dict[int, tuple[float, float]] = {}
        extents = self._font.get_font_extents("ltr")
        self.ascent: float = extents.ascender * self._scale
        """Height of the line above its baseline, em thousandths."""
        self.descent: float = -extents.descender * self._scale
        """Depth of the line below its baseline, em thousandths, positive."""
        tags = hb.OTMetricsTag
        self.x_height: float = (self._font.get_metric_position_with_fallback(tags.X_HEIGHT) or 0) * self._scale
        self.cap_height: float = (self._font.get_metric_position_with_fallback(tags.CAP_HEIGHT) or 0) * self._scale

    def covers(self, text: str) -> bool:
        """Whether every character of a grapheme can be drawn, as written or composed."""
        if self._covered.issuperset(text):
            return True
        return self._has(text) or self._has(unicodedata.normalize("NFC", text))

    def _has(self, text: str) -> bool:
        return all(
            c in self._covered or _STAND_INS.get(c) in self._covered or unicodedata.category(c) == "Cf" for c in text
        )

    def extents(self, glyph: int) -> tuple[float, float]:
        """How far a glyph's ink rises above its baseline, and how far it falls below, em thousandths."""
        found = self._extents.get(glyph)
        if found is None:
            ink = self._font.get_glyph_extents(glyph)
            top = ink.y_bearing * self._scale if ink else 0.0
            found = self._extents[glyph] = (top, (-ink.height * self._scale - top) if ink else 0.0)
        return found

    def ink(self, word: Word) -> tuple[float, float]:
        """How far a word's ink rises above its baseline, and how far it falls below, em thousandths; at least 0."""
        found = self._inks.get(word)
        if found is None:
            rise = fall = 0.0
            for cluster in word.clusters:
                for glyph, _, dy in cluster.glyphs:
                    top, below = self.extents(glyph)
                    rise, fall = max(rise, top + dy), max(fall, below - dy)
            found = self._inks[word] = rise, fall
        return found

    def lone(self, character: str) -> Cluster:
        """The cluster that a character makes when it stands alone, in its own script."""
        cluster = self._lone.get(character)
        if cluster is None:
            buffer = self._hb.Buffer()
            buffer.add_codepoints([ord(character)])
            buffer.guess_segment_properties()
            cluster = self._lone[character] = self._clusters(buffer, character, {})[0]
        return cluster

    def draw(self, glyph: int, pen: Any) -> None:
        """Draw a glyph's outline, in the font's own units (`upem` to the em), with a fontTools pen."""
        self._font.draw_glyph_with_pen(glyph, pen)

    def word(
        self,
        text: str,
        *,
        rtl: bool = False,
        script: str = "Latn",
        language: str = "en",
        features: tuple[str, ...] = (),
        before: str = "",
        after: str = "",
    ) -> Word:
        """Shape one word; `before` and `after` are neighbours that letters may join to without being part of it."""
        key = (text, rtl, script, language, features, before, after)
        word = self._words.get(key)
        if word is None:
            word = self._words[key] = self._shape(*key)
        return word

    def _shape(
        self, text: str, rtl: bool, script: str, language: str, features: tuple[str, ...], before: str, after: str
    ) -> Word:
        buffer = self._hb.Buffer()
        buffer.add_codepoints([*map(ord, before + text + after)], len(before), len(text))
        buffer.direction = "rtl" if rtl else "ltr"
        buffer.script = script
        buffer.language = language
        clusters = self._clusters(buffer, before + text, dict.fromkeys(features, True))
        return Word(self.name, text, round(sum(c.advance for c in clusters), 2), clusters, rtl)

    def _clusters(self, buffer: Any, text: str, features: dict[str, bool]) -> tuple[Cluster, ...]:
        """Shape a buffer that ends where `text` does."""
        self._hb.shape(self._font, buffer, features)
        infos, positions, scale = buffer.glyph_infos, buffer.glyph_positions, self._scale
        following = dict(pairwise((*sorted({info.cluster for info in infos}), len(text))))
        clusters: list[Cluster] = []
        i = 0
        while i < len(infos):
            start = infos[i].cluster
            glyphs: list[tuple[int, float, float]] = []
            advance = 0.0
            while i < len(infos) and infos[i].cluster == start:
                at = positions[i]
                glyphs.append(
                    (infos[i].codepoint, round(advance + at.x_offset * scale, 2), round(at.y_offset * scale, 2))
                )
                advance += at.x_advance * scale
                i += 1
            cluster = Cluster(tuple(glyphs), text[start : following[start]], round(advance, 2))
            clusters.append(self._shared.setdefault(cluster, cluster))
        return tuple(clusters)


class Faces:
    """The fonts at hand. Kept for a process, so that each font is read once and each word is shaped once."""

    def __init__(self, sources: Mapping[str, Source]) -> None:
        """`sources` map a family (`NotoSans`, variable) or a face (`IBMPlexSansArabic-Bold`) to what fetches it."""
        self._sources = dict(sources)
        self._faces: dict[str, Face] = {}
        self._orders: dict[tuple[str, str], tuple[str, ...]] = {}
        self._found: dict[tuple[str, str, str, bool], Face | MissingGlyph] = {}
        self.families = tuple(dict.fromkeys(name.partition("-")[0] for name in sources))
        """In the order they are asked when the first choices fail."""

    def face(self, name: str) -> Face:
        """A face by the name that a `Word` carries, such as `NotoSans-Bold`. KeyError when it is not at hand."""
        face = self._faces.get(name)
        if face is None:
            family, _, weight = name.partition("-")
            source = next(
                (n for n in (name, family, f"{family}-Regular", f"{family}-Bold") if n in self._sources), None
            )
            if source is None:
                raise KeyError(name)
            got = self._sources[source]()
            data, index = got if isinstance(got, tuple) else (got, 0)
            face = self._faces[name] = Face(name, data, index, weight == "Bold")
        return face

    def order(self, script: str, language: str) -> tuple[str, ...]:
        """Families to ask for a script in a language, best first; only those at hand."""
        key = (script, language)
        if key not in self._orders:
            first = FAMILIES.get(writing(script, language), ())
            own = FAMILIES.get(writing(script_of_language(language), language), ())  # its Latin letters match its own
            wanted: Iterable[str] = dict.fromkeys((*first, *own, *DEFAULT, *self.families))
            self._orders[key] = tuple(f for f in wanted if f in self.families)
        return self._orders[key]

    def primary(self, script: str, language: str, bold: bool = False) -> Face:
        """The face a script starts with: for line heights and for plain text."""
        return self.face(_named(self.order(script, language)[0], bold))

    def find(self, grapheme: str, script: str, language: str, bold: bool = False) -> Face | MissingGlyph:
        """The first face that can draw a whole grapheme."""
        key = (grapheme, script, language, bold)
        found = self._found.get(key)
        if found is None:
            names = [_named(family, bold) for family in self.order(script, language)]
            fitting = (self.face(n) for n in names)
            missing = MissingGlyph(grapheme, writing(script, language), tuple(names))
            found = self._found[key] = next((f for f in fitting if f.covers(grapheme)), missing)
        return found


def _named(family: str, bold: bool) -> str:
    return f"{family}-{'Bold' if bold else 'Regular'}"
