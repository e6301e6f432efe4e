"""Alternative texts say what the figure shows, in any language that supplies the phrases."""

from __future__ import annotations

import datetime
import string
from dataclasses import replace

import pytest
from contact_sheet import ENSEMBLE, hands, item

from docgen.figure import PHRASES, describe
from docgen.model.edition import Edition, Role, Supply
from docgen.model.moment import Moment
from docgen.model.protocol import VERBS
from docgen.model.text import NO_TEXT, Run, Text

DAY = datetime.date(2024, 5, 1)


def text(words: str) -> Text:
    """Plain words."""
    return Text("", words, (Run(words),))


EDITION = Edition(
    protocol="p", code="IP-1", title=text("Taking off"), kind="removal", version="1.0", effective=DAY, review=DAY,
    status="draft", owner=NO_TEXT, audience=NO_TEXT, purpose=NO_TEXT, profile="enhanced", signal_scheme="ansi",
    invented=True, pairs_with="", minutes=0, basis=(), approval=None, abbreviations=(), changes=(), reason=NO_TEXT,
    roles=tuple(Role(name, text(name.title()), name) for name in ("wearer", "assistant", "observer")),
    places=(), supplies=(Supply("waste", text("waste bin"), "container"),), items=ENSEMBLE, options=(), open_options=(),
    phases=(), steps=(), branches=(), silenced=(), site="", site_name=NO_TEXT, unit=NO_TEXT, sheets=(), waivers=(),
    speech_rate=0, address="", values=(),
)  # fmt: skip


def moment(verb: str, subject: tuple[str, ...], worn: tuple[str, ...], **more) -> Moment:
    """A step of the wearer, seen from the front."""
    made = Moment("step", worn, verb, subject, hands(list(worn)), False, "front", ("wearer",))
    return replace(made, **more)


def test_a_removal_reads_as_a_sentence():
    """What stays on comes first, then the hands, then what comes off."""
    said = describe(moment("remove", ("hood",), ("hood", "gown", "inner-gloves", "respirator")), EDITION)
    assert said == "Wearer from the front: gown, inner gloves, respirator. Taking off: hood."


def test_two_pairs_of_gloves_say_which_is_outermost_and_clean():
    """The layer and its state are words, too."""
    worn = ("outer-gloves", "gown", "inner-gloves")
    said = describe(moment("sanitize", ("outer-gloves",), worn, hands_clean=True, view="hands"), EDITION)
    assert said == (
        "Wearer, hands close up: outer gloves, gown, inner gloves. Outermost on the hands: outer gloves. "
        "Hands just cleaned. Sanitizing: outer gloves."
    )


def test_nothing_worn_is_said():
    """The end of a sequence has words of its own."""
    said = describe(moment("rub-hands", ("bare",), ()), EDITION)
    assert said == "Wearer from the front: no protective items. Hands bare. Rubbing in hand rub: bare hands."


def test_others_who_act_are_named():
    """An assistant at work is part of the picture."""
    said = describe(moment("remove", ("gown",), ("gown",), actors=("wearer", "assistant"), view="back"), EDITION)
    assert said.startswith("Wearer from behind: no protective items.") and said.endswith("Acting: Wearer, Assistant.")


@pytest.mark.parametrize("verb", VERBS)
def test_every_worn_item_and_the_item_in_hand_are_named(verb: str):
    """Whatever the act, no item of the state is left out, and each is named as the edition names it."""
    worn = tuple(i.id for i in ENSEMBLE)
    said = describe(moment(verb, () if verb in ("confirm", "wait", "note") else ("apron",), worn), EDITION)
    for one in ENSEMBLE:
        assert one.name.plain in said
    assert PHRASES[f"verb.{verb}"].split("{")[0] in said


def test_without_an_ensemble_only_the_act_is_described():
    """Nobody is dressed specially, so nothing is said about dress."""
    plain = replace(EDITION, items=())
    assert describe(moment("discard", ("waste",), ()), plain) == "Throwing away: waste bin."
    assert describe(moment("", (), ()), plain) == ""


def test_another_language_leaves_no_word_of_this_one():
    """All fixed words come from the given phrases: with marked phrases, no unmarked word remains."""
    marked = {k: "".join(c.upper() if depth else c for c, depth in _outside(v)) for k, v in PHRASES.items()}
    named = replace(
        EDITION,
        items=tuple(replace(i, name=text(i.id.upper())) for i in ENSEMBLE),
        roles=tuple(replace(r, name=text(r.id.upper())) for r in EDITION.roles),
    )
    for verb in VERBS:
        for view in ("front", "back", "hands"):
            said = describe(
                moment(verb, ("bare", "ensemble", "apron"), ("apron", "inner-gloves"), view=view, hands_clean=True,
                       actors=("wearer", "observer")), named, marked,
            )  # fmt: skip
            assert said == said.upper()


def _outside(phrase: str) -> list[tuple[str, bool]]:
    """Each character, and whether it lies outside a `{slot}`."""
    out, outside = [], True
    for c in phrase:
        outside = outside and c != "{"
        out.append((c, outside))
        outside = outside or c == "}"
    return out


def test_a_missing_phrase_is_never_filled_from_another_language():
    """A gap in a translation stops, and is not English."""
    lacking = {k: v for k, v in PHRASES.items() if k != "verb.remove"}
    with pytest.raises(KeyError):
        describe(moment("remove", ("gown",), ("gown",)), EDITION, lacking)


def test_phrases_use_only_the_two_slots():
    """A translator meets `{who}` and `{items}`, nothing else, and every act and view has its phrase."""
    for phrase in PHRASES.values():
        assert {name for _, name, _, _ in string.Formatter().parse(phrase) if name} <= {"who", "items"}
    assert {f"verb.{v}" for v in VERBS} <= set(PHRASES)


def test_an_unnamed_thing_is_still_words():
    """A target the edition does not list reads as words, not as an id."""
    assert "Opening: side door." in describe(moment("open", ("side-door",), ()), EDITION)
    assert item("x-y", "gown").name.plain == "x y"
