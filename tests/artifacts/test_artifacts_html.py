"""Pages as bytes: escaped, whole in themselves, the same every time."""

from __future__ import annotations

import io
import re
from base64 import b64decode, b64encode
from hashlib import sha256

import html5lib
import pytest
from fontTools.ttLib import TTFont
from workbench import edition, faces, paged

from docgen.artifacts import Worn, write_html
from docgen.artifacts.svg import Drawings
from docgen.artifacts.webfonts import woff
from docgen.model.block import Origin, Piece
from docgen.model.page import Article, Image, Page, Said
from docgen.model.sheet import BLACK, WHITE, Shape
from docgen.model.text import Run


def page(*runs: Run, origin: Origin = Origin("step"), **more) -> Page:
    return Page("x", "Title & more", (Article("en", False, ("<p>", Said(Piece(runs, origin), "en"), "</p>")),), **more)


def written(of: Page, draw=lambda origin, language: None, worn=(), colours=None) -> str:
    return write_html(of, draw, worn, colours or {"ink": "#000000"}).decode()


def test_authored_words_are_escaped_never_parsed():
    """What looks like markup is shown as it is."""
    text = "<script>alert('x')</script> & {{ x }} </p>"
    tree = html5lib.parse(written(page(Run(text))), namespaceHTMLElements=False)

    assert "".join(tree.find(".//p").itertext()) == text
    assert tree.find(".//p/script") is None


def test_emphasis_and_direction_become_elements():
    """Strong, emphasis, and what is kept in one direction."""
    said = written(page(Run("a"), Run("b", strong=True), Run("c", emphasis=True), Run("20 °C", isolate=True)))

    assert "<p>a<strong>b</strong><em>c</em><bdi>20 °C</bdi></p>" in said


@pytest.mark.parametrize("script", ["", "x();\n"])
def test_the_policy_names_style_and_program_by_hash(script):
    """The Content Security Policy allows what is in the file and nothing else (CSP level 3, hashes)."""
    said = written(page(Run("a"), style="p { margin: 0 }", script=script))
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', said)[1]
    style = re.search(r"<style>(.*?)</style>", said, re.DOTALL)[1]

    def hashed(text):
        return f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"

    assert "default-src 'none'" in policy
    assert f"style-src {hashed(style)};" in policy
    assert (f"script-src {hashed(script)};" if script else "script-src 'none';") in policy


def test_drawings_follow_the_colours_of_the_page_and_stand_once():
    """Ink is the words' colour, paper the ground's; a second copy refers to the first."""
    drawings = Drawings()
    outline = tuple(("L" if n else "M", (n / 7, n * 1.3)) for n in range(60))
    shapes = (Shape(outline, fill=WHITE, stroke=BLACK, width=2.26), Shape(outline, fill=(0.76, 0.76, 0.76)))
    one = drawings.svg(shapes, 114, 100, "A <glove>", "figure")
    other = drawings.svg(shapes, 114, 100, "", "figure")

    assert 'fill="var(--ground)" stroke="currentColor" stroke-width="23"' in one
    assert "var(--grey-76,#c2c2c2)" in one
    assert 'viewBox="0 0 1140 1000" role="img" aria-label="A &lt;glove&gt;"' in one
    assert '<g id="drawing-1">' in one
    assert other.endswith('aria-hidden="true"><use href="#drawing-1"/></svg>')


def test_relative_outlines_end_where_the_absolute_ones_do():
    """No rounding adds up: each point is rounded by itself."""
    points = [(n * 0.333, 100 - n * 0.777) for n in range(100)]
    drawn = Drawings().svg((Shape((("M", points[0]), *(("L", p) for p in points[1:]), ("Z", ()))),), 1, 1, "", "x")
    steps = [int(n) for n in re.findall(r"-?\d+", re.search(r' d="([^"]*)"', drawn)[1])]

    assert (sum(steps[::2]), sum(steps[1::2])) == tuple(round(v * 10) for v in points[-1])


def test_a_font_has_the_characters_asked_for_at_its_weight():
    """The subset font is read back with fontTools (https://fonttools.readthedocs.io)."""
    wanted = frozenset("Wash 20 °C")
    for name in ("NotoSans-Regular", "NotoSans-Bold"):
        font = TTFont(io.BytesIO(woff(faces().face(name), wanted)))
        assert set(map(chr, font.getBestCmap())) == wanted
        assert "fvar" not in font  # fixed at one weight
    assert woff(faces().face("NotoSans-Bold"), wanted) != woff(faces().face("NotoSans-Regular"), wanted)


def test_fonts_stand_in_the_style_sheet_for_their_language():
    """One family a language, each face for the characters it draws."""
    said = written(page(Run("a")), worn=(Worn("en", False, faces().face("NotoSans-Regular"), frozenset("ab")),))
    data = re.search(r"url\(data:font/woff;base64,([^)]*)\)", said)[1]

    assert b64decode(data)[:4] == b"wOFF"
    assert "unicode-range:U+61,U+62" in said
    assert '[lang="en"]{font-family:"docgen en",system-ui,sans-serif}' in said


def test_pictures_stand_in_the_file():
    """A picture is data with its size and words."""
    image = Image("image/png", b"\x89PNG", 3, 4)
    said = written(page(Run("A poster"), origin=Origin("image", "x")), lambda o, tag: image)

    assert '<img src="data:image/png;base64,iVBORw==" width="3" height="4" alt="A poster">' in said


def test_the_reader_is_small_strictly_html_and_the_same_every_time():
    """Under 1 MB with its fonts; html5lib, which follows the HTML standard's parser, finds no error."""
    data, _ = paged(*edition("enhanced-removal", "harbour-north"))
    html5lib.HTMLParser(strict=True).parse(data.decode())

    assert len(data) < 1_000_000
    assert paged(*edition("enhanced-removal", "harbour-north"))[0] == data
    assert not re.search(rb"(?:src|href)=\"(?!#|data:)", data)
