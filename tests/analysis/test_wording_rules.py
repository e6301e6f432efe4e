"""Each wording rule speaks about a bad text and is silent about its mended twin."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from written_editions import branch, caution, edition, rules, step, text, word_list

from docgen.analysis.wording import CHECKS, WORDING_RULES, check
from docgen.findings import Severity
from docgen.model.text import Run, Text
from docgen.model.wordlist import WordList

LISTS = {"do", "watch"}
CAUTION = {"hazard", "consequence", "avoid"}

# rule, field, text that breaks it, the same thing said well
TWINS = [
    ("headline-without-verb", "headline", "Outer gloves", "Remove the outer gloves"),
    ("headline-without-verb", "headline", "The apron comes off", "Take off the apron"),
    ("headline-without-verb", "headline", "Removing the apron", "Remove the apron"),
    ("headline-without-verb", "headline", "Hand hygiene", "Rub your hands"),
    ("headline-without-verb", "headline", "Double gloves", "Double-bag the waste"),
    ("headline-without-verb", "headline", "If the glove is torn", "If the glove is torn, change the glove"),
    ("headline-without-verb", "headline", "Observer", "Observer: inspect both gloves"),
    ("headline-without-verb", "headline", "You should remove the apron", "Slowly remove the apron"),
    ("several-actions", "headline", "Remove the apron and sanitize the gloves", "Remove the apron"),
    ("several-actions", "headline", "Remove the hood, then inspect the gloves", "Remove the hood and discard it"),
    ("several-actions", "headline", "Spray, wait and wipe the seat", "Close and seal the bag"),
    ("several-actions", "headline", "Untie the apron, roll it down", "Stop and show the observer"),
    ("several-actions", "say", "Untie the tie. Roll the apron. Drop the apron. Rub both gloves.", "Untie it. Roll it."),
    ("long-sentence", "say", "Lift the shield " + "up and over " * 6 + ".", "Lift the shield up and over."),
    ("long-sentence", "do", "Hold the strap " + "behind your head " * 7 + ".", "Hold the strap behind your head."),
    ("long-sentence", "hazard", "The strap " + "of the shield snaps back " * 5, "The strap snaps back"),
    ("condition-after-action", "say", "Change the glove if it is torn.", "If it is torn, change the glove."),
    ("condition-after-action", "do", "Stop when the observer says so.", "When the observer says so, stop."),
    ("condition-after-action", "headline", "Leave the room unless it is locked", "Check if the door is shut"),
    ("condition-after-action", "do", "Sit down once the seat is dry.", "Turn around once."),
    ("condition-after-action", "avoid", "Hold still if the strap snaps", "If the strap snaps, hold still"),
    ("condition-after-action", "do", "Lift the strap if it catches.", "Lean forward; if the strap catches, lift it."),
    ("vague-word", "do", "Rub as needed.", "Rub for 20 seconds."),
    ("vague-word", "do", "Use enough hand rub.", "Use enough hand rub to wet both hands."),
    ("vague-word", "do", "Remove the apron carefully.", "Remove the apron carefully: roll it down."),
    ("vague-word", "do", "Sanitize immediately.", "Sanitize immediately after the last glove."),
    ("vague-word", "do", "Wait a while.", "Wait 30 seconds."),
    ("vague-word", "do", "Make sure.", "Make sure that the zip is shut."),
    ("vague-word", "do", "You should step back.", "Step back."),
    ("vague-word", "do", "Rub for about 20 seconds.", "Turn around and tell me about it."),
    ("vague-word", "watch", "The gloves are rubbed sufficiently", "The gloves are wet for 20 seconds"),
    ("vague-word", "say", "Wipe the zip, the flap, etc.", "Wipe the zip and the flap."),
    ("vague-word", "do", "Open the door if possible.", "Open the door."),
    ("number-without-unit", "do", "Rub for 20.", "Rub for 20 seconds."),
    ("number-without-unit", "do", "Rub for 20 to 30 and stop.", "Rub for 20 to 30 s and stop."),
    ("number-without-unit", "do", "Hold 15 then let go.", "Hold 2 fingers under the strap."),
    ("number-without-unit", "done_when", "The timer shows 60", "Step 4 is ticked"),
    ("number-without-unit", "do", "Keep it above 95.", "Keep it above 95 %."),
    ("number-without-unit", "say", "Count slowly to 20 with 3.", "Count to 20."),
    ("number-without-unit", "do", "Warm it to 30.", "Warm it to 30 °C."),
    ("number-without-unit", "do", "Mix 5 with the water.", "Dial 5555."),
    ("number-without-unit", "do", "Reach 10.", "Call 0199 555 0123."),
    ("unit-without-space", "do", "Rub for 20s.", "Rub for 20 s."),
    ("unit-without-space", "do", "Take 5ml of hand rub.", "Take 5 ml of hand rub."),
    ("unit-without-space", "do", "Keep the store at 25°C.", "Keep the store at 25 °C."),
    ("decimal-zero", "do", "Use .5 % chlorine.", "Use 0.5 % chlorine."),
    ("decimal-zero", "do", "Take 5.0 ml of hand rub.", "Take 5 ml of hand rub."),
    ("number-in-words", "do", "Rub for twenty seconds.", "Rub for 20 seconds."),
    ("number-in-words", "say", "Wait two to three minutes.", "Hold two fingers under the cuff."),
    ("and-or", "do", "Wipe the apron and/or the gown.", "Wipe the apron, then the gown."),
    ("unexplained-abbreviation", "do", "Hold the PAPR by its hose.", "Hold the hood by its hose."),
    ("unexplained-abbreviation", "watch", "No PAPRs on the floor", "DO NOT touch the floor; do not kneel"),
    ("unexplained-abbreviation", "say", "Use a wipe, e.g. a wet one.", "Use a wet wipe."),
    ("two-names", "do", "Drop the apron into the trash.", "Drop the apron into the waste container."),
    ("two-names", "do", "Lift the visor.", "Lift the face shield."),
    ("two-names", "say", "Use sanitizer on both gloves.", "Use hand rub on both gloves."),
    ("hidden-action", "hazard", "The glove is torn. Change the glove.", "The glove is torn"),
    ("hidden-action", "consequence", "Do not touch your face.", "Virus reaches your face"),
    ("hidden-action", "avoid", "Sanitize the gloves first", "Keep your hands low"),
    ("hidden-action", "avoid", "Keep your eyes shut. Lean back.", "Keep your eyes shut and lean back."),
    ("hidden-action", "hazard", "Pull on the hose", "Pull on the hose can tear the hood"),
    ("hidden-action", "hazard", "Clean the strap", "Clean gloves are soiled again"),
    ("no-consequence", "consequence", "This is dangerous", "Virus reaches the skin"),
    ("no-consequence", "consequence", "The outside of the apron is soiled", "Virus reaches your hands"),
    ("no-consequence", "consequence", "Be careful", "You lose your balance"),
    ("no-consequence", "consequence", "", "Virus reaches the skin"),
    ("long-caution", "hazard", "The apron " + "and its long ties " * 5 + "are soiled", "The apron is soiled"),
    ("signal-scheme", "hazard", "WARNING: the apron is soiled", "The apron is soiled"),
    ("signal-scheme", "say", "Note: the strap is stiff.", "The strap is stiff. Note the time."),
    ("signal-scheme", "do", "IMPORTANT keep the head back.", "Keep the head back."),
    ("double-negative", "say", "Do not leave without my word.", "Leave only after my word."),
    ("double-negative", "do", "Never go on unless told.", "Do not kneel, and do not sit."),
    ("double-negative", "watch", "No glove is not wet", "No tear, no hole, no soil"),
    ("double-negative", "hazard", "Not uncommon here", "Common here"),
    ("empty-answer", "answer", "Done.", "Apron off, gloves whole."),
    ("empty-answer", "done_when", "Completed", "The apron is in the waste container"),
    ("empty-answer", "hold", "OK", "the observer has seen both gloves"),
    ("empty-answer", "watch", "Checked", "No tear in either glove"),
    ("passive-voice", "do", "The apron is rolled down.", "Roll the apron down."),
    ("passive-voice", "say", "Both ties must be undone.", "Undo both ties."),
    ("passive-voice", "do", "The strap is then held.", "Rub until the gloves are covered."),
    ("unclear-pronoun", "do", "Ask if he can reach it.", "Ask if the wearer can reach it."),
    ("unclear-pronoun", "do", "Lift the face shield off the apron and roll it.", "Lift the face shield and drop it."),
    (
        "long-breath", "say",
        "Reach behind your head with both hands and take hold of the lower strap near the left ear now.",
        "Reach behind your head with both hands, and take hold of the lower strap near the left ear now.",
    ),
]  # fmt: skip


def written(field: str, words: str):
    """An edition whose only remarkable text is this one."""
    if field in CAUTION:
        return edition(step(cautions=(caution(**{field: words}),)))
    if field == "headline":
        return edition(step(headline=words))
    return edition(step(**{field: [words] if field in LISTS else words}))


@pytest.mark.parametrize(("rule", "field", "bad", "good"), TWINS)
def test_rule_fires_on_the_bad_text_and_not_on_its_mended_twin(rule, field, bad, good):
    """Every bad text is found by its rule; the mended one gives no finding of that rule."""
    assert rule in rules(check(written(field, bad), word_list()))
    assert rule not in rules(check(written(field, good), word_list()))


def test_mended_twins_are_clean_of_every_rule():
    """A rule that cries wolf gets ignored: good texts give no warning of any kind."""
    noisy = [
        (good, f.rule, f.message)
        for _, field, _, good in TWINS
        for f in check(written(field, good), word_list())
        if f.severity is not Severity.ADVICE and f.rule != "wording/several-actions"
    ]
    assert noisy == []


def test_every_finding_can_be_acted_on():
    """Each says what, where and how to mend it, in the grammar of findings: lower case, no full stop, an imperative."""
    for _, field, bad, _ in TWINS:
        for finding in check(written(field, bad), word_list()):
            assert finding.hint and not finding.hint.endswith(".")
            assert finding.message[0] in "`" or finding.message[0].islower() or finding.message[0].isdigit()
            assert not finding.message.endswith(".")
            assert finding.language == "en"
            if finding.step:
                assert finding.where.line


TABLED = {rule for rule, *_ in TWINS}


def test_every_rule_has_a_case():
    """No rule is without a text that makes it speak; the ones about the whole edition have tests of their own below."""
    whole = {"cleaning-unsaid", "two-verbs", "hard-to-read", "unknown-silence", "unused-silence"}
    assert {r.name.partition("/")[2] for r in WORDING_RULES} == TABLED | whole


@pytest.mark.parametrize(
    ("rule", "bad"), [(r, b) for i, (r, _, b, _) in enumerate(TWINS) if r not in {t[0] for t in TWINS[:i]}]
)
def test_a_silenced_rule_is_silent(rule, bad):
    """A protocol can switch each rule off with a reason, and then nothing is said, not even about the silence."""
    field = next(f for r, f, b, _ in TWINS if (r, b) == (rule, bad))
    quiet = replace(written(field, bad), silenced=((f"wording/{rule}", "agreed with the unit"),))
    found = rules(check(quiet, word_list()))
    assert rule not in found
    assert "unused-silence" not in found


def test_silence_that_names_no_rule_is_a_finding_with_the_likely_name():
    """A misspelt silence would silence nothing, so it is said, with what was probably meant."""
    found = check(edition(step(), silenced=(("wording/passiv-voice", "agreed"),)), word_list())
    assert [(f.rule, f.hint) for f in found] == [("wording/unknown-silence", "write `wording/passive-voice`")]


def test_a_safety_rule_cannot_be_silenced_by_its_author():
    """Safety rules are waived at a site; a silence of one is refused and says so."""
    found = check(edition(step(), silenced=(("sequence/anything", "we know better"),)), word_list())
    assert rules(found) == ["unknown-silence"]
    assert "site file" in found[0].hint


def test_silence_that_silences_nothing_is_a_finding():
    """A silence left behind after its text was mended would hide the next fault."""
    found = check(edition(step(), silenced=(("wording/and-or", "agreed"),)), word_list())
    assert rules(found) == ["unused-silence"]


def test_two_verbs_for_the_same_act():
    """Two headlines that remove something begin with the same verb (DOE-STD-1029-92, from memory)."""
    from docgen.model.edition import Act

    def off(id: str, headline: str):
        return step(id, headline, acts=(Act("remove", (id,), "wearer"),))

    mixed = edition(off("gown", "Remove the gown"), off("apron", "Take off the apron"), off("mask", "Remove the mask"))
    same = edition(off("gown", "Remove the gown"), off("apron", "Remove the apron"))
    how = edition(off("gown", "Remove the gown"), off("apron", "Roll down the apron"))
    assert rules(check(mixed, word_list())) == ["two-verbs"]
    assert rules(check(same, word_list())) == rules(check(how, word_list())) == []


def test_severity_grows_with_the_fault():
    """STE: 20 words in an instruction; GOV.UK and Australian Style Manual: 25; DOE-STD-1029: up to three actions."""

    def level(field: str, words: str, rule: str) -> Severity:
        return next(f.severity for f in check(written(field, words), word_list()) if f.rule.endswith(rule))

    assert level("say", "now " * 21, "long-sentence") is Severity.WARNING
    assert level("say", "now " * 25, "long-sentence") is Severity.WARNING
    assert level("say", "now " * 26, "long-sentence") is Severity.ERROR
    assert level("headline", "Remove the hood, roll the hood, wipe the hood", "several-actions") is Severity.WARNING
    four = "Remove the hood, roll the hood, wipe the hood, discard the bag"
    assert level("headline", four, "several-actions") is Severity.ERROR
    assert level("hazard", "soil " * 20, "long-caution") is Severity.ADVICE
    assert level("hazard", "soil " * 28, "long-caution") is Severity.WARNING


@pytest.mark.parametrize(("count", "fires"), [(20, False), (21, True)])
def test_sentence_limit_is_exact(count, fires):
    """Twenty words pass, twenty-one do not (ASD-STE100, from memory)."""
    assert ("long-sentence" in rules(check(written("do", "now " * count), word_list()))) is fires


def test_declared_abbreviation_is_no_finding():
    """What the protocol explains may be used."""
    used = step(do=["Hold the PAPR by its hose."])
    declared = edition(used, abbreviations=(("PAPR", text("powered air-purifying respirator")),))
    assert rules(check(edition(used), word_list())) == ["unexplained-abbreviation"]
    assert rules(check(declared, word_list())) == []


def test_a_product_name_in_capitals_is_no_abbreviation():
    """What a site fills in is the name of its product, and not for the author to explain."""
    used = step(do=["Wipe the chair with ACME-XQ wipes."])
    at_site = edition(used, values=(("wipes", text("ACME-XQ wipes")),))
    assert rules(check(edition(used), word_list())) == ["unexplained-abbreviation"]
    assert rules(check(at_site, word_list())) == []


def test_an_abbreviation_is_reported_once():
    """Forty findings about the same letters are thirty-nine too many."""
    steps = [step(f"s{n}", do=["Hold the PAPR."]) for n in range(5)]
    assert len(check(edition(*steps), word_list())) == 1


def test_two_names_tell_every_place():
    """One finding for each other name, with the further places as notes."""
    steps = [step(f"s{n}", do=["Drop the apron into the trash."]) for n in range(3)]
    (found,) = check(edition(*steps), word_list())
    assert len(found.notes) == 2


def test_a_name_that_is_part_of_a_declared_one_is_not_another_name():
    """A declared `linen bin` does not make `waste container` a second name, nor the other way round."""
    from docgen.model.edition import Supply

    base = edition(step(do=["Drop it into the reuse bin."]))
    both = replace(base, supplies=(*base.supplies, Supply("reuse-bin", text("reuse bin"), "container")))
    assert rules(check(both, word_list())) == []
    bare = replace(both, steps=(step(do=["Drop it into the bin."]),))
    assert rules(check(bare, word_list())) == ["two-names"]


@pytest.mark.parametrize(
    ("scheme", "signal", "about", "fires"),
    [
        ("ansi-z535", "warning", ("splash",), False),
        ("ansi-z535", "notice", (), False),
        ("ansi-z535", "notice", ("splash",), True),  # ANSI Z535.4-2007: NOTICE is not about personal injury
        ("procedure-writing", "danger", (), True),  # DOE-STD-1029-92: WARNING, CAUTION and NOTE only
        ("procedure-writing", "caution", (), False),
        ("procedure-writing", "notice", (), False),
    ],
)
def test_signals_keep_to_their_scheme(scheme, signal, about, fires):
    """A signal word from another scheme, or a notice about an injury, is found."""
    one = edition(step(cautions=(caution(signal=signal, about=about),)), signal_scheme=scheme)
    assert ("signal-scheme" in rules(check(one, word_list()))) is fires


def test_a_caution_shown_at_many_steps_is_checked_once():
    """The same caution before three steps gives one finding, not three."""
    bad = caution(hazard="The glove is torn. Change the glove.")
    found = check(edition(*(step(f"s{n}", cautions=(bad,)) for n in range(3))), word_list())
    assert rules(found) == ["hidden-action"] and len(found) == 1


def test_branches_are_read_too():
    """Steps and endings of a branch follow the same rules."""
    one = branch("Tear?", step("change", "New gloves"), leave=text("Leave if the observer says so."))
    assert rules(check(edition(step(), branches=(one,)), word_list())) == [
        "headline-without-verb",
        "condition-after-action",
    ]


def test_readability_is_advice_about_the_whole_and_only_when_there_is_enough_text():
    """Hard words alone give no finding in one step; over a hundred words they give advice (never more)."""
    hard = "Institutional decontamination necessitates methodological prioritization"
    few = check(edition(step(do=[hard])), word_list())
    many = check(edition(*(step(f"s{n}", do=[hard] * 5) for n in range(9))), word_list())
    assert "hard-to-read" not in rules(few)
    about = [f for f in many if f.rule == "wording/hard-to-read"]
    assert (
        about
        and {f.severity for f in about} == {Severity.ADVICE}
        and {f.artifact for f in about} <= {"script", "poster"}
    )


def test_a_translation_is_never_stopped_by_wording():
    """The author mends the source; a translation is only warned about."""
    long = step(say="now " * 30)
    own = check(edition(long), word_list())
    translated = check(edition(long, translation="3"), word_list())
    assert Severity.ERROR in {f.severity for f in own}
    assert Severity.ERROR not in {f.severity for f in translated}


def test_an_unfilled_slot_keeps_the_shape_of_its_sentence():
    """In a general edition a slot stands for its value: no number loses its unit, no verb goes missing."""
    runs = (Run("Rub with "), Run(slot="hand-rub"), Run(" for 20 seconds"))
    one = replace(step(), headline=Text("step.a.headline", "Rub with {hand-rub} for 20 seconds", runs))
    assert check(edition(one), word_list()) == ()


def test_an_empty_word_list_says_nothing_about_words():
    """A language without a list is not judged by another language's words."""
    quiet = {"long-sentence", "hard-to-read", "long-caution", "long-breath", "decimal-zero", "unexplained-abbreviation",
             "no-consequence", "signal-scheme"}  # fmt: skip
    for _, field, bad, _ in TWINS:
        assert set(rules(check(written(field, bad), WordList("xx")))) <= quiet


any_text = st.text(max_size=80) | st.lists(
    st.sampled_from(
        ["remove", "and", "if", "not", "without", "20", ".5", "5ml", "PAPR", ":", ";", ",", ".", "!", "WARNING", "it",
         "the visor", "is", "done", "e.g.", "{x}", "—", "\n"]
    ),
    max_size=25,
).map(" ".join)  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(any_text, any_text, any_text)
def test_no_text_makes_a_rule_crash(headline, spoken, hazard):
    """Whatever is written, the rules answer with findings."""
    one = step(
        headline=headline, say=spoken, answer=spoken, do=[spoken], watch=[hazard], done_when=hazard, hold=hazard,
        cautions=(caution(hazard, spoken, headline),),
    )  # fmt: skip
    for finding in check(edition(one, branches=(branch(headline, one, leave=text(spoken)),)), word_list()):
        assert finding.message and finding.hint


def test_rules_stand_in_the_order_of_their_checks_with_unique_names():
    """The visible tuple is the only registry."""
    names = [r.name for r in WORDING_RULES]
    assert len(set(names)) == len(names)
    assert names[: len(CHECKS)] == [rule.name for rule, _ in CHECKS]
