"""Kill a run at every point of it: out/ holds whole editions, old or new, and the next run works.

The kill is SIGKILL, at every line that Python is about to run inside the publishing code and before every file or
folder that the library removes for it, so between any two system calls that change something.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
from hashlib import sha256
from pathlib import Path

import pytest

HERE = Path(__file__).parent
NAMES = {"poster.pdf", "script.pdf", "manifest.json"}


def again(where: Path, can_exchange: bool) -> None:
    """One run that lands two editions, over an older one and where there was none."""
    sys.path.insert(0, str(HERE))
    import test_publish_lands as lands

    from docgen import publish

    if not can_exchange:

        def cannot(*_paths):
            raise OSError(22, "invalid argument")

        publish.exchange = cannot
    with publish.Publishing(where / "out") as publishing:
        for number, language in enumerate(("en", "fr")):
            relative = (*lands.HERE[:3], language)
            folder = publishing.stage(number, relative)
            made = []
            for name in ("poster", "script"):
                publish.write(folder / f"{name}.pdf", b"new")
                made.append(publish.Made(f"{name}.pdf", name, "A4", 1, 3, sha256(b"new").hexdigest(), ()))
            publishing.land(number, relative, publish.Manifest(lands.STAMP, "0.1.0", tuple(made)), keep=False)


def survey(start: Path, can_exchange: bool) -> dict[str, int]:
    """Fork a run for every point at which it can be killed; look at what is left each time."""
    seen = {"killed": 0, "old": 0, "new": 0, "missing": 0}
    at = 0
    while True:
        at += 1
        work = start.with_name(f"work-{at}")
        shutil.copytree(start, work)
        child = os.fork()
        if not child:
            die_at(at)
            try:
                again(work, can_exchange)
                os._exit(0)
            except BaseException:
                os._exit(70)
        _, status = os.waitpid(child, 0)
        assert os.WIFSIGNALED(status) or os.waitstatus_to_exitcode(status) == 0, f"point {at}: the run failed"
        state = look(work, at, can_exchange)
        seen["killed"] += os.WIFSIGNALED(status)
        seen[state] += 1
        again(work, can_exchange)
        assert look(work, at, True) == "new", f"point {at}: the next run did not work"
        assert sorted(p.name for p in work.iterdir()) == ["out"], f"point {at}: something stays beside out/"
        shutil.rmtree(work)
        if not os.WIFSIGNALED(status):
            return seen


def die_at(which: int) -> None:
    """From now on, kill this process at its `which`-th point."""
    points = 0

    def point() -> None:
        nonlocal points
        points += 1
        if points == which:
            os.kill(os.getpid(), signal.SIGKILL)

    def trace(frame, event, _arg):
        if "docgen/publish/" not in frame.f_code.co_filename:
            return None
        if event == "line":
            point()
        return trace

    sys.addaudithook(lambda event, _args: point() if event in ("os.remove", "os.rmdir") else None)
    sys.settrace(trace)


def look(work: Path, at: int, must_be_there: bool) -> str:
    """Check that everything under out/ is a whole edition; say whether the English one is old or new."""
    out = work / "out"
    folders = {p.relative_to(out).as_posix() for p in out.rglob("*") if p.is_dir()}
    english, french = "hand-rub/1.0/north/en", "hand-rub/1.0/north/fr"
    allowed = {"hand-rub", "hand-rub/1.0", "hand-rub/1.0/north", english, french}
    assert folders <= allowed, f"point {at}: {folders - allowed}"
    for name in (english, french):
        folder = out / name
        if folder.exists():
            assert {p.name for p in folder.iterdir()} == NAMES, f"point {at}: {name} is not whole"
            texts = {(folder / n).read_bytes() for n in NAMES - {"manifest.json"}}
            assert len(texts) == 1, f"point {at}: {name} mixes old and new"
            listed = {f["sha256"] for f in json.loads((folder / "manifest.json").read_bytes())["files"]}
            assert listed == {sha256(t).hexdigest() for t in texts}, f"point {at}: {name} has another's manifest"
    if not (out / english).exists():
        assert not must_be_there, f"point {at}: the previous edition is gone"
        return "missing"
    return (out / english / "poster.pdf").read_text()


@pytest.mark.parametrize("can_exchange", [True, False], ids=["exchange", "set-aside"])
def test_a_run_killed_at_any_point_leaves_whole_editions(tmp_path, can_exchange):
    """At each point: old or new, whole, nothing partial in sight; and the next run lands and clears up."""
    done = subprocess.run(
        [sys.executable, __file__, str(tmp_path), "exchange" if can_exchange else "set-aside"],
        capture_output=True, text=True, timeout=300,
    )  # fmt: skip

    assert done.returncode == 0, done.stderr
    seen = json.loads(done.stdout)
    assert seen["killed"] > 150
    assert seen["old"] and seen["new"]
    assert bool(seen["missing"]) is not can_exchange  # the gap that the module's docstring admits


if __name__ == "__main__":
    sys.path.insert(0, str(HERE))
    from test_publish_lands import run

    os.fsync = lambda _handle: None  # flushing matters when the power fails, not when a process is killed
    root = Path(sys.argv[1]) / "start"
    run(root / "out", {"poster.pdf": b"old", "script.pdf": b"old"})
    print(json.dumps(survey(root, sys.argv[2] == "exchange")))
