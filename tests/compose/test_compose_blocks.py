"""Templates say what a sheet says without ever touching authored words."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from workbench import edition, templates

from docgen.compose import compose
from docgen.compose.environment import environment
from docgen.compose.handles import Ledger
from docgen.compose.skeleton import _parsed, blocks
from docgen.model.block import Items, Origin, Panel, Para, Table
from docgen.model.text import Run, Text
from docgen.source import inline


def composed(words: dict[str, str], artifact: str = "poster", of=None):
    found, analysis = edition("hand-rub", "harbour-north")
    return compose(of or found, artifact, {**templates(), **words}, analysis, inline)


def said(composition, part: str = "main") -> str:
    """All words of a part, a block a line."""
    return "\n".join(
        "".join(r.text for p in b.pieces for r in p.runs) for b in composition.part(part) if isinstance(b, Para)
    )


@given(st.text(st.characters(codec="utf-8", exclude_categories=("Cc", "Cs", "Co")), min_size=1, max_size=60))
def test_authored_words_come_out_as_they_went_in(words):
    """Whatever an author types, also what Markdown or Jinja would take for a sign, is never parsed again."""
    ledger = Ledger()
    handle = ledger.text(Text("step.x.say", words, (Run(words),)), Origin("step", "x", "say"))

    found, findings = blocks(f"{handle}\n", ledger, "t")

    assert not findings
    assert [p.runs for b in found for p in b.pieces] == [(Run(words),)]


def test_a_minus_at_the_start_of_a_step_stays_a_minus():
    """`- 20 °C` pasted into Markdown would become a bullet and lose its sign."""
    found, _ = edition("hand-rub", "harbour-north")
    step = found.steps[0]
    cold = replace(step.headline, runs=(Run("- 20 °C: store at once {{ x }} {% y %} <b>"),))
    found = replace(found, steps=(replace(step, headline=cold), *found.steps[1:]))

    composition, findings = composed({}, of=found)

    assert not findings
    assert "1 - 20 °C: store at once {{ x }} {% y %} <b> " in said(composition)


def test_every_piece_knows_what_it_speaks_for():
    """A headline's number and words carry their step, a caution's words the step they stand before."""
    composition, _ = composed({})
    heads = [b for b in composition.part("main") if isinstance(b, Para) and b.level == 3]
    panels = [b for b in composition.part("main") if isinstance(b, Panel)]

    first = edition("hand-rub", "harbour-north")[0].steps[0].id
    assert {p.origin.step for p in heads[0].pieces if p.origin.kind == "step"} == {first}
    assert panels
    assert all(p.origin.step for panel in panels for b in panel.blocks for p in b.pieces if p.origin.kind == "caution")


@pytest.mark.parametrize(
    ("template", "line", "part"),
    [
        ("{{ edition.titel }}", 1, "titel"),
        ("one\n{{ edition.title", 2, "end of"),
        ("one\n\n{% for x in %}", 3, "expected"),
        ("{{ edition.__class__ }}", 1, "unsafe"),
        ("{{ ''.__class__.__mro__ }}", 1, "unsafe"),
        ('{% include "nowhere.md.j2" %}', 1, "nowhere"),
        ("{{ 1 / 0 }}", 1, "division"),
        ('{{ box("circle", "x", "X") }}', 1, "circle"),
    ],
)
def test_a_broken_template_says_where_and_why(template, line, part):
    """File, line and reason; never a traceback, never half a sheet."""
    composition, findings = composed({"poster/main.md.j2": template})

    assert composition is None
    assert [f.rule for f in findings] == ["compose/template"]
    assert findings[0].where.file == "templates/poster/main.md.j2"
    assert findings[0].where.line == line
    assert part in findings[0].message


@pytest.mark.parametrize("cut", ["[:3]", "|string|truncate(5, True, '', 0)", "|string|replace('0', '')", ".lower()"])
def test_a_template_can_not_cut_an_authored_text(cut):
    """What would damage a text is an error, not a damaged sentence."""
    composition, findings = composed({"poster/main.md.j2": "{{ edition.steps[0].headline" + cut + " }}"})

    assert composition is None
    assert {f.rule for f in findings} <= {"compose/text-cut", "compose/template"}


def test_an_absent_text_prints_nothing_and_is_false():
    """`{% if step.say %}` is all a template needs."""
    composition, _ = composed({"poster/main.md.j2": "{% if edition.steps[1].say %}say{% else %}silent{% endif %}"})

    assert said(composition) == "silent"


def test_a_sentence_around_a_text_speaks_for_that_text():
    """Quotation marks belong to the language, what stands in them to the step."""
    composition, _ = composed({"poster/main.md.j2": '{{ _("“{words}”", words=edition.steps[0].headline) }}'})
    (para,) = composition.part("main")

    assert para.role == "step.headline"
    assert said(composition).startswith("“")


def test_lists_and_tables_become_blocks():
    """The closed set: nothing else can come out of a template."""
    composition, _ = composed({"poster/main.md.j2": "- a\n- b\n\n| x | y |\n|-|-|\n| 1 | 2 |\n"})

    kinds = [type(b) for b in composition.part("main")]
    assert kinds == [Items, Table]


def test_a_unit_can_change_wording_without_touching_python():
    """A copied template replaces the shipped one part by part."""
    composition, _ = composed({"poster/head.md.j2": "# Our ward\n"})

    assert said(composition, "head") == "Our ward"
    assert "Rub your palms" in said(composition)


def test_templates_and_skeletons_are_read_once_a_process():
    """After an edit of a text alone, no template is compiled and no Markdown parsed again."""
    found, _ = edition("hand-rub", "harbour-north")
    composed({})
    before = environment.cache_info().misses, _parsed.cache_info().misses

    assert composed({}, of=replace(found, title=replace(found.title, runs=(Run("Another title"),))))[0] is not None

    assert (environment.cache_info().misses, _parsed.cache_info().misses) == before
