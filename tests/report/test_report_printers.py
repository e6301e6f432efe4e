"""How findings are printed: for people, for programs, for code-review services."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel
from sarif_pydantic import Sarif

from docgen import report
from docgen.findings import Note, Where, advice, error, warning
from docgen.model.moment import Rule

PLACE = Where("protocols/x.yaml", 12, 9, "      - id: glovs-off")
STORY = (
    Note("step 3 `open-zip` dirties the inner gloves", Where("protocols/x.yaml", 8, 3)),
    Note("nobody cleans them"),
)
FULL = error(
    "sequence/dirty-hands", "the respirator is touched with dirty hands", PLACE, hint="clean the inner gloves first",
    step="glovs-off", artifact="poster", language="en", site="north", protocol="x", notes=STORY,
    data=(("options", "apron=none"),),
)  # fmt: skip


def test_text_shows_place_line_caret_story_and_hint():
    """The form a person reads, whole."""
    assert report.text([FULL]) == (
        "protocols/x.yaml:12:9: error: the respirator is touched with dirty hands [sequence/dirty-hands]\n"
        "    12 |       - id: glovs-off\n"
        "       |         ^\n"
        "  in: step glovs-off, poster, language en, site north\n"
        "  1. step 3 `open-zip` dirties the inner gloves (protocols/x.yaml:8:3)\n"
        "  2. nobody cleans them\n"
        "  hint: clean the inner gloves first\n"
    )


def test_text_without_a_place_is_short():
    """Nothing is printed that is not known."""
    assert report.text([warning("a/b", "something")]) == "warning: something [a/b]\n"


def test_a_finding_on_a_sheet_names_its_page():
    """Finished files have pages, not lines."""
    assert report.text([error("a/b", "c", Where("out/x.pdf", page=2))]) == "out/x.pdf page 2: error: c [a/b]\n"


def test_the_caret_stands_under_wide_characters():
    """Chinese characters take two columns of a terminal (Unicode UAX #11), combining marks none."""
    line = "say: 脱手套 e\u0301x"
    shown = report.text([error("a/b", "c", Where("f", 1, line.index("x") + 1, line))]).splitlines()

    assert shown[2].index("^") - len("       | ") == len("say: ") + 2 * 3 + len(" e")


def test_a_long_line_is_shown_around_its_fault():
    """The caret stays in sight."""
    line = "x" * 500 + "!" + "y" * 500
    shown = report.text([error("a/b", "c", Where("f", 1, 501, line))]).splitlines()

    assert len(shown[1]) < 120
    assert shown[1][shown[2].index("^")] == "!"


@pytest.mark.parametrize("nasty", ["\x1b[31m", "\r", "\x07", "\u202e", "\x9b2J", "\u2028", "\ue000", "\udcff"])
def test_nothing_a_file_says_can_drive_the_terminal(nasty):
    """Control, reordering and private characters are spelled out wherever they stand."""
    where = Where(f"a{nasty}.yaml", 1, 1, f"k{nasty}: v")
    shown = report.text([error("a/b", f"m{nasty}", where, hint=nasty, step=nasty, notes=(Note(nasty),))])

    assert nasty not in shown
    assert f"\\x{ord(nasty[0]):02x}" in shown or f"\\u{ord(nasty[0]):04x}" in shown


@given(st.text(), st.text(), st.integers(0, 50))
def test_any_text_can_be_printed(message, excerpt, column):
    """No message or excerpt breaks a printer."""
    f = [error("a/b", message, Where("f", 1, column, excerpt))]

    assert report.text(f).isprintable() or "\n" in report.text(f)
    assert json.loads(report.json(f))[0]["message"] == message
    json.loads(report.sarif(f, "1"))


def test_findings_come_in_reading_order_and_once():
    """By file, line and column; repeats are dropped."""
    late, early = error("a/b", "late", Where("f", 9, 1)), error("a/b", "early", Where("f", 2, 1))

    assert report.gather([late, early, late]) == (early, late)


def test_what_holds_everywhere_is_not_repeated_for_each_site():
    """A problem of the protocol alone is said once; one of several sites names them."""
    here = Where("f", 2, 1)
    general = error("a/b", "c", here)
    north, south = (error("a/b", "c", here, site=s) for s in ("north", "south"))
    told_apart = error("a/b", "c, as numbered there", here, site="north")

    assert report.gather([south, general, north, told_apart]) == (general,)
    assert [f.site for f in report.gather([south, north])] == ["north, south"]


@pytest.mark.parametrize(
    ("findings", "words"),
    [
        ([], "no findings"),
        ([FULL], "1 error"),
        ([FULL, FULL, warning("a/b", "c"), advice("a/b", "c")], "2 errors, 1 warning, 1 advice"),
    ],
)
def test_the_summary_counts(findings, words):
    """One line, in words."""
    assert report.summary(findings) == words


def test_json_has_every_key_for_every_finding():
    """Programs find the same keys always; nothing is left out when unknown."""
    full, bare = json.loads(report.json([FULL, warning("a/b", "c")]))

    assert full.keys() == bare.keys()
    assert {"rule", "severity", "message", "file", "line", "column", "step", "artifact", "hint"} <= full.keys()
    assert (full["line"], full["column"], full["severity"], full["step"]) == (12, 9, "error", "glovs-off")
    assert full["notes"][0] == {"text": STORY[0].text, "file": "protocols/x.yaml", "line": 8, "column": 3}
    assert full["data"] == {"options": "apron=none"}
    assert (bare["file"], bare["line"], bare["box"], bare["notes"]) == ("", 0, None, [])


RULE = Rule("sequence/dirty-hands", "Hands are clean before the respirator.", "Why.", "A published source", "None.")


def sarif(findings, rules=(RULE,)):
    """The log as data."""
    return json.loads(report.sarif(findings, "0.1.0", rules))


def unknown(model):
    """Names of properties, at any depth, that the independent model does not have."""
    if isinstance(model, BaseModel):
        yield from model.model_extra or ()
        for name in model.model_fields_set - {"properties"} - set(model.model_extra or ()):
            yield from unknown(getattr(model, name))
    elif isinstance(model, list | tuple):
        for part in model:
            yield from unknown(part)


def test_sarif_is_read_by_an_independent_model():
    """The package sarif-pydantic knows every property we write, and gives back the same values."""
    log = sarif([FULL, warning("readback/faint", "c", Where("out/a b.pdf", page=3)), advice("a/b", "c")])
    model = Sarif.model_validate(log)
    again = json.loads(model.model_dump_json(by_alias=True, exclude_unset=True))

    assert again["runs"] == log["runs"]
    assert set(unknown(model)) <= {"columnKind"}  # section 3.14.17, which that package lacks


def test_sarif_has_what_the_standard_requires():
    """OASIS SARIF 2.1.0: sections 3.13 (log), 3.14.6 and 3.19.2 (tool, its name), 3.27.11 (message), 3.27.6 (index)."""
    log = sarif([FULL, warning("a/b", "c")])
    (run,) = log["runs"]
    driver = run["tool"]["driver"]

    assert log["version"] == "2.1.0"
    assert driver["name"] == "docgen"
    for result in run["results"]:
        assert driver["rules"][result["ruleIndex"]]["id"] == result["ruleId"]
        assert result["message"]["text"]


def test_sarif_levels_are_those_of_the_standard():
    """Section 3.27.10 knows none, note, warning and error."""
    levels = [r["level"] for r in sarif([FULL, warning("a/b", "c"), advice("a/b", "c")])["runs"][0]["results"]]

    assert levels == ["error", "warning", "note"]


def test_sarif_regions_count_from_one_in_characters():
    """Sections 3.30.5 and 3.30.6: lines and columns from 1; 3.14.17: columns are Unicode code points."""
    (run,) = sarif([FULL])["runs"]
    region = run["results"][0]["locations"][0]["physicalLocation"]["region"]

    assert run["columnKind"] == "unicodeCodePoints"
    assert (region["startLine"], region["startColumn"]) == (12, 9)


def test_sarif_carries_the_story():
    """Sections 3.36 to 3.38: a code flow with one thread, whose places have messages."""
    (flow,) = sarif([FULL])["runs"][0]["results"][0]["codeFlows"]
    (thread,) = flow["threadFlows"]

    assert [step["location"]["message"]["text"] for step in thread["locations"]] == [n.text for n in STORY]


@pytest.mark.parametrize(("file", "uri"), [("a b/ü.yaml", "a%20b/%C3%BC.yaml"), ("/x/y.yaml", "file:///x/y.yaml")])
def test_sarif_places_are_uris(file, uri):
    """Section 3.4.3: a URI reference as in RFC 3986."""
    (result,) = sarif([error("a/b", "c", Where(file, 1, 1))])["runs"][0]["results"]

    assert result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"] == uri


def test_sarif_knows_the_same_problem_again_after_lines_have_moved():
    """Section 3.27.17: a fingerprint that does not depend on the line."""
    moved = replace(FULL, where=replace(PLACE, line=99))
    one, other = sarif([FULL, moved])["runs"][0]["results"]

    assert one["partialFingerprints"] == other["partialFingerprints"]


@pytest.mark.parametrize("form", ["text", "json", "sarif"])
def test_the_printed_forms_are_as_agreed(form, update_goldens):
    """Programs and people read these; a change of form shows in a diff (`--update-goldens` writes them anew)."""
    found = [FULL, warning("readback/faint", "a headline is faint", Where("out/a b.pdf", page=3, box=(1, 2, 30, 4)))]
    printed = report.sarif(found, "0.1.0", (RULE,)) if form == "sarif" else getattr(report, form)(found)
    golden = Path(__file__).parent / "goldens" / f"findings.{form}"
    if update_goldens:
        golden.write_text(printed, "utf-8")

    assert printed == golden.read_text("utf-8")
