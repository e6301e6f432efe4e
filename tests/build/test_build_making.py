"""What `make` publishes, for good and for bad sources."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from workshop import BACK, Workshop

from docgen.build.making import Wanted
from docgen.build.making import make as make_
from docgen.build.outcome import Exit
from docgen.build.shelf import Asked
from docgen.project import Project

FOLDER = "airing/1.0/north/en"
STEM = "ar-01-v1.0-north-en"
ALL = {
    f"{FOLDER}/{STEM}-{rest}"
    for rest in (
        "cards-a6-on-a4.pdf", "cards-a6.pdf", "checklist-a4.pdf", "notice-a4.pdf", "poster-a3.pdf", "script-a4.pdf"
    )
} | {f"{FOLDER}/{STEM}-reader.html", f"{FOLDER}/index.html", f"{FOLDER}/manifest.json"}  # fmt: skip


@pytest.fixture
def workshop(tmp_path, monkeypatch):
    """A folder with an empty project, which is the working folder."""
    monkeypatch.chdir(tmp_path)
    return Workshop(tmp_path)


def make(wanted=None, templates=None):
    """Make with stand-ins for the rooms that make sheets."""
    return make_(Project(Path("protocols"), templates), wanted or Wanted(), back=BACK)


def rules(outcome):
    """Names of what was found."""
    return [f.rule for f in outcome.findings]


def test_every_artifact_of_every_edition_is_made(workshop):
    """A clean protocol at two sites gives two folders, each with all sheets and a manifest."""
    workshop.protocol("airing")
    workshop.site("north", "airing")
    workshop.site("south", "airing")
    outcome = make()

    assert outcome.findings == ()
    assert outcome.status == Exit.CLEAN
    assert {f for f in workshop.tree() if "/north/" in f} == ALL
    assert len(workshop.tree()) == 2 * len(ALL)
    assert outcome.lines == ("out/airing/1.0/north/en: 7 files, 7 pages", "out/airing/1.0/south/en: 7 files, 7 pages")


def test_the_manifest_says_what_was_made_from_what(workshop):
    """Digests of outputs and inputs, the stamp, and labels that are the same on every machine."""
    workshop.protocol("airing")
    workshop.site("north", "airing")
    make()
    manifest = json.loads(workshop.tree()[f"{FOLDER}/manifest.json"])
    poster = next(f for f in manifest["files"] if f["artifact"] == "poster")

    assert {"protocols/airing.yaml", "protocols/sites/north.yaml", "templates/poster/sheet.yaml"} <= set(
        poster["inputs"]
    )
    assert not any(name.startswith("templates/script/") for name in poster["inputs"])
    assert (manifest["code"], manifest["version"], manifest["site"]) == ("AR-01", "1.0", "north")
    assert len(manifest["fingerprint"]) == 10
    assert poster["sheet"] == "A3"


@pytest.mark.parametrize("headline", ["Open it, it does not fit", "Open what cannot be seen"])
def test_a_failing_edition_is_not_published_and_the_others_are(workshop, headline):
    """An error in one edition leaves its previous sheets, and stops nothing else."""
    workshop.protocol("airing")
    workshop.protocol("other", code="OT-01")
    workshop.site("north", "airing", "other")
    make()
    before = workshop.tree()
    workshop.protocol("airing", headline=headline)
    workshop.protocol("other", code="OT-01", headline="Open the door")
    outcome = make()
    after = workshop.tree()

    assert outcome.status == Exit.FINDINGS
    assert {f: d for f, d in after.items() if f.startswith("airing/")} == {
        f: d for f, d in before.items() if f.startswith("airing/")
    }
    assert b"Open the door" in after["other/1.0/north/en/ot-01-v1.0-north-en-poster-a3.pdf"]
    assert any("not published" in line for line in outcome.lines)


def test_findings_about_a_step_point_to_the_source(workshop):
    """A room that makes sheets knows no source; the corridor adds where the step stands."""
    file = workshop.protocol("airing", headline="Open it, it does not fit")
    workshop.site("north", "airing")
    (finding,) = make().findings

    line = finding.where.line
    assert finding.where.file == "protocols/airing.yaml"
    assert "open-window" in "".join(file.read_text("utf-8").splitlines()[line - 1 : line + 1])
    assert (finding.artifact, finding.site, finding.language, finding.protocol) == ("cards", "north", "en", "airing")


def test_a_draft_is_published_with_its_findings_in_a_place_of_its_own(workshop):
    """`--draft` shows what there is, still reports, and never replaces released sheets."""
    workshop.protocol("airing")
    workshop.site("north", "airing")
    make()
    before = workshop.tree()
    workshop.protocol("airing", headline="Open what cannot be seen")
    outcome = make(Wanted(draft=True))
    after = workshop.tree()

    assert outcome.status == Exit.FINDINGS
    assert rules(outcome) == ["readback/no-ink"]
    assert {f: d for f, d in after.items() if f in before} == before
    draft = "airing/1.0-draft/north/en"
    assert b'"draft": true' in after[f"{draft}/ar-01-v1.0-draft-north-en-poster-a3.pdf"]
    noted = json.loads(after[f"{draft}/manifest.json"])["findings"]
    assert [(n["rule"], n["file"]) for n in noted] == [("readback/no-ink", "ar-01-v1.0-draft-north-en-poster-a3.pdf")]


def test_a_protocol_that_calls_itself_a_draft_is_printed_as_one(workshop):
    """The author's word stands even without the option."""
    workshop.protocol("airing", status="draft")
    workshop.site("north", "airing")
    make()

    assert {f.split("/")[1] for f in workshop.tree()} == {"1.0-draft"}


def test_a_withdrawn_protocol_is_not_made(workshop):
    """It is said, and nothing appears."""
    workshop.protocol("airing", status="withdrawn")
    workshop.site("north", "airing")
    outcome = make()

    assert rules(outcome) == ["build/withdrawn"]
    assert workshop.tree() == {}


def test_warnings_are_recorded_in_the_manifest(workshop):
    """A warning stops nothing, and stays with the sheets."""
    workshop.protocol("airing", headline="Open the faint window")
    workshop.site("north", "airing")
    outcome = make()

    assert rules(outcome) == ["readback/faint"]
    assert outcome.status == Exit.CLEAN
    assert json.loads(workshop.tree()[f"{FOLDER}/manifest.json"])["findings"][0]["rule"] == "readback/faint"


def test_only_what_is_asked_for_is_made(workshop):
    """`--site`, `--artifact`, `--sheet`, `--out` and FILE each narrow what is made."""
    workshop.protocol("airing")
    workshop.protocol("other", code="OT-01")
    workshop.site("north", "airing", "other")
    workshop.site("south", "airing")
    asked = Asked((Path("protocols/airing.yaml"),), ("north",))
    make(Wanted(asked, artifacts=("poster",), sheet="A1", out=Path("elsewhere")))
    made = sorted(p.relative_to("elsewhere").as_posix() for p in Path("elsewhere").rglob("*.pdf"))

    assert made == [f"{FOLDER}/{STEM}-poster-a1.pdf"]
    assert not Path("out").exists()


def test_one_artifact_joins_the_others_of_the_same_edition(workshop):
    """Making the poster on another sheet keeps what was made of the very same text."""
    workshop.protocol("airing")
    workshop.site("north", "airing")
    make()
    make(Wanted(artifacts=("poster",), sheet="A1"))

    assert set(workshop.tree()) == ALL | {f"{FOLDER}/{STEM}-poster-a1.pdf"}


def test_the_number_of_processes_does_not_show(workshop):
    """One process and three give the same bytes."""
    for n in range(3):
        workshop.protocol(f"airing-{n}", code=f"AR-0{n}")
    workshop.site("north", "airing-0", "airing-1", "airing-2")
    make(Wanted(out=Path("one"), processes=1))
    make(Wanted(out=Path("three"), processes=3))
    one, three = (
        {p.relative_to(out): p.read_bytes() for p in Path(out).rglob("*") if p.is_file()} for out in ("one", "three")
    )

    assert one == three
    assert len(one) == 3 * len(ALL)


def test_templates_of_a_unit_lie_over_the_shipped_ones(workshop):
    """A file of the same path replaces the shipped one; another is said to replace none."""
    mine = workshop.folder / "mine"
    (mine / "poster").mkdir(parents=True)
    shipped = Path(__file__).parents[2] / "templates" / "poster" / "sheet.yaml"
    (mine / "poster" / "sheet.yaml").write_text(shipped.read_text("utf-8").replace("sheet: A2", "sheet: A1"), "utf-8")
    (mine / "poster" / "mian.md.j2").write_text("x", "utf-8")
    workshop.protocol("airing")
    site = workshop.site("north", "airing")
    site.write_text(site.read_text("utf-8").partition("sheets:")[0], "utf-8")
    outcome = make(templates=mine)

    assert rules(outcome) == ["project/new-template"]
    assert f"{FOLDER}/{STEM}-poster-a1.pdf" in workshop.tree()


def test_a_broken_layout_stops_everything_with_its_place(workshop):
    """A layout that cannot be read is an error of all sheets."""
    mine = workshop.folder / "mine"
    (mine / "poster").mkdir(parents=True)
    (mine / "poster" / "sheet.yaml").write_text("artifact: poster\nshet: A2\n", "utf-8")
    workshop.protocol("airing")
    workshop.site("north", "airing")
    outcome = make(templates=mine)

    assert outcome.status == Exit.FINDINGS
    assert all(f.where.file == "templates/poster/sheet.yaml" for f in outcome.findings)
    assert workshop.tree() == {}


def test_what_nobody_makes_is_said(workshop):
    """A protocol without a site, and a language without a translation, are not passed over in silence."""
    workshop.protocol("airing")
    workshop.protocol("alone", code="AL-01")
    site = workshop.site("north", "airing")
    site.write_text(site.read_text("utf-8").replace("[en]", "[en, es]"), "utf-8")

    assert rules(make()) == ["build/no-site", "build/no-catalogue"]


def test_a_fault_of_ours_publishes_nothing(workshop):
    """An exception in a room reaches the caller; nothing lands, nothing stays beside out/."""
    workshop.protocol("airing")
    workshop.protocol("other", code="OT-01", headline="Open a bug")
    workshop.site("north", "airing", "other")
    for processes in (1, 2):
        with pytest.raises(ZeroDivisionError):
            make(Wanted(processes=processes))

        assert workshop.tree() == {}
        assert sorted(p.name for p in workshop.folder.iterdir()) == ["protocols"]
