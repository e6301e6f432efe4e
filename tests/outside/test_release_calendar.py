"""Review and effective dates against python-dateutil's calendar, a day at a time over leap years and year ends."""

from __future__ import annotations

import datetime

import pytest
from dateutil.relativedelta import relativedelta
from dateutil.rrule import DAILY, rrule
from postings_kit import histories, release

from docgen.release.register import check_dates

DAY = datetime.date


def said(history, today):
    """Rule → the message without its marks."""
    return {f.rule: f.message for f in check_dates(history, today)}


@pytest.mark.parametrize(
    ("effective", "review"),
    [
        (DAY(2027, 12, 30), DAY(2028, 2, 29)),  # the review falls on a leap day
        (DAY(2028, 2, 29), DAY(2029, 3, 1)),
        (DAY(2029, 11, 1), DAY(2030, 1, 1)),  # the announcement begins in the year before
    ],
)
def test_a_review_is_announced_sixty_days_before_and_overdue_the_day_after(effective, review):
    """Before the effective date a release is scheduled; from 60 days before its review on it is announced with the
    number of days that are left; after it, it is overdue. Days are counted by dateutil."""
    (history,) = histories(release(effective=effective, review=review)).values()
    first = review - relativedelta(days=60)
    begin, end = effective - relativedelta(days=5), review + relativedelta(days=5)
    for moment in rrule(DAILY, dtstart=begin, until=end):
        today = moment.date()
        found = said(history, today)
        left = sum(1 for _ in rrule(DAILY, dtstart=today, until=review)) - 1
        expected = set()
        if today < effective:
            expected = {"release/scheduled"}
        elif today > review:
            expected = {"release/review-overdue"}
        elif today >= first:
            expected = {"release/review-due"}
            assert found["release/review-due"].endswith(f"in {left} days")
        assert set(found) == expected, today


def test_a_new_release_takes_over_on_its_day():
    """On the eve the old one holds and the new one is scheduled; on the day the new one holds (dateutil's days)."""
    turn = DAY(2028, 3, 1)
    old, new = release(effective=DAY(2027, 1, 1)), release(version="1.1", effective=turn)
    (history,) = histories(old, new).values()
    eve = turn - relativedelta(days=1)

    assert eve == DAY(2028, 2, 29)
    assert (history.current(eve), history.current(turn)) == (old, new)
    assert said(history, eve)["release/scheduled"] == "version 1.1 holds from 2028-03-01; until then 1.0 holds"
    assert history.standing("1.0", turn).state == "superseded"
    assert history.standing("1.0", turn).since == turn
