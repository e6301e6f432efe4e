"""Turn files into text and bytes: the only window to the world, which remembers everything it has read.

Whatever is read may be hostile or simply wrong, so reading never raises: a file that is too large, not a plain file,
not UTF-8 or that leads out of its folder comes back as findings. What was read is kept with its SHA-256 under a label
that does not depend on where the project lies (`protocols/hand-rub.yaml`), so that two machines say the same.
"""

from __future__ import annotations

import datetime
import hashlib
import os
import re
import stat
import subprocess
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from importlib.util import find_spec
from pathlib import Path

from docgen.findings import Finding, Where, advice, error, warning

KIB = 1024
TEXT_LIMIT = 512 * KIB
"""Bytes of one protocol, site or template; the largest shipped protocol has about 40 KiB."""
SHEET_LIMIT = 64 * KIB * KIB
"""Bytes of one finished file given to `verify`."""
RELEASE_LIMIT = 32 * KIB * KIB
"""Bytes of one release file; one with two sites and ten languages has about 1 MiB."""
RECORD_LIMIT = 16 * KIB * KIB
"""Bytes of one list of copies: some 80 000 lines."""
FONT_LIMIT = 64 * KIB * KIB
GIT_SECONDS = 30

_PACKAGE = Path(__file__).parent


def shipped(kind: str) -> Path:
    """Folder of the `templates`, `protocols` or `locales` that come with docgen, in the wheel or a source checkout."""
    inside = _PACKAGE / "_shipped" / kind
    return inside if inside.is_dir() else _PACKAGE.parent / kind


@dataclass(frozen=True, slots=True)
class Source:
    """One text that was read."""

    file: str
    """As the person knows it: what findings show."""
    label: str
    """As the manifest knows it: the same on every machine."""
    text: str


@dataclass(frozen=True, slots=True)
class Font:
    """Where one font file comes from."""

    name: str
    """A family (`NotoSans`, one file with every weight), or a face (`IBMPlexSansArabic-Bold`)."""
    place: str
    """Importable name of the package that carries it, or a folder of the system."""
    file: str
    """Path below that place."""
    install: str
    """What to install when it is missing."""
    index: int = 0
    """Face in a collection."""


def _packaged(name: str, slug: str, file: str) -> Font:
    return Font(name, f"fontpkg_{slug.replace('-', '_')}", f"files/{file}", f"fontpkg-{slug}")


_CJK = "/usr/share/fonts/opentype/noto"
FONTS = (
    _packaged("NotoSans", "noto-sans", "NotoSans[wdth,wght].ttf"),
    _packaged("IBMPlexSansArabic-Regular", "ibm-plex-sans-arabic", "IBMPlexSansArabic-Regular.ttf"),
    _packaged("IBMPlexSansArabic-Bold", "ibm-plex-sans-arabic", "IBMPlexSansArabic-Bold.ttf"),
    _packaged("NotoSansArabic", "noto-sans-arabic", "NotoSansArabic[wdth,wght].ttf"),
    _packaged("NotoSansDevanagari", "noto-sans-devanagari", "NotoSansDevanagari[wdth,wght].ttf"),
    _packaged("NotoSansThai", "noto-sans-thai", "NotoSansThai[wdth,wght].ttf"),
    _packaged("NotoSansKhmer", "noto-sans-khmer", "NotoSansKhmer[wdth,wght].ttf"),
    Font("NotoSansCJKsc-Regular", _CJK, "NotoSansCJK-Regular.ttc", "the Debian package fonts-noto-cjk", 2),
    Font("NotoSansCJKsc-Bold", _CJK, "NotoSansCJK-Bold.ttc", "the Debian package fonts-noto-cjk", 2),
)
"""Every font docgen may print with, in the order of fallback. Only Chinese needs one that no Python package carries."""


class Unreadable(Exception):
    """Why a file could not be read, and what would help."""

    def __init__(self, rule: str, reason: str, hint: str):
        super().__init__(reason)
        self.rule, self.reason, self.hint = rule, reason, hint


class Project:
    """What one run may see. `read` maps the label of everything read so far to its SHA-256."""

    def __init__(
        self, folder: Path = Path("protocols"), templates: Path | None = None, today: datetime.date | None = None
    ):
        self.folder = folder
        self._today = today
        self.overlay = templates
        self.replaced: dict[str, str] = {}
        """`templates/…` → the unit's own file that stands in for it."""
        self.read: dict[str, str] = {}

    # --- what is there -------------------------------------------------------------------------------------

    def protocols(self) -> tuple[Path, ...]:
        """The protocols of the folder, sorted by name."""
        return _visible(self.folder, "*.yaml")

    def sites(self) -> tuple[Path, ...]:
        """The sites of the folder, sorted by name."""
        return _visible(self.folder / "sites", "*.yaml")

    @property
    def released(self) -> Path:
        """The folder of the project's releases: a folder for each protocol, a file for each version."""
        return self.folder / "releases"

    def releases(self) -> tuple[Path, ...]:
        """Every release and withdrawal, sorted by name."""
        return _visible(self.released, "*/*.json")

    def copies(self, site: str) -> Path:
        """The record of a site's printed copies: what hangs where."""
        return self.folder / "sites" / f"{site}.copies.csv"

    def overlooked(self) -> tuple[Finding, ...]:
        """Files that look like sources and are not read: nothing is left out in silence."""
        strays = [p for part in ("", "sites") for p in _visible(self.folder / part, "*.yml")]
        hint = "rename it to end in `.yaml`"
        return tuple(
            warning("project/other-suffix", f"`{p.name}` is not read", Where(str(p)), hint=hint) for p in strays
        )

    def sheets(self, path: Path) -> tuple[tuple[Path, ...], tuple[Finding, ...]]:
        """A finished file itself, or all below a folder, sorted."""
        if not path.is_dir():
            return (path,), ()
        found = tuple(f for f in _files(path) if f.suffix.lower() in (".pdf", ".html"))
        hint = "make some with `docgen make`, or give another folder"
        none = error("project/no-sheets", "there are no finished files here", Where(str(path)), hint=hint)
        return found, () if found else (none,)

    def results(self, path: Path) -> tuple[tuple[Path, ...], tuple[Finding, ...]]:
        """A filled checklist or saved record itself, or all below a folder, sorted."""
        if not path.is_dir():
            return (path,), ()
        found = tuple(f for f in _files(path) if f.suffix.lower() in (".pdf", ".json", ".csv"))
        hint = "give filled checklists, and records that a reader saved"
        none = error("project/no-results", "there is nothing to count here", Where(str(path)), hint=hint)
        return found, () if found else (none,)

    # --- reading -------------------------------------------------------------------------------------------

    def source(self, path: Path) -> tuple[Source | None, tuple[Finding, ...]]:
        """A protocol or site. A link in the project's folder must not lead out of it."""
        where = "protocols/sites" if path.parent.name == "sites" else "protocols"
        return self._text(path, f"{where}/{path.name}", path.parent)

    def release(self, path: Path) -> tuple[Source | None, tuple[Finding, ...]]:
        """A release or a withdrawal."""
        label = f"protocols/releases/{path.parent.name}/{path.name}"
        return self._text(path, label, path.parent.parent, RELEASE_LIMIT)

    def recorded(self, site: str) -> tuple[Source | None, tuple[Finding, ...]]:
        """The record of a site's printed copies; None without a finding if nobody has begun one."""
        path = self.copies(site)
        if not os.path.lexists(path):
            return None, ()
        return self._text(path, f"protocols/sites/{path.name}", path.parent, RECORD_LIMIT)

    def list(self, path: Path) -> tuple[Source | None, tuple[Finding, ...]]:
        """A work list that somebody has filled in."""
        return self._text(path, path.name, None, RECORD_LIMIT)

    def revision(self, rev: str, path: Path) -> tuple[Source | None, tuple[Finding, ...]]:
        """A file as it was at a git revision. Nothing is fetched, no hook and no filter is run."""
        shown, hint = f"git:{rev}:{path}", "give a commit, a branch or a tag, and a file that was in it"
        if not re.fullmatch(r"\w[\w./@^~{}-]*", rev):
            problem = error("project/no-revision", f"`{rev}` is no revision", Where(shown), hint=hint)
            return None, (problem,)
        command = ("git", "-C", str(path.parent), "cat-file", "blob", f"{rev}:./{path.name}")
        env = {**os.environ, "GIT_NO_LAZY_FETCH": "1", "GIT_OPTIONAL_LOCKS": "0", "LC_ALL": "C"}
        try:
            done = subprocess.run(command, capture_output=True, timeout=GIT_SECONDS, env=env, check=False)
        except (OSError, subprocess.TimeoutExpired) as problem:
            message = f"git can't be asked ({type(problem).__name__})"
            return None, (error("project/no-git", message, Where(shown), hint="install git, or give a file"),)
        if done.returncode:
            said = done.stderr.decode("utf-8", "replace").strip().partition("\n")[0].removeprefix("fatal: ")
            return None, (error("project/no-revision", f"git has no such file: {said}", Where(shown), hint=hint),)
        if len(done.stdout) > RELEASE_LIMIT:
            message = f"this is larger than {RELEASE_LIMIT // KIB} KiB and is not read"
            return None, (error("project/too-large", message, Where(shown), hint="give a smaller file"),)
        return self._decoded(done.stdout, shown, shown)

    def templates(self) -> tuple[Mapping[str, str], tuple[Finding, ...]]:
        """Path below the templates folder → text: the shipped ones, replaced by the unit's own of the same path."""
        found: dict[str, str] = {}
        findings: list[Finding] = []
        house = shipped("templates")
        if self.overlay is not None and not self.overlay.is_dir():
            findings.append(
                error("project/no-folder", "there is no such folder of templates", Where(str(self.overlay)),
                      hint="give `--templates` a folder laid out like the shipped templates")
            )  # fmt: skip
        for root in filter(None, (house, self.overlay)):
            for path in _files(root):
                name = path.relative_to(root).as_posix()
                if root is not house and name not in found:
                    findings.append(
                        advice("project/new-template", f"`{name}` replaces no shipped template", Where(str(path)),
                               hint="check the spelling, unless another template includes it")
                    )  # fmt: skip
                source, problems = self._text(path, f"templates/{name}", root)
                findings += problems
                if source:
                    found[name] = source.text
                    if root is not house:
                        self.replaced[f"templates/{name}"] = str(path)
        return found, tuple(findings)

    @property
    def locales(self) -> Path:
        """The project's own folder of languages."""
        return self.folder.parent / "locales"

    def locale(self, language: str, name: str) -> tuple[Source | None, tuple[Finding, ...]]:
        """A file of a language's folder: the project's own, else the shipped one; None without a finding if neither.

        Without a language: a file that all of them share.
        """
        for root in (self.locales, shipped("locales")):
            path = root / language / name
            if path.is_file():
                return self._text(path, "/".join(filter(None, ("locales", language, name))), root)
        return None, ()

    def catalogues(self, own: bool = False) -> tuple[tuple[str, str], ...]:
        """Language and name of every catalogue, sorted: the project's own, and unless only those, the shipped ones."""
        roots = (self.locales,) if own else (self.locales, shipped("locales"))
        found = {(p.parent.name, p.stem) for root in roots for p in _visible(root, "*/*.po")}
        return tuple(sorted(found))

    def today(self) -> datetime.date:
        """The day on which a check is made; nothing that is printed depends on it."""
        return self._today or datetime.date.today()

    def sheet(self, path: Path) -> tuple[bytes | None, tuple[Finding, ...]]:
        """The bytes of a finished file."""
        try:
            return _bytes(path, SHEET_LIMIT), ()
        except Unreadable as problem:
            return None, (error(problem.rule, problem.reason, Where(str(path)), hint=problem.hint),)

    def fonts(self) -> Mapping[str, Callable[[], tuple[bytes, int]]]:
        """Name → what fetches the bytes and the face index of each of `FONTS` that is installed, in their order.

        Fetching raises `Unreadable`, saying what to install, if the file is not there after all.
        """
        places = {font.name: _folder(font.place) for font in FONTS}
        return {
            font.name: partial(self._font, font, place / font.file)
            for font in FONTS
            if (place := places[font.name]) and (place / font.file).is_file()
        }

    def _font(self, font: Font, path: Path) -> tuple[bytes, int]:
        try:
            data = _bytes(path, FONT_LIMIT)
        except Unreadable as problem:
            reason = f"the font `{font.name}` can't be read: {problem.reason}"
            raise Unreadable("project/no-font", reason, f"install {font.install} again") from None
        self._remember(f"fonts/{font.name}", data)
        return data, font.index

    def _text(
        self, path: Path, label: str, inside: Path | None, limit: int = TEXT_LIMIT
    ) -> tuple[Source | None, tuple[Finding, ...]]:
        try:
            data = _bytes(path, limit, inside)
        except Unreadable as problem:
            return None, (error(problem.rule, problem.reason, Where(str(path)), hint=problem.hint),)
        self._remember(label, data)
        return self._decoded(data, str(path), label)

    def _decoded(self, data: bytes, file: str, label: str) -> tuple[Source | None, tuple[Finding, ...]]:
        try:
            return Source(file, label, data.decode("utf-8-sig")), ()
        except UnicodeDecodeError:
            return None, tuple(_wrong_bytes(data, file))

    def _remember(self, label: str, data: bytes) -> None:
        self.read[label] = hashlib.sha256(data).hexdigest()


def _folder(place: str) -> Path | None:
    """Where a package or a folder of the system lies, without importing anything."""
    if place.startswith("/"):
        return Path(place)
    spec = find_spec(place)
    return Path(spec.submodule_search_locations[0]) if spec and spec.submodule_search_locations else None


def _visible(folder: Path, pattern: str) -> tuple[Path, ...]:
    return tuple(sorted(p for p in folder.glob(pattern) if not p.name.startswith(".")))


def _files(root: Path) -> Iterator[Path]:
    """Every visible file below a folder, sorted by path; linked folders are not entered."""
    for folder, folders, files in os.walk(root, followlinks=False):
        folders[:] = sorted(f for f in folders if not f.startswith("."))
        yield from (Path(folder, f) for f in sorted(files) if not f.startswith("."))


def _bytes(path: Path, limit: int, inside: Path | None = None) -> bytes:
    """Everything in a plain file of at most `limit` bytes. Never waits on a pipe or a device."""
    if inside is not None and not _within(path, inside):
        raise Unreadable(
            "project/leads-outside", "this link leads out of its folder", "put the file itself here, not a link to it"
        )
    try:
        handle = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
    except OSError as problem:
        raise Unreadable(
            "project/unreadable", f"this can't be opened ({_why(problem)})", "check the name and who may read it"
        ) from None
    try:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            raise Unreadable("project/not-a-file", "this is not a plain file", "give a file")
        with open(handle, "rb", closefd=False) as file:
            data = file.read(limit + 1)
    except OSError as problem:
        raise Unreadable("project/unreadable", f"this can't be read ({_why(problem)})", "check the disk") from None
    finally:
        os.close(handle)
    if len(data) > limit:
        raise Unreadable(
            "project/too-large", f"this is larger than {limit // KIB} KiB and is not read", "give a smaller file"
        )
    return data


def _within(path: Path, folder: Path) -> bool:
    try:
        return path.resolve().is_relative_to(folder.resolve())
    except (OSError, RuntimeError):  # a loop of links
        return False


def _why(problem: OSError) -> str:
    return (problem.strerror or type(problem).__name__).lower()


def _wrong_bytes(data: bytes, file: str) -> Iterator[Finding]:
    """One finding for each line that is not UTF-8, the first twenty."""
    wrong = 0
    for number, line in enumerate(data.split(b"\n"), 1):
        try:
            line.decode("utf-8")
        except UnicodeDecodeError as problem:
            wrong += 1
            column = len(line[: problem.start].decode("utf-8")) + 1
            shown = line[:400].decode("utf-8", "replace").rstrip("\r")
            yield error(
                "project/not-utf-8",
                f"the byte `{line[problem.start]:02X}` is not UTF-8 text",
                Where(file, number, column, shown),
                hint="save the file as UTF-8",
            )
        if wrong == 20:
            return
