"""Sheets are made in the languages a site asks for and somebody has begun; all words on them are in that language."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import pikepdf
import pypdfium2
import pytest
from catalogues import PROTOCOL, SITE
from click.testing import CliRunner
from openpyxl import load_workbook

from docgen import cli
from docgen.build.making import Wanted, make
from docgen.build.outcome import Exit
from docgen.build.verifying import verify
from docgen.build.words import Which, update
from docgen.findings import Severity
from docgen.language import po_text
from docgen.language.pseudo import pseudo
from docgen.language.sheet import KEY, TRANSLATION
from docgen.model.catalogue import Catalogue
from docgen.project import Project, shipped
from docgen.source.catalogue import read_catalogue

APPROVED = "status: approved\napproval: {by: A. Person, role: Manager, on: 2029-12-01}\nowner:"
OTHER = "sl"
"""A language nobody ships, so that what ships for others changes nothing here."""


@pytest.fixture
def home(tmp_path, monkeypatch) -> Path:
    """A folder with the small protocol and its site, which asks for English and another language."""
    (tmp_path / "protocols" / "sites").mkdir(parents=True)
    (tmp_path / "protocols" / "airing.yaml").write_text(PROTOCOL.replace("owner:", APPROVED, 1), "utf-8")
    (tmp_path / "protocols" / "sites" / "north.yaml").write_text(SITE.replace("[en, es]", f"[en, {OTHER}]"), "utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def begin(name: str = "airing", change=lambda e: e) -> None:
    """Begin the other language, and fill it with words that are not English."""
    outcome = update(Project(), Which(languages=(OTHER,)))
    assert outcome.status == Exit.CLEAN, outcome.findings
    for path in Path("locales", OTHER).glob("*.po"):
        one = catalogue_at(path)
        entries = (replace(e, translation=pseudo(e.source).replace("seconds", "sekund")) for e in one.entries)
        path.write_text(po_text(replace(one, entries=tuple(map(change, entries)))), "utf-8")


def catalogue_at(path: Path) -> Catalogue:
    """A catalogue from its file."""
    found = read_catalogue(path.read_text("utf-8"), str(path), path.parent.name, path.stem).value
    assert found
    return found


def made(**wanted):
    """Make the poster and the checklist."""
    return make(Project(), Wanted(artifacts=("poster", "checklist"), **wanted))


def rules(outcome, severity=None):
    """Names of what was found."""
    return {f.rule for f in outcome.findings if severity in (None, f.severity)}


def words_on(path: Path) -> str:
    """Everything drawn on a file, by pdfium."""
    with pypdfium2.PdfDocument(path) as pdf:
        return " ".join(" ".join(page.get_textpage().get_text_bounded() for page in pdf).split())


def test_a_language_nobody_has_begun_is_listed(home):
    """English is made; what the site asks for beside it is a warning at its place in the site's file."""
    outcome = made()
    assert [(f.rule, f.severity) for f in outcome.findings] == [("build/no-catalogue", Severity.WARNING)]
    assert outcome.findings[0].where.file == "protocols/sites/north.yaml"
    assert f"--language {OTHER}" in outcome.findings[0].hint
    assert [p.name for p in Path("out/airing/1.0/north").iterdir()] == ["en"]


def test_a_translated_protocol_is_made_and_read_back(home):
    """Both languages are published with the same fingerprint; the translation says that nobody has reviewed it."""
    begin()
    outcome = made()
    assert not [f for f in outcome.findings if f.severity is Severity.ERROR], outcome.findings
    english, other = (json.loads(Path(f"out/airing/1.0/north/{x}/manifest.json").read_text()) for x in ("en", OTHER))
    assert english["fingerprint"] == other["fingerprint"]
    assert (english["translation"], len(other["translation"])) == ("", 6)
    assert f"locales/{OTHER}/airing.po" in other["files"][0]["inputs"]
    poster = next(Path(f"out/airing/1.0/north/{OTHER}").glob("*poster*.pdf"))
    assert pseudo("Draft translation, not reviewed by a qualified translator.")[1:25] in words_on(poster)
    assert "DRAFT" not in words_on(poster)
    assert verify(Project(), [Path("out")]).status == Exit.CLEAN


def test_an_outdated_caution_stops_the_language_and_not_the_others(home):
    """Without `--draft` nothing is made of it; with it, the source stands in brackets under a band in two languages."""
    begin(change=lambda e: replace(e, outdated=e.key == "caution.draught.avoid"))
    outcome = made()
    assert rules(outcome, Severity.ERROR) == {"language/outdated"}
    assert [p.name for p in Path("out/airing/1.0/north").iterdir()] == ["en"]
    outcome = made(draft=True)
    assert rules(outcome, Severity.ERROR) == set()
    poster = words_on(next(Path(f"out/airing/1.0-draft/north/{OTHER}").glob("*poster*.pdf")))
    assert "[Do not hold the frame.]" in poster
    assert f"{pseudo('DRAFT – not for use')} DRAFT – not for use" in poster


def test_a_lost_number_stops_the_language(home):
    """Integrity errors hold a translation back like any other error."""
    begin(change=lambda e: replace(e, translation=e.translation.replace("20", "2")))
    outcome = made()
    assert rules(outcome, Severity.ERROR) == {"language/number"}
    assert [p.name for p in Path("out/airing/1.0/north").iterdir()] == ["en"]


def test_a_damaged_catalogue_stops_its_language(home):
    """A catalogue that cannot be read makes no sheet, and says where."""
    begin()
    path = Path("locales", OTHER, "airing.po")
    path.write_text(path.read_text("utf-8").replace('msgstr "[', "msgstr [", 1), "utf-8")
    outcome = made()
    assert rules(outcome, Severity.ERROR) == {"source/catalogue-syntax"}
    assert [p.name for p in Path("out/airing/1.0/north").iterdir()] == ["en"]


def test_only_the_languages_named_are_made(home):
    """`--language` chooses; the pseudo-language is for drafts only."""
    begin()
    made(languages=(OTHER,))
    assert [p.name for p in Path("out/airing/1.0/north").iterdir()] == [OTHER]
    assert rules(made(languages=("qps-ploc",))) == {"language/draft-only"}


ASCII_WORD = re.compile(r"(?<![^\W\d_])[A-Za-z]{3,}(?![^\W\d_])")
"""A word without an accent: the pseudo-language has none, but for what is kept."""
KEPT = {"DRAFT", "not", "for", "use", "seconds", "minutes", "qps", "ploc", "QPS", "PLOC", "docgen"}
"""The band of drafts in the source language, units after numbers, the language tag, who made the file."""


def spoken(thing, seen) -> list[str]:
    """All that a reader's program says of a file: alternative texts, names of fields, titles."""
    out: list[str] = []
    if isinstance(thing, pikepdf.Dictionary | pikepdf.Array) and thing.is_indirect:
        if thing.objgen in seen:
            return []
        seen.add(thing.objgen)
    if isinstance(thing, pikepdf.Dictionary):
        out += [str(thing[k]) for k in ("/Alt", "/ActualText", "/E", "/TU", "/Title") if k in thing]
        for key in thing:
            if key not in ("/Parent", "/P", "/Pg", "/Prev", "/Dest"):
                out += spoken(thing[key], seen)
    elif isinstance(thing, pikepdf.Array):
        for each in thing:
            out += spoken(each, seen)
    return out


def test_nothing_on_a_translated_sheet_is_left_in_the_source_language(tmp_path):
    """Every artifact of a shipped protocol in the pseudo-language: words drawn, alternative texts, form fields,
    bookmarks, properties. Whatever has no accent was never given to translators."""
    project = Project(shipped("protocols"))
    wanted = Wanted(languages=("qps-ploc",), draft=True, out=tmp_path)
    asked = replace(wanted.asked, files=(shipped("protocols") / "everyday-removal.yaml",), sites=("harbour-north",))
    outcome = make(project, replace(wanted, asked=asked))
    assert not [f for f in outcome.findings if f.severity is Severity.ERROR], outcome.findings
    files = sorted(tmp_path.rglob("*.pdf"))
    assert {a for a in ("poster", "cards", "script", "checklist", "notice") for f in files if f"-{a}-" in f.name} == {
        "poster", "cards", "script", "checklist", "notice"
    }  # fmt: skip
    stamp = json.loads(next(tmp_path.rglob("manifest.json")).read_text())
    kept = KEPT | set(re.findall("[A-Za-z]+", f"{stamp['code']} {stamp['site']} {stamp['site'].upper()}"))
    for file in files:
        with pikepdf.open(file) as pdf:
            said = spoken(pdf.Root, set())
            said += [str(pdf.docinfo[k]) for k in ("/Title", "/Subject", "/Author", "/Keywords") if k in pdf.docinfo]
        text = f"{words_on(file)} {' '.join(said)}".replace(stamp["fingerprint"], "")
        text = text.replace(f"{stamp['fingerprint'][:5]}-{stamp['fingerprint'][5:]}", "")
        assert set(ASCII_WORD.findall(text)) - kept == set(), file.name
        assert len(said) > 5


def test_the_check_for_source_words_can_fail(home):
    """A word of a template outside `_()` is seen on the pseudo-language's sheet."""
    mine = home / "mine" / "house"
    mine.mkdir(parents=True)
    (mine / "head.md.j2").write_text("# {{ edition.title }}\n\nForgotten words\n", "utf-8")
    make(Project(templates=home / "mine"), Wanted(artifacts=("poster",), languages=("qps-ploc",), draft=True))
    assert "Forgotten" in ASCII_WORD.findall(words_on(next(Path("out").rglob("*poster*.pdf"))))


def run(*args: str) -> tuple[int, str]:
    """The command line."""
    result = CliRunner().invoke(cli.docgen, ["words", *args])
    return result.exit_code, result.output


def test_a_translators_round_trip_with_a_changed_source_in_between(home):
    """Begun, sent out as a spreadsheet, the protocol changed, the sheet read back: nothing lost, everything marked."""
    assert run("update", "--language", OTHER)[0] == 0
    status, said = run("sheet", OTHER, "out.xlsx", "protocols/airing.yaml")
    assert (status, "wrote out.xlsx" in said) == (0, True)
    assert run("sheet", OTHER, "out.xlsx")[0] == Exit.UNUSABLE, "nothing is overwritten"

    source = Path("protocols/airing.yaml")
    source.write_text(source.read_text("utf-8").replace("The window can slam.", "The window can hit you."), "utf-8")
    assert "airing.po: notes refreshed" in run("update")[1]
    book = load_workbook("out.xlsx")
    for row in book["airing"].iter_rows(min_row=2):
        if row[KEY - 1].value in ("caution.draught.hazard", "step.open.headline"):
            row[TRANSLATION - 1].value = f"prevod {row[KEY - 1].row}"
    book.save("out.xlsx")
    status, said = run("sheet", "--read", "out.xlsx")
    assert status == 0
    assert "2 rows taken" in said
    assert "marked outdated" in said
    entries = {e.key: e for e in catalogue_at(Path(f"locales/{OTHER}/airing.po")).entries}
    assert entries["step.open.headline"].valid
    hazard = entries["caution.draught.hazard"]
    assert (hazard.outdated, hazard.previous, hazard.source) == (
        True, "The window can slam.", "The window can hit you."
    )  # fmt: skip

    status, said = run("status", "--format", "json", "--language", OTHER)
    row = next(r for r in json.loads(said) if r["catalogue"] == "airing")
    assert (row["translated"], row["outdated"], row["outdated_cautions"], row["missing_cautions"]) == (1, 1, 1, 3)
    assert "1 (1)" in run("status", "--language", OTHER)[1]
    status, said = run("check", "--language", OTHER)
    assert status == Exit.FINDINGS
    assert "language/outdated" in said and "language/missing" in said


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (("sheet",), "give LANGUAGE and OUT"),
        (("sheet", "zz", "x.xlsx"), "no catalogues in `zz`"),
        (("sheet", "--read", "nowhere.xlsx"), "can't be opened"),
        (("update", "--language", "../x"), "no language tag"),
        (("update", "--language", "en"), "language the protocols are written in"),
    ],
)
def test_wrong_requests_are_told_apart(home, args, says):
    """Every wrong request has its sentence and the exit status for unusable input."""
    status, said = run(*args)
    assert (status, says in said) == (Exit.UNUSABLE, True), said
    assert not Path("locales").exists()
