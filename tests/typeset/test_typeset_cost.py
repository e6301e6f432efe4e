"""What making a sheet costs, counted: no clock can tell on a busy machine, but work done twice can be counted."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from workbench import edition, made

from docgen.model.text import Run
from docgen.readback import codes, pixels
from docgen.typeset import poster
from docgen.typeset.faces import Face
from docgen.typeset.fitting import GRID, greatest


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch):
    """How often a function was called since it was asked for."""
    calls: Counter[str] = Counter()

    def count(owner: object, name: str) -> Counter[str]:
        really = getattr(owner, name)

        def counting(*args, **more):
            calls[name] += 1
            return really(*args, **more)

        monkeypatch.setattr(owner, name, counting)
        return calls

    return count


def test_after_an_edit_only_new_words_are_shaped(counted):
    """Three words that no sheet had before are shaped once each, whatever the sizes that are tried."""
    of, analysis = edition("hand-rub", "harbour-north")
    made(of, analysis, "poster")
    calls = counted(Face, "_shape")
    made(replace(of, title=replace(of.title, runs=(Run("Zyx wvut srqpo"),))), analysis, "poster")
    assert calls["_shape"] == 3


def test_more_columns_are_tried_once_if_they_allow_no_larger_type(counted):
    """A whole search for the size is made only where the first larger size fits."""
    of, analysis = edition("hand-rub", "harbour-north")
    calls = counted(poster, "greatest")
    tries = counted(poster, "_fits")
    made(of, analysis, "poster")
    assert calls["greatest"] > 1
    assert tries["_fits"] < 9 * calls["greatest"] / 2, "as many tries as a search for every number of columns"


def test_a_page_is_rendered_twice_and_its_code_once(counted):
    """With its words and without them; nothing is looked at more closely where all is well."""
    of, analysis = edition("hand-rub", "harbour-north")
    calls = counted(pixels, "render")
    counted(codes, "render")
    assert made(of, analysis, "notice")[1] == ()
    assert calls["render"] == 3, "the notice has one page"


@given(st.integers(0, 60), st.floats(0, 30), st.none() | st.integers(0, 60))
def test_the_greatest_size_is_found_also_beyond_another(steps: int, limit: float, beyond: int | None):
    """The same as trying every size on the grid."""
    least, most = 6.0, 6.0 + steps * GRID
    sizes = [least + n * GRID for n in range(steps + 1)]
    after = None if beyond is None else least + beyond * GRID
    fitting = [s for s in sizes if s <= limit and (after is None or s > after)]
    assert greatest(least, most, lambda s: s <= limit, after) == max(fitting, default=None)


def test_a_long_protocol_has_room_for_its_numbers():
    """The column of numbers is as wide as the longest of them needs: a protocol may have hundreds of steps."""
    of, analysis = edition("hand-rub", "harbour-north")
    steps = tuple(replace(step, label=str(1000 + n)) for n, step in enumerate(of.steps))
    assert made(replace(of, steps=steps), analysis, "script")[0].startswith(b"%PDF")
