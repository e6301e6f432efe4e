"""Turn a release into its file and back: JSON made to be read, the same bytes for the same release, with a seal.

The seal is the SHA-256 of everything before it, so that an edit by hand is noticed. It is no signature: who wants to
deceive can seal anew, and is found out by the digest that the next release keeps of this file, and by version control.
"""

from __future__ import annotations

import datetime
import hashlib
import json
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from typing import Any

from docgen.findings import Finding, Where, error
from docgen.model.release import Release, Withdrawal
from docgen.model.stamp import fingerprint_of

FORMAT = 1
_SEAL = ',\n "seal": "'


def render(value: Release | Withdrawal) -> bytes:
    """The file."""
    kind = "release" if isinstance(value, Release) else "withdrawal"
    text = json.dumps({kind: FORMAT, **_plain(value)}, ensure_ascii=False, indent=1)
    body = text.removesuffix("\n}")
    return f'{body}{_SEAL}{_digest(body)}"\n}}\n'.encode()


def canonical_bytes(identity: Mapping[str, Any]) -> bytes:
    """The bytes whose SHA-256 begins with the fingerprint."""
    return json.dumps(identity, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode()


def parse_release(text: str, file: str) -> tuple[Release | None, tuple[Finding, ...]]:
    """A release from its file. With an error there may still be a release: it is as the file says, and not trusted."""
    release, findings = _parse(text, file, Release, "release")
    if release is None:
        return None, findings
    assert isinstance(release, Release)
    for kept in release.editions:
        real = fingerprint_of(canonical_bytes(kept.canonical))
        if real != kept.fingerprint:
            message = f"the edition kept for `{kept.site}` has the fingerprint `{real}`, not `{kept.fingerprint}`"
            findings += (error("release/other-edition", message, Where(file), hint=_RESTORE, site=kept.site),)
    return release, findings


def parse_withdrawal(text: str, file: str) -> tuple[Withdrawal | None, tuple[Finding, ...]]:
    """A withdrawal from its file."""
    return _parse(text, file, Withdrawal, "withdrawal")


_RESTORE = "take the file from version control or a backup as it was written; it is never edited by hand"


def _digest(body: str) -> str:
    return hashlib.sha256(body.encode()).hexdigest()


def _parse(text: str, file: str, shape: type, kind: str) -> tuple[Any, tuple[Finding, ...]]:
    from pydantic import ValidationError

    try:
        document = json.loads(text)
    except json.JSONDecodeError as problem:
        lines = text.splitlines()
        excerpt = lines[problem.lineno - 1] if problem.lineno <= len(lines) else ""
        where = Where(file, problem.lineno, problem.colno, excerpt[:200])
        message = f"this is no whole JSON: {problem.msg[:1].lower()}{problem.msg[1:]}"
        return None, (error("release/unreadable", message, where, hint=_RESTORE),)
    except (RecursionError, ValueError):
        return None, (error("release/unreadable", "this is no JSON of ours", Where(file), hint=_RESTORE),)
    if not isinstance(document, dict) or document.pop(kind, None) != FORMAT:
        message = f"this is no {kind} that this program knows: it does not begin with `{kind}` {FORMAT}"
        return None, (error("release/unreadable", message, Where(file), hint=_RESTORE),)
    seal = document.pop("seal", None)
    try:
        value = _adapter(shape).validate_python(document)
    except ValidationError as problem:
        findings = []
        for each in problem.errors()[:20]:
            at = ".".join(map(str, each["loc"]))
            message = f"`{at}` is not as it was written: {each['msg'][:1].lower()}{each['msg'][1:]}"
            findings.append(error("release/unreadable", message, Where(file), hint=_RESTORE))
        return None, tuple(findings)
    body = text.replace("\r\n", "\n").rpartition(_SEAL)[0]
    if not body or _digest(body) != seal:
        message = f"this {kind} was changed after it was written: its seal is broken"
        return value, (error("release/edited", message, Where(file), hint=_RESTORE),)
    return value, ()


@cache
def _adapter(shape: type) -> Any:
    from pydantic import ConfigDict, TypeAdapter, with_config

    return TypeAdapter(with_config(ConfigDict(extra="forbid"))(shape))


def _plain(value: Any) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: _plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, Mapping):
        return {key: _plain(each) for key, each in value.items()}
    if isinstance(value, (tuple, list)):
        return [_plain(each) for each in value]
    return value.isoformat() if isinstance(value, datetime.date) else value
