"""Templates of pages: what they may do with the words of an edition, and what is said when they do more."""

from __future__ import annotations

import pytest
from workbench import edition

from docgen.compose import Voice, compose_page
from docgen.model.page import Said
from docgen.source import inline


def compose(template: str, more=None, **files):
    of, analysis = edition("enhanced-removal", "harbour-north")
    voice = Voice(of, analysis, inline, str, False, "English")
    return compose_page("x", (voice,), {"x/page.html.j2": template, **files}, more)


def said(template: str, **more):
    """Everything the page says, run together."""
    page, findings = compose(template, more)
    assert page, findings
    parts = page.articles[0].parts
    return "".join("".join(r.text for r in p.piece.runs) if isinstance(p, Said) else p for p in parts)


def test_words_of_the_edition_stay_pieces():
    """A template puts down handles; what comes out knows what it speaks for."""
    page, _ = compose("<h1>{{ edition.title }}</h1>")
    (piece,) = (p.piece for p in page.articles[0].parts if isinstance(p, Said))

    assert (piece.key, piece.origin.field) == ("protocol.title", "title")


def test_what_is_no_handle_is_escaped():
    """Names of files and whatever else is given may hold anything."""
    assert said("<p>{{ name }}</p>", name="<b onclick=x>&") == "<p>&lt;b onclick=x&gt;&amp;</p>"


def test_plain_words_may_stand_in_attributes_escaped():
    """`plain` gives the words alone."""
    assert said('<p title="{{ plain(edition.title) }}">').startswith('<p title="Removing enhanced isolation PPE"')
    assert said('<p title="{{ plain(_("a \\"b\\" <c>")) }}">') == '<p title="a &#34;b&#34; &lt;c&gt;">'


def test_own_words_are_translated_and_known():
    """`_` asks the language; what it says is known to the read-back, parted where others fill a slot."""
    page, _ = compose('<p>{{ _("Go on at step {n}.", n=edition.count) }}</p><a title="{{ plain(_("Back")) }}">·</a>')

    assert set(page.known("en")) >= {"Go on at step ", ".", "Back", "·"}


@pytest.mark.parametrize(
    ("template", "rule", "line"),
    [
        ('<p title="{{ edition.title }}">', "compose/text-in-tag", 0),
        ("{{ (edition.title|string)[2:] }}", "compose/text-cut", 0),
        ("{{ (edition.title|string)|upper }}\n{{ (edition.title|string)[:3] }}", "compose/text-cut", 0),
        ("<p>\n{{ edition.titel }}", "compose/template", 2),
        ("<p>\n\n{% if %}", "compose/template", 3),
        ("{{ edition.__class__.__mro__ }}", "compose/template", 1),
        ("{{ ().__class__.__base__.__subclasses__() }}", "compose/template", 1),
        ("{% for n in range(10**9) %}x{% endfor %}", "compose/template", 1),
        ("{{ 1/0 }}", "compose/template", 1),
        ("{% include 'nowhere' %}", "compose/template", 1),
    ],
)
def test_a_template_that_does_more_is_a_finding(template, rule, line):
    """Cutting, prying, missing names and plain mistakes are said with their line, and nothing is raised."""
    page, findings = compose(template)

    assert page is None
    assert [f.rule for f in findings] == [rule]
    assert line == 0 or findings[0].where.line == line


def test_a_missing_page_is_said():
    """Without its template there is no page."""
    of, analysis = edition("hand-rub", "harbour-north")
    page, findings = compose_page("x", (Voice(of, analysis, inline, str, False, "English"),), {})

    assert page is None and [f.rule for f in findings] == ["compose/template"]


def test_styles_and_programs_are_taken_as_they_are():
    """They are no templates: braces mean nothing."""
    files = {"house/screen.css": "a{b:c}", "x/page.css": "{{ no }}", "x/page.js": "{% raw"}
    page, _ = compose_page("x", (Voice(*edition("hand-rub", "harbour-north"), inline, str, False, "English"),),
                           {"x/page.html.j2": "<p>", **files})  # fmt: skip

    assert (page.style, page.script) == ("a{b:c}\n{{ no }}", "{% raw")
