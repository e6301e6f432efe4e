"""Turn identified copies into what a person on a ward can act on, and into data for programs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import fields
from typing import Any

from docgen.model.sighting import Copy, Seen

ACTIONS = {"current": "keep", "scheduled": "wait", "superseded": "take-down", "withdrawn": "take-down",
           "altered": "take-down", "unknown": "do-not-use"}  # fmt: skip
"""State → what to do, for programs."""
MOST = 8
"""Sentences of one kind that are shown."""
HOW = {"digest": "by the file itself, which is the released one to the last byte", "code": "by its square code",
       "stamp": "by its printed stamp"}  # fmt: skip


def lines(copies: Iterable[Copy], seen: Seen | None) -> Iterator[str]:
    """For a person: what to do first, then what it is and why."""
    for n, copy in enumerate(copies):
        yield from ("",) if n else ()
        yield f"  {todo(copy)}"
        if what := _what(copy):
            yield f"  {what}"
        yield from _listed("why", copy.why)
        yield from _listed(f"changed in v{copy.by}", copy.changed)
        yield from _listed("note", copy.notes)
        if copy.read_from:
            yield f"  identified {' and '.join(HOW[w] for w in copy.read_from)}{_compared(copy, seen)}"
    yield from (f"  note: {note}" for note in (seen.notes if seen else ()))


def todo(copy: Copy) -> str:
    """One sentence: what state it is in, and what to do."""
    c, instead = copy, f"put up v{copy.by} instead" if copy.by else "nothing holds instead: ask who released it"
    match copy.state:
        case "current" if c.why:
            return f"LOOK AT IT: v{c.version} holds, since {c.since}, but this is not quite what was released"
        case "current":
            return f"KEEP IT: v{c.version} holds, since {c.since}, to be reviewed by {c.review}"
        case "scheduled":
            return f"NOT YET: v{c.version} holds from {c.since}; put it up on that day, not before"
        case "superseded":
            return f"TAKE IT DOWN: v{c.by} replaced v{c.version} on {c.since}; put up v{c.by}"
        case "withdrawn":
            return f"TAKE IT DOWN: v{c.version} was withdrawn on {c.since}: {c.reason}; {instead}"
        case "altered":
            return "TAKE IT DOWN and keep it for whoever released it: it does not say what was released"
        case _:
            return "DO NOT USE IT: it can't be found among the releases; ask who is answerable for the procedure"


def _what(c: Copy) -> str:
    number = _numbers(c.sheets)
    noun = "side" if c.artifact == "cards" else "sheet"
    count = f"{noun if len(c.sheets) == 1 else noun + 's'} {number} of {c.of}" if c.sheets and c.of else ""
    name = " ".join(filter(None, (c.code, f"v{c.version}" if c.version else "", c.title)))
    parts = [name, c.artifact, count, c.site, c.language, f"pages {_numbers(c.pages)}" if len(c.pages) > 1 else ""]
    where = f"at {c.box[0]:.0f}–{c.box[2]:.0f} % across, {c.box[1]:.0f}–{c.box[3]:.0f} % down" if c.box else ""
    return " · ".join(filter(None, (*parts, where))) if name else where


def _numbers(numbers: tuple[int, ...]) -> str:
    """`1–3, 5`."""
    groups: list[list[int]] = []
    for n in numbers:
        if groups and n == groups[-1][-1] + 1:
            groups[-1].append(n)
        else:
            groups.append([n])
    return ", ".join(f"{g[0]}–{g[-1]}" if len(g) > 1 else str(g[0]) for g in groups)


def _listed(what: str, sentences: tuple[str, ...]) -> Iterator[str]:
    yield from (f"  {what}: {sentence}" for sentence in sentences[:MOST])
    if len(sentences) > MOST:
        yield f"  {what}: and {len(sentences) - MOST} more"


def _compared(copy: Copy, seen: Seen | None) -> str:
    match copy.compared:
        case "words":
            return "; its words were compared with the release"
        case "" if seen and seen.kind == "picture" and copy.state not in ("altered", "unknown"):
            return "; in a picture its steps are not compared: look whether anything was written over"
    return ""


def data(copies: Iterable[Copy]) -> list[dict[str, Any]]:
    """For programs: names and values stay the same between versions of docgen. Dates are ISO 8601."""
    return [{"action": ACTIONS[c.state], **{f.name: _plain(getattr(c, f.name)) for f in fields(c)}} for c in copies]


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return list(value)
    return value.isoformat() if hasattr(value, "isoformat") else value
