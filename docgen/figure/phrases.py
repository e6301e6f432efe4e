"""Name the phrases of alternative texts, so that every language can say them: key → English.

Colons keep names out of the grammar of a sentence, so that no language has to inflect them.
"""

from __future__ import annotations

PHRASES: dict[str, str] = {
    "front": "{who} from the front: {items}.",
    "back": "{who} from behind: {items}.",
    "hands": "{who}, hands close up: {items}.",
    "nothing": "no protective items",
    "separator": ", ",
    "outermost": "Outermost on the hands: {items}.",
    "bare-hands": "Hands bare.",
    "clean-hands": "Hands just cleaned.",
    "acting": "Acting: {items}.",
    "unnamed": "not named",
    "target.bare": "bare hands",
    "target.ensemble": "all protective items",
    "target.area": "the area",
    "target.supplies": "the supplies",
    "target.clothing": "clothing",
    "target.skin": "skin",
    "target.face": "face",
    "target.eyes": "eyes",
    "verb.inspect": "Inspecting: {items}.",
    "verb.sanitize": "Sanitizing: {items}.",
    "verb.remove": "Taking off: {items}.",
    "verb.put-on": "Putting on: {items}.",
    "verb.discard": "Throwing away: {items}.",
    "verb.touch": "Touching: {items}.",
    "verb.open": "Opening: {items}.",
    "verb.move": "Moving on: {items}.",
    "verb.sit": "Sitting down on: {items}.",
    "verb.confirm": "Confirming aloud.",
    "verb.hand-over": "Handing over: {items}.",
    "verb.change-gloves": "Changing gloves: {items}.",
    "verb.rub-hands": "Rubbing in hand rub: {items}.",
    "verb.wash": "Washing: {items}.",
    "verb.clean": "Wiping clean: {items}.",
    "verb.apply": "Applying: {items}.",
    "verb.collect": "Picking up with a tool: {items}.",
    "verb.wait": "Waiting.",
    "verb.note": "Recording.",
}
"""Every phrase with the slots its translation must keep: `{who}` a role, `{items}` names joined by `separator`."""
