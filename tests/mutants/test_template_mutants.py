"""A unit edits a template and damages it without noticing: the read-back notices.

Every artifact is made from the shipped templates with one thing wrong, through the real corridor. That the undamaged
templates pass is the control. The notice of a first version carries no steps or cautions, so only its stamp and its
legibility can be damaged.
"""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from workbench import edition, made, templates

STEPS = ("poster", "cards", "script", "checklist")
ALL = (*STEPS, "notice")
CAUTION = '{% for caution in step.cautions %}\n{% include "house/caution.md.j2" %}\n\n{% endfor %}\n'
Damage = Callable[[str], dict[str, str]]


def step_file(artifact: str) -> str:
    return "checklist/step.md.j2" if artifact == "checklist" else f"{artifact}/main.md.j2"


def changed(name: str, old: str, new: str) -> dict[str, str]:
    words = templates()[name]
    assert old in words, f"the shipped {name} no longer says {old!r}"
    return {name: words.replace(old, new)}


def drop_caution(artifact: str) -> dict[str, str]:
    """Only the first caution of a step is printed, and none of step `dry`."""
    return changed(step_file(artifact), CAUTION, CAUTION.replace("step.cautions", "step.cautions[1:]"))


def caution_after_step(artifact: str) -> dict[str, str]:
    """The caution stands where everybody has already acted."""
    name = step_file(artifact)
    words = templates()[name]
    assert CAUTION in words
    words = words.replace(CAUTION, "", 1)
    return {name: re.sub(r"(### \{\{ step\.number[^\n]*\n\n)", lambda m: m[1] + CAUTION, words, count=1)}


def swap_steps(artifact: str) -> dict[str, str]:
    """Two steps change places, each with its own number."""
    return changed(
        f"{artifact}/main.md.j2",
        "{% for step in phase.steps %}",
        "{% for step in [phase.steps[1], phase.steps[0]] + phase.steps[2:]|list %}",
    )


def drop_step(artifact: str) -> dict[str, str]:
    return changed(f"{artifact}/main.md.j2", "{% for step in phase.steps %}", "{% for step in phase.steps[1:] %}")


def old_stamp(artifact: str) -> dict[str, str]:
    """Yesterday's version typed in by hand."""
    name = next(n for n in (f"{artifact}/stamp.md.j2", "house/stamp.md.j2") if n in templates())
    return {f"{artifact}/stamp.md.j2": templates()[name].replace("v{{ edition.version }}", "v0.9")}


def style(artifact: str, name: str, words: str) -> dict[str, str]:
    """One style of the artifact's own layout replaced."""
    sheet = templates()[f"{artifact}/sheet.yaml"]
    sheet = re.sub(rf"\n  {name}: \{{[^\n]*", "", sheet)
    return {f"{artifact}/sheet.yaml": sheet.replace("styles:\n", f"styles:\n  {name}: {words}\n")}


def white_on_white(artifact: str) -> dict[str, str]:
    what = "body" if artifact == "notice" else "headline"
    return style(artifact, what, '{size: 1.0, colour: "#FFFFFF"}')


def below_the_floor(artifact: str) -> dict[str, str]:
    return style(artifact, "body" if artifact == "notice" else "headline", "{size: 5, fixed: true}")


WAYS = [
    (drop_caution, STEPS, {"readback/caution-missing"}),
    (caution_after_step, STEPS, {"readback/caution-after-step"}),
    (swap_steps, STEPS, {"readback/step-order"}),
    (drop_step, STEPS, {"readback/step-missing"}),
    (old_stamp, ALL, {"readback/stamp-foreign", "readback/stamp-missing"}),
    (white_on_white, ALL, {"readback/faint", "readback/no-ink"}),
    (below_the_floor, ALL, {"readback/too-small", "typeset/too-small-for-its-distance"}),
]
CASES = [pytest.param(way, a, rules, id=f"{a}-{way.__name__}") for way, artifacts, rules in WAYS for a in artifacts]


@pytest.mark.parametrize("artifact", ALL)
def test_undamaged_templates_pass(artifact):
    """The control: nothing is said of what the shipped templates make."""
    data, findings = made(*edition("hand-rub", "harbour-north"), artifact)

    assert data
    assert [f"{f.rule}: {f.message}" for f in findings] == []


@pytest.mark.parametrize(("damage", "artifact", "rules"), CASES)
def test_a_damaged_template_is_caught(damage, artifact, rules):
    """Each damage is refused by the rule that names it."""
    _, findings = made(*edition("hand-rub", "harbour-north"), artifact, damage(artifact))

    assert rules & {f.rule for f in findings}, [f"{f.rule}: {f.message}" for f in findings]


def test_a_dropped_caution_is_said_once_for_each():
    """One finding for each caution, in whole words, not one for each of its sentences."""
    spoken = edition("hand-rub", "harbour-north")
    _, findings = made(*spoken, "poster", drop_caution("poster"))
    printed = [(s, c) for s in spoken[0].all_steps() for c in s.cautions]
    said = [f for f in findings if f.rule == "readback/caution-missing"]

    assert [f.step for f in said] == [step.id for step, _ in printed]
    for finding, (step, c) in zip(said, printed, strict=True):
        sentences = " ".join(t.plain for t in (c.hazard, c.consequence, c.avoid))
        assert finding.message == f"the caution `{sentences}` before step `{step.label}` is not on the sheet"
