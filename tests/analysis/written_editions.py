"""Editions written by hand for the tests of wording and timing: one step, as much of it as a test needs."""

from __future__ import annotations

import datetime
from dataclasses import replace
from functools import cache
from pathlib import Path

from docgen.findings import Finding, Where
from docgen.model.edition import Branch, Caution, Edition, Hold, Item, Phase, Place, Role, Step, Supply
from docgen.model.text import NO_TEXT, Run, Text
from docgen.model.wordlist import WordList
from docgen.source.wordlist import read_wordlist

LOCALES = Path(__file__).parents[2] / "locales"


@cache
def word_list(language: str = "en") -> WordList:
    """The shipped word list of a language."""
    path = LOCALES / language / "words.yaml"
    read = read_wordlist(path.read_text("utf-8"), path.name)
    assert read.value, read.findings
    return read.value


def text(words: str, key: str = "") -> Text:
    """A text in one run; empty words give no text."""
    return Text(key, words, (Run(words),)) if words else NO_TEXT


def step(id: str = "apron-off", headline: str = "Remove the apron", **more: object) -> Step:
    """A step; strings become texts."""
    lists = {k: tuple(map(text, more.pop(k, ()))) for k in ("do", "watch")}  # type: ignore[call-overload]
    hold = more.pop("hold", None)
    texts = {k: text(more.pop(k, ""), f"step.{id}.{k}") for k in ("say", "answer", "done_when")}  # type: ignore[arg-type]
    number = more.pop("number", 1)
    return Step(
        id, number, str(number), "one", text(headline, f"step.{id}.headline"), more.pop("actor", "wearer"),
        hold=Hold("observer", text(hold)) if hold else None, where=Where("p.yaml", 7, 3), **texts, **lists, **more,
    )  # type: ignore[arg-type]  # fmt: skip


def caution(
    hazard: str = "The outside of the apron is soiled",
    consequence: str = "Virus reaches the skin",
    avoid: str = "Touch only the inside",
    signal: str = "warning",
    about: tuple[str, ...] = (),
) -> Caution:
    """A caution called `soiled`."""
    return Caution("soiled", signal, text(hazard), text(consequence), text(avoid), about, where=Where("p.yaml", 5, 3))


def edition(*steps: Step, **more: object) -> Edition:
    """An edition of these steps, in English, with a few declared names."""
    names = {
        "roles": (Role("wearer", text("Wearer"), "●"), Role("observer", text("Observer"), "▲")),
        "places": (Place("removal-area", text("removal area"), 1),),
        "supplies": (
            Supply("hand-rub", text("hand rub"), "agent"),
            Supply("waste-container", text("waste container"), "container"),
        ),
        "items": (Item("apron", text("apron"), "apron"), Item("face-shield", text("face shield"), "face-shield")),
    }  # fmt: skip
    base = Edition(
        protocol="test", code="T-1", title=text("Removing the apron"), kind="removing", version="1.0",
        effective=datetime.date(2026, 1, 1), review=datetime.date(2027, 1, 1), status="draft", owner=text("Ward"),
        audience=text("Staff"), purpose=text("Remove the apron."), profile="", signal_scheme="ansi-z535", invented=True,
        pairs_with="", minutes=0, basis=(), approval=None, abbreviations=(), changes=(), reason=NO_TEXT, options=(),
        open_options=(), phases=(Phase("one", 1, text("Apron"), tuple(s.id for s in steps)),), steps=steps, branches=(),
        silenced=(), site="", site_name=NO_TEXT, unit=NO_TEXT, sheets=(), waivers=(), speech_rate=0, address="",
        values=(),
        **names,
    )  # type: ignore[arg-type]  # fmt: skip
    return replace(base, **more)  # type: ignore[arg-type]


def branch(question: str = "Tear in a glove?", *steps: Step, **more: object) -> Branch:
    """A branch that rejoins where it was left."""
    return Branch("tear", "A", text(question), steps or (step("change", "Change the gloves"),), "same", **more)  # type: ignore[arg-type]


def rules(findings: tuple[Finding, ...]) -> list[str]:
    """The rules that fired, without their room, in order, each once."""
    return list(dict.fromkeys(f.rule.partition("/")[2] for f in findings))
