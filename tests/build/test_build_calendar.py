"""Dates of releases as `check`, `make` and `release` speak of them, against python-dateutil's calendar."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
from dateutil.relativedelta import relativedelta
from postings_kit import release
from workshop import Workshop

from docgen.build.checking import check
from docgen.build.making import Wanted, make
from docgen.build.releasing import Asking, signed
from docgen.build.releasing import release as let_go
from docgen.build.shelf import Asked
from docgen.project import Project
from docgen.release import render

REVIEW = datetime.date(2032, 2, 29)


def checked(project):
    return check(project, Asked())


def made(project):
    return make(project, Wanted(artifacts=("poster",), out=project.folder.parent / "out"))


def released(project):
    signature = signed("A. Person", "Lead", "A reason that is long enough", project.today())
    asking = Asking((project.folder / "airing.yaml",), signature, out=project.folder.parent / "out")
    return let_go(project, asking)


@pytest.fixture
def folder(tmp_path) -> Path:
    """A project with a protocol, and an older release of it that is to be reviewed on a leap day."""
    workshop = Workshop(tmp_path)
    workshop.protocol("airing")
    workshop.site("north", "airing")
    value = release("airing", "0.9", effective=datetime.date(2029, 3, 1), review=REVIEW)
    file = workshop.folder / "protocols" / "releases" / "airing" / "0.9.json"
    file.parent.mkdir(parents=True)
    file.write_bytes(render(value))
    return workshop.folder / "protocols"


@pytest.mark.parametrize("run", [checked, made, released])
@pytest.mark.parametrize(
    ("after", "rule"),
    [
        (relativedelta(days=-61), None),
        (relativedelta(months=-1), "release/review-due"),
        (relativedelta(days=+1), "release/review-overdue"),
        (relativedelta(years=+1), "release/review-overdue"),
    ],
)
def test_a_review_is_announced_wherever_people_look(folder, run, after, rule):
    """By the command that checks, the one that makes and the one that releases."""
    outcome = run(Project(folder, today=REVIEW + after))
    said = {f.rule for f in outcome.findings if f.rule.startswith("release/review")}

    assert said == ({rule} if rule else set())
