"""From files to a result: each is read in safety, none stops the others, none counts twice."""

from __future__ import annotations

import json
import re
import time
from pathlib import Path

import pytest
from click.testing import CliRunner
from workbench import ROOT

from docgen import cli
from docgen.build import tallying
from docgen.build.limits import within
from docgen.build.outcome import Exit
from docgen.build.tallying import Wanted, tallied
from docgen.project import Project

FINGERPRINT = "0123456789"


def record(**more):
    """The smallest record that a reader could save."""
    step = {"step": "wash", "label": "1", "headline": "Wash", "seconds": 3, "result": "done", "breaches": 0}
    when = more.pop("began", "2026-03-04T10:00:00+00:00")
    head = {"session-record": 1, "code": "IP-AIR-01", "version": "1.0", "fingerprint": FINGERPRINT, "site": "north",
            "language": "en", "unit": "Ward", "title": "Airing", "began": when, "ended": when, "outcome": "complete",
            "names": {}, "steps": [step], "unseen": []}  # fmt: skip
    return json.dumps({**head, **more})


@pytest.fixture
def home(tmp_path, monkeypatch):
    """A folder without a project, which is the working folder."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(*files, **more):
    result, outcome = tallied(Project(Path("protocols")), Wanted(tuple(map(Path, files)), "json", **more))
    return json.loads(result), outcome


def test_damaged_and_foreign_files_are_listed_and_the_rest_is_counted(home):
    """Exit status 1, and a total of what could be read."""
    (home / "good.json").write_text(record())
    (home / "bad.json").write_text(record()[:-5])
    (home / "cat.pdf").write_bytes(b"%PDF-1.7\nnot really")

    result, outcome = run("good.json", "bad.json", "cat.pdf")

    assert outcome.status == Exit.FINDINGS
    assert [g["sessions"] for g in result["groups"]] == [1]
    assert [one["file"] for one in result["not-counted"]] == ["bad.json", "cat.pdf"]
    assert {f.rule for f in outcome.findings} == {"tally/damaged"}


def test_a_file_that_is_not_there_is_said_and_the_rest_is_counted(home):
    """Exit status 2, as for everything that can't be read."""
    (home / "good.json").write_text(record())

    result, outcome = run("good.json", "nowhere.json")

    assert outcome.status == Exit.UNUSABLE
    assert result["groups"][0]["sessions"] == 1


def test_a_folder_is_all_its_files(home):
    """Checklists and records below a folder, and nothing else in it."""
    (home / "march").mkdir()
    (home / "march" / "a.json").write_text(record())
    (home / "march" / "note.txt").write_text("nothing to count")

    result, outcome = run("march")

    assert (outcome.status, result["groups"][0]["sessions"]) == (Exit.CLEAN, 1)


@pytest.mark.parametrize("copy", [record(), record(names={"wearer": "A. Person"})])
def test_one_session_counts_once(home, copy):
    """A copy of a file, or the same record saved again, is named and left out."""
    (home / "a.json").write_text(record())
    (home / "b.json").write_text(copy)

    result, outcome = run("a.json", "b.json")

    assert result["groups"][0]["sessions"] == 1
    assert [f.rule for f in outcome.findings] == ["tally/same-session"]


def test_two_sessions_of_one_day_are_two(home):
    """The check for copies does not swallow sessions."""
    (home / "a.json").write_text(record())
    (home / "b.json").write_text(record(began="2026-03-04T11:00:00+00:00"))

    result, outcome = run("a.json", "b.json")

    assert (result["groups"][0]["sessions"], outcome.status) == (2, Exit.CLEAN)


def test_versions_are_never_added_up_in_silence(home):
    """Apart it is said that they are apart; together it is said that they are together, and which."""
    (home / "a.json").write_text(record())
    (home / "b.json").write_text(record(version="1.1", fingerprint="9876543210"))

    apart, said_apart = run("a.json", "b.json")
    joined, said_joined = run("a.json", "b.json", together=True)

    assert (len(apart["groups"]), len(joined["groups"])) == (2, 1)
    assert [f.rule for f in said_apart.findings] == ["tally/several-versions"]
    assert [f.rule for f in said_joined.findings] == ["tally/versions-together"]
    assert "v1.1" in said_joined.findings[0].message and "v1.0" in said_joined.findings[0].message
    assert joined["versions-together"] is True and len(joined["groups"][0]["editions"]) == 2


def test_reading_that_does_not_end_is_ended(home, monkeypatch):
    """A checklist that keeps its reader busy for ever costs a bounded time."""
    (home / "slow.pdf").write_bytes(b"%PDF-1.7")
    monkeypatch.setattr(tallying, "SECONDS", 0.3)
    monkeypatch.setattr("docgen.tally.checklist.read_checklist", lambda *_: time.sleep(60))
    began = time.monotonic()

    _, outcome = run("slow.pdf")

    assert time.monotonic() - began < 10
    assert "did not end within" in outcome.findings[0].message


def test_work_that_takes_all_memory_ends_alone():
    """The process of the work has a limit of its own; ours goes on."""
    assert within(20, bytearray, 8 * 2**30) is None
    assert within(20, len, "abc") == 3


def test_the_report_is_one_page_that_says_all_of_it(home):
    """Every number of the result stands in the page, which loads nothing."""
    (home / "a.json").write_text(record(unit="<b>Ward</b>"))
    (home / "b.json").write_text("{}")

    _, outcome = run("a.json", "b.json", report=Path("r.html"))

    page = (home / "r.html").read_text("utf-8")
    assert outcome.lines == ("wrote r.html",)
    assert "&lt;b&gt;Ward&lt;/b&gt;" in page and "<b>Ward" not in page
    assert all(words in page for words in ("01234-56789", "2026-03", "Wash", "b.json", '<svg class="bar"'))
    assert "default-src 'none'" in page
    assert not re.search(r"""(src|href)=["'](?!data:|#)""", page)


def test_the_report_speaks_a_language_that_has_words(home):
    """The words of the templates' catalogue; one that is not there is a finding, never English in silence."""
    (home / "a.json").write_text(record())

    _, spanish = run("a.json", report=Path("es.html"), language="es")
    _, none = run("a.json", report=Path("xx.html"), language="xx")

    page = (home / "es.html").read_text("utf-8")
    assert "Resultados de las sesiones" in page and 'lang="es"' in page
    assert spanish.status == Exit.CLEAN
    assert none.status == Exit.UNUSABLE and not (home / "xx.html").exists()


def test_the_command_prints_the_result_and_findings_beside_it(home):
    """The result alone on the standard output, so that another program can read it."""
    (home / "a.json").write_text(record())
    (home / "b.json").write_text("{}")

    done = CliRunner().invoke(cli.docgen, ["tally", "a.json", "b.json", "--format", "csv"])

    assert done.exit_code == Exit.FINDINGS
    assert done.stdout.startswith("code,version,fingerprint,site,")
    assert "tally/foreign" in done.stderr and "tally/foreign" not in done.stdout


@pytest.mark.parametrize("options", [["--report", "a.json"], ["--names"]])
def test_options_that_make_no_sense_are_refused(home, options):
    """No report over a file of results, and names only where a form has room for them."""
    (home / "a.json").write_text(record())

    assert CliRunner().invoke(cli.docgen, ["tally", "a.json", *options]).exit_code == Exit.UNUSABLE
    assert (home / "a.json").read_text() == record()


def test_the_sources_name_the_steps(home):
    """For a text that the project still has, headlines and the unit come from its sources."""
    from workbench import edition

    from docgen.build.tallying import _at_hand
    from docgen.tally import Mark, Session

    of, _ = edition("hand-rub", "harbour-north")
    mark = Mark(of.steps[0].id, "done")
    session = Session("checklist", of.code, of.version, of.fingerprint, of.site, "en", (mark,))

    names, units = _at_hand(Project(ROOT / "protocols"), [session])

    assert names[of.fingerprint][of.steps[0].id] == (of.steps[0].label, of.steps[0].headline.plain)
    assert units[of.site] == of.unit.plain
