"""Turn a moment into the wearer: which items, from the skin outwards, and which of them the act is about."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from docgen.figure import body, garments, hands, headgear
from docgen.figure.pen import Part, Place, both, placed, shapes
from docgen.model.edition import Item
from docgen.model.moment import Moment
from docgen.model.sheet import Shape

HEADGEAR = ("hood", "face-shield", "goggles", "respirator", "powered-hood", "mask")
FOOTGEAR = ("boot-covers", "shoe-covers", "footwear")
GARMENTS = ("apron", "gown", "coverall", "clothing")
KINDS = (*HEADGEAR, *FOOTGEAR, *GARMENTS, "gloves")
HOODS = ("hood", "powered-hood")
MARK = {"remove": "off", "put-on": "on"}
"""How the item in hand is marked by an act; any other act makes its outline heavy."""


@dataclass(frozen=True, slots=True)
class Layer:
    """What is drawn together, and whether the act is about it."""

    parts: tuple[Part, ...]
    about: bool = False


@dataclass(frozen=True, slots=True)
class Scene:
    """A moment with its items looked up."""

    moment: Moment
    worn: tuple[Item, ...]
    """Outermost first, with what is being put on."""
    about: frozenset[str]
    """Ids of the items the act is about."""
    kinds: tuple[str, ...]
    """What the act is about: kinds of items, or `bare`, `face`, `area`, …"""
    loose: str
    """Layer of the gloves the act is about, worn or not."""
    own_hood: bool
    """Whether a coverall's own hood is up: the ensemble has no other hood."""
    scrubs: bool
    rtl: bool = False

    @property
    def verb(self) -> str:
        """The act."""
        return self.moment.verb

    @property
    def back(self) -> bool:
        """Whether the wearer is seen from behind."""
        return self.moment.view == "back"

    @property
    def hand(self) -> str:
        """Which layer shows on the hands: that of the gloves the act is about, or the outermost."""
        ours = any(i.kind == "gloves" and i.id in self.about for i in self.worn)
        return self.loose if ours else self.moment.hands or hands.BARE

    @property
    def under_hand(self) -> str:
        """Which layer lies under the gloves the act is about."""
        layers = [i.layer or hands.SINGLE for i in self.worn if i.kind == "gloves" and i.id not in self.about]
        return layers[0] if layers else hands.BARE

    @property
    def sleeved(self) -> bool:
        """Whether a sleeve reaches the wrist."""
        return any(i.kind in ("gown", "coverall") for i in self.worn)

    def has(self, *kinds: str) -> bool:
        """Whether the act is about one of these kinds."""
        return any(k in kinds for k in self.kinds)


def look_up(moment: Moment, items: tuple[Item, ...], rtl: bool = False) -> Scene:
    """Find the items a moment speaks of."""
    by_id = {i.id: i for i in items}
    worn = [by_id[w] for w in moment.worn if w in by_id]
    if moment.verb == "put-on":
        worn = [by_id[s] for s in moment.subject if s in by_id and s not in moment.worn] + worn
    gloves = [by_id[s] for s in moment.subject if s in by_id and by_id[s].kind == "gloves"]
    return Scene(
        moment,
        tuple(worn),
        frozenset(s for s in moment.subject if s in by_id),
        tuple(by_id[s].kind if s in by_id else kind_in(s) for s in moment.subject),
        (gloves[0].layer if gloves else "") or hands.SINGLE,
        not any(i.kind in HOODS for i in items),
        any(i.kind == "clothing" for i in worn) or not any(i.kind == "clothing" for i in items),
        rtl,
    )


def kind_in(name: str) -> str:
    """The kind a supply's id speaks of (`nitrile-gloves` → `gloves`), or the id itself."""
    return next((k for k in sorted(KINDS, key=len, reverse=True) if f"-{k}-" in f"-{name}-"), name)


def wearer(scene: Scene) -> tuple[Layer, ...]:
    """The whole person as dressed, lowest layer first."""
    back = scene.back
    return (
        Layer(body.person(back)),
        *feet(scene, leg=False),
        *_worn(scene, "gown", garments.gown(back)),
        *_head(scene, headgear.DRAW),
        *_worn(scene, "apron", garments.apron(back)),
        Layer(both(placed(hands.small(scene.hand), body.HAND)), scene.has("gloves", "bare")),
    )


def bust(scene: Scene) -> tuple[Layer, ...]:
    """Head and shoulders."""
    suit = [i for i in scene.worn if i.kind in ("gown", "coverall")]
    out = [Layer(body.bust(bool(suit) or not scene.scrubs))]
    if scene.own_hood:
        out += _worn(scene, "coverall", garments.own_hood())
    return (*out, *_head(scene, {**headgear.DRAW, "powered-hood": headgear.powered_head}))


def feet(scene: Scene, leg: bool = True) -> tuple[Layer, ...]:
    """Feet with what is worn on them, and the legs: stumps for a detail, or the suit and trousers of the whole."""
    back = scene.back
    out = [Layer(body.feet(back))]
    if leg:
        out.append(Layer(body.shins(any(i.kind == "coverall" for i in scene.worn) or not scene.scrubs)))
    elif scene.scrubs:
        out.append(Layer(body.clothing(back), scene.has("clothing")))
    out += _worn(scene, "footwear", body.shoes(back))
    if not leg:
        out += _worn(scene, "coverall", garments.coverall(back, scene.own_hood))
    out += _worn(scene, "shoe-covers", garments.shoe_covers(back))
    out += _worn(scene, "boot-covers", garments.boot_covers(back))
    return tuple(out)


def _worn(scene: Scene, kind: str, parts: tuple[Part, ...]) -> list[Layer]:
    """The parts as one layer if an item of that kind is worn."""
    ids = {i.id for i in scene.worn if i.kind == kind}
    return [Layer(parts, bool(ids & scene.about))] if ids else []


def _head(scene: Scene, parts_of: Mapping[str, Callable[[bool], tuple[Part, ...]]]) -> Iterable[Layer]:
    """What is worn on the head, from the inside outwards."""
    inside_out = [i for i in reversed(scene.worn) if i.kind in HEADGEAR or (i.kind == "coverall" and scene.own_hood)]
    hoods = [n for n, i in enumerate(inside_out) if i.kind in (*HOODS, "coverall")]
    outermost_hood = max(hoods, default=-1)
    if scene.back:
        for n, item in enumerate(inside_out):
            if n >= outermost_hood and item.kind in parts_of:
                yield Layer(parts_of[item.kind](True), item.id in scene.about)
        return
    for item in inside_out:
        if item.kind in HOODS:
            yield Layer(parts_of[item.kind](False), item.id in scene.about)
    if hoods:
        powered = inside_out[outermost_hood].kind == "powered-hood"
        yield Layer(headgear.window() if powered else headgear.face())
    # a visor is clear: what lies behind it is drawn on it, unless it is hatched itself
    visors = [(i, i.id in scene.about and scene.verb in MARK) for i in inside_out if i.kind == "face-shield"]
    for item, hatched in visors:
        if not hatched:
            yield Layer(headgear.shield(False), item.id in scene.about)
    for n, item in enumerate(inside_out):
        if item.kind in headgear.BANDS:
            if n > outermost_hood and not visors:
                yield Layer(headgear.BANDS[item.kind]())
            yield Layer(parts_of[item.kind](False), item.id in scene.about)
    for _, hatched in visors:
        if hatched:
            yield Layer(headgear.shield(False), True)


def render(layers: Iterable[Layer], place: Place, verb: str, *, detailed: bool) -> tuple[Shape, ...]:
    """Draw layers at a place; what the act is about has a heavy outline, and hatching when it comes off or goes on."""
    out: list[Shape] = []
    for layer in layers:
        mark = MARK.get(verb, "about") if layer.about else ""
        out += shapes(placed(layer.parts, place), mark=mark, detailed=detailed)
    return tuple(out)
