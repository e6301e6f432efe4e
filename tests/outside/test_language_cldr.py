"""Dates, numbers and units come from CLDR: Babel and ICU, two readers of it, agree on what the code takes from it."""

from __future__ import annotations

import datetime

import pytest
from icu4py.locale import Locale
from icu4py.messageformat import MessageFormat

from docgen.language.local import decimal_mark, long_date
from docgen.language.numbers import quantities, unit_names
from docgen.language.texts import EXPANSION, room

LANGUAGES = ["en", "es", "fr", "ar", "hi", "vi", "fil", "zh-Hans", "uk"]
"""Those shipped that ICU has data for; Haitian Creole has French dates in both."""


def icu(pattern: str, language: str, **values) -> str:
    """What ICU formats."""
    return MessageFormat(pattern, Locale(language)).format(values)


@pytest.mark.parametrize("language", LANGUAGES)
def test_long_dates_are_those_of_icu(language):
    """A date written out, by ICU's MessageFormat with the style `long`, in Latin digits."""
    day = datetime.datetime(2026, 1, 12, 12)
    theirs = icu("{day, date, long}", f"{language}-u-nu-latn", day=day)
    assert long_date(language)(day.date()).replace("\u200f", "") == theirs.replace("\u200f", "")


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_decimal_mark_is_that_of_icu(language):
    """One half, by ICU's number skeletons, in Latin digits."""
    assert icu("{n, number, ::.0}", f"{language}-u-nu-latn", n=0.5) == f"0{decimal_mark(language)}5"


UNITS = ["second", "minute", "hour", "milliliter", "liter", "meter", "gram", "celsius", "percent"]


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("unit", UNITS)
def test_units_as_icu_writes_them_are_known(language, unit):
    """Whatever ICU writes for 3, 5 and 20 of a unit, in full, is read as that unit and that number."""
    for count in (3, 5, 20):
        skeleton = f"::unit/{unit} unit-width-full-name"
        text = icu(f"{{n, number, {skeleton}}}", f"{language}-u-nu-latn", n=count)
        found = [(q.number, q.unit.rpartition("-")[2]) for q in quantities(text, language, unit_names(language, None))]
        assert found == [(str(count), unit)], text


def test_room_is_that_of_the_published_table():
    """IBM's guideline A3 as W3C, Text size in translation, gives it: up to 10 characters 200 %, 20: 100 %, 30: 80 %,
    50: 60 %, 70: 40 %, beyond: 30 % more."""
    table = [(10, 2.0), (20, 1.0), (30, 0.8), (50, 0.6), (70, 0.4)]
    assert list(EXPANSION) == table
    assert [room("x" * n) for n in (10, 11, 20, 30, 50, 70, 100)] == [30, 22, 40, 54, 80, 98, 130]
