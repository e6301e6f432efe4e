"""Turn a moment into alternative text: what the figure shows, in the edition's own names and a few given phrases."""

from __future__ import annotations

from collections.abc import Mapping

from docgen.figure.phrases import PHRASES
from docgen.model.edition import Edition
from docgen.model.moment import Moment


def describe(moment: Moment, edition: Edition, words: Mapping[str, str] = PHRASES) -> str:
    """What the figure of a moment shows.

    `words` are the phrases of the edition's language, with every key of `PHRASES`; a missing one is a `KeyError`, so
    that no language falls back to another without a word.
    """
    names = _names(edition, words)

    def listed(ids: tuple[str, ...]) -> str:
        return words["separator"].join(names.get(i, i.replace("-", " ")) for i in ids)

    out: list[str] = []
    if edition.items:
        wearer = next((r for r in edition.roles if r.id == "wearer"), None) or edition.role(moment.actors[0])
        in_hand = moment.subject if moment.verb == "remove" else ()
        worn = listed(tuple(i for i in moment.worn if i not in in_hand))
        out.append(words[moment.view].format(who=wearer.name.plain, items=worn or words["nothing"]))
        out.append(_hands(moment, edition, words))
        if moment.hands_clean:
            out.append(words["clean-hands"])
    if moment.verb:
        out.append(words[f"verb.{moment.verb}"].format(items=listed(moment.subject) or words["unnamed"]))
    if edition.items and moment.actors not in ((), ("wearer",)):
        out.append(words["acting"].format(items=listed(moment.actors)))
    return " ".join(s for s in out if s)


def _names(edition: Edition, words: Mapping[str, str]) -> dict[str, str]:
    """Everything an act can be about → its name; the edition's own names win."""
    prefix = "target."
    names = {key.removeprefix(prefix): words[key] for key in PHRASES if key.startswith(prefix)}
    for things in (edition.roles, edition.places, edition.supplies, edition.items):
        names |= {thing.id: thing.name.plain for thing in things}
    return names


def _hands(moment: Moment, edition: Edition, words: Mapping[str, str]) -> str:
    """Which layer of the hands is outermost, where there are two, or that they are bare."""
    gloves = [i for i in edition.items if i.kind == "gloves" and i.id in moment.worn]
    if not gloves:
        return words["bare-hands"]
    top = next((i for i in gloves if i.layer == moment.hands), None)
    return words["outermost"].format(items=top.name.plain) if top and len(gloves) > 1 else ""
