"""A notice of change says all that differs, old and new; one that leaves anything out does not pass."""

from __future__ import annotations

import re
from functools import cache

import pytest
from workbench import ROOT, made, templates

from docgen.analysis import analyse
from docgen.edition import resolve
from docgen.model.change import Change
from docgen.model.edition import Edition
from docgen.release import compare
from docgen.source import read_protocol, read_site

EDITS = (
    ('version: "2.1"', 'version: "2.2"'),
    ("avoid: Do not touch your face.", "avoid: Do not touch your face or your hair."),
    ("headline: Inspect all PPE", "headline: Inspect all PPE, front and back"),
    ("question: Fluid on skin or in an eye?", "question: Fluid on skin, or in an eye or ear?"),
)


@cache
def source() -> str:
    return (ROOT / "protocols" / "enhanced-removal.yaml").read_text("utf-8")


def edition_of(text: str) -> Edition:
    site = (ROOT / "protocols" / "sites" / "harbour-north.yaml").read_text("utf-8")
    found, findings = resolve(read_protocol(text, "p.yaml"), read_site(site, "s.yaml"))
    assert found, findings
    return found


@cache
def change(*edits: tuple[str, str]) -> Change:
    text = source()
    for old, new in edits or EDITS:
        assert old in text, old
        text = text.replace(old, new)
    return compare(edition_of(source()), edition_of(text))


def said(of: Change, words: dict[str, str] | None = None, claim: Change | None = None) -> list[str]:
    """Rules of the errors about a notice; `claim`: the change that the notice is made from, where that is another."""
    data, findings = made(of.after, analyse(of.after), "notice", words, change=claim or of)
    assert data, findings
    return [f.rule for f in findings if f.severity == "error"]


def damaged(old: str, new: str) -> dict[str, str]:
    name = "notice/main.md.j2"
    assert old in templates()[name], f"the shipped {name} no longer says {old!r}"
    return {name: templates()[name].replace(old, new)}


def test_the_shipped_notice_passes():
    """The control: a caution, a step and a branch in other words, all said, nothing else."""
    assert [p.id for p in change().parts if p.kind != "document"] == ["face-touch", "inspect-ppe", "exposure"]
    assert said(change()) == []


def step(id: str) -> str:
    found = re.search(rf"(?ms)^      - id: {id}\n.*?(?=^      - id:|^  - id:|^branches:)", source())
    assert found
    return found[0]


@pytest.mark.parametrize("way", ["moved", "gone", "new"])
def test_steps_that_move_come_or_go_pass(way):
    """The control for changes of the sequence."""
    text = step("inspect-ppe")
    first = step("stop-at-door")
    edits = {
        "moved": [(first, ""), (text, text + first)],
        "gone": [(text, "")],
        "new": [(text, text + text.replace("inspect-ppe", "look-again").replace("Inspect all", "Look again at"))],
    }[way]
    of = change(EDITS[0], *edits)
    assert {"moved": "moved", "gone": "removed", "new": "added"}[way] in {p.how for p in of.of("step")}
    assert said(of) == []


@pytest.mark.parametrize(
    ("old", "new", "rule"),
    [
        ("{% for part in change.parts %}", "{% for part in change.parts[1:] %}", "readback/change-missing"),
        ("{{ side(row.field, row.old) }} |", "– |", "readback/change-missing"),
        ("| {{ side(row.field, row.new) }} |", "| – |", "readback/change-missing"),
        ("{{ side(row.field, row.old) }} | {{ side(row.field, row.new) }}",
         "{{ side(row.field, row.new) }} | {{ side(row.field, row.old) }}", "readback/change-order"),
        ("{% for part in change.parts %}", '{% for part in change.parts if part.kind != "caution" %}',
         "readback/change-missing"),
        ("version=change.version", "version=edition.version", "readback/change-missing"),
    ],
)  # fmt: skip
def test_a_damaged_notice_is_caught(old, new, rule):
    """A template that leaves out a part or a side, changes the sides, or does not say what to take down."""
    assert rule in said(change(), damaged(old, new))


def test_a_comparison_that_overlooks_something_is_caught():
    """The read-back finds for itself what differs: a notice made from half of it does not pass."""
    whole = change()
    half = Change(whole.before, whole.after, whole.parts[:1], whole.degree)
    assert "readback/change-missing" in said(whole, claim=half)


def test_a_step_that_moved_in_silence_is_caught():
    """Two neighbours that changed places must be named."""
    text = step("inspect-ppe")
    first = step("stop-at-door")
    whole = change(EDITS[0], (first, ""), (text, text + first))
    none = Change(whole.before, whole.after, (), whole.degree)
    assert "readback/change-missing" in said(whole, claim=none)


def test_a_third_version_is_still_foreign():
    """A notice may name the version before, and no other."""
    assert "readback/stamp-foreign" in said(change(), damaged("version=change.version", 'version="1.9"'))
