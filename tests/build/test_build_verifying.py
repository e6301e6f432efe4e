"""How finished files find their edition, and what is said of those that have none."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest
from workshop import BACK, Workshop

from docgen.build.making import Wanted, make
from docgen.build.outcome import Exit
from docgen.build.verifying import verify as verify_
from docgen.model.stamp import Code
from docgen.project import Project

FOLDER = Path("out/airing/1.0/north/en")
POSTER = FOLDER / "ar-01-v1.0-north-en-poster-a3.pdf"


@pytest.fixture
def workshop(tmp_path, monkeypatch):
    """A folder with an empty project, which is the working folder."""
    monkeypatch.chdir(tmp_path)
    return Workshop(tmp_path)


def verify(*paths, back=BACK, processes=1):
    """Verify with stand-ins for the rooms that make and read sheets."""
    return verify_(Project(Path("protocols")), [Path(p) for p in paths], processes, back=back)


def rules(outcome):
    """Names of what was found."""
    return [f.rule for f in outcome.findings]


@pytest.fixture
def made(workshop):
    """A project whose sheets are made."""
    workshop.protocol("airing")
    workshop.site("north", "airing")
    make(Project(Path("protocols")), Wanted(), back=BACK)
    return workshop


@pytest.mark.parametrize("processes", [1, 2])
def test_files_as_they_were_made_agree(made, processes):
    """Every file of a folder is examined, in any number of processes."""
    outcome = verify("out", processes=processes)

    assert outcome.findings == ()
    assert outcome.status == Exit.CLEAN
    assert outcome.lines == ("8 of 8 files agree with their source",)


def test_each_file_is_compared_with_what_it_claims_to_be(made):
    """Artifact, sheet size in millimetres, distance and draft reach the read-back."""
    seen = {}

    def examine(data, edition, artifact, file, **more):
        seen[Path(file).name.removeprefix("ar-01-v1.0-north-en-")] = (
            artifact,
            edition.site,
            more["sheet"],
            more["draft"],
        )
        return ()

    verify("out", back=BACK._replace(examine=examine))

    assert seen["poster-a3.pdf"] == ("poster", "north", (297, 420), False)  # ISO 216
    assert seen["cards-a6.pdf"][2] == (105, 148)
    assert seen["cards-a6-on-a4.pdf"][2] == (210, 297)
    assert seen["script-a4.pdf"][0] == "script"


def test_a_draft_is_verified_as_a_draft(made):
    """Its name says so."""
    make(Project(Path("protocols")), Wanted(draft=True), back=BACK)
    seen = []

    def examine(data, edition, artifact, file, **more):
        seen.append((more["draft"], edition.draft, "-draft" in file))
        return ()

    verify("out", back=BACK._replace(examine=examine))

    assert len(seen) == 12
    assert set(seen) == {(True, True, True), (False, False, False)}


def test_a_file_changed_after_it_was_made_is_found(made):
    """By its digest, besides what the read-back finds."""
    POSTER.write_bytes(POSTER.read_bytes() + b"%")

    outcome = verify("out")
    assert rules(outcome) == ["build/changed-since-made"]
    assert outcome.lines == ("7 of 8 files agree with their source",)


def test_a_file_that_is_gone_is_found(made):
    """The manifest still lists it."""
    POSTER.unlink()

    assert rules(verify("out")) == ["publish/missing-file"]


def test_a_copy_elsewhere_is_known_by_its_name(made):
    """Without a manifest beside it."""
    shutil.copy(POSTER, "AR-01-v1.0-NORTH-en-Poster-A3.pdf")

    assert verify("AR-01-v1.0-NORTH-en-Poster-A3.pdf").findings == ()


def test_a_renamed_file_is_known_by_the_manifest_beside_it(made):
    """Its entry was renamed too."""
    manifest = FOLDER / "manifest.json"
    POSTER.rename(FOLDER / "wall.pdf")
    manifest.write_text(manifest.read_text("utf-8").replace(POSTER.name, "wall.pdf"), "utf-8")

    assert verify(FOLDER / "wall.pdf").findings == ()


@dataclass
class Square:
    """As the read-back gives it."""

    text: str


@dataclass
class Page:
    """As the read-back gives it."""

    squares: tuple[Square, ...]


@dataclass
class Copy:
    """As the read-back gives it."""

    pages: tuple[Page, ...]


@pytest.mark.parametrize(
    ("site", "findings"), [("north", []), ("elsewhere", ["build/no-such-edition"]), ("", ["build/no-such-edition"])]
)
def test_a_nameless_file_is_known_by_its_square_code(made, site, findings):
    """The code names document, site, language and artifact; a code of no edition here is said to be one."""
    shutil.copy(POSTER, "download.pdf")
    code = Code("AR-01", "1.0", "0123456789", "en", site, "poster", 1, 1)
    back = BACK._replace(read=lambda _data: Copy((Page((Square("https://example.org"), Square(str(code)))),)))
    outcome = verify("download.pdf", back=back)

    assert rules(outcome) == findings
    if site == "elsewhere":
        assert "ELSEWHERE" in outcome.findings[0].message


def test_a_sheet_of_an_older_version_is_said_to_be_none_of_the_present(made, workshop):
    """The source has moved on; the copy should come down."""
    file = workshop.protocol("airing")
    file.write_text(file.read_text("utf-8").replace('"1.0"', '"1.1"'), "utf-8")
    shutil.copy(POSTER, "ar-01-v1.0-north-en-poster-a3.pdf")
    outcome = verify("ar-01-v1.0-north-en-poster-a3.pdf", back=BACK._replace(read=lambda _data: Copy(())))

    assert rules(outcome) == ["build/no-such-edition"]
    assert "take it down" in outcome.findings[0].hint


def test_what_cannot_be_read_is_unusable(made):
    """A missing file, and a folder without any."""
    Path("empty").mkdir()
    outcome = verify("nothing.pdf", "empty")

    assert rules(outcome) == ["project/no-sheets", "project/unreadable"]
    assert outcome.status == Exit.UNUSABLE
