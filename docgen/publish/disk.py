"""The few things done to the disk: whole files, locks, and folders that change places in one step."""

from __future__ import annotations

import contextlib
import ctypes
import errno
import fcntl
import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

CANNOT_EXCHANGE = {errno.ENOSYS, errno.EINVAL, errno.ENOTSUP}
"""What a file system answers that can't let two folders change places."""
_EXCHANGE = 2
"""RENAME_EXCHANGE of <linux/fs.h>."""
_HERE = -100
"""AT_FDCWD of <fcntl.h>."""


def write(path: Path, data: bytes) -> None:
    """A new file in a staged folder, on the disk when this returns."""
    with path.open("xb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def write_new(path: Path, data: bytes) -> None:
    """A new file outside the staged folders, whole or not at all. Raises FileExistsError rather than overwrite."""
    _beside(path, data, _link)


def overwrite(path: Path, data: bytes) -> None:
    """A file replaced by another, whole or not at all."""
    _beside(path, data, _replace)


def _link(draft: Path, path: Path) -> None:
    path.hardlink_to(draft)


def _replace(draft: Path, path: Path) -> None:
    draft.replace(path)


def _beside(path: Path, data: bytes, place: Callable[[Path, Path], None]) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    draft = path.with_name(f".{path.name}-{os.getpid()}")
    try:
        write(draft, data)
        place(draft, path)
        flush_folder(path.parent)
    finally:
        draft.unlink(missing_ok=True)


def exchange(one: Path, other: Path) -> None:
    """Let two paths change places in one step. Raises OSError, with ENOSYS where the system has no such call."""
    renameat2 = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
    if renameat2 is None:
        raise OSError(errno.ENOSYS, os.strerror(errno.ENOSYS))
    if renameat2(_HERE, os.fsencode(one), _HERE, os.fsencode(other), _EXCHANGE):
        number = ctypes.get_errno()
        raise OSError(number, os.strerror(number), str(other))


def lock(path: Path, wait: bool = True) -> int:
    """A handle that holds a lock on `path` until it is closed or its process ends."""
    handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o666)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
    except OSError:
        os.close(handle)
        raise
    return handle


@contextlib.contextmanager
def locked(base: Path) -> Iterator[None]:
    """Alone among all runs that publish to the same place; the base folder goes when nobody needs it any more."""
    while True:
        try:
            with contextlib.suppress(FileExistsError):
                base.mkdir()
            handle = lock(base / "lock")
        except FileNotFoundError:
            if not base.parent.is_dir():
                raise
            continue  # another run has just removed the folder
        with contextlib.suppress(OSError):
            if os.path.samestat(os.fstat(handle), (base / "lock").stat()):
                break
        os.close(handle)
    try:
        yield
    finally:
        with contextlib.suppress(OSError):
            if [p.name for p in base.iterdir()] == ["lock"]:
                (base / "lock").unlink()
                base.rmdir()
        os.close(handle)


@contextlib.contextmanager
def amending(path: Path) -> Iterator[None]:
    """Alone among all runs that read a file and replace it by a longer one."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with locked(path.with_name(f".{path.name}-amending")):
        yield


def remove(folder: Path) -> None:
    """Remove a run's folder, its lock last, so that an interrupted removal is taken up by the next run."""
    for entry in list(folder.iterdir()):
        if entry.is_dir() and not entry.is_symlink():
            shutil.rmtree(entry)
        elif entry.name != "lock":
            entry.unlink()
    (folder / "lock").unlink(missing_ok=True)
    folder.rmdir()


def flush(folder: Path) -> None:
    """Every folder below, deepest first, is on the disk (files were flushed when written)."""
    for inner, _folders, _files in os.walk(folder, topdown=False):
        flush_folder(Path(inner))


def flush_folder(folder: Path) -> None:
    """The names in this folder are on the disk."""
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
