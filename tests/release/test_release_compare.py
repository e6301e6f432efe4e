"""What two editions of a protocol differ in, and how far it goes."""

from __future__ import annotations

import pytest
from release_kit import PROTOCOL, SHIPPED, SITE, SITES, edited, edition, shipped, step_text, without_step, words

from docgen.model.change import Degree
from docgen.release import compare, data, least, lines, rises_enough, touched
from docgen.source import read_site


def change(*edits, site: str = SITE, old_site: str = SITE):
    return compare(edition(site=old_site), edition(*edits, site=site), words())


def seen(c):
    return {(p.kind, p.id, p.how) for p in c.parts}


def test_an_edition_does_not_differ_from_itself():
    """No part, no degree, no retraining."""
    c = change()
    assert (c.parts, c.degree, c.retraining) == ((), Degree.NONE, False)


@pytest.mark.parametrize("protocol", SHIPPED, ids=lambda p: p.stem)
@pytest.mark.parametrize("site", SITES, ids=lambda p: p.stem)
def test_shipped_editions_do_not_differ_from_themselves(protocol, site):
    """The comparison of large editions is as quiet."""
    assert compare(shipped(protocol, site), shipped(protocol, site), words()).parts == ()


SEQUENCE, DOING, WORDING = Degree.SEQUENCE, Degree.DOING, Degree.WORDING


@pytest.mark.parametrize(
    ("edits", "part", "degree"),
    [
        ([without_step("rub-hands")], ("step", "rub-hands", "removed"), SEQUENCE),
        ([(step_text("put-on"), step_text("put-on") + step_text("put-on").replace("put-on", "again"))],
         ("step", "again", "added"), SEQUENCE),
        ([("Take off the gloves", "Remove the gloves")], ("step", "take-off", "changed"), WORDING),
        ([("Take off the gloves", "Tear off the gloves")], ("step", "take-off", "changed"), DOING),
        ([("Pinch the left cuff.", "Pinch your left cuff")], ("step", "take-off", "changed"), WORDING),
        ([("Pinch the left cuff.", "Pinch the right cuff.")], ("step", "take-off", "changed"), DOING),
        ([("for 20 seconds", "for 30 seconds")], ("step", "rub-gloves", "changed"), DOING),
        ([("[Rub the palms., Rub the backs.]", "[Rub the backs., Rub the palms.]")],
         ("step", "rub-gloves", "changed"), DOING),
        ([("time: {seconds: 20}", "time: {seconds: 30}")], ("step", "rub-gloves", "changed"), DOING),
        ([("gloves are off, into: bin", "gloves are off")], ("step", "take-off", "changed"), SEQUENCE),
        ([("        hold: {by: observer, until: the observer has seen both hands}\n", "")],
         ("step", "take-off", "changed"), SEQUENCE),
        ([("Do not lean over it.", "Lean over it.")], ("caution", "fumes", "changed"), DOING),
        ([("signal: caution", "signal: warning")], ("caution", "fumes", "changed"), DOING),
        ([("        cautions: [fumes]\n", "")], ("caution", "fumes", "removed"), DOING),
        ([("rejoin: take-off", "rejoin: rub-hands")], ("branch", "tear", "changed"), SEQUENCE),
        ([("Is a glove torn?", "Is the glove torn?")], ("branch", "tear", "changed"), WORDING),
        ([("Say that a glove is torn", "Say which glove is torn")], ("step", "tell-it", "changed"), DOING),
        ([("{name: waste container, kind", "{name: waste bin, kind")], ("supply", "bin", "changed"), WORDING),
        ([("Changing gloves", "Changing of gloves")], ("document", "glove-change", "changed"), WORDING),
        ([("review: 2031-03-01", "review: 2032-03-01")], ("document", "glove-change", "changed"), WORDING),
        ([("title: All of it", "title: Everything")], ("phase", "all", "changed"), WORDING),
    ],
)  # fmt: skip
def test_a_change_is_seen_and_classed(edits, part, degree):
    """Each kind of change is a part of its own, and goes as far as it should."""
    c = change(*edits)
    assert part in seen(c)
    assert c.degree is degree
    assert max(p.degree for p in c.parts if (p.kind, p.id, p.how) == part) is degree


def test_a_step_that_moves_is_moved_and_the_others_stay():
    """Only what left its place among the others counts as moved, with its old and new number."""
    hands = step_text("rub-hands")
    c = change((hands, ""), ("      - id: rub-gloves", f"{hands}      - id: rub-gloves"))
    (part,) = c.of("step")
    assert (part.id, part.how, part.old_at, part.new_at) == ("rub-hands", "moved", ("3",), ("1",))
    assert c.degree is Degree.SEQUENCE


def test_a_renamed_id_is_the_same_step():
    """A step with another id and the same words is not one gone and one new; nothing that refers to it differs."""
    c = change(("take-off", "gloves-off"), ("snap:", "cuffs:"), ("[snap]", "[cuffs]"))
    assert c.parts == ()
    c = change(("take-off", "gloves-off"), ("Pinch the left cuff.", "Pinch both cuffs."))
    (part,) = c.of("step")
    assert (part.old_id, part.id, part.how) == ("take-off", "gloves-off", "changed")


def test_a_product_is_seen_as_a_change_of_supply():
    """Another product at the site is a difference, though no line of the protocol changed."""
    other = edited(SITE, ("Orvanol", "Hesperol"))
    c = change(site=other)
    assert ("supply", "rub", "changed") in seen(c)
    assert c.degree is Degree.DOING


def test_without_a_word_list_every_reworded_text_counts():
    """Nobody is told that only the wording changed when no list tells the words apart."""
    c = compare(edition(), edition(("Take off the gloves", "Remove the gloves")))
    assert c.degree is Degree.DOING


@pytest.mark.parametrize(
    ("rule", "wording", "doing", "sequence"),
    [("always", True, True, True), ("doing", False, True, True), ("sequence", False, False, True),
     ("never", False, False, False)],
)  # fmt: skip
def test_the_site_says_when_staff_practise(rule, wording, doing, sequence):
    """Retraining is advised by the rule of the site."""
    site = f"{SITE}retraining: {rule}\n"
    edits = [("Take off the", "Remove the")], [("left cuff", "right cuff")], [without_step("put-on")]
    assert [change(*e, site=site).retraining for e in edits] == [wording, doing, sequence]


@pytest.mark.parametrize(
    ("old", "degree", "needed"),
    [("2.1", Degree.WORDING, "2.2"), ("2.9", Degree.DOING, "2.10"), ("2.9", Degree.SEQUENCE, "3.0")],
)
def test_the_version_rises_with_the_class(old, degree, needed):
    """The first number rises with the sequence, the second with everything else; 2.10 is more than 2.9."""
    assert least(old, degree) == needed
    assert rises_enough(old, needed, degree)
    assert not rises_enough(old, old, degree)
    assert rises_enough("2.9", "2.10", Degree.WORDING) and not rises_enough("2.10", "2.9", Degree.WORDING)
    assert not rises_enough("2.1", "2.2", Degree.SEQUENCE)


POSTINGS = """\
postings:
  - {id: door, location: Ward door, protocol: glove-change, artifact: poster, walk: 2}
  - {id: desk, location: Desk, protocol: glove-change, artifact: script, walk: 1, quantity: 3}
  - {id: far, location: Elsewhere, protocol: other, artifact: poster}
"""


def test_what_a_change_reaches():
    """Artifacts whose words differ are told from those with only another stamp; copies come in walking order."""
    site = read_site(f"{SITE.replace('[en]', '[en, es]')}{POSTINGS}", "s.yaml").value
    assert site
    t = touched(change(("Rub the palms.", "Rub your right palm.")), site)
    assert dict(t.artifacts) == {"poster": False, "cards": False, "script": True, "checklist": False, "notice": True}
    assert t.languages == (("es", 1),)
    assert [p.id for p in t.postings] == ["desk", "door"]
    everywhere = touched(change(("Take off the gloves", "Tear off the gloves")), site)
    assert all(reached for _, reached in everywhere.artifacts)


def test_the_account_for_people():
    """Lines name the step, mark the words, say the class and the version it needs."""
    text = "\n".join(lines(change(("Pinch the left cuff.", "Pinch the right cuff."))))
    assert "changes what people do" in text
    assert "changed: step 2, Take off the gloves" in text
    assert "do: Pinch the [-left-]{+right+} cuff.  (`left` became `right`)" in text
    assert "at least 2.2" in text


def test_the_account_for_programs():
    """Both texts can be put together again from the difference in the data."""
    d = data(change(("Pinch the left cuff.", "Pinch the right cuff.")))
    assert (d["class"], d["least-version"], d["retraining"]) == ("doing", "2.2", True)
    (text,) = d["parts"][0]["texts"]
    assert "".join(w for s, w in text["difference"] if s != "old") == text["new"] == "Pinch the right cuff."


def test_everything_at_once_loses_nothing():
    """Of an entirely different protocol every step is gone or new, and none is counted twice."""
    new = edition(("headline: ", "headline: Otherwise "))
    c = compare(edition(), new, words())
    assert {p.id for p in c.of("step")} == {s.id for s in new.all_steps()}
    assert PROTOCOL.count("- id: ") - 1 == len(list(new.all_steps()))
