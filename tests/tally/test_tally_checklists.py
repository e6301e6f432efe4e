"""What was filled into a checklist is what is counted; what is no filled checklist is refused with its reason."""

from __future__ import annotations

from io import BytesIO

import pikepdf
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader
from tally_kit import checklist, filled, steps_of
from workbench import edition, made

from docgen.tally import read_checklist
from docgen.tally.session import OPEN

SLOW = settings(deadline=None, max_examples=15, suppress_health_check=[HealthCheck.too_slow])


def session(data: bytes):
    told = read_checklist(data, "x.pdf")
    assert told.session, told.findings
    return told.session


def refused(data: bytes) -> str:
    told = read_checklist(data, "x.pdf")
    assert told.session is None
    return " ".join(f"{f.rule} {f.message}" for f in told.findings)


def test_a_filled_checklist_says_what_was_ticked():
    """Steps, date, times, breach, outcome and names, as a person fills them in."""
    first, second, *rest = steps_of()
    values = {
        f"{first}.result": "/done", f"{second}.result": "/prompted", "date": "2026-03-04", "times": "10:02 – 10:31",
        "wearer": "A. Person", "breach": "/yes", "outcome": "/repeat", "remarks": "all well",
    }  # fmt: skip

    found = session(filled(values))

    of, _ = edition("hand-rub", "harbour-north")
    assert (found.code, found.version, found.fingerprint, found.site) == (of.code, of.version, of.fingerprint, of.site)
    marked = {first: "done", second: "prompted", **dict.fromkeys(rest, OPEN)}
    assert [(m.step, m.result) for m in found.marks] == [(s.id, marked[s.id]) for s in of.steps]
    assert [m.label for m in found.marks] == [step.label for step in of.steps]
    assert (str(found.day), found.seconds, found.breaches, found.outcome) == ("2026-03-04", 29 * 60, 1, "repeat")
    assert dict(found.people) == {"wearer": "A. Person", "remarks": "all well"}


@given(st.data())
@SLOW
def test_it_reads_what_another_library_reads(data):
    """Whatever is ticked, pypdf's account of the fields (an independent parser) and ours agree."""
    choices = {s: data.draw(st.sampled_from(["done", "prompted", "missed"])) for s in steps_of()}
    pdf = filled({f"{s}.result": f"/{choice}" for s, choice in choices.items()})
    theirs = PdfReader(BytesIO(pdf)).get_fields() or {}

    assert {m.step: m.result for m in session(pdf).marks} == {
        step: str(theirs[f"{step}.result"].value).removeprefix("/") for step in choices
    }


def test_branches_that_nobody_took_do_not_count():
    """A step of a branch is in the session only where it was marked."""
    of, analysis = edition("enhanced-removal", "harbour-north")
    blank = made(of, analysis, "checklist")[0]
    branch = of.branches[0]
    found = session(filled({f"{branch.steps[0].id}.result": "/missed"}, blank))

    assert [m.step for m in found.marks] == [*(s.id for s in of.steps), branch.steps[0].id]


def test_what_nobody_sees_does_not_count():
    """A value behind buttons that all look empty (ISO 32000-1, 12.7.4.2.4: the look is in `AS`) was seen by nobody."""
    with pikepdf.open(BytesIO(checklist())) as pdf:
        group = next(f for f in pdf.Root.AcroForm.Fields if str(f.T) == steps_of()[0]).Kids[0]
        group.V = pikepdf.Name.missed
        out = BytesIO()
        pdf.save(out)

    assert "no step of this checklist is marked" in refused(out.getvalue())


def test_two_answers_for_one_step_are_refused():
    """A mark that could mean two things is not guessed."""
    with pikepdf.open(BytesIO(checklist())) as pdf:
        group = next(f for f in pdf.Root.AcroForm.Fields if str(f.T) == steps_of()[0]).Kids[0]
        for kid, choice in zip(group.Kids, ("done", "prompted"), strict=False):
            kid.AS = pikepdf.Name(f"/{choice}")
        out = BytesIO()
        pdf.save(out)

    assert "two answers are marked" in refused(out.getvalue())


def test_a_blank_form_is_no_session():
    """A form that was given in by mistake does not look like a session in which nothing was done."""
    assert "no step of this checklist is marked" in refused(checklist())


def test_a_poster_is_no_checklist():
    """Our own other sheets are foreign."""
    of, analysis = edition("hand-rub", "harbour-north")

    assert "no fields of a checklist" in refused(made(of, analysis, "poster")[0])


def test_a_stranger_is_foreign():
    """A PDF that is not ours at all."""
    with pikepdf.new() as pdf:
        pdf.add_blank_page()
        out = BytesIO()
        pdf.save(out)

    assert "does not say of which protocol" in refused(out.getvalue())


def test_a_locked_file_is_said_to_be_locked():
    """Encrypted with a password: the reason helps."""
    with pikepdf.open(BytesIO(checklist())) as pdf:
        out = BytesIO()
        pdf.save(out, encryption=pikepdf.Encryption(owner="a", user="b"))

    assert "locked with a password" in refused(out.getvalue())


@given(st.integers(0, 10**6), st.binary(max_size=40))
@SLOW
def test_a_damaged_file_is_refused_or_read_never_a_fault(at, junk):
    """Bytes overwritten anywhere, or the end cut off."""
    whole = filled({f"{steps_of()[0]}.result": "/done"})
    at %= len(whole)
    for data in (whole[:at] + junk + whole[at + len(junk) :], whole[:at]):
        told = read_checklist(data, "x.pdf")
        assert told.session or told.findings


def test_a_checklist_without_a_day_is_counted_and_said():
    """No month is invented."""
    told = read_checklist(filled({f"{steps_of()[0]}.result": "/done", "date": "3/5/2026"}), "x.pdf")

    assert told.session and told.session.day is None
    assert [f.rule for f in told.findings] == ["tally/no-date"]


@pytest.mark.parametrize("protocol", ["hand-rub", "everyday-removal"])
def test_every_shipped_checklist_can_be_counted(protocol):
    """What is printed is what is read: all steps of the edition, in order."""
    of, _ = edition(protocol, "harbour-north")
    blank = checklist(protocol)

    found = session(filled({f"{s.id}.result": "/done" for s in of.all_steps()}, blank))

    assert [(m.step, m.label) for m in found.marks] == [(s.id, s.label) for s in of.all_steps()]
