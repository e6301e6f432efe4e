"""Turn a moment into a picture: the wearer as dressed, the item in hand marked, and beside it what is being done.

The wearer always stands at the same place. What is too small to be told apart at that size (head, feet, hands) is shown
enlarged beside it; what is large (gown, apron, coverall) has its arrow beside the body.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from docgen.figure import acts, body, pictograms
from docgen.figure.pen import Place, bounds, moved, placed, rounded_off, shapes, thicker
from docgen.figure.wearer import FOOTGEAR, GARMENTS, HEADGEAR, MARK, Scene, bust, feet, look_up, render, wearer
from docgen.model.edition import Item
from docgen.model.moment import Moment
from docgen.model.sheet import Shape
from docgen.model.text import Text

Shapes = tuple[Shape, ...]

WIDTH, HEIGHT = 114.0, 100.0
AXIS = 34.0
"""Where the wearer stands."""
SIDE = 89.0
"""Middle of the column beside the wearer."""
MIDDLE = Place(SIDE, 50)
DETAIL, FACE, ROOMY = 1.5, 1.75, 1.4
"""Enlargement of head and feet; of a head when the act is about the face only; of a head in a wide hood."""
ALONE, BOLD = 2.3, 1.35
"""Enlargement, at most, of an act that stands alone, and of its lines."""

NAMELESS = Text("", "", ())


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing in units where a figure is 100 high, from its top left corner, y downwards."""

    width: float
    height: float
    shapes: Shapes


def draw(moment: Moment, items: tuple[Item, ...], *, rtl: bool = False) -> Picture:
    """The picture of a moment; mirrored as a whole for a sheet read from the right.

    Without items (nobody wears anything special) it is the act alone; it has no shapes when there is no act either.
    Remembered for the process by what can be seen on it, so that every artifact and language shares one drawing.
    """
    seen = replace(moment, step="", place="", actors=("assistant",) if "assistant" in moment.actors else ())
    return _drawn(seen, tuple(Item(i.id, NAMELESS, i.kind, layer=i.layer) for i in items), rtl)


@lru_cache(maxsize=256)
def _drawn(moment: Moment, items: tuple[Item, ...], rtl: bool) -> Picture:
    scene = look_up(moment, items, rtl)
    width = WIDTH if items else HEIGHT
    if not items or moment.view == "hands":
        drawn = alone(pictograms.act(scene), width)
    else:
        helped = "assistant" in moment.actors
        behind = shapes(placed(body.assistant(), Place(AXIS))) if helped else ()
        hand = shapes(placed(body.helping_hand(), Place(AXIS))) if helped else ()
        person = render(wearer(scene), Place(AXIS), scene.verb, detailed=False)
        drawn = (*behind, *person, *hand, *clean(scene), *beside(scene))
    if rtl:
        drawn = moved(drawn, Place(width, flip=True))
    return Picture(width, HEIGHT, rounded_off(drawn))


def alone(what: Shapes, width: float) -> Shapes:
    """An act as the whole picture."""
    if not what:
        return ()
    left, top, right, bottom = bounds(what)
    scale = min(ALONE, (width - 6) / (right - left), (HEIGHT - 6) / (bottom - top))
    at = Place(width / 2 - scale * (left + right) / 2, HEIGHT / 2 - scale * (top + bottom) / 2, scale)
    return thicker(moved(what, at), BOLD)


def clean(scene: Scene) -> Shapes:
    """A glint at hands that have just been sanitized."""
    if not scene.moment.hands_clean or scene.verb in ("sanitize", "rub-hands", "wash"):
        return ()
    return shapes(acts.sparkle(AXIS - 26, 72, 0.9) + acts.sparkle(AXIS + 26, 72, 0.9))


def beside(scene: Scene) -> Shapes:
    """What stands beside the wearer."""
    verb = scene.verb
    garment = scene.has(*GARMENTS)
    if verb in MARK and garment:
        if scene.has("apron"):
            return _arrow((AXIS + 7, 68), (SIDE + 4, 68), verb)
        return _arrow((AXIS + 13, 32), (SIDE, 72), verb)
    if verb == "touch" and scene.about:
        return moved(pictograms.point(scene.hand, scene.sleeved), _reached(scene))
    if verb in ("remove", "put-on", "inspect", "sanitize", "wash", "clean"):
        if scene.has(*HEADGEAR, "face", "eyes"):
            return head_detail(scene)
        if scene.has(*FOOTGEAR):
            return feet_detail(scene)
        if garment:
            item = pictograms.thing(scene, "about", 56, 42)
            return moved(item, Place(SIDE, 58)) + moved(marks(scene), Place(SIDE, 16))
    if verb in MARK and scene.has("gloves"):
        return moved(pictograms.glove(scene.loose, scene.under_hand, scene.sleeved, verb), Place(SIDE, 46.5, 1.15))
    return moved(pictograms.act(scene), MIDDLE)


def _arrow(start: tuple[float, float], end: tuple[float, float], verb: str) -> Shapes:
    if verb == "put-on":
        start, end = end, start
    return shapes(acts.arrow(f"M{start[0]} {start[1]} L{end[0]} {end[1]}"))


def _reached(scene: Scene) -> Place:
    """Where a pointing hand stands so that its finger meets the item."""
    if scene.has(*HEADGEAR):
        return Place(AXIS + 29, 20)
    if scene.has(*FOOTGEAR):
        return Place(AXIS + 33, 89)
    return Place(AXIS + 32, 75) if scene.has(*GARMENTS) else Place(AXIS + 52, 62)


def head_detail(scene: Scene) -> Shapes:
    """Head and shoulders enlarged, with the mark of the act."""
    small = not scene.has("hood", "face-shield", "powered-hood")
    scale = FACE if small else ROOMY if scene.has("powered-hood") else DETAIL
    top = 22.0
    drawn = render(bust(scene), Place(SIDE, top - 3 * scale, scale), scene.verb, detailed=True)
    if scene.verb in MARK:
        if scene.has("respirator", "mask") and small and not scene.has("goggles"):
            return drawn + _arrow((SIDE + 7, top + 33), (SIDE + 17, 93), scene.verb)
        return drawn + _arrow((SIDE, top + 6), (SIDE, 4), scene.verb)
    return drawn + moved(marks(scene), Place(SIDE, 10.5))


def feet_detail(scene: Scene) -> Shapes:
    """Feet enlarged, with the mark of the act."""
    drawn = render(feet(scene), Place(SIDE, 76 - 95 * DETAIL, DETAIL), scene.verb, detailed=True)
    if scene.verb in MARK:
        return drawn + _arrow((SIDE, 70), (SIDE, 95.5), scene.verb)
    return drawn + moved(marks(scene), Place(SIDE, 24))


def marks(scene: Scene) -> Shapes:
    """What is done to an enlarged detail, as a mark above it."""
    match scene.verb:
        case "inspect":
            return shapes(acts.eye())
        case "clean":
            return shapes(placed(acts.cloth(), Place(-6, 4)) + acts.sparkle(11, 0, 1.1))
    return shapes(acts.drop(-6) + acts.drop(6) + acts.sparkle(18, 1) + acts.sparkle(-18, 1))
