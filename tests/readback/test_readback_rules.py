"""The list of rules is complete and each can fail; findings are written as findings are."""

from __future__ import annotations

import ast
import datetime
import re
from dataclasses import replace
from pathlib import Path

import pytest
from damages import MUTANTS, of
from faithful import FORMS, Ink, Leaf, faithful, lay, make_edition, paint, step

import docgen.readback
from docgen.findings import Severity
from docgen.model.edition import ARTIFACTS
from docgen.readback import RULES, examine
from docgen.readback.wanted import CARRIES, CODE_ON, TITLE_ON

ROOM = Path(docgen.readback.__file__).parent
TESTS = Path(__file__).parent


def modules() -> list[Path]:
    """What the verdict on a printed file is made of: its module and those of the room that it leads to."""
    found, todo = {}, ["verdict"]
    while todo:
        name = todo.pop()
        if name not in found:
            found[name] = ROOM / f"{name}.py"
            todo += re.findall(r"from docgen\.readback\.(\w+) import", found[name].read_text("utf-8"))
    return list(found.values())


def emitted() -> set[str]:
    """Every rule name in that code, the list included."""
    constants = (n for path in modules() for n in ast.walk(ast.parse(path.read_text("utf-8"))))
    values = (n.value for n in constants if isinstance(n, ast.Constant) and isinstance(n.value, str))
    return {v for v in values if v.startswith("readback/")}


def test_every_rule_is_listed_and_every_listed_rule_exists() -> None:
    """The list is what documentation and tests go by."""
    code = "".join(path.read_text("utf-8") for path in modules())
    listed = [name for name, _ in RULES]
    assert set(listed) == emitted() and len(set(listed)) == len(listed)
    assert [name for name in listed if code.count(f'"{name}"') < 2] == []


def test_every_rule_is_shown_to_fail_by_some_test() -> None:
    """By a mutant, or by name in a test beside this one."""
    tests = "".join(p.read_text("utf-8") for p in TESTS.glob("test_*.py"))
    shown = {m.rule for m in MUTANTS} | {r for r in emitted() if f'"{r}"' in tests}
    assert {name for name, _ in RULES} - shown == set()


def test_the_tables_speak_of_the_same_artifacts() -> None:
    """No artifact is forgotten in one of them."""
    assert all(table.keys() >= set(ARTIFACTS) for table in (CARRIES, CODE_ON, TITLE_ON, FORMS))


@pytest.mark.parametrize("mutant", MUTANTS, ids=lambda m: m.name)
def test_findings_keep_the_grammar(mutant) -> None:
    """Lower case, no full stop, an imperative hint, a place, and whom it concerns."""
    artifact = mutant.artifacts[0]
    drawn = mutant.drawn(make_edition()) if mutant.drawn else None
    for f in examine(faithful(artifact, mutant.marks, drawn), make_edition(), artifact, "x.pdf"):
        assert f.message[0].islower() or f.message[0] in "`0123456789"
        assert not f.message.endswith(".") and not f.hint.endswith(".") and f.hint[0].islower()
        assert f.where.file == "x.pdf" and (f.artifact, f.language) == (artifact, "en")


def rules(data: bytes, artifact: str, **more) -> set[str]:
    return {f.rule for f in examine(data, make_edition(), artifact, "x.pdf", **more)}


def test_another_sheet_than_asked_for_is_caught() -> None:
    """A4 is not Letter."""
    assert rules(faithful("script"), "script", sheet=(215.9, 279.4)) == {"readback/sheet-size"}


def test_a_greater_distance_than_the_letters_reach_is_caught() -> None:
    """A poster readable from 1.5 m, asked to be readable from 3 m."""
    assert {"readback/too-small", "readback/distance-claim"} == rules(faithful("poster"), "poster", distance=3.0)
    assert rules(faithful("poster"), "poster", distance=1.5) == set()


def test_an_understated_distance_is_only_a_warning() -> None:
    """It harms nobody, but it was not computed from the letters."""
    from damages import stamp_text

    data = faithful("poster", stamp_text("1.5 m", "1.0 m"))
    (finding,) = examine(data, make_edition(), "poster", "x.pdf")
    assert finding.rule == "readback/distance-claim" and finding.severity is Severity.WARNING


def test_a_draft_must_say_so_on_every_sheet() -> None:
    """With the band it passes as a draft, without it does not."""
    banded = faithful("script", edition=make_edition(draft=True))
    assert rules(banded, "script", draft=True) == set()
    assert rules(faithful("script"), "script", draft=True) == {"readback/draft-band", "readback/code-wrong"}
    assert rules(banded, "script", draft=False) == {"readback/draft-band", "readback/code-wrong"}


KNOWN = (
    "{code} · v{version} · in force from {date}", "review by {date} · {mark} · {language}", "sheet {n} of {of}",
    "readable from {d} m", "Done when:", "Answer:", "STOP · Observer:", "See {letter}", "Go on at step {n}.",
    "“{words}”",
)  # fmt: skip


def test_words_that_nobody_knows_are_caught_when_the_templates_words_are_given() -> None:
    """A sentence of another version; without the template's words it cannot be told from a label."""

    def add(leaves) -> None:
        model = of(leaves, "say", "look")[0]
        leaves[0].marks.append(replace(model, what="stray", text="Wash your forearms.", x=380, y=50))

    assert rules(faithful("script"), "script", known_words=KNOWN) == set()
    assert rules(faithful("script", add), "script") == set()
    assert rules(faithful("script", add), "script", known_words=KNOWN) == {"readback/foreign-text"}


def test_a_word_slipped_into_a_headline_is_caught() -> None:
    """`Do not` in front of a headline leaves the headline itself word for word."""

    def slip(leaves) -> None:
        mark = of(leaves, "headline", "shield")[0]
        mark.text = "Do not " + mark.text

    assert rules(faithful("script", slip), "script", known_words=KNOWN)


def test_the_address_of_the_site_may_stand_before_the_code_if_it_is_the_sites() -> None:
    """`https://… #` is split off; another address is not believed."""
    from faithful import Code

    def addressed(address: str) -> bytes:
        leaves = lay(make_edition(), "script")
        for leaf in leaves:
            for m in leaf.marks:
                if isinstance(m, Code):
                    m.text = f"{address}#{m.text}"
        return paint(leaves)

    edition = make_edition(address="HTTPS://WARD.EXAMPLE/P")
    ours = examine(addressed("HTTPS://WARD.EXAMPLE/P"), edition, "script", "x.pdf")
    other = examine(addressed("HTTPS://OTHER.EXAMPLE/P"), edition, "script", "x.pdf")
    assert [f.message for f in ours if f.rule != "readback/code-too-fine"] == []
    assert "readback/code-wrong" in {f.rule for f in other}


def test_a_branch_may_be_printed_twice_in_a_script_but_only_whole() -> None:
    """Wherever it can occur; half of it the second time is a fault."""

    def again(leaves, whole: bool) -> None:
        leaf = Leaf(leaves[0].width, leaves[0].height)
        for n, id in enumerate(("tear-clean", "tear-change")[: 2 if whole else 1]):
            marks = [m for each in leaves for m in each.inks() if m.step == id]
            top = min(m.y for m in marks)
            leaf.marks += [replace(m, y=m.y - top + 100 + 300 * n) for m in marks]
        leaf.marks += [replace(m) for m in leaves[-1].inks() if m.what in ("stamp", "title")]
        leaves.append(leaf)
        for n, each in enumerate(leaves):
            for m in each.inks("stamp"):
                m.text = m.text.replace(f"of {len(leaves) - 1}", f"of {len(leaves)}")
                if each is leaf:
                    m.text = m.text.replace(f"sheet {n}", f"sheet {n + 1}")

    def codeless(found: set[str]) -> set[str]:
        return found - {"readback/code-wrong"}  # the square code still counts the sheets without the added one

    assert codeless(rules(faithful("script", lambda leaves: again(leaves, True)), "script")) == set()
    assert "readback/step-twice" in rules(faithful("script", lambda leaves: again(leaves, False)), "script")
    assert "readback/step-twice" in rules(faithful("poster", lambda leaves: again(leaves, True)), "poster")


def test_a_mention_of_a_step_is_no_second_step() -> None:
    """`Go on with step 4 Clean your gloves` in the middle of a line."""

    def mention(leaves) -> None:
        mark = of(leaves, "after", "tear-change")[-1]
        mark.text = "Go on with step 4 Clean your gloves."

    assert rules(faithful("script", mention), "script") == set()


def test_a_number_may_stand_above_its_headline_or_in_the_same_run() -> None:
    """Layouts differ; the eye connects what is close."""

    def above(leaves) -> None:
        for leaf in leaves:
            for m in leaf.inks("number"):
                head = next(h for h in leaf.inks("headline", m.step))
                m.x, m.y = head.x, head.y - 1.15 * m.size

    def joined(leaves) -> None:
        for leaf in leaves:
            numbers = {m.step: m for m in leaf.inks("number")}
            for m in leaf.inks("headline"):
                if m.step in numbers:
                    m.text = f"{numbers.pop(m.step).text}. {m.text}"
            leaf.marks = [m for m in leaf.marks if not (isinstance(m, Ink) and m.what == "number")]

    assert rules(faithful("cards", joined), "cards") == set()
    assert "readback/number-wrong" not in rules(faithful("cards", above), "cards")


def test_numbers_drawn_in_any_order_are_matched_by_place() -> None:
    """All numerals first, then all headlines: the stream says nothing, the rows do."""

    def first(leaves) -> None:
        for leaf in leaves:
            numbers = leaf.inks("number")
            leaf.marks = [*numbers, *(m for m in leaf.marks if not any(m is n for n in numbers))]

    assert rules(faithful("checklist", first), "checklist") == set()


def test_an_edition_without_branches_holds_or_cautions_passes() -> None:
    """Nothing is asked for that the edition does not have."""
    plain = step("only", 1, "Rub your hands", phase="ready", say="Rub now.", answer="Done.", done_when="Both are dry.")
    edition = make_edition(steps=(plain,), branches=(), phases=())
    edition = replace(edition, phases=(replace(make_edition().phases[0], steps=("only",)),))
    for artifact in FORMS:
        assert examine(faithful(artifact, edition=edition), edition, artifact, "x.pdf") == ()


def test_other_dates_of_the_record_are_no_foreign_dates() -> None:
    """The approval's date is the edition's as well."""
    from docgen.model.edition import Approval

    edition = make_edition(approval=Approval("A. N. Other", "Lead", datetime.date(2026, 2, 1)))

    def approved(leaves) -> None:
        for m in leaves[0].inks("stamp"):
            m.text = m.text.replace("in force from", "approved 2026-02-01, in force from")

    assert examine(faithful("script", approved), edition, "script", "x.pdf") == ()
    assert "readback/stamp-foreign" in rules(faithful("script", approved), "script")


def test_an_unknown_artifact_is_a_mistake_of_the_caller() -> None:
    """Said at once, with the names there are."""
    with pytest.raises(ValueError, match="poster, cards"):
        examine(b"", make_edition(), "placard", "x.pdf")
