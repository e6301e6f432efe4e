"""Turn words into the faces and characters that a page must carry to show them."""

from __future__ import annotations

from collections.abc import Iterable

from docgen.typeset.faces import Face, Faces, MissingGlyph
from docgen.typeset.itemising import first_script, graphemes, scripts, visible

Coverage = dict[tuple[bool, str], tuple[Face, frozenset[str]]]
"""Whether it is bold, and the name of the face → the face, and the characters it draws."""


def coverage(texts: Iterable[str], language: str, faces: Faces) -> tuple[Coverage, tuple[MissingGlyph, ...]]:
    """The faces for texts of a language in both weights, best first choices as on sheets; and what none can draw."""
    wanted: set[tuple[str, str]] = set()
    for text in texts:
        at = scripts(text, first_script(text, language))
        wanted |= {(seen, at[start]) for start, end in graphemes(text) if (seen := visible(text[start:end])).strip()}
    used: dict[tuple[bool, str], tuple[Face, set[str]]] = {}
    missing: dict[str, MissingGlyph] = {}
    for bold in (False, True):
        for seen, script in sorted({*wanted, (" ", "Latn")}):
            face = faces.find(seen, script, language, bold)
            if isinstance(face, MissingGlyph):
                missing[seen] = face
            else:
                used.setdefault((bold, face.name), (face, set()))[1].update(seen)
    return {key: (face, frozenset(drawn)) for key, (face, drawn) in used.items()}, tuple(missing.values())
