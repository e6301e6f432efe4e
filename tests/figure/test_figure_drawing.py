"""The drawing shows what is worn, what is in hand, and nothing else; it fits its box and survives print at 15 mm."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from itertools import combinations, pairwise
from pathlib import Path as File

import pytest
from conftest import tool
from contact_sheet import ENSEMBLE, grid, hands, item, sequence
from PIL import Image, ImageChops, ImageFilter

from docgen.figure import Picture, draw
from docgen.figure.draw import AXIS
from docgen.figure.garments import DRAW as GARMENTS
from docgen.figure.headgear import DRAW as HEADGEAR
from docgen.figure.pen import CLOTH, HEAVY, INK, OUTER, PAPER, Place, bounds
from docgen.model.edition import Item
from docgen.model.moment import Moment
from docgen.model.protocol import ITEM_KINDS, VERBS
from docgen.model.sheet import Shape
from docgen.model.text import Text

GOLDEN = File(__file__).parent / "goldens" / "figures.txt"
VIEWS = ("front", "back", "hands")
ABOUT_NOTHING = ("", "confirm", "wait", "note")
"""Acts that are about nothing."""


COVERING = {
    **dict.fromkeys(("goggles", "respirator", "mask", "powered-hood"), ("face-shield", "respirator")),
    **dict.fromkeys(("coverall", "clothing"), ("gown",)),
    **dict.fromkeys(("shoe-covers", "footwear"), ("boot-covers",)),
}
"""Kind → what must be off before it comes off, beside an apron and a hood."""


def scene(kind: str, verb: str, view: str = "front", **more) -> tuple[Moment, tuple[Item, ...]]:
    """A moment about an item of a kind, in an ensemble in which nothing lies over it."""
    away = (kind, "apron", "hood", *COVERING.get(kind, ()))
    items = (item("it", kind, "single" if kind == "gloves" else ""), *(i for i in ENSEMBLE if i.kind not in away))
    worn = tuple(i.id for i in items if i.id != "it" or verb not in ("put-on", "discard"))
    layer = "single" if kind == "gloves" and "it" in worn else "bare" if kind == "gloves" else hands(list(worn))
    moment = Moment("step", worn, verb, () if verb in ABOUT_NOTHING else ("it",), layer, False, view, ("wearer",))
    return replace(moment, **more), items


def picture(kind: str, verb: str, view: str = "front", **more) -> Picture:
    """Its drawing."""
    return draw(*scene(kind, verb, view, **more))


def hatchings(what: Picture) -> list[Shape]:
    """The hatching of a picture: shapes of separate short lines, all at 45 degrees."""

    def slanting(s: Shape) -> bool:
        points = [n for _, n in s.path]
        pairs = list(zip(points[::2], points[1::2], strict=False))
        return bool(pairs) and all(abs(abs(b[0] - a[0]) - abs(b[1] - a[1])) < 0.003 for a, b in pairs)

    return [s for s in what.shapes if s.fill is None and {c for c, _ in s.path} <= {"M", "L"} and slanting(s)]


def tip(what: Picture) -> tuple[float, float]:
    """Where the only arrow points: the first corner of its black triangle."""
    heads = [s for s in what.shapes if s.fill == INK and s.stroke is None and [c for c, _ in s.path] == list("MLLZ")]
    assert len(heads) == 1
    return heads[0].path[0][1]  # type: ignore[return-value]


# --- every kind, every act ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("kind", ITEM_KINDS)
def test_every_act_on_every_kind_is_drawn_inside_its_box(kind: str, view: str):
    """All acts × kinds × views give a drawing, in its box, of moderate size, in grey, with lines that print."""
    for verb in VERBS:
        drawn = picture(kind, verb, view)
        assert 0 < len(drawn.shapes) < 150, verb
        left, top, right, bottom = bounds(drawn.shapes)
        assert left >= 0 and top >= 0 and right <= drawn.width and bottom <= drawn.height, (verb, bounds(drawn.shapes))
        for shape in drawn.shapes:
            assert shape.fill or shape.stroke
            for colour in (shape.fill, shape.stroke):
                assert colour is None or len(set(colour)) == 1, f"{verb} uses colour"
            if shape.stroke not in (None, PAPER):
                assert shape.width >= 2.0, f"{verb}: a line prints thinner than 0.3 mm at 15 mm"


@pytest.mark.parametrize("verb", VERBS)
def test_acts_stand_alone_without_an_ensemble(verb: str):
    """Where nobody wears anything special, each act is a pictogram of its own that fills its box."""
    drawn = draw(Moment("step", (), verb, (), "bare", False, "front", ("user",)), ())
    left, top, right, bottom = bounds(drawn.shapes)
    assert left >= 0 and top >= 0 and right <= drawn.width and bottom <= drawn.height
    assert max(right - left, bottom - top) > 60


def test_no_act_and_no_ensemble_draws_nothing():
    """There is nothing to show, so that a layout can leave the place free."""
    assert draw(Moment("step", (), "", (), "bare", False, "front", ("user",)), ()).shapes == ()


# --- the item in hand --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("view", ["front", "back"])
@pytest.mark.parametrize("kind", ITEM_KINDS)
def test_the_item_in_hand_is_marked_and_the_plain_figure_is_not(kind: str, view: str):
    """Taking off and putting on mark by hatching or heavy lines, and by an arrow; a step without an act has no mark."""
    worn = scene(kind, "remove")[0].worn
    plain = picture(kind, "", view, worn=worn)
    assert not hatchings(plain)
    assert all(s.width not in (HEAVY, 2 * HEAVY) for s in plain.shapes)
    for verb in ("remove", "put-on"):
        marked = picture(kind, verb, view)
        assert any(s.width in (HEAVY, 2 * HEAVY) for s in marked.shapes)
        assert hatchings(marked) or (view == "back" and kind in ("respirator", "mask")), "only straps show from behind"
        tip(marked)


@pytest.mark.parametrize("kind", ITEM_KINDS)
def test_the_arrow_leads_away_from_what_comes_off_and_to_what_goes_on(kind: str):
    """The tip lies outside all hatching when an item comes off, and at the hatching when it goes on."""

    def distance(what: Picture) -> float:
        x, y = tip(what)
        boxes = [bounds([s]) for s in hatchings(what)]
        return min(max(b[0] - x, x - b[2], b[1] - y, y - b[3], 0) for b in boxes)

    assert distance(picture(kind, "remove")) > 8
    assert distance(picture(kind, "put-on")) < 6


@pytest.mark.parametrize("kind", sorted({**GARMENTS, **HEADGEAR}))
def test_an_item_that_is_gone_leaves_no_shape(kind: str):
    """The outline of an item is in the picture while it is worn, and not afterwards."""
    parts = {**GARMENTS, **HEADGEAR}[kind](False)
    outline = Place(AXIS)(next(p for p in parts if p.body).paths[0])
    corners = {(round(n[-2], 3), round(n[-1], 3)) for _, n in outline if n}

    def shown(what: Picture) -> bool:
        return any(corners <= {n[-2:] for _, n in s.path if n} for s in what.shapes)

    moment, items = scene(kind, "")
    assert shown(draw(moment, items))
    assert not shown(draw(replace(moment, worn=tuple(w for w in moment.worn if w != "it")), items))


def test_what_lies_under_a_removed_item_appears():
    """Item by item the wearer has fewer shapes; in the end grey clothing and nothing hatched is left."""
    ids = [i.id for i in ENSEMBLE]
    plain = [
        draw(Moment("s", tuple(ids[n:]), "", (), hands(ids[n:]), False, "front", ("wearer",)), ENSEMBLE)
        for n in range(len(ids) + 1)
    ]
    for before, after in pairwise(plain):
        assert len(after.shapes) <= len(before.shapes) and after != before
    assert any(s.fill == CLOTH for s in plain[-1].shapes)


# --- hands, helpers, views -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("view", VIEWS)
def test_hands_show_which_layer_is_outermost(view: str):
    """Outer, inner and bare hands differ in every view, and only outer gloves are grey."""
    drawn = {}
    for layer, worn in (("outer", ("outer-gloves", "inner-gloves")), ("inner", ("inner-gloves",)), ("bare", ())):
        moment = Moment("step", worn, "sanitize" if view == "hands" else "", ("bare",), layer, False, view, ("wearer",))
        drawn[layer] = draw(moment, ENSEMBLE)
        assert any(s.fill == OUTER for s in drawn[layer].shapes) == (layer == "outer")
    assert len({p.shapes for p in drawn.values()}) == 3


def test_hands_just_sanitized_have_a_sign():
    """Clean hands add marks to the same figure and change nothing else."""
    before, after = picture("gown", ""), picture("gown", "", hands_clean=True)
    assert set(before.shapes) < set(after.shapes)


def test_an_assistant_stands_behind_only_when_acting():
    """A second outline comes first, so that the wearer covers it."""
    alone, helped = picture("coverall", "remove"), picture("coverall", "remove", actors=("wearer", "assistant"))
    assert set(alone.shapes) < set(helped.shapes)
    assert helped.shapes[0] not in alone.shapes
    assert picture("coverall", "remove", actors=("wearer", "observer")) == alone


@pytest.mark.parametrize(
    "kind", ["apron", "gown", "coverall", "face-shield", "goggles", "respirator", "powered-hood", "mask"]
)
def test_the_back_shows_what_the_front_does_not(kind: str):
    """Ties, straps, bands, hose or the missing zip make the back its own drawing."""
    assert picture(kind, "").shapes != picture(kind, "", "back").shapes


def test_a_separate_hood_takes_the_place_of_the_coveralls_own():
    """The suit's own hood is up only when the ensemble has no other hood."""
    suit, hood = item("suit", "coverall"), item("hood", "hood")
    moment = Moment("step", ("suit",), "", (), "bare", False, "front", ("wearer",))
    assert draw(moment, (suit,)).shapes != draw(moment, (suit, hood)).shapes


def test_combined_removal_marks_both_items():
    """Gown and gloves that come off in one movement are both hatched."""
    worn = ("gown", "inner-gloves", "respirator")
    one, two = (
        draw(Moment("step", worn, "remove", subject, "inner", False, "front", ("wearer",)), ENSEMBLE)
        for subject in (("gown",), ("gown", "inner-gloves"))
    )
    assert len(hatchings(two)) == len(hatchings(one)) + 2


def test_a_mirrored_sheet_mirrors_all_but_clock_and_check_mark():
    """Right-to-left pictures are mirror images, save for what has only one right way round."""

    def numbers(what: Picture, mirrored: bool) -> list[float]:
        at = Place(what.width, flip=True) if mirrored else Place()
        return [v for s in what.shapes for _, n in at(s.path) for v in n]

    for verb, same in (("remove", True), ("note", True), ("wait", False), ("confirm", False)):
        moment, items = scene("gown", verb)
        ltr, rtl = numbers(draw(moment, items), True), numbers(draw(moment, items, rtl=True), False)
        assert (ltr == pytest.approx(rtl, abs=0.002)) == same, verb


# --- as it prints ------------------------------------------------------------------------------------------------


def test_pictures_are_told_apart_at_15_mm_and_out_of_focus():
    """Removal pictures of all kinds, printed 15 mm high at 300 dpi and blurred, still differ pairwise.

    The blur is about 1 % of the height (a squint); the threshold is common practice, no source. The rasteriser is an
    independent program.
    """
    tool("pdftoppm")
    one_by_one = [grid([picture(kind, "remove")], 15, 1) for kind in ITEM_KINDS]
    blurred = [p.convert("L").filter(ImageFilter.GaussianBlur(1.8)) for p in one_by_one]
    for (a, first), (b, second) in combinations(zip(ITEM_KINDS, blurred, strict=True), 2):
        changed = ImageChops.difference(first, second).point(lambda v: 255 if v > 80 else 0)
        share = changed.histogram()[255] / (first.width * first.height)
        assert share > 0.01, f"{a} and {b} look alike"


def test_a_figure_is_grey_when_printed():
    """Rendered by an independent program, no pixel has a colour."""
    tool("pdftoppm")
    image: Image.Image = grid(sequence("remove"), 15, 9)
    red, green, blue = image.convert("RGB").split()
    assert ImageChops.difference(red, green).getbbox() is None and ImageChops.difference(green, blue).getbbox() is None


# --- the same every time -----------------------------------------------------------------------------------------


def dump(title: str, what: Picture) -> str:
    """A picture as lines to read: fill, stroke, width, box, pieces."""

    def grey(colour: tuple[float, ...] | None) -> str:
        return "-" if colour is None else f"{colour[0]:.2f}"

    lines = [f"{title} {what.width:g} x {what.height:g}"]
    for s in what.shapes:
        box = " ".join(f"{v:6.1f}" for v in bounds([replace(s, stroke=None)]))
        lines.append(f"  {grey(s.fill):4} {grey(s.stroke):4} {s.width if s.stroke else 0:4.1f} {box} {len(s.path)}")
    return "\n".join(lines)


def dumps() -> str:
    """What the goldens hold: an ensemble coming off, seen from the front, and each act alone."""
    off = [dump(f"remove {i.id}", p) for i, p in zip(ENSEMBLE, sequence("remove"), strict=True)]
    acts = [dump(v, draw(Moment("s", (), v, (), "bare", False, "front", ("user",)), ())) for v in VERBS]
    return "\n".join((*off, *acts)) + "\n"


def test_drawings_are_as_they_were_last_looked_at(update_goldens: bool):
    """A change of any drawing shows in the diff of a readable file."""
    if update_goldens:
        GOLDEN.write_text(dumps(), encoding="utf-8")
    assert dumps() == GOLDEN.read_text(encoding="utf-8")


def test_another_process_draws_the_same():
    """No drawing depends on hash order, place or language of the machine."""
    code = "import hashlib, contact_sheet as c; print(hashlib.sha256(repr(c.sequence('remove')).encode()).hexdigest())"
    here = File(__file__).parent
    path = os.pathsep.join([str(here), str(here.parent), str(here.parent.parent)])
    seen = set()
    for seed, language in (("1", "C"), ("2", "C.UTF-8")):
        env = {"PYTHONHASHSEED": seed, "LC_ALL": language, "PYTHONPATH": path, "PATH": os.environ["PATH"]}
        seen.add(
            subprocess.run([sys.executable, "-c", code], env=env, capture_output=True, check=True, text=True).stdout
        )
    assert len(seen) == 1


def test_a_figure_is_drawn_once_for_all_artifacts_and_languages() -> None:
    """What a step is called, and how its items are named, is not on the drawing: it is the same object."""
    moment, items = scene("gown", "remove")
    named = tuple(replace(i, name=Text(i.name.key, "other words", ())) for i in items)
    assert draw(replace(moment, step="elsewhere", place="doffing-area"), named) is draw(moment, items)
