"""Judge whether a notice of change says everything that differs from the version before, old and new.

What differs is found here anew, by holding the texts of equal ids against each other: a notice made from a comparison
that overlooked something does not pass. A part whose id is new is only asked for if its words are new too.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

from docgen.model.edition import Branch, Caution, Edition, Step
from docgen.model.text import NO_TEXT, Text
from docgen.readback.flow import Flow
from docgen.readback.stream import squash
from docgen.readback.wanted import Wanted, known_names, known_roles, known_texts

HINT = "print every text that differs, in its old and its new words"

NEAR = 40
"""Characters between the version that is replaced and its fingerprint."""

Part = Step | Caution | Branch


def changed(flow: Flow, edition: Edition, before: Edition) -> None:
    """Look for what differs, and take it, so that the rest of the sheet is judged without it."""
    differing = tuple(_differing(edition, before))
    places = _places(flow, {t.plain: Wanted(what, t) for what, *texts in differing for t in texts if t})
    for what, old, new in differing:
        for side, text in (("old", old), ("new", new)):
            if text and not places[text.plain]:
                wanted = Wanted(f"{side} {what}", text)
                flow.lacking(wanted, 0, len(flow.stream.text), "readback/change-missing", HINT)
        was, now = (places[t.plain] if t else [] for t in (old, new))
        # a heading may say the new words before both
        if was and now and now[-1] < was[0]:
            flow.say(
                "readback/change-order",
                f"the old {what} `{old.plain}` stands after the new one, `{new.plain}`",
                flow.where(was[0], was[0] + 1),
                hint="print the old words before the new ones",
            )
    for one, other in _turned(edition, before):
        if not any(list(flow.stream.find(squash(s.headline.plain))) for s in (one, other)):
            flow.say(
                "readback/change-missing",
                f"`{other.headline.plain}` stood before `{one.headline.plain}`, now after it, and neither is named",
                hint="name each step that moved",
            )
    words, mark = flow.stream.words(0, len(flow.stream.text)), before.fingerprint
    stamped = rf"v{re.escape(before.version)}(?![\d.]).{{0,{NEAR}}}{mark[:5]}.?{mark[5:]}"
    if not re.search(stamped, words, re.DOTALL):
        flow.say(
            "readback/change-missing",
            f"nothing says that what is stamped `v{before.version}`, `{mark[:5]}-{mark[5:]}` is to be taken down",
            hint="name the version that is replaced, with its fingerprint",
        )


def also_known(before: Edition) -> tuple[str, ...]:
    """Words of the version before that a notice may say besides those of its own."""
    mark = before.fingerprint
    return (*known_texts(before), *known_roles(before), *known_names(before), f"v{before.version}",
            f"{mark[:5]}-{mark[5:]}", mark)  # fmt: skip


def _places(flow: Flow, wanted: dict[str, Wanted]) -> dict[str, list[int]]:
    """Every place of every text, in order; the longest first, so that none is seen in a part of another."""
    places: dict[str, list[int]] = {}
    for plain in sorted(wanted, key=len, reverse=True):
        here = places.setdefault(plain, [])
        while found := flow.place(wanted[plain], 0, len(flow.stream.text)):
            here.append(found.start)
        here.sort()
    return places


def _differing(edition: Edition, before: Edition) -> Iterator[tuple[str, Text, Text]]:
    """What, the old and the new text: each differing text once, on whichever sides it is to be said."""
    for old_parts, new_parts in (
        (_cautions(before), _cautions(edition)),
        ({s.id: s for s in before.all_steps()}, {s.id: s for s in edition.all_steps()}),
        ({b.id: b for b in before.branches}, {b.id: b for b in edition.branches}),
    ):
        was, now = ({t.plain for p in parts.values() for t in _head(p)} for parts in (old_parts, new_parts))
        for id, part in new_parts.items():
            if id in old_parts:
                yield from _texts(old_parts[id], part)
            else:
                yield from (("text of what is new", NO_TEXT, t) for t in _head(part) if t.plain not in was)
        for id, part in old_parts.items():
            if id not in new_parts:
                yield from (("text of what is gone", t, NO_TEXT) for t in _head(part)[:1] if t.plain not in now)


def _cautions(edition: Edition) -> dict[str, Caution]:
    return {c.id: c for s in edition.all_steps() for c in s.cautions}


def _head(part: Part) -> tuple[Text, ...]:
    """What a new part says on every sheet."""
    match part:
        case Step():
            return (part.headline, part.hold.until) if part.hold else (part.headline,)
        case Caution():
            return part.texts
        case _:
            return tuple(t for t in (part.question, part.leave) if t)


def _texts(old: Part, new: Part) -> Iterator[tuple[str, Text, Text]]:
    match old, new:
        case Step(), Step():
            pairs = [
                ("headline", old.headline, new.headline), ("say", old.say, new.say), ("answer", old.answer, new.answer),
                ("done-when", old.done_when, new.done_when),
                ("hold", old.hold.until if old.hold else NO_TEXT, new.hold.until if new.hold else NO_TEXT),
            ]  # fmt: skip
            for field, was, now in (("do", old.do, new.do), ("watch", old.watch, new.watch)):
                said = {t.plain for t in was} & {t.plain for t in now}
                pairs += [(field, t, NO_TEXT) for t in was if t.plain not in said]
                pairs += [(field, NO_TEXT, t) for t in now if t.plain not in said]
        case Caution(), Caution():
            pairs = list(zip(("hazard", "consequence", "avoid"), old.texts, new.texts, strict=True))
        case Branch(), Branch():
            pairs = [
                ("question", old.question, new.question), ("end", old.leave, new.leave), ("tell", old.tell, new.tell),
            ]  # fmt: skip
        case _:
            raise AssertionError("two parts of one kind")
    yield from ((field, a, b) for field, a, b in pairs if a.plain != b.plain)


def _turned(edition: Edition, before: Edition) -> Iterator[tuple[Step, Step]]:
    """Neighbours of the main path, among the steps of both versions, that stood the other way round."""
    place = {s.id: n for n, s in enumerate(before.steps)}
    kept = [s for s in edition.steps if s.id in place]
    yield from ((a, b) for a, b in pairwise(kept) if place[a.id] > place[b.id])
