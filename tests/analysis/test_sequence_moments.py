"""The wearer as each step begins, for the figure."""

from __future__ import annotations

from dataclasses import replace

from published_sequences import CDC_COVERALL, ENH_N95_GOWN, STD_EX1
from sequence_kit import step

from docgen.analysis.sequence import run
from docgen.model.edition import Edition
from docgen.model.moment import Moment


def moment(edition: Edition, id: str) -> Moment:
    return next(m for m in run(edition)[1] if m.step == id)


def test_there_is_a_moment_for_every_step() -> None:
    """Main path first, then the branches, in order."""
    assert [m.step for m in run(ENH_N95_GOWN)[1]] == [s.id for s in ENH_N95_GOWN.all_steps()]


def test_what_is_off_is_gone() -> None:
    """Worn items come outermost first, by what covers what, and leave one by one."""
    first, shield, last = (moment(ENH_N95_GOWN, i) for i in ("engage", "face-shield-off", "leave-area"))
    assert first.worn == (
        "apron", "boot-covers", "outer-gloves", "face-shield", "hood", "gown", "respirator", "inner-gloves", "shoes",
        "scrubs",
    )  # fmt: skip
    assert shield.worn == ("face-shield", "hood", "gown", "respirator", "inner-gloves", "shoes", "scrubs")
    assert last.worn == ("shoes", "scrubs")


def test_hands_are_shown_by_their_layer() -> None:
    """Outermost pair, bare, and whether they were just cleaned."""
    hands = {m.step: (m.hands, m.hands_clean) for m in run(ENH_N95_GOWN)[1]}
    assert hands["sanitize-start"] == ("outer", False)
    assert hands["apron-off"] == ("outer", True)
    assert hands["inspect-inner"] == ("inner", False)
    assert hands["rub-before-new"] == ("bare", False)
    assert hands["new-gloves-on"] == ("bare", True)
    assert {m.hands for m in run(STD_EX1)[1]} == {"single", "bare"}


def test_the_view_follows_the_act() -> None:
    """From behind for straps and hoods and for the helper; hands alone for gloves; else from the front."""
    views = {m.step: m.view for m in run(CDC_COVERALL)[1]} | {m.step: m.view for m in run(ENH_N95_GOWN)[1]}
    assert views["face-shield-off"] == "back" and views["respirator-off"] == "back" and views["hood-off"] == "back"
    assert views["peel"] == "back"
    assert views["inner-gloves-off"] == "hands" and views["rub-last"] == "hands" and views["sanitize-inner"] == "hands"
    assert views["gown-off"] == "front" and views["unzip"] == "front"


def test_an_author_may_choose_the_view() -> None:
    """`picture` overrides what the act suggests."""
    chosen = replace(
        STD_EX1, steps=tuple(replace(s, picture="back") if s.id == "gown-off" else s for s in STD_EX1.steps)
    )
    assert moment(chosen, "gown-off").view == "back"


def test_the_leading_act_is_the_one_that_changes_most() -> None:
    """Straps and discards around a removal do not lead."""
    off = moment(ENH_N95_GOWN, "respirator-off")
    assert (off.verb, off.subject) == ("remove", ("respirator",))
    assert moment(ENH_N95_GOWN, "inspect-inner").actors == ("wearer", "observer")
    assert moment(CDC_COVERALL, "peel").actors == ("assistant",)
    assert moment(STD_EX1, "respirator-off").place == "removal-area"


def test_a_branch_starts_where_it_is_first_offered() -> None:
    """The torn glove as the inspection leaves it; the exposure as the sequence begins."""
    assert moment(ENH_N95_GOWN, "torn-sanitize").worn == moment(ENH_N95_GOWN, "sanitize-inner").worn
    assert moment(ENH_N95_GOWN, "torn-rub").hands == "bare"
    assert moment(ENH_N95_GOWN, "exposure-stop").worn == moment(ENH_N95_GOWN, "engage").worn


def test_a_general_edition_is_shown_with_its_first_choices() -> None:
    """Parts that those choices do not have are not shown."""
    when = (("apron", ("tie",)),)
    items = tuple(replace(i, when=when) if i.id == "apron" else i for i in ENH_N95_GOWN.items)
    steps = tuple(replace(s, when=when) if s.id == "apron-off" else s for s in ENH_N95_GOWN.steps)
    for first, there in ((("none", "tie"), False), (("tie", "none"), True)):
        general = replace(ENH_N95_GOWN, items=items, steps=steps, open_options=(("apron", first),))
        assert ("apron" in moment(general, "engage").worn) is there
        assert ("apron-off" in {m.step for m in run(general)[1]}) is there


def test_a_step_without_acts_has_a_moment() -> None:
    """Nothing leads, and the wearer is shown from the front."""
    edition = replace(STD_EX1, steps=(*STD_EX1.steps, step("debrief")))
    last = moment(edition, "debrief")
    assert (last.verb, last.subject, last.view) == ("", (), "front")
