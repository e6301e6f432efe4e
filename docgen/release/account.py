"""Turn a change into an account of it: lines for a person, plain data for programs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from docgen.model.change import Altered, Change, Degree, Reworded, Stretch
from docgen.model.edition import Branch, Caution, Step
from docgen.model.text import plain
from docgen.release.touched import Touched
from docgen.release.version import least

MARKS = {"both": ("", ""), "old": ("[-", "-]"), "new": ("{+", "+}")}
"""Side of a stretch → what stands around it in plain text, as programs that compare words print it."""
HOW = {"added": "new", "removed": "gone", "moved": "moved", "changed": "changed"}
WHAT = {
    "done-when": "done when", "removes-by": "removes by", "site-name": "site", "unit": "unit",
}  # fmt: skip


def title(part: Altered) -> str:
    """A part as people call it: `step 7, Sanitize the inner gloves`."""
    value = part.new or part.old
    at = part.new_at or part.old_at
    match value:
        case Step():
            words = f"step {at[0]}, {value.headline.plain}"
        case Caution():
            before = f" before step {' and '.join(at)}" if at else ""
            words = f"{value.signal}{before}, {value.hazard.plain}"
        case Branch():
            words = f"branch {at[0]}, {value.question.plain}"
        case None:
            words = "the document itself" if part.kind == "document" else f"phase {at[0]}"
        case _:
            words = f"{part.kind} {plain(value.name.runs)}"
    return words


def lines(change: Change, touched: Touched | None = None) -> Iterator[str]:
    """The account for a person. `[-gone-]` and `{+new+}` mark words."""
    before, after = change.before, change.after
    yield f"{after.protocol} {before.version} → {after.version}: {change.degree.words}"
    for part in change.parts:
        yield f"  {HOW[part.how]}: {title(part)}{_place(part)}"
        if part.old_id:
            yield f"      id: {part.old_id} → {part.id}"
        for text in part.texts if part.how in ("changed", "moved") else ():
            why = f"  ({text.why})" if text.why and text.old and text.new else ""
            yield f"      {WHAT.get(text.field, text.field)}: {marked(text.stretches)}{why}"
        for fact in part.facts:
            yield f"      {fact.what}: {fact.old or 'none'} → {fact.new or 'none'}"
    if not change.parts:
        return
    yield f"  the version must be at least {least(before.version, change.degree)}"
    yield f"  practise before use: {'yes' if change.retraining else 'no'}"
    if touched:
        yield from (f"  {line}" for line in _reach(touched))


def parts(change: Change) -> Iterator[str]:
    """Each part that differs, in a few words: `new: step 7, Sanitize the inner gloves`; one that is changed without
    a word before it. Titles and dates only where nothing else differs."""
    shown = [part for part in change.parts if part.kind != "document"] or change.parts
    for part in shown:
        how = "" if part.how == "changed" else f"{HOW[part.how]}: "
        yield f"{how}{title(part)}{_place(part)}"


def _place(part: Altered) -> str:
    if part.how == "moved" or (part.old_at and part.new_at and part.old_at != part.new_at):
        return f" (was {' and '.join(part.old_at)})"
    return ""


def marked(stretches: Iterable[Stretch]) -> str:
    """Both texts in one line."""
    return "".join(f"{MARKS[s.side][0]}{s.words}{MARKS[s.side][1]}" for s in stretches)


def _reach(touched: Touched) -> Iterator[str]:
    words = [a for a, reached in touched.artifacts if reached]
    stamps = [a for a, reached in touched.artifacts if not reached]
    only = f"; only the stamp: {', '.join(stamps)}" if stamps else ""
    yield f"other words on: {', '.join(words) or 'nothing'}{only}"
    for language, texts in touched.languages:
        yield f"to translate into {language}: {texts} {'text' if texts == 1 else 'texts'}"
    for p in touched.postings:
        yield f"replace: {p.location}: {p.artifact}, {p.quantity} in {', '.join(p.languages)}"


def data(change: Change, touched: Touched | None = None) -> dict[str, Any]:
    """The account for programs: names and values stay the same between versions of docgen."""
    before, after = change.before, change.after
    return {
        "protocol": after.protocol,
        "site": after.site,
        "language": after.language,
        "old": {"version": before.version, "fingerprint": before.fingerprint},
        "new": {"version": after.version, "fingerprint": after.fingerprint},
        "class": {Degree.NONE: "none", Degree.WORDING: "wording"}.get(change.degree, "doing"),
        "sequence": change.degree >= Degree.SEQUENCE,
        "least-version": least(before.version, change.degree) if change.parts else before.version,
        "retraining": change.retraining,
        "parts": [_part(p) for p in change.parts],
        **(_touched(touched) if touched else {}),
    }


def _part(p: Altered) -> dict[str, Any]:
    return {
        "kind": p.kind, "id": p.id, **({"old-id": p.old_id} if p.old_id else {}), "how": p.how,
        "class": "doing" if p.degree >= Degree.DOING else "wording", "old-at": list(p.old_at), "new-at": list(p.new_at),
        "texts": [_text(t) for t in p.texts],
        "facts": [{"what": f.what, "old": f.old, "new": f.new} for f in p.facts],
    }  # fmt: skip


def _text(t: Reworded) -> dict[str, Any]:
    return {
        "field": t.field, "old": t.old.plain, "new": t.new.plain, "why": t.why,
        "difference": [[s.side, s.words] for s in t.stretches],
    }  # fmt: skip


def _touched(t: Touched) -> dict[str, Any]:
    return {
        "artifacts": dict(t.artifacts),
        "translations": dict(t.languages),
        "postings": [
            {"id": p.id, "location": p.location, "artifact": p.artifact, "languages": list(p.languages),
             "quantity": p.quantity}
            for p in t.postings
        ],
    }  # fmt: skip
