"""Every text an artifact carries, altered in every small way, is caught; nothing else is said of the faithful one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace

import pytest
from faithful import FORMS, faithful, make_edition, words
from test_readback_rules import KNOWN

from docgen.model.text import Text
from docgen.readback import examine, read, verdict
from docgen.readback.wanted import CARRIES, wanted_loose, wanted_steps


def alterations(text: str) -> Iterator[str]:
    """Each word left out, `not` put in at each place, neighbours swapped, each digit changed."""
    parts = text.split()
    for n in range(len(parts)):
        if len(parts) > 1:
            yield " ".join(parts[:n] + parts[n + 1 :])
        yield " ".join([*parts[:n], "not", *parts[n:]])
        if n and parts[n] != parts[n - 1]:
            yield " ".join([*parts[: n - 1], parts[n], parts[n - 1], *parts[n + 1 :]])
    for n, ch in enumerate(text):
        if ch.isdigit():
            yield text[:n] + str((int(ch) + 1) % 10) + text[n + 1 :]


def carried(artifact: str) -> list[Text]:
    edition = make_edition()
    steps = wanted_steps(edition, artifact)
    texts = [w.step.headline for w in steps] + [t.text for w in steps for t in w.texts]
    texts += [t.text for w in steps for c in w.cautions for t in c.texts] + [edition.title]
    texts += [b.question for b in edition.branches if "branches" in CARRIES[artifact]]
    return list(dict.fromkeys(texts + [w.text for w in wanted_loose(edition, artifact)]))


def exchanged(value, old: Text, new: Text):
    """An edition (or part of one) with one text for another, wherever it occurs."""
    if value == old:
        return new
    if isinstance(value, tuple):
        return tuple(exchanged(v, old, new) for v in value)
    if is_dataclass(value) and not isinstance(value, type | Text):
        return replace(value, **{f.name: exchanged(getattr(value, f.name), old, new) for f in fields(value)})
    return value


@pytest.mark.parametrize("artifact", FORMS)
def test_every_small_alteration_is_caught(artifact: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The sheet stays as it is and the edition changes: what is compared is the same, and it is read only once."""
    copy = read(faithful(artifact))
    monkeypatch.setattr(verdict, "read", lambda data: copy)
    edition = make_edition()
    assert examine(b"", edition, artifact, "x.pdf", known_words=KNOWN + FORM_WORDS) == ()
    survivors = []
    count = 0
    for text in carried(artifact):
        for altered in alterations(text.plain):
            count += 1
            other = exchanged(edition, text, words(altered))
            if not examine(b"", other, artifact, "x.pdf", known_words=KNOWN + FORM_WORDS):
                survivors.append((text.plain, altered))
    assert survivors == [] and count > 40


FORM_WORDS = (
    "Wearer",
    "Role",
    "Observer",
    "Sizes",
    "Date",
    "Start",
    "End",
    "Next-Due",
    "Signature",
    "Action",
    "Breach",
)
