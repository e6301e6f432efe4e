"""Turn finished sheets into files people find: the only writer, and it lands a whole edition or nothing of it.

A run writes into a folder of its own beside `out/` (`.out-staging/run-…`), where nobody looks for sheets. An edition
that has passed is sealed there (every file and folder flushed to the disk, `manifest.json` last) and then changes
places with the one under `out/` in one system call: `renameat2(RENAME_EXCHANGE)` of Linux, or a plain rename where
there was none before.

What is promised, at any moment, also for a process killed outright, a full disk or a folder that can't be written:
- every edition's folder under `out/` is the whole previous one or the whole new one, and nothing else appears there;
- two runs at once don't disturb each other: each has its own staging folder, and the changes of place happen in turn;
- what a dead run left beside `out/` is removed by the next run (a run holds a lock on its folder as long as it lives).
A release lands with the file that states it, both or neither: see `docgen.publish.whole`.
Different editions change places one after the other: killed in between, some are new and the rest are as before.
Where the file system can't exchange two folders, the old one is set aside first: killed between those two renames, the
edition is missing until the next run starts, which puts the old one back.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

from docgen.findings import Finding, Where, error, warning
from docgen.publish import whole
from docgen.publish.disk import (
    CANNOT_EXCHANGE,
    amending,
    exchange,
    flush,
    flush_folder,
    lock,
    locked,
    overwrite,
    remove,
    write,
    write_new,
)
from docgen.publish.manifest import MANIFEST, Made, Manifest, folder_of, name_of, read_manifest, render, stamp_of

__all__ = [
    "MANIFEST", "HeldBack", "Made", "Manifest", "Publishing", "amending", "folder_of", "missing", "name_of",
    "overwrite", "published_beside", "read_manifest", "refused", "stamp_of", "write", "write_new",
]  # fmt: skip

_DEPTH = 4
"""protocol / version / site / language."""


class HeldBack(Exception):
    """An edition that must not land, and why."""

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        super().__init__("; ".join(f.message for f in findings))
        self.findings = findings


class Publishing:
    """One run's way to `out`. Use as a context; whatever has not landed by its end is removed.

    Raises OSError from `__enter__` if nothing can be written beside `out`.
    """

    def __init__(self, out: Path):
        self.out = Path(os.path.realpath(out))
        self.base = self.out.parent / f".{self.out.name}-staging"
        self.findings: list[Finding] = []
        """What the clearing up of dead runs had to say."""

    def __enter__(self) -> Publishing:
        self.out.parent.mkdir(parents=True, exist_ok=True)
        with locked(self.base):
            self.findings += self._clear_dead_runs()
            self.run = Path(tempfile.mkdtemp(prefix="run-", dir=self.base))
            self._life = lock(self.run / "lock")
        return self

    def __exit__(self, *_exc: object) -> None:
        with contextlib.suppress(OSError), locked(self.base):
            remove(self.run)
        os.close(self._life)

    def stage(self, number: int, relative: tuple[str, ...]) -> Path:
        """An empty folder for edition `number` of this run, laid out so that it can change places in one rename."""
        folder = self.run.joinpath("new", str(number), *relative)
        folder.mkdir(parents=True)
        return folder

    def land(
        self,
        number: int,
        relative: tuple[str, ...],
        manifest: Manifest,
        keep: bool,
        front: Callable[[Manifest, Path], Made] | None = None,
    ) -> tuple[Finding, ...]:
        """Seal a staged edition and let it change places with the one under `out/`.

        `keep`: files of the previous folder that this run did not make stay, if they are of the very same edition.
        `front` writes the page that names all of them into the staged folder; it may raise HeldBack.
        Raises OSError, with `out/` untouched, if the disk refuses.
        """
        folder = self.run.joinpath("new", str(number), *relative)
        with locked(self.base):
            findings: tuple[Finding, ...] = ()
            if keep:
                manifest, findings = _carry_over(self.out.joinpath(*relative), folder, manifest)
            if front:
                made = (*manifest.files, front(manifest, folder))
                manifest = replace(manifest, files=tuple(sorted(made, key=lambda m: m.file)))
            write(folder / MANIFEST, render(manifest))
            flush(self.run / "new" / str(number))
            self.out.mkdir(exist_ok=True)
            self._change_places(number, relative)
        return findings

    def seal(self, number: int, relative: tuple[str, ...], manifest: Manifest) -> None:
        """Finish a staged folder of a version that lands as a whole."""
        write(self.run.joinpath("new", str(number), *relative) / MANIFEST, render(manifest))

    def release(self, number: int, relative: tuple[str, str], file: Path, data: bytes) -> None:
        """Let a whole staged version change places and write its release file, both or neither.

        Raises OSError, with nothing released, if the disk refuses or `file` is there already.
        """
        with locked(self.base):
            self.out.mkdir(exist_ok=True)
            whole.land(self.run, self.out, number, relative, file, data, lambda: self._change_places(number, relative))

    def put(self, number: int, relative: tuple[str, ...]) -> None:
        """Let a staged folder that is no edition change places with the one under `out/`.

        Raises OSError, with `out/` untouched, if the disk refuses.
        """
        with locked(self.base):
            flush(self.run / "new" / str(number))
            self.out.mkdir(exist_ok=True)
            self._change_places(number, relative)

    def _change_places(self, number: int, relative: tuple[str, ...]) -> None:
        # The highest folder that is still missing moves as one, so that no empty parent is ever seen.
        new, old = self.run / "new" / str(number), self.out
        for part in relative:
            new, old = new / part, old / part
            if not os.path.lexists(old):
                new.rename(old)
                flush_folder(old.parent)
                return
        try:
            exchange(new, old)
        except OSError as problem:
            if problem.errno not in CANNOT_EXCHANGE:
                raise
            aside = self.run.joinpath("old", str(number), *relative)
            aside.parent.mkdir(parents=True)
            old.rename(aside)
            try:
                new.rename(old)
            except OSError:
                aside.rename(old)
                raise
        flush_folder(old.parent)

    def _clear_dead_runs(self) -> Iterator[Finding]:
        for run in sorted(self.base.glob("run-*")):
            try:
                life = lock(run / "lock", wait=False)
            except BlockingIOError:
                continue  # alive
            except OSError as problem:
                yield _left_behind(run, problem)
                continue
            try:
                yield from whole.settle(run, self.out)
                self._put_back(run)
                remove(run)
            except OSError as problem:
                yield _left_behind(run, problem)
            finally:
                os.close(life)

    def _put_back(self, run: Path) -> None:
        for aside in sorted((run / "old").glob("/".join("*" * (_DEPTH + 1)))):
            old = self.out.joinpath(*aside.parts[-_DEPTH:])
            if not os.path.lexists(old):
                aside.rename(old)
                flush_folder(old.parent)


def _carry_over(previous: Path, folder: Path, manifest: Manifest) -> tuple[Manifest, tuple[Finding, ...]]:
    """Bring along the files of the previous folder that belong to the same edition; say which do not."""
    before = read_manifest(previous / MANIFEST)
    made = {m.file for m in manifest.files}
    others = tuple(m for m in before.files if m.file not in made and m.artifact != "index") if before else ()
    if not (before and others):
        return manifest, ()
    if not manifest.same_edition(before):
        names = ", ".join(f"`{m.file}`" for m in others)
        return manifest, (
            warning(
                "publish/older-sheets-removed",
                f"sheets of an earlier text were taken out of the folder: {names}",
                Where(str(previous)),
                hint="run `docgen make` without `--artifact` to make all of them anew",
            ),
        )
    kept, findings = [], []
    for entry in others:
        try:
            data = (previous / entry.file).read_bytes()
        except OSError:
            data = b""
        if hashlib.sha256(data).hexdigest() == entry.sha256:
            write(folder / entry.file, data)
            kept.append(entry)
        else:
            findings.append(
                warning(
                    "publish/changed-sheet-removed",
                    "this was changed after it was made, and is taken out",
                    Where(str(previous / entry.file)),
                    hint=f"make it anew: `docgen make --artifact {entry.artifact}`",
                )
            )
    artifacts = {m.artifact for m in kept}
    return replace(
        manifest,
        files=tuple(sorted((*manifest.files, *kept), key=lambda m: m.file)),
        findings=(*manifest.findings, *(f for f in before.findings if f.artifact in artifacts)),
    ), tuple(findings)


def missing(folder: Path) -> Iterator[Finding]:
    """What the manifests below a folder list and is not there."""
    for path in sorted(folder.rglob(MANIFEST)):
        manifest = read_manifest(path)
        for made in manifest.files if manifest else ():
            if not path.with_name(made.file).exists():
                yield error(
                    "publish/missing-file",
                    f"the manifest lists `{made.file}`, and it is not there",
                    Where(str(path)),
                    artifact=made.artifact,
                    hint="make it anew",
                )


def published_beside(folder: Path) -> Iterator[Manifest]:
    """The manifests of the folders beside an edition's: the same protocol, version and site in other languages."""
    for path in sorted(folder.parent.glob(f"*/{MANIFEST}")):
        manifest = read_manifest(path) if path.parent != folder else None
        if manifest and dict(manifest.stamp)["language"].lower() == path.parent.name:
            yield manifest


def refused(doing: str, path: Path, problem: OSError) -> Finding:
    """The finding for a file system that refuses to be written."""
    reason = (problem.strerror or type(problem).__name__).lower()
    hints = {
        errno.ENOSPC: "make room on the disk, or give another folder with `--out`",
        errno.EDQUOT: "make room on the disk, or give another folder with `--out`",
        errno.EXDEV: "this folder is a disk of its own: give a folder inside it with `--out`",
    }
    return error(
        "publish/cannot-write",
        f"failed to {doing} ({reason}); what was published before is untouched",
        Where(str(path)),
        hint=hints.get(problem.errno or 0, "check who may write there, or give another folder with `--out`"),
    )


def _left_behind(run: Path, problem: OSError) -> Finding:
    return warning(
        "publish/left-behind",
        f"failed to clear up what an interrupted run left ({(problem.strerror or '').lower()})",
        Where(str(run)),
        hint="remove this folder by hand when no docgen is running",
    )
