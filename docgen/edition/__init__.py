"""Turn a protocol and a site into an edition: options chosen, slots filled, steps numbered, and named by a code."""

from docgen.edition.identity import canonical, fingerprint
from docgen.edition.resolve import resolve

__all__ = ["canonical", "fingerprint", "resolve"]
