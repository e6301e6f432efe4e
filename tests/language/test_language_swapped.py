"""Two good translations that stand under each other's sources."""

from __future__ import annotations

import random
from collections import defaultdict
from dataclasses import replace
from pathlib import Path

import pytest

from docgen.language import Ground, check
from docgen.model.catalogue import Catalogue
from docgen.source import inline
from docgen.source.catalogue import read_catalogue

LOCALES = Path(__file__).parents[2] / "locales"
LANGUAGES = sorted(p.name for p in LOCALES.iterdir() if (p / "hand-rub.po").exists())


def shipped(language: str, *names: str) -> list[Catalogue]:
    """Catalogues as they are shipped; all when none is named."""
    paths = sorted((LOCALES / language).glob("*.po"))
    read = (read_catalogue(p.read_text("utf-8"), p.name, language, p.stem).value for p in paths)
    return [c for c in read if c and (not names or c.name in names)]


def suspected(catalogues: list[Catalogue], language: str) -> list[frozenset[str]]:
    """The sources of each two that are suspected."""
    found = (f for f in check(catalogues, {}, Ground(language), inline) if f.rule == "language/swapped")
    return [frozenset(n.text for n in f.notes if n.text.startswith("source")) for f in found]


def exchanged(catalogues: list[Catalogue], name: str, a: str, b: str, comment: str = "") -> list[Catalogue]:
    """With the translations of two texts of a catalogue exchanged."""
    whole = next(c for c in catalogues if c.name == name)
    said = {e.key: e.translation for e in whole.entries}
    other = {a: said[b], b: said[a]}
    comments = (comment,) if comment else ()
    entries = tuple(
        replace(e, translation=other[e.key], comments=comments) if e.key in other else e for e in whole.entries
    )
    return [replace(whole, entries=entries) if c is whole else c for c in catalogues]


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_is_shipped_is_not_suspected(language):
    """A warning that is nearly always wrong is not read when it is right."""
    assert suspected(shipped(language), language) == []


def test_two_headlines_that_changed_places_are_shown_together():
    """Palms under backs, and backs under palms: each alone is a good translation."""
    spanish = exchanged(
        shipped("es", "hand-rub", "templates", "sites"), "hand-rub", "step.palms.headline", "step.backs.headline"
    )

    (pair,) = suspected(spanish, "es")

    assert pair == {"source: `Rub your palms together`", "source: `Rub the back of each hand`"}


def test_a_translator_can_say_that_it_is_meant_so():
    """With a reason, in a comment of one of the two."""
    keys = "step.palms.headline", "step.backs.headline"
    spanish = exchanged(
        shipped("es", "hand-rub", "templates", "sites"), "hand-rub", *keys, comment="accepted: swapped, a test of mine"
    )

    assert suspected(spanish, "es") == []


@pytest.mark.parametrize("language", ["es", "ar", "zh-Hans"])
def test_most_exchanges_made_at_random_are_found(language):
    """Half at least, whatever the script; what is said with words that stand nowhere else can't be judged."""
    catalogues = shipped(language)
    kinds: dict[tuple[str, str, str], list] = defaultdict(list)
    for catalogue in catalogues:
        for entry in catalogue.entries:
            parts = entry.key.split(".")
            if parts[0] in ("step", "caution") and entry.translation:
                kinds[catalogue.name, parts[0], parts[2]].append(entry)
    groups = [group for _, group in sorted(kinds.items()) if len(group) > 4]
    luck = random.Random(11)
    found = tried = 0
    while tried < 20:
        a, b = luck.sample(group := luck.choice(groups), 2)
        name = next(c.name for c in catalogues if group[0] in c.entries)
        if a.source == b.source or a.translation == b.translation:
            continue
        tried += 1
        pair = {f"source: `{a.source}`", f"source: `{b.source}`"}
        found += pair in suspected(exchanged(catalogues, name, a.key, b.key), language)

    assert found >= tried / 2
