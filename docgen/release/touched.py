"""Turn a change into what it reaches: artifacts whose words differ, languages to translate anew, copies to replace."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from docgen.model.change import Altered, Change, Degree
from docgen.model.edition import ARTIFACTS
from docgen.model.site import Posting, Site

SHORT = frozenset({"headline", "hold", "hazard", "consequence", "avoid", "question", "leave", "title", "number"})
FULL = SHORT | {"tell", "watch", "done-when"}
SAYS: dict[str, frozenset[str]] = {
    "poster": SHORT, "cards": SHORT, "script": FULL | {"say", "answer", "do"}, "checklist": FULL,
}  # fmt: skip
"""Artifact → the fields that it prints. The notice of change prints every one that differs."""
DRAWN = frozenset({"acts", "place", "actor", "hold by", "signal word", "goes on at", "cautions", "branches", "time"})
"""Facts that can be seen on sheets without a word that differs: figures, marks, signal words, ways on, times."""


@dataclass(frozen=True, slots=True)
class Touched:
    """What a change reaches at a site."""

    artifacts: tuple[tuple[str, bool], ...]
    """Each artifact, and whether anything but its stamp differs."""
    languages: tuple[tuple[str, int], ...]
    """Each language of the site but the source's, and how many texts need a translation."""
    postings: tuple[Posting, ...]
    """Copies to replace, in walking order: all of this protocol, since every stamp differs."""


def touched(change: Change, site: Site | None, source_language: str = "en") -> Touched:
    """What a change reaches. Without a site, no languages and no postings."""
    artifacts = tuple((a, bool(change.parts) if a == "notice" else _reaches(change.parts, a)) for a in ARTIFACTS)
    if site is None:
        return Touched(artifacts, (), ())
    protocol = change.after.protocol
    use = site.protocols.get(protocol)
    languages = (use.languages if use else None) or site.languages
    said = {t.source for t in (*change.after.changes, change.after.reason)}
    said -= {t.source for t in (*change.before.changes, change.before.reason)}
    texts = len(({t.new.source for part in change.parts for t in part.texts} | said) - {""})
    postings = sorted((p for p in site.postings if p.protocol == protocol), key=lambda p: (p.walk, p.id))
    return Touched(artifacts, tuple((x, texts) for x in languages if x != source_language), tuple(postings))


def _reaches(parts: Iterable[Altered], artifact: str) -> bool:
    for part in parts:
        if part.kind in ("step", "caution", "branch") and part.how != "changed":
            return True
        if part.old_at != part.new_at or any(t.field in SAYS[artifact] for t in part.texts):
            return True
        if any(f.what in DRAWN for f in part.facts if f.degree >= Degree.DOING):
            return True
        if part.kind == "role" and part.texts:  # printed beside every step
            return True
    return False
