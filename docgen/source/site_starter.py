"""Turn a name and the protocols there are into a first site: its choices to make and blanks to fill, explained."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from docgen.model.protocol import Protocol
from docgen.source.parts import parts, words
from docgen.source.starter import check_name

BLANK = "‹", "›"
"""Stand round a text that a site still has to write; `docgen check` warns of each."""

_HEAD = """\
# yaml-language-server: $schema=../schema/site.schema.json
#
# A site: one unit, and how it uses the protocols. From this file and the protocols all its sheets are made.
# Write over everything in ‹ ›; `docgen check --site {name}` says what is left. Lines with `#` are notes for you.

site: {name}
name: ‹name of the hospital›
unit: ‹name of the unit›
languages: [en]               # others: `docgen words status` shows which there are

# The protocols in use here, each with the choices made here. Delete those you do not use, with what they need below.
protocols:
"""
_SHEETS = """
# On which sheet each artifact is printed, and from how many metres it must be readable. A protocol may differ: write
# `sheets:` under it, in the same way. Sheets: A0 to A7, Letter, Tabloid, 18x24in, 24x36in; for cards ID-1, 3x5in.
sheets:
  poster: {sheet: A1, distance: 0.9}
  cards: {sheet: A6, distance: 0.4}
  script: {sheet: A4, distance: 0.5}
  checklist: {sheet: A4, distance: 0.5}
  notice: {sheet: A4, distance: 0.5}

# Where printed copies hang or are carried, so that they can be exchanged. One looks like this:
# postings:
#   - id: removal-wall
#     location: Removal area, wall opposite the chair
#     protocol: @FIRST@
#     artifact: poster
#     laminated: true
"""
_STANDS_IN = 600
"""Seconds of contact until somebody has looked at the label: longer than most labels ask for, from memory."""


def site_starter(name: str, protocols: Sequence[Protocol]) -> str:
    """The text of a new site called `name` that uses all of `protocols`.

    `ValueError` when the name is not lower-case words joined by hyphens, or there are no protocols.
    """
    check_name(name)
    if not protocols:
        raise ValueError("a site needs a protocol to use, and there is none here")
    lines = [_HEAD.replace("{name}", name).rstrip("\n")]
    for p in protocols:
        lines += _use(p)
    lines += _values(protocols)
    lines += _supplies(protocols)
    lines += _places(protocols)
    return "\n".join(lines) + "\n" + _SHEETS.replace("@FIRST@", protocols[0].protocol)


def _blank(what: str) -> str:
    return f"{BLANK[0]}{what}{BLANK[1]}"


def _noted(line: str, note: str) -> str:
    return f"{line.ljust(30)}# {note}" if len(line) < 29 else f"{line}  # {note}"


def _use(p: Protocol) -> Iterator[str]:
    title = p.title.source
    if not p.options:
        yield _noted(f"  {p.protocol}: {{}}", title)
        return
    yield _noted(f"  {p.protocol}:", title)
    yield "    options:"
    for option, defined in p.options.items():
        chosen = defined.default or next(iter(defined.choices))
        others = " or ".join(choice for choice in defined.choices if choice != chosen)
        yield _noted(f"      {option}: {chosen}", f"or: {others}" if others else defined.title.source)


def _values(protocols: Iterable[Protocol]) -> Iterator[str]:
    """Every placeholder that a protocol does not fill itself, with who needs it."""
    needed: dict[str, list[str]] = {}
    for p in protocols:
        own = {*p.items, *p.places, *p.supplies}
        for slot in dict.fromkeys(slot for _, text in words(p) for slot in text.slots):
            if slot not in own:
                needed.setdefault(slot, []).append(p.protocol)
    if needed:
        yield "\n# What fills the {placeholders} of these protocols: telephone numbers, times, names."
        yield "values:"
    for slot, users in needed.items():
        yield _noted(f"  {slot}: {_blank(slot.replace('-', ' '))}", ", ".join(users))


def _supplies(protocols: Sequence[Protocol]) -> Iterator[str]:
    """What cleans: where a step waits for its contact time that must be given; of the others the product may be."""
    named = {n: supply.name.source for p in protocols for n, supply in p.supplies.items() if supply.kind == "agent"}
    steps = [part.step for p in protocols for part in parts(p)]
    times = [time for step in steps for time in (step.time, *(act.time for act in step.acts)) if time]
    timed = dict.fromkeys(time.contact for time in times if time.contact in named)
    if not named:
        return
    yield "\n# The products in use here. `contact-seconds` is how long a surface must stay wet: copy it from the label."
    yield "supplies:" if timed else "# supplies:"
    for name, what in named.items():
        if name in timed:
            yield f"  {name}: {{product: {_blank(what)}, contact-seconds: {_STANDS_IN}}}"
    for name, what in named.items():
        if name not in timed:
            yield f"#  {name}: {{product: {_blank(what)}}}"


def _places(protocols: Sequence[Protocol]) -> Iterator[str]:
    """What rooms are called is optional: shown, not done."""
    places = {name: place.name.source for p in protocols for name, place in p.places.items()}
    if places:
        yield "\n# What the rooms are called here, if they have names or numbers of their own:"
        yield "# places:"
        yield from (f"#  {name}: {what} (room 7)" for name, what in places.items())
