"""A release that is interrupted, refused or raced leaves the old state or the new one, and says which.

Killed at every point; a full disk and a read-only one, which are mounted for it (Linux, as root of a user namespace).
"""

from __future__ import annotations

import datetime
import json
import multiprocessing
import os
import shutil
import signal
import subprocess
import sys
from hashlib import sha256
from pathlib import Path

import pytest

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE), str(HERE.parent / "build"), str(HERE.parents[1])]

import test_publish_killed as killed  # noqa: E402
import test_publish_lands as lands  # noqa: E402
from workshop import BACK, Workshop  # noqa: E402

from docgen import publish  # noqa: E402
from docgen.build.releasing import Asking, release, signed, withdraw  # noqa: E402
from docgen.model.block import Composition  # noqa: E402
from docgen.project import Project  # noqa: E402

BACK = BACK._replace(compose=lambda edition, artifact, *rest, **more: (Composition(artifact, ()), ()))
DAY = datetime.date(2029, 12, 20)
STATED = b'{"release": 1}\n'

# --- killed at every point ---------------------------------------------------------------------------------------


def publish_release(where: Path, can_exchange: bool) -> bool:
    """One run that releases a version of two languages over a trial of it; False if it is released already."""
    if not can_exchange:

        def cannot(*_paths):
            raise OSError(22, "invalid argument")

        publish.exchange = cannot
        publish.whole.exchange = cannot
    with publish.Publishing(where / "out") as publishing:
        for language in ("en", "fr"):
            folder = publishing.stage(0, ("hand-rub", "1.0", "north", language))
            publish.write(folder / "poster.pdf", b"new")
            made = publish.Made("poster.pdf", "poster", "A4", 1, 3, sha256(b"new").hexdigest(), ())
            manifest = publish.Manifest(lands.STAMP, "0.1.0", (made,))
            publishing.seal(0, ("hand-rub", "1.0", "north", language), manifest)
        try:
            publishing.release(0, ("hand-rub", "1.0"), where / "releases" / "hand-rub" / "1.0.json", STATED)
        except FileExistsError:
            return False
    return True


def state(work: Path) -> str:
    """`old`, `new`, or `between`: all sheets are there and the file that would make them a release is not."""
    version = work / "out" / "hand-rub" / "1.0" / "north"
    stated = work / "releases" / "hand-rub" / "1.0.json"
    sheets = {p.parent.name: p.read_bytes() for p in version.glob("*/poster.pdf")}
    assert sheets in ({}, {"en": b"old"}, {"en": b"new", "fr": b"new"}), sheets
    if stated.exists():
        assert stated.read_bytes() == STATED, "the file is there before it is whole"
        assert sheets == {"en": b"new", "fr": b"new"}, "released without its sheets"
        return "new"
    return "between" if "fr" in sheets else "old" if sheets else "missing"


def survey(start: Path, can_exchange: bool) -> dict[str, int]:
    """Fork a run for every point at which it can be killed; look at what is left, and at what the next run does."""
    seen = dict.fromkeys(("killed", "old", "new", "between", "missing", "undone"), 0)
    at = 0
    while True:
        at += 1
        work = start.with_name(f"work-{at}")
        shutil.copytree(start, work)
        child = os.fork()
        if not child:
            killed.die_at(at)
            try:
                publish_release(work, can_exchange)
                os._exit(0)
            except BaseException:
                os._exit(70)
        _, status = os.waitpid(child, 0)
        assert os.WIFSIGNALED(status) or os.waitstatus_to_exitcode(status) == 0, f"point {at}: the run failed"
        seen["killed"] += os.WIFSIGNALED(status)
        left = state(work)
        seen[left] += 1
        with publish.Publishing(work / "out") as publishing:  # the next run, before it does anything
            said = [f.rule for f in publishing.findings]
        assert (said == ["publish/undone"]) is (left in ("between", "missing")), f"point {at}: {left}, {said}"
        seen["undone"] += bool(said)
        settled = state(work)
        assert settled == ("new" if left == "new" else "old"), f"point {at}: {left} became {settled}"
        assert publish_release(work, can_exchange) is (settled == "old"), f"point {at}: the next run did not work"
        assert state(work) == "new"
        assert sorted(p.name for p in work.iterdir()) == ["out", "releases"], f"point {at}: something stays"
        hidden = [p.name for p in (work / "releases").rglob(".*")]
        assert not hidden, f"point {at}: {hidden}"
        shutil.rmtree(work)
        if not os.WIFSIGNALED(status):
            return seen


@pytest.mark.parametrize("can_exchange", [True, False], ids=["exchange", "set-aside"])
def test_a_release_killed_at_any_point_is_there_or_not(tmp_path, can_exchange):
    """With its file all sheets are there; without it the next run brings back what was there, and says so."""
    done = subprocess.run(
        [sys.executable, __file__, "kill", str(tmp_path), "exchange" if can_exchange else "set-aside"],
        capture_output=True, text=True, timeout=500, check=False,
    )  # fmt: skip

    assert done.returncode == 0, done.stderr
    seen = json.loads(done.stdout)
    assert seen["killed"] > 100
    assert seen["old"] and seen["new"] and seen["between"]


# --- a whole run -------------------------------------------------------------------------------------------------


def ward(folder: Path, version: str = "1.0") -> Workshop:
    """A small approved protocol at one site."""
    shop = Workshop(folder)
    shop.protocol("airing")
    shop.site("north", "airing")
    return shop


def go(folder: Path, day: datetime.date = DAY, by: str = "A. Person", today: datetime.date | None = None):
    """Release it, with stand-ins for the rooms that make sheets."""
    project = Project(folder / "protocols", None, today or day)
    asking = Asking((folder / "protocols" / "airing.yaml",), signed(by, "Head", "Review", day), out=folder / "out")
    return release(project, asking, back=BACK)


def take_back(folder: Path, day: datetime.date = DAY, by: str = "A. Person"):
    """Withdraw it."""
    project = Project(folder / "protocols", None, day)
    return withdraw(project, (folder / "protocols" / "airing.yaml",), signed(by, "Head", "Wrong", day))


def rules(outcome) -> list[str]:
    return [f.rule for f in outcome.findings]


def everything(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def whole(folder: Path) -> bool:
    """Whether the release is there with every file it lists, digest by digest; if not, that nothing of it is."""
    stated = folder / "protocols" / "releases" / "airing" / "1.0.json"
    version = folder / "out" / "airing" / "1.0"
    if not stated.exists():
        assert not version.exists()
        return False
    said = json.loads(stated.read_bytes())
    listed = {f["file"]: f["sha256"] for e in said["editions"] for x in e["languages"] for f in x["files"]}
    listed[said["record"]["file"]] = said["record"]["sha256"]
    there = {p.name: sha256(p.read_bytes()).hexdigest() for p in version.rglob("*") if p.is_file()}
    there.pop("manifest.json")
    assert there == listed
    return True


def test_of_two_releases_at_once_one_wins_and_the_other_says_so(tmp_path):
    """Both start from the same sources; the second changes nothing."""
    ward(tmp_path)
    context = multiprocessing.get_context("fork")
    start, said = context.Barrier(2), context.SimpleQueue()

    def run(by: str) -> None:
        start.wait(20)
        outcome = go(tmp_path, by=by)
        said.put((by, rules(outcome), outcome.lines))

    both = [context.Process(target=run, args=(by,)) for by in ("A. Person", "B. Person")]
    for process in both:
        process.start()
    answers = {by: (found, lines) for by, found, lines in (said.get() for _ in both)}
    for process in both:
        process.join()

    losers = [by for by, (found, _) in answers.items() if "release/already-released" in found]
    winners = [by for by, (found, _) in answers.items() if not found]
    assert len(losers) == len(winners) == 1, answers
    assert "nothing was released, and nothing was changed" in answers[losers[0]][1][0]
    assert whole(tmp_path)
    stated = (tmp_path / "protocols" / "releases" / "airing" / "1.0.json").read_text("utf-8")
    assert winners[0] in stated


def test_of_two_withdrawals_the_second_says_it_is_done(tmp_path):
    """The first one's name and reason stay."""
    ward(tmp_path)
    go(tmp_path)
    assert rules(take_back(tmp_path, by="A. Person")) == []
    before = everything(tmp_path)
    assert "release/already-withdrawn" in rules(take_back(tmp_path, by="B. Person"))
    assert everything(tmp_path) == before


@pytest.mark.parametrize(
    ("signed_on", "clock", "rule"),
    [
        (datetime.date(2029, 12, 10), datetime.date(2029, 12, 10), "release/before-last"),
        (datetime.date(2029, 12, 28), datetime.date(2029, 12, 10), "release/dated-ahead"),
        (datetime.date(2029, 11, 1), datetime.date(2029, 11, 1), "release/before-approval"),
    ],
)
def test_a_clock_that_was_set_back_releases_nothing(tmp_path, signed_on, clock, rule):
    """A day before the last release or the approval is refused, as is one after what the clock calls today."""
    shop = ward(tmp_path)
    go(tmp_path)
    source = shop.folder / "protocols" / "airing.yaml"
    source.write_text(source.read_text("utf-8").replace('version: "1.0"', 'version: "1.1"'), "utf-8")
    before = everything(tmp_path)
    outcome = go(tmp_path, signed_on, today=clock)
    assert rule in rules(outcome)
    assert outcome.lines == ("airing 1.1: nothing was released, and nothing was changed",)
    assert everything(tmp_path) == before
    if rule == "release/dated-ahead":
        assert "release/dated-ahead" in rules(take_back(tmp_path, datetime.date(2029, 11, 1)))


# --- a disk that refuses -----------------------------------------------------------------------------------------


def on_disks(home: Path) -> list[dict]:
    """Release on disks from too small to large enough, and on one that can't be written. Runs in its own namespace."""
    out = []

    def mount(folder: Path, how: str) -> None:
        folder.mkdir(exist_ok=True)
        subprocess.run(["mount", "-t", "tmpfs", "-o", how, "tmpfs", str(folder)], check=True)

    for kib in range(36, 104, 4):
        folder = home / f"disk-{kib}"
        mount(folder, f"size={kib}k")
        try:
            ward(folder)
        except OSError:
            continue
        before = everything(folder)
        outcome = go(folder)
        done = whole(folder)
        hidden = [p.name for p in folder.rglob(".*")]
        kept = done or everything(folder) == before
        out.append({"kib": kib, "rules": rules(outcome), "lines": outcome.lines, "whole": done, "hidden": hidden,
                    "kept": kept})  # fmt: skip
    folder = home / "read-only"
    mount(folder, "size=4m")
    ward(folder)
    go(folder)
    shutil.copytree(folder / "protocols", folder / "keep" / "protocols")
    source = folder / "protocols" / "airing.yaml"
    source.write_text(source.read_text("utf-8").replace('version: "1.0"', 'version: "1.1"'), "utf-8")
    before = everything(folder)
    subprocess.run(["mount", "-o", "remount,ro", str(folder)], check=True)
    for outcome in (go(folder), take_back(folder)):
        out.append({"kib": 0, "rules": rules(outcome), "lines": outcome.lines, "whole": whole(folder), "hidden": [],
                    "kept": everything(folder) == before, "hints": [f.message for f in outcome.findings]})  # fmt: skip
    return out


def test_a_full_disk_and_a_read_only_one(tmp_path):
    """Whatever the size of the disk: all of the release or nothing of it, and the line says which."""
    namespace = ["unshare", "--user", "--map-root-user", "--mount"]
    if subprocess.run([*namespace, "true"], capture_output=True, check=False).returncode:
        pytest.skip("user namespaces are not to be had here")
    done = subprocess.run(
        [*namespace, sys.executable, __file__, "disks", str(tmp_path)],
        capture_output=True, text=True, timeout=300, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-2000:]
    full = [r for r in json.loads(done.stdout) if r["kib"]]
    refused = [r for r in full if not r["whole"]]
    assert refused and len(refused) < len(full)
    for r in full:
        assert r["kept"] and not r["hidden"], r
        assert ("publish/cannot-write" in r["rules"]) is not r["whole"], r
        told = "\n".join(r["lines"])
        assert ("released as" in told) is r["whole"], r
    read_only = [r for r in json.loads(done.stdout) if not r["kib"]]
    assert len(read_only) == 2
    for r in read_only:
        assert r["kept"] and "publish/cannot-write" in r["rules"], r
        assert any("read-only file system" in m and "untouched" in m for m in r["hints"]), r


if __name__ == "__main__":
    os.fsync = lambda _handle: None  # flushing matters when the power fails, not when a process is killed
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    root = Path(sys.argv[2])
    if sys.argv[1] == "kill":
        lands.run(root / "start" / "out", {"poster.pdf": b"old"})
        (root / "start" / "releases").mkdir()
        print(json.dumps(survey(root / "start", sys.argv[3] == "exchange")))
    else:
        print(json.dumps(on_disks(root)))
