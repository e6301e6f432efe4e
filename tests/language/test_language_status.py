"""Status counts what is there against what the sources say now."""

from __future__ import annotations

import datetime
from dataclasses import replace

from catalogues import edition, spanish

from docgen.language import content, protocol_messages, status
from docgen.model.catalogue import Signed


def test_status_counts_texts_and_cautions():
    """Translated, outdated, missing, and how many of them are cautions or holds; who and when."""
    messages = protocol_messages(edition(site=False), "protocols/airing.yaml")
    full = spanish()
    found = status(full, messages)
    assert (found.texts, found.translated, found.outdated, found.missing) == (16, 16, 0, 0)
    states = {
        "caution.draught.avoid": {"translation": ""},
        "step.open.hold": {"outdated": True},
        "step.open.say": {"outdated": True},
    }
    entries = tuple(replace(e, **states.get(e.key, {})) for e in full.entries)
    day = datetime.date(2030, 1, 2)
    some = replace(full, entries=entries, translator=Signed("Ana Pérez", day))
    found = status(some, messages)
    assert (found.translated, found.outdated, found.outdated_cautions) == (13, 2, 1)
    assert (found.missing, found.missing_cautions) == (1, 1)
    assert (found.translator, found.translated_on, found.reviewed) == ("Ana Pérez", "2030-01-02", False)


def test_a_revised_catalogue_is_reviewed_until_it_changes():
    """The reviser signs a content; another content is not reviewed."""
    day = datetime.date(2030, 1, 2)
    one = spanish(state="revised", translator=Signed("A", day), reviser=Signed("B", day))
    signed = replace(one, revised=content([one]))
    assert status(signed, ()).reviewed
    entries = tuple(replace(e, translation=e.translation + "!") for e in signed.entries)
    assert not status(replace(signed, entries=entries), ()).reviewed
