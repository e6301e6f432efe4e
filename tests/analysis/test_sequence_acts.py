"""What each act does to the state, as documented in `docgen.analysis.sequence.acts`."""

from __future__ import annotations

import pytest
from sequence_kit import ASSISTANT, OBSERVER, WEARER, act, edition, item, step

from docgen.analysis.sequence.acts import EFFECTS, enter, leave, perform, side_met
from docgen.analysis.sequence.setting import Setting, setting_of
from docgen.analysis.sequence.state import CLEAN, DIRTY, USED, State, starts
from docgen.model.protocol import VERBS

ITEMS = (
    item("apron", "apron", "gown"),
    item("gown", "gown"),
    item("outer", "gloves", "inner", layer="outer"),
    item("inner", "gloves", layer="inner"),
    item("goggles", "goggles"),
    item("respirator", "respirator"),
    item("hood", "powered-hood"),
    item("covers", "boot-covers"),
    item("fresh", "gloves", layer="inner", worn=False),
    item("shoes", "footwear", kept=True),
    item("scrubs", "clothing", kept=True, clean=("outside", "inside")),
)
ROLES = (WEARER, OBSERVER, ASSISTANT)
SETTING = setting_of(edition(ITEMS, (step("s", "note", place="room"),), roles=ROLES))


def after(*lines: str, setting: Setting = SETTING) -> State:
    state = next(s for s, _ in starts(setting))
    for line in lines:
        a = act(line)
        state = perform(setting, state, a, a.targets)
    return state


def hand(state: State, role: str = "wearer") -> tuple[str, int]:
    return state.person(role).layers[0]


def test_every_verb_has_an_effect() -> None:
    """The closed set of the model and the table of effects are the same."""
    assert set(EFFECTS) == set(VERBS)


def test_a_removal_begins_dirty_outside() -> None:
    """Outer gloves and outsides are contaminated; what lies under another pair of gloves, and insides, are not."""
    state = after()
    assert state.wearer.layers == (("outer", DIRTY), ("inner", USED), ("bare", CLEAN))
    assert ("gown", "outside") in state.soiled and ("gown", "inside") not in state.soiled
    assert not any(name == "scrubs" for name, _ in state.soiled)


def test_putting_on_begins_clean_with_unwashed_hands() -> None:
    """Equipment from the shelf is clean; hands are not, until they are cleaned."""
    items = tuple(i for i in ITEMS if i.id != "fresh")
    setting = setting_of(edition((*items, item("socks", "clothing", worn=False)), (step("s"),), kind="putting-on"))
    state = after(setting=setting)
    assert state.soiled == frozenset() and hand(state) == ("bare", USED)
    assert state.worn == {"socks"}  # the only item marked as not put on here


def test_sanitizing_cleans_the_outermost_layer() -> None:
    """Gloves under other gloves are not reached."""
    assert hand(after("sanitize outer")) == ("outer", CLEAN)
    assert after("sanitize inner").wearer.layers[1] == ("inner", USED)


def test_a_dirty_surface_dirties_the_hands() -> None:
    """Outside: dirty. Inside, rear strap: no longer clean."""
    assert hand(after("sanitize outer", "touch gown touching=outside")) == ("outer", DIRTY)
    assert hand(after("sanitize outer", "touch gown touching=inside")) == ("outer", USED)
    assert hand(after("sanitize outer", "touch goggles touching=rear-strap")) == ("outer", USED)


def test_dirty_hands_dirty_a_clean_surface() -> None:
    """And what they touched dirties the next hands."""
    state = after("touch goggles touching=rear-strap", "sanitize outer", "touch goggles touching=rear-strap")
    assert hand(state) == ("outer", DIRTY)


def test_a_removed_layer_bares_the_next() -> None:
    """Outer pair off: the inner pair is outermost, to be inspected. Inner pair off: bare hands, to be cleaned."""
    state = after("sanitize outer", "remove outer touching=inside into=waste")
    assert hand(state) == ("inner", USED) and "glove-inspection" in state.due
    state = after("remove outer touching=inside", "remove inner touching=inside")
    assert hand(state) == ("bare", USED) and "hand-hygiene" in state.due
    assert "hand-hygiene" not in after("remove outer", "remove inner", "rub-hands bare").due


def test_gloves_that_come_off_with_a_garment_meet_its_outside() -> None:
    """CDC poster, example 2: the hands that are left have met only insides."""
    items = (item("gown", "gown"), item("gloves", "gloves", "gown", layer="single"))
    setting = setting_of(edition(items, (step("s"),)))
    state = after("remove gown+gloves combined touching=outside", "discard gown+gloves into=waste", setting=setting)
    assert hand(state) == ("bare", USED)


def test_what_is_off_is_in_the_hand_until_it_is_discarded() -> None:
    """`into` in the removal, or a discard; the hands meet it once more."""
    assert after("remove gown touching=outside").loose == {("gown", DIRTY)}
    assert after("remove gown touching=outside into=waste").loose == frozenset()
    state = after("remove gown touching=outside", "sanitize outer", "discard gown into=waste")
    assert state.loose == frozenset() and hand(state) == ("outer", DIRTY)


def test_a_used_wipe_in_the_hand_undoes_hygiene() -> None:
    """A discard after sanitizing leaves gloves that are no longer clean."""
    assert hand(after("sanitize outer", "discard wipes into=waste")) == ("outer", USED)


def test_new_gloves_are_clean_unless_they_go_over_dirt() -> None:
    """A fresh pair; over dirty gloves its outside is dirty too."""
    clean = after("remove outer", "remove inner", "rub-hands bare", "put-on fresh")
    assert hand(clean) == ("fresh", CLEAN) and "fresh-gloves" in clean.done
    assert hand(after("put-on fresh")) == ("fresh", DIRTY)


def test_changing_gloves_is_off_hygiene_and_on() -> None:
    """The same layer, new and clean, over clean hands; under other gloves it cannot be done."""
    state = after("remove outer", "change-gloves inner")
    assert state.wearer.layers == (("inner", CLEAN), ("bare", CLEAN))
    assert after("change-gloves inner").wearer.layers[1] == ("inner", USED)


def test_hands_cannot_be_rubbed_in_gloves() -> None:
    """Without effect; a rule says so."""
    assert after("rub-hands bare") == after()
    assert after("wash skin") == after()


def test_cleaning_an_item_dirties_the_glove_and_cleans_the_item() -> None:
    """Shoes wiped with clean gloves are clean afterwards, the gloves are not."""
    state = after("sanitize outer", "sanitize shoes")
    assert ("shoes", "outside") not in state.soiled and hand(state) == ("outer", DIRTY)


def test_helpers_have_hands_of_their_own() -> None:
    """What the assistant touches dirties the assistant; sanitizing cleans their own gloves, whatever pair is named."""
    state = after("sanitize outer", "remove hood touching=outside by=assistant")
    assert hand(state) == ("outer", CLEAN) and hand(state, "assistant") == ("assistant's gloves", DIRTY)
    state = after("remove hood touching=outside by=assistant", "sanitize outer by=assistant")
    assert hand(state, "assistant") == ("assistant's gloves", CLEAN)


@pytest.mark.parametrize(
    ("line", "side"),
    [
        ("remove outer", "inside"),
        ("remove goggles", "rear"),
        ("remove hood", "rear"),
        ("remove gown", "outside"),
        ("remove covers", "outside"),
        ("open gown fastening=ties", "rear"),
        ("open gown fastening=zip", "outside"),
        ("open respirator fastening=lower-strap", "rear"),
        ("touch goggles", "outside"),
        ("remove gown touching=inside", "inside"),
    ],
)
def test_the_side_that_is_met(line: str, side: str) -> None:
    """Said by the data; where it is silent, the documented default."""
    a = act(line)
    assert side_met(SETTING, after().wearer, a, a.targets[0]) == side


def test_bare_hands_take_a_gown_from_inside() -> None:
    """Where nothing is said, the less dangerous side is taken, and a rule asks for it."""
    wearer = after("remove outer", "remove inner").wearer
    assert side_met(SETTING, wearer, act("remove gown"), "gown") == "inside"


def test_moving_and_holding() -> None:
    """A move changes the place of those who are told; a hold is given when its step is over."""
    assert after("move wearer+assistant to=clean-area").person("assistant").place == "clean-area"
    assert after().wearer.place == "room"
    held = leave(SETTING, after(), step("s", hold=True))
    assert "held" in held.done and "observer-engaged" in held.done
    assert "held" not in perform(SETTING, held, act("remove gown"), ("gown",)).done


def test_a_step_in_another_place_takes_its_actor_there() -> None:
    """Unless the step itself tells them to move, which then happens in its turn."""
    assert enter(SETTING, after(), step("s", place="removal-area")).wearer.place == "removal-area"
    told = step("s", "move wearer to=removal-area", place="removal-area")
    assert enter(SETTING, after(), told).wearer.place == "room"


def test_a_last_look_counts_until_something_else_comes_off() -> None:
    """Inspection of skin, then another removal: the look was not the last."""
    seen = after("inspect skin+clothing", "inspect skin by=observer")
    assert {"skin-seen-by:wearer", "skin-seen-by:observer", "checked:scrubs"} <= seen.done
    later = perform(SETTING, seen, act("remove gown"), ("gown",))
    assert not any("-seen-by:" in fact for fact in later.done)


@pytest.mark.parametrize("line", ["note", "wait", "confirm", "sit chair", "hand-over wipes to=assistant", "apply rub"])
def test_some_acts_touch_nothing(line: str) -> None:
    """Words, waiting and sitting leave the state as it is."""
    assert after(line) == after()


def test_picking_up_dirties_the_hands() -> None:
    """A surface that is wiped dirties them; a tool keeps them from the worst."""
    assert hand(after("sanitize outer", "clean chair")) == ("outer", DIRTY)
    assert hand(after("sanitize outer", "collect wipes")) == ("outer", DIRTY)
