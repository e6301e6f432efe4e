"""Turn what is known of an edition's folder into `manifest.json`, and back.

The manifest says what lies in the folder, with the SHA-256 of every file and of everything it was made from. It
proves nothing about what the sheets say, which is the read-back's work; it tells whether a file is still the one made.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path

from docgen.findings import Finding, Severity, Where
from docgen.model.edition import Edition

MANIFEST = "manifest.json"
_FORMAT = 1
_LIMIT = 4 * 1024 * 1024
"""Bytes."""
_STAMP_KEYS = (
    "protocol", "code", "version", "status", "effective", "review", "fingerprint", "site", "language", "translation",
    "draft",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Made:
    """One finished file of an edition, as the manifest lists it."""

    file: str
    artifact: str
    sheet: str
    pages: int
    bytes: int
    sha256: str
    inputs: tuple[tuple[str, str], ...] = ()
    """Label of every file it was made from → SHA-256."""


@dataclass(frozen=True, slots=True)
class Manifest:
    """What lies in an edition's folder, and what it was made from."""

    stamp: tuple[tuple[str, str], ...]
    """The values printed on every sheet, and `draft`: `yes` or `no`."""
    docgen: str
    files: tuple[Made, ...]
    findings: tuple[Finding, ...] = ()
    """What was said and did not stop the edition."""

    def same_edition(self, other: Manifest) -> bool:
        """Whether sheets of both may lie in one folder."""
        return (self.stamp, self.docgen) == (other.stamp, other.docgen)


def folder_of(edition: Edition) -> tuple[str, str, str, str]:
    """Where an edition lies below `out/`: protocol, version, site, language. Drafts never lie among released sheets."""
    version = f"{edition.version}-draft" if edition.draft else edition.version
    return (edition.protocol, version, edition.site, edition.languages.lower())


def name_of(edition: Edition, artifact: str, sheet: str = "", suffix: str = "pdf") -> str:
    """File name of an artifact, which says what it is wherever it is copied to: lower case, no spaces."""
    draft = "-draft" if edition.draft else ""
    parts = [edition.code, f"v{edition.version}{draft}", edition.site, edition.languages, artifact, sheet]
    return "-".join(p for p in parts if p).lower().replace(" ", "-").replace("/", "-") + f".{suffix}"


def stamp_of(edition: Edition) -> tuple[tuple[str, str], ...]:
    """The values every sheet of an edition carries, in the order of the manifest."""
    return (
        ("protocol", edition.protocol),
        ("code", edition.code),
        ("version", edition.version),
        ("status", edition.status),
        ("effective", edition.effective.isoformat()),
        ("review", edition.review.isoformat()),
        ("fingerprint", edition.fingerprint),
        ("site", edition.site),
        ("language", edition.languages),
        ("translation", edition.translation),
        ("draft", "yes" if edition.draft else "no"),
    )


def render(manifest: Manifest) -> bytes:
    """The manifest as a file: stable order, one value a line, UTF-8."""
    document = {
        "manifest": _FORMAT,
        "docgen": manifest.docgen,
        **dict(manifest.stamp),
        "files": [asdict(m) | {"inputs": dict(m.inputs)} for m in manifest.files],
        "findings": [
            {"rule": f.rule, "severity": str(f.severity), "message": f.message, "file": f.where.file,
             "line": f.where.line, "column": f.where.column, "artifact": f.artifact}
            for f in manifest.findings
        ],
    }  # fmt: skip
    return (json.dumps(document, ensure_ascii=False, indent=1) + "\n").encode("utf-8")


def read_manifest(path: Path) -> Manifest | None:
    """A manifest from its file; None if there is none or it is not one of ours."""
    try:
        if path.stat().st_size > _LIMIT:
            return None
        document = json.loads(path.read_bytes())
        if document["manifest"] != _FORMAT:
            return None
        return Manifest(
            stamp=tuple((key, str(document[key])) for key in _STAMP_KEYS),
            docgen=str(document["docgen"]),
            files=tuple(_made(entry) for entry in document["files"]),
            findings=tuple(_found(entry) for entry in document["findings"]),
        )
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None


def _made(entry: Mapping) -> Made:
    file = str(entry["file"])
    if not file or file.startswith(".") or "/" in file or "\0" in file:
        raise ValueError("not a file name")
    return Made(
        file=file,
        artifact=str(entry["artifact"]),
        sheet=str(entry["sheet"]),
        pages=int(entry["pages"]),
        bytes=int(entry["bytes"]),
        sha256=str(entry["sha256"]),
        inputs=tuple((str(label), str(digest)) for label, digest in entry["inputs"].items()),
    )


def _found(entry: Mapping) -> Finding:
    where = Where(str(entry["file"]), int(entry["line"]), int(entry["column"]))
    return Finding(
        str(entry["rule"]), Severity(entry["severity"]), str(entry["message"]), where, artifact=str(entry["artifact"])
    )
