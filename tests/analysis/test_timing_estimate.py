"""A step takes as long as what is said, answered, cleaned and done; the whole is held against its stated time."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from written_editions import edition, rules, step, text

from docgen.analysis import timing
from docgen.analysis.timing import ALLOWANCE, GARMENT, HYGIENE, TIMING_RULES, estimate, speech, whole
from docgen.model.edition import Act, Item, Supply, Time
from docgen.model.protocol import ITEM_KINDS, VERBS

SAY = "Remove the apron now, please."


def one(*acts: Act, **more: object):
    """The timing of one step with these acts."""
    (spent,), _ = estimate(edition(step(say=SAY, acts=acts, **more)))
    return spent


def test_every_act_has_an_allowance():
    """The closed set of acts and the tables agree, so that no act takes no time by accident."""
    assert set(ALLOWANCE) == set(VERBS)
    assert set(HYGIENE) <= set(VERBS)
    assert set(GARMENT) <= set(ITEM_KINDS)


def test_a_step_is_said_answered_and_done():
    """Five words to call, two to answer, the allowance of the act."""
    spent = one(Act("remove", ("apron",), "wearer"), answer="Apron off.")
    assert spent.speak == speech(SAY, "en")
    assert spent.answer == speech("Apron off.", "en")
    assert (spent.hygiene, spent.act) == (0, ALLOWANCE["remove"])
    assert spent.total == spent.speak + spent.answer + spent.act


def test_a_step_without_a_call_is_called_by_its_headline():
    """The observer then reads the headline."""
    (spent,), _ = estimate(edition(step(headline="Remove the apron")))
    assert spent.speak == speech("Remove the apron", "en")


def test_hygiene_takes_its_least_time_or_the_published_one():
    """WHO 2009 (from memory): hand rub 20 to 30 seconds, hand wash 40 to 60, all in."""
    assert 20 <= HYGIENE["rub-hands"] <= 30
    assert 40 <= HYGIENE["wash"] <= 60
    assert one(Act("rub-hands", ("bare",), "wearer")).hygiene == HYGIENE["rub-hands"]
    assert one(Act("rub-hands", ("bare",), "wearer", time=Time(25, 30))).hygiene == 25
    assert one(Act("sanitize", ("gloves",), "wearer"), time=Time(30, 40)).hygiene == 30


def test_a_surface_stays_wet_for_the_contact_time_of_its_product():
    """The label's seconds come with the supply."""
    wipes = Supply("wipes", text("wipes"), "agent", contact=240)
    act = Act("clean", ("chair",), "wearer", using=("wipes",))
    (spent,), _ = estimate(edition(step(acts=(act,)), supplies=(wipes,)))
    assert spent.hygiene == 240


def test_a_step_takes_at_least_the_time_it_states():
    """A wait of a minute is a minute, and never shorter than its acts."""
    assert one(Act("wait", (), "wearer", time=Time(60, 60))).act == 60
    assert one(Act("inspect", ("gloves",), "wearer"), time=Time(45, 60)).act == 45
    assert one(Act("inspect", ("gloves",), "wearer"), time=Time(1, 2)).act == ALLOWANCE["inspect"]


def test_large_garments_take_longer():
    """A coverall takes three times an apron (common practice, no source)."""
    suit = Item("suit", text("coverall"), "coverall")
    (spent,), _ = estimate(edition(step(acts=(Act("remove", ("suit",), "wearer"),)), items=(suit,)))
    assert spent.act == 3 * ALLOWANCE["remove"]


def test_a_site_reads_at_its_own_rate():
    """Half the rate, twice the time."""
    slow = edition(step(say=SAY), speech_rate=55)
    (spent,), _ = estimate(slow)
    assert spent.speak == pytest.approx(2 * speech(SAY, "en"))


def minute_steps(count: int, **more: object):
    """An edition of steps that wait a minute each, called in three words."""
    wait = Act("wait", (), "wearer", time=Time(60, 60))
    return edition(*(step(f"s{n}", say="Wait with me.", acts=(wait,)) for n in range(count)), **more)


@pytest.mark.parametrize(
    ("steps", "more", "expected"),
    [
        (5, {"minutes": 6}, []),
        (6, {"minutes": 6}, []),  # a few seconds over: within the tolerance of an estimate
        (7, {"minutes": 6}, ["longer-than-stated"]),
        (1, {"minutes": 6}, ["far-below-stated"]),
        (5, {}, []),
        (5, {"profile": "standard"}, ["no-stated-time"]),
        (15, {"minutes": 16, "profile": "enhanced"}, []),
        (12, {"minutes": 13, "profile": "enhanced"}, ["outside-published-range"]),
        (12, {"minutes": 13, "profile": "enhanced", "kind": "putting-on"}, []),
        (24, {"minutes": 30, "profile": "enhanced"}, ["outside-published-range"]),
        (24, {"minutes": 30, "profile": "standard"}, []),
    ],
)
def test_the_whole_is_held_against_the_stated_time(steps, more, expected):
    """Too long, far too short, unstated, or outside what is published: each is said, and nothing else is."""
    _, findings = estimate(minute_steps(steps, **more))
    assert rules(findings) == expected
    assert all(f.hint for f in findings)


def test_published_minutes():
    """Isr J Health Policy Res 2021, introduction: putting on 7 to 15 minutes, removing 14 to 23, enhanced equipment."""
    assert timing.PUBLISHED_MINUTES == {("putting-on", "enhanced"): (7, 15), ("removing", "enhanced"): (14, 23)}


def test_stating_what_the_hint_says_ends_the_finding():
    """The minutes in the hint are enough."""
    _, (finding,) = estimate(minute_steps(9, minutes=6))
    minutes = int(finding.hint.split("`minutes: ")[1].split("`")[0])
    assert estimate(minute_steps(9, minutes=minutes))[1] == ()


def test_a_general_edition_is_as_long_as_its_longest_combination():
    """Steps of a choice that is not taken cost nothing; the options of the longest way are named."""
    wait = Act("wait", (), "wearer", time=Time(60, 60))
    steps = (
        step("both", acts=(wait,)),
        step("gown", acts=(wait,), when=(("suit", ("gown",)),)),
        step("coverall-a", acts=(wait,), when=(("suit", ("coverall",)),)),
        step("coverall-b", acts=(wait,), when=(("suit", ("coverall",)), ("boots", ("yes",)))),
    )
    general = edition(*steps, minutes=2, open_options=(("suit", ("gown", "coverall")), ("boots", ("no", "yes"))))
    timings, findings = estimate(general)
    assert len(timings) == 4
    total, options = whole(general, timings)
    assert options == (("suit", "coverall"), ("boots", "yes"))
    assert total == pytest.approx(sum(t.total for t in timings if t.step != "gown"))
    assert "suit `coverall`" in findings[0].message


def test_many_options_are_bounded():
    """Twenty options with two choices each are a million combinations; the estimate still answers at once."""
    options = tuple((f"o{n}", ("a", "b")) for n in range(20))
    steps = [step(f"s{n}", when=((f"o{n}", ("b",)),)) for n in range(20)]
    general = edition(*steps, open_options=options)
    total, chosen = whole(general, estimate(general)[0])
    assert total > 0 and len(chosen) == 20


def test_every_timing_rule_can_fire():
    """The table above makes each of them speak."""
    spoken = {"longer-than-stated", "far-below-stated", "no-stated-time", "outside-published-range"}
    assert {r.name.partition("/")[2] for r in TIMING_RULES} == spoken


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=60), st.sampled_from(["en", "th", "zh", "xx", "pt-BR", ""]), st.integers(0, 250))
def test_any_text_takes_a_sane_time(words, language, rate):
    """No text takes less than nothing, and more text never takes less."""
    assert 0 <= speech(words, language, rate) <= speech(words + " and more", language, rate)
