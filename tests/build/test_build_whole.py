"""The whole way with the real rooms, in processes of their own: same bytes, whole editions, nothing half-written."""

from __future__ import annotations

import contextlib
import ctypes
import json
import os
import resource
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

DOCGEN = [sys.executable, "-c", "from docgen.cli import main; main()"]
SITE = """\
site: north
name: An invented hospital, North
invented: true
values: {wet-time: 1 minute, store-phone: "+1 555 0100"}
protocols: {mine: {}}
"""
APPROVED = "status: approved\napproval: {by: An invented person, role: Manager, on: 2029-12-01}\n"


def start(cwd, *args, **more):
    """The program in a process of its own."""
    env = {**os.environ, **more.pop("env", {})}
    return subprocess.Popen(
        [*DOCGEN, *args], cwd=cwd, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, **more
    )


def run(cwd, *args, **more):
    """Exit status and everything that was printed."""
    process = start(cwd, *args, **more)
    out, err = process.communicate(timeout=120)
    return process.returncode, out + err


def tree(folder: Path) -> dict[str, bytes]:
    """Every file below a folder."""
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A project with one small protocol, whose sheets are made."""
    home = tmp_path_factory.mktemp("home")
    assert run(home, "new", "mine")[0] == 0
    protocol = home / "protocols" / "mine.yaml"
    lines = protocol.read_text("utf-8").splitlines(keepends=True)
    protocol.write_text("".join(APPROVED if line.startswith("status:") else line for line in lines), "utf-8")
    (home / "protocols" / "sites").mkdir()
    (home / "protocols" / "sites" / "north.yaml").write_text(SITE, "utf-8")
    status, said = run(home, "make", "--jobs", "2")
    assert status == 0, said
    return home


@pytest.fixture
def home(made, tmp_path):
    """A copy of that project, with its sheets."""
    shutil.copytree(made, tmp_path / "home")
    return tmp_path / "home"


def change(home: Path) -> None:
    """Another text: what is made now differs from what was made."""
    file = home / "protocols" / "mine.yaml"
    text = file.read_text("utf-8")
    assert "bladder scanner" in text
    file.write_text(text.replace("bladder scanner", "bladder scanner on wheels", 1), "utf-8")


def test_all_artifacts_are_made_and_agree(made):
    """The starter passes every room; a second look agrees."""
    (folder,) = (p.parent for p in made.rglob("manifest.json"))
    names = {p.stem.removeprefix("doc-001-v0.1-north-en-").split("-")[0] for p in folder.iterdir()}
    status, said = run(made, "verify", "out", "--jobs", "2")

    assert names == {"poster", "cards", "script", "checklist", "notice", "reader", "index", "manifest"}
    assert status == 0, said


def test_the_same_source_gives_the_same_bytes(made, tmp_path):
    """Two processes with other hash seeds, time zones, languages, folders and numbers of workers."""
    shutil.copytree(made / "protocols", tmp_path / "elsewhere" / "protocols")
    env = {"PYTHONHASHSEED": "4242", "TZ": "Asia/Kathmandu", "LC_ALL": "C", "SOURCE_DATE_EPOCH": "1"}
    status, said = run(tmp_path / "elsewhere", "make", "--jobs", "1", env=env)

    assert status == 0, said
    assert tree(tmp_path / "elsewhere" / "out") == tree(made / "out")


def test_the_manifest_gives_the_digests_of_other_tools(made):
    """sha256sum -c (GNU coreutils) accepts what the manifest lists."""
    (folder,) = (p.parent for p in made.rglob("manifest.json"))
    listed = json.loads((folder / "manifest.json").read_text("utf-8"))["files"]
    lines = "".join(f"{f['sha256']}  {f['file']}\n" for f in listed)
    checked = subprocess.run(
        ["sha256sum", "-c", "--strict", "-"], cwd=folder, input=lines, text=True, capture_output=True
    )

    assert checked.returncode == 0, checked.stdout
    assert {f["file"] for f in listed} == {p.name for p in folder.iterdir()} - {"manifest.json"}


def test_a_run_killed_in_the_middle_leaves_the_previous_sheets(home):
    """SIGKILL while sheets are being staged: no trace under out/, no orphan, and the next run works."""
    before = tree(home / "out")
    change(home)
    for sheets in (0, 2):
        process = start(home, "make", "--jobs", "2")
        staged = _wait_for_staged(home, sheets, process)
        workers = _children(process.pid)
        process.kill()
        process.communicate(timeout=60)

        assert staged, "nothing was staged before the run ended"
        assert tree(home / "out") == before
        assert _gone(workers), "a worker outlives its parent"
    status, said = run(home, "make", "--jobs", "2")

    assert status == 0, said
    assert tree(home / "out").keys() == before.keys()
    assert tree(home / "out") != before
    assert sorted(p.name for p in home.iterdir()) == ["out", "protocols"]


def _wait_for_staged(home: Path, sheets: int, process: subprocess.Popen) -> bool:
    """Until a staging folder holds as many sheets; False if the run ends before."""
    while process.poll() is None:
        with contextlib.suppress(FileNotFoundError):  # the folder may move while it is looked through
            runs = list(home.glob(".out-staging/run-*/new"))
            if runs and len(list(runs[0].rglob("*.pdf"))) >= sheets:
                return True
        time.sleep(0.005)
    return False


def _children(pid: int) -> list[int]:
    """Processes whose parent is this one (proc(5))."""
    return [int(n) for f in Path(f"/proc/{pid}/task").glob("*/children") for n in f.read_text().split()]


def _gone(pids: list[int]) -> bool:
    """Whether all of them end within a few seconds; a zombie has ended."""
    for _turn in range(500):
        states = [Path(f"/proc/{pid}/stat") for pid in pids]
        if all(not s.exists() or s.read_text().rpartition(")")[2].split()[0] == "Z" for s in states):
            return True
        time.sleep(0.01)
    return False


def test_an_interrupted_run_clears_up_after_itself(home):
    """SIGINT, as from a keyboard: the previous sheets stay, and nothing stays beside them."""
    for _ in range(8):  # a quick machine may be done before the signal arrives
        before = tree(home / "out")
        change(home)
        process = start(home, "make", "--jobs", "2", start_new_session=True)
        _wait_for_staged(home, 1, process)
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGINT)
        out, err = process.communicate(timeout=60)
        if process.returncode != 0:
            break

    assert process.returncode == 130
    assert "interrupted" in err
    assert "Traceback" not in out + err
    assert tree(home / "out") == before
    assert sorted(p.name for p in home.iterdir()) == ["out", "protocols"]


def test_a_disk_that_takes_no_more_leaves_the_previous_sheets(home):
    """The system refuses files beyond 8 KiB (setrlimit(2), RLIMIT_FSIZE): findings, exit status 1, nothing changed."""
    before = tree(home / "out")
    change(home)

    def small() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (8192, 8192))

    status, said = run(home, "make", "--jobs", "1", preexec_fn=small)

    assert status == 1
    assert "[publish/cannot-write]" in said
    assert "file too large" in said
    assert "Traceback" not in said
    assert tree(home / "out") == before
    assert sorted(p.name for p in home.iterdir()) == ["out", "protocols"]


@pytest.mark.parametrize("out", ["protocols/mine.yaml/out", "/proc/no-such-place/out"])
def test_a_place_that_cannot_be_written_is_a_finding(home, out):
    """A path below a file, and a file system that takes no folders."""
    status, said = run(home, "make", "--out", out, "--artifact", "notice")

    assert status == 1
    assert "[publish/cannot-write]" in said
    assert "Traceback" not in said


def _without_override() -> None:
    """Permissions bind the superuser too: PR_CAPBSET_DROP of CAP_DAC_OVERRIDE (prctl(2), capabilities(7))."""
    if not os.geteuid():
        ctypes.CDLL(None).prctl(24, 1, 0, 0, 0)


def test_a_read_only_folder_is_a_finding(home):
    """Nobody may write beside out/: nothing changes, and it is said in the system's words."""
    before = tree(home / "out")
    home.chmod(0o555)
    try:
        status, said = run(home, "make", "--artifact", "notice", preexec_fn=_without_override)
    finally:
        home.chmod(0o755)

    assert status == 1
    assert "[publish/cannot-write]" in said
    assert "permission denied" in said
    assert tree(home / "out") == before


def test_two_runs_at_once_both_end_well(home):
    """The same edition from the same source: what lies there afterwards is whole, and the same as before."""
    before = tree(home / "out")
    runs = [start(home, "make", "--jobs", "1", "--artifact", a) for a in ("poster", "notice")]
    said = [p.communicate(timeout=120) for p in runs]

    assert [p.returncode for p in runs] == [0, 0], said
    assert tree(home / "out") == before
    assert sorted(p.name for p in home.iterdir()) == ["out", "protocols"]


BROKEN = {
    "not yaml": "protocol: [",
    "tabs": "protocol: x\n\tcode: y\n",
    "an object tag": "protocol: !!python/object/apply:os.system ['true']\n",
    "an alias bomb": "a: &a [x, x]\nb: &b [*a, *a]\nprotocol: [*b, *b]\n",
    "deep nesting": "protocol: " + "[" * 5000,
    "a list": "- protocol: mine\n",
    "nothing": "",
    "binary": "\x00\x01\x02",
    "a duplicate key": "protocol: mine\nprotocol: other\n",
    "a misspelt key": "protocl: mine\n",
}


@pytest.mark.parametrize("text", BROKEN.values(), ids=BROKEN.keys())
def test_a_broken_source_changes_nothing(home, text):
    """A finding with its place, exit status 1 or 2, no traceback, and out/ as it was."""
    before = tree(home / "out")
    (home / "protocols" / "mine.yaml").write_text(text, "utf-8")
    status, said = run(home, "make")

    assert status in (1, 2)
    assert "protocols/mine.yaml:" in said
    assert "Traceback" not in said
    assert "bug" not in said
    assert tree(home / "out") == before
