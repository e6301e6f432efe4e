"""A second release and what verifying says of it, through the real rooms."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
from workshop import Workshop

from docgen.build.releasing import Asking, release, signed
from docgen.build.verifying import verify
from docgen.findings import has_errors
from docgen.project import Project

TODAY = datetime.date(2029, 12, 20)


def let_go(folder: Path) -> Project:
    """Release the protocol as it stands."""
    project = Project(folder / "protocols", today=TODAY)
    signature = signed("A. Person", "Lead", "A reason that is long enough", TODAY)
    outcome = release(project, Asking((folder / "protocols" / "airing.yaml",), signature, out=folder / "out"))
    assert not has_errors(outcome.findings), outcome.findings
    return project


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    """Version 1.0 released, two words of a step changed, version 1.1 released."""
    home = tmp_path_factory.mktemp("two")
    workshop = Workshop(home)
    more = "\nreason: The window was left shut.\nchanges: [Windows are opened wide.]\n"
    file = workshop.protocol("airing", more=more)
    workshop.site("north", "airing")
    let_go(home)
    text = file.read_text("utf-8").replace('version: "1.0"', 'version: "1.1"')
    file.write_text(text.replace("Open the window", "Open the window wide", 1), "utf-8")
    let_go(home)
    return home


def test_a_second_release_agrees_with_its_source(folder):
    """Its notice names the version before it, as it must; its approval record is the one that was released."""
    outcome = verify(Project(folder / "protocols", today=TODAY), [folder / "out" / "airing" / "1.1"])

    assert outcome.findings == ()
    files = len([p for p in (folder / "out" / "airing" / "1.1").rglob("*") if p.suffix in (".pdf", ".html")])
    assert outcome.lines == (f"{files} of {files} files agree with their source",)


def test_an_altered_approval_record_is_found(folder):
    """By the digest that the release keeps."""
    (record,) = (folder / "out" / "airing" / "1.1").glob("*-approval-record.pdf")
    kept = record.read_bytes()
    record.write_bytes(kept + b" ")
    outcome = verify(Project(folder / "protocols", today=TODAY), [record])
    record.write_bytes(kept)

    assert [f.rule for f in outcome.findings] == ["build/changed-since-made"]
