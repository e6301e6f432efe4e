"""Days and times written by hand are read as a careful person would, or not at all."""

from __future__ import annotations

import datetime

import pytest
from dateutil import parser
from hypothesis import given, settings
from hypothesis import strategies as st

from docgen.tally.hand import day_of, seconds_between

UNHURRIED = settings(deadline=None)
DAYS = st.dates(datetime.date(2000, 1, 1), datetime.date(2199, 12, 31))
ISO = ("%Y-%m-%d", "%Y/%m/%d", "%Y-%m-%d %H:%M")
FORMATS = (*ISO, "%d.%m.%Y", "%d %B %Y", "%d %b %Y", "%B %d, %Y", "%d/%m/%Y", "%m/%d/%Y")


@given(DAYS, st.sampled_from(FORMATS))
@UNHURRIED
def test_a_day_is_the_day_that_was_written_or_none(day, form):
    """Whatever form it is written in, no other day comes out."""
    found = day_of(day.strftime(form))

    assert found in (day, None)
    assert found == day or (form in ("%d/%m/%Y", "%m/%d/%Y") and day.day <= 12)


@given(DAYS, st.sampled_from(FORMATS))
@UNHURRIED
def test_dateutil_reads_no_other_day(day, form):
    """An outside parser (python-dateutil) asked both ways, day first and month first: we are sure only where it is."""
    words = day.strftime(form)
    ways = (False,) if form in ISO else (True,) if "." in form else (True, False)  # which comes first is no question
    both = {parser.parse(words, dayfirst=first).date() for first in ways}

    assert day_of(words) == (next(iter(both)) if len(both) == 1 else None)


@given(st.text(max_size=30))
@UNHURRIED
def test_no_words_make_it_stumble(words):
    """Anything may stand in a field."""
    day_of(words)
    seconds_between(words)


@pytest.mark.parametrize(
    ("words", "day"),
    [
        ("2026-03-04", (2026, 3, 4)),
        ("4.3.2026", (2026, 3, 4)),
        ("4 March 2026", (2026, 3, 4)),
        ("Mar 4th, 2026", (2026, 3, 4)),
        ("25/03/2026", (2026, 3, 25)),
        ("03/25/2026", (2026, 3, 25)),
        ("3/3/2026", (2026, 3, 3)),
        ("٢٠٢٦-٠٣-٠٤", (2026, 3, 4)),
        ("2026-03-04 10:02", (2026, 3, 4)),
        ("3/4/2026", None),
        ("04/03/26", None),
        ("2026-02-30", None),
        ("1026-02-03", None),
        ("Tuesday", None),
        ("", None),
    ],
)
def test_days(words, day):
    """Days as they are met on forms (common practice, no source)."""
    assert day_of(words) == (datetime.date(*day) if day else None)


@pytest.mark.parametrize(
    ("words", "seconds"),
    [
        ("10:02–10:31", 1740),
        ("10.02 to 10.31", 1740),
        ("23:50 - 00:10", 1200),
        ("10:02:30 10:03:00", 30),
        ("10:02", None),
        ("10:02 pm – 11:00 pm", None),
        ("10:02 10:05 10:09", None),
        ("29:61 70:99", None),
    ],
)
def test_times(words, seconds):
    """A begin and an end, also over midnight; anything else is not guessed."""
    assert seconds_between(words) == seconds
