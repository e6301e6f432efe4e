"""Turn faces and the characters a page shows into fonts inside its style sheet.

Each face is subset by HarfBuzz to its characters with everything shaping needs, a variable one fixed at its weight, and
wrapped as WOFF 1.0 (https://www.w3.org/TR/WOFF/). The same characters of the same face give the same bytes.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterable
from functools import lru_cache
from io import BytesIO
from typing import NamedTuple

from docgen.artifacts.fonts import Face


class Worn(NamedTuple):
    """A face that a page in one language shows, and what it draws."""

    language: str
    bold: bool
    face: Face
    characters: frozenset[str]


def font_faces(worn: Iterable[Worn]) -> str:
    """The `@font-face` rules, and for each language the family that it is set in."""
    rules, languages = [], []
    for language, bold, face, characters in worn:
        languages.append(language)
        data = b64encode(woff(face, characters)).decode("ascii")
        rules.append(
            f'@font-face{{font-family:"{_family(language)}";font-weight:{700 if bold else 400};'
            f"src:url(data:font/woff;base64,{data});unicode-range:{_ranges(characters)}}}"
        )
    for language in dict.fromkeys(languages):
        rules.append(f'[lang="{language}"]{{font-family:"{_family(language)}",system-ui,sans-serif}}')
    return "\n".join(rules)


def _family(language: str) -> str:
    return f"docgen {language}"


def _ranges(characters: frozenset[str]) -> str:
    return ",".join(f"U+{ord(c):X}" for c in sorted(characters))


@lru_cache(maxsize=64)
def woff(face: Face, characters: frozenset[str]) -> bytes:
    """A font with these characters alone."""
    import uharfbuzz as hb
    from fontTools.ttLib import TTFont

    source = hb.Face(hb.Blob(face.data), face.index)
    wanted = hb.SubsetInput()
    wanted.unicode_set.update(map(ord, characters))
    for axis in source.axis_infos:
        wanted.pin_axis_location(source, axis.tag, face.variations.get(axis.tag, axis.default_value))
    subset = hb.subset(source, wanted)
    font = TTFont(BytesIO(subset.blob.data), recalcBBoxes=False, recalcTimestamp=False, lazy=True)
    font.flavor = "woff"
    out = BytesIO()
    font.save(out, reorderTables=None)
    return out.getvalue()
