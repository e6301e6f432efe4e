"""Turn the content of catalogues into a short code, so that people can tell whether two of them are the same."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable

from docgen.model.catalogue import Catalogue

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Crockford's base 32, as for fingerprints."""
LENGTH = 6


def content(catalogues: Iterable[Catalogue]) -> str:
    """Six characters from the SHA-256 of every valid translation with its source; comments and dates don't count."""
    said = [[c.name, e.key, e.source, e.translation] for c in catalogues for e in c.entries if e.valid]
    digest = hashlib.sha256(json.dumps(sorted(said), ensure_ascii=False).encode()).digest()
    number = int.from_bytes(digest[:4], "big") >> 2
    return "".join(ALPHABET[number >> shift & 31] for shift in range(5 * (LENGTH - 1), -1, -5))


def reviewed(catalogue: Catalogue) -> bool:
    """Whether a named person translated what stands here and another named person has revised exactly that."""
    return (
        catalogue.state == "revised"
        and bool(catalogue.translator and catalogue.translator.on)
        and bool(catalogue.reviser and catalogue.reviser.on)
        and not same_person(catalogue.translator.by, catalogue.reviser.by)
        and catalogue.revised == content([catalogue])
    )


def same_person(one: str, other: str) -> bool:
    """Whether two names mean the same person, as far as spelling tells: case, blanks and an address don't count."""
    return _bare(one) == _bare(other)


def _bare(name: str) -> str:
    return " ".join(name.partition("<")[0].casefold().replace(",", " ").replace(".", " ").split())
