"""What reading a source file gives: the value, everything wrong with it, and where each part stands in the file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Generic, TypeVar

from docgen.findings import Finding, Where

T = TypeVar("T")
Path = tuple[str | int, ...]
"""The way to a value: keys as written in the file and indices from 0, `("phases", 0, "steps", 2, "say")`."""


@dataclass(frozen=True, slots=True)
class Read(Generic[T]):
    """One source file, read. `value` is None when it has errors that leave nothing to go on with."""

    value: T | None
    findings: tuple[Finding, ...] = ()
    positions: Mapping[Path, Where] = field(default_factory=dict)
    """Path → where its value begins. A mapping begins at its first key."""
    text: str = ""
    file: str = ""
    keys: Mapping[Path, Where] = field(default_factory=dict)
    """Path → where its key stands (mappings only)."""

    def at(self, *path: str | int) -> Where:
        """Where the value at `path` stands, or the nearest thing around it that is in the file."""
        for end in range(len(path), -1, -1):
            if path[:end] in self.positions:
                return self.positions[path[:end]]
        return Where(self.file)

    def key(self, *path: str | int) -> Where:
        """Where the key of `path` stands; the value's place when it has none (an entry of a list)."""
        return self.keys.get(path) or self.at(*path)
