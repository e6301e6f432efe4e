"""A small protocol and its site, and editions of them with single lines changed."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from docgen.edition import resolve
from docgen.model.edition import Edition
from docgen.model.wordlist import WordList
from docgen.source import read_protocol, read_site
from docgen.source.wordlist import read_wordlist

ROOT = Path(__file__).parents[2]
SHIPPED = tuple(sorted((ROOT / "protocols").glob("*.yaml")))
SITES = tuple(sorted((ROOT / "protocols" / "sites").glob("*.yaml")))

PROTOCOL = """\
protocol: glove-change
code: GL-01
title: Changing gloves
version: "2.1"
effective: 2030-03-01
review: 2031-03-01
status: approved
approval: {by: A. Person, role: Manager, on: 2030-01-10}
owner: An invented unit
audience: Everybody
purpose: Change gloves without a touch of the outside.
invented: true
basis:
  - source: Common practice, no source
    note: Invented for a test.
roles:
  wearer: {name: Wearer}
  observer: {name: Observer, contacts: false}
supplies:
  bin: {name: waste container, kind: container}
  rub: {name: hand rub, kind: agent}
cautions:
  snap:
    signal: warning
    hazard: Gloves snap back.
    consequence: Droplets reach your face.
    avoid: Do not pull at the fingertips.
  fumes:
    signal: caution
    hazard: The rub gives off fumes.
    consequence: Your eyes water.
    avoid: Do not lean over it.
phases:
  - id: all
    title: All of it
    steps:
      - id: rub-gloves
        headline: Rub the gloves
        say: Rub your gloves for 20 seconds.
        do: [Rub the palms., Rub the backs.]
        time: {seconds: 20}
        acts: [{note: gloves are rubbed, using: rub}]
        cautions: [fumes]
        branches: [tear]
      - id: take-off
        headline: Take off the gloves
        do: Pinch the left cuff.
        acts: [{note: gloves are off, into: bin}]
        cautions: [snap]
        hold: {by: observer, until: the observer has seen both hands}
      - id: rub-hands
        headline: Rub your hands
        acts: [{note: hands are rubbed, using: rub}]
      - id: put-on
        headline: Put on new gloves
        acts: [{note: gloves are on}]
branches:
  tear:
    question: Is a glove torn?
    steps:
      - id: tell-it
        headline: Say that a glove is torn
        acts: [{note: it is said}]
    rejoin: take-off
"""
SITE = """\
site: ward
name: An invented hospital, the ward
invented: true
languages: [en]
protocols: {glove-change: {}}
supplies:
  rub: {product: Orvanol hand rub}
"""


@cache
def words() -> WordList:
    """The shipped word list of English."""
    path = ROOT / "locales" / "en" / "words.yaml"
    value = read_wordlist(path.read_text("utf-8"), path.name).value
    assert value
    return value


def edited(text: str, *edits: tuple[str, str]) -> str:
    """A source with each of these replaced, which must be in it."""
    for old, new in edits:
        assert old in text, old
        text = text.replace(old, new)
    return text


def edition(*edits: tuple[str, str], site: str = SITE) -> Edition:
    """The small protocol with lines of its source replaced."""
    found, findings = resolve(read_protocol(edited(PROTOCOL, *edits), "p.yaml"), read_site(site, "s.yaml"))
    assert found, findings
    return found


def shipped(protocol: Path, site: Path) -> Edition:
    """A shipped protocol at a shipped site."""
    found, findings = resolve(
        read_protocol(protocol.read_text("utf-8"), protocol.name), read_site(site.read_text("utf-8"), site.name)
    )
    assert found, findings
    return found


def without_step(name: str) -> tuple[str, str]:
    """An edit that takes a step out."""
    steps = PROTOCOL[PROTOCOL.index("      - id: rub-gloves") : PROTOCOL.index("branches:\n  tear")]
    start = steps.index(f"      - id: {name}")
    end = steps.find("      - id: ", start + 1)
    return steps[start : end if end >= 0 else len(steps)], ""


def step_text(name: str) -> str:
    """A step of the main path as it stands in the source."""
    return without_step(name)[0]
