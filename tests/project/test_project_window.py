"""What the window to the world lets in, and what it refuses."""

from __future__ import annotations

import os
from hashlib import sha256
from pathlib import Path

import pytest

from docgen import project as window
from docgen.project import Project, Unreadable, shipped


@pytest.fixture
def home(tmp_path):
    """A project's folder with one file."""
    folder = tmp_path / "protocols"
    (folder / "sites").mkdir(parents=True)
    (folder / "a.yaml").write_text("protocol: a\n", "utf-8")
    return folder


def rule(path: Path) -> str:
    """The rule under which a file is refused."""
    source, findings = Project(path.parent).source(path)
    assert source is None
    (finding,) = findings
    assert finding.hint
    return finding.rule


def test_sources_are_found_in_order_and_hidden_ones_are_not(home):
    """By name; an editor's own files are passed over."""
    for name in ("c.yaml", "b.yaml", ".#b.yaml", "notes.txt", "sites/z.yaml", "sites/y.yaml"):
        (home / name).write_text("", "utf-8")
    project = Project(home)

    assert [p.name for p in project.protocols()] == ["a.yaml", "b.yaml", "c.yaml"]
    assert [p.name for p in project.sites()] == ["y.yaml", "z.yaml"]


def test_a_source_with_another_suffix_is_not_overlooked_in_silence(home):
    """Somebody may be waiting for it."""
    (home / "sites" / "north.yml").write_text("", "utf-8")
    (finding,) = Project(home).overlooked()

    assert finding.rule == "project/other-suffix"
    assert finding.where.file.endswith("north.yml")


def test_what_was_read_is_remembered_with_its_digest(home):
    """Under a label that does not depend on the folder."""
    project = Project(home)
    source, findings = project.source(home / "a.yaml")

    assert (source.text, findings) == ("protocol: a\n", ())
    assert project.read == {"protocols/a.yaml": sha256(b"protocol: a\n").hexdigest()}
    assert Project(home).sites() == ()


def test_a_byte_order_mark_is_not_part_of_the_text(home):
    """Editors on some systems write one."""
    (home / "a.yaml").write_bytes(b"\xef\xbb\xbfprotocol: a\n")

    assert Project(home).source(home / "a.yaml")[0].text == "protocol: a\n"


def test_every_line_that_is_not_utf_8_is_shown_at_its_place(home):
    """Line and column of the first wrong byte of each line, counted in characters."""
    (home / "a.yaml").write_bytes("ä: ok\nno: ".encode() + b"\xe4\nfine: 1\nyes: \xff\n")
    source, findings = Project(home).source(home / "a.yaml")

    assert source is None
    assert [(f.rule, f.where.line, f.where.column) for f in findings] == [
        ("project/not-utf-8", 2, 5),
        ("project/not-utf-8", 4, 6),
    ]
    assert "`E4`" in findings[0].message


def test_a_file_of_another_encoding_does_not_flood_the_reader(home):
    """UTF-16 is wrong on every line; twenty are enough."""
    (home / "a.yaml").write_bytes(b"\xff\n" * 500)

    assert len(Project(home).source(home / "a.yaml")[1]) == 20


def test_files_that_cannot_be_opened_are_findings(home):
    """Missing, a folder, a pipe, too large: each with its own reason, and no waiting."""
    os.mkfifo(home / "pipe.yaml")
    (home / "folder.yaml").mkdir()
    (home / "large.yaml").write_bytes(b"x" * (window.TEXT_LIMIT + 1))
    (home / "loop.yaml").symlink_to("loop.yaml")

    assert rule(home / "missing.yaml") == "project/unreadable"
    assert rule(home / "pipe.yaml") == "project/not-a-file"
    assert rule(home / "folder.yaml") == "project/not-a-file"
    assert rule(home / "large.yaml") == "project/too-large"
    assert rule(home / "loop.yaml") in ("project/leads-outside", "project/unreadable")
    if os.geteuid():
        (home / "a.yaml").chmod(0)
        assert rule(home / "a.yaml") == "project/unreadable"


def test_a_link_must_not_lead_out_of_its_folder(home, tmp_path):
    """A protocol's folder may come from somebody else; one of its links must not read our files."""
    (tmp_path / "secret").write_text("x", "utf-8")
    (home / "link.yaml").symlink_to(tmp_path / "secret")
    (home / "inside.yaml").symlink_to("a.yaml")

    assert rule(home / "link.yaml") == "project/leads-outside"
    assert Project(home).source(home / "inside.yaml")[0]


def test_own_templates_lie_over_the_shipped_ones(tmp_path):
    """The same path replaces, a new path is said to replace nothing, hidden files are passed over."""
    (tmp_path / "poster").mkdir()
    (tmp_path / "poster" / "main.md.j2").write_text("mine", "utf-8")
    (tmp_path / "poster" / ".main.md.j2.swp").write_text("", "utf-8")
    (tmp_path / "poster" / "new.md.j2").write_text("new", "utf-8")
    found, findings = Project(templates=tmp_path).templates()
    ours = {p.relative_to(shipped("templates")).as_posix() for p in shipped("templates").rglob("*") if p.is_file()}

    assert set(found) == ours | {"poster/new.md.j2"}
    assert found["poster/main.md.j2"] == "mine"
    assert [f.rule for f in findings] == ["project/new-template"]


def test_a_missing_folder_of_templates_is_said(tmp_path):
    """Not taken for an empty one."""
    _found, findings = Project(templates=tmp_path / "nowhere").templates()

    assert [f.rule for f in findings] == ["project/no-folder"]


def test_fonts_are_handed_out_without_being_read(monkeypatch):
    """Asking which fonts there are opens none; fetching one remembers its digest."""
    project = Project()
    fonts = project.fonts()
    assert project.read == {}

    data, index = fonts["NotoSans"]()
    assert (data[:4], index) == (b"\x00\x01\x00\x00", 0)  # the version of TrueType outlines (OpenType, offset table)
    assert project.read == {"fonts/NotoSans": sha256(data).hexdigest()}


def test_a_font_that_is_not_installed_is_not_handed_out(monkeypatch):
    """The others still are."""
    monkeypatch.setattr(window, "FONTS", (*window.FONTS, window.Font("Other", "no_such_package", "x.ttf", "other")))

    assert "Other" not in Project().fonts()
    assert "NotoSans" in Project().fonts()


def test_a_font_that_has_vanished_says_what_to_install(tmp_path, monkeypatch):
    """The file was there when it was offered and is not when it is fetched."""
    file = tmp_path / "x.ttf"
    file.write_bytes(b"x")
    monkeypatch.setattr(window, "FONTS", (window.Font("Other", str(tmp_path), "x.ttf", "the package other"),))
    fetch = Project().fonts()["Other"]
    file.unlink()

    with pytest.raises(Unreadable, match="Other") as problem:
        fetch()
    assert problem.value.hint == "install the package other again"


def test_finished_files_are_found_below_a_folder(tmp_path):
    """PDFs only, sorted; an empty folder is said to be empty."""
    for name in ("b/x.pdf", "a/y.PDF", "a/notes.txt"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_bytes(b"")
    files, findings = Project().sheets(tmp_path)

    assert [f.name for f in files] == ["y.PDF", "x.pdf"]
    assert findings == ()
    (tmp_path / "empty").mkdir()
    assert [f.rule for f in Project().sheets(tmp_path / "empty")[1]] == ["project/no-sheets"]
    assert Project().sheets(tmp_path / "one.pdf")[0] == (tmp_path / "one.pdf",)


def test_a_language_of_the_project_goes_before_the_shipped_one(home):
    """A unit may keep its own word list."""
    assert Project(home).locale("en", "words.yaml")[0].label == "locales/en/words.yaml"
    own = home.parent / "locales" / "en"
    own.mkdir(parents=True)
    (own / "words.yaml").write_text("language: en\n", "utf-8")

    assert Project(home).locale("en", "words.yaml")[0].text == "language: en\n"
    assert Project(home).locale("xx", "words.yaml") == (None, ())
