"""Say which texts must never be wrong: cautions, holds, and whatever holds a number or a value."""

from __future__ import annotations


def cautioning(key: str) -> bool:
    """Whether a key is a caution's, a hold's or a signal word."""
    return key.startswith(("caution.", "signal.")) or key.endswith(".hold")


def critical(key: str, source: str) -> bool:
    """Whether each such text is worth a finding of its own when it is missing."""
    return cautioning(key) or any(c.isdigit() for c in source)
