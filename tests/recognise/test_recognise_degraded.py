"""A few bad pictures of each kind; `degraded.py` makes the whole table."""

from __future__ import annotations

import pytest
from degraded import WAYS, degraded, sheets, verdict
from hospital import known


@pytest.fixture(scope="session")
def home(tmp_path_factory, worker_id):
    """A folder with releases."""
    return known(tmp_path_factory, worker_id)


@pytest.mark.parametrize("way", WAYS, ids=lambda w: w.__name__)
def test_bad_pictures_are_identified_and_never_wrongly(home, way):
    """A bad picture is identified; one beyond use is identified rightly or not at all."""
    sheet = sheets(home, len(WAYS))[WAYS.index(way)]
    seen = {level: verdict(home, sheet, degraded(sheet, way, level)) for level in (3, 4)}
    assert seen[3] == "identified"
    assert seen[4] != "wrong"


def test_a_wrong_identification_would_be_counted(home):
    """The count can fail: a sheet held for another is wrong, a blank one is missed."""
    one, other, *_ = sheets(home, 2)
    from degraded import rotation

    assert verdict(home, other, degraded(one, rotation, 1)) == "wrong"
