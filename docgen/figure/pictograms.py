"""Turn an act into a drawing of its own: hands close up, things at work, all around one origin, some 46 units across.

They stand beside the wearer, and alone where nothing special is worn.
"""

from __future__ import annotations

from docgen.figure import acts, body, garments, hands, headgear
from docgen.figure.pen import (
    CLOTH,
    FINE,
    HERE,
    PAPER,
    Part,
    Place,
    block,
    bounds,
    capsule,
    ellipse,
    moved,
    path,
    placed,
    rounded,
    shapes,
    solid,
    stroke,
)  # fmt: skip
from docgen.figure.wearer import KINDS, MARK, Scene
from docgen.model.sheet import Shape

Shapes = tuple[Shape, ...]


# --- hands --------------------------------------------------------------------------------------------------


def glove(layer: str, under: str, sleeve: bool, verb: str, at: Place = HERE) -> Shapes:
    """A hand with its glove half off, or half on."""
    mark = MARK[verb]
    beneath = (*hands.forearm(sleeve, 12), *hands.wrist(under))
    lifted = placed(hands.large(layer), Place(0, -12))
    arrow = acts.arrow("M0 -40 L0 -66" if verb == "remove" else "M0 -66 L0 -42")
    to = Place(at.x, at.y + 30 * at.scale, at.scale, at.turn, at.flip)
    return (
        *shapes(placed(beneath, to)),
        *shapes(placed(lifted, to), mark=mark),
        *shapes(placed(arrow, to)),
    )


def gloves(layer: str, under: str, sleeve: bool, verb: str) -> Shapes:
    """Both hands: one glove half off or on, the other hand waiting."""
    other = layer if verb == "remove" else under
    at = Place(-14, 16, 0.7, -4, flip=True)
    return (
        *shapes(placed((*hands.forearm(sleeve), *hands.large(other)), at)),
        *glove(layer, under, sleeve, verb, Place(12, -5, 0.7)),
    )


def change(layer: str, sleeve: bool) -> Shapes:
    """A glove comes off, a new one goes on: two arrows round a gloved hand."""
    at = Place(0, 14, 0.74)
    ring = acts.arrow("M-14 16 C-24 6 -24 -16 -9 -23") + acts.arrow("M14 -20 C24 -10 24 12 9 20")
    return (*shapes(placed((*hands.forearm(sleeve, 14), *hands.large(layer)), at)), *shapes(ring))


def pair(layer: str, sleeve: bool) -> Shapes:
    """Both hands held up."""
    out: list[Shape] = []
    for flip, x, turn in ((True, -12.0, -6.0), (False, 12.0, 6.0)):
        at = Place(x, 12, 0.7, turn, flip=flip)
        out += shapes(placed(hands.forearm(sleeve), at))
        out += shapes(placed(hands.large(layer), at))
    return tuple(out)


def rub(layer: str, sleeve: bool) -> Shapes:
    """Hands rubbing each other."""
    out: list[Shape] = []
    for flip, x, turn in ((True, -10.0, 50.0), (False, 10.0, -50.0)):
        at = Place(x, 14, 0.68, turn, flip=flip)
        out += shapes(placed((*hands.forearm(sleeve), *hands.large(layer)), at))
    return tuple(out)


def sanitize(layer: str, sleeve: bool) -> Shapes:
    """Hands rubbing each other with an agent, and clean by it."""
    marks = acts.drop(0, -19, 1.15) + acts.rays(0, 4, 19.5, 25, -152, -118, 3) + acts.rays(0, 4, 19.5, 25, -62, -28, 3)
    return (*rub(layer, sleeve), *shapes(marks))


def wash(layer: str, sleeve: bool) -> Shapes:
    """Hands under running water."""
    water = stroke(path("M-2.2 -11 L-2.2 -4"), path("M3 -11 L3 -4"))
    return (*shapes((*placed(acts.tap(), Place(-1.5, -3)), water)), *moved(rub(layer, sleeve), Place(0, 9)))


def point(layer: str, sleeve: bool) -> Shapes:
    """A finger touching something at its left."""
    fill = hands.OUTER if layer == hands.OUTERMOST else PAPER
    fist = (
        rounded(-6, -6, 15, 14, 4.6), capsule(-4, -4, -19, -4, 1.9), capsule(-4, 0.7, -9, 0.7, 1.8),
        capsule(-4, 5, -8, 5, 1.7), path("M7 -5 L20 -5 L20 7 L7 7 Z"),
    )  # fmt: skip
    lines = path("M10 -5.6 L10 7.6 M15 -5.6 L15 7.6") if layer == hands.OUTERMOST else path("M10 -5.6 L10 7.6")
    parts: tuple[Part, ...] = (solid(*fist, fill=fill), stroke(path("M-2 -4.4 C1 -4 3 -2 3 1"), line=FINE))
    if layer != hands.BARE:
        parts += (stroke(lines, line=FINE),)
    else:
        parts += (block(ellipse(-19, -4.2, 1.1, 0.9)),)
    return shapes(parts)


# --- things ---------------------------------------------------------------------------------------------------


def inspect() -> Shapes:
    """A large eye."""
    return shapes(acts.eye(0, 0, 1.75))


def discard(thing: Shapes) -> Shapes:
    """Something going into a container."""
    return (
        *moved(thing, Place(0, -25)),
        *shapes(placed(acts.bin_(), Place(0, 27, 1.15)) + acts.arrow("M0 -6 L0 13.5")),
    )


def take(thing: Shapes, verb: str) -> Shapes:
    """Something taken off or put on that has no picture on the wearer."""
    return (*moved(thing, Place(0, 10)), *shapes(acts.arrow("M0 6 L0 -26" if verb == "remove" else "M0 -28 L0 4")))


def box(mark: str = "") -> Shapes:
    """Something without a drawing of its own."""
    return shapes((solid(rounded(-7.5, -7, 15, 13.5, 1.4), fill=CLOTH),), mark=mark)


def bag() -> Shapes:
    """A tied waste bag: something to be thrown away that has no drawing of its own."""
    return shapes(
        (
            solid(path("M-3 -8 C-10 -4 -12 3 -10.6 9 C-9.6 12 9.6 12 10.6 9 C12 3 10 -4 3 -8 Z")),
            solid(path("M-2.4 -9 L-5.6 -14 L5.6 -14 L2.4 -9 Z")),
        )
    )


def move() -> Shapes:
    """Through the door."""
    return (
        *shapes(placed(acts.door(), Place(8, -4))),
        *shapes(acts.arrow("M-18 8 L9 8")),
    )


def sit() -> Shapes:
    """Down on a chair."""
    return (*shapes(placed(acts.chair(), Place(0, 12))), *shapes(acts.arrow("M-2 -24 L-2 5")))


def confirm(rtl: bool) -> Shapes:
    """A statement and its answer; a check mark is not mirrored."""
    return shapes((*acts.speech(), *placed(acts.tick(), Place(7, 10.6, flip=rtl))))


def hand_over(thing: Shapes) -> Shapes:
    """Something passing from hand to hand."""
    palm = path("M-23 12 L-10 12 C-6 12 0 10 6 10.4 C8.4 10.6 8.4 14 6 14.4 L-2 15.4 C-6 20 -12 21 -23 21 Z")
    motion = acts.arrow("M-6 -16 C2 -22 12 -20 21 -6")
    return (*shapes(placed((solid(palm),), Place(-1, 6))), *moved(thing, Place(-6, 3)), *shapes(motion))


def clean() -> Shapes:
    """Wiping a surface."""
    wipe = placed(acts.cloth(), Place(-4, 15, 1.25))
    motion = acts.arrow("M-20 -2 C-10 -8 -4 -8 5 -3")
    return shapes((*acts.surface(), *wipe, *acts.sparkle(14, 4, 1.1), *acts.sparkle(20, -6, 0.7), *motion))


def apply() -> Shapes:
    """Spraying an agent on a surface."""
    wet = (block(path("M-23 16.4 C-21 11.4 -12 11.4 -10 16.4 Z")),)
    return shapes((*acts.surface(), *wet, *placed(acts.bottle(), Place(8, -3.5))))


def collect() -> Shapes:
    """Taking something up with a scoop."""
    bits = block(
        path("M-21 14.4 L-17 6 L-13 14.4 Z"), path("M-12 8 L-8.6 1.4 L-4.6 7 Z"), path("M-23 7 L-19 1 L-18.4 7 Z")
    )
    motion = acts.arrow("M-20 -12 C-14 -18 -6 -16 2 -6")
    return shapes((*acts.surface(), *placed(acts.scoop(), Place(3, 0)), bits, *motion))


def wait(rtl: bool) -> Shapes:
    """A clock; it never runs backwards."""
    return moved(shapes(acts.clock()), Place(flip=rtl))


def note() -> Shapes:
    """Writing on a sheet."""
    sheet = (
        solid(path("M-16 -20 L10 -20 L10 20 L-16 20 Z")),
        stroke(path("M-10 -12 L4 -12"), path("M-10 -5 L4 -5"), path("M-10 2 L-3 2"), line=FINE),
    )
    return shapes((*sheet, *placed(acts.pen(), Place(1, 11))))


def unzip() -> Shapes:
    """A zip being drawn down."""
    front = path("M-17 -24 L-8 -24 L0 -2 L8 -24 L17 -24 L17 26 L-17 26 Z")
    teeth = tuple(path(f"M-2.6 {y} L2.6 {y}") for y in (14, 19.5))
    slider = solid(rounded(-2.8, -3, 5.6, 11, 2))
    motion = acts.arrow("M10.5 -6 L10.5 20", head=9, shaft=3.6)
    return shapes((solid(front), stroke(path("M0 0 L0 26")), stroke(*teeth, line=FINE), slider, *motion))


def untie(bow: tuple[Part, ...]) -> Shapes:
    """A bow being pulled open."""
    return (*shapes(placed(bow, Place(0, -4, 2.4))), *shapes(acts.arrow("M7 15 L21 26") + acts.arrow("M-7 15 L-21 26")))


def unfasten() -> Shapes:
    """A buckle opening."""
    apart = acts.arrow("M-3 15 L-21 15") + acts.arrow("M3 15 L21 15")
    return shapes(placed(acts.buckle(), Place(scale=0.88)) + apart)


# --- which drawing shows which act ----------------------------------------------------------------------------


def thing(scene: Scene, mark: str, height: float = 30.0, width: float = 40.0) -> Shapes:
    """The item an act is about, by itself, filling a box around the origin; nothing for what is no item."""
    kind = next((k for k in scene.kinds if k in KINDS), "")
    match kind:
        case "":
            return ()
        case "gloves":
            parts = hands.large(scene.loose)
        case "clothing":
            parts = body.clothing(False)
        case "footwear":
            parts = body.shoes(False)
        case "coverall":
            parts = garments.coverall(False, scene.own_hood)
        case _:
            parts = {**garments.DRAW, **headgear.DRAW, **headgear.LOOSE}[kind](False)
    left, top, right, bottom = bounds(shapes(parts))
    scale = min(height / (bottom - top), width / (right - left))
    centred = placed(parts, Place(-scale * (left + right) / 2, -scale * (top + bottom) / 2, scale))
    return shapes(centred, mark=mark, detailed=scale > 1)


PLAIN = {
    "move": move, "sit": sit, "clean": clean, "apply": apply, "collect": collect, "note": note,
}  # fmt: skip
"""Acts that look the same whatever they are about."""


def act(scene: Scene) -> Shapes:
    """The act of a scene as a drawing of its own; nothing when there is no act."""
    layer, sleeve = scene.hand, scene.sleeved
    match scene.verb:
        case "remove" | "put-on" if scene.has("gloves"):
            return gloves(scene.loose, scene.under_hand, sleeve, scene.verb)
        case "remove" | "put-on":
            return take(thing(scene, MARK[scene.verb]) or box(MARK[scene.verb]), scene.verb)
        case "discard":
            return discard(thing(scene, "off") or bag())
        case "sanitize" if scene.kinds and not scene.has("gloves", "bare", "skin"):
            return clean()
        case "sanitize" | "rub-hands":
            return sanitize(layer, sleeve)
        case "wash":
            return wash(layer, sleeve)
        case "inspect" if scene.has("gloves", "bare"):
            return pair(layer, sleeve) + shapes(acts.eye(0, -26))
        case "inspect":
            return inspect()
        case "touch":
            return point(layer, sleeve)
        case "open" if scene.has("coverall"):
            return unzip()
        case "open" if scene.has("gown", "apron", "mask", "clothing"):
            return untie(garments.bow(0, 0))
        case "open":
            return unfasten()
        case "hand-over":
            return hand_over(thing(scene, "about", 19, 22) or box())
        case "confirm":
            return confirm(scene.rtl)
        case "wait":
            return wait(scene.rtl)
        case "change-gloves":
            return change(scene.loose if layer == hands.BARE else layer, sleeve)
    return PLAIN[scene.verb]() if scene.verb in PLAIN else ()
