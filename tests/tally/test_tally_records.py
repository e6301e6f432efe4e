"""What a reader saved is read back whole, and anything else is refused with its reason."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tally_kit import as_csv, as_json, entry, record

from docgen.tally import read_record
from docgen.tally.session import MISSED, OPEN, PROMPTED

UNHURRIED = settings(deadline=None)


def read(value, form=as_json):
    told = read_record(form(value), "x")
    assert told.session, told.findings
    return told.session


def refused(data: bytes) -> str:
    told = read_record(data, "x.json")
    assert told.session is None
    assert told.findings and all(f.hint for f in told.findings)
    return " ".join(f"{f.rule} {f.message}" for f in told.findings)


def marks(session):
    return {m.step: m.result for m in session.marks}


def test_a_record_says_who_did_what_when():
    """Stamp, unit, day, length and each step reach the session."""
    value = record(entry("wash", "prompted", 12.5, 1), ended="2026-03-04T10:30:00+00:00", names={"wearer": "A. Person"})

    session = read(value)

    assert (session.code, session.version, session.site, session.unit) == ("IP-AIR-01", "1.0", "north", "Ward")
    assert (str(session.day), session.seconds, session.breaches) == ("2026-03-04", 1800, 1)
    assert [(m.step, m.result, m.seconds) for m in session.marks] == [("wash", PROMPTED, 12.5)]
    assert session.people == (("wearer", "A. Person"),)


def test_a_step_counts_once_by_its_worst_mark():
    """Come to three times: times and breaches are added up, and a good visit does not wash off a bad one."""
    visits = (entry("wash", "missed", 3, 1), entry("wash", "done", 4), entry("wash", "unfinished", 5, 1))

    (mark,) = read(record(*visits)).marks

    assert (mark.result, mark.seconds, mark.breaches) == (MISSED, 12, 2)


def test_a_step_only_turned_off_from_is_open():
    """Whoever left a step before it was done has not done it."""
    assert marks(read(record(entry("wash", "unfinished"), entry("dry")))) == {"wash": OPEN, "dry": "done"}


@pytest.mark.parametrize(("outcome", "there"), [("complete", True), ("left", False)])
@pytest.mark.parametrize("form", [as_json, as_csv])
def test_steps_never_reached_are_open_unless_the_session_was_left(outcome, there, form):
    """After a splash the rest was not due; in a whole session nobody knows what became of it."""
    session = read(record(entry("wash"), unseen=["dry"], outcome=outcome), form)

    assert (marks(session).get("dry") == OPEN) is there


TEXT = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cf", "Co", "Zl", "Zp"]), max_size=20)
ENTRIES = st.lists(
    st.builds(
        entry, st.sampled_from(["wash", "dry", "rub"]), st.sampled_from(["done", "prompted", "missed", "unfinished"]),
        st.integers(0, 9999), st.integers(0, 3),
    ), min_size=1, max_size=6,
)  # fmt: skip


@given(ENTRIES, TEXT, TEXT, st.sampled_from(["complete", "left"]))
@UNHURRIED
def test_json_and_csv_of_one_session_are_one(entries, words, unit, outcome):
    """Both files that the reader offers say the same, whatever is typed into them."""
    value = record(*entries, names={"remarks": words}, unit=unit, outcome=outcome, unseen=["never"])

    assert read(value, as_json) == read(value, as_csv)


@given(st.binary(max_size=300))
@UNHURRIED
def test_no_bytes_make_it_stumble(data):
    """Anything may be given: it is refused with a finding."""
    assert refused(data)


@st.composite
def damaged(draw):
    """A record with one of its values replaced by another kind of value."""
    value = record(entry("wash"), entry("dry"))
    junk = draw(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8)
        | st.lists(st.integers(), max_size=2) | st.just({"a": 1}) | st.just(10**400)
    )  # fmt: skip
    if draw(st.booleans()):
        value[draw(st.sampled_from(sorted(value)))] = junk
    else:
        value["steps"][0][draw(st.sampled_from(sorted(value["steps"][0])))] = junk
    return value


@given(damaged())
@UNHURRIED
def test_a_damaged_record_is_refused_or_still_makes_sense(value):
    """Never a fault, and never a session with a count that is none."""
    told = read_record(json.dumps(value).encode(), "x")

    assert (told.session is None) == any(f.severity == "error" for f in told.findings)
    for mark in told.session.marks if told.session else ():
        assert mark.seconds is None or 0 <= mark.seconds <= 2 * 7 * 86400
        assert 0 <= mark.breaches <= 200


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "no record"),
        (b"{}", "no record"),
        (b"[" * 100_000, "no record"),
        (b'{"a":' * 100_000, "nested too deep"),
        (b'{"session-record": 1', "not whole JSON"),
        (b"\xff\xfe", "not UTF-8"),
        (as_json(record(entry("wash")) | {"session-record": 2}), "newer-record"),
        (as_json(record(entry("wash"), code="x")), "`code` is `x`"),
        (as_json(record(entry("wash"), ended="2026-03-04T09:00:00+00:00")), "does not go with its begin"),
        (as_json(record(entry("wash"), began="yesterday")), "`began` is `yesterday`"),
        (as_json(record(entry("wash", "fine"))), "the result `fine`"),
        (as_json(record(entry("wash", seconds=-1))), "took `-1` seconds"),
        (as_json(record(entry("../etc"))), "has no id"),
        (as_json(record()), "missing, empty or endless"),
        (as_csv(record(entry("wash"), entry("dry"))).replace(b'"complete"', b'"left"', 1), "mixes sessions"),
        (as_csv(record(entry("wash"))) + b'"too","few"\r\n', "more or fewer cells"),
    ],
)  # fmt: skip
def test_why_a_file_is_refused(data, words):
    """The reason is said in words."""
    assert words in refused(data)


def test_everything_wrong_is_said_at_once():
    """One run shows all that is wrong."""
    said = refused(as_json(record(entry("wash", "fine"), entry("dry", seconds="x"), version="?", outcome="?")))

    assert all(words in said for words in ("`version`", "`outcome`", "step 1", "step 2"))


def test_words_of_strangers_lose_what_drives_a_page_or_a_terminal():
    """Controls, private use and lone surrogates go; the reader's own languages stay."""
    value = record(entry("wash"), unit="\x1b[31mred \ue000000001\ue001 \u202eflip \ud800 غرفة")

    assert read(value).unit == "[31mred 000001 flip غرفة"
