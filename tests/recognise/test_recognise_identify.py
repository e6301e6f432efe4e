"""What a found copy is said to be: released hand rub sheets, old and new, tampered with, photographed, strangers'."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pikepdf
import pytest
from conftest import tool
from hospital import Hospital, known
from PIL import Image, ImageDraw
from pypdfium2 import PdfDocument
from tampering import edited, pasted, picture, place

from docgen.build.identifying import Found, Identified, identified
from docgen.build.outcome import Exit
from docgen.model.sighting import Copy
from docgen.model.stamp import Code
from docgen.project import Project

OLD, NEW, GONE = "hand-rub/1.0", "hand-rub/1.1", "airing/1.0"
TODAY = "2026-04-01"


@pytest.fixture(scope="session")
def home(tmp_path_factory, worker_id):
    """A folder with releases."""
    return known(tmp_path_factory, worker_id)


@pytest.fixture
def sheet(home):
    """Bytes of a finished file: of a version's folder, in a language, of an artifact."""

    def find(version: str, language: str = "en", artifact: str = "poster") -> bytes:
        (found,) = (home / "out" / version / "harbour-north" / language).glob(f"*-{artifact}-a[346].pdf")
        return found.read_bytes()

    return find


@pytest.fixture
def ask(home, tmp_path):
    """Identify some bytes."""

    def identify(data: bytes | Image.Image, name: str = "found.pdf", today: str = TODAY) -> tuple[Found, Identified]:
        file = tmp_path / name
        if isinstance(data, Image.Image):
            data.save(file)
        else:
            file.write_bytes(data)
        done = identified(Hospital.project_at(home, today), (file,))
        return done.files[0], done

    return identify


def only(found: Found) -> Copy:
    (copy,) = found.copies
    return copy


def said(copy: Copy) -> str:
    return "\n".join(copy.why)


# --- as released ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("version", "today", "state"),
    [
        (NEW, "2026-02-25", "scheduled"),
        (OLD, "2026-02-25", "current"),
        (NEW, TODAY, "current"),
        (OLD, TODAY, "superseded"),
        (GONE, "2026-01-20", "current"),
        (GONE, TODAY, "withdrawn"),
    ],
)
def test_the_released_file_is_worth_what_its_version_is_worth(ask, sheet, version, today, state):
    """By its digest alone, on each day; only what holds on the day gives status 0."""
    found, done = ask(sheet(version), today=today)
    copy = only(found)
    assert (copy.state, copy.compared, copy.artifact, copy.site) == (state, "bytes", "poster", "harbour-north")
    assert done.status == (Exit.CLEAN if state == "current" else Exit.FINDINGS)


def test_an_old_sheet_is_told_what_replaced_it_and_what_changed(ask, sheet):
    """Version, day and changed steps, in words a nurse can act on."""
    _, done = ask(sheet(OLD, "es"))
    text = "\n".join(done.lines())
    assert "TAKE IT DOWN: v1.1 replaced v1.0 on 2026-03-02; put up v1.1" in text
    assert "changed in v1.1: step 6, Rub both thumbs" in text
    assert "warning before step 8, Wet hand rub can ignite." in text


def test_a_withdrawn_sheet_says_why_and_that_nothing_holds_instead(ask, sheet):
    """The reason that was given when it was withdrawn."""
    _, done = ask(sheet(GONE))
    assert "withdrawn on 2026-02-01: The windows no longer open; nothing holds instead" in "\n".join(done.lines())


def test_the_account_for_programs_can_be_read_back(ask, sheet):
    """JSON with an action."""
    _, done = ask(sheet(OLD))
    (file,) = json.loads(done.data())
    (copy,) = file["copies"]
    assert (copy["action"], copy["state"], copy["by"], copy["since"]) == (
        "take-down", "superseded", "1.1", "2026-03-02"
    )  # fmt: skip


@pytest.mark.parametrize("artifact", ["poster", "script", "cards", "checklist", "notice"])
@pytest.mark.parametrize("language", ["en", "es"])
def test_a_picture_of_any_sheet_is_known_by_its_code(ask, sheet, artifact, language):
    """Protocol, version, site, language, artifact and sheet of the last page of each."""
    data = sheet(NEW, language, artifact)
    count = len(PdfDocument(data))
    found, done = ask(picture(data, page=count), "door.png")
    copy = only(found)
    assert (copy.protocol, copy.version, copy.site, copy.language, copy.artifact, copy.sheets, copy.of) == (
        "hand-rub", "1.1", "harbour-north", language, artifact, (count,), count
    )  # fmt: skip
    assert "code" in copy.read_from
    assert done.status == Exit.CLEAN


def test_several_sheets_in_one_picture_are_told_apart(ask, sheet):
    """The old one and the new one side by side, each with its own verdict."""
    one, other = picture(sheet(OLD), 110), picture(sheet(NEW), 110)
    wall = Image.new("L", (one.width + other.width + 80, one.height + 60), 190)
    wall.paste(one, (20, 30))
    wall.paste(other, (one.width + 60, 10))
    found, done = ask(wall, "wall.jpg")
    assert sorted((c.version, c.state) for c in found.copies) == [("1.0", "superseded"), ("1.1", "current")]
    assert done.status == Exit.FINDINGS


def without_code(data: bytes) -> Image.Image:
    """A sheet whose code was painted over."""
    page, (left, bottom, right, top), k = picture(data, 150), place(data), 150 / 72
    box = (left * k - 12, page.height - top * k - 12, right * k + 12, page.height - bottom * k + 12)
    ImageDraw.Draw(page).rectangle(box, fill=255)
    return page


@pytest.mark.parametrize("turn", [0, 180])
def test_the_printed_stamp_serves_where_the_code_does_not(ask, sheet, turn):
    """Read by Tesseract, any way up; which artifact it is stays open where several have such a sheet."""
    tool("tesseract")
    copy = only(ask(without_code(sheet(OLD)).rotate(turn, expand=True), "door.png")[0])
    assert (copy.state, copy.version, copy.language, copy.read_from) == ("superseded", "1.0", "en", ("stamp",))
    assert "poster" in copy.artifact.split(" or ")


def test_without_a_reader_of_text_that_is_said(ask, sheet, monkeypatch):
    """Nothing is guessed, and the missing program is named."""
    monkeypatch.setattr("docgen.recognise.ocr.PROGRAM", "no-such-reader")
    found, done = ask(without_code(sheet(OLD)), "door.png")
    assert only(found).state == "unknown"
    assert "`no-such-reader` is not installed" in "\n".join(done.lines())


# --- tampered with ----------------------------------------------------------------------------------------------


def test_an_edited_step_is_found(ask, sheet):
    """One word of one step, set in the sheet's own font; the code and the stamp are left alone."""
    found, done = ask(edited(sheet(NEW), "palms", "backs"))
    copy = only(found)
    assert copy.state == "altered" and done.status == Exit.FINDINGS
    assert "reads `Rub your backs together` instead of `Rub your palms together`" in said(copy)


def code_of(home: Path, version: str, like: str) -> str:
    """A code that a release lists."""
    release = json.loads((home / "protocols" / "releases" / "hand-rub" / f"{version}.json").read_text("utf-8"))
    languages = release["editions"][0]["languages"]
    return next(c for x in languages for c in x["codes"] if like in c)


def test_the_code_of_another_version_pasted_in_is_found(ask, sheet, home):
    """In the PDF its stamp and its words say so; in a picture the stamp that is printed beside it."""
    file = pasted(sheet(OLD), code_of(home, "1.1", "/EN/HARBOUR-NORTH/P1-1/"))
    copy = only(ask(file)[0])
    assert copy.state == "altered"
    assert "its square code says IP-HH-01 v1.1, and the stamp printed beside it IP-HH-01 v1.0" in said(copy)
    assert "`Rub both thumbs` is not on the sheet" in said(copy)

    tool("tesseract")
    copy = only(ask(picture(file), "door.png")[0])
    assert copy.state == "altered"
    assert "its square code says IP-HH-01 v1.1, and the stamp printed beside it IP-HH-01 v1.0" in said(copy)


def forged(home: Path) -> dict[str, tuple[str, str, str]]:
    """Codes that no release lists → state and what is said of them."""
    true = code_of(home, "1.1", "/EN/HARBOUR-NORTH/P1-1/")
    made_up = Code("IP-HH-01", "1.1", "0123456789", "en", "harbour-north", "poster", 1, 1)
    return {
        "damaged": (true[:-1] + ("A" if true[-1] != "A" else "B"), "altered", "check character is wrong"),
        "made up": (str(made_up), "altered", "names the text `0123456789`"),
        "another address": (f"https://example.org/#{true}", "altered", "leads to `https://example.org/`"),
        "a stranger's": ("https://example.org/menu", "altered", "the square code beside it is not"),
        "another sheet": (
            str(Code("IP-HH-01", "1.1", true.split("/")[2], "en", "harbour-north", "poster", 1, 3)), "altered",
            "not among those released",
        ),
    }  # fmt: skip


@pytest.mark.parametrize("kind", ["damaged", "made up", "another address", "a stranger's", "another sheet"])
def test_a_code_that_no_release_lists_is_not_believed(ask, sheet, home, kind):
    """Also one whose check fits: the check has no key, so only the release counts."""
    code, state, why = forged(home)[kind]
    copy = only(ask(pasted(sheet(NEW), code))[0])
    assert copy.state == state
    assert why in said(copy)


@pytest.mark.parametrize(
    ("code", "why"),
    [
        (Code("IP-HH-01", "1.7", "0123456789", "en", "harbour-north", "poster", 1, 1), "version 1.7 of it was never"),
        (Code("IP-HH-01", "1.1", "0123456789", "en", "elsewhere", "poster", 1, 1), "never released for `elsewhere`"),
        (Code("XX-01", "1.0", "0123456789", "en", "harbour-north", "poster", 1, 1), "no release here is of a document"),
        (Code("IP-HH-01", "1.1", "0123456789", "en", "harbour-north", "poster", 1, 1, True), "it is a draft"),
    ],
)
def test_what_was_never_released_is_unknown(ask, code, why):
    """A bare square code, whose check fits, of something that no release is about."""
    import segno

    out = io.BytesIO()
    segno.make(str(code), error="m", micro=False).save(out, kind="png", scale=6, border=6)
    found, done = ask(out.getvalue(), "found.png")
    assert only(found).state == "unknown" and why in said(only(found))
    assert done.status == Exit.FINDINGS


def test_a_file_that_was_saved_anew_is_not_the_released_one(ask, sheet):
    """Its words are compared and agree, and it is said that its bytes do not."""
    with pikepdf.open(io.BytesIO(sheet(NEW))) as pdf:
        out = io.BytesIO()
        pdf.save(out)
    found, done = ask(out.getvalue())
    copy = only(found)
    assert (copy.state, copy.compared) == ("current", "words")
    assert "its bytes differ, although its words do not" in said(copy)
    assert done.status == Exit.FINDINGS


def test_some_pages_of_a_file_are_not_the_whole(ask, sheet):
    """Which sheets are lacking."""
    with pikepdf.open(io.BytesIO(sheet(NEW, artifact="script"))) as pdf:
        del pdf.pages[0]
        out = io.BytesIO()
        pdf.save(out)
    copy = only(ask(out.getvalue())[0])
    assert (copy.state, copy.sheets, copy.of) == ("current", (2,), 2)
    assert "of 2 sheets it lacks 1" in said(copy)


def test_a_blank_picture_is_nothing_known(ask):
    """Said so, with what to do."""
    found, done = ask(Image.new("L", (900, 700), 200), "nothing.png")
    assert only(found).state == "unknown"
    assert "DO NOT USE IT" in "\n".join(done.lines())


def test_without_releases_nothing_can_be_identified(tmp_path):
    """That is unusable input, not a verdict."""
    done = identified(Project(tmp_path / "protocols"), (tmp_path / "x.pdf",))
    assert done.status == Exit.UNUSABLE
    assert [f.rule for f in done.findings] == ["project/no-releases"]
