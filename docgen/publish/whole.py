"""Turn the staged sheets of a whole version and its release file into files people find: both, or neither.

What counts is the release file: a version is released from the moment on at which it is there under its name, and
never before all its sheets are. Everything that can fail for want of room or permission is done before: the sheets are
sealed in the staging folder, the release file lies complete beside its place under a hidden name. Then the folder of
the version changes places with the one under `out/`, and the file gets its name, which fails if another run was first.

If the second of these two steps fails, the first is undone. If the run is killed between them, the next run that
publishes to the same place finds it noted in the dead run's folder, and undoes it: nothing of the version is released.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import json
import os
from collections.abc import Callable, Iterator
from pathlib import Path

from docgen.findings import Finding, Where, warning
from docgen.publish.disk import exchange, flush, flush_folder, write

PENDING = "pending.json"
"""In a run's folder: what is being released."""

Relative = tuple[str, str]
"""Protocol and version: the folder below `out/` that changes places."""


def land(
    run: Path, out: Path, number: int, relative: Relative, file: Path, data: bytes, change_places: Callable[[], None]
) -> None:
    """Let a staged version change places, and give it its release file. Call with the lock of the place held.

    Raises OSError, with nothing released and `out/` as it was, if the disk refuses; FileExistsError if the version is
    released already.
    """
    if os.path.lexists(file):
        raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(file))
    draft = _draft(file, run)
    staged = run.joinpath("new", str(number), *relative)
    there = file.parent.is_dir()
    file.parent.mkdir(parents=True, exist_ok=True)
    try:
        flush(run / "new" / str(number))
        note = {
            "number": number, "relative": relative, "file": str(file.absolute()), "folder": staged.stat().st_ino,
            "sha256": hashlib.sha256(data).hexdigest(),
        }  # fmt: skip
        write(run / PENDING, json.dumps(note).encode())
        flush_folder(run)
        write(draft, data)
        change_places()
        named = False
        try:
            file.hardlink_to(draft)
            named = True
            flush_folder(file.parent)
        except OSError:
            if named:
                file.unlink()
            _undo(run, out, number, relative)
            raise
    finally:
        draft.unlink(missing_ok=True)
        (run / PENDING).unlink(missing_ok=True)
        if not there:
            with contextlib.suppress(OSError):  # it is not empty if all went well
                file.parent.rmdir()


def settle(run: Path, out: Path) -> Iterator[Finding]:
    """Undo what a dead run had begun to release and not finished. Raises OSError if that can't be done."""
    try:
        note = json.loads((run / PENDING).read_bytes())
        number, relative, file = int(note["number"]), tuple(map(str, note["relative"])), Path(str(note["file"]))
        folder, digest = int(note["folder"]), str(note["sha256"])
    except (OSError, ValueError, KeyError, TypeError):
        return  # nothing was being released, or the note was not finished, and then nothing had moved
    _draft(file, run).unlink(missing_ok=True)
    try:
        if hashlib.sha256(file.read_bytes()).hexdigest() == digest:
            return  # it was released
    except OSError:
        pass
    place, aside = out.joinpath(*relative), run.joinpath("old", str(number), *relative)
    moved = os.path.lexists(place) and place.stat().st_ino == folder
    if moved:
        _undo(run, out, number, (relative[0], relative[1]))
    elif os.path.lexists(aside) and not os.path.lexists(place):
        aside.rename(place)
    else:
        return
    message = f"a release of `{relative[0]}` {relative[1]} was interrupted and is undone: nothing of it is released"
    yield warning("publish/undone", message, Where(str(place)), hint="release it again")


def _undo(run: Path, out: Path, number: int, relative: Relative) -> None:
    """Bring back what was at the place before: nothing, the folder set aside, or the one now in the staging folder."""
    place = out.joinpath(*relative)
    before, aside = (run.joinpath(part, str(number), *relative) for part in ("new", "old"))
    if os.path.lexists(before):
        exchange(before, place)
    else:
        place.rename(run / f"undone-{number}")
        if os.path.lexists(aside):
            aside.rename(place)
        else:
            with contextlib.suppress(OSError):  # other versions may be there
                place.parent.rmdir()
    if place.parent.is_dir():
        flush_folder(place.parent)


def _draft(file: Path, run: Path) -> Path:
    """Where a release file lies complete before it gets its name; the run's own, so that two runs don't meet."""
    return file.with_name(f".{file.name}-{run.name}")
