"""What lies under out/ after a run, whatever happened during it."""

from __future__ import annotations

import errno
import json
import os
import subprocess
import sys
import threading
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import pytest

from docgen import publish
from docgen.findings import Where, warning
from docgen.publish import Made, Manifest, Publishing, read_manifest

HERE = ("hand-rub", "1.0", "north", "en")
STAMP = (
    ("protocol", "hand-rub"), ("code", "HR-01"), ("version", "1.0"), ("status", "approved"),
    ("effective", "2026-01-01"), ("review", "2028-01-01"), ("fingerprint", "0123456789"), ("site", "north"),
    ("language", "en"), ("translation", ""), ("draft", "no"),
)  # fmt: skip


def run(out: Path, files: dict[str, bytes], where=HERE, stamp=STAMP, keep=False):
    """One run that lands one edition."""
    with Publishing(out) as publishing:
        folder = publishing.stage(0, where)
        made = []
        for name, data in files.items():
            publish.write(folder / name, data)
            made.append(Made(name, name.partition(".")[0], "A4", 1, len(data), sha256(data).hexdigest(), ()))
        return publishing.land(0, where, Manifest(stamp, "0.1.0", tuple(made)), keep)


def tree(folder: Path) -> dict[str, bytes]:
    """Every file below a folder."""
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def test_an_edition_lands_with_its_manifest_and_nothing_stays_beside_it(tmp_path):
    """The folder holds the files and a manifest with their digests; the staging folder is gone."""
    assert run(tmp_path / "out", {"poster.pdf": b"poster"}) == ()

    folder = tmp_path / "out" / "/".join(HERE)
    manifest = json.loads((folder / "manifest.json").read_text("utf-8"))
    assert sorted(p.name for p in folder.iterdir()) == ["manifest.json", "poster.pdf"]
    assert manifest["files"][0]["sha256"] == sha256(b"poster").hexdigest()
    assert manifest["fingerprint"] == "0123456789"
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_a_landed_edition_replaces_the_previous_one_as_a_whole(tmp_path):
    """A file of the previous run that this one did not make is gone."""
    run(tmp_path / "out", {"poster.pdf": b"old", "script.pdf": b"old"})
    run(tmp_path / "out", {"poster.pdf": b"new"})

    assert set(tree(tmp_path / "out" / "/".join(HERE))) == {"poster.pdf", "manifest.json"}


def test_an_edition_that_is_not_landed_leaves_no_trace(tmp_path):
    """A run that stages and gives up, or fails, changes nothing."""
    run(tmp_path / "out", {"poster.pdf": b"old"})
    before = tree(tmp_path)
    with pytest.raises(RuntimeError), Publishing(tmp_path / "out") as publishing:
        publish.write(publishing.stage(0, HERE) / "poster.pdf", b"new")
        raise RuntimeError

    assert tree(tmp_path) == before
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_sheets_of_the_same_edition_stay_when_only_some_are_made(tmp_path):
    """Making the poster alone keeps the script of the very same edition, with its entry and its warnings."""
    with Publishing(tmp_path / "out") as publishing:
        folder = publishing.stage(0, HERE)
        publish.write(folder / "script.pdf", b"script")
        said = warning("layout/tight", "the script is tight", Where("protocols/x.yaml", 3, 1), artifact="script")
        made = Made("script.pdf", "script", "A4", 2, 6, sha256(b"script").hexdigest(), (("protocols/x.yaml", "00"),))
        publishing.land(0, HERE, Manifest(STAMP, "0.1.0", (made,), (said,)), keep=False)
    run(tmp_path / "out", {"poster.pdf": b"poster"}, keep=True)

    manifest = read_manifest(tmp_path / "out" / "/".join(HERE) / "manifest.json")
    assert [m.file for m in manifest.files] == ["poster.pdf", "script.pdf"]
    assert manifest.files[1] == made
    assert manifest.findings == (said,)
    assert (tmp_path / "out" / "/".join(HERE) / "script.pdf").read_bytes() == b"script"


def test_sheets_of_another_text_do_not_stay_beside_new_ones(tmp_path):
    """A folder never mixes two fingerprints; what was taken out is said."""
    run(tmp_path / "out", {"script.pdf": b"old"})
    changed = tuple((k, "9999999999" if k == "fingerprint" else v) for k, v in STAMP)
    (finding,) = run(tmp_path / "out", {"poster.pdf": b"new"}, stamp=changed, keep=True)

    assert finding.rule == "publish/older-sheets-removed"
    assert set(tree(tmp_path / "out" / "/".join(HERE))) == {"poster.pdf", "manifest.json"}


def test_a_sheet_changed_by_hand_does_not_stay(tmp_path):
    """A kept file must be the one its manifest lists."""
    run(tmp_path / "out", {"script.pdf": b"script"})
    (tmp_path / "out" / "/".join(HERE) / "script.pdf").write_bytes(b"edited")
    (finding,) = run(tmp_path / "out", {"poster.pdf": b"poster"}, keep=True)

    assert finding.rule == "publish/changed-sheet-removed"
    assert "script.pdf" not in tree(tmp_path / "out" / "/".join(HERE))


@pytest.mark.parametrize(
    "text", [b"", b"[]", b"{}", b"\xff", b"[" * 100_000, b'{"manifest": 1, "files": [{"file": "../../etc"}]}']
)
def test_a_damaged_manifest_is_no_manifest(tmp_path, text):
    """Nothing is believed from a manifest that is not one of ours."""
    (tmp_path / "manifest.json").write_bytes(text)

    assert read_manifest(tmp_path / "manifest.json") is None


def test_a_manifest_survives_its_file(tmp_path):
    """Writing and reading gives the same values."""
    made = Made("a.pdf", "poster", "A2", 1, 3, "ab", (("protocols/x.yaml", "cd"),))
    manifest = Manifest(STAMP, "0.1.0", (made,), (warning("a/b", "“ü”", Where("f", 1, 2), artifact="poster"),))
    (tmp_path / "m").write_bytes(publish.manifest.render(manifest))

    assert read_manifest(tmp_path / "m") == manifest
    assert not manifest.same_edition(replace(manifest, docgen="9"))


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EROFS, errno.EIO])
@pytest.mark.parametrize("call", ["fsync", "write", "rename", "exchange", "mkdir"])
def test_a_disk_that_refuses_leaves_the_previous_edition(tmp_path, monkeypatch, number, call):
    """Full, read-only or broken: the error reaches the caller and out/ is as before."""
    out = tmp_path / "out"
    run(out, {"poster.pdf": b"old"})
    before = tree(tmp_path)

    def refuse(*_args, **_more):
        raise OSError(number, os.strerror(number))

    with pytest.raises(OSError, match=os.strerror(number)), monkeypatch.context() as patch:
        if call == "fsync":
            patch.setattr(os, "fsync", refuse)
        elif call == "exchange":
            patch.setattr(publish, "exchange", refuse)
        elif call == "write":
            patch.setattr(publish, "write", refuse)
        else:
            patch.setattr(Path, call, refuse)
        run(out, {"poster.pdf": b"new"}, where=HERE if call != "rename" else (*HERE[:3], "fr"))

    assert tree(out) == {k.removeprefix("out/"): v for k, v in before.items()}
    run(out, {"poster.pdf": b"new"})
    assert tree(out)["/".join(HERE) + "/poster.pdf"] == b"new"
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_without_an_exchange_of_folders_the_old_one_is_set_aside(tmp_path, monkeypatch):
    """On a file system that can't exchange, the result is the same, and a failed second rename is undone."""

    def cannot(*_paths):
        raise OSError(errno.EINVAL, os.strerror(errno.EINVAL))

    monkeypatch.setattr(publish, "exchange", cannot)
    run(tmp_path / "out", {"poster.pdf": b"old"})
    run(tmp_path / "out", {"poster.pdf": b"new"})
    assert tree(tmp_path / "out")["/".join(HERE) + "/poster.pdf"] == b"new"

    rename = Path.rename
    count = 0

    def sometimes(self, target):
        nonlocal count
        count += 1
        if count == 2:  # the first sets the old one aside, the third puts it back
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", sometimes)
    with pytest.raises(OSError, match=os.strerror(errno.EIO)):
        run(tmp_path / "out", {"poster.pdf": b"newer"})

    assert tree(tmp_path / "out")["/".join(HERE) + "/poster.pdf"] == b"new"


def test_what_a_refusing_disk_means_is_said_with_a_remedy(tmp_path):
    """The finding names the cause in the system's words, and what to do."""
    finding = publish.refused("write", tmp_path, OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)))

    assert "no space left on device" in finding.message
    assert "make room" in finding.hint


def test_many_runs_at_once_all_land_whole(tmp_path):
    """Eight processes publishing the same edition: the result is one of theirs, whole, and nothing stays behind."""
    code = """
import sys
sys.path.insert(0, sys.argv[2])
from test_publish_lands import run
from pathlib import Path
for turn in range(5):
    text = f"{sys.argv[1]}-{turn}".encode()
    run(Path("out"), {"poster.pdf": text, "script.pdf": text})
"""
    here = str(Path(__file__).parent)
    runs = [subprocess.Popen([sys.executable, "-c", code, str(n), here], cwd=tmp_path) for n in range(8)]

    assert [p.wait(60) for p in runs] == [0] * 8
    files = tree(tmp_path)
    assert files["out/hand-rub/1.0/north/en/poster.pdf"] == files["out/hand-rub/1.0/north/en/script.pdf"]
    assert set(files) == {f"out/hand-rub/1.0/north/en/{n}" for n in ("poster.pdf", "script.pdf", "manifest.json")}
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_two_partial_runs_at_once_keep_each_others_sheets(tmp_path):
    """The poster of one run and the script of another, started together, both end up in the folder."""
    both = threading.Barrier(2)

    def make(name: str) -> None:
        with Publishing(tmp_path / "out") as publishing:
            folder = publishing.stage(0, HERE)
            publish.write(folder / f"{name}.pdf", name.encode())
            made = Made(f"{name}.pdf", name, "A4", 1, len(name), sha256(name.encode()).hexdigest(), ())
            both.wait(10)
            publishing.land(0, HERE, Manifest(STAMP, "0.1.0", (made,)), keep=True)

    threads = [threading.Thread(target=make, args=(name,)) for name in ("poster", "script")]
    for t in threads:
        t.start()
    for t in threads:
        t.join(10)

    assert set(tree(tmp_path / "out" / "/".join(HERE))) == {"poster.pdf", "script.pdf", "manifest.json"}


def test_a_live_run_is_not_cleared_up_by_another(tmp_path):
    """A second run leaves the staging folder of the first alone."""
    with Publishing(tmp_path / "out") as first:
        folder = first.stage(0, HERE)
        run(tmp_path / "out", {"poster.pdf": b"second"})
        publish.write(folder / "poster.pdf", b"first")
        first.land(0, HERE, Manifest(STAMP, "0.1.0", ()), keep=False)

    assert tree(tmp_path / "out")["/".join(HERE) + "/poster.pdf"] == b"first"


def test_new_files_are_whole_and_never_overwrite(tmp_path):
    """`write_new` refuses an existing file; `overwrite` replaces it; neither leaves anything else."""
    publish.write_new(tmp_path / "a" / "x.yaml", b"one")
    with pytest.raises(FileExistsError):
        publish.write_new(tmp_path / "a" / "x.yaml", b"two")
    assert tree(tmp_path) == {"a/x.yaml": b"one"}

    publish.overwrite(tmp_path / "a" / "x.yaml", b"two")
    assert tree(tmp_path) == {"a/x.yaml": b"two"}
