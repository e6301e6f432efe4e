"""The stamp as a short code: what the square code on a sheet says, and how a damaged one is refused.

`IP-ENH-02/2.1/7K3MQ2WXA4/EN/NORTH/P1-1/H`: code, version, fingerprint, language (or a pair, `ES+AR`), site, artifact
and sheet of sheets, check; a draft has a `D` before the artifact. Only characters of the alphanumeric mode of ISO/IEC
18004, so that the printed code stays small. The check is one character of ISO 7064 MOD 37,36, which finds every single
wrong letter or digit and every swap of two neighbours. It has no key: whoever knows the standard can make one that
fits. Nothing is taken for ours because of it, but because a release lists the very same code.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass

from docgen.model.edition import ARTIFACTS, Edition

LETTER_OF = {"poster": "P", "cards": "C", "script": "S", "checklist": "L", "notice": "N"}
_ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_SHAPE = re.compile(
    r"(?P<code>[A-Z0-9-]+)/(?P<version>\d+\.\d+)/(?P<fingerprint>[0-9A-Z]{10})/(?P<language>[A-Z0-9+-]+)"
    r"/(?P<site>[A-Z0-9-]+)/(?P<draft>D?)(?P<letter>[PCSLN])(?P<sheet>\d+)-(?P<sheets>\d+)/(?P<check>[0-9A-Z])"
)

assert set(LETTER_OF) == set(ARTIFACTS)


@dataclass(frozen=True, slots=True)
class Code:
    """What a square code says."""

    code: str
    version: str
    fingerprint: str
    language: str
    """Lower-case language tag or pair of tags, as in the edition, but compared without regard to case."""
    site: str
    artifact: str
    sheet: int
    sheets: int
    draft: bool = False

    def __str__(self) -> str:
        body = (
            f"{self.code}/{self.version}/{self.fingerprint}/{self.language}/{self.site}/"
            f"{'D' if self.draft else ''}{LETTER_OF[self.artifact]}{self.sheet}-{self.sheets}"
        ).upper()
        return f"{body}/{check(body)}"


def check(body: str) -> str:
    """ISO 7064 MOD 37,36 check character over the letters and digits of `body`."""
    p = 36
    for ch in body:
        if ch in _ALPHABET:
            s = (p + _ALPHABET.index(ch)) % 36 or 36
            p = s * 2 % 37
    return _ALPHABET[(37 - p) % 36]


BASE32 = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Crockford's base 32: no I, L, O or U, so that no character is taken for another."""
LENGTH = 10


def fingerprint_of(identity: bytes) -> str:
    """Ten characters of Crockford's base 32: the first 50 bits of the SHA-256 over an edition's canonical bytes."""
    number = int.from_bytes(hashlib.sha256(identity).digest()[:7], "big") >> 6
    return "".join(BASE32[number >> shift & 31] for shift in range(5 * (LENGTH - 1), -1, -5))


def code_of(edition: Edition, artifact: str, sheet: int, sheets: int) -> Code:
    """The code of one sheet of an edition."""
    e = edition
    return Code(e.code, e.version, e.fingerprint, e.languages, e.site, artifact, sheet, sheets, e.draft)


def looks_like_ours(text: str) -> bool:
    """Whether a decoded square code has the shape of ours, whatever its check says."""
    return _SHAPE.fullmatch(text.rsplit("#", 1)[-1].strip().upper()) is not None


def read_code(text: str) -> Code | None:
    """What a decoded square code says; None if it is not one of ours or is damaged.

    An address of the site may stand before it, closed by `#`.
    """
    found = _SHAPE.fullmatch(text.rsplit("#", 1)[-1].strip().upper())
    if not found or check(found.string[: found.start("check") - 1]) != found["check"]:
        return None
    artifact = next(name for name, letter in LETTER_OF.items() if letter == found["letter"])
    return Code(
        found["code"],
        found["version"],
        found["fingerprint"],
        found["language"].lower(),
        found["site"].lower(),
        artifact,
        int(found["sheet"]),
        int(found["sheets"]),
        bool(found["draft"]),
    )
