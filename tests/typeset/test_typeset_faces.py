"""Fonts at hand: fetched late, asked in order."""

from __future__ import annotations

import pytest

from docgen.project import Project
from docgen.typeset.faces import Faces, MissingGlyph, lacking

SOURCES = Project().fonts()


def test_a_font_is_fetched_only_when_needed():
    """Latin text asks for one font and no other."""
    fetched = []

    def source(name):
        def fetch():
            fetched.append(name)
            return SOURCES[name]()

        return fetch

    faces = Faces({name: source(name) for name in SOURCES})
    faces.primary("Latn", "en").word("gloves")

    assert fetched == ["NotoSans"]


def test_bold_is_a_weight_of_a_variable_font_and_a_file_of_a_static_one():
    """Bold is heavier in either kind of font, without any font file being changed."""
    faces = Faces(SOURCES)

    assert faces.face("NotoSans-Bold").word("gloves").advance > faces.face("NotoSans-Regular").word("gloves").advance
    assert faces.face("IBMPlexSansArabic-Bold").data != faces.face("IBMPlexSansArabic-Regular").data


def test_a_script_starts_with_its_own_font_and_latin_follows_its_language():
    """Latin letters among Arabic ones come from the Arabic font's own Latin, so that they match."""
    faces = Faces(SOURCES)

    assert faces.order("Arab", "ar")[0] == faces.order("Latn", "ar")[0] == "IBMPlexSansArabic"
    assert faces.order("Latn", "en")[0] == faces.order("Cyrl", "uk")[0] == "NotoSans"
    assert faces.order("Deva", "hi")[0] == "NotoSansDevanagari"


def test_han_characters_look_for_the_font_of_their_language():
    """The same characters are looked for in different fonts in Chinese, Japanese and Korean."""
    wanted = Faces(dict.fromkeys(("NotoSansSC", "NotoSansTC", "NotoSansJP", "NotoSansKR"), lambda: b""))
    first = {tag: wanted.order("Hani", tag)[0] for tag in ("zh", "zh-Hant", "zh-TW", "ja", "ko")}

    assert first == {
        "zh": "NotoSansSC", "zh-Hant": "NotoSansTC", "zh-TW": "NotoSansTC", "ja": "NotoSansJP", "ko": "NotoSansKR",
    }  # fmt: skip


def test_an_unknown_face_is_a_key_error():
    """Asking for a font that nobody gave is a fault of the caller."""
    with pytest.raises(KeyError):
        Faces(SOURCES).face("Nothing-Regular")


def test_a_grapheme_is_found_whole_or_not_at_all():
    """A letter and its mark are not taken from two fonts."""
    faces = Faces({"NotoSansThai": SOURCES["NotoSansThai"]})

    assert isinstance(faces.find("x\u0483", "Latn", "en"), MissingGlyph)
    assert not isinstance(faces.find("e\u0301", "Latn", "en"), MissingGlyph)


def test_a_script_without_its_font_is_one_finding_that_names_the_package():
    """Hundreds of Chinese characters without their font are one thing to install, not hundreds of findings."""
    many = [MissingGlyph(c, "Hans", ("NotoSans-Regular",)) for c in "揉搓双手揉"]
    few = [MissingGlyph("☃", "Latn", ("NotoSans-Regular",))]
    chinese, snow = lacking([*many, *few, *few], language="zh-Hans")

    assert "4 characters of script `Hans`" in chinese.message
    assert (chinese.hint, chinese.language) == ("install the Debian package `fonts-noto-cjk`", "zh-Hans")
    assert "SNOWMAN" in snow.message
