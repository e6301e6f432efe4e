"""What `check` says, of one file and of all."""

from __future__ import annotations

from pathlib import Path

import pytest
from workshop import Workshop

from docgen.build.checking import check as check_
from docgen.build.checking import explained, rules
from docgen.build.outcome import Exit
from docgen.build.shelf import Asked
from docgen.findings import Severity
from docgen.project import Project, shipped


@pytest.fixture
def workshop(tmp_path, monkeypatch):
    """A folder with an empty project, which is the working folder."""
    monkeypatch.chdir(tmp_path)
    return Workshop(tmp_path)


def check(*files, sites=()):
    """Check with the real rooms."""
    return check_(Project(Path("protocols")), Asked(tuple(Path("protocols", f) for f in files), sites))


def found(outcome):
    """Rule and file of everything that was found."""
    return [(f.rule, Path(f.where.file).name) for f in outcome.findings]


def test_a_clean_project_says_what_was_looked_at(workshop):
    """One line for each protocol, with its sites."""
    workshop.protocol("airing")
    workshop.site("north", "airing")
    outcome = check()

    assert outcome.findings == ()
    assert outcome.status == Exit.CLEAN
    (line,) = outcome.lines
    assert line.startswith("airing 1.0: 2 steps")
    assert line.endswith("; at north")


def test_a_protocol_no_site_uses_is_checked_too(workshop):
    """Alone, with all its options open."""
    workshop.protocol("airing")

    assert check().lines[0].endswith("; used by no site")


def test_all_problems_of_all_files_come_at_once(workshop):
    """One broken file hides nothing in another."""
    workshop.protocol("airing", more="colour: red\nsize: 3\n")
    workshop.protocol("other", code="OT-01", more="colour: blue\n")
    workshop.site("north", "airing", "nothing")
    outcome = check()

    assert outcome.status == Exit.FINDINGS
    wrong = [f for f in outcome.findings if f.severity is Severity.ERROR]
    assert [Path(f.where.file).name for f in wrong] == ["airing.yaml", "airing.yaml", "other.yaml", "north.yaml"]
    assert all(f.where.line and f.where.column and f.where.excerpt for f in wrong)


def shipped_removal(workshop, *changes):
    """The shipped long removal with changes; an empty second text cuts up to the next step or phase."""
    text = (shipped("protocols") / "enhanced-removal.yaml").read_text("utf-8").replace("pairs-with:", "# ")
    for old, new in changes:
        assert text.count(old) == 1
        start = text.index(old)
        end = start + len(old) if new else text.index("\n\n", start) + 2
        text = text[:start] + new + text[end:]
    (workshop.folder / "protocols" / "enhanced-removal.yaml").write_text(text, "utf-8")


def test_a_loose_end_does_not_hide_what_is_unsafe(workshop):
    """A deleted step that a branch rejoined at, and a supply nobody uses: the steps are run all the same."""
    unused = ("supplies:\n", "supplies:\n  bell:\n    name: bell\n    kind: other\n")
    shipped_removal(workshop, ("      - id: sanitize-inner-gloves\n", ""), unused)
    outcome = check()

    rules_found = [f.rule for f in outcome.findings]
    assert rules_found == ["source/unused-supply", "sequence/no-hygiene-between-items", "source/rejoins-nowhere"]
    assert outcome.findings[2].hint.startswith("put the step back, or write `same`")
    assert not outcome.lines  # it is not called clean


def test_following_the_hints_of_a_deleted_step_ends_in_a_clean_protocol(workshop):
    """The step put back by hand as the hint words it, and `same` written: nothing is left to say."""
    shipped_removal(workshop, ("      - id: sanitize-inner-gloves\n", ""))
    hygiene = next(f for f in check().findings if f.rule.startswith("sequence/"))
    assert "sanitize `inner-gloves`" in hygiene.hint and hygiene.hint.endswith("step 15 `face-shield-off`")
    by_hand(workshop, "  - id: head\n", "inner", ("rejoin: sanitize-inner-gloves", "rejoin: same"))

    assert [f for f in check().findings if f.severity is Severity.ERROR] == []


def test_following_the_hint_mends_it_where_boot_covers_come_off_late_too(workshop):
    """What is handled next differs with the option; the step that the hint words, with its `when`, is enough for both.

    The hint once pointed inside the step that only the early removal has, and the late one stayed unmended.
    """
    shipped_removal(workshop, ("      - id: sanitize-after-tied-apron\n", ""))
    (hygiene,) = [f for f in check().findings if f.severity is Severity.ERROR]
    assert hygiene.hint.startswith("add with `apron: tie`: sanitize `outer-gloves` ")
    assert hygiene.hint.endswith("and step 10 `early-boot-covers-off`")
    by_hand(workshop, "      - id: early-boot-covers-off\n", "outer", when="        when: {apron: tie}\n")

    assert [f for f in check().findings if f.severity is Severity.ERROR] == []


def by_hand(workshop, before, layer, *changes, when=""):
    """A step that cleans gloves, written into the file as a person would."""
    file = workshop.folder / "protocols" / "enhanced-removal.yaml"
    step = (
        f"      - id: added\n        headline: Sanitize the {layer} gloves\n"
        f"        say: Sanitize your {layer} gloves. Rub for 20 to 30 seconds.\n"
        f"        answer: Sanitizing {layer} gloves.\n        done-when: Both {layer} gloves are whole and dry.\n"
        f"        acts:\n          - {{sanitize: {layer}-gloves, using: hand-rub, time: {{seconds: [20, 30]}}}}\n"
        f"{when}\n"
    )
    text = file.read_text("utf-8")
    for old, new in ((before, step + before), *changes):
        assert text.count(old) == 1
        text = text.replace(old, new)
    file.write_text(text, "utf-8")


def test_what_keeps_the_steps_from_being_analysed_is_said(workshop):
    """A misspelt item makes a run of the steps worthless: the silence is explained, with the line to mend."""
    shipped_removal(workshop, ("{remove: face-shield,", "{remove: fase-shield,"))
    outcome = check()

    assert [f.rule for f in outcome.findings] == ["build/not-analysed", "source/unknown-item"]
    assert f"line {outcome.findings[1].where.line}:" in outcome.findings[0].message


def test_one_file_is_checked_without_the_faults_of_its_neighbours(workshop):
    """But names in it are still looked up among them."""
    workshop.protocol("airing", more="pairs-with: other\n")
    workshop.protocol("other", code="OT-01", headline="Open, then close and wipe the window", more="colour: blue\n")
    workshop.site("north", "airing", "other")

    assert check("airing.yaml").findings == ()
    assert {file for _rule, file in found(check("other.yaml"))} == {"other.yaml"}


def test_one_site_is_checked_with_everything_it_uses(workshop):
    """A site's file given by name."""
    workshop.protocol("airing")
    workshop.site("north", "airing")
    workshop.site("south", "nothing")
    outcome = check("sites/north.yaml")

    assert outcome.findings == ()
    assert outcome.lines[0].endswith("; at north")


def test_a_site_that_uses_none_of_the_protocols_is_told_in_one_sentence(workshop):
    """Not that each of them is used by no site, which other sites may well do."""
    workshop.protocol("airing")
    workshop.protocol("other", code="OT-01", headline="Open, then close and wipe the window")
    workshop.site("north", "airing")
    workshop.site("south", "other")

    assert check("airing.yaml", sites=("south",)).lines == ("`south` uses none of the protocols checked",)
    assert [line.split()[0] for line in check(sites=("south",)).lines] == ["other"]


def test_a_site_that_is_not_there_is_unusable(workshop):
    """The names to choose from are given."""
    workshop.protocol("airing")
    workshop.site("north", "airing")
    outcome = check(sites=("nort",))

    assert found(outcome) == [("project/unknown-site", "sites")]
    assert "`north`" in outcome.findings[0].hint
    assert outcome.status == Exit.UNUSABLE


def test_two_protocols_must_not_share_a_code_or_a_name(workshop):
    """Their sheets could not be told apart."""
    workshop.protocol("airing")
    workshop.protocol("other")
    (workshop.folder / "protocols" / "zzz.yaml").write_text(
        workshop.protocol("airing").read_text("utf-8").replace("AR-01", "ZZ-01"), "utf-8"
    )

    assert found(check()) == [("build/same-name", "other.yaml"), ("build/same-name", "zzz.yaml")]


def test_nothing_to_check_is_unusable(workshop):
    """An empty folder is not a clean one."""
    outcome = check()

    assert [f.rule for f in outcome.findings] == ["project/no-protocols"]
    assert outcome.status == Exit.UNUSABLE


def test_a_file_that_is_not_there_is_unusable(workshop):
    """Exit status 2, with the reason."""
    workshop.protocol("airing")
    outcome = check("airin.yaml")

    assert found(outcome) == [("project/unreadable", "airin.yaml")]
    assert outcome.status == Exit.UNUSABLE


def test_every_rule_is_explained_with_its_basis():
    """The same words for every rule that can be found by the analysis."""
    for rule in rules():
        outcome = explained(rule.name)
        assert outcome.status == Exit.CLEAN, rule.name
        assert rule.basis in outcome.lines[0]


def test_a_misspelt_rule_is_not_explained():
    """The nearest name is offered."""
    outcome = explained(rules()[0].name + "s")

    assert outcome.status == Exit.UNUSABLE
    assert rules()[0].name in outcome.findings[0].hint


def test_a_protocol_and_the_one_that_undoes_it_must_agree(workshop):
    """What is put on in the shipped pair is what is taken off; another kind of item in one of them is found once."""
    for file in ("enhanced-removal.yaml", "enhanced-putting-on.yaml", "sites/larkmoor.yaml"):
        text = (shipped("protocols") / file).read_text("utf-8")
        (workshop.folder / "protocols" / file).write_text(text, "utf-8")
    asked = ("enhanced-removal.yaml",)  # its partner is looked at although only one is asked for
    assert not [f for f in check(*asked).findings if f.rule.startswith("sequence/pair")]

    other = workshop.folder / "protocols" / "enhanced-putting-on.yaml"
    other.write_text(other.read_text("utf-8").replace("kind: face-shield", "kind: goggles"), "utf-8")
    pairs = [f for f in check(*asked).findings if f.rule.startswith("sequence/pair")]

    assert [(f.rule, f.where.file) for f in pairs] == [("sequence/pair-differs", "protocols/enhanced-removal.yaml")]
